/* The seasons of bucket collections that the sap model is calibrated on. */
#ifndef CALIBRATION_SAP_SEASONS_H
#define CALIBRATION_SAP_SEASONS_H

#include <stdbool.h>

#include "base/error.h"
#include "tree/tree.h"
#include "weather/forcing.h"

enum { SAP_MAX_ROWS = 64 };

struct sap_season {
    int year;
    struct forcing *forcing; /* owned; to the hour of the last collection */
    utc_s tapped_at;
    int count;
    utc_s collected_at[SAP_MAX_ROWS];
    double litres[SAP_MAX_ROWS];
    double weight[SAP_MAX_ROWS]; /* 0.5 where some was lost as ice */
};

/* How the weather is read: all of it, or without some of it, to see what a
 * bush without such instruments would get. */
struct sap_weather {
    bool without_sun, without_wind;
    bool days_only;     /* hours made from each day's extremes */
    int collected_hour; /* local standard time */
};

int sap_season_read(const char *folder, int year,
                    const struct sap_weather *weather, struct sap_season *out,
                    struct error *err);
void sap_season_free(struct sap_season *season);

/* Litres per tap that each collection finds in buckets of bucket_l. `hours`
 * is scratch of forcing->hours rows. */
void sap_season_model(const struct sap_season *season,
                      const struct tree_model *model, double bucket_l,
                      struct tree_hour *hours, double *kept_l);

#endif
