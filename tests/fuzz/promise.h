/* What the fuzz harnesses share: how a promise of a header is held against
 * what came out, and how the bytes are handed over. */
#ifndef FUZZ_PROMISE_H
#define FUZZ_PROMISE_H

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/error.h"
#include "base/text.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define PROMISE(condition)                                                     \
    do {                                                                       \
        if (!(condition)) {                                                    \
            fprintf(stderr, "%s:%d: not kept: %s\n", __FILE__, __LINE__,       \
                    #condition);                                               \
            abort();                                                           \
        }                                                                      \
    } while (0)

/* A sentence: some words, no line breaks, nothing that steers a terminal. */
static inline void promise_sentence(const char *words)
{
    PROMISE(strlen(words) > 5);
    PROMISE(utf8_valid(words, strlen(words)));
    for (; *words; words++)
        PROMISE((unsigned char)*words >= 0x20 && *words != 0x7f);
}

/* 0 with no need of words, or -1 with a sentence. */
static inline void promise_result(int result, const struct error *err)
{
    PROMISE(result == 0 || result == -1);
    if (result < 0)
        promise_sentence(err->text);
}

/* The bytes up to their first NUL, ended by one, in a block of that very
 * size, so that a sanitizer sees a byte too far. The caller frees. */
static inline char *input_text(const uint8_t *data, size_t size)
{
    size_t length = size > 0 ? strnlen((const char *)data, size) : 0;
    char *text = malloc(length + 1);

    if (text == NULL)
        exit(1);
    if (length > 0)
        memcpy(text, data, length);
    text[length] = '\0';
    return text;
}

/* A folder of this process, taken away at its end. Borrowed. */
const char *input_folder(void);
/* The bytes in a file of that folder, for readers that take a path: written
 * over each time. Borrowed. */
const char *input_file(const char *name, const uint8_t *data, size_t size);

#endif
