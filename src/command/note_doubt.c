/* What was noted and can hardly be. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
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

struct doubted {
    enum log_doubt doubt;
    double usual_l;
    utc_s pulled; /* 0: not collected after that */
};

static bool look(const struct log_view *view, const struct operation *operation,
                 const struct log_note *note, struct doubted *out)
{
    const struct log_means means = means_of(operation->config, note);

    *out = (struct doubted){.pulled = 0};
    if (!log_collected_late(view, operation->zone, note, &out->pulled))
        out->pulled = 0;
    out->doubt = log_doubt(view, operation->zone, note, &means, &out->usual_l);
    return out->pulled != 0 || out->doubt != LOG_DOUBT_NONE;
}

static void say_doubted(const struct doubted *doubted,
                        const struct operation *operation, int number,
                        enum unit_system units)
{
    char moment[24], amount[QUANTITY_SIZE];

    if (doubted->pulled != 0) {
        note_moment(operation->zone, doubted->pulled, moment);
        fprintf(stderr,
                _("thawbell: the taps were pulled %s; if this is a slip: "
                  "thawbell note remove %d\n"),
                moment, number);
    }
    volume_format(doubted->usual_l, units, amount);
    say(doubted->doubt, amount, number);
}

void note_doubt(const struct log_view *view, const struct operation *operation,
                int number, const struct log_note *note, enum unit_system units)
{
    struct doubted doubted;

    if (look(view, operation, note, &doubted))
        say_doubted(&doubted, operation, number, units);
}

static int compare_uids(const void *a, const void *b)
{
    const char *const *left = a, *const *right = b;

    return strcmp(*left, *right);
}

void note_doubt_all(const struct log_view *view,
                    const struct operation *operation,
                    const struct logbook *fresh, enum unit_system units)
{
    enum { MOST_TOLD = 5 };
    const char **uids = mem_alloc((size_t)fresh->count + 1, sizeof *uids);
    struct doubted doubted;
    int told = 0;

    for (int i = 0; i < fresh->count; i++)
        uids[i] = fresh->records[i].uid;
    qsort(uids, (size_t)fresh->count, sizeof *uids, compare_uids);
    for (int i = 0; i < view->count; i++) {
        const struct log_entry *entry = &view->entries[i];
        const char *uid = entry->uid;

        if (bsearch(&uid, uids, (size_t)fresh->count, sizeof *uids,
                    compare_uids) == NULL ||
            !look(view, operation, &entry->note, &doubted) ||
            ++told > MOST_TOLD)
            continue;
        say_doubted(&doubted, operation, entry->number, units);
    }
    if (told > MOST_TOLD)
        fprintf(stderr,
                words_count("thawbell: %d more of them can hardly be; look at "
                            "them all: thawbell note list\n",
                            "thawbell: %d more of them can hardly be; look at "
                            "them all: thawbell note list\n",
                            told - MOST_TOLD),
                told - MOST_TOLD);
    free(uids);
}
