#include "net/http.h"

#include <ctype.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"
#include "net/http_job.h"

enum { CONTACT_MAX_BYTES = 200, STEP_MS = 500, MS_PER_MINUTE = 60000 };

struct http_caps http_caps_default(void)
{
    return (struct http_caps){.connect_ms = 10000,
                              .total_ms = 40000,
                              .low_bytes_s = 100,
                              .low_s = 15,
                              .fetch_ms = 120000,
                              .redirects_max = 3};
}

int http_global_start(struct error *err)
{
    CURLcode code = curl_global_init(CURL_GLOBAL_DEFAULT);

    if (code != CURLE_OK)
        return error_set(err, _("the network library does not start (%s)"),
                         curl_easy_strerror(code));
    return 0;
}

void http_global_end(void)
{
    curl_global_cleanup();
}

static int contact_check(const char *contact, struct error *err)
{
    bool good = contact != NULL && contact[0] != '\0' &&
                strlen(contact) <= CONTACT_MAX_BYTES;

    for (const char *p = contact; good && *p != '\0'; p++)
        good = (unsigned char)*p >= 0x20 && (unsigned char)*p < 0x7f &&
               *p != '(' && *p != ')' && *p != '\\';
    if (!good)
        return error_set(
            err,
            _("weather services want a contact: a mail or web address of at "
              "most %d printable ASCII characters without ( ) \\"),
            CONTACT_MAX_BYTES);
    return 0;
}

struct http *http_transport_open(const char *cache_folder, const char *contact,
                                 const struct http_caps *caps,
                                 struct error *err)
{
    struct error seed_err = {""};
    struct http *http;

    if (contact_check(contact, err) != 0)
        return NULL;
    http = mem_alloc(1, sizeof *http);
    http->cache = cache_open(cache_folder, err);
    if (http->cache != NULL)
        http->multi = multi_open(err);
    if (http->multi == NULL) {
        http_transport_free(http);
        return NULL;
    }
    if (pace_seed_load(cache_folder, http->seed, &seed_err) != 0)
        log_warn("%s", seed_err.text);
    http->contact = mem_copy_text(contact);
    http->caps = caps != NULL ? *caps : http_caps_default();
    curl_multi_setopt(multi_curl(http->multi), CURLMOPT_MAX_HOST_CONNECTIONS,
                      1L);
    return http;
}

static int find_host(struct http *http, const struct http_url *parts)
{
    struct http_host *host;

    for (int i = 0; i < http->host_count; i++)
        if (http->hosts[i].port == parts->port &&
            strcmp(http->hosts[i].name, parts->host) == 0)
            return i;
    http->host_count++;
    http->hosts =
        mem_resize(http->hosts, (size_t)http->host_count, sizeof *http->hosts);
    host = &http->hosts[http->host_count - 1];
    memset(host, 0, sizeof *host);
    memcpy(host->name, parts->host, sizeof host->name);
    host->port = parts->port;
    return http->host_count - 1;
}

static void job_free(struct http_job *job)
{
    http_transfer_end(job);
    cache_record_free(&job->record);
    text_free(&job->body);
    free(job->asked_url);
    free(job->url);
    free(job->accept);
    free(job->agent);
    free(job);
}

static struct http_job *job_make(struct http *http, utc_s now,
                                 const struct transport_request *request,
                                 struct transport_answer *answer)
{
    struct http_job *job = mem_alloc(1, sizeof *job);
    const char *url = request->url != NULL ? request->url : "";
    size_t room = request->max_bytes;

    if (room < HTTP_ERROR_BODY_BYTES)
        room = HTTP_ERROR_BODY_BYTES;
    job->http = http;
    job->answer = answer;
    job->now = now;
    job->asked_url = mem_copy_text(url);
    job->url = mem_copy_text(url);
    job->accept = mem_copy_text(request->accept);
    job->agent =
        mem_format("thawbell/%s (%s)", program_version(),
                   contact_check(request->contact, NULL) == 0 ? request->contact
                                                              : http->contact);
    job->per_minute = request->per_minute;
    job->min_interval_s = request->min_interval_s;
    job->max_bytes = request->max_bytes;
    job->error_words = request->error_words;
    text_init(&job->body, room);
    return job;
}

/* Is it time to ask? */
static bool record_due(const struct cache_record *record, bool renew, utc_s now)
{
    if (record->asked == 0 || now >= record->next ||
        now < record->asked - HTTP_CLOCK_SLACK_S)
        return true;
    return renew && record->failures == 0 &&
           now >= record->asked + PACE_REFUSED_S;
}

static void job_queue(struct http_job *job)
{
    struct http_job **end = &job->http->jobs;

    while (*end != NULL)
        end = &(*end)->next;
    *end = job;
}

void http_begin(struct http *http, utc_s now,
                const struct transport_request *request,
                struct transport_answer *answer)
{
    struct http_job *job = job_make(http, now, request, answer);
    struct error err = {""};
    char key[DIGEST_SIZE];

    memset(answer, 0, sizeof *answer);
    if (http_url_read(job->url, &job->parts, &err) != 0) {
        memcpy(answer->trouble, err.text, sizeof answer->trouble);
        answer->next = now + PACE_REFUSED_S;
        job_free(job);
        return;
    }
    job->host = find_host(http, &job->parts);
    cache_key(job->url, job->accept, key);
    cache_load(http->cache, key, job->max_bytes, &job->record);
    if (record_due(&job->record, request->renew, now)) {
        job_queue(job);
        return;
    }
    http_conclude_cached(job);
    job_free(job);
}

static bool status_redirects(int status)
{
    return status == 301 || status == 302 || status == 303 || status == 307 ||
           status == 308;
}

/* Where a redirect leads, if it may; else says why not. */
static int redirect_check(struct http_job *job, const char *target,
                          struct http_url *parts, struct error *err)
{
    struct error why = {""};

    if (target == NULL)
        return error_set(err, _("%s sends us on, but does not say whither"),
                         job->parts.host);
    if (job->redirects >= job->http->caps.redirects_max)
        return error_set(err, _("%s sends us on more than %ld times"),
                         job->parts.host, job->http->caps.redirects_max);
    if (http_url_read(target, parts, &why) != 0)
        return error_set(err, _("%s sends us on, not followed: %s"),
                         job->parts.host, why.text);
    if (!http_url_may_follow(&job->parts, parts,
                             http_url_has_secret(job->asked_url)))
        return error_set(err,
                         _("%s sends us on to %s, another host, not followed; "
                           "check the url in the configuration"),
                         job->parts.host, parts->host);
    return 0;
}

/* The handle is still there: its redirect target is read from it. */
static void job_follow(struct http_job *job, int status)
{
    struct http_url parts;
    struct error err = {""};
    char *target = NULL;

    curl_easy_getinfo(job->easy, CURLINFO_REDIRECT_URL, &target);
    if (redirect_check(job, target, &parts, &err) != 0) {
        http_url_hide_secrets(job->asked_url, err.text);
        http_conclude_refused(job, status, err.text);
        return;
    }
    free(job->url);
    job->url = mem_copy_text(target);
    job->parts = parts;
    job->host = find_host(job->http, &parts);
    job->redirects++;
}

static void job_finished(struct http_job *job, CURLcode code)
{
    int host = job->host;
    long status = 0;

    curl_easy_getinfo(job->easy, CURLINFO_RESPONSE_CODE, &status);
    if (status_redirects((int)status))
        job_follow(job, (int)status);
    else if (status == 304 && job->record.body == NULL && !job->unconditional)
        job->unconditional = true;
    else
        http_conclude(job, code, (int)status);
    http_transfer_end(job);
    job->http->hosts[host].busy = false;
}

/* Another job asks what this one has just learnt. */
static void answer_share(struct http *http, const struct http_job *done)
{
    for (struct http_job *job = http->jobs; job != NULL; job = job->next) {
        struct transport_answer *to = job->answer;

        if (job == done || job->done || job->running ||
            strcmp(job->record.key, done->record.key) != 0)
            continue;
        *to = *done->answer;
        if (to->body != NULL)
            to->body = mem_copy_bytes(to->body, to->length);
        if (to->held != NULL)
            to->held = mem_copy_bytes(to->held, to->held_length);
        job->done = true;
    }
}

static void jobs_sweep(struct http *http)
{
    struct http_job **at = &http->jobs;

    while (*at != NULL) {
        struct http_job *job = *at;

        if (!job->done) {
            at = &job->next;
            continue;
        }
        *at = job->next;
        job_free(job);
    }
}

static bool host_held(const struct http_host *host, utc_s now)
{
    return now < host->held_until &&
           now >= host->held_since - HTTP_CLOCK_SLACK_S;
}

/* A host is asked at most so often as its service allows. */
static void jobs_start(struct http *http)
{
    int64_t now_ms = net_clock_ms();

    for (struct http_job *job = http->jobs; job != NULL; job = job->next) {
        struct http_host *host = &http->hosts[job->host];

        if (job->done || job->running || host->busy)
            continue;
        if (host_held(host, job->now)) {
            http_conclude_held(job);
        } else if (now_ms < host->start_ms) {
            continue;
        } else if (http_transfer_start(job) == 0) {
            host->busy = true;
            if (job->per_minute > 0)
                host->start_ms = now_ms + MS_PER_MINUTE / job->per_minute;
        } else {
            http_conclude(job, CURLE_FAILED_INIT, 0);
        }
        if (job->done)
            answer_share(http, job);
    }
    jobs_sweep(http);
}

static void jobs_collect(struct http *http)
{
    CURLMsg *message;
    int left;

    while ((message = curl_multi_info_read(multi_curl(http->multi), &left)) !=
           NULL) {
        char *private = NULL;
        CURLcode code = message->data.result;
        struct http_job *job;

        if (message->msg != CURLMSG_DONE)
            continue;
        curl_easy_getinfo(message->easy_handle, CURLINFO_PRIVATE, &private);
        job = (struct http_job *)(void *)private;
        job_finished(job, code);
        if (job->done)
            answer_share(http, job);
    }
    jobs_sweep(http);
}

int http_fd(const struct http *http)
{
    return multi_fd(http->multi);
}

/* The sooner of two waits, of which -1 is none. */
static int sooner_ms(int a, int b)
{
    return a < 0 ? b : b < 0 || a < b ? a : b;
}

int http_wait_ms(const struct http *http)
{
    int64_t now_ms = net_clock_ms();
    int wait_ms = multi_wait_ms(http->multi);

    for (const struct http_job *job = http->jobs; job != NULL;
         job = job->next) {
        const struct http_host *host = &http->hosts[job->host];

        if (!job->running && !host->busy)
            wait_ms = sooner_ms(wait_ms, host->start_ms <= now_ms
                                             ? 0
                                             : (int)(host->start_ms - now_ms));
    }
    return wait_ms;
}

bool http_work(struct http *http)
{
    jobs_start(http);
    multi_work(http->multi);
    jobs_collect(http);
    return http->jobs != NULL;
}

bool http_step(struct http *http, int wait_ms)
{
    struct pollfd ready = {.fd = http_fd(http), .events = POLLIN};

    if (!http_work(http))
        return false;
    poll(&ready, 1, sooner_ms(http_wait_ms(http), wait_ms));
    return http_work(http);
}

bool http_pending(const struct http *http,
                  const struct transport_answer *answers, int count)
{
    for (const struct http_job *job = http->jobs; job != NULL; job = job->next)
        if (job->answer >= answers && job->answer < answers + count)
            return true;
    return false;
}

void http_prune(struct http *http, utc_s now)
{
    int count =
        cache_prune(http->cache, now - (utc_s)HTTP_KEEP_DAYS * SECONDS_PER_DAY);

    if (count > 0)
        log_info(words_count("%d answer that nobody asks for any more was "
                             "removed",
                             "%d answers that nobody asks for any more were "
                             "removed",
                             count),
                 count);
}

void http_abandon(struct http *http)
{
    for (struct http_job *job = http->jobs; job != NULL; job = job->next) {
        if (job->done)
            continue;
        if (job->running) {
            http_transfer_end(job);
            http->hosts[job->host].busy = false;
            http_conclude(job, CURLE_OPERATION_TIMEDOUT, 0);
        } else {
            http_conclude_abandoned(job);
        }
    }
    jobs_sweep(http);
}

static void fetch(void *self, utc_s now,
                  const struct transport_request *requests, int count,
                  struct transport_answer *answers)
{
    struct http *http = self;
    int64_t deadline = net_clock_ms() + http->caps.fetch_ms;

    for (int i = 0; i < count; i++)
        http_begin(http, now, &requests[i], &answers[i]);
    while (http_step(http, STEP_MS))
        if (net_clock_ms() >= deadline)
            http_abandon(http);
}

static void settle(void *self, utc_s now, const char *url, bool good,
                   const char *reason, struct transport_answer *answer)
{
    http_settle(self, now, url, good, reason, answer);
}

struct transport http_transport(struct http *http)
{
    return (struct transport){.self = http, .fetch = fetch, .settle = settle};
}

void http_transport_free(struct http *http)
{
    if (http == NULL)
        return;
    while (http->jobs != NULL) {
        struct http_job *job = http->jobs;

        http->jobs = job->next;
        job_free(job);
    }
    for (int i = 0; i < http->asked_count; i++)
        http_asked_free(&http->asked[i]);
    multi_free(http->multi);
    cache_free(http->cache);
    free(http->asked);
    free(http->hosts);
    free(http->contact);
    free(http);
}
