#include "publish/png_write.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

#include "base/memory.h"
#include "base/text.h"

enum { COLOURS = 256, SLOTS = 4096, MAX_BYTES = 8 * 1024 * 1024 };

struct palette {
    uint32_t colours[COLOURS];
    int count;
    /* By the rounded colour, four bits a channel: row + 1, 0 if not yet. */
    short rounded[SLOTS];
    int exact_count;
};

static int squared(int value)
{
    return value * value;
}

static int nearest(const struct palette *palette, uint32_t colour)
{
    int best = 0, least = 1 << 30;

    for (int i = 0; i < palette->count; i++) {
        uint32_t other = palette->colours[i];
        int away =
            squared((int)(colour >> 16 & 255) - (int)(other >> 16 & 255)) +
            squared((int)(colour >> 8 & 255) - (int)(other >> 8 & 255)) +
            squared((int)(colour & 255) - (int)(other & 255));

        if (away < least) {
            least = away;
            best = i;
        }
    }
    return best;
}

static int find(struct palette *palette, uint32_t colour)
{
    uint32_t slot =
        (colour >> 12 & 0xf00) | (colour >> 8 & 0xf0) | (colour >> 4 & 0xf);

    for (int i = 0; i < palette->exact_count; i++)
        if (palette->colours[i] == colour)
            return i;
    if (palette->rounded[slot] == 0 && palette->count < COLOURS) {
        palette->colours[palette->count++] = ((slot >> 8) * 17) << 16 |
                                             ((slot >> 4 & 15) * 17) << 8 |
                                             (slot & 15) * 17;
        palette->rounded[slot] = (short)palette->count;
    } else if (palette->rounded[slot] == 0) {
        palette->rounded[slot] = (short)(nearest(palette, colour) + 1);
    }
    return palette->rounded[slot] - 1;
}

static void index_line(const unsigned char *pixels, int width,
                       struct palette *palette, unsigned char *out)
{
    uint32_t before = 0;
    int row = -1;

    for (int x = 0; x < width; x++) {
        uint32_t colour;

        memcpy(&colour, pixels + 4 * (size_t)x, sizeof colour);
        colour &= 0xffffff;
        if (row < 0 || colour != before)
            row = find(palette, colour);
        before = colour;
        out[x] = (unsigned char)row;
    }
}

/* Where a line changes along itself, and where against the one above. */
static bool is_like_above(const unsigned char *line, const unsigned char *above,
                          int width)
{
    int along = 0, against = 0;

    for (int x = 1; x < width; x++) {
        along += line[x] != line[x - 1];
        against += line[x] != above[x];
    }
    return against < along;
}

/* Each line begins with a byte that says what its values are: NOT_FILTERED
 * themselves, UP less those above, which are 0 for the first line (PNG, third
 * edition, section 9). Runs are all that the compression looks for. */
static unsigned char *filter_lines(const unsigned char *pixels, int width,
                                   int height, int stride,
                                   struct palette *palette)
{
    enum { NOT_FILTERED = 0, UP = 2 };
    size_t length = (size_t)width;
    unsigned char *out = mem_alloc((size_t)height, length + 1), *end = out;
    unsigned char *line = mem_alloc(length, 1), *above = mem_alloc(length, 1);

    for (int y = 0; y < height; y++) {
        unsigned char *last = above;
        bool up;

        index_line(pixels + (size_t)y * (size_t)stride, width, palette, line);
        up = is_like_above(line, above, width);
        *end++ = up ? UP : NOT_FILTERED;
        for (size_t x = 0; x < length; x++)
            end[x] = (unsigned char)(up ? line[x] - above[x] : line[x]);
        end += length;
        above = line;
        line = last;
    }
    free(line);
    free(above);
    return out;
}

/* 0 where zlib got no memory. A picture of plain areas: looking for runs alone
 * takes a twentieth of the time of looking for the best, and gives a fourth
 * more bytes. */
static size_t pack(unsigned char *lines, size_t size, unsigned char *out,
                   size_t out_size)
{
    enum { WINDOW_BITS = 15, MEMORY_LEVEL = 8 };
    z_stream stream = {.next_in = lines,
                       .avail_in = (uInt)size,
                       .next_out = out,
                       .avail_out = (uInt)out_size};
    bool good;

    if (deflateInit2(&stream, Z_BEST_SPEED, Z_DEFLATED, WINDOW_BITS,
                     MEMORY_LEVEL, Z_RLE) != Z_OK)
        return 0;
    good = deflate(&stream, Z_FINISH) == Z_STREAM_END;
    deflateEnd(&stream);
    return good ? stream.total_out : 0;
}

static void add_number(struct text *out, uint32_t value)
{
    const char bytes[4] = {(char)(value >> 24), (char)(value >> 16),
                           (char)(value >> 8), (char)value};

    text_add_bytes(out, bytes, 4);
}

/* Length, type, bytes, check sum. */
static void add_chunk(struct text *out, const char *type,
                      const unsigned char *bytes, size_t length)
{
    uLong sum = crc32(0, (const Bytef *)type, 4);

    if (length > 0)
        sum = crc32(sum, bytes, (uInt)length);
    add_number(out, (uint32_t)length);
    text_add_bytes(out, type, 4);
    text_add_bytes(out, (const char *)bytes, length);
    add_number(out, (uint32_t)sum);
}

static void add_palette(struct text *out, const struct palette *palette)
{
    unsigned char bytes[3 * COLOURS];

    for (int i = 0; i < palette->count; i++) {
        bytes[3 * i] = (unsigned char)(palette->colours[i] >> 16);
        bytes[3 * i + 1] = (unsigned char)(palette->colours[i] >> 8);
        bytes[3 * i + 2] = (unsigned char)palette->colours[i];
    }
    add_chunk(out, "PLTE", bytes, 3 * (size_t)palette->count);
}

static void add_head(struct text *out, int width, int height)
{
    unsigned char bytes[13] = {0};

    for (int i = 0; i < 4; i++) {
        bytes[i] = (unsigned char)(width >> (24 - 8 * i));
        bytes[4 + i] = (unsigned char)(height >> (24 - 8 * i));
    }
    bytes[8] = 8; /* bits an index */
    bytes[9] = 3; /* indexed colour */
    text_add_bytes(out, "\x89PNG\r\n\x1a\n", 8);
    add_chunk(out, "IHDR", bytes, sizeof bytes);
}

char *png_write(const unsigned char *pixels, int width, int height, int stride,
                const uint32_t *exact, int exact_count, size_t *length)
{
    struct palette *palette = mem_alloc(1, sizeof *palette);
    size_t size = (size_t)height * ((size_t)width + 1);
    size_t packed_size = compressBound((uLong)size);
    unsigned char *packed = mem_alloc(packed_size, 1), *lines;
    struct text out;

    memcpy(palette->colours, exact, (size_t)exact_count * sizeof *exact);
    palette->count = palette->exact_count = exact_count;
    lines = filter_lines(pixels, width, height, stride, palette);
    packed_size = pack(lines, size, packed, packed_size);
    text_init(&out, MAX_BYTES);
    add_head(&out, width, height);
    add_palette(&out, palette);
    add_chunk(&out, "IDAT", packed, packed_size);
    add_chunk(&out, "IEND", NULL, 0);
    free(lines);
    free(packed);
    free(palette);
    *length = out.length;
    if (packed_size > 0)
        return text_steal(&out);
    text_free(&out);
    return NULL;
}
