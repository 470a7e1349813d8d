#include "sugarhouse/barometer.h"

#include <math.h>

#include "sugarhouse/water.h"
#include "weather/pressure.h"

static const double unlikely_hpa = 45, doubtful_hpa = 25;

double barometer_station_hpa(enum barometer kind, double told_hpa,
                             double height_m, double air_temp_c)
{
    if (kind == BAROMETER_SEA_LEVEL)
        return pressure_move_hpa(told_hpa, 0, height_m, air_temp_c);
    if (kind == BAROMETER_ALTIMETER)
        return pressure_station_from_altimeter_hpa(told_hpa, height_m);
    return told_hpa;
}

static double off_standard_hpa(double station_hpa, double height_m)
{
    return fabs(station_hpa - pressure_standard_hpa(height_m));
}

bool barometer_unlikely(double station_hpa, double height_m)
{
    return off_standard_hpa(station_hpa, height_m) > unlikely_hpa;
}

bool barometer_looks_reduced(double told_hpa, double height_m)
{
    double here = off_standard_hpa(told_hpa, height_m);

    return here > doubtful_hpa && off_standard_hpa(told_hpa, 0) < here;
}
