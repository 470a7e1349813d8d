/* The end of a turn: how what it publishes is flushed, and what becomes of it
 * where it cannot be. What flushes is this program's own. */
#define _GNU_SOURCE /* syncfs */
#include "unit_test.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#include "base/file.h"
#include "store/outbox.h"
#include "turn/turn.h"
#include "turn_bench.h"

#define NOW DEMO_NOW

static int file_flushes, system_flushes; /* of what is published */
static bool refuses, refuses_folder, read_only;

static bool is_published(int fd)
{
    char link[64], path[200] = "";

    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    return readlink(link, path, sizeof path - 1) > 0 &&
           strstr(path, "/public") != NULL;
}

static bool is_folder(int fd)
{
    struct stat status;

    return fstat(fd, &status) == 0 && S_ISDIR(status.st_mode);
}

static int refuse_or(long call, int fd)
{
    if (!is_published(fd) || !(refuses || (refuses_folder && is_folder(fd))))
        return (int)syscall(call, fd);
    errno = EIO;
    return -1;
}

int fsync(int fd)
{
    file_flushes += is_published(fd);
    return refuse_or(SYS_fsync, fd);
}

int syncfs(int fd)
{
    system_flushes += is_published(fd);
    return refuse_or(SYS_syncfs, fd);
}

/* By which each file that is made gets its rights. */
int fchmod(int fd, mode_t mode)
{
    if (!read_only || !is_published(fd))
        return (int)syscall(SYS_fchmod, fd, mode);
    errno = EROFS;
    return -1;
}

static int set_up(void **state)
{
    struct turn_bench *bench = turn_bench_by_hand("publish");

    demo_use(bench->config, "metno");
    file_flushes = system_flushes = 0;
    refuses = refuses_folder = read_only = false;
    *state = bench;
    return 0;
}

static int turn_at(struct turn_bench *bench, utc_s now, bool among_many,
                   struct turn_result *result, struct error *err)
{
    struct transport transport = script_transport(&bench->script);
    struct transport_request *requests;
    struct transport_answer *answers;
    struct turning *turning;
    int count;

    err->text[0] = '\0';
    turning = turn_begin(bench->config, now, &transport, bench->store, NULL,
                         bench->published, err);
    assert_non_null(turning);
    if (among_many)
        turn_among_many(turning);
    while ((count = turn_round(turning, &requests, &answers)) > 0) {
        transport.fetch(transport.self, now, requests, count, answers);
        turn_take(turning);
    }
    return turn_end(turning, result, NULL, err);
}

static int good_turn(struct turn_bench *bench, utc_s now, bool among_many)
{
    struct turn_result result;
    struct error err;

    if (turn_at(bench, now, among_many, &result, &err) != 0)
        fail_msg("%s", err.text);
    assert_int_equal(0, result.troubles.count);
    assert_false(result.unpublished);
    turn_result_free(&result);
    return result.published;
}

static bool is_there(const struct turn_bench *bench, const char *name)
{
    char *path = file_join(bench->published, name);
    bool there = file_exists(path);

    free(path);
    return there;
}

static void take_away(const struct turn_bench *bench, const char *name)
{
    char *path = file_join(bench->published, name);

    assert_int_equal(0, unlink(path));
    free(path);
}

static void test_few_flush_each_file(void **state)
{
    assert_int_equal(3, good_turn(*state, NOW, false));
    assert_int_equal(4, file_flushes);
    assert_int_equal(0, system_flushes);
}

static void test_many_flush_once(void **state)
{
    assert_int_equal(3, good_turn(*state, NOW, true));
    assert_int_equal(0, file_flushes);
    assert_int_equal(1, system_flushes);
    assert_true(is_there(*state, "bulletin.json"));
    assert_true(is_there(*state, "calendar.ics"));
    assert_true(is_there(*state, "index.html"));
    assert_int_equal(0, good_turn(*state, NOW, true));
    assert_int_equal(1, system_flushes);
}

/* Nothing of it is there, and the next turn makes it all. */
static void test_not_flushed_is_not_published(void **state)
{
    struct turn_bench *bench = *state;

    for (int many = 0; many <= 1; many++) {
        struct turn_result result;
        struct error err;

        refuses = true;
        assert_int_equal(-1, turn_at(bench, NOW, many != 0, &result, &err));
        assert_non_null(strstr(err.text, bench->published));
        assert_true(result.unpublished);
        assert_int_equal(0, result.published);
        assert_int_equal(0, result.troubles.count);
        turn_result_free(&result);
        assert_false(is_there(bench, "bulletin.json"));
        assert_false(is_there(bench, "calendar.ics"));
        assert_false(is_there(bench, "index.html"));
    }
    refuses = false;
    assert_int_equal(3, good_turn(bench, NOW, true));
}

/* The bulletin is the one that is in place: no failure of the turn. */
static void test_calendar_not_flushed_is_told(void **state)
{
    struct turn_bench *bench = *state;
    struct turn_result result;
    struct error err;

    good_turn(bench, NOW, true);
    take_away(bench, "calendar.ics");
    refuses = true;
    assert_int_equal(0, turn_at(bench, NOW, true, &result, &err));
    assert_true(result.unpublished);
    assert_int_equal(1, result.troubles.count);
    assert_non_null(strstr(result.troubles.items[0], bench->published));
    turn_result_free(&result);
    assert_false(is_there(bench, "calendar.ics"));
    refuses = false;
    assert_int_equal(1, good_turn(bench, NOW, true));
    assert_true(is_there(bench, "calendar.ics"));
}

/* What keeps back all three is one trouble, and what keeps back two of them
 * besides the bulletin is one too. */
static void test_a_read_only_folder_is_told_once(void **state)
{
    struct turn_bench *bench = *state;
    char *words = mem_format("%s: cannot be written: Read-only file system",
                             bench->published);
    struct turn_result result;
    struct error err;

    read_only = true;
    for (int many = 0; many <= 1; many++) {
        assert_int_equal(-1, turn_at(bench, NOW, many != 0, &result, &err));
        assert_string_equal(words, err.text);
        assert_int_equal(0, result.troubles.count);
        assert_true(result.unpublished);
        assert_int_equal(0, result.published);
        turn_result_free(&result);
    }
    read_only = false;
    assert_int_equal(3, good_turn(bench, NOW, false));
    take_away(bench, "calendar.ics");
    take_away(bench, "index.html");
    read_only = true;
    assert_int_equal(0, turn_at(bench, NOW, false, &result, &err));
    assert_int_equal(1, result.troubles.count);
    assert_string_equal(words, result.troubles.items[0]);
    assert_true(result.unpublished);
    turn_result_free(&result);
    free(words);
    read_only = false;
    assert_int_equal(2, good_turn(bench, NOW, false));
}

/* All is in place, but may not be after a power cut. */
static void test_a_folder_not_flushed_is_told(void **state)
{
    struct turn_bench *bench = *state;
    struct turn_result result;
    struct error err;

    refuses_folder = true;
    assert_int_equal(0, turn_at(bench, NOW, false, &result, &err));
    assert_true(result.unpublished);
    assert_int_equal(3, result.published);
    assert_int_equal(1, result.troubles.count);
    assert_non_null(strstr(result.troubles.items[0], bench->published));
    turn_result_free(&result);
    assert_true(is_there(bench, "bulletin.json"));
    assert_true(is_there(bench, "calendar.ics"));
    assert_true(is_there(bench, "index.html"));
}

/* One that has no place does not keep the others from theirs. */
static void test_a_folder_in_the_calendars_place(void **state)
{
    struct turn_bench *bench = *state;
    char *path = file_join(bench->published, "calendar.ics");
    struct turn_result result;
    struct error err;

    assert_int_equal(0, file_make_folder(path, 0755, &err));
    assert_int_equal(0, turn_at(bench, NOW, true, &result, &err));
    assert_true(result.unpublished);
    assert_int_equal(2, result.published);
    assert_int_equal(1, result.troubles.count);
    assert_non_null(
        strstr(result.troubles.items[0], "the calendar was not published: "));
    assert_non_null(strstr(result.troubles.items[0], path));
    turn_result_free(&result);
    assert_true(is_there(bench, "bulletin.json"));
    assert_true(is_there(bench, "index.html"));
    free(path);
}

static char *page_of_turn(struct turn_bench *bench, utc_s now)
{
    good_turn(bench, now, true);
    return turn_bench_read(bench, "index.html");
}

/* A mail to two people, refused to both, an hour before NOW. */
static void give_up(struct store *store, const char *operation)
{
    static const struct outbox_recipient recipients[] = {
        {"ann@bush.test", "<a@bush.test>", "To: <ann@bush.test>\r\n"},
        {"bob@farm.test", "<b@bush.test>", "To: <bob@farm.test>\r\n"}};
    struct outbox_mail mail = {.operation = operation,
                               .name = "morning 2026-03-05",
                               .kind = "morning",
                               .sender = "bend@bush.test",
                               .made = NOW - SECONDS_PER_HOUR,
                               .best_before = NOW + SECONDS_PER_HOUR,
                               .body = "\r\nbody\r\n",
                               .length = 8,
                               .recipients = recipients,
                               .recipient_count = 2};

    assert_int_equal(0, outbox_put(store, &mail, NULL, NULL));
    for (int i = 0; i < 2; i++) {
        struct outbox_row row;
        bool found;

        assert_int_equal(
            0, outbox_claim(store, operation, mail.made, &row, &found, NULL));
        assert_true(found);
        assert_int_equal(0, outbox_settle(store, row.id, row.message_id,
                                          mail.made, OUTBOX_DEAD, 0, 550,
                                          "refused: no mailbox ann@bush.test",
                                          NULL));
        outbox_row_free(&row);
    }
}

/* For three days, as `thawbell check` has it. The page may be public: nobody's
 * address stands in it, nor what a server said. */
static void test_mails_given_up_stand_in_the_page(void **state)
{
    static const char words[] =
        "2 mails of the last three days were given up: ";
    struct turn_bench *bench = *state;
    utc_s settled = NOW - SECONDS_PER_HOUR;
    char *html;

    bench->config->mail.present = true;
    give_up(bench->store, "another");
    html = page_of_turn(bench, NOW);
    assert_null(strstr(html, "given up: "));
    free(html);
    give_up(bench->store, bench->config->slug);
    html = page_of_turn(bench, NOW);
    assert_non_null(strstr(html, words));
    assert_null(strstr(html, "bush.test"));
    assert_null(strstr(html, "farm.test"));
    assert_null(strstr(html, "refused"));
    free(html);
    html = page_of_turn(bench, settled + OUTBOX_TOLD_S - 1);
    assert_non_null(strstr(html, words));
    free(html);
    html = page_of_turn(bench, settled + OUTBOX_TOLD_S);
    assert_null(strstr(html, "given up: "));
    free(html);
}

/* Nor does `thawbell check` tell of any. */
static void test_none_is_told_where_no_mail_is_configured(void **state)
{
    struct turn_bench *bench = *state;
    char *html;

    give_up(bench->store, bench->config->slug);
    html = page_of_turn(bench, NOW);
    assert_null(strstr(html, "given up: "));
    free(html);
}

#define ROW(test)                                                              \
    cmocka_unit_test_setup_teardown(test, set_up, turn_bench_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(test_few_flush_each_file),
        ROW(test_many_flush_once),
        ROW(test_not_flushed_is_not_published),
        ROW(test_calendar_not_flushed_is_told),
        ROW(test_a_read_only_folder_is_told_once),
        ROW(test_a_folder_not_flushed_is_told),
        ROW(test_a_folder_in_the_calendars_place),
        ROW(test_mails_given_up_stand_in_the_page),
        ROW(test_none_is_told_where_no_mail_is_configured),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
