/* Inside of smtp: one transfer, what it has seen, and what that means. */
#ifndef NET_SMTP_JOB_H
#define NET_SMTP_JOB_H

#include <curl/curl.h>
#include <stdatomic.h>
#include <stdint.h>

#include "net/smtp.h"

enum {
    SMTP_HOST_SIZE = 256,
    SMTP_LINE_BYTES = 512, /* RFC 5321 section 4.5.3.1.5 */
    SMTP_LINE_SIZE = 4 * SMTP_LINE_BYTES + 1
};

/* The command that was sent last. */
enum smtp_stage {
    SMTP_GREETING, /* none yet */
    SMTP_EHLO,
    SMTP_STARTTLS,
    SMTP_AUTH,
    SMTP_MAIL,
    SMTP_RCPT,
    SMTP_DATA /* and the body after it */
};

struct smtp_address {
    char host[SMTP_HOST_SIZE]; /* lower case */
    char ehlo[SMTP_HOST_SIZE]; /* "" without */
    int port;
    bool implicit_tls; /* smtps */
    bool loopback;
};

/* With libcurl's own parser, the one that is used for the transfer. */
int smtp_address_read(const char *url, struct smtp_address *out,
                      struct error *err);
/* What may stand between < and > of MAIL and RCPT. */
int smtp_mailbox_check(const char *address, struct error *err);
int smtp_message_check(const char *message, size_t length, struct error *err);
/* A host name or address literal. */
bool smtp_ehlo_valid(const char *name);

struct smtp_job {
    struct smtp_job *next;
    CURL *easy;
    struct curl_slist *recipients, *resolve;
    struct smtp_address address;
    struct smtp_caps caps;
    char *to;
    char *message; /* owned */
    size_t length, handed_over;
    char *user, *password; /* owned, password wiped at the end */
    char trouble[CURL_ERROR_SIZE];
    /* What the server said. */
    enum smtp_stage stage;
    bool leaving;     /* QUIT was sent */
    int64_t moved_ms; /* when anything was last said, heard or handed over */
    bool silent;      /* stopped by us: no answer came in time */
    const atomic_bool *stop; /* of the whole; borrowed */
    bool encrypted;
    bool tls_offered, login_offered, logged_in;
    bool no_login;             /* stopped by us: the server offers no login */
    bool body_complete;        /* the last byte was given to libcurl */
    int reply;                 /* code of the last whole answer before QUIT */
    char line[SMTP_LINE_SIZE]; /* its last line, printable */
    smtp_done *done;
    void *self;
    struct smtp_outcome outcome; /* once it has ended */
};

/* As smtp_begin: 0, -1 unfit, 1 not at this moment. */
int smtp_job_prepare(struct smtp_job *job, const struct smtp_server *server,
                     const struct smtp_mail *mail, struct error *err);
void smtp_job_free(struct smtp_job *job);
/* To its end, and the outcome. Blocks. */
void smtp_job_run(struct smtp_job *job);
/* What the hooks of the handle do with what is said both ways. */
void smtp_job_hear(struct smtp_job *job, const char *line, size_t length);
void smtp_job_say(struct smtp_job *job, const char *command, size_t length);

void smtp_judge(const struct smtp_job *job, CURLcode code,
                struct smtp_outcome *outcome);

#endif
