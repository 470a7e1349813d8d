/* How it stands with the mail, from mail.json beside the bulletin: the store
 * is the daemon's alone. */
#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"
#include "base/json.h"
#include "base/words.h"
#include "command/check.h"
#include "store/outbox.h"

enum { MAIL_JSON_BYTES = 256 * 1024 };

void check_read_mail(struct checked *checked)
{
    char *path = file_join(checked->folder, "mail.json"), *bytes;
    size_t length;

    if (checked->config->mail.present && file_exists(path) &&
        file_read(path, MAIL_JSON_BYTES, &bytes, &length,
                  &checked->mail_unreadable) == 0) {
        checked->mail = json_parse(bytes, length, &checked->mail_unreadable);
        free(bytes);
    }
    free(path);
}

static utc_s time_of(const cJSON *object, const char *key)
{
    const char *words = json_string(object, key);
    utc_s instant = 0;

    if (words != NULL && iso_time_parse(words, 0, &instant, NULL) != 0)
        return 0;
    return instant;
}

/* The wall clock's words: of the operation where a bulletin tells its zone,
 * else UTC. */
static const char *moment(const struct checked *checked, utc_s instant,
                          char out[ISO_TIME_SIZE])
{
    struct civil_time at;

    if (checked->bulletin == NULL) {
        iso_time_utc(instant, out);
        return out;
    }
    at = bulletin_civil(checked->bulletin, instant);
    snprintf(out, ISO_TIME_SIZE, "%04d-%02d-%02d %02d:%02d", at.date.year,
             at.date.month, at.date.day, at.hour, at.minute);
    return out;
}

static const char *text_of(const cJSON *object, const char *key)
{
    const char *words = json_string(object, key);

    return words != NULL ? words : "";
}

static void print_waiting(const struct checked *checked, long waiting)
{
    char since[ISO_TIME_SIZE];
    long attempts = 0;
    utc_s oldest = time_of(checked->mail, "waiting_since");

    printf(words_count("  %ld mail waits to be sent, since %s\n",
                       "  %ld mails wait to be sent, the oldest since %s\n",
                       waiting),
           waiting, moment(checked, oldest, since));
    if (text_of(checked->mail, "trouble")[0] == '\0')
        return;
    (void)json_integer(checked->mail, "attempts", 0, 1000000, &attempts);
    if (attempts > 0)
        printf(_("  the last attempt: %s\n"),
               text_of(checked->mail, "trouble"));
    else
        printf(_("  not tried yet: %s\n"), text_of(checked->mail, "trouble"));
}

static void print_given_up(const struct checked *checked, const cJSON *letter)
{
    char at[ISO_TIME_SIZE];

    printf(_("  given up %s: mail (%s) to %s: %s\n"),
           moment(checked, time_of(letter, "given_up"), at),
           text_of(letter, "kind"), text_of(letter, "to"),
           text_of(letter, "reason"));
}

void check_print_mail(const struct checked *checked)
{
    const cJSON *letter;
    long waiting = 0;

    if (checked->mail == NULL)
        return;
    puts(_("Mail:"));
    (void)json_integer(checked->mail, "waiting", 0, 1000000, &waiting);
    if (waiting > 0)
        print_waiting(checked, waiting);
    cJSON_ArrayForEach(letter, json_array(checked->mail, "given_up"))
        print_given_up(checked, letter);
    if (waiting == 0 &&
        cJSON_GetArraySize(json_array(checked->mail, "given_up")) == 0)
        puts(_("  all is sent"));
}

int check_mail_state(const struct checked *checked, utc_s now)
{
    const cJSON *letter;
    int lately = 0;

    if (checked->mail_unreadable.text[0] != '\0') {
        fprintf(stderr,
                _("%s: how it stands with the mail cannot be read: "
                  "%s\n"),
                checked->path, checked->mail_unreadable.text);
        return EXIT_FAILED;
    }
    cJSON_ArrayForEach(letter, json_array(checked->mail, "given_up")) lately +=
        time_of(letter, "given_up") > now - OUTBOX_TOLD_S;
    if (lately == 0)
        return EXIT_DONE;
    fprintf(stderr,
            words_count("%s: %d mail of the last three days was given up\n",
                        "%s: %d mails of the last three days were given up\n",
                        lately),
            checked->path, lately);
    return EXIT_FAILED;
}
