/* What a note tells that can hardly be: taken, since the keeper's word counts,
 * and doubted, since it may be a slip. */
#ifndef LOGBOOK_LOG_DOUBT_H
#define LOGBOOK_LOG_DOUBT_H

#include "logbook/logbook.h"

/* What the operation can do; 0 where it is not told. */
struct log_means {
    double good_day_l; /* of the taps of the note's bush, or of all */
    double pan_l_h;    /* what the evaporator takes off */
    double tanks_l;    /* what all tanks hold */
    double syrup_brix; /* of the syrup drawn */
};

enum log_doubt {
    LOG_DOUBT_NONE,
    LOG_DOUBT_DAYS,  /* more than the taps bring; *usual_l: on a good day */
    LOG_DOUBT_DAY,   /* more than the pan takes off; in a day and night */
    LOG_DOUBT_HOURS, /* the same; in the hours noted */
    LOG_DOUBT_TANKS, /* far more than the tanks; what they hold */
    LOG_DOUBT_SYRUP, /* more syrup than sap gives; the season's sap */
};

/* The view holds the note too. Bounds are assumptions of ours, each wide by a
 * factor of several, so that no true note is doubted. */
enum log_doubt log_doubt(const struct log_view *view, const struct zone *zone,
                         const struct log_note *note,
                         const struct log_means *means, double *usual_l);

#endif
