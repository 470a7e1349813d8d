/* Memory and disk that fail on demand. The program that links scarce.c has
 * malloc, calloc and realloc of its own, and the system calls that write, for
 * itself and for every shared library it uses (the dynamic linker looks in the
 * program first). Nothing fails until it is asked for. */
#ifndef SCARCE_H
#define SCARCE_H

#include <stdbool.h>

/* From here on: the `nth` allocation (from 1) of this process gives NULL, and
 * with `all` every one after it. 0: none fails, they are counted. */
void scarce_memory(long nth, bool all);

/* How a call that writes goes wrong. */
enum scarce_fault {
    SCARCE_ENOSPC,
    SCARCE_EIO,
    SCARCE_EINTR, /* once; a call that cannot be interrupted gets EIO */
    SCARCE_SHORT, /* half is written, then ENOSPC for the rest */
    SCARCE_FAULTS
};

/* From here on: the `nth` (from 1) of open for writing, write, room asked for,
 * fsync, syncfs, close, rename, exchange, link, ftruncate, chmod, a time set,
 * mkdir, unlink and mkstemp fails; with `all` every one after it too. 0: none
 * fails, they are counted. */
void scarce_disk(long nth, bool all, enum scarce_fault fault);
/* Nothing fails any more; what was counted. */
long scarce_stop(void);
const char *scarce_fault_word(enum scarce_fault fault);

#endif
