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

struct png {
    struct palette palette;
    z_stream stream;
    bool good; /* so far: zlib had its memory */
    int width, height;
    unsigned char *line, *above, *filtered;
    struct text lines; /* packed */
};

/* A picture of plain areas: looking for runs alone takes a twentieth of the
 * time of looking for the best, and gives a fourth more bytes. */
struct png *png_begin(int width, const uint32_t *exact, int exact_count)
{
    enum { WINDOW_BITS = 15, MEMORY_LEVEL = 8 };
    struct png *png = mem_alloc(1, sizeof *png);

    memcpy(png->palette.colours, exact, (size_t)exact_count * sizeof *exact);
    png->palette.count = png->palette.exact_count = exact_count;
    png->width = width;
    png->line = mem_alloc((size_t)width, 1);
    png->above = mem_alloc((size_t)width, 1);
    png->filtered = mem_alloc((size_t)width + 1, 1);
    text_init(&png->lines, MAX_BYTES);
    png->good = deflateInit2(&png->stream, Z_BEST_SPEED, Z_DEFLATED,
                             WINDOW_BITS, MEMORY_LEVEL, Z_RLE) == Z_OK;
    return png;
}

/* Takes `length` bytes in; with Z_FINISH all that is left comes out. */
static void pack(struct png *png, size_t length, int flush)
{
    unsigned char packed[8192];
    z_stream *stream = &png->stream;
    int code = Z_OK;

    stream->next_in = png->filtered;
    stream->avail_in = (uInt)length;
    stream->avail_out = 0;
    while (png->good && code == Z_OK && stream->avail_out == 0) {
        stream->next_out = packed;
        stream->avail_out = sizeof packed;
        code = deflate(stream, flush);
        text_add_bytes(&png->lines, (const char *)packed,
                       sizeof packed - stream->avail_out);
    }
    /* Nothing was left to come out: no error. */
    if (code == Z_BUF_ERROR && flush == Z_NO_FLUSH)
        code = Z_OK;
    png->good = png->good && code == (flush == Z_FINISH ? Z_STREAM_END : Z_OK);
}

/* Each line begins with a byte that says what its values are: NOT_FILTERED
 * themselves, UP less those above, which are 0 for the first line (PNG, third
 * edition, section 9). Runs are all that the compression looks for. */
void png_add(struct png *png, const unsigned char *pixels, int rows, int stride)
{
    enum { NOT_FILTERED = 0, UP = 2 };

    for (int y = 0; y < rows; y++) {
        unsigned char *line = png->line, *above = png->above;
        bool up;

        index_line(pixels + (size_t)y * (size_t)stride, png->width,
                   &png->palette, line);
        up = is_like_above(line, above, png->width);
        png->filtered[0] = up ? UP : NOT_FILTERED;
        for (int x = 0; x < png->width; x++)
            png->filtered[x + 1] =
                (unsigned char)(up ? line[x] - above[x] : line[x]);
        pack(png, (size_t)png->width + 1, Z_NO_FLUSH);
        png->line = above;
        png->above = line;
    }
    png->height += rows;
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

/* The palette stands before the lines, and is known after them. */
char *png_end(struct png *png, size_t *length)
{
    struct text out;
    bool good;

    pack(png, 0, Z_FINISH);
    good = png->good;
    text_init(&out, MAX_BYTES);
    add_head(&out, png->width, png->height);
    add_palette(&out, &png->palette);
    add_chunk(&out, "IDAT", (const unsigned char *)png->lines.bytes,
              png->lines.length);
    add_chunk(&out, "IEND", NULL, 0);
    deflateEnd(&png->stream);
    text_free(&png->lines);
    free(png->line);
    free(png->above);
    free(png->filtered);
    free(png);
    *length = out.length;
    if (good)
        return text_steal(&out);
    text_free(&out);
    return NULL;
}
