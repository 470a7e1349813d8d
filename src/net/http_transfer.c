/* One question on a libcurl easy handle. */
#include <arpa/inet.h>
#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "base/memory.h"
#include "net/http_job.h"
#include "net/loopback.h"

static size_t take_header(char *bytes, size_t size, size_t count, void *self)
{
    struct http_job *job = self;

    http_headers_add(&job->headers, bytes, size * count);
    return size * count;
}

/* Unpacked bytes. libcurl's own limit knows the packed length alone, so the
 * cap is counted here; returning less than given ends the transfer. */
static size_t take_body(char *bytes, size_t size, size_t count, void *self)
{
    struct http_job *job = self;
    size_t length = size * count, max = job->max_bytes;
    long status = 0;

    curl_easy_getinfo(job->easy, CURLINFO_RESPONSE_CODE, &status);
    if (status >= 300)
        max = HTTP_ERROR_BODY_BYTES;
    if (length > max - job->body.length) {
        job->too_large = status < 300;
        text_add_bytes(&job->body, bytes, max - job->body.length);
        return 0;
    }
    text_add_bytes(&job->body, bytes, length);
    return length;
}

static void add_line(struct http_job *job, const char *name, const char *value)
{
    char *line;
    struct curl_slist *lines;

    if (value == NULL || value[0] == '\0')
        return;
    line = mem_format("%s: %s", name, value);
    lines = curl_slist_append(job->lines, line);
    free(line);
    if (lines != NULL)
        job->lines = lines;
}

static void add_lines(struct http_job *job)
{
    const struct cache_record *record = &job->record;

    add_line(job, "Accept", job->accept);
    if (job->unconditional) {
        add_line(job, "Cache-Control", "no-cache");
    } else if (record->body != NULL) {
        add_line(job, "If-None-Match", record->etag);
        add_line(job, "If-Modified-Since", record->last_modified);
    }
    curl_easy_setopt(job->easy, CURLOPT_HTTPHEADER, job->lines);
}

static void set_caps(struct http_job *job)
{
    const struct http_caps *caps = &job->http->caps;
    long left = (long)(job->deadline_ms - net_clock_ms());

    if (left < 1)
        left = 1;
    curl_easy_setopt(job->easy, CURLOPT_NOSIGNAL, 1L);
    /* Else a name look-up that hangs is waited for beyond all caps. */
    curl_easy_setopt(job->easy, CURLOPT_QUICK_EXIT, 1L);
    curl_easy_setopt(job->easy, CURLOPT_CONNECTTIMEOUT_MS, caps->connect_ms);
    curl_easy_setopt(job->easy, CURLOPT_TIMEOUT_MS, left);
    curl_easy_setopt(job->easy, CURLOPT_LOW_SPEED_LIMIT, caps->low_bytes_s);
    curl_easy_setopt(job->easy, CURLOPT_LOW_SPEED_TIME, caps->low_s);
    curl_easy_setopt(job->easy, CURLOPT_MAXFILESIZE_LARGE,
                     (curl_off_t)job->max_bytes);
}

static void set_safety(struct http_job *job)
{
    CURL *easy = job->easy;

    curl_easy_setopt(easy, CURLOPT_FOLLOWLOCATION, 0L);
    curl_easy_setopt(easy, CURLOPT_SSLVERSION, (long)CURL_SSLVERSION_TLSv1_2);
    if (job->parts.plain) {
        curl_easy_setopt(easy, CURLOPT_PROTOCOLS_STR, "http");
        curl_easy_setopt(easy, CURLOPT_PROXY, "");
        curl_easy_setopt(easy, CURLOPT_OPENSOCKETFUNCTION, loopback_open);
    } else {
        curl_easy_setopt(easy, CURLOPT_PROTOCOLS_STR, "https");
    }
}

int http_transfer_start(struct http_job *job)
{
    job->easy = curl_easy_init();
    if (job->easy == NULL)
        return -1;
    if (job->deadline_ms == 0)
        job->deadline_ms = net_clock_ms() + job->http->caps.total_ms;
    http_headers_clear(&job->headers);
    text_clear(&job->body);
    job->too_large = false;
    set_caps(job);
    set_safety(job);
    curl_easy_setopt(job->easy, CURLOPT_URL, job->url);
    curl_easy_setopt(job->easy, CURLOPT_USERAGENT, job->agent);
    curl_easy_setopt(job->easy, CURLOPT_ACCEPT_ENCODING, "gzip");
    curl_easy_setopt(job->easy, CURLOPT_HEADERFUNCTION, take_header);
    curl_easy_setopt(job->easy, CURLOPT_HEADERDATA, job);
    curl_easy_setopt(job->easy, CURLOPT_WRITEFUNCTION, take_body);
    curl_easy_setopt(job->easy, CURLOPT_WRITEDATA, job);
    curl_easy_setopt(job->easy, CURLOPT_PRIVATE, job);
    add_lines(job);
    if (curl_multi_add_handle(multi_curl(job->http->multi), job->easy) !=
        CURLM_OK) {
        http_transfer_end(job);
        return -1;
    }
    job->running = true;
    return 0;
}

void http_transfer_end(struct http_job *job)
{
    if (job->easy != NULL) {
        curl_multi_remove_handle(multi_curl(job->http->multi), job->easy);
        curl_easy_cleanup(job->easy);
    }
    curl_slist_free_all(job->lines);
    job->easy = NULL;
    job->lines = NULL;
    job->running = false;
}
