/* The parts of `thawbell syrup`. */
#ifndef COMMAND_SYRUP_H
#define COMMAND_SYRUP_H

#include "base/text.h"
#include "command/operation.h"
#include "command/options.h"
#include "publish/show.h"
#include "sugarhouse/barometer.h"
#include "sugarhouse/pan.h"

/* Its options, as rows of its table. */
enum {
    SYRUP_PRESSURE,
    SYRUP_SEA_LEVEL,
    SYRUP_ALTIMETER,
    SYRUP_CUP,
    SYRUP_SAP,
    SYRUP_BRIX
};

/* Where the pressure comes from. */
enum syrup_air { SYRUP_AIR_FORECAST, SYRUP_AIR_TOLD, SYRUP_AIR_STANDARD };
/* Where the amount of sap and its sugar come from. */
enum syrup_sap {
    SYRUP_SAP_TOLD,
    SYRUP_SAP_PLAN,
    SYRUP_SAP_STORAGE,
    SYRUP_SAP_EXAMPLE
};
enum syrup_sugar { SYRUP_SUGAR_TOLD, SYRUP_SUGAR_LOG, SYRUP_SUGAR_ASSUMED };

/* All that is shown. */
struct syrup_day {
    const struct operation *operation;
    utc_s now, from, to; /* the hours of the boil */
    bool of_plan;        /* these hours are the plan's boil */
    enum syrup_air air_from;
    enum barometer barometer; /* of what was told */
    double told_hpa, air_temp_c;
    double elevation_m;
    utc_s made; /* of the bulletin, or 0 */
    enum syrup_sap sap_from;
    enum syrup_sugar sugar_from;
    utc_s sugar_at; /* of the logged collection */
    bool has_cup;
    struct pan_cup cup;
    double cups_c[PAN_MAX_CUPS];
    struct pan_order order;
    struct pan_numbers numbers;
    struct error_list doubts; /* sentences */
};

void syrup_show(const struct syrup_day *day, const struct show_style *style,
                struct text *out);
/* The caller frees; docs/syrup.md names the members. */
char *syrup_json(const struct syrup_day *day);

/* The cautions that belong at the pan, NULL-terminated, not translated. */
extern const char *const syrup_cautions[];

#endif
