/* Where configurations are found and things are kept; names of folders. */
#include <sys/stat.h>

#include "base/memory.h"
#include "config/slug.h"
#include "config_file.h"

static char root[200];

static int places_setup(void **state)
{
    if (file_setup(state) || !getcwd(root, sizeof root))
        return -1;
    return setenv("HOME", root, 1);
}

static int places_teardown(void **state)
{
    (void)state;
    static const char *const made[] = {".config/thawbell/b.conf",
                                       ".config/thawbell/a.conf",
                                       ".config/thawbell/.c.conf",
                                       ".config/thawbell/note.txt",
                                       ".config/thawbell",
                                       ".config",
                                       "empty"};
    for (size_t i = 0; i < sizeof made / sizeof made[0]; i++)
        remove(made[i]);
    return rmdir(root);
}

static void touch(const char *path)
{
    assert_int_equal(file_write_whole(path, "", 0, 0600, NULL), 0);
}

static void personal_files_in_order(void **state)
{
    (void)state;
    char **files;
    int count;
    struct error err = {""};
    assert_int_equal(file_make_folder(".config/thawbell", 0700, &err), 0);
    touch(".config/thawbell/b.conf");
    touch(".config/thawbell/a.conf");
    touch(".config/thawbell/.c.conf");
    touch(".config/thawbell/note.txt");
    unsetenv("XDG_CONFIG_HOME");
    assert_int_equal(config_find(NULL, &files, &count, &err), 0);
    assert_int_equal(count, 2);
    char *expected = mem_format("%s/.config/thawbell/a.conf", root);
    assert_string_equal(files[0], expected);
    assert_non_null(strstr(files[1], "/b.conf"));
    config_files_free(files, count);
    free(expected);
    /* The XDG variable is obeyed, a relative one is not (basedir-spec). */
    char *base = mem_format("%s/.config", root);
    setenv("XDG_CONFIG_HOME", base, 1);
    assert_int_equal(config_find(NULL, &files, &count, &err), 0);
    assert_int_equal(count, 2);
    config_files_free(files, count);
    setenv("XDG_CONFIG_HOME", "elsewhere", 1);
    assert_int_equal(config_find(NULL, &files, &count, &err), 0);
    assert_int_equal(count, 2);
    config_files_free(files, count);
    unsetenv("XDG_CONFIG_HOME");
    free(base);
}

static void told_file_or_folder(void **state)
{
    (void)state;
    char **files;
    int count;
    struct error err = {""};
    assert_int_equal(config_find("x/y.conf", &files, &count, &err), 0);
    assert_int_equal(count, 1);
    assert_string_equal(files[0], "x/y.conf");
    config_files_free(files, count);
    assert_int_equal(config_find(".config/thawbell", &files, &count, &err), 0);
    assert_int_equal(count, 2);
    config_files_free(files, count);
    assert_int_equal(mkdir("empty", 0700), 0);
    assert_int_equal(config_find("empty", &files, &count, &err), -1);
    assert_string_equal(err.text, "empty: there is no *.conf in this folder");
}

static void none_at_all(void **state)
{
    (void)state;
    char **files;
    int count;
    struct error err = {""};
    if (file_exists("/etc/thawbell"))
        skip();
    setenv("XDG_CONFIG_HOME", "/nowhere", 1);
    assert_int_equal(config_find(NULL, &files, &count, &err), -1);
    unsetenv("XDG_CONFIG_HOME");
    assert_string_equal(err.text,
                        "no configuration: there is no *.conf in "
                        "/nowhere/thawbell, nor in /etc/thawbell. \"thawbell "
                        "check --example\" prints one to start from");
}

static void expect_folder(char *folder, const char *expected)
{
    assert_string_equal(folder, expected);
    free(folder);
}

static void folders(void **state)
{
    (void)state;
    struct config config = {.path = (char[]){"/home/ann/x.conf"},
                            .slug = (char[]){"bend"}};
    char *personal = mem_format("%s/.local/state/thawbell", root);
    char *public = mem_format("%s/public/bend", personal);
    unsetenv("STATE_DIRECTORY");
    unsetenv("XDG_STATE_HOME");
    expect_folder(config_state_folder(&config), personal);
    expect_folder(config_publish_folder(&config), public);
    setenv("XDG_STATE_HOME", "/s", 1);
    expect_folder(config_state_folder(&config), "/s/thawbell");
    expect_folder(config_spool_folder(&config), "/s/thawbell/spool");
    config.path = (char[]){"/etc/thawbell2/x.conf"};
    expect_folder(config_state_folder(&config), "/s/thawbell");
    config.path = (char[]){"/etc/thawbell/x.conf"};
    expect_folder(config_state_folder(&config), "/var/lib/thawbell");
    expect_folder(config_spool_folder(&config), "/var/spool/thawbell");
    setenv("STATE_DIRECTORY", "/managed:/other", 1);
    expect_folder(config_state_folder(&config), "/managed");
    config.publish.folder = (char[]){"/srv"};
    expect_folder(config_publish_folder(&config), "/srv/bend");
    /* The client finds the daemon's spool without the daemon's variables. */
    expect_folder(config_spool_folder(&config), "/var/spool/thawbell");
    config.path = (char[]){"/home/ann/x.conf"};
    expect_folder(config_spool_folder(&config), "/s/thawbell/spool");
    config.spool = (char[]){"/srv/notes"};
    expect_folder(config_spool_folder(&config), "/srv/notes");
    unsetenv("STATE_DIRECTORY");
    unsetenv("XDG_STATE_HOME");
    free(personal);
    free(public);
}

static void paths_in_a_file(void **state)
{
    (void)state;
    char *home = mem_format("%s/x", root);
    expect_folder(path_resolve("/etc/t.conf", "~/x"), home);
    expect_folder(path_resolve("/etc/t.conf", "/a/b"), "/a/b");
    expect_folder(path_resolve("/etc/t.conf", "a/b"), "/etc/a/b");
    expect_folder(path_resolve("t.conf", "a/b"), "a/b");
    free(home);
}

static void slugs(void **state)
{
    (void)state;
    expect_folder(slug_from_name("Tamarack Bend"), "tamarack-bend");
    expect_folder(slug_from_name(" --A  &  B--"), "a-b");
    expect_folder(slug_from_name("\xC3\x89rabli\xC3\xA8re \xC3\x97 3"),
                  "erabliere-3");
    expect_folder(slug_from_name("../../etc"), "etc");
    expect_folder(slug_from_name("\xE6\xA5\x93"), "operation");
    expect_folder(
        slug_from_name("0123456789012345678901234567890123456789"
                       "0123456789012345678- and more"),
        "01234567890123456789012345678901234567890123456789012345678");
}

static void two_of_one_name(void **state)
{
    (void)state;
    struct config a = {.path = (char[]){"a.conf"},
                       .name = (char[]){"Tamarack Bend"},
                       .slug = (char[]){"tamarack-bend"}};
    struct config b = a;
    struct config *const both[] = {&a, &b};
    struct error_list errors = {0};
    b.path = (char[]){"b.conf"};
    b.name = (char[]){"Tamarack-Bend"};
    assert_int_equal(config_check_together(both, 2, &errors), 1);
    assert_string_equal(errors.items[0],
                        "b.conf:1: the name \"Tamarack-Bend\" is too like "
                        "that of a.conf; two operations need two names");
    error_list_free(&errors);
    b.slug = (char[]){"other"};
    assert_int_equal(config_check_together(both, 2, &errors), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(personal_files_in_order),
        cmocka_unit_test(told_file_or_folder),
        cmocka_unit_test(none_at_all),
        cmocka_unit_test(folders),
        cmocka_unit_test(paths_in_a_file),
        cmocka_unit_test(slugs),
        cmocka_unit_test(two_of_one_name),
    };
    return cmocka_run_group_tests(tests, places_setup, places_teardown);
}
