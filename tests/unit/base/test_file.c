#include <dirent.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "own_folder.h"
#include "unit_test.h"

static char folder[OWN_FOLDER_SIZE];
static struct error err;

static int make_folder(void **state)
{
    (void)state;
    own_folder_make(folder, "file");
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    own_folder_remove(folder);
    return 0;
}

static int count_files(void)
{
    DIR *dir = opendir(folder);
    int count = 0;
    struct dirent *entry;
    while ((entry = readdir(dir)))
        if (entry->d_name[0] != '.')
            count++;
    closedir(dir);
    return count;
}

static void assert_holds(const char *path, const char *expected)
{
    char *bytes = NULL;
    size_t length;
    if (file_read(path, 1 << 20, &bytes, &length, &err) != 0)
        fail_msg("%s", err.text);
    assert_int_equal((int)strlen(expected), (int)length);
    assert_string_equal(expected, bytes);
    free(bytes);
}

static void written_whole_and_read_back(void **state)
{
    (void)state;
    char *path = file_join(folder, "a.json");
    assert_int_equal(0, file_write_whole(path, "first", 5, 0644, &err));
    assert_int_equal(0, file_write_whole(path, "second", 6, 0640, &err));
    assert_holds(path, "second");
    struct stat status;
    assert_int_equal(0, stat(path, &status));
    assert_int_equal(0640, status.st_mode & 07777);
    assert_int_equal(1, count_files());
    unlink(path);
    free(path);
}

static void unchanged_file_is_left_alone(void **state)
{
    (void)state;
    char *path = file_join(folder, "b.json");
    bool changed = false;
    struct stat before, after;
    assert_int_equal(0, file_write_changed(path, "x", 1, 0644, &changed, &err));
    assert_true(changed);
    stat(path, &before);
    assert_int_equal(0, file_write_changed(path, "x", 1, 0644, &changed, &err));
    assert_false(changed);
    stat(path, &after);
    assert_true(before.st_ino == after.st_ino);
    assert_int_equal(0,
                     file_write_changed(path, "xy", 2, 0644, &changed, &err));
    assert_true(changed);
    assert_int_equal(0, file_write_changed(path, "x", 1, 0644, NULL, &err));
    assert_holds(path, "x");
    unlink(path);
    free(path);
}

static void loose_files_are_whole_too(void **state)
{
    char *path = file_join(folder, "d.json");

    (void)state;
    assert_int_equal(0, file_write_whole(path, "y", 1, 0644, &err));
    assert_int_equal(0, file_write_loose(path, "zz", 2, 0600, &err));
    assert_holds(path, "zz");
    unlink(path);
    free(path);
}

/* The disk is full, as far as this process can tell: RLIMIT_FSIZE. */
static void failed_write_leaves_the_old_file(void **state)
{
    (void)state;
    char *path = file_join(folder, "c.json");
    static char large[100000];
    memset(large, 'x', sizeof large);
    assert_int_equal(0, file_write_whole(path, "old", 3, 0644, &err));
    struct rlimit old, small;
    getrlimit(RLIMIT_FSIZE, &old);
    small = old;
    small.rlim_cur = 4096;
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(0, setrlimit(RLIMIT_FSIZE, &small));
    int result = file_write_whole(path, large, sizeof large, 0644, &err);
    setrlimit(RLIMIT_FSIZE, &old);
    assert_int_equal(-1, result);
    assert_non_null(strstr(err.text, path));
    assert_non_null(strstr(err.text, "large"));
    assert_holds(path, "old");
    assert_int_equal(1, count_files());
    unlink(path);
    free(path);
}

/* A folder in the way of the rename: the temporary file is removed. */
static void failed_rename_leaves_no_rest(void **state)
{
    (void)state;
    char *path = file_join(folder, "in-the-way");
    assert_int_equal(0, mkdir(path, 0755));
    assert_int_equal(-1, file_write_whole(path, "x", 1, 0644, &err));
    assert_int_equal(1, count_files());
    rmdir(path);
    free(path);
    path = file_join(folder, "nowhere/x");
    assert_int_equal(-1, file_write_whole(path, "x", 1, 0644, &err));
    assert_non_null(strstr(err.text, "nowhere/x"));
    free(path);
}

static void too_large_is_refused(void **state)
{
    (void)state;
    char *path = file_join(folder, "d");
    char *bytes;
    size_t length;
    file_write_whole(path, "12345", 5, 0644, &err);
    assert_int_equal(0, file_read(path, 5, &bytes, &length, &err));
    free(bytes);
    assert_int_equal(-1, file_read(path, 4, &bytes, &length, &err));
    assert_null(bytes);
    assert_non_null(strstr(err.text, "4 bytes"));
    unlink(path);
    free(path);
}

static void large_file_is_read_whole(void **state)
{
    (void)state;
    char *path = file_join(folder, "e"), *bytes = NULL;
    size_t size = 3000001, length = 0;
    char *large = mem_alloc(size, 1);
    for (size_t i = 0; i < size; i++)
        large[i] = (char)(i * 7);
    assert_int_equal(0, file_write_whole(path, large, size, 0644, &err));
    assert_int_equal(0, file_read(path, size, &bytes, &length, &err));
    assert_true(length == size && memcmp(bytes, large, size) == 0);
    assert_int_equal(0, bytes[size]);
    free(bytes);
    free(large);
    unlink(path);
    free(path);
}

static void only_regular_files_are_read(void **state)
{
    (void)state;
    char *bytes, *path = file_join(folder, "pipe");
    size_t length;
    assert_int_equal(-1, file_read(folder, 100, &bytes, &length, &err));
    assert_non_null(strstr(err.text, "not a regular file"));
    assert_int_equal(0, mkfifo(path, 0600));
    assert_int_equal(-1, file_read(path, 100, &bytes, &length, &err));
    unlink(path);
    assert_int_equal(-1, file_read(path, 100, &bytes, &length, &err));
    assert_non_null(strstr(err.text, "No such file"));
    free(path);
}

static void folders_are_made(void **state)
{
    (void)state;
    char *path = file_join(folder, "one/two/three/");
    assert_int_equal(0, file_make_folder(path, 0755, &err));
    assert_true(file_exists(path));
    assert_int_equal(0, file_make_folder(path, 0755, &err));
    free(path);
    path = file_join(folder, "plain");
    file_write_whole(path, "", 0, 0644, &err);
    assert_int_equal(-1, file_make_folder(path, 0755, &err));
    assert_non_null(strstr(err.text, "plain"));
    unlink(path);
    free(path);
}

static void put(const char *name)
{
    char *path = file_join(folder, name);
    assert_int_equal(0, file_write_whole(path, "x", 1, 0644, &err));
    free(path);
}

/* What a killed process left half written goes; all else stays. */
static void half_written_files_are_swept(void **state)
{
    static const char *const stay[] = {"page.html", "page.new-",
                                       "x.new-1234567", "news", ".new"};
    (void)state;
    int before = count_files();
    put("page.html.new-aB3dE6");
    put("calendar.ics.new-000000");
    for (size_t i = 0; i < sizeof stay / sizeof stay[0]; i++)
        put(stay[i]);
    file_sweep(folder);
    for (size_t i = 0; i < sizeof stay / sizeof stay[0]; i++) {
        char *path = file_join(folder, stay[i]);
        assert_int_equal(0, unlink(path));
        free(path);
    }
    assert_int_equal(before, count_files());
    file_sweep("/nowhere/at/all");
}

static void join_has_one_slash(void **state)
{
    (void)state;
    char *path = file_join("a/", "b");
    assert_string_equal("a/b", path);
    free(path);
    path = file_join("a", "b");
    assert_string_equal("a/b", path);
    free(path);
}

static void data_is_found(void **state)
{
    (void)state;
    assert_int_equal(0, file_make_folder(folder, 0755, &err));
    char *path = file_join(folder, "own-data.txt");
    file_write_whole(path, "x", 1, 0644, &err);
    assert_null(file_find_data("own-data.txt", &err));
    assert_non_null(strstr(err.text, "THAWBELL_DATA"));
    setenv("THAWBELL_DATA", folder, 1);
    char *found = file_find_data("own-data.txt", &err);
    assert_string_equal(path, found);
    free(found);
    unsetenv("THAWBELL_DATA");
    unlink(path);
    free(path);
    found = file_find_data("src/base/file.h", &err);
    assert_non_null(found);
    free(found);
}

/* Who starts a program without standard input is told so. */
static void closed_standard_input_is_an_error(void **state)
{
    int saved = dup(STDIN_FILENO), result;
    char *bytes = NULL;
    size_t length;

    (void)state;
    assert_true(saved >= 0);
    close(STDIN_FILENO);
    err.text[0] = '\0';
    result = file_read("-", 100, &bytes, &length, &err);
    dup2(saved, STDIN_FILENO);
    close(saved);
    assert_int_equal(-1, result);
    assert_string_equal("-: cannot be read: Bad file descriptor", err.text);
}

/* It may well be there: no one who may not enter can say that it is not. */
static void a_folder_in_a_closed_one(void **state)
{
    (void)state;
    char *above = file_join(folder, "closed"),
         *path = file_join(above, "state");
    assert_int_equal(0, file_make_folder(path, 0755, &err));
    assert_int_equal(0, chmod(above, 0));
    if (geteuid() == 0)
        assert_int_equal(0, chmod(folder, 0755) | seteuid(65534));
    int result = file_make_folder(path, 0755, &err);
    if (getuid() == 0)
        assert_int_equal(0, seteuid(0));
    char *told = mem_format("%s: cannot be used: this user may not enter %s",
                            path, above);
    assert_int_equal(-1, result);
    assert_string_equal(told, err.text);
    assert_int_equal(0, chmod(above, 0755));
    free(told);
    free(path);
    free(above);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(written_whole_and_read_back),
        cmocka_unit_test(unchanged_file_is_left_alone),
        cmocka_unit_test(failed_write_leaves_the_old_file),
        cmocka_unit_test(failed_rename_leaves_no_rest),
        cmocka_unit_test(too_large_is_refused),
        cmocka_unit_test(large_file_is_read_whole),
        cmocka_unit_test(only_regular_files_are_read),
        cmocka_unit_test(loose_files_are_whole_too),
        cmocka_unit_test(folders_are_made),
        cmocka_unit_test(half_written_files_are_swept),
        cmocka_unit_test(join_has_one_slash),
        cmocka_unit_test(data_is_found),
        cmocka_unit_test(closed_standard_input_is_an_error),
        cmocka_unit_test(a_folder_in_a_closed_one),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
