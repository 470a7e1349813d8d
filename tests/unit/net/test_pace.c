/* When to ask next. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/file.h"
#include "net/pace.h"
#include "own_folder.h"

static const char SEED_A[] = "00112233445566778899aabbccddeeff";
static const char SEED_B[] = "ffeeddccbbaa99887766554433221100";
static const utc_s NOON_20 = 1772972400 + 1200; /* 2026-03-08 12:20 UTC */

static void test_backoff_doubles_to_an_hour(void **state)
{
    static const int minutes[] = {2, 4, 8, 16, 32, 60, 60, 60};

    (void)state;
    for (int i = 0; i < 8; i++) {
        int64_t wait = pace_backoff_s(SEED_A, "key", i + 1);

        assert_in_range(wait, minutes[i] * 60, minutes[i] * 75);
    }
    assert_in_range(pace_backoff_s(SEED_A, "key", 1000), 3600, 4500);
}

static void test_jitter_is_fixed_and_differs(void **state)
{
    double sum = 0;
    int same = 0;

    (void)state;
    assert_int_equal(pace_backoff_s(SEED_A, "key", 5),
                     pace_backoff_s(SEED_A, "key", 5));
    for (int i = 0; i < 200; i++) {
        double a = pace_fraction(SEED_A, "key", i);

        assert_true(a >= 0 && a < 1);
        sum += a;
        same += pace_backoff_s(SEED_A, "key", i + 6) ==
                pace_backoff_s(SEED_B, "key", i + 6);
    }
    /* The mean of 200 even draws: sd 0.02, so five of them either way. */
    assert_true(sum / 200 > 0.4 && sum / 200 < 0.6);
    assert_true(same < 5);
}

static void test_never_on_the_full_hour(void **state)
{
    utc_s hour = 1772971200;

    (void)state;
    assert_int_equal(0, hour % 3600);
    for (int s = -120; s <= 120; s++) {
        utc_s moved = pace_off_hour(SEED_A, hour + s);
        int64_t past = moved % 3600;

        assert_true(moved >= hour + s && moved < hour + s + 600);
        assert_true(past >= PACE_HOUR_GUARD_S &&
                    past <= 3600 - PACE_HOUR_GUARD_S);
    }
    assert_int_equal(hour + 60, pace_off_hour(SEED_A, hour + 60));
    assert_int_equal(hour + 1800, pace_off_hour(SEED_A, hour + 1800));
}

static struct http_headers headers_with(const char *line)
{
    struct http_headers headers;

    http_headers_clear(&headers);
    http_headers_add(&headers, line, strlen(line));
    return headers;
}

static void test_after_an_answer_with_an_expiry(void **state)
{
    struct http_headers headers = headers_with("Cache-Control: max-age=600");
    utc_s a = pace_after_answer(SEED_A, &headers, 3600, NOON_20);
    utc_s b = pace_after_answer(SEED_B, &headers, 3600, NOON_20);

    (void)state;
    assert_in_range(a, NOON_20 + 600 + PACE_OFFSET_MIN_S,
                    NOON_20 + 600 + PACE_OFFSET_MIN_S + PACE_OFFSET_SPREAD_S);
    assert_int_not_equal(a, b);
    /* Fixed for an installation: the same offset each time. */
    assert_int_equal(a + 60,
                     pace_after_answer(SEED_A, &headers, 3600, NOON_20 + 60));
}

static void test_after_an_answer_without_one(void **state)
{
    struct http_headers headers = headers_with("Expires: 0");

    (void)state;
    assert_int_equal(NOON_20 + 1500,
                     pace_after_answer(SEED_A, &headers, 1500, NOON_20));
    assert_int_equal(NOON_20 + PACE_FRESH_MIN_S,
                     pace_after_answer(SEED_A, &headers, 0, NOON_20));
}

static int64_t wait_after(int status, const char *line, int failures)
{
    struct http_headers headers = headers_with(line);

    return pace_after_error(SEED_A, "key", status, &headers, failures,
                            NOON_20) -
           NOON_20;
}

static void test_after_errors(void **state)
{
    (void)state;
    assert_int_equal(PACE_BLOCKED_S, wait_after(403, "X: y", 1));
    assert_int_equal(PACE_BLOCKED_S, wait_after(403, "Retry-After: 10", 1));
    for (int i = 0; i < 6; i++) {
        static const int ours[] = {400, 401, 404, 410, 414, 422};

        assert_int_equal(3600, wait_after(ours[i], "X: y", 1));
        assert_int_equal(3600, wait_after(ours[i], "Retry-After: 5", 3));
    }
    assert_int_equal(7200, wait_after(404, "Cache-Control: max-age=7200", 1));
    assert_int_equal(3600, wait_after(404, "Cache-Control: max-age=60", 1));
}

static void test_after_passing_errors(void **state)
{
    static const int theirs[] = {0, 200, 408, 429, 500, 502, 503, 504};

    (void)state;
    for (int i = 0; i < 8; i++) {
        assert_in_range(wait_after(theirs[i], "X: y", 1), 120, 150);
        assert_in_range(wait_after(theirs[i], "X: y", 3), 480, 600);
        assert_in_range(wait_after(theirs[i], "Retry-After: 900", 1), 900, 960);
        assert_in_range(wait_after(theirs[i], "Retry-After: soon", 1), 120,
                        150);
    }
    assert_in_range(wait_after(503, "Retry-After: 4000000000", 1), 86400,
                    86400 + 600);
}

static void test_seed_is_made_once(void **state)
{
    char folder[OWN_FOLDER_SIZE];
    char first[PACE_SEED_SIZE], second[PACE_SEED_SIZE];
    struct stat status;
    char *path;

    (void)state;
    own_folder_make(folder, "pace");
    path = file_join(folder, "seed");
    assert_int_equal(0, pace_seed_load(folder, first, NULL));
    assert_int_equal(PACE_SEED_SIZE - 1, strlen(first));
    assert_int_equal(0, stat(path, &status));
    assert_int_equal(0600, status.st_mode & 0777);
    assert_int_equal(0, pace_seed_load(folder, second, NULL));
    assert_string_equal(first, second);
    assert_int_equal(0, file_write_whole(path, "junk\n", 5, 0600, NULL));
    assert_int_equal(0, pace_seed_load(folder, second, NULL));
    assert_int_equal(PACE_SEED_SIZE - 1, strlen(second));
    assert_string_not_equal(first, second);
    own_folder_remove(folder);
    free(path);
}

static void test_seed_without_a_folder(void **state)
{
    char seed[PACE_SEED_SIZE] = "";
    struct error err = {""};

    (void)state;
    assert_int_equal(-1, pace_seed_load("/nonexistent/folder", seed, &err));
    assert_int_equal(PACE_SEED_SIZE - 1, strlen(seed));
    assert_string_not_equal("", err.text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_backoff_doubles_to_an_hour),
        cmocka_unit_test(test_jitter_is_fixed_and_differs),
        cmocka_unit_test(test_never_on_the_full_hour),
        cmocka_unit_test(test_after_an_answer_with_an_expiry),
        cmocka_unit_test(test_after_an_answer_without_one),
        cmocka_unit_test(test_after_errors),
        cmocka_unit_test(test_after_passing_errors),
        cmocka_unit_test(test_seed_is_made_once),
        cmocka_unit_test(test_seed_without_a_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
