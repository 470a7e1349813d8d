/* The table of commands: one row each. A command with options of its own has
 * them here beside its row, in the order in which it reads options->own. */
#include <string.h>

#include "base/trade.h"
#include "base/words.h"
#include "command/check.h"
#include "command/options.h"
#include "command/replay.h"

static const struct option_row check_rows[] = {
    [CHECK_KEYS] = {"--keys", 0, NULL,
                    N_("list every key of the configuration and what it "
                       "takes")},
    [CHECK_EXPLAIN] = {"--explain", 0, N_("KEY"), N_("what one key takes")},
    [CHECK_EXAMPLE] = {"--example", 0, NULL,
                       N_("print a small configuration to start from")},
    {NULL, 0, NULL, NULL},
};

static const struct command week = {
    "week", N_("a table of the coming days"), "week", NULL, command_week, 0, 0,
};

static const struct command why = {
    "why",
    N_("what drives a day's score, today's or that of a date"),
    "why [DATE]",
    NULL,
    command_why,
    0,
    1,
};

static const struct command check = {
    "check",
    N_("all that is wrong with the configuration, and how things stand"),
    "check [FILE]",
    check_rows,
    command_check,
    0,
    1,
};

static const struct command decode = {
    "decode",
    N_("a weather service's recorded answer as an hourly table"),
    "decode SERVICE FILE",
    NULL,
    command_decode,
    2,
    2,
};

static const struct command replay = {
    "replay",
    N_("the model over past weather, held against what was collected"),
    "replay --weather FILE [--sap FILE --taps N]",
    replay_rows,
    command_replay,
    0,
    0,
};

static const struct command try = {
    "try",
    N_("the demo: invented weather, no network, nothing to set up"),
    "try",
    NULL,
    command_try,
    0,
    0,
};

static const struct command *const commands[] = {
    &week, &why, &check, &decode, &replay, &try, NULL,
};

const struct command *const *command_table(void)
{
    return commands;
}

const struct command *command_find(const char *name)
{
    for (const struct command *const *row = commands; *row; row++)
        if (strcmp((*row)->name, name) == 0)
            return *row;
    return NULL;
}

const char *command_nearest(const char *name)
{
    enum { COUNT = sizeof commands / sizeof commands[0] - 1 };
    const char *known[COUNT];
    for (int i = 0; i < COUNT; i++)
        known[i] = commands[i]->name;
    return nearest_word(name, known, COUNT);
}
