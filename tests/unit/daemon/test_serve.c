/* What requests say, and the token; answers over the net are in tests/serve. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/file.h"
#include "daemon/serve_guard.h"
#include "daemon/serve_http.h"
#include "own_folder.h"

static void tags(void **state)
{
    static const struct {
        const char *list;
        bool listed;
    } cases[] = {{"\"a\"", true},
                 {"W/\"a\"", true},
                 {" \"x\" ,\t\"a\"", true},
                 {"\"x,y\", \"a\"", true},
                 {"*", true},
                 {" * ", true},
                 {", ,\"a\"", true},
                 {"", false},
                 {"a", false},
                 {"\"b\"", false},
                 {"\"a", false},
                 {"\"ab\"", false},
                 {"w/\"a\"", false},
                 {"\"x\" \"a\"", false},
                 {"x, \"a\"", false},
                 {"**", false}};

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        assert_int_equal(serve_tag_listed(cases[i].list, "\"a\""),
                         cases[i].listed);
}

static void codings(void **state)
{
    static const struct {
        const char *list;
        bool taken;
    } cases[] = {{"gzip", true},
                 {"x-gzip", true},
                 {"deflate, gzip;q=1.0, *;q=0.5", true},
                 {"gzip ; q=0.001", true},
                 {"*", true},
                 {"", false},
                 {"gzip;q=0", false},
                 {"gzip;q=0.0", false},
                 {"gzip; Q=0.000", false},
                 {"gzip;q=0, *", false},
                 {"*;q=0", false},
                 {"identity", false},
                 {"gzipped", false},
                 {"br;q=1.0", false}};

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        if (serve_takes_gzip(cases[i].list) != cases[i].taken)
            fail_msg("%s", cases[i].list);
    assert_true(serve_takes_openmetrics(
        "application/openmetrics-text;version=1.0.0,text/plain;q=0.5"));
    assert_false(serve_takes_openmetrics("text/plain, */*"));
}

/* RFC 9110 section 5.6.7 gives the first. */
static void dates(void **state)
{
    char words[SERVE_DATE_SIZE];

    (void)state;
    serve_date_words(784111777, words);
    assert_string_equal(words, "Sun, 06 Nov 1994 08:49:37 GMT");
    serve_date_words(951782400, words);
    assert_string_equal(words, "Tue, 29 Feb 2000 00:00:00 GMT");
}

static void health(void **state)
{
    struct serve_figures figures = {.weather_from = 0};
    struct text out;

    (void)state;
    text_init(&out, 1000);
    assert_false(serve_health(&figures, 1000000, &out));
    figures.weather_from = 1000000 - SERVE_VERY_OLD_S + 1;
    assert_true(serve_health(&figures, 1000000, &out));
    figures.weather_from--;
    assert_false(serve_health(&figures, 1000000, &out));
    text_free(&out);
}

static void write_token(const char *path, const char *words, mode_t mode)
{
    struct error err;

    assert_int_equal(file_write_whole(path, words, strlen(words), mode, &err),
                     0);
}

static void token_is_made_once_and_checked(void **state)
{
    char folder[OWN_FOLDER_SIZE], *path;
    char first[SERVE_TOKEN_SIZE], second[SERVE_TOKEN_SIZE];
    struct error err;
    struct stat status;

    (void)state;
    own_folder_make(folder, "serve");
    path = file_join(folder, "token");
    assert_int_equal(serve_token_read(path, first, &err), 0);
    assert_int_equal(serve_token_read(path, second, &err), 0);
    assert_string_equal(first, second);
    /* 26 letters of 32 kinds are 130 bits. */
    assert_int_equal(strlen(first), 26);
    assert_int_equal(strspn(first, "abcdefghijklmnopqrstuvwxyz234567"), 26);
    assert_int_equal(stat(path, &status), 0);
    assert_int_equal(status.st_mode & 0777, 0600);
    unlink(path);
    assert_int_equal(serve_token_read(path, second, &err), 0);
    assert_string_not_equal(first, second);

    write_token(path, "aB3-_aB3-_aB3-_aB3-_aB\n", 0600);
    assert_int_equal(serve_token_read(path, first, &err), 0);
    write_token(path, "aB3-_aB3-_aB3-_aB3-_a\n", 0600);
    assert_int_equal(serve_token_read(path, first, &err), -1);
    assert_non_null(strstr(err.text, "22 to 128 letters"));
    assert_null(strstr(err.text, "aB3"));
    write_token(path, "aB3/../aB3-_aB3-_aB3-_aB\n", 0600);
    assert_int_equal(serve_token_read(path, first, &err), -1);
    write_token(path, "aB3-_aB3-_aB3-_aB3-_aB\n", 0644);
    assert_int_equal(serve_token_read(path, first, &err), -1);
    assert_non_null(strstr(err.text, "others may read it"));
    own_folder_remove(folder);
    free(path);
}

static bool is_cut(int fd)
{
    char byte;

    return recv(fd, &byte, 1, MSG_DONTWAIT) == 0;
}

static void longest_waiting_goes_first(void **state)
{
    struct guard *guard = guard_start(2, 60000);
    struct guarded *guarded[3];
    int pairs[3][2];

    (void)state;
    for (int i = 0; i < 3; i++) {
        assert_int_equal(socketpair(AF_UNIX, SOCK_STREAM, 0, pairs[i]), 0);
        if (i == 2) /* the first is answered: it waits anew */
            guard_answered(guard, guarded[0]);
        guarded[i] = guard_begin(guard, pairs[i][0]);
    }
    assert_false(is_cut(pairs[0][1]));
    assert_true(is_cut(pairs[1][1]));
    assert_false(is_cut(pairs[2][1]));
    for (int i = 0; i < 3; i++) {
        guard_end(guard, guarded[i]);
        close(pairs[i][0]);
        close(pairs[i][1]);
    }
    guard_stop(guard);
}

static void deadline_cuts(void **state)
{
    struct guard *guard = guard_start(100, 700);
    struct timespec half = {0, 500000000};
    struct guarded *guarded[2];
    int pairs[2][2];

    (void)state;
    for (int i = 0; i < 2; i++) {
        assert_int_equal(socketpair(AF_UNIX, SOCK_STREAM, 0, pairs[i]), 0);
        guarded[i] = guard_begin(guard, pairs[i][0]);
    }
    nanosleep(&half, NULL);
    assert_false(is_cut(pairs[0][1]));
    guard_answered(guard, guarded[1]);
    nanosleep(&half, NULL); /* 1000 ms, and 500 since the answer */
    assert_true(is_cut(pairs[0][1]));
    assert_false(is_cut(pairs[1][1]));
    for (int i = 0; i < 2; i++) {
        guard_end(guard, guarded[i]);
        close(pairs[i][0]);
        close(pairs[i][1]);
    }
    guard_stop(guard);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tags),
        cmocka_unit_test(codings),
        cmocka_unit_test(dates),
        cmocka_unit_test(health),
        cmocka_unit_test(token_is_made_once_and_checked),
        cmocka_unit_test(longest_waiting_goes_first),
        cmocka_unit_test(deadline_cuts),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
