/* A catalogue of translated words, as msgfmt --endianness=little writes it
 * (GNU gettext manual, "The Format of GNU MO Files", revision 0). */
#ifndef BASE_CATALOGUE_H
#define BASE_CATALOGUE_H

#include <stddef.h>

struct catalogue;
/* Takes the bytes (made with base/memory.h) over if all of it is in bounds,
 * sorted, UTF-8, and its plural is that of French; else NULL, and they stay
 * the caller's. */
struct catalogue *catalogue_open(char *bytes, size_t length);
void catalogue_free(struct catalogue *catalogue);
/* Form 0 or 1 of a message; NULL if it is not in the catalogue. */
const char *catalogue_find(const struct catalogue *catalogue,
                           const char *english, int form);

#endif
