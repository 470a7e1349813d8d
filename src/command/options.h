/* Options and commands as tables: usage and help are printed from them, and
 * a test compares them with the manual. */
#ifndef COMMAND_OPTIONS_H
#define COMMAND_OPTIONS_H

#include <stdbool.h>

#include "base/civil_time.h"
#include "base/error.h"
#include "base/units.h"

/* Exit status. */
enum {
    EXIT_DONE = 0,
    EXIT_FAILED = 1,
    EXIT_USAGE = 2,      /* usage or configuration */
    EXIT_TRY_LATER = 75, /* source or mail server down, another at work */
};

struct option_row {
    const char *name;  /* "--units" */
    char letter;       /* 'u', or 0 */
    const char *value; /* "us|metric", or NULL for a switch */
    const char *help;
};

/* Common to all commands: -c FILE, -o OPERATION, --at TIME, --json,
 * --units us|metric, --lang en|fr, -q, -v, --version, --help. */
struct options {
    const char *config;
    const char *operation;
    bool has_at;
    utc_s at;
    bool json;
    bool has_units;
    enum unit_system units;
    const char *language; /* NULL: as configured */
    int verbosity;        /* -1 quiet, 0, 1 … */
    bool help, version;
    /* A command's own options: given value or NULL, by the row of its table;
     * "" for a switch that is set. */
    const char *own[32];
    const char *words[64]; /* what is left, the command's name not among it */
    int word_count;
};

struct command {
    const char *name;
    const char *summary;
    const char *usage;             /* "decode SERVICE FILE" */
    const struct option_row *rows; /* its own; ends with a NULL name */
    int (*run)(const struct options *options);
    int min_words, max_words; /* how many words it takes after its name */
};

const struct option_row *options_common(void);    /* ends with a NULL name */
const struct command *const *command_table(void); /* NULL-terminated */
const struct command *command_find(const char *name); /* or NULL */
/* The nearest name to a misspelt one, or NULL; borrowed. */
const char *command_nearest(const char *name);

/* Parses argv from index 1 on; -1 with a sentence that names the word and the
 * nearest known one. Long options as "--name VALUE" or "--name=VALUE". */
int options_parse(int argc, char **argv, const struct option_row *own,
                  struct options *out, struct error *err);
/* The language to speak before the rest is parsed: that of --lang, else that
 * of the environment. Borrowed. */
const char *options_language(int argc, char **argv);
/* Where in argv the command's name is; 0 if there is none, or an option before
 * it is not known. */
int options_find_command(int argc, char **argv);
/* Help of a command; of the whole program if it is NULL. */
void options_help(const char *program, const struct command *command);
/* Completions for "bash", "zsh" or "fish", generated from the tables; -1 for
 * another shell. */
int options_completion(const char *shell);

/* The clock: --at, else now. The one place of the client that asks it. */
utc_s options_now(const struct options *options);
/* The machine's clock, whatever --at says: for when a note was written. */
utc_s options_clock(void);

int command_line(const struct options *options); /* no command given */
int command_bar(const struct options *options);
int command_week(const struct options *options);
int command_why(const struct options *options);
int command_check(const struct options *options);
int command_decode(const struct options *options);
int command_try(const struct options *options);
int command_note(const struct options *options);
int command_syrup(const struct options *options);
int command_fit(const struct options *options);

#endif
