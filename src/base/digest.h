/* SHA-256 (FIPS 180-4) through libmd, as lower-case hex. */
#ifndef BASE_DIGEST_H
#define BASE_DIGEST_H

#include <stddef.h>

enum { DIGEST_SIZE = 65 }; /* 64 hex digits and a NUL */

void digest_hex(const char *bytes, size_t length, char out[DIGEST_SIZE]);

#endif
