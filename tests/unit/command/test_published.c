#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "command/published.h"
#include "fake_bulletin.h"
#include "own_folder.h"
#include "unit_test.h"

struct place {
    char folder[OWN_FOLDER_SIZE];
};

static void write_file(const struct place *place, const char *name,
                       const char *words)
{
    char *path = file_join(place->folder, name);
    struct error err = {""};

    if (file_write_whole(path, words, strlen(words), 0644, &err) != 0)
        fail_msg("%s", err.text);
    free(path);
}

/* A folder of two operations; the first by file name has published. */
static int set_up(void **state)
{
    struct place *place = mem_alloc(1, sizeof *place);
    struct bulletin *bulletin = fake_bulletin();
    char *json = bulletin_to_json(bulletin), *conf, *folder;

    own_folder_make(place->folder, "published");
    conf = mem_format("[operation]\nname = Tamarack Bend\n"
                      "[calendar]\npublish = %s/public\n",
                      place->folder);
    write_file(place, "a.conf", conf);
    free(conf);
    /* Nonsense in another key does not stand in the way. */
    conf = mem_format("[operation]\nname = Érablière du Nord\ncolour = blue\n"
                      "[calendar]\npublish = %s/public\n",
                      place->folder);
    write_file(place, "b.conf", conf);
    free(conf);
    folder = mem_format("%s/public/tamarack-bend", place->folder);
    assert_int_equal(file_make_folder(folder, 0755, NULL), 0);
    free(folder);
    write_file(place, "public/tamarack-bend/bulletin.json", json);
    free(json);
    bulletin_free(bulletin);
    unsetenv("COLUMNS");
    *state = place;
    return 0;
}

static int tear_down(void **state)
{
    struct place *place = *state;

    own_folder_remove(place->folder);
    free(place);
    return 0;
}

static int read_with(const struct place *place, const char *operation,
                     struct published *out)
{
    struct options options = {
        .config = place->folder, .operation = operation, .verbosity = -1};

    return published_read(&options, out);
}

static void the_first_operation_is_taken(void **state)
{
    struct published published;

    assert_int_equal(read_with(*state, NULL, &published), EXIT_DONE);
    assert_string_equal(published.bulletin->operation, "Tamarack Bend");
    assert_int_equal(published.style.columns, 80);
    assert_int_equal(published.style.units, UNITS_US);
    published_free(&published);
}

static void an_operation_is_chosen_by_slug_or_name(void **state)
{
    struct published published;

    assert_int_equal(read_with(*state, "tamarack-bend", &published), EXIT_DONE);
    published_free(&published);
    assert_int_equal(read_with(*state, "tamarack BEND", &published), EXIT_DONE);
    published_free(&published);
    /* The other is there and has not published: failed, not a usage error. */
    assert_int_equal(read_with(*state, "Érablière du Nord", &published),
                     EXIT_FAILED);
    assert_non_null(
        strstr(published.path, "/public/erabliere-du-nord/bulletin.json"));
    published_free(&published);
    assert_int_equal(read_with(*state, "elsewhere", &published), EXIT_USAGE);
    published_free(&published);
}

static void a_broken_file_is_a_failure(void **state)
{
    struct published published;

    write_file(*state, "public/tamarack-bend/bulletin.json", "<html>");
    assert_int_equal(read_with(*state, NULL, &published), EXIT_FAILED);
    published_free(&published);
}

static void without_configuration_it_is_a_usage_error(void **state)
{
    struct published published;
    struct place nowhere = {"/nonexistent/thawbell.conf"};

    (void)state;
    assert_int_equal(read_with(&nowhere, NULL, &published), EXIT_USAGE);
    published_free(&published);
}

static void width_and_units_are_as_told(void **state)
{
    const struct place *place = *state;
    struct published published;
    struct options options = {.config = place->folder,
                              .has_units = true,
                              .units = UNITS_METRIC,
                              .verbosity = -1};

    setenv("COLUMNS", "120", 1);
    assert_int_equal(published_read(&options, &published), EXIT_DONE);
    assert_int_equal(published.style.columns, 120);
    assert_int_equal(published.style.units, UNITS_METRIC);
    published_free(&published);
    setenv("COLUMNS", "7", 1);
    assert_int_equal(published_read(&options, &published), EXIT_DONE);
    assert_int_equal(published.style.columns, 80);
    published_free(&published);
    unsetenv("COLUMNS");
}

static void a_word_that_is_no_day_is_a_usage_error(void **state)
{
    const struct place *place = *state;
    struct options options = {.config = place->folder,
                              .has_at = true,
                              .at = FAKE_MADE,
                              .words = {"someday"},
                              .word_count = 1,
                              .verbosity = -1};

    assert_int_equal(command_why(&options), EXIT_USAGE);
    options.words[0] = "2026-07-01";
    assert_int_equal(command_why(&options), EXIT_FAILED);
    options.words[0] = "tomorrow";
    assert_int_equal(command_why(&options), EXIT_DONE);
    options.json = true;
    assert_int_equal(command_why(&options), EXIT_DONE);
    options.words[0] = "2026-07-01";
    assert_int_equal(command_why(&options), EXIT_FAILED);
}

static void line_and_week_print(void **state)
{
    const struct place *place = *state;
    struct options options = {.config = place->folder,
                              .has_at = true,
                              .at = FAKE_MADE,
                              .verbosity = -1};

    assert_int_equal(command_line(&options), EXIT_DONE);
    assert_int_equal(command_week(&options), EXIT_DONE);
    options.json = true;
    assert_int_equal(command_line(&options), EXIT_DONE);
    assert_int_equal(command_week(&options), EXIT_DONE);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(the_first_operation_is_taken),
        TEST(an_operation_is_chosen_by_slug_or_name),
        TEST(a_broken_file_is_a_failure),
        TEST(without_configuration_it_is_a_usage_error),
        TEST(width_and_units_are_as_told),
        TEST(a_word_that_is_no_day_is_a_usage_error),
        TEST(line_and_week_print),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
