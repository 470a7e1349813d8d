#include "done.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "bench.h"
#include "logbook/spool.h"
#include "net/cache.h"
#include "stages.h"
#include "store/care.h"
#include "store/outbox.h"
#include "store/store.h"

bool done_publish(const char *folder)
{
    return bench_is_new(folder, "bulletin.json") &&
           bench_is_new(folder, "index.html");
}

static struct store *open_again(const char *folder)
{
    char *path = bench_path(folder, "thawbell.db"), *warning = NULL;
    struct store *store = NULL;
    struct error err;

    if (store_open(path, SCARCE_NOW, &store, &warning, &err) != 0)
        store = NULL;
    free(path);
    free(warning);
    return store;
}

bool done_store(const char *folder)
{
    struct store *store = open_again(folder);
    struct outbox_row row;
    bool found = false, same;
    char *value = NULL;
    struct error err;

    if (store == NULL)
        return false;
    same = store_get_note(store, "tamarack-bend", "name", &value, &err) == 0 &&
           value != NULL && strcmp(value, "value") == 0;
    if (outbox_claim(store, "tamarack-bend", SCARCE_NOW, &row, &found, &err) ==
            0 &&
        found)
        outbox_row_free(&row);
    store_close(store);
    free(value);
    return same && found;
}

bool done_backup(const char *folder)
{
    char *path = bench_path(folder, "backup.db");
    struct error_list facts = {0}, found = {0};
    struct error err;
    bool sound =
        store_inspect(path, &facts, &found, &err) == 0 && found.count == 0;

    error_list_free(&facts);
    error_list_free(&found);
    free(path);
    return sound;
}

bool done_export(const char *folder)
{
    char *path = bench_path(folder, "thawbell.db");
    char *exported = bench_path(folder, "export.jsonl"), *first = NULL;
    char *again = bench_path(folder, "again.jsonl"), *second = NULL;
    FILE *out = fopen(again, "w");
    struct error err;
    size_t length;
    bool same = out != NULL && store_export(path, out, &err) == 0;

    same = out != NULL && fclose(out) == 0 && same &&
           file_read(exported, 1 << 24, &first, &length, &err) == 0 &&
           file_read(again, 1 << 24, &second, &length, &err) == 0 &&
           length > 0 && strcmp(first, second) == 0;
    free(path);
    free(exported);
    free(again);
    free(first);
    free(second);
    return same;
}

bool done_intake(const char *folder)
{
    struct store *store = open_again(folder);
    struct logbook book = {0};
    bool there = false;
    struct error err;

    if (store == NULL)
        return false;
    if (store_get_log(store, "tamarack-bend", &book, &err) == 0)
        for (int i = 0; i < book.count; i++)
            there |= strcmp(book.records[i].uid, SCARCE_WAITING) == 0;
    logbook_free(&book);
    store_close(store);
    return there;
}

bool done_spool(const char *folder)
{
    char *path = bench_path(folder, "spool");
    struct spool waiting;
    struct error err;
    bool there = false;

    if (spool_read(path, "tamarack-bend", &waiting, &err) == 0) {
        for (int i = 0; i < waiting.count; i++)
            there |= !waiting.files[i].bad &&
                     waiting.files[i].records.count > 0 &&
                     strcmp(waiting.files[i].records.records[0].uid,
                            STAGES_WRITTEN) == 0;
        spool_free(&waiting);
    }
    free(path);
    return there;
}

bool done_cache(const char *folder)
{
    char *path = bench_path(folder, "answers"), key[DIGEST_SIZE];
    struct cache_record record;
    struct error err;
    struct cache *cache = cache_open(path, &err);
    bool good;

    free(path);
    if (cache == NULL)
        return false;
    cache_key("https://example.org/", NULL, key);
    cache_load(cache, key, STAGES_ANSWER_BYTES, &record);
    good = record.asked == 0 ||
           (record.body != NULL && stages_is_answer(record.body) &&
            strlen(record.body) == record.length);
    cache_record_free(&record);
    cache_free(cache);
    return good;
}
