/* `thawbell fit`: what it learns from, and the files it writes. */
#include "unit_test.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"
#include "base/memory.h"
#include "command/fit.h"
#include "logbook/log_json.h"
#include "own_folder.h"
#include "texts.h"

struct bench {
    char folder[OWN_FOLDER_SIZE];
    struct tree_model *model;
    struct fit fit;
    struct fit_target target;
};

static int set_up(void **state)
{
    static const double values[TREE_NUMBER_COUNT] = {0.53687, 19.1234, 1.2};
    struct bench *bench = mem_alloc(1, sizeof *bench);
    struct fit_bounds bounds[TREE_NUMBER_COUNT];
    struct error err = {""};

    own_folder_make(bench->folder, "fit");
    if (tree_model_load(NULL, SPECIES_RED_MAPLE, GATHERING_GRAVITY_TUBING,
                        &bench->model, &err) != 0 ||
        fit_bounds_read(bench->model, SPECIES_RED_MAPLE,
                        GATHERING_GRAVITY_TUBING, bounds, &err) != 0)
        fail_msg("%s", err.text);
    bench->fit.rows = 20;
    bench->fit.enough = true;
    for (int i = 0; i < TREE_NUMBER_COUNT; i++)
        bench->fit.numbers[i] = (struct fit_number){
            .prior = tree_model_number(bench->model, (enum tree_number)i),
            .min = bounds[i].min,
            .max = bounds[i].max,
            .value = values[i],
            .log_sd = 0.2,
            .own_weight = 0.75};
    bench->target = (struct fit_target){.folder = bench->folder,
                                        .model = bench->model,
                                        .species = SPECIES_RED_MAPLE,
                                        .gathering = GATHERING_GRAVITY_TUBING,
                                        .first = {2026, 3, 1},
                                        .last = {2026, 4, 2}};
    *state = bench;
    return 0;
}

static int tear_down(void **state)
{
    struct bench *bench = *state;

    tree_model_free(bench->model);
    own_folder_remove(bench->folder);
    free(bench);
    return 0;
}

static int write_it(const struct bench *bench, struct text *told,
                    struct error *err)
{
    text_init(told, 10000);
    err->text[0] = '\0';
    return fit_write(&bench->fit, &bench->target, told, err);
}

static void what_is_written_is_read(void **state)
{
    struct bench *bench = *state;
    struct tree_model *model;
    struct error err;
    struct text told;
    char *bytes;

    if (write_it(bench, &told, &err) != 0)
        fail_msg("%s", err.text);
    assert_non_null(strstr(told.bytes, "sap-red-maple.json: volume_share is "
                                       "0.5369 now, was "));
    assert_non_null(strstr(told.bytes, "gathering-gravity-tubing.json"));
    assert_int_equal(tree_model_load(bench->folder, SPECIES_RED_MAPLE,
                                     GATHERING_GRAVITY_TUBING, &model, &err),
                     0);
    assert_near(tree_model_number(model, TREE_VOLUME_SHARE), 0.5369, 1e-9);
    assert_near(tree_model_number(model, TREE_STORE_TIME_H), 19.12, 1e-9);
    assert_near(tree_model_number(model, TREE_AGEING_PER_KKH), 1.2, 1e-9);
    assert_non_null(strstr(tree_model_version(model), "+fit"));
    assert_string_not_equal(tree_model_digest(model),
                            tree_model_digest(bench->model));
    tree_model_free(model);
    bytes = file_text(bench->folder, "stem.json");
    assert_non_null(strstr(bytes, "20 collections from 2026-03-01 to "
                                  "2026-04-02, which weigh 75 %"));
    free(bytes);
    /* A species whose files are not there is the program's. */
    assert_int_equal(tree_model_load(bench->folder, SPECIES_SUGAR_MAPLE,
                                     GATHERING_BUCKETS, &model, &err),
                     0);
    assert_near(tree_model_number(model, TREE_VOLUME_SHARE), 1, 1e-9);
    tree_model_free(model);
    text_free(&told);
}

/* One file that is there stops all, and stays as it is. */
static void nothing_is_overwritten_by_surprise(void **state)
{
    static const char own[] = "mine";
    struct bench *bench = *state;
    char *path = file_join(bench->folder, "stem.json"), *bytes;
    char *other = file_join(bench->folder, "sap-red-maple.json");
    struct error err;
    struct text told;

    assert_int_equal(file_write_whole(path, own, 4, 0644, &err), 0);
    assert_int_equal(write_it(bench, &told, &err), -1);
    assert_non_null(strstr(err.text, "stem.json is there already"));
    assert_non_null(strstr(err.text, "--replace"));
    assert_string_equal(told.bytes, "");
    assert_false(file_exists(other));
    bytes = file_text(bench->folder, "stem.json");
    assert_string_equal(bytes, own);
    free(bytes);
    text_free(&told);
    /* With leave to replace, a file that is none is still refused. */
    bench->target.replace = true;
    assert_int_equal(write_it(bench, &told, &err), -1);
    assert_non_null(strstr(err.text, "stem.json"));
    text_free(&told);
    free(other);
    free(path);
}

/* A second fit changes what was fitted and leaves what is one's own. */
static void replacing_keeps_the_other_numbers(void **state)
{
    struct bench *bench = *state;
    char *path = file_join(bench->folder, "gathering-gravity-tubing.json");
    struct tree_model *model;
    char *bytes, *at;
    struct error err;
    struct text told;

    assert_int_equal(write_it(bench, &told, &err), 0);
    text_free(&told);
    bytes = file_text(bench->folder, "gathering-gravity-tubing.json");
    at = strstr(strstr(bytes, "tap_spread"), "0.6");
    assert_non_null(at);
    memcpy(at, "0.7", 3);
    assert_int_equal(file_write_whole(path, bytes, strlen(bytes), 0644, &err),
                     0);
    free(bytes);
    bench->fit.numbers[TREE_AGEING_PER_KKH].value = 0.8;
    bench->target.replace = true;
    assert_int_equal(write_it(bench, &told, &err), 0);
    assert_non_null(strstr(told.bytes, "ageing_per_kkh is 0.8 now, was 1.2"));
    text_free(&told);
    bytes = file_text(bench->folder, "gathering-gravity-tubing.json");
    assert_non_null(strstr(strstr(bytes, "tap_spread"), "0.7"));
    assert_null(strstr(bytes, "+fit+fit"));
    free(bytes);
    assert_int_equal(tree_model_load(bench->folder, SPECIES_RED_MAPLE,
                                     GATHERING_GRAVITY_TUBING, &model, &err),
                     0);
    assert_near(tree_model_number(model, TREE_AGEING_PER_KKH), 0.8, 1e-9);
    tree_model_free(model);
    free(path);
}

static void equal_fits_give_equal_bytes(void **state)
{
    struct bench *bench = *state;
    char *first, *second;
    struct error err;
    struct text told;

    bench->target.replace = true;
    assert_int_equal(write_it(bench, &told, &err), 0);
    text_free(&told);
    first = file_text(bench->folder, "stem.json");
    assert_int_equal(write_it(bench, &told, &err), 0);
    text_free(&told);
    second = file_text(bench->folder, "stem.json");
    assert_string_equal(first, second);
    free(first);
    free(second);
}

/* A value that rounding would carry over its bound stays within. */
static void numbers_stay_within_their_bounds(void **state)
{
    struct bench *bench = *state;
    struct fit_number *number = &bench->fit.numbers[TREE_STORE_TIME_H];
    struct error err;
    struct text told;

    number->value = number->max = 199.97;
    assert_int_equal(write_it(bench, &told, &err), 0);
    assert_non_null(strstr(told.bytes, "store_time_h is 200 now"));
    text_free(&told);
    number->value = 250;
    bench->target.replace = true;
    number->max = 200;
    assert_int_equal(write_it(bench, &told, &err), 0);
    assert_non_null(strstr(told.bytes, "store_time_h is 200 now"));
    text_free(&told);
}

static void a_file_is_cut_into_seasons(void **state)
{
    static const struct replay_collection collections[] = {
        {.date = {2025, 3, 10}, .sap_l = 10},
        {.date = {2025, 3, 12}, .sap_l = 20},
        {.date = {2026, 3, 4}, .sap_l = 30},
        {.date = {2026, 3, 5}, .sap_l = 40},
    };
    struct replay_setting setting = {.offset_s = -5 * 3600,
                                     .collected_at_s = 13 * 3600,
                                     .has_tapped = true,
                                     .tapped = {2026, 2, 20}};
    struct fit_log log;

    (void)state;
    fit_log_from_collections(collections, 4, &setting, &log);
    assert_int_equal(log.season_count, 2);
    assert_int_equal(log.count, 4);
    assert_int_equal(log.years[1], 2026);
    /* 9 March 2025 and 20 February 2026, 12:00 at -05:00. */
    assert_int_equal(log.tapped_at[0], 1741539600);
    assert_int_equal(log.tapped_at[1], 1771606800);
    assert_int_equal(log.rows[0].from, log.tapped_at[0]);
    assert_int_equal(log.rows[1].from, log.rows[0].to);
    assert_int_equal(log.rows[2].from, log.tapped_at[1]);
    assert_int_equal(log.rows[2].season, 1);
    assert_int_equal(log.rows[3].from, log.rows[2].to);
    assert_int_equal(log.rows[3].to - log.rows[3].from, 86400);
    fit_log_free(&log);
}

static void add_note(struct logbook *book, enum log_kind kind, const char *bush,
                     utc_s at, double sap_l)
{
    struct log_record record = {.written = at};

    log_uid_make(at, (uint64_t)book->count, record.uid);
    record.note.kind = kind;
    record.note.at = at;
    record.note.has[LOG_SAP_L] = sap_l > 0;
    record.note.figure[LOG_SAP_L] = sap_l;
    snprintf(record.note.bush, sizeof record.note.bush, "%s", bush);
    assert_true(logbook_add(book, &record));
}

static char *write_config(const struct bench *bench)
{
    char *path = file_join(bench->folder, "t.conf");
    char *words = mem_format(
        "[operation]\nname = Tamarack Bend\ntime zone = America/New_York\n"
        "spool = %s\n[bush north]\nlatitude = 45.06\nlongitude = -71.90\n"
        "elevation = 450 m\nspecies = red maple\ntaps = 140\n"
        "gathering = buckets\n"
        "[bush brook]\nlatitude = 45.06\nlongitude = -71.90\n"
        "elevation = 450 m\nspecies = sugar maple\ntaps = 60\n"
        "gathering = gravity tubing\n[sources]\nuse = metno\n"
        "contact = operator@example.org\n[calendar]\npublish = %s\n",
        bench->folder, bench->folder);
    struct error err;

    assert_int_equal(file_write_whole(path, words, strlen(words), 0644, &err),
                     0);
    free(words);
    return path;
}

/* One bush's own entries; a hole reamed in between empties no bucket. */
static void the_logbook_is_read(void **state)
{
    struct bench *bench = *state;
    char *config = write_config(bench), *folder, *json, *path;
    struct options options = {.config = config};
    struct replay_options past = {.bucket_l = 13};
    utc_s first = 1772560800; /* 2026-03-03T18:00Z */
    struct logbook book = {0};
    struct fit_log log;
    struct error err = {""};

    add_note(&book, LOG_TAPPED, "north", first, 0);
    add_note(&book, LOG_COLLECTED, "north", first + 100000, 200);
    add_note(&book, LOG_COLLECTED, "brook", first + 150000, 999);
    add_note(&book, LOG_TAPPED, "north", first + 200000, 0);
    add_note(&book, LOG_COLLECTED, "north", first + 300000, 150);
    logbook_settle(&book);
    json = log_json_write("tamarack-bend", &book);
    folder = file_join(bench->folder, "tamarack-bend");
    path = file_join(folder, "logbook.json");
    assert_int_equal(file_make_folder(folder, 0755, &err), 0);
    assert_int_equal(file_write_whole(path, json, strlen(json), 0644, &err), 0);

    assert_int_equal(fit_log_from_book(&options, NULL, &past, &log),
                     EXIT_USAGE);
    fit_log_free(&log);
    assert_int_equal(fit_log_from_book(&options, "nort", &past, &log),
                     EXIT_USAGE);
    fit_log_free(&log);
    assert_int_equal(fit_log_from_book(&options, "north", &past, &log),
                     EXIT_DONE);
    assert_int_equal(past.species, SPECIES_RED_MAPLE);
    assert_int_equal(past.setting.taps, 140);
    assert_near(past.elevation_m, 450, 1e-9);
    assert_int_equal(log.season_count, 1);
    assert_int_equal(log.tapped_at[0], first);
    assert_int_equal(log.count, 2);
    assert_int_equal(log.rows[0].from, first);
    assert_near(log.rows[0].sap_l, 200, 1e-9);
    assert_int_equal(log.rows[1].from, first + 100000);
    assert_int_equal(log.rows[1].to, first + 300000);
    fit_log_free(&log);
    logbook_free(&book);
    free(json);
    free(path);
    free(folder);
    free(config);
}

#define ROW(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(what_is_written_is_read),
        ROW(nothing_is_overwritten_by_surprise),
        ROW(replacing_keeps_the_other_numbers),
        ROW(equal_fits_give_equal_bytes),
        ROW(numbers_stay_within_their_bounds),
        cmocka_unit_test(a_file_is_cut_into_seasons),
        ROW(the_logbook_is_read),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
