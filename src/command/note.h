/* The parts of `thawbell note`. */
#ifndef COMMAND_NOTE_H
#define COMMAND_NOTE_H

#include "base/text.h"
#include "command/operation.h"
#include "command/options.h"
#include "logbook/log_season.h"
#include "publish/show.h"

/* Its options, as rows of its table. */
enum { NOTE_REMARK, NOTE_ALL };

/* An entry as a person reads it: "collected 42 gal, 2.1 Brix". */
void note_phrase(const struct log_note *note, enum unit_system units,
                 struct text *out);
/* "2026-03-06 17:00" */
void note_moment(const struct zone *zone, utc_s at, char out[24]);

/* What is noted stands; what can hardly be is told at once, on standard
 * error, since it may be a slip. */
void note_doubt(const struct log_view *view, const struct operation *operation,
                int number, const struct log_note *note,
                enum unit_system units);

/* The same of all entries that came with a file; of many, the first few and
 * how many more. The view holds them too. */
void note_doubt_all(const struct log_view *view,
                    const struct operation *operation,
                    const struct logbook *fresh, enum unit_system units);

/* True if nothing is noted for the season; then that is told, and of which
 * seasons something is. */
bool note_season_empty(const struct log_view *view, const struct zone *zone,
                       int season, struct text *out);

/* All that is listed, one line an entry; the history below each with `all`. */
void note_list_show(const struct logbook *book,
                    const struct operation *operation, int season, bool all,
                    enum unit_system units, struct text *out);
/* JSON; the caller frees. */
char *note_list_json(const struct logbook *book,
                     const struct operation *operation, int season, bool all);
void note_season_show(const struct log_season *season,
                      const struct log_bush *bushes, int bush_count,
                      const struct zone *zone, const struct show_style *style,
                      struct text *out);
char *note_season_json(const struct log_season *season,
                       const struct log_bush *bushes, int bush_count,
                       const struct operation *operation);

#endif
