/* What is done while memory or disk fail. */
#ifndef SCARCE_STAGES_H
#define SCARCE_STAGES_H

#include <stdbool.h>

#include "base/error.h"

struct stage {
    const char *name;
    /* In an attempt's folder (bench.h): 0, or -1 with a sentence. All that was
     * made is given back. */
    int (*run)(const char *folder, struct error *err);
    bool writes; /* tried with a disk that fails too */
    bool slow;   /* sampled more thinly in the short run */
    /* Is there what a run that gave 0 has promised? NULL: it promises nothing
     * that lasts. */
    bool (*done)(const char *folder);
};

/* The note that the stage "spool" writes. */
#define STAGES_WRITTEN "20260305T110000Z-3"
/* Is it one of the answers that the stage "cache" holds one after the other?
 * None is longer than this. */
enum { STAGES_ANSWER_BYTES = 20000 };
bool stages_is_answer(const char *body);

extern const struct stage stages[]; /* ends with a NULL name */

#endif
