/* The model over past weather, held against what was collected. */
#ifndef OUTLOOK_REPLAY_H
#define OUTLOOK_REPLAY_H

#include "base/civil_time.h"
#include "base/error.h"
#include "tree/tree.h"
#include "weather/series.h"

/* What was brought in on a date: all that came since the row before. */
struct replay_collection {
    struct civil_date date;
    bool unmeasured; /* brought in, but nobody knows how much */
    double sap_l;
    bool has_brix;
    double brix;
};

enum { REPLAY_MAX_ROWS = 2000 };

/* CSV `date,sap_l[,brix]`, rows by date; an amount that is empty or NA was not
 * measured. A negative one, a date out of order or twice, an unknown column:
 * refused by line. The caller frees *out. */
int replay_collections_read(const char *bytes, size_t length,
                            struct replay_collection **out, int *count,
                            struct error *err);

/* The forecasters that are compared, model first. */
enum replay_forecaster {
    REPLAY_MODEL,
    REPLAY_RULE_A,
    REPLAY_RULE_B,
    REPLAY_CLIMATOLOGY,
    REPLAY_FORECASTERS
};

/* Amounts of one collection, litres from all taps. */
struct replay_row {
    struct civil_date date;
    utc_s from, to; /* the sap of (from, to] */
    double sap_l;   /* collected */
    double forecast_l[REPLAY_FORECASTERS];
    bool known; /* the weather covers at least 90 % of its hours */
};

/* A figure that the data do not define (a correlation with a constant, a rate
 * without a case) has known = false. */
struct replay_figure {
    bool known;
    double value;
};

struct replay_skill {
    struct replay_figure pearson, spearman;
    struct replay_figure mae_l, bias_l; /* forecast minus collected */
    /* A run: at least 0.4 L per tap in the collection. */
    struct replay_figure hit_rate;         /* runs forecast, of the runs */
    struct replay_figure false_alarm_rate; /* runs forecast, of no runs */
    struct replay_figure roc_area;
};

struct replay {
    struct replay_row *rows; /* owned; those with known weather only */
    int count;
    int left_out; /* collections without weather, amount, or tapping */
    struct replay_skill skill[REPLAY_FORECASTERS];
    double overflow_l; /* forecast beyond what the buckets hold */
};

struct replay_setting {
    int taps;
    int offset_s;       /* of the collector's clock, standard time */
    int collected_at_s; /* seconds after midnight */
    bool has_tapped;    /* else the day before the first collection */
    struct civil_date tapped;
};

/* Runs the model over the series and scores it. The model's amount of a
 * collection is its flow from the last collection's hour (for the first:
 * from noon on the day of tapping) to this one's; where site->bucket_l is
 * not 0, what buckets of that size keep of it. The rules' amounts are those of
 * their civil days, each day by the share of it that lies in the collection.
 * Climatology is the mean amount per hour of the other collections times this
 * one's hours. -1 if the weather covers no collection. */
int replay_make(const struct tree_model *model, const struct tree_site *site,
                const struct series *series,
                const struct replay_collection *collections, int count,
                const struct replay_setting *setting, struct replay **out,
                struct error *err);
void replay_free(struct replay *replay);

/* The forecaster's key in JSON ("rule_a"), borrowed. */
const char *replay_forecaster_word(enum replay_forecaster forecaster);

/* The figures for any pairs: exposed for the fit and for tests. Runs are
 * amounts of at least run_l. */
void replay_score(const double *forecast_l, const double *collected_l,
                  int count, double run_l, struct replay_skill *out);

#endif
