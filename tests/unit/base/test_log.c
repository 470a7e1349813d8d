#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/log.h"
#include "unit_test.h"

static char captured[8192];

/* Standard error goes to a file while `body` runs. */
static void capture(void (*body)(void), int journal)
{
    char path[] = "/tmp/thawbell-log-XXXXXX";
    int file = mkstemp(path), saved = dup(STDERR_FILENO);
    assert_true(file >= 0 && saved >= 0);
    struct stat status;
    assert_int_equal(0, fstat(file, &status));
    char stream[64];
    snprintf(stream, sizeof stream, "%ju:%ju",
             (uintmax_t)status.st_dev + (journal == 2),
             (uintmax_t)status.st_ino);
    if (journal)
        setenv("JOURNAL_STREAM", stream, 1);
    else
        unsetenv("JOURNAL_STREAM");
    dup2(file, STDERR_FILENO);
    memset(captured, 0, sizeof captured);
    body();
    dup2(saved, STDERR_FILENO);
    close(saved);
    ssize_t length = pread(file, captured, sizeof captured - 1, 0);
    captured[length > 0 ? length : 0] = '\0';
    close(file);
    unlink(path);
}

static void say_all(void)
{
    log_error("e %d", 1);
    log_warn("w");
    log_info("i");
    log_debug("d");
}

static void level_decides(void **state)
{
    (void)state;
    log_set_level(LOG_LEVEL_WARN);
    capture(say_all, 1);
    assert_string_equal("<3>e 1\n<4>w\n", captured);
    log_set_level(LOG_LEVEL_DEBUG);
    capture(say_all, 1);
    assert_string_equal("<3>e 1\n<4>w\n<6>i\n<7>d\n", captured);
    log_set_level(LOG_LEVEL_ERROR);
    capture(say_all, 1);
    assert_string_equal("<3>e 1\n", captured);
}

static void say_error(void)
{
    log_error("gone");
}

static void terminal_gets_a_time(void **state)
{
    (void)state;
    capture(say_error, 0);
    /* 2026-03-08T12:00:00Z error: gone */
    assert_int_equal(33, (int)strlen(captured));
    assert_true(captured[4] == '-' && captured[10] == 'T' &&
                captured[19] == 'Z');
    assert_string_equal("error: gone\n", captured + 21);
}

static void foreign_journal_is_not_ours(void **state)
{
    (void)state;
    capture(say_error, 2);
    assert_string_equal("error: gone\n", captured + 21);
}

static void say_lines(void)
{
    log_error("one\ntwo\x1B[31m");
}

static void one_event_is_one_line(void **state)
{
    (void)state;
    capture(say_lines, 1);
    assert_string_equal("<3>one two [31m\n", captured);
}

/* U+009B begins what steers a terminal, as ESC [ does; U+2028 ends a line;
 * \xFF is no UTF-8. */
static void say_strange(void)
{
    log_error("one\xC2\x9B"
              "2Jtwo\xE2\x80\xA8three\xFF");
}

static void nothing_steers_the_terminal(void **state)
{
    (void)state;
    capture(say_strange, 1);
    assert_string_equal("<3>one?2Jtwo?three?\n", captured);
}

static size_t shift;

static void say_much(void)
{
    static char words[6000];
    memset(words, 'x', shift);
    for (size_t i = shift; i + 3 < sizeof words; i += 3)
        memcpy(words + i, "\xE2\x82\xAC", 4);
    log_error("%s", words);
}

static void long_line_ends_between_characters(void **state)
{
    (void)state;
    for (shift = 0; shift < 3; shift++) {
        capture(say_much, 1);
        size_t length = strlen(captured);
        assert_true(length > 1900 && length <= 2048);
        assert_int_equal('\n', captured[length - 1]);
        assert_int_equal(0, (length - 4 - shift) % 3);
    }
}

static void say_and_spoil(void)
{
    errno = ENOSPC;
    log_error("x");
    assert_int_equal(ENOSPC, errno);
}

static void errno_is_kept(void **state)
{
    (void)state;
    capture(say_and_spoil, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(level_decides),
        cmocka_unit_test(terminal_gets_a_time),
        cmocka_unit_test(foreign_journal_is_not_ours),
        cmocka_unit_test(one_event_is_one_line),
        cmocka_unit_test(nothing_steers_the_terminal),
        cmocka_unit_test(long_line_ends_between_characters),
        cmocka_unit_test(errno_is_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
