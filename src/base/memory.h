/* Checked allocation: a program that gets no memory says so on standard error
 * ("thawbell: out of memory") and exits 1. All that matters is in the store or
 * in files written whole, so nothing is lost by that, and the service manager
 * starts the daemon anew; tests/scarce tries it at each allocation. cJSON gets
 * its memory here too. None of these returns NULL. Free with free(). */
#ifndef BASE_MEMORY_H
#define BASE_MEMORY_H

#include <stddef.h>

/* zeroed; overflow checked */
void *mem_alloc(size_t count, size_t size) __attribute__((returns_nonnull));
/* The end as above, for what is not allocated here. */
_Noreturn void mem_fail(void);
/* Ends the program as above unless so much is to be had now: before a call
 * into a library that does not look whether it got its memory. */
void mem_spare(size_t size);
void *mem_resize(void *old, size_t count, size_t size)
    __attribute__((returns_nonnull));
char *mem_copy_text(const char *text);                /* text may be NULL */
char *mem_copy_bytes(const char *bytes, size_t size); /* adds a NUL */
char *mem_format(const char *format, ...)
    __attribute__((format(printf, 1, 2), returns_nonnull));

/* For a daemon, before its first thread: threads share few heaps, so that one
 * uses again what another has freed. */
void mem_few_heaps(void);
/* Does work(data) with a heap of its own and waits for its end: what it leaves
 * for long does not lie in between what comes and goes afterwards, whose blocks
 * would then be spread over all of it. Without a thread to be had it is done in
 * the caller's heap. */
void mem_apart(void (*work)(void *data), void *data);
/* Gives what is free back to the machine: after work, before a long rest. */
void mem_give_back(void);

#endif
