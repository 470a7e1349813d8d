#include "logbook/log_doubt.h"

#include "sugarhouse/syrup.h"

/* Days since the collection before, 1 to 4; 4 where none is noted. */
static double days_since(const struct log_view *view,
                         const struct log_note *note)
{
    const double most = 4;
    double days = most;

    for (int i = 0; i < view->count; i++) {
        const struct log_note *other = &view->entries[i].note;
        double apart = (double)(note->at - other->at) / SECONDS_PER_DAY;

        if (other->kind == LOG_COLLECTED && apart > 0 && apart < days &&
            log_of_bush(other, note->bush))
            days = apart;
    }
    return days > 1 ? days : 1;
}

/* Five good days' sap in each day, and twenty, about twice what taps bring in
 * a season, where somebody writes down all of it at once. */
static enum log_doubt doubt_collected(const struct log_view *view,
                                      const struct log_note *note,
                                      const struct log_means *means,
                                      double *usual_l)
{
    const double wide = 5;

    *usual_l = means->good_day_l;
    return means->good_day_l > 0 &&
                   note->figure[LOG_SAP_L] >
                       wide * days_since(view, note) * means->good_day_l
               ? LOG_DOUBT_DAYS
               : LOG_DOUBT_NONE;
}

/* A pan may be quicker than it was told, and sap may be counted before
 * reverse osmosis, which leaves a quarter of it and less (common practice, no
 * source). */
static enum log_doubt doubt_boiled(const struct log_note *note,
                                   const struct log_means *means,
                                   double *usual_l)
{
    const double wide = 10, day_h = 24;
    double hours = note->has[LOG_HOURS] ? note->figure[LOG_HOURS] : day_h;
    enum log_doubt doubt =
        note->has[LOG_HOURS] ? LOG_DOUBT_HOURS : LOG_DOUBT_DAY;

    *usual_l = hours * means->pan_l_h;
    if (means->pan_l_h <= 0) {
        doubt = LOG_DOUBT_TANKS;
        *usual_l = means->tanks_l;
    }
    return note->has[LOG_SAP_L] && *usual_l > 0 &&
                   note->figure[LOG_SAP_L] > wide * *usual_l
               ? doubt
               : LOG_DOUBT_NONE;
}

/* The sap of a season, collected or boiled, whichever is more, and its most
 * sugar. A boil of which only the hours are noted took what the pan takes off;
 * false where that is not known. */
static bool season_sap(const struct log_view *view, const struct zone *zone,
                       int season, const struct log_means *means, double *sap_l,
                       double *brix)
{
    double l[LOG_KIND_COUNT] = {0};

    for (int i = 0; i < view->count; i++) {
        const struct log_note *note = &view->entries[i].note;

        if (log_season_of(zone, note->at) != season)
            continue;
        if (note->has[LOG_SAP_BRIX] && note->figure[LOG_SAP_BRIX] > *brix)
            *brix = note->figure[LOG_SAP_BRIX];
        if (note->has[LOG_SAP_L])
            l[note->kind] += note->figure[LOG_SAP_L];
        else if (note->kind == LOG_BOILED && means->pan_l_h <= 0)
            return false;
        else if (note->kind == LOG_BOILED)
            l[note->kind] += note->figure[LOG_HOURS] * means->pan_l_h;
    }
    *sap_l =
        l[LOG_BOILED] > l[LOG_COLLECTED] ? l[LOG_BOILED] : l[LOG_COLLECTED];
    return *sap_l > 0;
}

/* One draw against all the sap, taken for as sweet as sap gets or as any that
 * was noted, and twice that: of sap of 2 Brix six times what comes of it. */
static enum log_doubt doubt_drew(const struct log_view *view,
                                 const struct zone *zone,
                                 const struct log_note *note,
                                 const struct log_means *means, double *usual_l)
{
    const double wide = 2;
    double brix = LOG_MOST_SAP_BRIX;

    return season_sap(view, zone, log_season_of(zone, note->at), means, usual_l,
                      &brix) &&
                   note->figure[LOG_SYRUP_L] >
                       wide *
                           syrup_from_sap_l(*usual_l, brix, means->syrup_brix)
               ? LOG_DOUBT_SYRUP
               : LOG_DOUBT_NONE;
}

enum log_doubt log_doubt(const struct log_view *view, const struct zone *zone,
                         const struct log_note *note,
                         const struct log_means *means, double *usual_l)
{
    *usual_l = 0;
    switch (note->kind) {
    case LOG_COLLECTED:
        return doubt_collected(view, note, means, usual_l);
    case LOG_BOILED:
        return doubt_boiled(note, means, usual_l);
    case LOG_DREW:
        return doubt_drew(view, zone, note, means, usual_l);
    case LOG_TAPPED:
    case LOG_OFF_FLAVOUR:
    case LOG_PULLED:
    case LOG_KIND_COUNT:
        break;
    }
    return LOG_DOUBT_NONE;
}
