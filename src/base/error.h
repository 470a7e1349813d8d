/* What went wrong, in one sentence for the person who reads it.
 *
 * Functions that can fail return 0 or -1 and, on -1, leave a sentence in the
 * caller's struct error. The sentence names the file, line, key or host; it
 * has no line end and no other control character, whatever words of a file or
 * an answer stand in it (utf8_make_plain). Passing NULL for the error is
 * allowed. */
#ifndef BASE_ERROR_H
#define BASE_ERROR_H

struct error {
    char text[512];
};

/* Writes the sentence (cut to fit, never inside a UTF-8 character).
 * Returns -1 always, so that callers can `return error_set(...)`. */
int error_set(struct error *err, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Puts words in front of the sentence already there. Returns -1. */
int error_prefix(struct error *err, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* A list of sentences: all that is wrong, in the order it was found. */
struct error_list {
    char **items; /* owned */
    int count;
};

void error_list_add(struct error_list *list, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void error_list_free(struct error_list *list);

#endif
