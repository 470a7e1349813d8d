/* A note out of the words of a command line: "42 gal 2.1 Brix north
 * yesterday 17:00".
 *
 * Each word says by itself what it is: a quantity by its unit (a volume is
 * sap or syrup as the kind takes it, "62 % light" is light), a bush by its
 * name ("all": all bushes), a time, a class, a sign. Order does not matter;
 * "at", "of", "from", "in" and "on" are passed over. */
#ifndef LOGBOOK_NOTE_WORDS_H
#define LOGBOOK_NOTE_WORDS_H

#include "logbook/logbook.h"

struct note_context {
    utc_s now;
    const struct zone *zone;
    const char *const *bushes; /* their names */
    int bush_count;
};

/* Puts what the words say into *note, of which the kind is set and the rest
 * is what stands (all zero for a new note: its time is then `now`). Of one
 * bush the name goes without saying; where there are several, what happens in
 * a bush must name it. A time that lies ahead is refused. The note is checked
 * (log_note_check). -1 with a sentence that names the word. */
int note_words_parse(const struct note_context *context,
                     const char *const *words, int count, struct log_note *note,
                     struct error *err);

#endif
