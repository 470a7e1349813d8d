/* What was noted and can hardly be. */
#include <stdio.h>
#include <string.h>

#include "base/words.h"
#include "command/note.h"
#include "logbook/log_doubt.h"
#include "turn/plan_rules.h"

static struct log_means means_of(const struct config *config,
                                 const struct log_note *note)
{
    const struct config_sugarhouse *house = &config->sugarhouse;
    const struct evaporator evaporator = plan_evaporator(house);
    struct log_means means = {.pan_l_h = evaporator_rate_l_h(&evaporator),
                              .tanks_l = house->storage_l,
                              .syrup_brix = house->syrup_brix};

    for (int i = 0; i < config->bush_count; i++) {
        const struct config_bush *bush = &config->bushes[i];

        if (log_of_bush(note, bush->name))
            means.good_day_l +=
                bush->taps * good_day_l_per_tap(bush->gathering);
    }
    return means;
}

static void say(enum log_doubt doubt, const char *amount, int number)
{
    switch (doubt) {
    case LOG_DOUBT_DAYS:
        fprintf(
            stderr,
            _("thawbell: these taps bring about %s on a good day; if this is "
              "a slip: thawbell note remove %d\n"),
            amount, number);
        break;
    case LOG_DOUBT_DAY:
        fprintf(stderr,
                _("thawbell: the evaporator takes off about %s in a day and a "
                  "night; if this is a slip: thawbell note remove %d\n"),
                amount, number);
        break;
    case LOG_DOUBT_HOURS:
        fprintf(stderr,
                _("thawbell: the evaporator takes off about %s in these hours; "
                  "if this is a slip: thawbell note remove %d\n"),
                amount, number);
        break;
    case LOG_DOUBT_TANKS:
        fprintf(
            stderr,
            _("thawbell: the tanks hold %s; if this is a slip: thawbell note "
              "remove %d\n"),
            amount, number);
        break;
    case LOG_DOUBT_SYRUP:
        fprintf(
            stderr,
            _("thawbell: the sap noted this season, %s, does not give as much "
              "syrup; if this is a slip: thawbell note remove %d\n"),
            amount, number);
        break;
    case LOG_DOUBT_NONE:
        break;
    }
}

void note_doubt(const struct log_view *view, const struct operation *operation,
                int number, const struct log_note *note, enum unit_system units)
{
    const struct log_means means = means_of(operation->config, note);
    char moment[24], amount[QUANTITY_SIZE];
    enum log_doubt found;
    double usual_l;
    utc_s pulled;

    if (log_collected_late(view, operation->zone, note, &pulled)) {
        note_moment(operation->zone, pulled, moment);
        fprintf(stderr,
                _("thawbell: the taps were pulled %s; if this is a slip: "
                  "thawbell note remove %d\n"),
                moment, number);
    }
    found = log_doubt(view, operation->zone, note, &means, &usual_l);
    if (found == LOG_DOUBT_NONE)
        return;
    volume_format(usual_l, units, amount);
    say(found, amount, number);
}
