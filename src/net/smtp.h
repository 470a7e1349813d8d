/* Mail handed to a server through libcurl: one transfer, one connection and
 * one verdict per recipient.
 *
 * Never in clear text but to this machine: smtps, or STARTTLS that the server
 * must grant. Never without the login that is configured: a server that
 * offers none is refused before it gets an address. No proxy unless one is
 * named (libcurl would take the environment's).
 *
 * Transfers run in threads of their own, since libcurl stands still while a
 * server thinks over what it was given; all functions here are for one thread
 * alone and do not block unless it is said. */
#ifndef NET_SMTP_H
#define NET_SMTP_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

enum smtp_verdict {
    SMTP_SENT,          /* the server has taken it */
    SMTP_REFUSED,       /* for good, this recipient or this message */
    SMTP_LATER,         /* refused for now, or not reached */
    SMTP_CONFIGURATION, /* login, encryption, certificate, sender: nothing
                           will go until somebody changes something */
    SMTP_UNKNOWN        /* all was handed over, the answer was lost: it may
                           have been taken; repeat with the same Message-ID */
};

/* "sent", "refused", "later", "configuration", "unknown"; borrowed. */
const char *smtp_verdict_word(enum smtp_verdict verdict);

struct smtp_server {
    /* "smtps://HOST[:PORT]" (465) or "smtp://HOST[:PORT]" (587; this machine:
     * 25); a path is the name to greet with. */
    const char *url;
    const char *user, *password; /* both, or NULL */
    const char *ehlo;    /* name to greet with where the url has no path */
    const char *proxy;   /* NULL: none */
    const char *ca_file; /* certificates to trust; NULL: the system's */
    /* "HOST:PORT:ADDRESS" in place of a look-up, for tests; or NULL. */
    const char *resolve;
};

/* From and to are bare ASCII addresses. The message is whole: headers, an
 * empty line, the body; ASCII lines of at most 998 bytes that end with CR LF
 * (RFC 5322 section 2.1.1). */
struct smtp_mail {
    const char *from, *to;
    const char *message;
    size_t length;
};

struct smtp_outcome {
    enum smtp_verdict verdict;
    int reply;       /* the server's last code, 0 if it gave none */
    char status[12]; /* its enhanced code (RFC 3463) "5.1.1", or "" */
    char words[512]; /* a sentence with the server's last line, secrets
                        masked; "" when sent */
};

/* Times that nothing exceeds. RFC 5321 section 4.5.3.2 asks for patience:
 * giving up early after the body makes duplicates. */
struct smtp_caps {
    long connect_ms; /* name look-up, connection, greeting, login */
    long reply_s;    /* an answer of the server */
    long accept_s;   /* the one after the body */
    long total_ms;
};

/* 60 s, 120 s, 600 s, 15 min. */
struct smtp_caps smtp_caps_default(void);

struct smtp;
typedef void smtp_done(void *self, const struct smtp_outcome *outcome);

/* Is the server's part of a transfer fit to be used? smtp_begin asks it too. */
int smtp_server_check(const struct smtp_server *server, struct error *err);

/* caps may be NULL: the default ones. After http_global_start. */
struct smtp *smtp_open(const struct smtp_caps *caps, struct error *err);
/* Gives up what is under way, without calling its `done`; may take some three
 * seconds. */
void smtp_free(struct smtp *smtp);

/* Begins a transfer; all strings are copied. `done` is called once from
 * smtp_work. Else a sentence, and no call: -1 if an address, a header or the
 * server's address is not fit to be used, which is a configuration matter; 1
 * if there is no thread or handle left for it, which passes. */
int smtp_begin(struct smtp *smtp, const struct smtp_server *server,
               const struct smtp_mail *mail, smtp_done *done, void *self,
               struct error *err);
/* For a loop that polls: when smtp_fd() is readable, smtp_work() calls `done`
 * of what has ended; true while transfers are under way. */
int smtp_fd(const struct smtp *smtp);
bool smtp_work(struct smtp *smtp);
int smtp_under_way(const struct smtp *smtp);

/* One mail to its end. Blocks. */
void smtp_send(struct smtp *smtp, const struct smtp_server *server,
               const struct smtp_mail *mail, struct smtp_outcome *outcome);

#endif
