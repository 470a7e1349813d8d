/* The table of commands: one row each. A command with options of its own has
 * them here beside its row, in the order in which it reads options->own. */
#include <string.h>

#include "base/trade.h"
#include "base/words.h"
#include "command/check.h"
#include "command/fit.h"
#include "command/note.h"
#include "command/options.h"
#include "command/replay.h"
#include "command/store.h"
#include "command/syrup.h"

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

static const struct command bar = {
    "bar",
    N_("a few words for a status bar; with --json for waybar and i3blocks"),
    "bar",
    NULL,
    command_bar,
    0,
    0,
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

static const struct option_row note_rows[] = {
    [NOTE_REMARK] = {"--remark", 0, N_("TEXT"), N_("words of your own")},
    [NOTE_ALL] = {"--all", 0, NULL,
                  N_("all seasons, with what was removed and corrected")},
    {NULL, 0, NULL, NULL},
};

static const struct command note = {
    "note",
    N_("the logbook: tapped, collected, boiled, drew, off-flavour, pulled"),
    "note WHAT [WORD ...]",
    note_rows,
    command_note,
    1,
    60,
};

static const struct option_row syrup_rows[] = {
    [SYRUP_PRESSURE] = {"--pressure", 0, N_("PRESSURE"),
                        N_("what the barometer says, such as \"28.4 inHg\"; "
                           "the air's own at the pan, unless said otherwise")},
    [SYRUP_SEA_LEVEL] = {"--sea-level", 0, NULL,
                         N_("that pressure is reduced to sea level, as "
                            "forecasts tell it")},
    [SYRUP_ALTIMETER] = {"--altimeter", 0, NULL,
                         N_("that pressure is an airport's altimeter "
                            "setting")},
    [SYRUP_CUP] = {"--cup-temp", 0, N_("TEMPERATURE"),
                   N_("of the syrup in the hydrometer cup, such as 150F")},
    [SYRUP_SAP] = {"--sap", 0, N_("VOLUME"), N_("sap to boil")},
    [SYRUP_BRIX] = {"--brix", 0, N_("SUGAR"),
                    N_("sugar of the sap, such as 2.1%")},
    {NULL, 0, NULL, NULL},
};

static const struct command syrup = {
    "syrup",
    N_("the day's numbers at the pan: boiling point, draw-off, hydrometer"),
    "syrup",
    syrup_rows,
    command_syrup,
    0,
    0,
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

static const struct command fit = {
    "fit",
    N_("the model's numbers from what was collected in a bush"),
    "fit --weather FILE [--sap FILE --taps N] [--into FOLDER]",
    fit_rows,
    command_fit,
    0,
    0,
};

static const struct option_row store_rows[] = {
    [STORE_FROM] = {"--from", 0, N_("FILE"),
                    N_("another store than that of the state folder, such as "
                       "one that was set aside")},
    {NULL, 0, NULL, NULL},
};

static const struct command store = {
    "store",
    N_("the store: check it, copy it, write all of it as JSON Lines"),
    "store check|backup FILE|export [FILE]",
    store_rows,
    command_store,
    1,
    2,
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
    &week,   &why, &note, &syrup, &check, &decode,
    &replay, &fit, &bar,  &store, &try,   NULL,
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
