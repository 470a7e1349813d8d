/* The outbox and its sender as the daemon uses them, without the forecast, to
 * be killed at any moment:
 *   post_alerts FOLDER SERVER NOW COUNT USER PASSWORD_FILE CA_FILE TO…
 * opens FOLDER/thawbell.db, writes COUNT alerts to each TO, each in one
 * transaction with the note "told N" that stands for what it tells, then sends
 * what is due until nothing is. NOW is the clock in UTC seconds; it goes on by
 * an hour for each real second, so that repeats do not keep us waiting; nor
 * does a server that hangs, for longer than HANG_S. */
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/units.h"
#include "daemon/post_send.h"
#include "net/http.h"
#include "publish/mail.h"
#include "store/outbox.h"

enum { HANG_S = 2 };

static struct error err;

static utc_s real_ms(void)
{
    struct timespec clock;

    clock_gettime(CLOCK_MONOTONIC, &clock);
    return (utc_s)clock.tv_sec * 1000 + clock.tv_nsec / 1000000;
}

static void stop(const char *what)
{
    fprintf(stderr, "%s: %s\n", what, err.text);
    exit(1);
}

/* Alert and note are one: after a kill either both are there or neither. */
static void tell_one(const struct post_place *place, int number, utc_s now)
{
    struct mail_letter letter = {.language = "en"};
    char name[40], *held = NULL;

    snprintf(name, sizeof name, "told %d", number);
    if (store_get_note(place->store, "bend", name, &held, &err) != 0)
        stop("note");
    if (held == NULL) {
        letter.subject = mem_format("alert %d", number);
        letter.text = mem_format("Alert %d.\n", number);
        snprintf(name, sizeof name, "alert %d", number);
        if (store_begin(place->store, &err) != 0 ||
            post_put(place, "overflow", name, &letter, now,
                     now + 400LL * SECONDS_PER_DAY, NULL, &err) != 0)
            stop("put");
        snprintf(name, sizeof name, "told %d", number);
        if (store_put_note(place->store, "bend", name, "yes", &err) != 0 ||
            store_commit(place->store, &err) != 0)
            stop("tell");
        mail_letter_free(&letter);
    }
    free(held);
}

static void send_all(const struct post_place *place, utc_s begun)
{
    struct smtp_caps caps = smtp_caps_default();
    struct post_sender *sender;
    utc_s started = real_ms(), now, due;

    caps.reply_s = HANG_S;
    caps.accept_s = HANG_S;
    sender = post_sender_open(&caps, &err);
    if (sender == NULL || post_recover(place->store, begun, &err) != 0)
        stop("sender");
    for (;;) {
        struct pollfd ready = {post_fd(sender), POLLIN, 0};

        now = begun + (real_ms() - started) * SECONDS_PER_HOUR / 1000;
        if (post_pump(sender, place, now, &err) != 0)
            stop("pump");
        if (outbox_due(place->store, "bend", &due, &err) != 0)
            stop("due");
        if (due == 0 && post_under_way(sender) == 0)
            break;
        poll(&ready, 1, 20);
        post_work(sender, place->store, now);
    }
    post_sender_free(sender);
}

int main(int argc, char **argv)
{
    struct config config = {.name = mem_copy_text("Bend"),
                            .slug = mem_copy_text("bend")};
    struct post_place place = {.config = &config};
    char *path, *warning;
    long now, count;

    if (argc < 9 || !integer_parse(argv[3], 1, 1L << 40, &now) ||
        !integer_parse(argv[4], 0, 100000, &count) ||
        http_global_start(&err) != 0)
        return 2;
    config.mail.present = true;
    config.mail.server = argv[2];
    config.mail.from = mem_copy_text("bend@bush.test");
    config.mail.user = argv[5];
    config.mail.password_file = argv[6];
    config.mail.ca_file = argv[7];
    config.mail.to = argv + 8;
    config.mail.to_count = argc - 8;
    path = file_join(argv[1], "thawbell.db");
    if (store_open(path, now, &place.store, &warning, &err) != 0)
        stop("open");
    if (warning != NULL)
        stop(warning);
    place.zone = zone_open("America/New_York", &err);
    for (int i = 0; i < count; i++)
        tell_one(&place, i, now);
    send_all(&place, now);
    store_close(place.store);
    zone_free((struct zone *)place.zone);
    free(path);
    free(config.name);
    free(config.slug);
    free(config.mail.from);
    http_global_end();
    return 0;
}
