#include "daemon/post.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"
#include "daemon/post_send.h"
#include "daemon/post_status.h"
#include "daemon/schedule.h"
#include "daemon/status.h"
#include "store/outbox.h"

enum {
    RETRY_S = 60, /* after a store that failed, and while a turn decides */
    WAIT_S = SCHEDULE_LONGEST_REST_S, /* no turn is further off */
    STEP_MS = 500,
    ONCE_REPLY_S = 60,
    ONCE_ACCEPT_S = 300
};

/* An operation between two looks at it; they lie in the operations' order. */
struct post_entry {
    utc_s decide, send; /* when to look again; SCHEDULE_NEVER: not */
    utc_s due;          /* of a decision that waits for a turn; 0: none does */
    struct post_wait *wait; /* mail that cannot go, or NULL; owned */
};

struct post {
    struct post_sender *sender;
    struct post_entry *entries; /* owned; NULL: to be made */
    int count;
    utc_s due; /* the earliest of all; 0: to be looked for */
    const struct store *recovered; /* the store that was looked through */
    utc_s pruned;
    bool
        ended; /* the last of those under way, and memory is to be given back */
    bool ending;
};

static void entries_clear(struct post *post)
{
    for (int i = 0; i < post->count; i++)
        free(post->entries[i].wait);
    free(post->entries);
    post->entries = NULL;
    post->count = 0;
    post->due = 0;
}

/* New ones are looked at at once, those without mail never. */
static void entries_make(struct post *post, const struct daemon *daemon)
{
    if (post->entries != NULL)
        return;
    post->count = daemon->operation_count;
    post->entries = mem_alloc((size_t)post->count + 1, sizeof *post->entries);
    for (int i = 0; i < post->count; i++)
        if (!daemon->operations[i]->config->mail.present)
            post->entries[i] =
                (struct post_entry){SCHEDULE_NEVER, SCHEDULE_NEVER, 0, NULL};
}

static struct post_place place_of(const struct daemon *daemon,
                                  const struct daemon_operation *operation)
{
    return (struct post_place){operation->config, operation->zone,
                               operation->folder, daemon->store};
}

static void say(const struct post_place *place, const struct error *err)
{
    log_error(_("%s: mail: %s"), place->config->name, err->text);
}

static void decide(const struct post_place *place, struct post_entry *entry,
                   const struct bulletin *bulletin, utc_s now)
{
    struct error err;
    int queued;

    if (now - entry->due > WAIT_S || now < entry->due)
        entry->due = 0;
    if (post_queue(place, bulletin, now, entry->due, &queued, &entry->decide,
                   &err) != 0) {
        say(place, &err);
        entry->decide = now + RETRY_S;
        return;
    }
    entry->due = 0;
    if (queued > 0)
        entry->send = now;
}

/* After a sleep, and with a start, what is published may be days old, and the
 * turn that is due brings a fresh bulletin within a minute: its end decides
 * (post_turned), by what is published where no bulletin was made. So does the
 * turn that tries anew where one could not be published. Each of them comes to
 * its end, or cannot begin and is not due then: what waits is late, not
 * lost. */
static bool turn_decides(const struct daemon *daemon,
                         const struct daemon_operation *operation)
{
    return operation->under_way || operation->turned == 0 ||
           operation->kept_back ||
           schedule_turn_due(operation->next, daemon->now);
}

/* A turn that the machine slept through knows no more than what is published;
 * the next one follows within a minute. */
static bool slept_through(const struct bulletin *bulletin, utc_s now)
{
    return bulletin != NULL && now - bulletin->made > SCHEDULE_LONGEST_REST_S;
}

static void wait_for_turn(struct post_entry *entry, utc_s now)
{
    if (entry->due == 0)
        entry->due = now;
    entry->decide = now + RETRY_S;
}

/* Sends what is due and tells how it stands. */
static void pump(struct post *post, const struct post_place *place,
                 struct post_entry *entry, utc_s now)
{
    struct error err;
    utc_s due;

    entry->send = now + RETRY_S;
    if (post_pump(post->sender, place, now, &err) != 0 ||
        outbox_due(place->store, place->config->slug, &due, &err) != 0 ||
        post_status(place, now, &err) != 0) {
        say(place, &err);
        return;
    }
    free(entry->wait);
    entry->wait = post_wait(place);
    if (due > now)
        entry->send = due;
    /* Nothing is left, or there was no room: when something has ended. */
    else if (due == 0 || post_under_way(post->sender) > 0)
        entry->send = SCHEDULE_NEVER;
}

static void recover(struct post *post, struct daemon *daemon)
{
    struct error err;

    if (daemon->store == NULL || post->recovered == daemon->store)
        return;
    /* Rows that this process has under way are not left over. */
    if (post->recovered == NULL &&
        (post_recover(daemon->store, daemon->now, &err) != 0 ||
         outbox_unstick(daemon->store, daemon->now, &err) != 0)) {
        log_error("%s", err.text);
        return;
    }
    post->recovered = daemon->store;
}

static void prune(struct post *post, struct daemon *daemon)
{
    struct error err;

    if (post->pruned > daemon->now - SECONDS_PER_DAY &&
        post->pruned <= daemon->now)
        return;
    post->pruned = daemon->now;
    if (outbox_prune(daemon->store, daemon->now - POST_KEEP_S, &err) != 0)
        log_error("%s", err.text);
}

static void look_at(struct post *post, struct daemon *daemon,
                    struct daemon_operation *operation,
                    const struct bulletin *bulletin, bool turned)
{
    struct post_place place = place_of(daemon, operation);
    struct post_entry *entry;
    bool due;

    if (daemon->store == NULL || post->ending ||
        !operation->config->mail.present)
        return;
    entries_make(post, daemon);
    entry = &post->entries[operation->place];
    post->due = 0;
    due = turned || entry->decide <= daemon->now;
    if (due && (turned ? slept_through(bulletin, daemon->now)
                       : turn_decides(daemon, operation)))
        wait_for_turn(entry, daemon->now);
    else if (due)
        decide(&place, entry, bulletin, daemon->now);
    if (entry->send > daemon->now)
        return;
    pump(post, &place, entry, daemon->now);
    operation->mail_moved = daemon->mail_moved = true;
}

static void post_turned(void *self, struct daemon *daemon,
                        struct daemon_operation *operation,
                        const struct turn_result *result,
                        const struct bulletin *bulletin)
{
    (void)result;
    recover(self, daemon);
    look_at(self, daemon, operation, bulletin, true);
}

static utc_s earliest(const struct post *post)
{
    utc_s due = SCHEDULE_NEVER;

    for (int i = 0; i < post->count; i++) {
        const struct post_entry *entry = &post->entries[i];

        if (entry->decide < due)
            due = entry->decide;
        if (entry->send < due)
            due = entry->send;
    }
    return due;
}

static utc_s post_due(void *self, const struct daemon *daemon)
{
    struct post *post = self;
    utc_s due;

    if (post->ending)
        return SCHEDULE_NEVER;
    entries_make(post, daemon);
    if (post->due == 0)
        post->due = earliest(post);
    due = post->due;
    /* Without a store nothing can be done before it is there again. */
    if (daemon->store == NULL && due <= daemon->now)
        due = daemon->now + RETRY_S;
    return due;
}

static void post_tick(void *self, struct daemon *daemon)
{
    struct post *post = self;

    if (daemon->store == NULL)
        return;
    recover(post, daemon);
    prune(post, daemon);
    post_work(post->sender, daemon->store, daemon->now);
    entries_make(post, daemon);
    for (int i = 0; i < post->count; i++)
        if (post->entries[i].decide <= daemon->now ||
            post->entries[i].send <= daemon->now)
            look_at(post, daemon, daemon->operations[i], NULL, false);
    if (post->ended && post_under_way(post->sender) == 0) {
        post->ended = false;
        mem_give_back();
    }
}

static int post_watch(void *self, struct pollfd *fds, int *wait_ms)
{
    struct post *post = self;

    (void)wait_ms;
    if (post_under_way(post->sender) == 0)
        return 0;
    fds[0] = (struct pollfd){post_fd(post->sender), POLLIN, 0};
    return 1;
}

/* Something has ended: there is room again, and something to tell. */
static void post_ready(void *self, struct daemon *daemon,
                       const struct pollfd *fds, int count)
{
    struct post *post = self;
    int before = post_under_way(post->sender);

    (void)fds;
    (void)count;
    post_work(post->sender, daemon->store, daemon->now);
    if (post_under_way(post->sender) == before)
        return;
    post->ended = true;
    post->due = 0;
    for (int i = 0; i < post->count; i++)
        if (post->entries[i].decide != SCHEDULE_NEVER)
            post->entries[i].send = daemon->now;
}

static void post_clock_set(void *self, struct daemon *daemon)
{
    struct error err;

    entries_clear(self);
    if (daemon->store != NULL &&
        outbox_unstick(daemon->store, daemon->now, &err) != 0)
        log_error("%s", err.text);
}

static void post_reloaded(void *self, struct daemon *daemon)
{
    (void)daemon;
    entries_clear(self);
}

static void post_tell(void *self, const struct daemon *daemon, struct text *out)
{
    const struct post *post = self;
    struct status_worst worst = {0};
    int mails = 0;

    for (int i = 0; i < post->count; i++) {
        const struct post_wait *wait = post->entries[i].wait;

        if (wait == NULL)
            continue;
        mails += wait->count;
        status_note(&worst, daemon, daemon->operations[i]->config->slug,
                    wait->since, wait->words);
    }
    if (mails > 0)
        text_addf(out,
                  words_count("; %d mail waits, %s since %s: %s",
                              "; %d mails wait, %s since %s: %s", mails),
                  mails, worst.name, worst.since_words, worst.why);
}

static void post_end(void *self, struct daemon *daemon)
{
    struct post *post = self;

    (void)daemon;
    post->ending = true;
}

static bool post_ended(void *self, const struct daemon *daemon)
{
    const struct post *post = self;

    (void)daemon;
    return post_under_way(post->sender) == 0;
}

static void post_free(void *self)
{
    struct post *post = self;

    post_sender_free(post->sender);
    entries_clear(post);
    free(post);
}

int post_plug(struct daemon *daemon, struct error *err)
{
    static const struct daemon_part part = {.name = "mail",
                                            .turned = post_turned,
                                            .due = post_due,
                                            .tick = post_tick,
                                            .watch = post_watch,
                                            .ready = post_ready,
                                            .clock_set = post_clock_set,
                                            .reloaded = post_reloaded,
                                            .status = post_tell,
                                            .end = post_end,
                                            .ended = post_ended,
                                            .free = post_free};
    struct post *post = mem_alloc(1, sizeof *post);

    post->sender = post_sender_open(NULL, err);
    if (post->sender != NULL && daemon_plug(daemon, &part, post) == 0)
        return 0;
    if (post->sender != NULL)
        error_set(err, "%s", _("the daemon takes no more parts"));
    post_sender_free(post->sender);
    free(post);
    return -1;
}

/* What stays for later is said here; the rest is in the log. */
static int code_of(const struct post_place *place,
                   const struct post_sender *sender)
{
    const char *words;
    enum smtp_verdict worst = post_worst(sender, &words);

    if (worst == SMTP_SENT)
        return EXIT_DONE;
    if (worst != SMTP_LATER && worst != SMTP_UNKNOWN)
        return EXIT_FAILED;
    fprintf(stderr, _("thawbelld: %s: mail waits: %s\n"), place->config->name,
            words);
    return EXIT_TRY_LATER;
}

static int send_due(struct post_sender *sender, const struct post_place *place,
                    utc_s now, struct error *err)
{
    struct pollfd ready = {post_fd(sender), POLLIN, 0};
    bool busy;

    do {
        if (post_pump(sender, place, now, err) != 0)
            return -1;
        busy = post_under_way(sender) > 0;
        if (busy)
            poll(&ready, 1, STEP_MS);
        post_work(sender, place->store, now);
    } while (busy);
    return post_status(place, now, err);
}

int post_once(const struct post_place *place, const struct bulletin *bulletin,
              utc_s now)
{
    struct smtp_caps caps = smtp_caps_default();
    struct post_sender *sender;
    struct error err = {""};
    int code = EXIT_FAILED;
    utc_s next;

    if (!place->config->mail.present)
        return EXIT_DONE;
    caps.reply_s = ONCE_REPLY_S;
    caps.accept_s = ONCE_ACCEPT_S;
    sender = post_sender_open(&caps, &err);
    if (sender != NULL && post_recover(place->store, now, &err) == 0 &&
        post_queue(place, bulletin, now, 0, NULL, &next, &err) == 0 &&
        send_due(sender, place, now, &err) == 0)
        code = code_of(place, sender);
    else
        fprintf(stderr, "thawbelld: %s\n", err.text);
    post_sender_free(sender);
    return code;
}
