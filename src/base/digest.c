#include "base/digest.h"

#include <stdint.h>
#include <string.h>
#include <sys/types.h>

#include <sha2.h>

static void write_hex(const uint8_t *from, size_t count, char *out)
{
    static const char digits[] = "0123456789abcdef";

    for (size_t i = 0; i < count; i++) {
        out[2 * i] = digits[from[i] >> 4];
        out[2 * i + 1] = digits[from[i] & 15];
    }
    out[2 * count] = '\0';
}

void digest_hex(const char *bytes, size_t length, char out[DIGEST_SIZE])
{
    uint8_t hash[SHA256_DIGEST_LENGTH];
    SHA2_CTX context;
    SHA256Init(&context);
    SHA256Update(&context, (const uint8_t *)bytes, length);
    SHA256Final(hash, &context);
    write_hex(hash, sizeof hash, out);
}

enum { LANES = 4, WORD_BYTES = 8 };

static uint64_t word_at(const char *bytes, size_t length)
{
    uint64_t word = 0;

    for (size_t i = 0; i < length; i++)
        word |= (uint64_t)(unsigned char)bytes[i] << (8 * i);
    return word;
}

/* One step: as many results as there are words. */
static uint64_t mix(uint64_t sum, uint64_t word)
{
    sum = (sum ^ word) * UINT64_C(0xff51afd7ed558ccd);
    return sum ^ sum >> 32;
}

/* Words go to the lanes in turn, which keeps the processor busy. */
void check_hex(const char *bytes, size_t length, char out[CHECK_SIZE])
{
    uint64_t lanes[LANES] = {1, 2, 3, 4}, sum = length;
    uint8_t hash[WORD_BYTES];
    size_t at = 0;

    for (; length - at >= LANES * WORD_BYTES; at += LANES * WORD_BYTES)
        for (size_t lane = 0; lane < LANES; lane++)
            lanes[lane] =
                mix(lanes[lane], word_at(bytes + at + lane * WORD_BYTES, 8));
    for (size_t lane = 0; at < length; lane++) {
        size_t rest = length - at < WORD_BYTES ? length - at : WORD_BYTES;

        lanes[lane] = mix(lanes[lane], word_at(bytes + at, rest));
        at += rest;
    }
    for (size_t lane = 0; lane < LANES; lane++)
        sum = mix(sum, lanes[lane]);
    for (size_t i = 0; i < WORD_BYTES; i++)
        hash[i] = (uint8_t)(sum >> (8 * (WORD_BYTES - 1 - i)));
    write_hex(hash, sizeof hash, out);
}
