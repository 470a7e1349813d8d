/* The secret part of the address that a feed is served under. */
#ifndef CONFIG_TOKEN_H
#define CONFIG_TOKEN_H

#include <stdbool.h>

/* The least hold 128 bits, of 64 kinds of letters. */
enum { TOKEN_LEAST = 22, TOKEN_MOST = 128 };

/* TOKEN_LEAST to TOKEN_MOST letters, digits, - and _. */
bool token_fits(const char *token);

#endif
