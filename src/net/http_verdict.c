/* What an answer means, and what is kept of it. */
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"
#include "net/http_job.h"

/* FNV-1a (Fowler, Noll, Vo; RFC 9923), from memory: only to find an address
 * quickly, the address itself is compared as well. */
static uint64_t url_hash(const char *url)
{
    uint64_t hash = 14695981039346656037U;

    for (const char *p = url; *p != '\0'; p++)
        hash = (hash ^ (unsigned char)*p) * 1099511628211U;
    return hash;
}

static struct http_asked *asked_find(struct http *http, const char *url)
{
    uint64_t hash = url_hash(url);

    for (int i = 0; i < http->asked_count; i++)
        if (http->asked[i].hash == hash && strcmp(http->asked[i].url, url) == 0)
            return &http->asked[i];
    return NULL;
}

static void asked_drop(struct http *http, struct http_asked *asked)
{
    http_asked_free(asked);
    *asked = http->asked[--http->asked_count];
}

/* Most answers need no judgement: their questions are forgotten in time, or
 * there would be more of them with each address. */
static void asked_forget(struct http *http, int64_t before_ms)
{
    for (int i = http->asked_count - 1; i >= 0; i--)
        if (http->asked[i].noted_ms < before_ms)
            asked_drop(http, &http->asked[i]);
}

/* Remembers the question for settle(), in place of an older one. */
static struct http_asked *asked_note(struct http_job *job)
{
    struct http *http = job->http;
    int64_t now_ms = net_clock_ms();
    struct http_asked *asked;

    asked_forget(http, now_ms - HTTP_ASKED_MS);
    asked = asked_find(http, job->asked_url);
    if (asked == NULL) {
        http->asked_count++;
        http->asked = mem_resize(http->asked, (size_t)http->asked_count,
                                 sizeof *http->asked);
        asked = &http->asked[http->asked_count - 1];
        memset(asked, 0, sizeof *asked);
        asked->url = mem_copy_text(job->asked_url);
        asked->hash = url_hash(asked->url);
    }
    cache_record_free(&asked->fresh);
    asked->has_fresh = false;
    asked->noted_ms = now_ms;
    asked->status = 0;
    http_headers_clear(&asked->headers);
    memcpy(asked->key, job->record.key, sizeof asked->key);
    memcpy(asked->host, job->parts.host, sizeof asked->host);
    asked->max_bytes = job->max_bytes;
    return asked;
}

void http_asked_free(struct http_asked *asked)
{
    cache_record_free(&asked->fresh);
    free(asked->url);
}

static void trouble_copy(char out[512], const char *words)
{
    size_t length = utf8_cut(words, strlen(words), 511);

    memcpy(out, words, length);
    out[length] = '\0';
}

/* Hands what is held to the caller; the record is not used after. */
static void answer_finish(struct http_job *job, int status, utc_s next)
{
    struct transport_answer *answer = job->answer;

    answer->held = job->record.body;
    answer->held_length = job->record.length;
    answer->held_fetched = job->record.body != NULL ? job->record.fetched : 0;
    answer->held_issued_known =
        job->record.body != NULL && job->record.issued_known;
    answer->held_issued = job->record.issued;
    answer->next = next;
    answer->status = status;
    answer->deprecated = status == 203 || job->record.deprecated;
    job->record.body = NULL;
    job->done = true;
}

void http_conclude_cached(struct http_job *job)
{
    asked_note(job);
    trouble_copy(job->answer->trouble, job->record.trouble);
    answer_finish(job, 0, job->record.next);
}

/* The question failed: the record says so, the held body stays. */
static void conclude_trouble(struct http_job *job, int status, utc_s next,
                             const char *trouble)
{
    trouble_copy(job->record.trouble, trouble);
    trouble_copy(job->answer->trouble, trouble);
    job->record.asked = job->now;
    job->record.next = next;
    asked_note(job);
    cache_save_head(job->http->cache, &job->record);
    answer_finish(job, status, next);
}

void http_conclude_held(struct http_job *job)
{
    const struct http_host *host = &job->http->hosts[job->host];

    conclude_trouble(job, 0, host->held_until, host->trouble);
}

void http_conclude_abandoned(struct http_job *job)
{
    struct error words;
    utc_s next = job->now + PACE_FRESH_MIN_S;

    error_set(&words,
              _("there was no time left to ask %s; the next turn asks it"),
              job->parts.host);
    trouble_copy(job->answer->trouble, words.text);
    asked_note(job);
    answer_finish(job, 0, next);
}

void http_conclude_refused(struct http_job *job, int status, const char *reason)
{
    conclude_trouble(job, status, job->now + PACE_REFUSED_S, reason);
}

/* Others of this host are not asked before the same time. */
static void host_hold(struct http_job *job, utc_s until, const char *trouble)
{
    struct http_host *host = &job->http->hosts[job->host];

    host->held_since = job->now;
    host->held_until = until;
    trouble_copy(host->trouble, trouble);
}

static void conclude_failure(struct http_job *job, CURLcode code)
{
    const struct http *http = job->http;
    char again[HTTP_TIME_SIZE];
    struct http_headers none;
    struct error words;
    utc_s next;

    http_headers_clear(&none);
    job->record.failures++;
    next = pace_after_error(http->seed, job->record.key, 0, &none,
                            job->record.failures, job->now);
    http_words_time(next, job->now, again);
    http_words_failure(&words, job->parts.host, code, job->too_large, again);
    if (code == CURLE_COULDNT_RESOLVE_HOST || code == CURLE_COULDNT_CONNECT ||
        code == CURLE_OPERATION_TIMEDOUT || code == CURLE_SSL_CONNECT_ERROR ||
        code == CURLE_PEER_FAILED_VERIFICATION)
        host_hold(job, next, words.text);
    conclude_trouble(job, 0, next, words.text);
}

static void service_words(const struct http_job *job, char out[HTTP_WORDS_SIZE])
{
    char words[HTTP_WORDS_SIZE] = "";

    if (job->error_words != NULL)
        job->error_words(job->body.bytes, job->body.length, words,
                         sizeof words);
    http_words_clean(words, job->url, out);
}

static void conclude_status(struct http_job *job, int status)
{
    const struct http *http = job->http;
    char said[HTTP_WORDS_SIZE], again[HTTP_TIME_SIZE];
    struct error words;
    utc_s next;

    job->record.failures++;
    next = pace_after_error(http->seed, job->record.key, status, &job->headers,
                            job->record.failures, job->now);
    service_words(job, said);
    http_words_time(next, job->now, again);
    http_words_status(&words, job->parts.host, status, said, again);
    if (status == 403 || status == 429 ||
        (status == 503 && http_headers_retry_s(&job->headers, job->now) >= 0))
        host_hold(job, next, words.text);
    conclude_trouble(job, status, next, words.text);
}

/* 304: what is held is good for another while; its own time stays. */
static void conclude_same(struct http_job *job)
{
    struct cache_record *record = &job->record;

    if (job->headers.etag[0] != '\0')
        memcpy(record->etag, job->headers.etag, sizeof record->etag);
    if (job->headers.last_modified[0] != '\0')
        memcpy(record->last_modified, job->headers.last_modified,
               sizeof record->last_modified);
    record->failures = 0;
    conclude_trouble(job, 304,
                     pace_after_answer(job->http->seed, &job->headers,
                                       job->min_interval_s, job->now),
                     "");
}

static void conclude_no_data(struct http_job *job)
{
    utc_s next = pace_after_answer(job->http->seed, &job->headers,
                                   job->min_interval_s, job->now);
    char again[HTTP_TIME_SIZE];
    struct error words;

    job->record.failures = 0;
    http_words_time(next, job->now, again);
    http_words_status(&words, job->parts.host, 204, "", again);
    conclude_trouble(job, 204, next, words.text);
}

static void fresh_make(const struct http_job *job, int status,
                       struct cache_record *out)
{
    memset(out, 0, sizeof *out);
    memcpy(out->key, job->record.key, sizeof out->key);
    /* MET Norway's terms: no conditional requests on a deprecated product. */
    if (status != 203) {
        memcpy(out->etag, job->headers.etag, sizeof out->etag);
        memcpy(out->last_modified, job->headers.last_modified,
               sizeof out->last_modified);
    }
    out->deprecated = status == 203;
    out->asked = job->now;
    out->fetched = job->now;
    out->next = pace_after_answer(job->http->seed, &job->headers,
                                  job->min_interval_s, job->now);
    out->body = mem_copy_bytes(job->body.bytes, job->body.length);
    out->length = job->body.length;
}

/* A body waits for its judgement. Until then the record on disk holds the
 * old one and the time of this question, so that a process that dies in
 * between neither asks at once again nor sits on the old answer for long. */
static void conclude_body(struct http_job *job, int status)
{
    struct http_asked *asked = asked_note(job);

    asked->has_fresh = true;
    asked->status = status;
    asked->headers = job->headers;
    fresh_make(job, status, &asked->fresh);
    job->record.asked = job->now;
    job->record.next = job->now + PACE_BACKOFF_MIN_S;
    cache_save_head(job->http->cache, &job->record);
    if (status == 203)
        log_info(_("%s says that this version of its service will go (status "
                   "203)"),
                 job->parts.host);
    job->answer->length = job->body.length;
    job->answer->body = text_steal(&job->body);
    job->answer->fetched = job->now;
    answer_finish(job, status, asked->fresh.next);
}

void http_conclude(struct http_job *job, CURLcode code, int status)
{
    /* An error's status counts even if its body did not come whole. */
    if (code != CURLE_OK && status < 300)
        conclude_failure(job, code);
    else if (status == 200 || status == 203)
        conclude_body(job, status);
    else if (status == 204)
        conclude_no_data(job);
    else if (status == 304 && job->record.body != NULL && !job->unconditional)
        conclude_same(job);
    else
        conclude_status(job, status);
    log_debug(_("%s: status %d, %zu bytes, failures %d"), job->parts.host,
              status, job->answer->length, job->record.failures);
}

static void log_useless(const struct http_asked *asked, const char *url)
{
    char shown[400];

    text_escape(shown, sizeof shown, asked->fresh.body, asked->fresh.length,
                80);
    http_url_hide_secrets(url, shown);
    log_debug(_("%s: status %d, type \"%s\", starts with \"%s\""), asked->host,
              asked->status, asked->headers.content_type, shown);
}

/* A bad body counts as a server's error. A held one that is judged bad (by a
 * newer program, say) loses its validators, so that it is sent anew. */
static void settle_bad(struct http *http, utc_s now, struct http_asked *asked,
                       const char *reason, struct transport_answer *answer)
{
    char said[HTTP_WORDS_SIZE], again[HTTP_TIME_SIZE];
    bool html = asked->has_fresh && http_headers_html(&asked->headers);
    struct cache_record record;
    struct error words;

    cache_load(http->cache, asked->key, asked->max_bytes, &record);
    if (!asked->has_fresh) {
        record.etag[0] = '\0';
        record.last_modified[0] = '\0';
    }
    record.failures++;
    record.asked = now;
    record.next = pace_after_error(http->seed, record.key, 200, &asked->headers,
                                   record.failures, now);
    http_words_clean(reason != NULL ? reason : "", asked->url, said);
    http_words_time(record.next, now, again);
    http_words_useless(&words, asked->host, html, said, again);
    trouble_copy(record.trouble, words.text);
    if (answer != NULL) {
        trouble_copy(answer->trouble, words.text);
        answer->next = record.next;
    }
    cache_save_head(http->cache, &record);
    cache_record_free(&record);
    if (asked->has_fresh)
        log_useless(asked, asked->url);
}

static void settle_good(struct http *http, struct http_asked *asked,
                        const struct transport_answer *answer)
{
    asked->fresh.issued_known = answer != NULL;
    asked->fresh.issued = answer != NULL ? answer->issued : 0;
    cache_save(http->cache, &asked->fresh);
}

void http_settle(struct http *http, utc_s now, const char *url, bool good,
                 const char *reason, struct transport_answer *answer)
{
    struct http_asked *asked = asked_find(http, url);

    if (asked == NULL)
        return;
    if (!good)
        settle_bad(http, now, asked, reason, answer);
    else if (asked->has_fresh)
        settle_good(http, asked, answer);
    asked_drop(http, asked);
}
