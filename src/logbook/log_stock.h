/* What is in buckets and tanks now: the log, and what has run since by the
 * model. For the plan. */
#ifndef LOGBOOK_LOG_STOCK_H
#define LOGBOOK_LOG_STOCK_H

#include "logbook/logbook.h"

enum { LOG_STOCK_BUSHES = 64 };

struct log_stock_bush {
    const char *name; /* borrowed */
    bool buckets;     /* else tubing that runs into the tanks by itself */
    int taps;
    double bucket_l; /* what a bucket holds; 0: no limit */
    /* Modelled flow, litres a tap in each hour from flow_start on; borrowed.
     * Past its end nothing runs. */
    utc_s flow_start;
    int flow_hours;
    const double *sap_l_per_tap;
    bool has_tapped; /* without: nothing ran before the first collection */
    utc_s tapped;
};

struct log_stock_house {
    double storage_l;    /* of all tanks; 0: no limit */
    double sap_rate_l_h; /* what a full fire takes in, for a boil of which only
                            the hours are told; an hour of these it takes to
                            start and to finish */
};

struct log_held {
    double l;
    double age_h; /* mean over the litres, since they ran or, tubing and
                     collections, since they came into the tank */
};

struct log_stock {
    struct log_held buckets[LOG_STOCK_BUSHES]; /* as the bushes; tubing: 0 */
    struct log_held tanks;
    double overflow_l; /* by the model, since the last collections */
    bool has_log;      /* a collection or a boil of this season is logged */
};

/* Buckets hold what ran since their last collection (or the tapping), at most
 * what they hold. Tanks get what was collected, and what ran from tubing since
 * its last collection, and give what was boiled, hour by hour from the first
 * entry of the season; they never hold less than nothing nor more than their
 * size. A collection of all bushes empties the buckets of each. */
void log_stock_make(const struct log_view *view, const struct zone *zone,
                    utc_s now, const struct log_stock_bush *bushes,
                    int bush_count, const struct log_stock_house *house,
                    struct log_stock *out);

#endif
