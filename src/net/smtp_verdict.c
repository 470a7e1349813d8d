/* What the end of a transfer means. Result code and answer together decide:
 * libcurl's code for an answer may be of an older one. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/base64.h"
#include "base/memory.h"
#include "base/secret.h"
#include "base/text.h"
#include "base/words.h"
#include "net/smtp_job.h"

enum { SHOWN_BYTES = 200 };

const char *smtp_verdict_word(enum smtp_verdict verdict)
{
    static const char *const words[] = {"sent", "refused", "later",
                                        "configuration", "unknown"};

    return words[verdict];
}

/* A refusal for good: of the login or the sender it stands for all mails, of
 * a recipient or a message for that one. */
static enum smtp_verdict refusal(const struct smtp_job *job)
{
    bool size = job->reply == 552, login = job->reply == 530;

    switch (job->stage) {
    case SMTP_AUTH:
        return SMTP_CONFIGURATION;
    case SMTP_MAIL:
        return size ? SMTP_REFUSED : SMTP_CONFIGURATION;
    case SMTP_RCPT:
        return login ? SMTP_CONFIGURATION : SMTP_REFUSED;
    case SMTP_DATA:
        return SMTP_REFUSED;
    default: /* a server that takes nothing now may do so later */
        return SMTP_LATER;
    }
}

static enum smtp_verdict judge(const struct smtp_job *job, CURLcode code)
{
    if (code == CURLE_OK)
        return SMTP_SENT;
    if (job->no_login)
        return SMTP_CONFIGURATION;
    switch (code) {
    case CURLE_LOGIN_DENIED:
    case CURLE_USE_SSL_FAILED:
        return job->reply / 100 == 4 ? SMTP_LATER : SMTP_CONFIGURATION;
    case CURLE_PEER_FAILED_VERIFICATION:
    case CURLE_SSL_CACERT_BADFILE:
    case CURLE_URL_MALFORMAT:
    case CURLE_UNSUPPORTED_PROTOCOL:
    case CURLE_NOT_BUILT_IN:
    case CURLE_BAD_FUNCTION_ARGUMENT:
        return SMTP_CONFIGURATION;
    default:
        break;
    }
    if (job->reply / 100 == 5)
        return refusal(job);
    if (job->reply / 100 == 4)
        return SMTP_LATER;
    return job->body_complete ? SMTP_UNKNOWN : SMTP_LATER;
}

static void mask(char *words, const char *secret)
{
    size_t length = strlen(secret);
    char *found;

    /* A secret of stars needs no mask and would be found for ever. */
    if (strspn(secret, "*") == length)
        return;
    while ((found = strstr(words, secret)) != NULL)
        memset(found, '*', length);
}

/* As the server may have echoed it: plain, escaped, or as AUTH LOGIN and AUTH
 * PLAIN (RFC 4616) send it. */
static void mask_secrets(const struct smtp_job *job, char *words)
{
    char escaped[4 * SECRET_MAX_BYTES + 1];
    char *both, *forms[2];
    size_t user, length;

    if (job->password == NULL)
        return;
    user = strlen(job->user);
    length = user + strlen(job->password) + 2;
    both = mem_format(".%s.%s", job->user, job->password);
    both[0] = both[1 + user] = '\0';
    forms[0] = base64_encode(both, length);
    forms[1] = base64_encode(job->password, strlen(job->password));
    text_escape(escaped, sizeof escaped, job->password, strlen(job->password),
                SECRET_MAX_BYTES);
    mask(words, forms[0]);
    mask(words, forms[1]);
    mask(words, escaped);
    secret_wipe(both, length);
    secret_wipe(escaped, sizeof escaped);
    free(both);
    secret_free(forms[0]);
    secret_free(forms[1]);
}

/* "5.1.1" of "550 5.1.1 no such mailbox" (RFC 2034 section 4). */
static void take_status(const struct smtp_job *job, char *out, size_t size)
{
    const char *words = job->line + 4;
    size_t length;

    out[0] = '\0';
    if (strlen(job->line) < 9 || words[0] < '2' || words[0] > '5')
        return;
    length = strspn(words, "0123456789.");
    if (length >= 5 && length < size && words[1] == '.' &&
        (words[length] == ' ' || words[length] == '\0')) {
        memcpy(out, words, length);
        out[length] = '\0';
    }
}

/* The whole sentence: who does what, and in its own words. */
static void tell(const struct smtp_job *job, CURLcode code, const char *reason,
                 struct smtp_outcome *outcome)
{
    const char *host = job->address.host;
    enum smtp_verdict verdict = outcome->verdict;
    char *out = outcome->words;
    size_t size = sizeof outcome->words;

    if (job->no_login || (code == CURLE_LOGIN_DENIED && job->reply < 400))
        snprintf(out, size,
                 _("%s offers no login that is known here, so nothing is sent "
                   "to it (%s)"),
                 host, reason);
    else if (code == CURLE_USE_SSL_FAILED)
        snprintf(out, size,
                 _("%s grants no encryption (STARTTLS), so nothing is sent to "
                   "it (%s)"),
                 host, reason);
    else if (code == CURLE_PEER_FAILED_VERIFICATION)
        snprintf(out, size,
                 _("%s shows a certificate that is not trusted (%s)"), host,
                 reason);
    else if (code == CURLE_SSL_CACERT_BADFILE)
        snprintf(out, size,
                 _("the certificates to trust cannot be read, so nothing is "
                   "sent to %s (%s)"),
                 host, reason);
    else if (code == CURLE_LOGIN_DENIED)
        snprintf(out, size, _("%s refuses the login (%s)"), host, reason);
    else if (verdict == SMTP_CONFIGURATION)
        snprintf(out, size, _("%s takes no mail from this sender (%s)"), host,
                 reason);
    else if (verdict == SMTP_REFUSED && job->stage == SMTP_RCPT)
        snprintf(out, size, _("%s refuses the recipient (%s)"), host, reason);
    else if (verdict == SMTP_REFUSED)
        snprintf(out, size, _("%s refuses the mail (%s)"), host, reason);
    else if (verdict == SMTP_UNKNOWN)
        snprintf(out, size, _("%s did not say whether it took the mail (%s)"),
                 host, reason);
    else if (job->reply >= 400)
        snprintf(out, size, _("%s takes no mail for now (%s)"), host, reason);
    else
        snprintf(out, size, _("%s cannot be reached or does not answer (%s)"),
                 host, reason);
}

void smtp_judge(const struct smtp_job *job, CURLcode code,
                struct smtp_outcome *outcome)
{
    bool told = job->line[0] != '\0' &&
                (job->reply >= 400 || job->no_login ||
                 code == CURLE_LOGIN_DENIED || code == CURLE_USE_SSL_FAILED);
    bool slow = code == CURLE_OPERATION_TIMEDOUT || job->silent;
    char reason[SMTP_LINE_SIZE];

    memset(outcome, 0, sizeof *outcome);
    outcome->verdict = judge(job, code);
    outcome->reply = job->reply;
    take_status(job, outcome->status, sizeof outcome->status);
    if (outcome->verdict == SMTP_SENT)
        return;
    snprintf(reason, sizeof reason, "%s",
             told                      ? job->line
             : slow                    ? _("no answer in time")
             : job->trouble[0] != '\0' ? job->trouble
                                       : curl_easy_strerror(code));
    mask_secrets(job, reason);
    reason[utf8_cut(reason, strlen(reason), SHOWN_BYTES)] = '\0';
    tell(job, code, reason, outcome);
}
