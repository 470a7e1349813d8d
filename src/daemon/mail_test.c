/* thawbelld --mail-test. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "base/memory.h"
#include "base/secret.h"
#include "base/words.h"
#include "daemon/post.h"
#include "daemon/post_send.h"
#include "publish/mail.h"

enum { REPLY_S = 30, ACCEPT_S = 120 };

static int worse(int a, int b)
{
    if (a == EXIT_FAILED || b == EXIT_FAILED)
        return EXIT_FAILED;
    return a > b ? a : b;
}

static int tell(const char *recipient, const struct smtp_outcome *outcome)
{
    if (outcome->verdict == SMTP_SENT) {
        printf(_("%s: sent\n"), recipient);
        return EXIT_DONE;
    }
    printf(_("%s: not sent: %s\n"), recipient, outcome->words);
    return outcome->verdict == SMTP_LATER || outcome->verdict == SMTP_UNKNOWN
               ? EXIT_TRY_LATER
               : EXIT_FAILED;
}

static int send_to(struct smtp *smtp, const struct smtp_server *server,
                   const struct daemon_operation *operation,
                   const char *recipient, const char *body, utc_s now)
{
    const struct config *config = operation->config;
    struct civil_time date = zone_civil(operation->zone, now);
    struct smtp_outcome outcome;
    char id[MAIL_ID_SIZE], *head, *all;
    struct smtp_mail mail;

    mail_message_id(config->slug, "test", config->mail.from, recipient, now,
                    id);
    head = mail_head(config->name, config->mail.from, recipient, &date, id);
    all = mem_format("%s%s", head, body);
    mail = (struct smtp_mail){config->mail.from, recipient, all, strlen(all)};
    smtp_send(smtp, server, &mail, &outcome);
    free(all);
    free(head);
    return tell(recipient, &outcome);
}

static int send_all(struct smtp *smtp, const struct smtp_server *server,
                    const struct daemon_operation *operation, utc_s now)
{
    const struct config *config = operation->config;
    struct civil_time civil = zone_civil(operation->zone, now);
    struct mail_letter letter;
    char *when =
        mem_format("%04d-%02d-%02d %02d:%02d", civil.date.year,
                   civil.date.month, civil.date.day, civil.hour, civil.minute);
    const char *language = words_use(config->language);
    size_t length;
    char *body;
    int code = EXIT_DONE;

    mail_test(config->name, when, &letter);
    words_use(language);
    snprintf(letter.language, sizeof letter.language, "%s", config->language);
    body = mail_body(&letter, config->mail.from, &length);
    printf(_("%s, through %s:\n"), config->name, config->mail.server);
    for (int i = 0; i < config->mail.to_count; i++)
        code = worse(code, send_to(smtp, server, operation, config->mail.to[i],
                                   body, now));
    free(body);
    free(when);
    mail_letter_free(&letter);
    return code;
}

static int test_one(const struct daemon_operation *operation, utc_s now)
{
    struct smtp_caps caps = smtp_caps_default();
    char ehlo[256], *password = NULL;
    struct smtp_server server;
    struct smtp *smtp = NULL;
    struct error err = {""};
    int code = EXIT_FAILED;

    if (!operation->config->mail.present) {
        printf(_("%s: no mail is configured\n"), operation->config->name);
        return EXIT_DONE;
    }
    caps.reply_s = REPLY_S;
    caps.accept_s = ACCEPT_S;
    if (post_server(operation->config, ehlo, sizeof ehlo, &server, &password,
                    &err) == 0)
        smtp = smtp_open(&caps, &err);
    if (smtp != NULL)
        code = send_all(smtp, &server, operation, now);
    else
        fprintf(stderr, "thawbelld: %s: %s\n", operation->config->name,
                err.text);
    smtp_free(smtp);
    secret_free(password);
    return code;
}

int mail_test_run(const struct options *options)
{
    struct error_list errors = {NULL, 0}, warnings = {NULL, 0};
    struct daemon_operation **operations;
    utc_s now = options_now(options);
    int count, code = EXIT_DONE;

    if (operations_read(options, &operations, &count, &errors, &warnings) !=
        0) {
        for (int i = 0; i < errors.count; i++)
            fprintf(stderr, "%s\n", errors.items[i]);
        code = EXIT_USAGE;
    } else {
        for (int i = 0; i < count; i++)
            code = worse(code, test_one(operations[i], now));
        operations_free(operations, count);
    }
    error_list_free(&errors);
    error_list_free(&warnings);
    return code;
}
