/* Sends one mail and prints the verdict, for the tests against real servers:
 *   send_mail url=… from=… to=… file=MESSAGE [user=… password=…] [ehlo=…]
 *             [ca=FILE] [resolve=HOST:PORT:ADDRESS] [reply=SECONDS]
 * prints "VERDICT REPLY STATUS|WORDS". */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/units.h"
#include "net/http.h"
#include "net/smtp.h"

static const char *given(int argc, char **argv, const char *key)
{
    size_t length = strlen(key);

    for (int i = 1; i < argc; i++)
        if (strncmp(argv[i], key, length) == 0 && argv[i][length] == '=')
            return argv[i] + length + 1;
    return NULL;
}

static int send_one(int argc, char **argv, const char *message, size_t length)
{
    struct smtp_caps caps = smtp_caps_default();
    struct smtp_server server = {.url = given(argc, argv, "url"),
                                 .user = given(argc, argv, "user"),
                                 .password = given(argc, argv, "password"),
                                 .ehlo = given(argc, argv, "ehlo"),
                                 .ca_file = given(argc, argv, "ca"),
                                 .resolve = given(argc, argv, "resolve")};
    struct smtp_mail mail = {.from = given(argc, argv, "from"),
                             .to = given(argc, argv, "to"),
                             .message = message,
                             .length = length};
    const char *reply = given(argc, argv, "reply");
    struct smtp_outcome outcome;
    struct error err = {""};
    struct smtp *smtp;

    if (reply != NULL && integer_parse(reply, 1, 600, &caps.reply_s))
        caps.accept_s = caps.reply_s;
    smtp = smtp_open(&caps, &err);
    if (smtp == NULL) {
        fprintf(stderr, "%s\n", err.text);
        return 1;
    }
    smtp_send(smtp, &server, &mail, &outcome);
    printf("%s %d %s|%s\n", smtp_verdict_word(outcome.verdict), outcome.reply,
           outcome.status, outcome.words);
    smtp_free(smtp);
    return 0;
}

int main(int argc, char **argv)
{
    const char *path = given(argc, argv, "file");
    struct error err = {""};
    size_t length;
    char *message;
    int code;

    if (path == NULL || http_global_start(&err) != 0 ||
        file_read(path, 1 << 24, &message, &length, &err) != 0) {
        fprintf(stderr, "%s\n", err.text);
        return 1;
    }
    code = send_one(argc, argv, message, length);
    free(message);
    http_global_end();
    return code;
}
