#include "base/base64.h"

#include <stdint.h>

#include "base/memory.h"

char *base64_encode(const char *bytes, size_t length)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                 "abcdefghijklmnopqrstuvwxyz0123456789+/";
    char *out = mem_alloc(length / 3 + 2, 4), *p = out;

    for (size_t at = 0; at < length; at += 3) {
        size_t left = length - at;
        uint32_t group = (uint32_t)(unsigned char)bytes[at] << 16;

        if (left > 1)
            group |= (uint32_t)(unsigned char)bytes[at + 1] << 8;
        if (left > 2)
            group |= (unsigned char)bytes[at + 2];
        *p++ = digits[group >> 18];
        *p++ = digits[group >> 12 & 63];
        *p++ = left > 1 ? digits[group >> 6 & 63] : '=';
        *p++ = left > 2 ? digits[group & 63] : '=';
    }
    *p = '\0';
    return out;
}
