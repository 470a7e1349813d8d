#include "base/digest.h"

#include <stdint.h>
#include <sys/types.h>

#include <sha2.h>

void digest_hex(const char *bytes, size_t length, char out[DIGEST_SIZE])
{
    static const char digits[] = "0123456789abcdef";
    uint8_t hash[SHA256_DIGEST_LENGTH];
    SHA2_CTX context;
    SHA256Init(&context);
    SHA256Update(&context, (const uint8_t *)bytes, length);
    SHA256Final(hash, &context);
    for (int i = 0; i < SHA256_DIGEST_LENGTH; i++) {
        out[2 * i] = digits[hash[i] >> 4];
        out[2 * i + 1] = digits[hash[i] & 15];
    }
    out[DIGEST_SIZE - 1] = '\0';
}
