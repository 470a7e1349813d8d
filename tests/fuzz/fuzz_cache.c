/* Any bytes as a held answer on disk: as they are, and behind digests that
 * fit, so that what stands behind it is looked at too. */
#include "promise.h"

#include "base/memory.h"
#include "net/cache.h"

enum { MOST_BYTES = 20000 };

static const char key[] =
    "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff";

static void check_record(const struct cache_record *record)
{
    PROMISE(strcmp(record->key, key) == 0);
    PROMISE(record->asked >= 0 && record->next >= 0 && record->fetched >= 0);
    PROMISE(record->failures >= 0 && record->failures <= 1000);
    PROMISE(record->body || record->length == 0);
    PROMISE(record->length <= MOST_BYTES + 20000);
}

static void load(struct cache *cache, const uint8_t *data, size_t size)
{
    char name[DIGEST_SIZE + 16];
    struct cache_record record, again;

    snprintf(name, sizeof name, "%s.answer", key);
    input_file(name, data, size);
    cache_load(cache, key, MOST_BYTES, &record);
    check_record(&record);
    if (record.asked > 0) {
        cache_save(cache, &record);
        cache_load(cache, key, MOST_BYTES, &again);
        check_record(&again);
        PROMISE(again.asked == record.asked && again.next == record.next);
        PROMISE(again.length == record.length);
        PROMISE(strcmp(again.etag, record.etag) == 0);
        cache_record_free(&again);
    }
    cache_record_free(&record);
}

/* A digest of the first line alone, as the newer files have it. */
static void seal_head(uint8_t *sealed, size_t size)
{
    const uint8_t *head = sealed + DIGEST_SIZE;
    const uint8_t *end = size > 0 ? memchr(head, '\n', size) : NULL;
    char digest[DIGEST_SIZE];

    if (end == NULL)
        return;
    digest_hex((const char *)head, (size_t)(end - head) + 1, digest);
    memcpy(sealed, digest, DIGEST_SIZE - 1);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct cache *cache;
    struct error err = {""};
    uint8_t *sealed = mem_alloc(DIGEST_SIZE + size, 1);
    char digest[DIGEST_SIZE];

    if (cache == NULL)
        cache = cache_open(input_folder(), &err);
    PROMISE(cache);
    load(cache, data, size);
    digest_hex(size > 0 ? (const char *)data : "", size, digest);
    memcpy(sealed, digest, DIGEST_SIZE - 1);
    sealed[DIGEST_SIZE - 1] = '\n';
    if (size > 0)
        memcpy(sealed + DIGEST_SIZE, data, size);
    load(cache, sealed, DIGEST_SIZE + size);
    seal_head(sealed, size);
    load(cache, sealed, DIGEST_SIZE + size);
    free(sealed);
    return 0;
}
