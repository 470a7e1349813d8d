#include "daemon/post_send.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/log.h"
#include "base/memory.h"
#include "base/secret.h"
#include "base/words.h"
#include "net/smtp.h"
#include "store/outbox.h"

/* One row on its way, and, once `ended`, what is to be written of it. */
struct flight {
    struct flight *next;
    struct post_sender *sender;
    char *slug, *name, *kind, *recipient, *message_id;
    int64_t id;
    int attempts;
    bool ended;
    struct smtp_outcome outcome;
};

struct post_sender {
    struct smtp *smtp;
    struct flight *flights;
    enum smtp_verdict worst;
    char worst_words[512];
};

struct post_sender *post_sender_open(const struct smtp_caps *caps,
                                     struct error *err)
{
    struct post_sender *sender = mem_alloc(1, sizeof *sender);

    sender->smtp = smtp_open(caps, err);
    if (sender->smtp != NULL)
        return sender;
    free(sender);
    return NULL;
}

static void flight_free(struct flight *flight)
{
    free(flight->slug);
    free(flight->name);
    free(flight->kind);
    free(flight->recipient);
    free(flight->message_id);
    free(flight);
}

void post_sender_free(struct post_sender *sender)
{
    if (sender == NULL)
        return;
    smtp_free(sender->smtp);
    while (sender->flights != NULL) {
        struct flight *next = sender->flights->next;

        flight_free(sender->flights);
        sender->flights = next;
    }
    free(sender);
}

int post_recover(struct store *store, utc_s now, struct error *err)
{
    int count = 0, result = outbox_recover(store, now, &count, err);

    if (result == 0 && count > 0)
        log_warn(
            words_count("%d mail was under way when thawbelld ended; it is "
                        "sent again and may come twice",
                        "%d mails were under way when thawbelld ended; they "
                        "are sent again and may come twice",
                        count),
            count);
    return result;
}

/* A name with a dot for the greeting: this machine's, else the sender's
 * domain; many servers refuse a bare word. */
static void choose_ehlo(const char *from, char *out, size_t size)
{
    const char *at = strrchr(from, '@');

    if (gethostname(out, size) == 0 && memchr(out, '\0', size) != NULL &&
        strchr(out, '.') != NULL)
        return;
    out[0] = '\0';
    if (at != NULL && strlen(at + 1) < size)
        memcpy(out, at + 1, strlen(at + 1) + 1);
}

int post_server(const struct config *config, char *ehlo, size_t ehlo_size,
                struct smtp_server *out, char **password, struct error *err)
{
    const struct config_mail *mail = &config->mail;

    choose_ehlo(mail->from, ehlo, ehlo_size);
    *password = NULL;
    memset(out, 0, sizeof *out);
    out->url = mail->server;
    out->ehlo = ehlo[0] != '\0' ? ehlo : NULL;
    out->ca_file = mail->ca_file;
    if (mail->user != NULL) {
        if (secret_read(mail->password_file, password, err) != 0)
            return -1;
        out->user = mail->user;
        out->password = *password;
    }
    if (smtp_server_check(out, err) == 0)
        return 0;
    secret_free(*password);
    *password = NULL;
    return -1;
}

static int settle(struct flight *flight, struct store *store, utc_s now,
                  struct error *err)
{
    enum smtp_verdict verdict = flight->outcome.verdict;
    enum outbox_end end = verdict == SMTP_SENT      ? OUTBOX_SENT
                          : verdict == SMTP_REFUSED ? OUTBOX_DEAD
                                                    : OUTBOX_RETRY;
    bool hold = verdict == SMTP_CONFIGURATION;
    utc_s next = hold ? now + POST_HOLD_S
                      : outbox_next_attempt(now, flight->attempts, flight->id);

    if (outbox_settle(store, flight->id, flight->message_id, now, end, next,
                      flight->outcome.reply, flight->outcome.words, err) != 0)
        return -1;
    return hold ? outbox_hold(store, flight->slug, next, NULL, err) : 0;
}

static void say_outcome(const struct flight *flight)
{
    const struct smtp_outcome *outcome = &flight->outcome;

    if (outcome->verdict == SMTP_SENT)
        log_info(_("%s: mail (%s) sent to %s"), flight->name, flight->kind,
                 flight->recipient);
    else if (outcome->verdict == SMTP_REFUSED)
        log_error(_("%s: mail (%s) to %s is given up: %s"), flight->name,
                  flight->kind, flight->recipient, outcome->words);
    else if (outcome->verdict == SMTP_CONFIGURATION)
        log_error(_("%s: mail (%s) to %s was not sent: %s; all mail waits, try "
                    "thawbelld --mail-test when it is put right"),
                  flight->name, flight->kind, flight->recipient,
                  outcome->words);
    else
        log_warn(_("%s: mail (%s) to %s was not sent: %s; tried again later"),
                 flight->name, flight->kind, flight->recipient, outcome->words);
}

static void ended(void *self, const struct smtp_outcome *outcome)
{
    struct flight *flight = self;
    struct post_sender *sender = flight->sender;

    flight->ended = true;
    flight->outcome = *outcome;
    if (outcome->verdict > sender->worst) {
        sender->worst = outcome->verdict;
        memcpy(sender->worst_words, outcome->words, sizeof outcome->words);
    }
    say_outcome(flight);
}

/* Writes what has ended; what cannot be written stays in the list. */
static void settle_all(struct post_sender *sender, struct store *store,
                       utc_s now)
{
    struct flight **at = &sender->flights;

    while (*at != NULL) {
        struct flight *flight = *at;
        struct error err;

        if (!flight->ended) {
            at = &flight->next;
        } else if (store == NULL || settle(flight, store, now, &err) != 0) {
            if (store != NULL)
                log_error(_("what became of a mail cannot be written: %s"),
                          err.text);
            return;
        } else {
            *at = flight->next;
            flight_free(flight);
        }
    }
}

bool post_work(struct post_sender *sender, struct store *store, utc_s now)
{
    bool busy = smtp_work(sender->smtp);

    settle_all(sender, store, now);
    return busy;
}

int post_fd(const struct post_sender *sender)
{
    return smtp_fd(sender->smtp);
}

int post_under_way(const struct post_sender *sender)
{
    return smtp_under_way(sender->smtp);
}

enum smtp_verdict post_worst(const struct post_sender *sender,
                             const char **words)
{
    *words = sender->worst_words;
    return sender->worst;
}

static void begin(struct post_sender *sender, const struct post_place *place,
                  const struct smtp_server *server,
                  const struct outbox_row *row)
{
    struct flight *flight = mem_alloc(1, sizeof *flight);
    struct smtp_mail mail = {.from = row->sender,
                             .to = row->recipient,
                             .message = row->message,
                             .length = row->length};
    struct smtp_outcome outcome = {.verdict = SMTP_REFUSED};
    struct error err = {""};
    int code;

    flight->sender = sender;
    flight->slug = mem_copy_text(place->config->slug);
    flight->name = mem_copy_text(place->config->name);
    flight->kind = mem_copy_text(row->kind);
    flight->recipient = mem_copy_text(row->recipient);
    flight->message_id = mem_copy_text(row->message_id);
    flight->id = row->id;
    flight->attempts = row->attempts;
    flight->next = sender->flights;
    sender->flights = flight;
    code = smtp_begin(sender->smtp, server, &mail, ended, flight, &err);
    if (code == 0)
        return;
    /* The server is fit; what is wrong with the mail no later attempt can
     * change, a want of threads can. */
    if (code > 0)
        outcome.verdict = SMTP_LATER;
    memcpy(outcome.words, err.text, sizeof outcome.words);
    ended(flight, &outcome);
}

static int claim_all(struct post_sender *sender, const struct post_place *place,
                     const struct smtp_server *server, utc_s now,
                     struct error *err)
{
    bool found = true;

    while (found && smtp_under_way(sender->smtp) < POST_AT_ONCE) {
        struct outbox_row row;

        if (outbox_claim(place->store, place->config->slug, now, &row, &found,
                         err) != 0)
            return -1;
        if (found)
            begin(sender, place, server, &row);
        outbox_row_free(&row);
    }
    return 0;
}

static int give_up_old(const struct post_place *place, utc_s now,
                       struct error *err)
{
    struct outbox_letters letters;

    if (outbox_expire(place->store, place->config->slug, now, &letters, err) !=
        0)
        return -1;
    for (int i = 0; i < letters.count; i++)
        log_error(_("%s: mail (%s) to %s is given up after %d attempts, it "
                    "would be worthless by now: %s"),
                  place->config->name, letters.items[i].kind,
                  letters.items[i].recipient, letters.items[i].attempts,
                  letters.items[i].words);
    outbox_letters_free(&letters);
    return 0;
}

static bool any_due(const struct post_place *place, utc_s now)
{
    utc_s due;

    return outbox_due(place->store, place->config->slug, &due, NULL) == 0 &&
           due != 0 && due <= now;
}

int post_pump(struct post_sender *sender, const struct post_place *place,
              utc_s now, struct error *err)
{
    struct smtp_server server;
    char ehlo[256], *password;
    int result;

    settle_all(sender, place->store, now);
    if (!place->config->mail.present)
        return 0;
    if (give_up_old(place, now, err) != 0)
        return -1;
    if (!any_due(place, now))
        return 0;
    if (post_server(place->config, ehlo, sizeof ehlo, &server, &password,
                    err) != 0) {
        struct error why = *err;

        log_error(_("%s: no mail goes: %s"), place->config->name, why.text);
        sender->worst = SMTP_CONFIGURATION;
        return outbox_hold(place->store, place->config->slug, now + POST_HOLD_S,
                           why.text, err);
    }
    result = claim_all(sender, place, &server, now, err);
    settle_all(sender, place->store, now);
    secret_free(password);
    return result;
}
