/* Any bytes as an import of the logbook: as CSV, and as a file of the spool.
 * What is taken makes sense, is written so that it reads back as it was, and
 * is the same once the store has had it. */
#include "promise.h"

#include "logbook/log_csv.h"
#include "logbook/log_json.h"
#include "store/store.h"

static const utc_s now = 1772838600; /* 6 March 2026 */

static void check_book(const struct logbook *book)
{
    struct error err = {""};
    struct log_view view;

    PROMISE(book->count <= LOG_MAX_RECORDS);
    for (int i = 0; i < book->count; i++) {
        const struct log_record *record = &book->records[i];

        PROMISE(log_record_check(record, &err) == 0);
        PROMISE(utf8_valid(record->note.remark, strlen(record->note.remark)));
    }
    log_view_make(book, true, &view);
    PROMISE(view.count <= book->count);
    log_view_free(&view);
}

static void check_json_again(const struct logbook *book)
{
    struct logbook back = {0};
    struct error err = {""};
    char *words = log_json_write("slug", book), *again;

    if (log_json_read(words, strlen(words), "slug", &back, &err) != 0) {
        fprintf(stderr, "%s\n%s", err.text, words);
        abort();
    }
    again = log_json_write("slug", &back);
    PROMISE(strcmp(words, again) == 0);
    free(words);
    free(again);
    logbook_free(&back);
}

/* The whole history, back from CSV, says the same but for the numbers, which
 * are given where it is read. */
static void check_csv_again(struct logbook *book, const struct zone *zone)
{
    struct logbook back = {0};
    struct error err = {""};
    int known = -1;
    char *words, *again;

    for (int i = 0; i < book->count; i++)
        book->records[i].number = 0;
    logbook_settle(book);
    words = log_csv_write(book, zone, true);
    if (log_csv_read(words, strlen(words), zone, now, &back, &known, &err) !=
        0) {
        fprintf(stderr, "%s\n%s", err.text, words);
        abort();
    }
    PROMISE(known == 0 && back.count == book->count);
    logbook_settle(&back);
    again = log_csv_write(&back, zone, true);
    if (strcmp(words, again) != 0) {
        fprintf(stderr, "%s\n%s", words, again);
        abort();
    }
    free(words);
    free(again);
    logbook_free(&back);
}

static void check_store(const struct logbook *book)
{
    static struct store *store;
    struct logbook first = {0}, second = {0};
    struct error err = {""};
    char *warning = NULL, *words, *again;

    if (store == NULL)
        PROMISE(store_open(":memory:", now, &store, &warning, &err) == 0);
    PROMISE(store_begin(store, &err) == 0);
    PROMISE(store_take_log(store, "slug", book, now, &err) == 0);
    PROMISE(store_get_log(store, "slug", &first, &err) == 0);
    PROMISE(first.count == book->count);
    PROMISE(store_take_log(store, "slug", &first, now + 1, &err) == 0);
    PROMISE(store_get_log(store, "slug", &second, &err) == 0);
    store_rollback(store);
    words = log_json_write("slug", &first);
    again = log_json_write("slug", &second);
    PROMISE(strcmp(words, again) == 0);
    check_book(&first);
    free(words);
    free(again);
    logbook_free(&first);
    logbook_free(&second);
}

static void check_all(struct logbook *book, const struct zone *zone)
{
    check_book(book);
    check_json_again(book);
    check_store(book);
    check_csv_again(book, zone);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct zone *zone;
    const char *bytes = (const char *)data;
    struct logbook book = {0};
    struct error err = {""};
    int known = 0, result;

    if (zone == NULL)
        zone = zone_open("America/New_York", &err);
    PROMISE(zone);
    result = log_csv_read(bytes, size, zone, now, &book, &known, &err);
    promise_result(result, &err);
    PROMISE(known >= 0);
    if (result == 0)
        check_all(&book, zone);
    logbook_free(&book);
    memset(&book, 0, sizeof book);
    result = log_json_read(bytes, size, "tamarack-bend", &book, &err);
    promise_result(result, &err);
    if (result == 0)
        check_all(&book, zone);
    logbook_free(&book);
    return 0;
}
