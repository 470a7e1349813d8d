/* Numbers side by side, for compilers that have vectors (GCC, clang). */
#ifndef WEATHER_VECTORS_H
#define WEATHER_VECTORS_H

#include <stdint.h>

/* Four at any place of a column, and what a comparison gives: all bits set in
 * each that it holds for. */
enum { VECTOR_WIDE = 4 };
typedef double vector
    __attribute__((vector_size(8 * VECTOR_WIDE), aligned(8), may_alias));
typedef int64_t vector_mask
    __attribute__((vector_size(8 * VECTOR_WIDE), aligned(8), may_alias));

/* Functions compiled for wider vectors too, where the C library chooses between
 * the two as it loads the program. Neither has fused multiplication: the bits
 * are the same. Sanitizers would have to be up before that choice is made, and
 * clang 14 leaves out the function itself. */
#if defined(__x86_64__) && defined(__GLIBC__) && !defined(__clang__) &&        \
    !defined(__SANITIZE_ADDRESS__)
#define CLONES __attribute__((target_clones("avx2", "default")))
#else
#define CLONES
#endif

#endif
