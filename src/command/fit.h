/* The parts of `thawbell fit`: what it learns from, what it says, the files it
 * writes. */
#ifndef COMMAND_FIT_H
#define COMMAND_FIT_H

#include "base/text.h"
#include "command/replay.h"
#include "outlook/fit.h"

/* The command's own options, ends with a NULL name. */
extern const struct option_row fit_rows[];

/* What was collected, with the times it ran in. */
struct fit_log {
    struct fit_row *rows; /* owned */
    int count;
    utc_s tapped_at[FIT_MAX_SEASONS];
    int years[FIT_MAX_SEASONS];
    int season_count;
};

/* From a file's collections: a season begins at its tapping, noon of --tapped
 * if that is of it, else of the day before its first row. More than
 * FIT_MAX_SEASONS: the rest is left out. */
void fit_log_from_collections(const struct replay_collection *collections,
                              int count, const struct replay_setting *setting,
                              struct fit_log *out);
/* From the configured operation's logbook and configuration: fills the bush's
 * own in *past too. `bush` NULL: the only one. Says what is wrong on standard
 * error and returns an exit status, or EXIT_DONE. */
int fit_log_from_book(const struct options *options, const char *bush,
                      struct replay_options *past, struct fit_log *out);
void fit_log_free(struct fit_log *log);

/* Where the numbers go. */
struct fit_target {
    const char *folder;
    bool replace;
    const struct tree_model *model;
    enum species species;
    enum gathering gathering;
    struct civil_date first, last; /* of the collections */
};

/* Bounds of the numbers, from the program's files. */
int fit_bounds_read(const struct tree_model *model, enum species species,
                    enum gathering gathering,
                    struct fit_bounds bounds[TREE_NUMBER_COUNT],
                    struct error *err);
/* Writes each number into the file it stands in, in the folder (made if
 * missing); other keys stay as they are there, or as the program has them. A
 * file that is there already is refused unless `replace`, before any is
 * written. What changed goes into *told, a line a file. */
int fit_write(const struct fit *fit, const struct fit_target *target,
              struct text *told, struct error *err);

void fit_show(const struct fit *fit, const struct fit_log *log,
              enum unit_system units);
cJSON *fit_json(const struct fit *fit, const struct fit_log *log);

#endif
