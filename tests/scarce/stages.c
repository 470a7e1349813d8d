#include "stages.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/file_set.h"
#include "base/memory.h"
#include "bench.h"
#include "done.h"
#include "logbook/log_csv.h"
#include "logbook/spool.h"
#include "net/cache.h"
#include "publish/bulletin.h"
#include "publish/calendar.h"
#include "publish/mail.h"
#include "publish/page.h"
#include "publish/show.h"
#include "source/source.h"
#include "store/care.h"
#include "store/outbox.h"
#include "store/store.h"
#include "tree/season.h"
#include "tree/tree.h"
#include "turn/log_intake.h"
#include "turn/remember.h"

static int read_fixture(const char *name, char **bytes, size_t *length,
                        struct error *err)
{
    char *path = mem_format("%s/fixtures/%s", PROJECT_DIR, name);
    int result = file_read(path, 1 << 22, bytes, length, err);

    free(path);
    return result;
}

static int run_config(const char *folder, struct error *err)
{
    static const char *const known[] = {"nws", "metno", "open-meteo",
                                        "open-meteo-ensemble"};
    struct error_list errors = {0}, warnings = {0};
    struct config *config = NULL;
    int result;

    (void)folder;
    result = config_read(PROJECT_DIR "/fixtures/tamarack-bend/"
                                     "tamarack-bend.conf",
                         known, 4, &config, &errors, &warnings);
    if (result == 0)
        config_free(config);
    else
        error_set(err, "%s", errors.count > 0 ? errors.items[0] : "");
    error_list_free(&errors);
    error_list_free(&warnings);
    return result;
}

static int decode(const char *service, const char *file, struct error *err)
{
    const struct source *source = source_find(service);
    struct source_answer answer = {0};
    char *bytes;
    size_t length;
    int result;

    if (read_fixture(file, &bytes, &length, err) != 0)
        return -1;
    result = source != NULL
                 ? source->decode(bytes, length, SCARCE_NOW, &answer, err)
                 : station_decode(bytes, length, SCARCE_NOW, &answer, err);
    free(bytes);
    source_answer_free(&answer);
    return result;
}

static int run_nws(const char *folder, struct error *err)
{
    (void)folder;
    return decode("nws", "answers/nws-grid.json", err);
}

static int run_metno(const char *folder, struct error *err)
{
    (void)folder;
    return decode("metno", "answers/metno.json", err);
}

static int run_open_meteo(const char *folder, struct error *err)
{
    (void)folder;
    return decode("open-meteo", "answers/open-meteo.json", err);
}

static int run_ensemble(const char *folder, struct error *err)
{
    (void)folder;
    return decode("open-meteo-ensemble", "answers/open-meteo-ensemble.json",
                  err);
}

static int run_station(const char *folder, struct error *err)
{
    (void)folder;
    return decode("station", "answers/station.csv", err);
}

static int run_models(const char *folder, struct error *err)
{
    struct season_model season;
    struct tree_model *model = NULL;

    (void)folder;
    if (tree_model_load(NULL, SPECIES_SUGAR_MAPLE, GATHERING_BUCKETS, &model,
                        err) != 0)
        return -1;
    tree_model_free(model);
    return season_model_load(NULL, SPECIES_SUGAR_MAPLE, &season, err);
}

static int run_import(const char *folder, struct error *err)
{
    static const char csv[] = "time,kind,bush,sap_gal,remark\n"
                              "2026-03-04 17:00,collected,north,42,clear\n"
                              "2026-03-05,collected,north,40,\n";
    struct zone *zone = zone_open("America/New_York", err);
    struct logbook book = {0};
    int known, result;

    (void)folder;
    if (zone == NULL)
        return -1;
    result =
        log_csv_read(csv, strlen(csv), zone, SCARCE_NOW, &book, &known, err);
    if (result == 0)
        free(log_csv_write(&book, zone, true));
    logbook_free(&book);
    zone_free(zone);
    return result;
}

static int read_bulletin(const char *folder, struct bulletin **out,
                         struct error *err)
{
    char *path = bench_path(folder, "public/bulletin.json"), *bytes;
    size_t length;
    int result = file_read(path, 1 << 22, &bytes, &length, err);

    free(path);
    if (result != 0)
        return -1;
    result = bulletin_from_json(bytes, length, out, err);
    free(bytes);
    return result;
}

/* What the client does. */
static int run_show(const char *folder, struct error *err)
{
    struct show_style style = {UNITS_US, 80, false};
    struct bulletin *bulletin;
    struct text shown;

    if (read_bulletin(folder, &bulletin, err) != 0)
        return -1;
    text_init(&shown, 100000);
    show_line(bulletin, SCARCE_NOW, &style, &shown);
    show_week(bulletin, SCARCE_NOW, &style, &shown);
    text_free(&shown);
    free(bulletin_week_json(bulletin, SCARCE_NOW));
    bulletin_free(bulletin);
    return 0;
}

static void put(struct file_set *set, const char *name, char *bytes)
{
    file_set_put(set, name, bytes, strlen(bytes), 0644);
    free(bytes);
}

static int settle(struct file_set *set, struct error *err)
{
    return file_set_settle(set, err) == 0 &&
                   file_set_look(set, "bulletin.json", err) == 0 &&
                   file_set_look(set, "calendar.ics", err) == 0
               ? file_set_look(set, "index.html", err)
               : -1;
}

/* The publishers, each for itself. */
static int publish_by(enum file_set_flush flush, const char *folder,
                      struct error *err)
{
    char *public = bench_path(folder, "public");
    struct file_set *set = file_set_begin(public, flush, err);
    struct calendar_memory memory = {0};
    struct bulletin *bulletin;
    int result = -1;

    free(public);
    if (set != NULL && read_bulletin(folder, &bulletin, err) == 0) {
        bulletin->made += 60;
        calendar_update(&memory, bulletin);
        put(set, "bulletin.json", bulletin_to_json(bulletin));
        put(set, "calendar.ics", calendar_to_ics(&memory, bulletin, NULL));
        put(set, "index.html", page_to_html(bulletin, NULL));
        result = settle(set, err);
        calendar_memory_free(&memory);
        bulletin_free(bulletin);
    }
    file_set_free(set);
    return result;
}

static int run_publish(const char *folder, struct error *err)
{
    return publish_by(FILE_SET_EACH, folder, err);
}

static int run_publish_together(const char *folder, struct error *err)
{
    return publish_by(FILE_SET_FILE_SYSTEM, folder, err);
}

/* The morning mail with its chart. */
static int run_mail(const char *folder, struct error *err)
{
    struct mail_letter letter = {0};
    struct bulletin *bulletin;
    char *warning = NULL;
    size_t length;

    if (read_bulletin(folder, &bulletin, err) != 0)
        return -1;
    mail_morning(bulletin, SCARCE_NOW, NULL, &letter, &warning);
    free(mail_body(&letter, "operator@example.org", &length));
    mail_letter_free(&letter);
    bulletin_free(bulletin);
    free(warning);
    return 0;
}

static int use_store(struct store *store, struct error *err)
{
    static const struct outbox_recipient to = {"someone@example.org",
                                               "<1@example.org>",
                                               "To: someone@example.org\r\n"};
    static const struct outbox_mail mail = {"tamarack-bend",
                                            "morning 2026-03-05",
                                            "morning",
                                            "us@example.org",
                                            SCARCE_NOW,
                                            SCARCE_NOW + 86400,
                                            "Subject: x\r\n\r\n",
                                            sizeof "Subject: x\r\n\r\n" - 1,
                                            &to,
                                            1};
    struct series *series = NULL;
    struct logbook book = {0};
    char *value = NULL;
    int result = -1;

    if (store_get_log(store, "tamarack-bend", &book, err) == 0 &&
        store_put_note(store, "tamarack-bend", "name", "value", err) == 0 &&
        store_get_note(store, "tamarack-bend", "name", &value, err) == 0 &&
        store_get_weather(store, "tamarack-bend", "north",
                          SCARCE_BEFORE - 86400, 48, &series, err) == 0 &&
        store_put_weather(store, "tamarack-bend", "north", series, SCARCE_NOW,
                          err) == 0 &&
        store_put_plan(store, "tamarack-bend", SCARCE_NOW, "{}", err) == 0 &&
        outbox_put(store, &mail, NULL, err) == 0)
        result = store_prune(store, "tamarack-bend", SCARCE_NOW, err);
    series_free(series);
    logbook_free(&book);
    free(value);
    return result;
}

static int run_store(const char *folder, struct error *err)
{
    char *path = bench_path(folder, "thawbell.db"), *warning = NULL;
    struct store *store = NULL;
    int result = store_open(path, SCARCE_NOW, &store, &warning, err);

    free(path);
    /* A store that is sound must not be taken for a damaged one. */
    if (warning != NULL) {
        fprintf(stderr, "%s\n", warning);
        abort();
    }
    if (result != 0)
        return -1;
    result = use_store(store, err);
    store_close(store);
    return result;
}

static int run_intake(const char *folder, struct error *err)
{
    char *path = bench_path(folder, "thawbell.db"), *warning = NULL;
    char *public = bench_path(folder, "public");
    struct error_list troubles = {0};
    struct bench_config config;
    struct store *store = NULL;
    struct logbook book = {0};
    int result = store_open(path, SCARCE_NOW, &store, &warning, err);

    free(path);
    free(warning);
    if (result == 0) {
        bench_config_make(&config, folder);
        log_intake(&config.config, SCARCE_NOW, store, public, &book, &troubles);
        bench_config_free(&config);
        store_close(store);
        if (troubles.count > 0)
            result = error_set(err, "%s", troubles.items[0]);
    }
    logbook_free(&book);
    error_list_free(&troubles);
    free(public);
    return result;
}

static int run_spool(const char *folder, struct error *err)
{
    char *path = bench_path(folder, "spool");
    struct spool spool;
    int result = spool_read(path, "tamarack-bend", &spool, err);

    if (result == 0) {
        struct log_record record = spool.files[0].records.count > 0
                                       ? spool.files[0].records.records[0]
                                       : (struct log_record){.number = 0};
        struct logbook book = {0};

        if (spool.files[0].trouble.text[0] != '\0')
            result = error_set(err, "%s", spool.files[0].trouble.text);
        snprintf(record.uid, sizeof record.uid, STAGES_WRITTEN);
        logbook_add(&book, &record);
        if (result == 0)
            result = spool_write(path, "tamarack-bend", &book, err);
        logbook_free(&book);
        spool_free(&spool);
    }
    free(path);
    return result;
}

/* As the body of an answer grows and shrinks. */
static char *answer_of(int length)
{
    return mem_format("{\"a\":%0*d}", length, length);
}

static const int answer_lengths[] = {1, 9000, 12000, 500, 15000};
enum { ANSWERS = sizeof answer_lengths / sizeof *answer_lengths };

bool stages_is_answer(const char *body)
{
    bool same = false;

    for (int i = 0; i < ANSWERS; i++) {
        char *answer = answer_of(answer_lengths[i]);

        same |= strcmp(answer, body) == 0;
        free(answer);
    }
    return same;
}

/* What was saved is what is held, though it be in memory alone. */
static void check_held(struct cache *cache, const struct cache_record *record)
{
    struct cache_record again;

    cache_load(cache, record->key, STAGES_ANSWER_BYTES, &again);
    if (again.asked != record->asked || again.length != record->length ||
        memcmp(again.body, record->body, record->length) != 0)
        abort();
    cache_record_free(&again);
}

/* A file is made, written over, made longer and shorter, and its head alone
 * changed. */
static int run_cache(const char *folder, struct error *err)
{
    char *path = bench_path(folder, "answers");
    struct cache *cache = cache_open(path, err);
    struct cache_record record;

    free(path);
    if (cache == NULL)
        return -1;
    memset(&record, 0, sizeof record);
    cache_key("https://example.org/", NULL, record.key);
    for (int i = 0; i < ANSWERS; i++) {
        free(record.body);
        record.body = answer_of(answer_lengths[i]);
        record.length = strlen(record.body);
        record.asked = SCARCE_NOW + i;
        cache_save(cache, &record);
        check_held(cache, &record);
        record.asked += 100;
        cache_save_head(cache, &record);
        check_held(cache, &record);
    }
    cache_record_free(&record);
    cache_free(cache);
    return 0;
}

static int run_backup(const char *folder, struct error *err)
{
    char *path = bench_path(folder, "thawbell.db");
    char *target = bench_path(folder, "backup.db");
    int result = store_backup(path, target, err);

    /* What the disk does not take away either is whole. */
    if (result != 0 && file_exists(target) && !done_backup(folder))
        abort();
    /* The same goes for a copy. */
    if (result != 0 && strstr(err->text, "damaged") != NULL) {
        fprintf(stderr, "%s\n", err->text);
        abort();
    }
    free(path);
    free(target);
    return result;
}

/* What "thawbell store check" does. */
static int run_inspect(const char *folder, struct error *err)
{
    char *path = bench_path(folder, "thawbell.db");
    struct error_list facts = {0}, found = {0};
    int result = store_inspect(path, &facts, &found, err);

    if (found.count > 0) {
        fprintf(stderr, "%s\n", found.items[0]);
        abort();
    }
    for (int i = 0; i < facts.count; i++)
        if (strstr(facts.items[i], " -1") != NULL) {
            fprintf(stderr, "%s\n", facts.items[i]);
            abort();
        }
    error_list_free(&facts);
    error_list_free(&found);
    free(path);
    return result;
}

static int run_export(const char *folder, struct error *err)
{
    char *path = bench_path(folder, "thawbell.db");
    char *target = bench_path(folder, "export.jsonl");
    int result;

    unlink(target);
    result = store_export_file(path, target, err);
    free(path);
    free(target);
    return result;
}

static int run_turn(const char *folder, struct error *err)
{
    return bench_turn(folder, SCARCE_NOW, err);
}

const struct stage stages[] = {
    {"configuration", run_config, false, false, NULL},
    {"nws", run_nws, false, false, NULL},
    {"metno", run_metno, false, false, NULL},
    {"open-meteo", run_open_meteo, false, false, NULL},
    {"open-meteo-ensemble", run_ensemble, false, false, NULL},
    {"station", run_station, false, false, NULL},
    {"models", run_models, false, false, NULL},
    {"import", run_import, false, false, NULL},
    {"show", run_show, false, false, NULL},
    {"publish", run_publish, true, false, done_publish},
    {"publish-together", run_publish_together, true, false, done_publish},
    {"mail", run_mail, false, true, NULL},
    {"store", run_store, true, false, done_store},
    {"backup", run_backup, true, false, done_backup},
    {"inspect", run_inspect, true, false, NULL},
    {"export", run_export, true, true, done_export},
    {"intake", run_intake, true, false, done_intake},
    {"spool", run_spool, true, false, done_spool},
    {"cache", run_cache, true, false, done_cache},
    {"turn", run_turn, true, true, done_publish},
    {NULL, NULL, false, false, NULL},
};
