/* Any conversation with a mail server. Lines that begin with '>' are what we
 * say, the others what is heard; the first byte is how libcurl says that it
 * ended. A mail counts as sent only if libcurl says so, and no words show the
 * password. */
#include "promise.h"

#include "net/smtp_job.h"

static void talk(struct smtp_job *job, const char *at, const char *end)
{
    while (at < end) {
        const char *stop = memchr(at, '\n', (size_t)(end - at));
        size_t length = stop ? (size_t)(stop + 1 - at) : (size_t)(end - at);

        if (*at == '>')
            smtp_job_say(job, at + 1, length - 1);
        else
            smtp_job_hear(job, at, length);
        at += length;
    }
}

static void check_outcome(const struct smtp_job *job, CURLcode code,
                          const struct smtp_outcome *outcome)
{
    PROMISE(outcome->verdict >= SMTP_SENT && outcome->verdict <= SMTP_UNKNOWN);
    PROMISE(*smtp_verdict_word(outcome->verdict));
    PROMISE(outcome->reply == 0 ||
            (outcome->reply >= 200 && outcome->reply <= 599));
    PROMISE(strlen(outcome->status) < sizeof outcome->status);
    PROMISE(!job->password || !strstr(outcome->words, job->password));
    PROMISE((outcome->verdict == SMTP_SENT) == (code == CURLE_OK));
    PROMISE(outcome->verdict != SMTP_UNKNOWN || job->body_complete);
    if (outcome->verdict == SMTP_SENT)
        PROMISE(outcome->words[0] == '\0');
    else
        promise_sentence(outcome->words);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static char user[] = "sugarhouse", password[] = "open-sesame-7";
    static char to[] = "someone@example.org";
    struct smtp_outcome outcome = {0};
    atomic_bool stop = false;
    struct error err = {""};
    struct smtp_job *job;
    CURLcode code;

    if (size < 2)
        return 0;
    job = calloc(1, sizeof *job);
    if (job == NULL)
        exit(1);
    code = (CURLcode)(data[0] % CURL_LAST);
    job->stop = &stop;
    job->to = to;
    if (smtp_address_read(data[1] & 1 ? "smtp://localhost"
                                      : "smtps://mail.example.org",
                          &job->address, &err) != 0)
        exit(1);
    job->encrypted = job->address.implicit_tls;
    job->user = data[1] & 2 ? user : NULL;
    job->password = data[1] & 2 ? password : NULL;
    job->body_complete = (data[1] & 4) != 0;
    talk(job, (const char *)data + 2, (const char *)data + size);
    smtp_judge(job, code, &outcome);
    check_outcome(job, code, &outcome);
    free(job);
    return 0;
}
