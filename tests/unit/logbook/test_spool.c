/* The spool: what is written is found, what is bad is told and set aside,
 * what is not ours is left alone. */
#include "unit_test.h"

#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "logbook/spool.h"
#include "logbook_bench.h"
#include "own_folder.h"

struct bench {
    char folder[OWN_FOLDER_SIZE];
    char *spool;
};

static int set_up(void **state)
{
    struct bench *bench = mem_alloc(1, sizeof *bench);

    own_folder_make(bench->folder, "spool");
    bench->spool = file_join(bench->folder, "spool");
    *state = bench;
    return 0;
}

static int tear_down(void **state)
{
    struct bench *bench = *state;

    own_folder_remove(bench->folder);
    free(bench->spool);
    free(bench);
    return 0;
}

static void put(const struct bench *bench, const char *operation,
                const char *uid)
{
    struct log_record record = bench_collected(uid, "north", BENCH_NOW, 5);
    struct logbook book = {0};
    struct error err = {""};

    record.number = 77;
    assert_true(logbook_add(&book, &record));
    if (spool_write(bench->spool, operation, &book, &err) != 0)
        fail_msg("%s", err.text);
    logbook_free(&book);
}

static void put_bytes(const struct bench *bench, const char *name,
                      const char *bytes)
{
    char *path = file_join(bench->spool, name);

    assert_int_equal(file_write_whole(path, bytes, strlen(bytes), 0600, NULL),
                     0);
    free(path);
}

static struct spool look(const struct bench *bench)
{
    struct spool spool;
    struct error err = {""};

    if (spool_read(bench->spool, "bend", &spool, &err) != 0)
        fail_msg("%s", err.text);
    return spool;
}

static void test_no_folder_is_an_empty_spool(void **state)
{
    struct spool spool = look(*state);

    assert_int_equal(spool.count, 0);
    spool_free(&spool);
}

static void test_written_and_found_in_order(void **state)
{
    struct bench *bench = *state;
    struct stat status;
    struct spool spool;

    put(bench, "bend", "20260306T2");
    put(bench, "bend", "20260306T1");
    put(bench, "bend-north", "20260306T0"); /* another operation's */
    spool = look(bench);
    assert_int_equal(spool.count, 2);
    assert_string_equal(spool.files[0].records.records[0].uid, "20260306T1");
    assert_true(spool.files[0].records.records[0].waiting);
    /* A number is not the writer's to give. */
    assert_int_equal(spool.files[0].records.records[0].number, 0);
    /* The folder's group may read it. */
    assert_int_equal(stat(spool.files[0].path, &status), 0);
    assert_int_equal(status.st_mode & 0777, 0660);
    assert_int_equal(spool_remove(&spool.files[0], NULL), 0);
    assert_int_equal(spool_remove(&spool.files[0], NULL), 0); /* is gone */
    spool_free(&spool);
    spool = look(bench);
    assert_int_equal(spool.count, 1);
    spool_free(&spool);
}

static void test_bad_is_set_aside(void **state)
{
    struct bench *bench = *state;
    struct spool spool;
    char *aside = NULL;

    put(bench, "bend", "good");
    put_bytes(bench, "bend.bad1.json", "{\"version\":1,");
    put_bytes(bench, "bend.half.json.new-a1b2c3", "{"); /* being written */
    put_bytes(bench, "readme.txt", "not ours");
    spool = look(bench);
    assert_int_equal(spool.count, 2);
    assert_true(spool.files[0].bad);
    assert_non_null(strstr(spool.files[0].trouble.text, "bend.bad1.json"));
    assert_false(spool.files[1].bad);
    assert_int_equal(spool_set_aside(&spool.files[0], &aside, NULL), 0);
    assert_true(file_exists(aside));
    free(aside);
    spool_free(&spool);
    spool = look(bench);
    assert_int_equal(spool.count, 1);
    spool_free(&spool);
}

/* A group may write there: links, pipes and folders are not opened. */
static void test_what_is_no_file(void **state)
{
    struct bench *bench = *state;
    char *link_path, *pipe_path, *folder_path;
    struct spool spool;

    put(bench, "bend", "zgood");
    link_path = file_join(bench->spool, "bend.a.json");
    pipe_path = file_join(bench->spool, "bend.b.json");
    folder_path = file_join(bench->spool, "bend.c.json");
    assert_int_equal(symlink("/etc/passwd", link_path), 0);
    assert_int_equal(mkfifo(pipe_path, 0600), 0);
    assert_int_equal(mkdir(folder_path, 0700), 0);
    spool = look(bench);
    assert_int_equal(spool.count, 4);
    for (int i = 0; i < 3; i++) {
        assert_true(spool.files[i].bad);
        assert_non_null(
            strstr(spool.files[i].trouble.text, "not a regular file"));
    }
    assert_false(spool.files[3].bad);
    spool_free(&spool);
    free(folder_path);
    free(pipe_path);
    free(link_path);
}

#define ROW(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(test_no_folder_is_an_empty_spool),
        ROW(test_written_and_found_in_order),
        ROW(test_bad_is_set_aside),
        ROW(test_what_is_no_file),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
