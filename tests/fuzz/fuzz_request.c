/* Any bytes to the port of the feed and page server: it answers with one of
 * its own answers or closes, and shows what lies behind the token to nobody
 * who does not say the token. */
#include "promise.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <stdbool.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <time.h>

#include "daemon/serve.h"
#include "daemon/serve_http.h"

#define TOKEN "abcdefghijklmnopqrstuvwxyz012345"
#define SECRET "the-sap-is-running"

static struct serve *start(void)
{
    static const struct serve_file files[] = {
        {"index.html", "text/html; charset=utf-8", SECRET, sizeof SECRET - 1,
         1772838600},
        {"calendar.ics", "text/calendar; charset=utf-8", SECRET,
         sizeof SECRET - 1, 1772838600},
        {"bulletin.json", "application/json", SECRET, sizeof SECRET - 1,
         1772838600}};
    static const struct serve_figures figures = {.made = 1772838600};
    struct serve_options options = {
        .listen = "127.0.0.1:0", .fd = -1, .request_ms = 2000};
    struct error err = {""};
    struct serve *serve = serve_start(&options, &err);

    if (serve == NULL || serve_swap(serve, TOKEN, files, 3, &err) != 0) {
        fprintf(stderr, "%s\n", err.text);
        exit(1);
    }
    serve_tell(serve, TOKEN, &figures);
    return serve;
}

static struct serve *serve;

static void stop(void)
{
    serve_stop(serve);
}

/* Answers come within a moment or not at all: what is not asked to its end
 * would be waited for. -1: no connection. */
static int try_to_connect(int port)
{
    struct sockaddr_in at = {.sin_family = AF_INET,
                             .sin_port = htons((uint16_t)port),
                             .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    struct timeval moment = {0, 2000};
    /* Ports in TIME_WAIT would run out. */
    struct linger at_once = {1, 0};
    int fd = socket(AF_INET, SOCK_STREAM, 0);

    if (fd < 0 ||
        setsockopt(fd, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once) != 0 ||
        setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &moment, sizeof moment) != 0 ||
        connect(fd, (struct sockaddr *)&at, sizeof at) != 0) {
        int why = errno;

        close(fd);
        errno = why;
        return -1;
    }
    return fd;
}

/* On a machine whose ports are all in use one must wait for another. */
static int connect_to(int port)
{
    for (int i = 0; i < 300; i++) {
        int fd = try_to_connect(port);

        if (fd >= 0)
            return fd;
        nanosleep(&(struct timespec){0, 100000000}, NULL);
    }
    perror("no connection");
    exit(1);
}

static size_t ask(const uint8_t *data, size_t size, char *answer, size_t room)
{
    int fd = connect_to(serve_port(serve));
    size_t length = 0;
    ssize_t got;

    if (size > 0)
        (void)!send(fd, data, size, MSG_NOSIGNAL);
    while (length < room - 1 &&
           (got = recv(fd, answer + length, room - 1 - length, 0)) > 0)
        length += (size_t)got;
    answer[length] = '\0';
    close(fd);
    return length;
}

static bool holds(const char *bytes, size_t length, const char *words)
{
    size_t size = strlen(words);

    for (size_t i = 0; i + size <= length; i++)
        if (memcmp(bytes + i, words, size) == 0)
            return true;
    return false;
}

static void check_answer(const char *answer, size_t length, bool knows)
{
    int status = 0;

    if (length == 0)
        return;
    PROMISE(sscanf(answer, "HTTP/1.%*d %d ", &status) == 1);
    /* 100: "Expect: 100-continue". */
    PROMISE(status >= 100 && status < 600 && status != 500);
    PROMISE(knows || !holds(answer, length, SECRET));
    PROMISE(knows || !holds(answer, length, "thawbell_"));
}

/* A sound request is answered, else the rest would say nothing. A busy machine
 * gets more than one moment for it. */
static void check_works(void)
{
    static const char sound[] = "GET /" TOKEN "/calendar.ics HTTP/1.1\r\n"
                                "Host: localhost\r\n\r\n";
    char answer[4096];
    size_t length = 0;

    for (int i = 0; i < 3000 && length == 0; i++)
        length = ask((const uint8_t *)sound, sizeof sound - 1, answer,
                     sizeof answer);
    PROMISE(strncmp(answer, "HTTP/1.1 200 ", 13) == 0);
    PROMISE(holds(answer, length, SECRET));
}

/* The parts that only need words. */
static void check_words(const char *words)
{
    PROMISE(!serve_tag_listed(words, ""));
    if (serve_tag_listed(words, "\"4f3c\""))
        PROMISE(strstr(words, "\"4f3c\"") || strchr(words, '*'));
    if (serve_takes_gzip(words))
        PROMISE(strpbrk(words, "gG*xX"));
    if (serve_takes_openmetrics(words))
        PROMISE(strchr(words, '/'));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char answer[4096];
    char *words = input_text(data, size);
    size_t length;

    if (serve == NULL) {
        serve = start();
        atexit(stop);
        check_works();
    }
    check_words(words);
    length = ask(data, size, answer, sizeof answer);
    check_answer(answer, length, holds((const char *)data, size, TOKEN));
    free(words);
    return 0;
}
