/* Base64 (RFC 4648 section 4), with padding, without line ends. */
#ifndef BASE_BASE64_H
#define BASE_BASE64_H

#include <stddef.h>

/* Owned by the caller. */
char *base64_encode(const char *bytes, size_t length);

#endif
