/* Sends what is due in the outbox: claims a row, hands it to the mail server,
 * settles what became of it. Several at once, none twice at once. */
#ifndef DAEMON_POST_SEND_H
#define DAEMON_POST_SEND_H

#include "daemon/post_queue.h"
#include "net/smtp.h"

enum {
    POST_HOLD_S = 30 * 60, /* when nothing will go until somebody changes
                              something */
    POST_KEEP_S = 14 * SECONDS_PER_DAY, /* what is settled */
    POST_AT_ONCE = 4
};

struct post_sender;

/* caps may be NULL. After http_global_start. */
struct post_sender *post_sender_open(const struct smtp_caps *caps,
                                     struct error *err);
/* What is under way stays "sending" in the store: the next start tries it
 * again. */
void post_sender_free(struct post_sender *sender);

/* Rows that a former process left under way wait again. Once a store. */
int post_recover(struct store *store, utc_s now, struct error *err);

/* Gives up what is past its time, and begins as many transfers of what is due
 * as there is room for. */
int post_pump(struct post_sender *sender, const struct post_place *place,
              utc_s now, struct error *err);

/* Settles what has ended; true while transfers are under way. `store` may be
 * NULL or fail: it is then settled by a later call. */
bool post_work(struct post_sender *sender, struct store *store, utc_s now);
int post_fd(const struct post_sender *sender); /* readable: post_work */
int post_under_way(const struct post_sender *sender);

/* The worst that came of anything so far, SMTP_SENT if nothing did; *words
 * (borrowed) say what. */
enum smtp_verdict post_worst(const struct post_sender *sender,
                             const char **words);

/* The server as configured. `password` is to be freed with secret_free; -1
 * with a sentence if it cannot be had. */
int post_server(const struct config *config, char *ehlo, size_t ehlo_size,
                struct smtp_server *out, char **password, struct error *err);

#endif
