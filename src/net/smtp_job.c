/* One transfer on a libcurl easy handle. What is said both ways is followed,
 * since the result code alone does not tell where it stopped, and since
 * libcurl goes on without login where a server offers none. */
#include "net/smtp_job.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/socket.h>
#include <time.h>

#include "base/memory.h"
#include "base/secret.h"
#include "base/text.h"
#include "base/units.h"
#include "base/words.h"
#include "net/loopback.h"

enum { FAREWELL_S = 2 };

static int64_t clock_ms(void)
{
    struct timespec clock = {0, 0};

    clock_gettime(CLOCK_MONOTONIC, &clock);
    return (int64_t)clock.tv_sec * 1000 + clock.tv_nsec / 1000000;
}

/* libcurl waits for the answer to the body and to QUIT with everything else
 * standing still, and looks at its own limits seldom; this is asked every
 * second even then. */
static int watch(void *self, curl_off_t down_all, curl_off_t down,
                 curl_off_t up_all, curl_off_t up)
{
    struct smtp_job *job = self;
    long limit_s = job->leaving         ? FAREWELL_S
                   : job->body_complete ? job->caps.accept_s
                                        : job->caps.reply_s;

    (void)down_all;
    (void)down;
    (void)up_all;
    (void)up;
    if (atomic_load(job->stop))
        return 1;
    if (clock_ms() < job->moved_ms + limit_s * 1000)
        return 0;
    job->silent |= !job->leaving;
    return 1;
}

static bool begins(const char *line, size_t length, const char *word)
{
    size_t size = strlen(word);

    return length >= size && strncasecmp(line, word, size) == 0 &&
           (length == size || strchr(" =\r\n", line[size]) != NULL);
}

void smtp_job_say(struct smtp_job *job, const char *command, size_t length)
{
    static const struct {
        const char *verb;
        enum smtp_stage stage;
    } verbs[] = {{"EHLO", SMTP_EHLO},         {"HELO", SMTP_EHLO},
                 {"STARTTLS", SMTP_STARTTLS}, {"AUTH", SMTP_AUTH},
                 {"MAIL", SMTP_MAIL},         {"RCPT", SMTP_RCPT},
                 {"DATA", SMTP_DATA}};

    job->moved_ms = clock_ms();
    job->leaving |= begins(command, length, "QUIT");
    /* A secret that looks like a command must not mislead. */
    for (size_t i = 0; i < sizeof verbs / sizeof verbs[0]; i++)
        if (begins(command, length, verbs[i].verb) &&
            (job->stage != SMTP_AUTH || verbs[i].stage >= SMTP_AUTH))
            job->stage = verbs[i].stage;
    if (job->stage == SMTP_EHLO)
        job->tls_offered = job->login_offered = false;
}

/* The server has told what it can do. A login that is not offered now may
 * still be after STARTTLS. */
static void greeted(struct smtp_job *job)
{
    bool last = job->encrypted || job->address.loopback;

    if (job->user != NULL && !job->login_offered && last)
        job->no_login = true;
}

static void answered(struct smtp_job *job, int reply)
{
    if (job->stage == SMTP_STARTTLS && reply == 220)
        job->encrypted = true;
    else if (job->stage == SMTP_AUTH && reply == 235)
        job->logged_in = true;
    else if (job->stage == SMTP_EHLO && reply == 250)
        greeted(job);
}

void smtp_job_hear(struct smtp_job *job, const char *line, size_t length)
{
    char digits[4] = "";
    long reply;

    while (length > 0 && (line[length - 1] == '\n' || line[length - 1] == '\r'))
        length--;
    job->moved_ms = clock_ms();
    if (length < 3 || job->leaving)
        return;
    memcpy(digits, line, 3);
    if (!integer_parse(digits, 200, 599, &reply))
        return;
    if (job->stage == SMTP_EHLO && length > 4) {
        /* "AUTH" alone, without a way to log in, offers nothing. */
        job->login_offered |= begins(line + 4, length - 4, "AUTH") &&
                              length > 9 && line[9] != ' ';
        job->tls_offered |= begins(line + 4, length - 4, "STARTTLS");
    }
    if (length > 3 && line[3] == '-')
        return;
    job->reply = (int)reply;
    text_escape(job->line, sizeof job->line, line, length, SMTP_LINE_BYTES);
    answered(job, (int)reply);
}

static size_t hear(char *bytes, size_t size, size_t count, void *self)
{
    struct smtp_job *job = self;

    smtp_job_hear(job, bytes, size * count);
    return job->no_login ? 0 : size * count;
}

static int say(CURL *easy, curl_infotype kind, char *bytes, size_t size,
               void *self)
{
    (void)easy;
    if (kind == CURLINFO_HEADER_OUT)
        smtp_job_say(self, bytes, size);
    return 0;
}

/* The last gate: without the login or the encryption that is due, no byte of
 * the message goes. */
static size_t give_body(char *out, size_t size, size_t count, void *self)
{
    struct smtp_job *job = self;
    size_t room = size * count, left = job->length - job->handed_over;

    if (job->user != NULL && !job->logged_in) {
        job->no_login = true;
        return CURL_READFUNC_ABORT;
    }
    if (!job->encrypted && !job->address.loopback)
        return CURL_READFUNC_ABORT;
    if (room > left)
        room = left;
    job->moved_ms = clock_ms();
    memcpy(out, job->message + job->handed_over, room);
    job->handed_over += room;
    job->body_complete = job->handed_over == job->length;
    return room;
}

static size_t swallow(char *bytes, size_t size, size_t count, void *self)
{
    (void)bytes;
    (void)self;
    return size * count;
}

static void set_hooks(struct smtp_job *job)
{
    CURL *easy = job->easy;

    curl_easy_setopt(easy, CURLOPT_PRIVATE, job);
    curl_easy_setopt(easy, CURLOPT_ERRORBUFFER, job->trouble);
    curl_easy_setopt(easy, CURLOPT_VERBOSE, 1L);
    curl_easy_setopt(easy, CURLOPT_DEBUGFUNCTION, say);
    curl_easy_setopt(easy, CURLOPT_DEBUGDATA, job);
    curl_easy_setopt(easy, CURLOPT_HEADERFUNCTION, hear);
    curl_easy_setopt(easy, CURLOPT_HEADERDATA, job);
    curl_easy_setopt(easy, CURLOPT_WRITEFUNCTION, swallow);
    curl_easy_setopt(easy, CURLOPT_READFUNCTION, give_body);
    curl_easy_setopt(easy, CURLOPT_READDATA, job);
    curl_easy_setopt(easy, CURLOPT_NOSIGNAL, 1L);
    curl_easy_setopt(easy, CURLOPT_CONNECTTIMEOUT_MS, job->caps.connect_ms);
    curl_easy_setopt(easy, CURLOPT_TIMEOUT_MS, job->caps.total_ms);
    curl_easy_setopt(easy, CURLOPT_SERVER_RESPONSE_TIMEOUT, job->caps.accept_s);
    curl_easy_setopt(easy, CURLOPT_NOPROGRESS, 0L);
    curl_easy_setopt(easy, CURLOPT_XFERINFOFUNCTION, watch);
    curl_easy_setopt(easy, CURLOPT_XFERINFODATA, job);
    /* A new connection each time: login and encryption are seen, not
     * remembered. */
    curl_easy_setopt(easy, CURLOPT_FRESH_CONNECT, 1L);
    curl_easy_setopt(easy, CURLOPT_FORBID_REUSE, 1L);
}

static void set_security(struct smtp_job *job, const struct smtp_server *server)
{
    CURL *easy = job->easy;
    bool clear = job->address.loopback && !job->address.implicit_tls;

    curl_easy_setopt(easy, CURLOPT_PROTOCOLS_STR, "smtp,smtps");
    curl_easy_setopt(easy, CURLOPT_PROXY,
                     server->proxy != NULL ? server->proxy : "");
    curl_easy_setopt(easy, CURLOPT_USE_SSL,
                     clear ? (long)CURLUSESSL_NONE : (long)CURLUSESSL_ALL);
    curl_easy_setopt(easy, CURLOPT_SSLVERSION, (long)CURL_SSLVERSION_TLSv1_2);
    if (server->ca_file != NULL)
        curl_easy_setopt(easy, CURLOPT_CAINFO, server->ca_file);
    if (clear)
        curl_easy_setopt(easy, CURLOPT_OPENSOCKETFUNCTION, loopback_open);
    if (server->resolve != NULL) {
        job->resolve = curl_slist_append(NULL, server->resolve);
        curl_easy_setopt(easy, CURLOPT_RESOLVE, job->resolve);
    }
    if (job->user == NULL)
        return;
    curl_easy_setopt(easy, CURLOPT_USERNAME, job->user);
    curl_easy_setopt(easy, CURLOPT_PASSWORD, job->password);
    /* Some servers do not answer AUTH PLAIN without it. */
    curl_easy_setopt(easy, CURLOPT_SASL_IR, 1L);
}

static void set_envelope(struct smtp_job *job, const struct smtp_server *server,
                         const struct smtp_mail *mail)
{
    const char *ehlo = job->address.ehlo[0] != '\0' ? job->address.ehlo
                       : server->ehlo != NULL       ? server->ehlo
                                                    : "localhost";
    char *url = mem_format("%s://%s:%d/%s",
                           job->address.implicit_tls ? "smtps" : "smtp",
                           job->address.host, job->address.port, ehlo);
    char *from = mem_format("<%s>", mail->from);
    char *to = mem_format("<%s>", mail->to);

    curl_easy_setopt(job->easy, CURLOPT_URL, url);
    curl_easy_setopt(job->easy, CURLOPT_MAIL_FROM, from);
    job->recipients = curl_slist_append(NULL, to);
    curl_easy_setopt(job->easy, CURLOPT_MAIL_RCPT, job->recipients);
    curl_easy_setopt(job->easy, CURLOPT_UPLOAD, 1L);
    curl_easy_setopt(job->easy, CURLOPT_INFILESIZE_LARGE,
                     (curl_off_t)mail->length);
    free(url);
    free(from);
    free(to);
}

int smtp_server_check(const struct smtp_server *server, struct error *err)
{
    struct smtp_address address;

    if (smtp_address_read(server->url, &address, err) != 0)
        return -1;
    if (server->ehlo != NULL && !smtp_ehlo_valid(server->ehlo))
        return error_set(err, "%s",
                         _("the name to greet with is no host name"));
    if ((server->user == NULL) != (server->password == NULL))
        return error_set(err, "%s", _("a login takes a name and a password"));
    return 0;
}

static int check(struct smtp_job *job, const struct smtp_server *server,
                 const struct smtp_mail *mail, struct error *err)
{
    if (smtp_server_check(server, err) != 0 ||
        smtp_address_read(server->url, &job->address, err) != 0 ||
        smtp_mailbox_check(mail->from, err) != 0 ||
        smtp_mailbox_check(mail->to, err) != 0)
        return -1;
    return smtp_message_check(mail->message, mail->length, err);
}

int smtp_job_prepare(struct smtp_job *job, const struct smtp_server *server,
                     const struct smtp_mail *mail, struct error *err)
{
    if (check(job, server, mail, err) != 0)
        return -1;
    job->easy = curl_easy_init();
    if (job->easy == NULL) {
        error_set(err, "%s", _("the network library gives no handle"));
        return 1;
    }
    job->to = mem_copy_text(mail->to);
    job->message = mem_copy_bytes(mail->message, mail->length);
    job->length = mail->length;
    if (server->user != NULL) {
        job->user = mem_copy_text(server->user);
        job->password = mem_copy_text(server->password);
    }
    job->encrypted = job->address.implicit_tls;
    set_hooks(job);
    set_security(job, server);
    set_envelope(job, server, mail);
    return 0;
}

void smtp_job_run(struct smtp_job *job)
{
    job->moved_ms = clock_ms();
    smtp_judge(job, curl_easy_perform(job->easy), &job->outcome);
}

void smtp_job_free(struct smtp_job *job)
{
    curl_easy_cleanup(job->easy);
    curl_slist_free_all(job->recipients);
    curl_slist_free_all(job->resolve);
    free(job->to);
    free(job->message);
    free(job->user);
    secret_free(job->password);
    free(job);
}
