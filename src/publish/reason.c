#include <stdio.h>

#include "base/words.h"
#include "publish/phrase.h"

/* Bounds of the reading. Ours: they choose a sentence, no figure hangs on
 * them. */
#define FREEZE_LEAST_K_H 3.0
#define THAW_LEAST_K_H 8.0
#define TAPHOLE_CLOSING 0.4

struct reason {
    const struct outlook_day *day;
    bool freeze_before;
    char low[PHRASE_SIZE], high[PHRASE_SIZE];
};

static void say_run(const struct reason *reason, char *out, size_t out_size)
{
    if (reason->freeze_before)
        snprintf(out, out_size, _("Freezes to %s, then thaws to %s."),
                 reason->low, reason->high);
    else
        snprintf(out, out_size,
                 _("No freeze the night before (low %s): the trees give what "
                   "is left from the last one."),
                 reason->low);
}

/* True where no bush has its taps in that day, since they are out already or
 * not in yet, with the last day of pulling or the first of tapping. */
static bool none_tapped(const struct bulletin *bulletin, struct civil_date date,
                        bool pulled, struct civil_date *when)
{
    *when = (struct civil_date){0, 0, 0};
    for (int i = 0; i < bulletin->bush_count; i++) {
        const struct bulletin_season *season = bulletin->bushes[i].season;
        struct civil_date own;
        int order;

        if (season == NULL)
            return false;
        own = pulled ? season->pulled : season->tapped;
        order = civil_date_compare(own, date);
        if (own.year == 0 || (pulled ? order > 0 : order <= 0))
            return false;
        order = civil_date_compare(own, *when);
        if (when->year == 0 || (pulled ? order > 0 : order < 0))
            *when = own;
    }
    return when->year != 0;
}

/* Whatever the weather; false where taps are in. */
static bool say_untapped(const struct bulletin *bulletin,
                         struct civil_date date, char *out, size_t out_size)
{
    struct civil_date when;
    char day[PHRASE_SIZE];
    bool pulled = none_tapped(bulletin, date, true, &when);

    if (!pulled && !none_tapped(bulletin, date, false, &when))
        return false;
    phrase_date(when, day);
    snprintf(out, out_size,
             pulled ? _("The taps were pulled %s.")
                    : _("The trees are not tapped before %s."),
             day);
    return true;
}

static void say_no_run(const struct reason *reason, char *out, size_t out_size)
{
    char share[PHRASE_SIZE];

    phrase_share(reason->day->taphole, share);
    if (reason->day->max_c <= 0)
        snprintf(out, out_size, _("Stays frozen: high %s."), reason->high);
    else if (reason->day->thaw_degree_hours < THAW_LEAST_K_H)
        snprintf(out, out_size, _("Barely thaws: high %s."), reason->high);
    else if (!reason->freeze_before)
        snprintf(out, out_size,
                 _("No freeze the night before (low %s): nothing makes it "
                   "run."),
                 reason->low);
    else if (reason->day->taphole < TAPHOLE_CLOSING)
        snprintf(out, out_size,
                 _("The tapholes are closing: %s of a fresh hole's flow is "
                   "left."),
                 share);
    else
        snprintf(out, out_size,
                 _("Freezes to %s, thaws to %s: too little of one or the "
                   "other."),
                 reason->low, reason->high);
}

void phrase_reason(const struct bulletin *bulletin, struct civil_date date,
                   enum unit_system units, char *out, size_t out_size)
{
    const struct bulletin_bush *bush = bulletin_leading_bush(bulletin, date);
    struct reason reason = {.day = NULL};
    struct bulletin_night night;
    double low;

    out[0] = '\0';
    if (bush == NULL)
        return;
    reason.day = bulletin_bush_day(bush, date);
    low = reason.day->min_c;
    if (bulletin_bush_night(bulletin, bush, civil_date_add(date, -1), &night))
        low = night.min_c;
    reason.freeze_before = reason.day->freeze_degree_hours >= FREEZE_LEAST_K_H;
    phrase_temperature(low, units, reason.low);
    phrase_temperature(reason.day->max_c, units, reason.high);
    if (reason.day->strength >= STRENGTH_FAIR_RUN ||
        (reason.day->strength == STRENGTH_WEEPING && !reason.freeze_before))
        say_run(&reason, out, out_size);
    else if (!say_untapped(bulletin, date, out, out_size))
        say_no_run(&reason, out, out_size);
}
