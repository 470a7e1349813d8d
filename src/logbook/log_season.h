/* A season in figures, from the view of the logbook. */
#ifndef LOGBOOK_LOG_SEASON_H
#define LOGBOOK_LOG_SEASON_H

#include "logbook/logbook.h"

enum { LOG_MAX_BUSHES = 64, LOG_MAX_WEEKS = 32 };

struct log_bush {
    const char *name; /* borrowed */
    int taps;
};

/* What one bush gave. */
struct log_bush_season {
    bool has_tapped, has_pulled;
    utc_s tapped, pulled; /* the first tapping, the last pulling */
    double sap_l;
    int collections;
    bool has_brix;
    double brix; /* mean by amount, of what was measured */
};

/* The draws of one civil week, from Monday. */
struct log_week {
    struct civil_date monday;
    double syrup_l;
    bool has_light;
    double light_pct;            /* mean by amount, of what was measured */
    double grade_l[GRADE_COUNT]; /* of known class */
    bool off_flavour;            /* noted in the week */
};

struct log_season {
    int year;                                      /* of its spring */
    struct log_bush_season bushes[LOG_MAX_BUSHES]; /* as given */
    struct log_bush_season together; /* also what names no bush of these */
    int taps;
    double boiled_l, boil_hours, syrup_l;
    int boils, draws;
    double grade_l[GRADE_COUNT], unclassed_l;
    struct log_week weeks[LOG_MAX_WEEKS]; /* those with a draw, by date */
    int week_count;
};

/* The class of a draw: as told, else by its light; -1 where neither is. */
int log_draw_grade(const struct log_note *note);

void log_season_make(const struct log_view *view, const struct zone *zone,
                     int year, const struct log_bush *bushes, int bush_count,
                     struct log_season *out);
/* Sap for one of syrup: collected, or where none is logged boiled; 0 where
 * either is not known. */
double log_season_ratio(const struct log_season *season);

#endif
