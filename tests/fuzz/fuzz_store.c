/* The database with bytes of it changed: every three bytes are a place (an
 * even one) and what is put there. It is opened, or set aside for a new
 * one, or refused with a sentence; what is read from it is either right in
 * itself or refused. */
#include "promise.h"

#include <dirent.h>

#include "base/file.h"
#include "base/log.h"
#include "logbook/log_json.h"
#include "store/care.h"
#include "store/outbox.h"
#include "store/store.h"

static const utc_s now = 1772838600; /* 6 March 2026 */
static char *sound;
static size_t sound_length;

static const char book_json[] =
    "{\"version\":1,\"operation\":\"slug\",\"records\":["
    "{\"uid\":\"20260306T231000Z-1\",\"change\":\"new\","
    "\"written\":\"2026-03-06T20:00:00Z\",\"kind\":\"collected\","
    "\"at\":\"2026-03-06T19:00:00Z\",\"bush\":\"north\",\"sap_l\":160,"
    "\"remark\":\"clear\"},"
    "{\"uid\":\"20260306T231000Z-2\",\"change\":\"correction\","
    "\"target\":\"20260306T231000Z-1\",\"written\":\"2026-03-06T21:00:00Z\","
    "\"kind\":\"collected\",\"at\":\"2026-03-06T19:00:00Z\","
    "\"bush\":\"north\",\"sap_l\":161}]}";

static void must(int result, const struct error *err)
{
    if (result == 0)
        return;
    fprintf(stderr, "%s\n", err->text);
    exit(1);
}

static void fill(struct store *store)
{
    static const struct outbox_recipient to = {"someone@example.org",
                                               "<1@example.org>", "To: x\r\n"};
    struct outbox_mail mail = {"slug",
                               "morning 2026-03-06",
                               "morning",
                               "us@example.org",
                               now,
                               now + 86400,
                               "Subject: x\r\n\r\nx\r\n",
                               18,
                               &to,
                               1};
    struct store_event event = {(char *)(uintptr_t) "uid@example.org",
                                (char *)(uintptr_t) "{\"sequence\":1}"};
    struct series_source source = {.name = "station", .fetched = now};
    struct series *series = series_new(now, 30);
    struct logbook book = {0};
    struct error err = {""};

    series_add_source(series, &source);
    for (int i = 0; i < 30; i++)
        series_set(series, AIR_TEMP_C, i, i / 2.0, ORIGIN_OBSERVED, 0);
    must(log_json_read(book_json, strlen(book_json), "slug", &book, &err),
         &err);
    must(store_take_log(store, "slug", &book, now, &err), &err);
    must(store_put_events(store, "slug", &event, 1, &err), &err);
    must(store_put_note(store, "slug", "name", "value", &err), &err);
    must(store_put_weather(store, "slug", "north", series, now + 99999, &err),
         &err);
    must(outbox_put(store, &mail, NULL, &err), &err);
    must(store_put_plan(store, "slug", now, "{\"ran_l\":1}", &err), &err);
    series_free(series);
    logbook_free(&book);
}

static void make_sound(void)
{
    const char *path = input_file("sound.db", NULL, 0);
    struct store *store = NULL;
    struct error err = {""};
    char *warning;

    must(store_open(path, now, &store, &warning, &err), &err);
    fill(store);
    store_close(store);
    must(file_read(path, 1 << 24, &sound, &sound_length, &err), &err);
    log_set_level(LOG_LEVEL_ERROR);
}

static void forget_all(void)
{
    DIR *dir = opendir(input_folder());
    struct dirent *entry;

    while (dir && (entry = readdir(dir)) != NULL)
        if (entry->d_name[0] != '.') {
            char *at = file_join(input_folder(), entry->d_name);

            unlink(at);
            free(at);
        }
    if (dir)
        closedir(dir);
}

static void check_log(struct store *store)
{
    struct logbook book = {0};
    struct error err = {""};
    int result = store_get_log(store, "slug", &book, &err);

    promise_result(result, &err);
    for (int i = 0; result == 0 && i < book.count; i++)
        PROMISE(log_record_check(&book.records[i], &err) == 0);
    logbook_free(&book);
}

static void check_weather(struct store *store)
{
    struct series *series = NULL;
    struct error err = {""};
    double value;
    int result =
        store_get_weather(store, "slug", "north", now, 30, &series, &err);

    promise_result(result, &err);
    for (int i = 0; result == 0 && i < 30; i++)
        if (series_get(series, AIR_TEMP_C, i, &value))
            PROMISE(quantity_check(AIR_TEMP_C, value, &err) == 0);
    series_free(series);
}

static void check_rest(struct store *store)
{
    struct store_event *events = NULL;
    struct outbox_row row = {0};
    struct error err = {""};
    char *value = NULL;
    bool found = false;
    int count = 0;
    int result = store_get_events(store, "slug", &events, &count, &err);

    promise_result(result, &err);
    if (result == 0)
        store_events_free(events, count);
    promise_result(store_get_note(store, "slug", "name", &value, &err), &err);
    free(value);
    result = outbox_claim(store, "slug", now, &row, &found, &err);
    promise_result(result, &err);
    if (result == 0 && found) {
        PROMISE(row.recipient && row.message);
        promise_result(outbox_settle(store, row.id, row.message_id, now,
                                     OUTBOX_SENT, 0, 250, "", &err),
                       &err);
        outbox_row_free(&row);
    }
    promise_result(
        store_put_plan(store, "slug", now + 60, "{\"ran_l\":2}", &err), &err);
    promise_result(store_prune(store, "slug", now + 900 * 86400, &err), &err);
}

static void check_care(const char *path)
{
    struct error_list facts = {0}, found = {0};
    struct error err = {""};
    FILE *sink = fopen("/dev/null", "w");

    promise_result(store_try(path, &err), &err);
    promise_result(store_inspect(path, &facts, &found, &err), &err);
    promise_result(store_export(path, sink, &err), &err);
    for (int i = 0; i < found.count; i++)
        PROMISE(utf8_valid(found.items[i], strlen(found.items[i])));
    fclose(sink);
    error_list_free(&facts);
    error_list_free(&found);
}

static const char *damage(const uint8_t *data, size_t size)
{
    char *bytes = malloc(sound_length);
    const char *path;

    if (bytes == NULL)
        exit(1);
    memcpy(bytes, sound, sound_length);
    for (size_t i = 0; i + 3 <= size; i += 3) {
        size_t at = ((size_t)data[i] << 8 | data[i + 1]) * 2;

        bytes[at % sound_length] = (char)data[i + 2];
    }
    path = input_file("thawbell.db", (const uint8_t *)bytes, sound_length);
    free(bytes);
    return path;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct store *store = NULL;
    struct error err = {""};
    char *warning = NULL;
    const char *path;
    int result;

    if (sound == NULL)
        make_sound();
    forget_all();
    path = damage(data, size);
    check_care(path);
    result = store_open(path, now, &store, &warning, &err);
    promise_result(result, &err);
    if (warning)
        promise_sentence(warning);
    free(warning);
    if (result != 0)
        return 0;
    check_log(store);
    check_weather(store);
    check_rest(store);
    store_close(store);
    return 0;
}
