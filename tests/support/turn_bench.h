/* What a test that turns the crank needs: a folder of its own with a store in
 * it, the demo's operation, and its answers by script. */
#ifndef SUPPORT_TURN_BENCH_H
#define SUPPORT_TURN_BENCH_H

#include "base/file.h"
#include "demo_bend.h"
#include "own_folder.h"
#include "scripted_transport.h"
#include "store/store.h"
#include "texts.h"
#include "turn/turn.h"
#include "unit_test.h"

enum { TURN_BENCH_ANSWERS = 5 };

struct turn_bench {
    char folder[OWN_FOLDER_SIZE];
    char *store_path;
    char *spool, *published; /* in the folder; not there before a turn */
    struct store *store;
    struct config_bush bushes[2]; /* of the one by hand, which has the first */
    struct config by_hand;
    struct config *config; /* the one by hand, or as read */
    struct script script;
    char *answers[TURN_BENCH_ANSWERS]; /* of the script, row by row */
};

/* A new store; the caller closes it. */
static inline struct store *turn_bench_store(const char *path)
{
    struct error err = {""};
    char *warning = NULL;
    struct store *store;

    if (store_open(path, DEMO_NOW, &store, &warning, &err) != 0)
        fail_msg("%s", err.text);
    assert_null(warning);
    return store;
}

static inline void turn_bench_answer(struct turn_bench *bench)
{
    static const char *const files[TURN_BENCH_ANSWERS][2] = {
        {"/v1/ensemble", "open-meteo-ensemble.json"},
        {"/v1/forecast", "open-meteo.json"},
        {"/points/", "nws-points.json"},
        {"/gridpoints/", "nws-grid.json"},
        {"/locationforecast/", "metno.json"},
    };

    for (int i = 0; i < TURN_BENCH_ANSWERS; i++) {
        bench->answers[i] = demo_answer(files[i][1]);
        bench->script.rows[i] =
            (struct script_row){files[i][0], bench->answers[i], 200};
    }
    bench->script.row_count = TURN_BENCH_ANSWERS;
}

static inline struct turn_bench *turn_bench_new(const char *name)
{
    struct turn_bench *bench = mem_alloc(1, sizeof *bench);

    own_folder_make(bench->folder, name);
    bench->store_path = file_join(bench->folder, "thawbell.db");
    bench->spool = file_join(bench->folder, "spool");
    bench->published = file_join(bench->folder, "public");
    bench->store = turn_bench_store(bench->store_path);
    turn_bench_answer(bench);
    return bench;
}

/* With a configuration by hand: of one bush, the second lies ready; the test
 * names the services. */
static inline struct turn_bench *turn_bench_by_hand(const char *name)
{
    struct turn_bench *bench = turn_bench_new(name);

    bench->bushes[0] = bench->bushes[1] = demo_bush();
    bench->bushes[1].name = (char *)"brook";
    bench->config = &bench->by_hand;
    demo_config(bench->config, bench->bushes, bench->spool);
    return bench;
}

/* With the demo's own file, its sugarhouse among the rest. */
static inline struct turn_bench *turn_bench_as_read(const char *name)
{
    static const char *const known[] = {"nws", "metno", "open-meteo",
                                        "open-meteo-ensemble"};
    struct turn_bench *bench = turn_bench_new(name);
    struct error_list errors = {NULL, 0}, warnings = {NULL, 0};

    assert_int_equal(config_read(PROJECT_DIR
                                 "/fixtures/tamarack-bend/tamarack-bend.conf",
                                 known, 4, &bench->config, &errors, &warnings),
                     0);
    free(bench->config->spool);
    bench->config->spool = mem_copy_text(bench->spool);
    error_list_free(&errors);
    error_list_free(&warnings);
    return bench;
}

static inline int turn_bench_tear_down(void **state)
{
    struct turn_bench *bench = *state;

    store_close(bench->store);
    script_free(&bench->script);
    if (bench->config != &bench->by_hand)
        config_free(bench->config);
    own_folder_remove(bench->folder);
    for (int i = 0; i < TURN_BENCH_ANSWERS; i++)
        free(bench->answers[i]);
    free(bench->published);
    free(bench->spool);
    free(bench->store_path);
    free(bench);
    return 0;
}

/* As turn(), with what it told of an earlier failure forgotten. */
static inline int turn_bench_turn(struct turn_bench *bench, utc_s now,
                                  struct turn_result *result,
                                  struct bulletin **bulletin, struct error *err)
{
    struct transport transport = script_transport(&bench->script);

    err->text[0] = '\0';
    return turn(bench->config, now, &transport, bench->store, bench->published,
                result, bulletin, err);
}

/* One that must succeed; the caller frees both. */
static inline struct bulletin *
turn_bench_good(struct turn_bench *bench, utc_s now, struct turn_result *result)
{
    struct bulletin *bulletin = NULL;
    struct error err;

    if (turn_bench_turn(bench, now, result, &bulletin, &err) != 0)
        fail_msg("%s", err.text);
    return bulletin;
}

/* What is published under the name; the caller frees. */
static inline char *turn_bench_read(const struct turn_bench *bench,
                                    const char *name)
{
    return file_text(bench->published, name);
}

#endif
