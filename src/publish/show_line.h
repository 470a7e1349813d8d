/* The parts of the line. Inside publish/ only. */
#ifndef PUBLISH_SHOW_LINE_H
#define PUBLISH_SHOW_LINE_H

#include "publish/show.h"

enum {
    LINE_FORMS = 5, /* of a sentence; the last says nothing or least */
    LINE_FORM_SIZE = 200
};

enum line_sentence {
    LINE_TODAY,
    LINE_ACTION,
    LINE_SEASON,
    LINE_TONIGHT,
    LINE_NEXT,
    LINE_SENTENCES
};

struct line {
    const struct bulletin *bulletin;
    utc_s now;
    enum unit_system units;
    struct civil_date today;
    int hour;
    const struct bulletin_day *day; /* today's row, or NULL */
    const int (*weights)[LINE_FORMS];
    bool due;   /* LINE_ACTION tells of what is to be done today */
    bool lacks; /* LINE_ACTION tells why there is no plan */
    /* Each sentence from long to short; "" says nothing. */
    char forms[LINE_SENTENCES][LINE_FORMS][LINE_FORM_SIZE];
    char age[LINE_FORM_SIZE];
};

/* One form of a sentence, as printf writes it. */
void line_put(struct line *line, enum line_sentence sentence, int form,
              const char *format, ...) __attribute__((format(printf, 4, 5)));

/* What is to be done: the first thing of today, tonight or tomorrow; else, if
 * there is a plan, until when there is nothing to do, or why there is none. */
void line_say_action(struct line *line);

#endif
