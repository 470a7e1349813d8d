/* What takes longer than a moment says what it is at: one line on standard
 * error, if that is a terminal, and taken away again. Nothing is said into a
 * file or a pipe. */
#ifndef BASE_PROGRESS_H
#define BASE_PROGRESS_H

/* Puts the words in the place of those before. On a terminal that cannot go
 * back (TERM=dumb, or no TERM) each is a line of its own. */
void progress_say(const char *format, ...)
    __attribute__((format(printf, 1, 2)));
/* Takes the last words away. */
void progress_end(void);

#endif
