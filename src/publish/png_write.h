/* A picture of few colours as a PNG file (ISO/IEC 15948): a palette of 256 and
 * lines in runs, a quarter of the size of full colour. Inside publish/ only.
 */
#ifndef PUBLISH_PNG_WRITE_H
#define PUBLISH_PNG_WRITE_H

#include <stddef.h>
#include <stdint.h>

/* Rows of `stride` bytes, each pixel a native 32-bit 0x00RRGGBB. The first
 * `exact_count` colours are kept as they are; others are rounded to a sixteenth
 * of each channel, and to their nearest where the palette is full. The caller
 * frees; NULL if there is no memory to compress. */
char *png_write(const unsigned char *pixels, int width, int height, int stride,
                const uint32_t *exact, int exact_count, size_t *length);

#endif
