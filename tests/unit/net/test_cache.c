/* Answers on disk. */
#include "unit_test.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/log.h"
#include "base/memory.h"
#include "net/cache.h"
#include "own_folder.h"

enum { MAX = 1 << 20 };

struct bench {
    char folder[OWN_FOLDER_SIZE];
    char key[DIGEST_SIZE];
    char *path;
    struct cache *cache;
};

static int set_up(void **state)
{
    struct bench *bench = mem_alloc(1, sizeof *bench);
    char *name;

    own_folder_make(bench->folder, "cache");
    bench->cache = cache_open(bench->folder, NULL);
    assert_non_null(bench->cache);
    cache_key("https://example.org/?apikey=word", "application/json",
              bench->key);
    name = mem_format("%s.answer", bench->key);
    bench->path = file_join(bench->folder, name);
    free(name);
    *state = bench;
    return 0;
}

static int tear_down(void **state)
{
    struct bench *bench = *state;

    cache_free(bench->cache);
    own_folder_remove(bench->folder);
    free(bench->path);
    free(bench);
    return 0;
}

static void record_fill(struct cache_record *record, const char *key)
{
    memset(record, 0, sizeof *record);
    memcpy(record->key, key, DIGEST_SIZE);
    snprintf(record->etag, sizeof record->etag, "W/\"a\\b\"");
    snprintf(record->last_modified, sizeof record->last_modified,
             "Sun, 08 Mar 2099 14:20:00 GMT");
    snprintf(record->trouble, sizeof record->trouble, "it \"rains\" \xc3\xa0");
    record->deprecated = true;
    record->asked = 4102444800; /* past 2038 */
    record->next = 4102448400;
    record->failures = 3;
    record->fetched = 4102440000;
    record->body = mem_copy_bytes("a\0b\n\nc", 6);
    record->length = 6;
}

static void test_what_is_saved_comes_back(void **state)
{
    struct bench *bench = *state;
    struct cache_record saved, loaded;
    struct stat status;

    record_fill(&saved, bench->key);
    cache_save(bench->cache, &saved);
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_string_equal(saved.etag, loaded.etag);
    assert_string_equal(saved.last_modified, loaded.last_modified);
    assert_string_equal(saved.trouble, loaded.trouble);
    assert_true(loaded.deprecated);
    assert_int_equal(saved.asked, loaded.asked);
    assert_int_equal(saved.next, loaded.next);
    assert_int_equal(saved.fetched, loaded.fetched);
    assert_int_equal(3, loaded.failures);
    assert_int_equal(6, loaded.length);
    assert_memory_equal("a\0b\n\nc", loaded.body, 6);
    assert_int_equal(0, stat(bench->path, &status));
    assert_int_equal(0600, status.st_mode & 0777);
    cache_record_free(&saved);
    cache_record_free(&loaded);
}

static void test_no_body_and_an_empty_one_differ(void **state)
{
    struct bench *bench = *state;
    struct cache_record saved, loaded;

    record_fill(&saved, bench->key);
    saved.length = 0;
    cache_save(bench->cache, &saved);
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_non_null(loaded.body);
    assert_int_equal(0, loaded.length);
    cache_record_free(&loaded);
    cache_record_free(&saved);
    record_fill(&saved, bench->key);
    free(saved.body);
    saved.body = NULL;
    saved.length = 0;
    cache_save(bench->cache, &saved);
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_null(loaded.body);
    cache_record_free(&loaded);
}

static void assert_empty(struct bench *bench, size_t max_bytes)
{
    struct cache_record loaded;

    cache_load(bench->cache, bench->key, max_bytes, &loaded);
    assert_string_equal(bench->key, loaded.key);
    assert_null(loaded.body);
    assert_int_equal(0, loaded.asked);
    assert_int_equal(0, loaded.next);
    assert_string_equal("", loaded.etag);
    assert_string_equal("", loaded.trouble);
    cache_record_free(&loaded);
}

static void test_unknown_address(void **state)
{
    assert_empty(*state, MAX);
}

/* Every byte counts: one changed, one less, one more, and it is not used. */
static void test_damaged_files_are_not_used(void **state)
{
    struct bench *bench = *state;
    struct cache_record saved;
    char *bytes = NULL;
    size_t length = 0;

    record_fill(&saved, bench->key);
    cache_save(bench->cache, &saved);
    cache_record_free(&saved);
    assert_int_equal(0, file_read(bench->path, MAX, &bytes, &length, NULL));
    log_set_level(LOG_LEVEL_ERROR);
    for (size_t i = 0; i < length; i += 7) {
        bytes[i] ^= 1;
        file_write_whole(bench->path, bytes, length, 0600, NULL);
        assert_empty(bench, MAX);
        bytes[i] ^= 1;
    }
    for (size_t i = 0; i < length; i += 13) {
        file_write_whole(bench->path, bytes, i, 0600, NULL);
        assert_empty(bench, MAX);
    }
    file_write_whole(bench->path, bytes, length + 1, 0600, NULL);
    assert_empty(bench, MAX);
    log_set_level(LOG_LEVEL_WARN);
    free(bytes);
}

/* A whole file with a good digest that belongs to another address. */
static void test_a_file_under_another_name_is_not_used(void **state)
{
    struct bench *bench = *state;
    struct cache_record saved;
    char other[DIGEST_SIZE], *name, *path;

    cache_key("https://example.org/other", NULL, other);
    record_fill(&saved, other);
    cache_save(bench->cache, &saved);
    cache_record_free(&saved);
    name = mem_format("%s.answer", other);
    path = file_join(bench->folder, name);
    assert_int_equal(0, rename(path, bench->path));
    assert_empty(bench, MAX);
    free(name);
    free(path);
}

static void test_larger_than_allowed_is_not_used(void **state)
{
    struct bench *bench = *state;
    struct cache_record saved;

    record_fill(&saved, bench->key);
    free(saved.body);
    saved.length = 100000;
    saved.body = mem_alloc(saved.length + 1, 1);
    cache_save(bench->cache, &saved);
    cache_record_free(&saved);
    assert_empty(bench, 1000);
}

/* A folder in the file's place stands for a disk that takes nothing. */
static void test_unwritten_records_stay_in_memory(void **state)
{
    struct bench *bench = *state;
    struct cache_record saved, loaded;

    assert_int_equal(0, mkdir(bench->path, 0700));
    record_fill(&saved, bench->key);
    cache_save(bench->cache, &saved);
    saved.failures = 4;
    cache_save(bench->cache, &saved);
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_int_equal(4, loaded.failures);
    assert_int_equal(6, loaded.length);
    assert_memory_equal("a\0b\n\nc", loaded.body, 6);
    cache_record_free(&loaded);
    assert_int_equal(0, rmdir(bench->path));
    saved.failures = 5;
    cache_save(bench->cache, &saved);
    cache_record_free(&saved);
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_int_equal(5, loaded.failures);
    cache_record_free(&loaded);
    assert_true(file_exists(bench->path));
}

static void test_key_and_name_hide_the_address(void **state)
{
    struct bench *bench = *state;
    struct cache_record saved;
    char other[DIGEST_SIZE], *bytes = NULL;
    size_t length = 0;

    cache_key("https://example.org/?apikey=word", "text/plain", other);
    assert_string_not_equal(bench->key, other);
    record_fill(&saved, bench->key);
    cache_save(bench->cache, &saved);
    cache_record_free(&saved);
    assert_int_equal(0, file_read(bench->path, MAX, &bytes, &length, NULL));
    assert_null(strstr(bytes, "apikey"));
    assert_null(strstr(bench->path, "word"));
    free(bytes);
}

static void age(const char *path, time_t written)
{
    struct timespec times[2] = {{.tv_sec = written}, {.tv_sec = written}};

    assert_int_equal(0, utimensat(AT_FDCWD, path, times, 0));
}

static void test_what_nobody_asks_for_goes(void **state)
{
    struct bench *bench = *state;
    char *seed = file_join(bench->folder, "seed");
    struct cache_record saved, loaded;

    record_fill(&saved, bench->key);
    cache_save(bench->cache, &saved);
    assert_int_equal(0, file_write_whole(seed, "x", 1, 0600, NULL));
    age(bench->path, 1000000);
    age(seed, 1000000);
    assert_int_equal(0, cache_prune(bench->cache, 1000000));
    assert_true(file_exists(bench->path));
    assert_int_equal(1, cache_prune(bench->cache, 1000001));
    assert_false(file_exists(bench->path));
    assert_int_equal(0, unlink(seed));
    free(seed);
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_int_equal(0, loaded.asked);
    cache_record_free(&loaded);
    /* Asked again, it is young. */
    cache_save(bench->cache, &saved);
    cache_record_free(&saved);
    assert_int_equal(0, cache_prune(bench->cache, 1000001));
    assert_true(file_exists(bench->path));
}

/* As version 1 wrote it: one digest over all. */
static void test_an_older_file_is_read(void **state)
{
    struct bench *bench = *state;
    char *rest = mem_format("{\"version\":1,\"key\":\"%s\",\"etag\":\"e\","
                            "\"last_modified\":\"\",\"deprecated\":false,"
                            "\"asked\":1000,\"next\":2000,\"failures\":1,"
                            "\"trouble\":\"\",\"fetched\":900,"
                            "\"held\":true}\nbody",
                            bench->key);
    struct cache_record loaded;
    char digest[DIGEST_SIZE], *whole;

    digest_hex(rest, strlen(rest), digest);
    whole = mem_format("%s\n%s", digest, rest);
    assert_int_equal(
        0, file_write_whole(bench->path, whole, strlen(whole), 0600, NULL));
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_int_equal(2000, loaded.next);
    assert_int_equal(900, loaded.fetched);
    assert_false(loaded.issued_known);
    assert_string_equal("body", loaded.body);
    /* Its head takes another form: it is written whole. */
    loaded.next = 3000;
    cache_save_head(bench->cache, &loaded);
    cache_record_free(&loaded);
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_int_equal(3000, loaded.next);
    assert_string_equal("body", loaded.body);
    cache_record_free(&loaded);
    free(whole);
    free(rest);
}

static ino_t inode(const char *path)
{
    struct stat status;

    assert_int_equal(0, stat(path, &status));
    return status.st_ino;
}

static void test_a_head_is_written_in_its_place(void **state)
{
    struct bench *bench = *state;
    struct cache_record saved, loaded;
    ino_t before;

    record_fill(&saved, bench->key);
    saved.issued_known = true;
    saved.issued = 4102430000;
    cache_save(bench->cache, &saved);
    cache_record_free(&saved);
    before = inode(bench->path);
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_true(loaded.issued_known);
    assert_int_equal(4102430000, loaded.issued);
    loaded.failures = 9;
    loaded.trouble[0] = '\0';
    cache_save_head(bench->cache, &loaded);
    cache_record_free(&loaded);
    assert_int_equal(before, inode(bench->path));
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_int_equal(9, loaded.failures);
    assert_string_equal("", loaded.trouble);
    assert_memory_equal("a\0b\n\nc", loaded.body, 6);
    /* A longer one than the file has room for. */
    memset(loaded.trouble, '\1', sizeof loaded.trouble - 1);
    cache_save_head(bench->cache, &loaded);
    cache_record_free(&loaded);
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_int_equal(sizeof loaded.trouble - 1, strlen(loaded.trouble));
    assert_memory_equal("a\0b\n\nc", loaded.body, 6);
    cache_record_free(&loaded);
}

/* Whoever has put another file there meanwhile gets no head into it. */
static void test_a_head_goes_into_its_own_file_alone(void **state)
{
    struct bench *bench = *state;
    struct cache_record saved, loaded;

    record_fill(&saved, bench->key);
    cache_save(bench->cache, &saved);
    assert_int_equal(0, file_write_whole(bench->path, "x", 1, 0600, NULL));
    saved.failures = 7;
    cache_save_head(bench->cache, &saved);
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_int_equal(7, loaded.failures);
    assert_memory_equal("a\0b\n\nc", loaded.body, 6);
    cache_record_free(&loaded);
    assert_int_equal(0, unlink(bench->path));
    cache_save_head(bench->cache, &saved);
    cache_record_free(&saved);
    cache_load(bench->cache, bench->key, MAX, &loaded);
    assert_int_equal(7, loaded.failures);
    cache_record_free(&loaded);
}

static void test_folder_is_made(void **state)
{
    struct bench *bench = *state;
    char *deep = file_join(bench->folder, "a/b");
    char *above = file_join(bench->folder, "a");
    struct cache *cache = cache_open(deep, NULL);
    struct error err = {""};

    assert_non_null(cache);
    cache_free(cache);
    assert_null(cache_open("/dev/null/x", &err));
    assert_string_not_equal("", err.text);
    rmdir(deep);
    rmdir(above);
    free(deep);
    free(above);
}

#define BENCH_TEST(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH_TEST(test_what_is_saved_comes_back),
        BENCH_TEST(test_no_body_and_an_empty_one_differ),
        BENCH_TEST(test_unknown_address),
        BENCH_TEST(test_damaged_files_are_not_used),
        BENCH_TEST(test_a_file_under_another_name_is_not_used),
        BENCH_TEST(test_larger_than_allowed_is_not_used),
        BENCH_TEST(test_unwritten_records_stay_in_memory),
        BENCH_TEST(test_key_and_name_hide_the_address),
        BENCH_TEST(test_what_nobody_asks_for_goes),
        BENCH_TEST(test_an_older_file_is_read),
        BENCH_TEST(test_a_head_is_written_in_its_place),
        BENCH_TEST(test_a_head_goes_into_its_own_file_alone),
        BENCH_TEST(test_folder_is_made),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
