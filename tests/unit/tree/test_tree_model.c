#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "tree/form.h"
#include "unit_test.h"

static struct error err;

static void every_species_and_method_loads(void **state)
{
    (void)state;
    char first[DIGEST_SIZE] = "";
    for (int s = 0; s < SPECIES_COUNT; s++)
        for (int g = 0; g < GATHERING_COUNT; g++) {
            struct tree_model *model;
            if (tree_model_load(PROJECT_DIR "/models", (enum species)s,
                                (enum gathering)g, &model, &err) != 0)
                fail_msg("%s", err.text);
            assert_true(strlen(tree_model_name(model)) > 0);
            assert_true(strlen(tree_model_version(model)) > 0);
            assert_int_equal(64, (int)strlen(tree_model_digest(model)));
            assert_string_not_equal(first, tree_model_digest(model));
            memcpy(first, tree_model_digest(model), DIGEST_SIZE);
            tree_model_free(model);
        }
}

static void program_finds_its_own_models(void **state)
{
    (void)state;
    struct tree_model *model;
    if (tree_model_load(NULL, SPECIES_RED_MAPLE, GATHERING_BUCKETS, &model,
                        &err) != 0)
        fail_msg("%s", err.text);
    tree_model_free(model);
    tree_model_free(NULL);
}

/* A folder of models with one change: in FILE, the first OLD becomes NEW. */
struct folder {
    char path[40];
};

static void copy_models(struct folder *folder, const char *file,
                        const char *old, const char *new)
{
    static const char *const names[] = {"two-node.json", "sap-sugar-maple.json",
                                        "gathering-buckets.json"};
    snprintf(folder->path, sizeof folder->path, "/tmp/thawbell-models-XXXXXX");
    assert_non_null(mkdtemp(folder->path));
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char *bytes, *from = file_join(PROJECT_DIR "/models", names[i]);
        char *to = file_join(folder->path, names[i]);
        size_t length;
        assert_int_equal(0, file_read(from, 1 << 20, &bytes, &length, &err));
        char *at = strcmp(names[i], file) == 0 ? strstr(bytes, old) : NULL;
        char *changed = NULL;
        if (at) {
            *at = '\0';
            changed = mem_format("%s%s%s", bytes, new, at + strlen(old));
        }
        const char *words = changed ? changed : bytes;
        assert_true(at || strcmp(names[i], file) != 0);
        assert_int_equal(
            0, file_write_whole(to, words, strlen(words), 0644, &err));
        free(changed);
        free(bytes);
        free(from);
        free(to);
    }
}

static void remove_models(const struct folder *folder)
{
    static const char *const names[] = {"two-node.json", "sap-sugar-maple.json",
                                        "gathering-buckets.json"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char *path = file_join(folder->path, names[i]);
        unlink(path);
        free(path);
    }
    assert_int_equal(0, rmdir(folder->path));
}

static int load(const struct folder *folder, struct tree_model **model)
{
    return tree_model_load_form(folder->path, "two-node", SPECIES_SUGAR_MAPLE,
                                GATHERING_BUCKETS, model, &err);
}

static void refused(const char *file, const char *old, const char *new,
                    const char *key)
{
    struct folder folder;
    struct tree_model *model;
    copy_models(&folder, file, old, new);
    err.text[0] = '\0';
    if (load(&folder, &model) == 0)
        fail_msg("%s for %s was taken", new, old);
    assert_null(model);
    if (!strstr(err.text, file) || !strstr(err.text, key))
        fail_msg("the sentence is \"%s\"", err.text);
    remove_models(&folder);
}

static void bad_files_name_file_and_key(void **state)
{
    (void)state;
    const char *form = "two-node.json";
    refused(form, "\"store_time_h\"", "\"stoer_time_h\"", "stoer_time_h");
    refused(form, "\"value\": 15", "\"value\": 2000", "store_time_h");
    refused(form, "\"value\": 15", "\"value\": \"15\"", "store_time_h");
    refused(form, "\"unit\": \"h\"", "\"unit\": \"min\"", "store_time_h");
    refused(form, "\"max\":", "\"maximum\":", "maximum");
    refused(form, "\"leak_per_h\"", "\"branch_rate_per_h\"", "leak_per_h");
    refused(form, "\"source\": \"assumed\"", "\"source\": \"\"", "source");
    refused(form, "\"version\"", "\"edition\"", "edition");
    refused(form, "\"numbers\"", "\"values\"", "values");
    refused(form, "{", "{{", "JSON");
    refused("gathering-buckets.json", "\"fall_kpa_per_m\"", "\"fall\"", "fall");
    refused("sap-sugar-maple.json", "\"volume_share\"", "\"share\"", "share");
}

static void digest_follows_the_numbers(void **state)
{
    (void)state;
    struct folder folder;
    struct tree_model *one, *other;
    copy_models(&folder, "", "", "");
    assert_int_equal(0, load(&folder, &one));
    remove_models(&folder);
    copy_models(&folder, "two-node.json", "\"value\": 15", "\"value\": 16");
    assert_int_equal(0, load(&folder, &other));
    assert_string_not_equal(tree_model_digest(one), tree_model_digest(other));
    tree_model_free(one);
    tree_model_free(other);
    remove_models(&folder);
}

static void unknown_form_is_refused(void **state)
{
    (void)state;
    struct tree_model *model;
    assert_int_equal(-1,
                     tree_model_load_form(PROJECT_DIR "/models", "../two-node",
                                          SPECIES_SUGAR_MAPLE,
                                          GATHERING_BUCKETS, &model, &err));
    assert_non_null(strstr(err.text, "\"../two-node\" is no form"));
    assert_int_equal(-1, tree_model_load("/nonexistent", SPECIES_SUGAR_MAPLE,
                                         GATHERING_BUCKETS, &model, &err));
    assert_non_null(strstr(err.text, "/nonexistent/sap-sugar-maple.json"));
}

static void suction_of_pump_and_fall(void **state)
{
    (void)state;
    struct tree_gathering gathering = {.fall_kpa_per_m = 9.81,
                                       .suction_max_kpa = 85};
    struct tree_site site = {.gathering = GATHERING_VACUUM, .vacuum_kpa = 50};
    assert_near(tree_suction_kpa(&gathering, &site), 50, 1e-12);
    site.fall_m = 3;
    assert_near(tree_suction_kpa(&gathering, &site), 79.43, 1e-9);
    site.fall_m = 30;
    assert_near(tree_suction_kpa(&gathering, &site), 85, 0);
    site = (struct tree_site){
        .gathering = GATHERING_GRAVITY_TUBING, .vacuum_kpa = 50, .fall_m = -3};
    assert_near(tree_suction_kpa(&gathering, &site), 0, 0);
}

static void taphole_ages_with_warmth_alone(void **state)
{
    (void)state;
    struct tree_gathering gathering = {.warm_from_c = 4, .ageing_per_kkh = 1.5};
    struct tree_site site = {.tapped = true, .tapped_at = 3600};
    struct taphole hole = {0};
    taphole_pass_hour(&hole, &gathering, &site, 0, 20);
    assert_false(hole.open);
    assert_near(taphole_conductance(&hole, &gathering), 1, 0);
    taphole_pass_hour(&hole, &gathering, &site, 3600, 3.9);
    assert_true(hole.open);
    assert_near(taphole_conductance(&hole, &gathering), 1, 0);
    for (int hour = 0; hour < 100; hour++)
        taphole_pass_hour(&hole, &gathering, &site, 7200, 14);
    /* 100 h at 10 K above 4 C are one thousand warm degree-hours. */
    assert_near(taphole_conductance(&hole, &gathering), exp(-1.5), 1e-9);
    site.tapped = false;
    struct taphole fresh = {0};
    taphole_pass_hour(&fresh, &gathering, &site, 0, 30);
    assert_true(fresh.open);
    assert_near(taphole_conductance(&fresh, &gathering), 1, 0);
}

/* Houle et al. 2015, PLoS ONE 10(12):e0144844, +3 C; thresholds of rule A as
 * stated in tree.h. */
static void day_rules(void **state)
{
    (void)state;
    assert_true(day_rule_a_l_per_tap(-1.2, 2.3) > 0);
    assert_near(day_rule_a_l_per_tap(-1.1, 5), 0, 0);
    assert_near(day_rule_a_l_per_tap(-5, 2.2), 0, 0);
    assert_true(day_rule_b_l_per_tap(2.9, 3.1) > 0);
    assert_near(day_rule_b_l_per_tap(3, 9), 0, 0);
    assert_near(day_rule_b_l_per_tap(-9, 3), 0, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_species_and_method_loads),
        cmocka_unit_test(program_finds_its_own_models),
        cmocka_unit_test(bad_files_name_file_and_key),
        cmocka_unit_test(digest_follows_the_numbers),
        cmocka_unit_test(unknown_form_is_refused),
        cmocka_unit_test(suction_of_pump_and_fall),
        cmocka_unit_test(taphole_ages_with_warmth_alone),
        cmocka_unit_test(day_rules),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
