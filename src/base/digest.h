/* SHA-256 (FIPS 180-4) through libmd, as lower-case hex. */
#ifndef BASE_DIGEST_H
#define BASE_DIGEST_H

#include <stddef.h>

enum { DIGEST_SIZE = 65 }; /* 64 hex digits and a NUL */

void digest_hex(const char *bytes, size_t length, char out[DIGEST_SIZE]);

enum { CHECK_SIZE = 17 }; /* 16 hex digits and a NUL */

/* A sum that tells damage, much quicker: no guard against one who means to
 * deceive. A change within one word of eight bytes, counted from the start,
 * always shows. Multiplied and folded, after the finalizer of MurmurHash3
 * (Appleby, public domain), from memory. */
void check_hex(const char *bytes, size_t length, char out[CHECK_SIZE]);

#endif
