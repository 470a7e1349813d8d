/* A picture of few colours as a PNG file (ISO/IEC 15948): a palette of 256 and
 * lines in runs, a quarter of the size of full colour. Inside publish/ only. */
#ifndef PUBLISH_PNG_WRITE_H
#define PUBLISH_PNG_WRITE_H

#include <stddef.h>
#include <stdint.h>

struct png;

/* The first colours are kept as they are; others are rounded to a sixteenth of
 * each channel, and to their nearest where the palette is full. */
struct png *png_begin(int width, const uint32_t *exact, int exact_count);
/* The next rows, of `stride` bytes, each pixel a native 32-bit 0x00RRGGBB. They
 * are packed at once: a large picture may come in bands. */
void png_add(struct png *png, const unsigned char *pixels, int rows,
             int stride);
/* The whole file, which the caller frees; NULL if there was no memory to
 * compress. Frees the picture. */
char *png_end(struct png *png, size_t *length);

#endif
