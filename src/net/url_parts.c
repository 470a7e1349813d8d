#include "net/url_parts.h"

#include <string.h>

#include "base/units.h"

bool url_printable(const char *url)
{
    for (const char *p = url; *p != '\0'; p++)
        if ((unsigned char)*p <= 0x20 || (unsigned char)*p >= 0x7f)
            return false;
    return true;
}

bool url_part_copy(CURLU *parsed, CURLUPart part, char *out, size_t size)
{
    char *words = NULL;
    bool fits;

    out[0] = '\0';
    if (curl_url_get(parsed, part, &words, 0) != CURLUE_OK)
        return false;
    fits = strlen(words) < size;
    if (fits)
        memcpy(out, words, strlen(words) + 1);
    curl_free(words);
    return fits;
}

bool url_part_there(CURLU *parsed, CURLUPart part)
{
    char *words = NULL;
    bool there = curl_url_get(parsed, part, &words, 0) == CURLUE_OK;

    curl_free(words);
    return there;
}

bool url_host_copy(CURLU *parsed, char *out, size_t size)
{
    if (!url_part_copy(parsed, CURLUPART_HOST, out, size))
        return false;
    for (char *p = out; *p != '\0'; p++)
        if (*p >= 'A' && *p <= 'Z')
            *p = (char)(*p + 'a' - 'A');
    return true;
}

static bool loopback_ipv4(const char *host)
{
    int numbers = 0;

    for (const char *p = host;; p++) {
        size_t length = strcspn(p, ".");
        char digits[4] = "";
        long value;

        if (length == 0 || length >= sizeof digits)
            return false;
        memcpy(digits, p, length);
        if (!integer_parse(digits, 0, 255, &value) ||
            (numbers == 0 && value != 127))
            return false;
        numbers++;
        p += length;
        if (*p == '\0')
            return numbers == 4;
    }
}

bool url_host_loopback(const char *host)
{
    return strcmp(host, "localhost") == 0 || strcmp(host, "[::1]") == 0 ||
           loopback_ipv4(host);
}
