/* The feed and page server alone, for peers that ask it.
 *   serve_folder --make FOLDER MINUTES   writes invented files as published
 *   serve_folder FOLDER LISTEN CONNECTIONS REQUEST_MS THREADS
 * prints its port, then does what it reads: "swap" takes the folder's files
 * anew, "drop" takes the token away, "tell" gives figures; each is answered
 * with a line. It ends with its input. The token is in FOLDER/token. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/file.h"
#include "daemon/serve.h"
#include "fake_bulletin.h"
#include "publish/calendar.h"
#include "publish/page.h"

static void must(int result, const struct error *err)
{
    if (result == 0)
        return;
    fprintf(stderr, "%s\n", err->text);
    exit(1);
}

static void put(const char *folder, const char *name, char *bytes)
{
    char *path = file_join(folder, name);
    struct error err;

    must(file_write_whole(path, bytes, strlen(bytes), 0644, &err), &err);
    free(path);
    free(bytes);
}

static int make(const char *folder, int minutes)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    struct error err;

    bulletin->made += 60 * minutes;
    bulletin->days[3].chance -= minutes / 1000.0;
    must(file_make_folder(folder, 0755, &err), &err);
    calendar_update(&memory, bulletin);
    put(folder, "calendar.ics", calendar_to_ics(&memory, bulletin, NULL));
    put(folder, "bulletin.json", bulletin_to_json(bulletin));
    put(folder, "index.html", page_to_html(bulletin, NULL));
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
    return 0;
}

static void tell(struct serve *serve, const char *token)
{
    utc_s now = time(NULL);
    struct serve_figures figures = {
        .made = now - 600,
        .weather_from = now - 1500,
        .turns_made = 12,
        .turns_failed = 1,
        .mail_waiting = 2,
        .mail_dead = 0,
        .sources = {{"metno", now - 1500, false, 12, 1},
                    {"nws", 0, true, 0, 13}},
        .source_count = 2};

    serve_tell(serve, token, &figures);
}

static void follow(struct serve *serve, const char *token, const char *folder)
{
    char words[32];
    struct error err;

    while (fgets(words, sizeof words, stdin) != NULL) {
        const char *said = "done";

        if (strcmp(words, "swap\n") == 0) {
            if (serve_folder(serve, token, folder, NULL, &err) != 0)
                said = err.text;
        } else if (strcmp(words, "drop\n") == 0) {
            serve_drop(serve, token);
        } else {
            tell(serve, token);
        }
        printf("%s\n", said);
        fflush(stdout);
    }
}

static int number(const char *words)
{
    long value = 0;

    if (!integer_parse(words, 0, 1000000, &value))
        exit(2);
    return (int)value;
}

int main(int argc, char **argv)
{
    char token[SERVE_TOKEN_SIZE], *token_file;
    struct serve_options options = {.fd = -1};
    struct serve *serve;
    struct error err;

    if (argc == 4 && strcmp(argv[1], "--make") == 0)
        return make(argv[2], number(argv[3]));
    if (argc != 6)
        return 2;
    token_file = file_join(argv[1], "token");
    options.listen = argv[2];
    options.connections = number(argv[3]);
    options.request_ms = number(argv[4]);
    options.threads = number(argv[5]);
    options.fd = serve_handed_socket();
    must(serve_token_read(token_file, token, &err), &err);
    serve = serve_start(&options, &err);
    must(serve != NULL ? 0 : -1, &err);
    must(serve_folder(serve, token, argv[1], NULL, &err), &err);
    printf("%d\n", serve_port(serve));
    fflush(stdout);
    follow(serve, token, argv[1]);
    serve_stop(serve);
    free(token_file);
    return 0;
}
