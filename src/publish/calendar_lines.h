/* The bytes of a calendar as content lines (RFC 5545 section 3.1), each
 * checked as it is unfolded. */
#ifndef PUBLISH_CALENDAR_LINES_H
#define PUBLISH_CALENDAR_LINES_H

#include "base/error.h"
#include "base/text.h"

struct calendar_reader {
    const char *at, *end;
    int line;           /* of the physical line at `at` */
    int first_line;     /* of the content line last read */
    struct text words;  /* the content line last read, unfolded */
    const char *name;   /* "DTSTART", inside words */
    const char *params; /* "VALUE=DATE", or "" */
    const char *value;
};

void calendar_reader_init(struct calendar_reader *reader, const char *bytes,
                          size_t length);
void calendar_reader_free(struct calendar_reader *reader);

/* 1: a line was read; 0: the end; -1 and a sentence: the bytes are wrong
 * (line break, length, UTF-8, control, fold, name). */
int calendar_reader_next(struct calendar_reader *reader, struct error *err);

#endif
