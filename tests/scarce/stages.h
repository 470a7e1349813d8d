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
};

extern const struct stage stages[]; /* ends with a NULL name */

#endif
