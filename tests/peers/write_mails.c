/* Writes mails as they go to the server, for parsers and a browser to read:
 *   write_mails FOLDER [BULLETIN.json]
 * Without a bulletin of its own that of tests/support/fake_bulletin.h, with
 * actions; hostile.eml is one whose every name tries to break out. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "case_files.h"
#include "fake_bulletin.h"
#include "publish/mail.h"

static const char *folder;

static void write_mail(const struct bulletin *bulletin, utc_s now,
                       const char *name, const struct mail_letter *letter)
{
    struct civil_time date = bulletin_civil(bulletin, now);
    char id[MAIL_ID_SIZE], file[100];
    char *head, *body, *all;
    size_t length;

    mail_message_id(bulletin->slug, name, "bend@bush.test", "ann@bush.test",
                    now, id);
    head = mail_head(bulletin->operation, "bend@bush.test", "ann@bush.test",
                     &date, id);
    body = mail_body(letter, "bend@bush.test", &length);
    all = mem_format("%s%s", head, body);
    snprintf(file, sizeof file, "%s.eml", name);
    case_write_bytes(folder, file, all, strlen(all));
    free(all);
    free(body);
    free(head);
}

static void write_morning(const struct bulletin *bulletin, utc_s now,
                          const char *name, bool parts)
{
    struct mail_letter letter;
    char *warning;

    mail_morning(bulletin, now, "https://bend.bush.test/k3y/index.html",
                 &letter, &warning);
    if (warning != NULL) {
        fprintf(stderr, "%s\n", warning);
        exit(1);
    }
    write_mail(bulletin, now, name, &letter);
    if (parts) {
        case_write_bytes(folder, "morning.html", letter.html,
                         strlen(letter.html));
        case_write_bytes(folder, "morning.txt", letter.text,
                         strlen(letter.text));
        case_write_bytes(folder, "chart.png", letter.chart.bytes,
                         letter.chart.length);
    }
    mail_letter_free(&letter);
}

static void add_action(struct bulletin *bulletin, enum action_kind kind,
                       int day, int from_h, int to_h, double sap_l,
                       enum action_averts averts, const char *reason,
                       const char *unless)
{
    struct bulletin_action *action =
        fake_action(bulletin, kind, day, from_h, to_h - from_h);

    action->sap_l = sap_l;
    action->averts = averts;
    snprintf(action->reason, sizeof action->reason, "%s", reason);
    snprintf(action->unless, sizeof action->unless, "%s", unless);
}

static void add_actions(struct bulletin *bulletin)
{
    add_action(bulletin, ACTION_COLLECT, 7, 16, 18, 480, AVERTS_OVERFLOW,
               "Left in the buckets, about 60 gal would run over or not reach "
               "the pan, from Sun 8 Mar 14:00 on (chance 70%).",
               "It can wait if the day stays too cold to run.");
    add_action(bulletin, ACTION_BOIL, 8, 9, 17, 700, AVERTS_NOTHING,
               "There is enough for a fire, and it makes room for the next "
               "run.",
               "With less than 60 gal there is no fire.");
    add_action(bulletin, ACTION_COLLECT, 9, 7, 9, 800, AVERTS_SPOILAGE,
               "Left in the buckets, about 90 gal would spoil by Tue 10 Mar "
               "18:00 (chance 55%).",
               "Colder days keep it longer.");
}

static void write_alerts(const struct bulletin *bulletin)
{
    utc_s now = fake_time(bulletin, 7, 9, 0);
    struct mail_told told[] = {
        {ACTION_BOIL, {2026, 3, 7}, now + 3600, now + 4 * 3600}};
    struct mail_condition conditions[MAIL_KINDS];
    int count = mail_watch(bulletin, now, told, 1, conditions);

    for (int i = 0; i < count; i++) {
        struct mail_letter letter;
        char name[64];

        snprintf(name, sizeof name, "alert-%s",
                 mail_kind_word(conditions[i].kind));
        mail_alert(bulletin, &conditions[i], &letter);
        write_mail(bulletin, now, name, &letter);
        mail_letter_free(&letter);
    }
}

static void make_hostile(struct bulletin *bulletin)
{
    static const char evil[] = "\xC3\x89rabli\xC3\xA8re \"x\"\r\nBcc: "
                               "eve@x.test\r\n\r\n<script>alert(1)</script>"
                               "=?utf-8?Q?x?= \x1b[31m & \xF0\x9F\x8D\x81";

    snprintf(bulletin->operation, sizeof bulletin->operation, "%s", evil);
    snprintf(bulletin->sources[0].credit, sizeof bulletin->sources[0].credit,
             "%s", evil);
    snprintf(bulletin->sources[0].credit_url,
             sizeof bulletin->sources[0].credit_url, "javascript:alert(1)");
    snprintf(bulletin->sources[1].trouble, sizeof bulletin->sources[1].trouble,
             "%s\xff\xfe", evil);
    snprintf(bulletin->bushes[0].name, sizeof bulletin->bushes[0].name, "%s",
             "n\r\nX-Evil: 1\"><img src=x>");
    snprintf(bulletin->actions[0].reason, sizeof bulletin->actions[0].reason,
             "%s\n.\r\nMAIL FROM:<eve@x.test>", evil);
    error_list_add(&bulletin->notes, "%s", evil);
}

static struct bulletin *given_bulletin(const char *path)
{
    struct bulletin *bulletin = NULL;
    struct error err;
    size_t length;
    char *bytes;

    if (file_read(path, BULLETIN_MAX_BYTES, &bytes, &length, &err) != 0 ||
        bulletin_from_json(bytes, length, &bulletin, &err) != 0) {
        fprintf(stderr, "%s\n", err.text);
        exit(1);
    }
    free(bytes);
    return bulletin;
}

int main(int argc, char **argv)
{
    struct bulletin *bulletin;

    if (argc < 2)
        return 2;
    folder = argv[1];
    bulletin = argc > 2 ? given_bulletin(argv[2]) : fake_bulletin();
    if (argc > 2) {
        write_morning(bulletin, bulletin->made, "morning", true);
        bulletin_free(bulletin);
        return 0;
    }
    add_actions(bulletin);
    write_morning(bulletin, fake_time(bulletin, 7, 5, 30), "morning", true);
    write_alerts(bulletin);
    make_hostile(bulletin);
    write_morning(bulletin, fake_time(bulletin, 7, 5, 30), "hostile", false);
    bulletin_free(bulletin);
    return 0;
}
