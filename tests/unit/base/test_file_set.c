/* Files put in place together. What flushes is this program's own, which looks
 * at what is in place at that moment, and fails on demand. */
#define _GNU_SOURCE /* syncfs */
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

#include "base/file.h"
#include "base/file_set.h"
#include "base/memory.h"
#include "own_folder.h"
#include "unit_test.h"

static char folder[OWN_FOLDER_SIZE];
static struct error err;

static int file_flushes, folder_flushes, system_flushes;
static int fails_at;            /* of all flushes, from 1; 0: none */
static int changed_at_flush;    /* of a file or of all: must stay 0 */
static int unchanged_at_folder; /* of the folder at the end: must stay 0 */

/* Is the file another than "old"? */
static bool is_changed(const char *name)
{
    char *path = file_join(folder, name), *bytes = NULL;
    size_t length = 0;
    bool changed = file_read(path, 1 << 20, &bytes, &length, NULL) == 0 &&
                   strcmp(bytes, "old") != 0;

    free(path);
    free(bytes);
    return changed;
}

static int refuse_or(long call, int fd)
{
    if (file_flushes + folder_flushes + system_flushes != fails_at)
        return (int)syscall(call, fd);
    errno = EIO;
    return -1;
}

int fsync(int fd)
{
    struct stat status;

    assert_int_equal(0, fstat(fd, &status));
    if (S_ISDIR(status.st_mode)) {
        folder_flushes++;
        unchanged_at_folder += !is_changed("a");
    } else {
        file_flushes++;
        changed_at_flush += is_changed("a") + is_changed("b");
    }
    return refuse_or(SYS_fsync, fd);
}

int syncfs(int fd)
{
    system_flushes++;
    changed_at_flush += is_changed("a") + is_changed("b");
    return refuse_or(SYS_syncfs, fd);
}

static void count_anew(int fail)
{
    file_flushes = folder_flushes = system_flushes = 0;
    changed_at_flush = unchanged_at_folder = 0;
    fails_at = fail;
}

static char *path_of(const char *name)
{
    return file_join(folder, name);
}

static void lay(const char *name, const char *bytes)
{
    char *path = path_of(name);

    assert_int_equal(0,
                     file_write_whole(path, bytes, strlen(bytes), 0644, &err));
    free(path);
}

static void assert_holds(const char *name, const char *expected)
{
    char *path = path_of(name), *bytes = NULL;
    size_t length;

    if (file_read(path, 1 << 20, &bytes, &length, &err) != 0)
        fail_msg("%s", err.text);
    assert_string_equal(expected, bytes);
    free(bytes);
    free(path);
}

static void take_away(const char *name)
{
    char *path = path_of(name);

    assert_int_equal(0, unlink(path));
    free(path);
}

static bool is_there(const char *name)
{
    char *path = path_of(name);
    bool there = access(path, F_OK) == 0;

    free(path);
    return there;
}

static struct stat look(const char *name)
{
    struct stat status = {0};
    char *path = path_of(name);

    assert_int_equal(0, lstat(path, &status));
    free(path);
    return status;
}

/* As if it had been put aside an hour ago. */
static void age(const char *name)
{
    const struct timespec at[] = {{.tv_sec = time(NULL) - 3600},
                                  {.tv_sec = time(NULL) - 3600}};
    char *path = path_of(name);

    assert_int_equal(0, utimensat(AT_FDCWD, path, at, 0));
    free(path);
}

/* What is neither published nor kept to be written into. */
static void assert_no_parts(void)
{
    char *command = mem_format("! ls -A '%s' | grep -q 'new-'", folder);

    assert_int_equal(0, system(command));
    free(command);
}

static int set_up(void **state)
{
    (void)state;
    own_folder_make(folder, "set");
    lay("a", "old");
    lay("b", "old");
    count_anew(0);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    own_folder_remove(folder);
    return 0;
}

static struct file_set *begin(enum file_set_flush flush)
{
    struct file_set *set = file_set_begin(folder, flush, &err);

    if (set == NULL)
        fail_msg("%s", err.text);
    return set;
}

static void put(struct file_set *set, const char *name, const char *bytes)
{
    file_set_put(set, name, bytes, strlen(bytes), 0644);
}

static void publish(enum file_set_flush flush, const char *a, const char *b)
{
    struct file_set *set = begin(flush);

    put(set, "a", a);
    put(set, "b", b);
    assert_int_equal(0, file_set_settle(set, &err));
    assert_int_equal(0, file_set_look(set, "a", &err));
    assert_int_equal(0, file_set_look(set, "b", &err));
    file_set_free(set);
    assert_holds("a", a);
    assert_holds("b", b);
}

static void test_the_old_before_the_new_after(void **state)
{
    (void)state;
    for (int flush = FILE_SET_EACH; flush <= FILE_SET_FILE_SYSTEM; flush++) {
        struct file_set *set = begin((enum file_set_flush)flush);

        lay("a", "old");
        lay("b", "old");
        count_anew(0);
        put(set, "a", "new");
        put(set, "b", "newer");
        put(set, "c", "first");
        assert_holds("a", "old");
        assert_false(is_there("c"));
        assert_int_equal(0, file_set_settle(set, &err));
        assert_int_equal(3, file_set_count(set));
        file_set_free(set);
        assert_holds("a", "new");
        assert_holds("b", "newer");
        assert_holds("c", "first");
        assert_holds(".a.old", "old");
        assert_int_equal(0644, look("c").st_mode & 07777);
        assert_int_equal(0, changed_at_flush);
        assert_int_equal(0, unchanged_at_folder);
        assert_int_equal(flush == FILE_SET_EACH ? 3 : 0, file_flushes);
        assert_int_equal(flush == FILE_SET_EACH ? 1 : 0, folder_flushes);
        assert_int_equal(flush == FILE_SET_EACH ? 0 : 1, system_flushes);
        assert_no_parts();
        take_away("c");
    }
}

static void test_unchanged_is_left_alone(void **state)
{
    struct file_set *set = begin(FILE_SET_FILE_SYSTEM);
    ino_t before = look("a").st_ino;

    (void)state;
    put(set, "a", "old");
    assert_int_equal(0, file_set_settle(set, &err));
    assert_int_equal(0, system_flushes);
    assert_int_equal(0, file_set_count(set));
    file_set_free(set);
    set = begin(FILE_SET_EACH);
    put(set, "a", "old");
    put(set, "b", "new");
    assert_int_equal(0, file_set_settle(set, &err));
    assert_int_equal(1, file_flushes);
    assert_int_equal(1, file_set_count(set));
    assert_int_equal(0, file_set_look(set, "a", &err));
    file_set_free(set);
    assert_true(before == look("a").st_ino);
    assert_holds("b", "new");
}

static void not_flushed(enum file_set_flush flush, int fail)
{
    struct file_set *set = begin(flush);

    put(set, "a", "new");
    put(set, "b", "newer");
    count_anew(fail);
    err.text[0] = '\0';
    assert_int_equal(-1, file_set_settle(set, &err));
    assert_non_null(strstr(err.text, folder));
    assert_non_null(strstr(err.text, "Input/output error"));
    assert_int_equal(0, file_set_count(set));
    assert_int_equal(-1, file_set_look(set, "a", &err));
    assert_int_equal(-1, file_set_look(set, "b", &err));
    assert_non_null(strstr(err.text, folder));
    file_set_free(set);
    assert_holds("a", "old");
    assert_holds("b", "old");
    assert_false(is_there(".a.old"));
    assert_no_parts();
}

static void test_what_cannot_be_flushed_is_not_put_in_place(void **state)
{
    (void)state;
    not_flushed(FILE_SET_EACH, 1);
    not_flushed(FILE_SET_EACH, 2);
    not_flushed(FILE_SET_FILE_SYSTEM, 1);
    count_anew(0);
    publish(FILE_SET_FILE_SYSTEM, "one", "one");
    publish(FILE_SET_FILE_SYSTEM, "old", "old");
    age(".a.old");
    not_flushed(FILE_SET_FILE_SYSTEM, 1);
}

static void test_a_folder_not_flushed_has_the_new_files(void **state)
{
    struct file_set *set = begin(FILE_SET_EACH);

    (void)state;
    put(set, "a", "new");
    count_anew(2);
    assert_int_equal(-1, file_set_settle(set, &err));
    assert_non_null(strstr(err.text, folder));
    assert_int_equal(1, file_set_count(set));
    assert_int_equal(0, file_set_look(set, "a", &err));
    file_set_free(set);
    assert_holds("a", "new");
}

/* The disk is full for the larger ones, as far as this process can tell. Two
 * of them fail for one reason: one sentence, which names the folder. */
static void put_too_large(enum file_set_flush flush, bool two)
{
    struct file_set *set = begin(flush);
    char *words = mem_format("%s%s: cannot be written: File too large", folder,
                             two ? "" : "/a");
    static char large[100000];
    struct rlimit old, small;

    memset(large, 'x', sizeof large - 1);
    lay("b", "old");
    getrlimit(RLIMIT_FSIZE, &old);
    small = old;
    small.rlim_cur = 4096;
    assert_int_equal(0, setrlimit(RLIMIT_FSIZE, &small));
    put(set, "a", large);
    put(set, "b", "new");
    if (two)
        put(set, "c", large);
    assert_int_equal(two ? -1 : 0, file_set_settle(set, &err));
    setrlimit(RLIMIT_FSIZE, &old);
    assert_true(!two || strcmp(words, err.text) == 0);
    assert_int_equal(1, file_set_count(set));
    assert_int_equal(-1, file_set_look(set, "a", &err));
    assert_string_equal(words, err.text);
    assert_int_equal(two ? -1 : 0, file_set_look(set, "c", &err));
    assert_string_equal(words, err.text);
    assert_int_equal(0, file_set_look(set, "b", &err));
    file_set_free(set);
    free(words);
    assert_holds("a", "old");
    assert_holds("b", "new");
    assert_false(is_there("c"));
    assert_no_parts();
}

static void test_those_that_fail_leave_the_others(void **state)
{
    (void)state;
    signal(SIGXFSZ, SIG_IGN);
    for (int flush = FILE_SET_EACH; flush <= FILE_SET_FILE_SYSTEM; flush++) {
        put_too_large((enum file_set_flush)flush, false);
        put_too_large((enum file_set_flush)flush, true);
    }
}

static void test_no_folder(void **state)
{
    char *missing = path_of("missing"), *file = path_of("a");

    (void)state;
    assert_null(file_set_begin(missing, FILE_SET_EACH, &err));
    assert_non_null(strstr(err.text, missing));
    assert_null(file_set_begin(file, FILE_SET_FILE_SYSTEM, &err));
    assert_non_null(strstr(err.text, file));
    free(missing);
    free(file);
}

static void test_given_up_leaves_nothing(void **state)
{
    struct file_set *set = begin(FILE_SET_EACH);

    (void)state;
    put(set, "a", "new");
    file_set_free(set);
    file_set_free(NULL);
    assert_holds("a", "old");
    assert_no_parts();
}

/* Whoever opened a file that is published reads on in that one, and nothing is
 * written into it for some minutes. */
static void test_the_file_before_is_kept(void **state)
{
    char read_on[8] = "", *path = path_of("a");
    FILE *reader = fopen(path, "r");

    (void)state;
    assert_non_null(reader);
    publish(FILE_SET_FILE_SYSTEM, "second", "second");
    assert_holds(".a.old", "old");
    publish(FILE_SET_FILE_SYSTEM, "third", "third");
    assert_holds(".a.old", "second");
    assert_non_null(fgets(read_on, sizeof read_on, reader));
    assert_string_equal("old", read_on);
    fclose(reader);
    free(path);
}

static void test_the_file_before_is_written_into(void **state)
{
    (void)state;
    for (int flush = FILE_SET_EACH; flush <= FILE_SET_FILE_SYSTEM; flush++) {
        struct file_set *set;
        ino_t published, spare;

        publish((enum file_set_flush)flush, "the first", "first");
        publish((enum file_set_flush)flush, "second", "second");
        published = look("a").st_ino;
        spare = look(".a.old").st_ino;
        age(".a.old");
        set = begin((enum file_set_flush)flush);
        file_set_put(set, "a", "third", 5, 0600);
        assert_holds("a", "second");
        assert_int_equal(0, file_set_settle(set, &err));
        file_set_free(set);
        assert_holds("a", "third");
        assert_holds(".a.old", "second");
        assert_int_equal(0600, look("a").st_mode & 07777);
        assert_true(look("a").st_ino == spare);
        assert_true(look(".a.old").st_ino == published);
        assert_true(look(".a.old").st_mtime >= time(NULL) - 60);
    }
}

/* Somebody's copy by a hard link, and a link, are not written into. */
static void test_a_spare_of_others_is_left(void **state)
{
    char *spare = path_of(".a.old"), *other = path_of("other");

    (void)state;
    publish(FILE_SET_FILE_SYSTEM, "second", "second");
    assert_int_equal(0, link(spare, other));
    age(".a.old");
    publish(FILE_SET_FILE_SYSTEM, "third", "third");
    assert_holds("other", "old");
    assert_int_equal(0, unlink(spare));
    assert_int_equal(0, symlink(other, spare));
    age("other");
    publish(FILE_SET_FILE_SYSTEM, "fourth", "fourth");
    assert_holds("other", "old");
    assert_holds(".a.old", "third");
    free(spare);
    free(other);
}

/* A link in the place of a file gives way, what it points at stays; a folder
 * does not. */
static void test_what_is_in_the_way(void **state)
{
    char *a = path_of("a"), *b = path_of("b"), *other = path_of("other");

    (void)state;
    publish(FILE_SET_EACH, "second", "second");
    for (int flush = FILE_SET_EACH; flush <= FILE_SET_FILE_SYSTEM; flush++) {
        struct file_set *set = begin((enum file_set_flush)flush);

        lay("other", "theirs");
        unlink(a);
        unlink(b);
        assert_int_equal(0, symlink(other, a));
        assert_int_equal(0, mkdir(b, 0755));
        age(".a.old");
        put(set, "b", "third");
        put(set, "a", "third");
        assert_int_equal(0, file_set_settle(set, &err));
        assert_int_equal(1, file_set_count(set));
        assert_int_equal(-1, file_set_look(set, "b", &err));
        assert_non_null(strstr(err.text, b));
        file_set_free(set);
        assert_holds("a", "third");
        assert_true(S_ISREG(look("a").st_mode));
        assert_holds("other", "theirs");
        assert_int_equal(0, rmdir(b));
        assert_no_parts();
        publish((enum file_set_flush)flush, "fourth", "fourth");
    }
    free(a);
    free(b);
    free(other);
}

#define ROW(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(test_the_old_before_the_new_after),
        ROW(test_unchanged_is_left_alone),
        ROW(test_what_cannot_be_flushed_is_not_put_in_place),
        ROW(test_a_folder_not_flushed_has_the_new_files),
        ROW(test_those_that_fail_leave_the_others),
        ROW(test_no_folder),
        ROW(test_given_up_leaves_nothing),
        ROW(test_the_file_before_is_kept),
        ROW(test_the_file_before_is_written_into),
        ROW(test_a_spare_of_others_is_left),
        ROW(test_what_is_in_the_way),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
