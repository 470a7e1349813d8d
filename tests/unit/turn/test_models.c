/* Models are read once, and anew when a file has changed. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "own_folder.h"
#include "texts.h"
#include "turn/models.h"

static const utc_s NOW = 1772710200;

struct bench {
    char folder[OWN_FOLDER_SIZE];
    struct turn_models *models;
};

static int set_up(void **state)
{
    struct bench *bench = mem_alloc(1, sizeof *bench);

    own_folder_make(bench->folder, "models");
    bench->models = turn_models_new();
    *state = bench;
    return 0;
}

static int tear_down(void **state)
{
    struct bench *bench = *state;

    turn_models_free(bench->models);
    own_folder_remove(bench->folder);
    free(bench);
    return 0;
}

/* The program's own file with other words in the place of some. */
static void put_file(const struct bench *bench, const char *name,
                     const char *old, const char *new)
{
    char *bytes = file_text(PROJECT_DIR "/models", name);
    char *changed = text_with(bytes, old, new);

    file_put_text(bench->folder, name, changed);
    free(changed);
    free(bytes);
}

static const struct tree_model *tree(struct bench *bench, utc_s now,
                                     const char *folder)
{
    return turn_models_tree(bench->models, now, folder, SPECIES_SUGAR_MAPLE,
                            GATHERING_BUCKETS, NULL);
}

static const struct season_model *season(struct bench *bench, utc_s now,
                                         const char *folder)
{
    return turn_models_season(bench->models, now, folder, SPECIES_SUGAR_MAPLE,
                              NULL);
}

static void test_each_is_read_once(void **state)
{
    struct bench *bench = *state;
    const struct tree_model *sugar = tree(bench, NOW, NULL);
    const struct season_model *buds = season(bench, NOW, NULL);
    const struct tree_model *red = turn_models_tree(
        bench->models, NOW, NULL, SPECIES_RED_MAPLE, GATHERING_BUCKETS, NULL);

    assert_non_null(sugar);
    assert_non_null(buds);
    assert_non_null(red);
    assert_ptr_not_equal(sugar, red);
    for (int i = 0; i < 3; i++) {
        assert_ptr_equal(tree(bench, NOW + i, NULL), sugar);
        assert_ptr_equal(season(bench, NOW + i, NULL), buds);
    }
    assert_int_equal(buds->species, SPECIES_SUGAR_MAPLE);
}

/* A folder of one's own, whose file changes, and the program's own stays. */
static void test_a_changed_file_is_read_anew(void **state)
{
    struct bench *bench = *state;

    put_file(bench, "stem.json", "\"version\": \"", "\"version\": \"a");
    assert_int_equal(tree_model_version(tree(bench, NOW, bench->folder))[0],
                     'a');
    assert_int_not_equal(tree_model_version(tree(bench, NOW, NULL))[0], 'a');
    put_file(bench, "stem.json", "\"version\": \"", "\"version\": \"b");
    assert_int_equal(tree_model_version(tree(bench, NOW + 1, bench->folder))[0],
                     'b');
    assert_int_not_equal(tree_model_version(tree(bench, NOW + 1, NULL))[0],
                         'b');
    /* One that comes goes before the program's own. */
    put_file(bench, "buds-sugar-maple.json", "\"version\": \"",
             "\"version\": \"c");
    assert_int_equal(season(bench, NOW + 2, bench->folder)->version[0], 'c');
}

static void test_one_that_is_wrong_is_told_until_it_is_mended(void **state)
{
    struct bench *bench = *state;
    struct error err = {""};

    put_file(bench, "season.json", "\"version\"", "\"virsion\"");
    for (int i = 0; i < 2; i++) {
        err.text[0] = '\0';
        assert_null(turn_models_season(bench->models, NOW, bench->folder,
                                       SPECIES_SUGAR_MAPLE, &err));
        assert_non_null(strstr(err.text, "virsion"));
    }
    assert_non_null(tree(bench, NOW, bench->folder));
    put_file(bench, "season.json", "\"version\"", "\"version\"");
    assert_non_null(season(bench, NOW + 1, bench->folder));
}

/* More folders than are kept. */
static void test_many_folders(void **state)
{
    struct bench *bench = *state;

    for (int i = 0; i < 200; i++) {
        char *folder = mem_format("%s/%d", bench->folder, i % 100);

        assert_int_equal(file_make_folder(folder, 0755, NULL), 0);
        assert_non_null(tree(bench, NOW + i, folder));
        assert_non_null(season(bench, NOW + i, folder));
        free(folder);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_each_is_read_once, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_a_changed_file_is_read_anew,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(
            test_one_that_is_wrong_is_told_until_it_is_mended, set_up,
            tear_down),
        cmocka_unit_test_setup_teardown(test_many_folders, set_up, tear_down),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
