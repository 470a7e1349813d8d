#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "own_folder.h"
#include "texts.h"
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

static char folder[OWN_FOLDER_SIZE];

/* A folder of models with one change: in FILE, the first OLD becomes NEW. */
static void copy_models(const char *file, const char *old, const char *new)
{
    static const char *const names[] = {"two-node.json", "sap-sugar-maple.json",
                                        "gathering-buckets.json"};

    own_folder_make(folder, "models");
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        bool same = strcmp(names[i], file) != 0;
        char *bytes = file_text(PROJECT_DIR "/models", names[i]);
        char *words = same ? mem_copy_text(bytes) : text_with(bytes, old, new);

        file_put_text(folder, names[i], words);
        free(words);
        free(bytes);
    }
}

static int load(struct tree_model **model)
{
    return tree_model_load_form(folder, "two-node", SPECIES_SUGAR_MAPLE,
                                GATHERING_BUCKETS, model, &err);
}

static void refused(const char *file, const char *old, const char *new,
                    const char *key)
{
    struct tree_model *model;
    copy_models(file, old, new);
    err.text[0] = '\0';
    if (load(&model) == 0)
        fail_msg("%s for %s was taken", new, old);
    assert_null(model);
    if (!strstr(err.text, file) || !strstr(err.text, key))
        fail_msg("the sentence is \"%s\"", err.text);
    own_folder_remove(folder);
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
    struct tree_model *one, *other;
    copy_models("", "", "");
    assert_int_equal(0, load(&one));
    own_folder_remove(folder);
    copy_models("two-node.json", "\"value\": 15", "\"value\": 16");
    assert_int_equal(0, load(&other));
    assert_string_not_equal(tree_model_digest(one), tree_model_digest(other));
    tree_model_free(one);
    tree_model_free(other);
    own_folder_remove(folder);
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
