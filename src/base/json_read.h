/* The tree of a JSON text (RFC 8259) that json_guard has let pass, in cJSON's
 * nodes: a text of many numbers takes a quarter of what cJSON's own reader
 * takes for it. Without recursion. */
#ifndef BASE_JSON_READ_H
#define BASE_JSON_READ_H

#include <cjson/cJSON.h>
#include <stddef.h>

/* One value with blanks and the mark of UTF-8 before it and whatever behind
 * it: *stop is how many bytes it took. NULL if there is none: *stop is then the
 * byte at which that was seen. Of members of one name all are kept. */
cJSON *json_read(const char *bytes, size_t length, size_t *stop);

#endif
