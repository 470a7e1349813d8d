/* Any lines as the header of a service's answer: what they say about time
 * stays within its bounds, and so does when the service is asked again. */
#include "promise.h"

#include "net/http_headers.h"
#include "net/pace.h"

static const utc_s now = 1772838600; /* 6 March 2026 */
static const char seed[] = "0123456789abcdef0123456789abcdef";

static void check_text(const char *words, size_t size)
{
    PROMISE(strlen(words) < size);
    for (; *words; words++)
        PROMISE((unsigned char)*words >= 0x20 && (unsigned char)*words < 0x7f);
}

static void check_headers(const struct http_headers *headers)
{
    int64_t fresh = http_headers_fresh_s(headers, now);
    int64_t retry = http_headers_retry_s(headers, now);

    PROMISE(fresh >= -1 && fresh <= HTTP_FRESH_MAX_S);
    PROMISE(retry == -1 ||
            (retry >= HTTP_RETRY_MIN_S && retry <= HTTP_RETRY_MAX_S));
    PROMISE(headers->max_age_s >= -1 && headers->max_age_s <= INT32_MAX);
    PROMISE(headers->age_s >= 0 && headers->age_s <= INT32_MAX);
    check_text(headers->etag, sizeof headers->etag);
    check_text(headers->last_modified, sizeof headers->last_modified);
    check_text(headers->date, sizeof headers->date);
    check_text(headers->expires, sizeof headers->expires);
    check_text(headers->retry_after, sizeof headers->retry_after);
    check_text(headers->content_type, sizeof headers->content_type);
    (void)http_headers_html(headers);
}

static void check_pace(const struct http_headers *headers)
{
    static const int statuses[] = {301, 400, 403, 404, 429, 500, 503};
    utc_s next = pace_after_answer(seed, headers, 600, now);

    PROMISE(next > now && next < now + 8 * SECONDS_PER_DAY);
    for (size_t i = 0; i < sizeof statuses / sizeof *statuses; i++)
        for (int failures = 1; failures <= 1000; failures *= 10) {
            next = pace_after_error(seed, "key", statuses[i], headers, failures,
                                    now);
            PROMISE(next >= now + HTTP_RETRY_MIN_S &&
                    next < now + 2 * SECONDS_PER_DAY);
        }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *at = (const char *)data, *end = at + size;
    struct http_headers headers;

    http_headers_clear(&headers);
    while (at < end) {
        const char *line_end = memchr(at, '\n', (size_t)(end - at));
        size_t length =
            line_end ? (size_t)(line_end + 1 - at) : (size_t)(end - at);

        http_headers_add(&headers, at, length);
        at += length;
    }
    check_headers(&headers);
    check_pace(&headers);
    return 0;
}
