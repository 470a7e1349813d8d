/* What is checked of a JSON text before cJSON sees it, in one pass without
 * recursion: UTF-8, no zero bytes (nor \u0000), no raw control characters in
 * strings, numbers written as RFC 8259 section 6 says and finite, the depth
 * and the number of values. Brackets and commas are left to cJSON. */
#ifndef BASE_JSON_GUARD_H
#define BASE_JSON_GUARD_H

#include <stddef.h>

#include "base/error.h"

int json_guard(const char *bytes, size_t length, struct error *err);

#endif
