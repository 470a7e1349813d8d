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
    else
        say_no_run(&reason, out, out_size);
}
