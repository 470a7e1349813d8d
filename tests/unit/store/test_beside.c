/* A store in trouble, looked at from outside: what can be read of it, whether
 * it can be opened, and copies that cannot be written. */
#include <signal.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "store/care.h"
#include "store_bench.h"

static int set_up_noted(void **state)
{
    struct bench *bench;

    set_up(state);
    bench = *state;
    assert_int_equal(
        store_put_note(bench->store, "bend", "name", "value", NULL), 0);
    return 0;
}

/* The first page of the table, in the file of a store that is closed. */
static void spoil_table(struct bench *bench, const char *table)
{
    char *sql =
        mem_format("SELECT rootpage FROM sqlite_schema WHERE name='%s'", table);
    long page = bench_number(bench, sql);
    FILE *file;

    free(sql);
    bench_close(bench);
    file = fopen(bench->path, "r+b");
    assert_non_null(file);
    assert_int_equal(fseek(file, (page - 1) * 4096, SEEK_SET), 0);
    for (int i = 0; i < 4096; i++)
        fputc(0xA5, file);
    fclose(file);
}

static void an_export_of_a_damaged_store_is_what_can_be_read(void **state)
{
    struct bench *bench = *state;
    char bytes[4096] = "";
    FILE *out = tmpfile();
    struct error err = {""};

    assert_non_null(out);
    spoil_table(bench, "event");
    assert_int_equal(store_export(bench->path, out, &err), -1);
    assert_non_null(strstr(err.text, bench->path));
    assert_non_null(strstr(err.text, "table event cannot be read whole: "));
    rewind(out);
    assert_true(fread(bytes, 1, sizeof bytes - 1, out) > 0);
    assert_non_null(strstr(bytes, "{\"table\":\"note\""));
    fclose(out);
}

static void touch(const struct bench *bench, const char *ending)
{
    char *path = mem_format("%s%s", bench->path, ending);

    assert_int_equal(file_write_whole(path, "x", 1, 0600, NULL), 0);
    free(path);
}

static void what_was_set_aside_is_listed(void **state)
{
    struct bench *bench = *state;
    struct error_list list = {NULL, 0};

    store_set_aside_list(bench->path, &list);
    assert_int_equal(list.count, 0);
    touch(bench, ".damaged-1772717400");
    touch(bench, ".damaged-1772717400-wal");
    touch(bench, ".damaged-999");
    touch(bench, ".damaged-");
    touch(bench, ".copy");
    store_set_aside_list(bench->path, &list);
    assert_int_equal(list.count, 2);
    assert_non_null(strstr(list.items[0], "thawbell.db.damaged-999: "));
    assert_non_null(strstr(list.items[0], "at 1970-01-01T00:16:39Z;"));
    assert_non_null(strstr(list.items[1], "thawbell.db.damaged-1772717400: "));
    assert_non_null(strstr(list.items[1], "at 2026-03-05T13:30:00Z;"));
    error_list_free(&list);
    store_set_aside_list("/nowhere/at/all/thawbell.db", &list);
    assert_int_equal(list.count, 0);
}

/* As the daemon says it. */
static void same_words(const struct bench *bench, const char *words)
{
    struct error tried = {""}, opened = {""}, looked = {""};
    struct error_list facts = {NULL, 0}, found = {NULL, 0};
    struct store *store;
    char *warning;

    assert_int_equal(store_try(bench->path, &tried), -1);
    assert_non_null(strstr(tried.text, words));
    assert_int_equal(store_open(bench->path, NOW, &store, &warning, &opened),
                     -1);
    assert_string_equal(tried.text, opened.text);
    if (store_inspect(bench->path, &facts, &found, &looked) != 0)
        assert_string_equal(tried.text, looked.text);
    error_list_free(&facts);
    error_list_free(&found);
}

static void one_that_cannot_be_opened(void **state)
{
    static const char no_database[] = "This is no database, and never was one.";
    struct bench *bench = *state;
    struct error err = {""};

    assert_int_equal(store_try(bench->path, &err), 0);
    assert_int_equal(store_try(bench->copy, &err), 0);
    assert_false(file_exists(bench->copy));
    bench_sql(bench, "PRAGMA user_version=99");
    bench_close(bench);
    same_words(bench, "written by a newer thawbell");
    unlink(bench->path);
    assert_int_equal(mkdir(bench->path, 0700), 0);
    same_words(bench,
               "thawbell.db: the database cannot be used: Is a directory");
    rmdir(bench->path);
    assert_int_equal(file_write_whole(bench->path, no_database,
                                      sizeof no_database, 0600, NULL),
                     0);
    /* It is not set aside. */
    for (int i = 0; i < 2; i++) {
        assert_int_equal(store_try(bench->path, &err), -1);
        assert_non_null(
            strstr(err.text, "thawbell.db: the database is damaged"));
    }
    assert_true(file_exists(bench->path));
}

/* No file may grow beyond so much, as on a disk that is full. */
static void limit_files(rlim_t bytes)
{
    struct rlimit limit;

    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
    limit.rlim_cur = bytes < limit.rlim_max ? bytes : limit.rlim_max;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

static void a_copy_that_cannot_be_written_is_named(void **state)
{
    struct bench *bench = *state;
    char *told =
        mem_format("%s: cannot be written: File too large", bench->copy);
    struct error backup = {""}, export = {""};
    int results;

    limit_files(64);
    results = store_backup(bench->path, bench->copy, &backup) +
              store_export_file(bench->path, bench->copy, &export);
    limit_files(RLIM_INFINITY);
    assert_int_equal(results, -2);
    assert_string_equal(backup.text, told);
    assert_string_equal(export.text, told);
    assert_false(file_exists(bench->copy));
    free(told);
}

static void an_output_that_is_full(void **state)
{
    struct bench *bench = *state;
    FILE *out = fopen("/dev/full", "w");
    struct error err = {""};

    assert_non_null(out);
    setvbuf(out, NULL, _IONBF, 0);
    assert_int_equal(store_export(bench->path, out, &err), -1);
    assert_string_equal(err.text, "the output cannot be written: No space left "
                                  "on device");
    fclose(out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(
            an_export_of_a_damaged_store_is_what_can_be_read, set_up_noted,
            tear_down),
        cmocka_unit_test_setup_teardown(what_was_set_aside_is_listed,
                                        set_up_noted, tear_down),
        cmocka_unit_test_setup_teardown(one_that_cannot_be_opened, set_up_noted,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_copy_that_cannot_be_written_is_named,
                                        set_up_noted, tear_down),
        cmocka_unit_test_setup_teardown(an_output_that_is_full, set_up_noted,
                                        tear_down),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
