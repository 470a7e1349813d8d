#include "net/cache.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/json.h"
#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"

enum {
    FORMAT_VERSION = 1,
    HEAD_MAX_BYTES = 16384,
    FAILURES_MAX = 1000,
    DIGEST_LENGTH = DIGEST_SIZE - 1
};

struct cache {
    char *folder;
    struct cache_record *unsaved; /* what the disk did not take */
    int unsaved_count;
};

struct cache *cache_open(const char *folder, struct error *err)
{
    struct cache *cache;

    if (file_make_folder(folder, 0700, err) != 0)
        return NULL;
    file_sweep(folder);
    cache = mem_alloc(1, sizeof *cache);
    cache->folder = mem_copy_text(folder);
    return cache;
}

void cache_record_free(struct cache_record *record)
{
    free(record->body);
    memset(record, 0, sizeof *record);
}

void cache_record_copy(const struct cache_record *record,
                       struct cache_record *out)
{
    *out = *record;
    if (record->body != NULL)
        out->body = mem_copy_bytes(record->body, record->length);
}

void cache_free(struct cache *cache)
{
    if (cache == NULL)
        return;
    for (int i = 0; i < cache->unsaved_count; i++)
        cache_record_free(&cache->unsaved[i]);
    free(cache->unsaved);
    free(cache->folder);
    free(cache);
}

void cache_key(const char *url, const char *accept, char out[DIGEST_SIZE])
{
    char *words = mem_format("%s\n%s", url, accept != NULL ? accept : "");

    digest_hex(words, strlen(words), out);
    free(words);
}

static int unsaved_find(const struct cache *cache, const char *key)
{
    for (int i = 0; i < cache->unsaved_count; i++)
        if (strcmp(cache->unsaved[i].key, key) == 0)
            return i;
    return -1;
}

static void unsaved_keep(struct cache *cache, const struct cache_record *record)
{
    int at = unsaved_find(cache, record->key);
    struct cache_record copy;

    cache_record_copy(record, &copy);
    if (at >= 0) {
        cache_record_free(&cache->unsaved[at]);
    } else {
        at = cache->unsaved_count++;
        cache->unsaved =
            mem_resize(cache->unsaved, (size_t)cache->unsaved_count,
                       sizeof *cache->unsaved);
    }
    cache->unsaved[at] = copy;
}

static void unsaved_drop(struct cache *cache, const char *key)
{
    int at = unsaved_find(cache, key);

    if (at < 0)
        return;
    cache_record_free(&cache->unsaved[at]);
    cache->unsaved[at] = cache->unsaved[--cache->unsaved_count];
}

static char *record_path(const struct cache *cache, const char *key)
{
    char *name = mem_format("%s.answer", key);
    char *path = file_join(cache->folder, name);

    free(name);
    return path;
}

static bool text_read(const cJSON *head, const char *key, char *out,
                      size_t size)
{
    const char *words = json_string(head, key);

    if (words == NULL || strlen(words) >= size)
        return false;
    memcpy(out, words, strlen(words) + 1);
    return true;
}

/* Years 1970 to 9999, as whole seconds. */
static bool time_read(const cJSON *head, const char *key, utc_s *out)
{
    long seconds;

    if (!json_integer(head, key, 0, 253402300799L, &seconds))
        return false;
    *out = seconds;
    return true;
}

static bool head_read(const cJSON *head, const char *key,
                      struct cache_record *out, bool *has_body)
{
    long version, failures;

    if (!json_integer(head, "version", FORMAT_VERSION, FORMAT_VERSION,
                      &version) ||
        !json_integer(head, "failures", 0, FAILURES_MAX, &failures) ||
        !text_read(head, "key", out->key, sizeof out->key) ||
        strcmp(out->key, key) != 0)
        return false;
    out->failures = (int)failures;
    return text_read(head, "etag", out->etag, sizeof out->etag) &&
           text_read(head, "last_modified", out->last_modified,
                     sizeof out->last_modified) &&
           text_read(head, "trouble", out->trouble, sizeof out->trouble) &&
           json_bool(head, "deprecated", &out->deprecated) &&
           time_read(head, "asked", &out->asked) &&
           time_read(head, "next", &out->next) &&
           time_read(head, "fetched", &out->fetched) &&
           json_bool(head, "held", has_body);
}

/* The parts of a file: digest, line end, JSON, line end, body. */
static bool record_parse(const char *bytes, size_t length, const char *key,
                         struct cache_record *out)
{
    const char *head = bytes + DIGEST_SIZE, *end;
    char digest[DIGEST_SIZE];
    bool has_body = false, good;
    cJSON *json;

    if (length <= DIGEST_SIZE || bytes[DIGEST_LENGTH] != '\n')
        return false;
    digest_hex(head, length - DIGEST_SIZE, digest);
    if (memcmp(digest, bytes, DIGEST_LENGTH) != 0)
        return false;
    end = memchr(head, '\n', length - DIGEST_SIZE);
    if (end == NULL)
        return false;
    json = json_parse(head, (size_t)(end - head), NULL);
    good = json != NULL && head_read(json, key, out, &has_body);
    cJSON_Delete(json);
    if (good && has_body) {
        out->length = length - (size_t)(end + 1 - bytes);
        out->body = mem_copy_bytes(end + 1, out->length);
    }
    return good;
}

static void record_clear(struct cache_record *record, const char *key)
{
    memset(record, 0, sizeof *record);
    memcpy(record->key, key, DIGEST_SIZE);
}

void cache_load(struct cache *cache, const char *key, size_t max_bytes,
                struct cache_record *out)
{
    int at = unsaved_find(cache, key);
    char *path, *bytes = NULL;
    struct error err = {""};
    size_t length = 0;

    record_clear(out, key);
    if (at >= 0) {
        cache_record_copy(&cache->unsaved[at], out);
        return;
    }
    path = record_path(cache, key);
    if (!file_exists(path)) {
        free(path);
        return;
    }
    if (file_read(path, max_bytes + HEAD_MAX_BYTES, &bytes, &length, &err) !=
        0) {
        log_warn("%s; it is not used", err.text);
    } else if (!record_parse(bytes, length, key, out)) {
        log_warn("%s: is damaged; it is not used", path);
        cache_record_free(out);
        record_clear(out, key);
    }
    free(bytes);
    free(path);
}

static char *head_write(const struct cache_record *record)
{
    cJSON *head = cJSON_CreateObject();
    char *words;

    cJSON_AddNumberToObject(head, "version", FORMAT_VERSION);
    cJSON_AddStringToObject(head, "key", record->key);
    cJSON_AddStringToObject(head, "etag", record->etag);
    cJSON_AddStringToObject(head, "last_modified", record->last_modified);
    cJSON_AddBoolToObject(head, "deprecated", record->deprecated);
    cJSON_AddNumberToObject(head, "asked", (double)record->asked);
    cJSON_AddNumberToObject(head, "next", (double)record->next);
    cJSON_AddNumberToObject(head, "failures",
                            record->failures < FAILURES_MAX ? record->failures
                                                            : FAILURES_MAX);
    cJSON_AddStringToObject(head, "trouble", record->trouble);
    cJSON_AddNumberToObject(head, "fetched", (double)record->fetched);
    cJSON_AddBoolToObject(head, "held", record->body != NULL);
    words = cJSON_PrintUnformatted(head);
    cJSON_Delete(head);
    return words;
}

void cache_save(struct cache *cache, const struct cache_record *record)
{
    char *head = head_write(record), *path = record_path(cache, record->key);
    size_t head_length = head != NULL ? strlen(head) : 0;
    size_t size = DIGEST_SIZE + head_length + 1 + record->length;
    char *bytes = mem_alloc(size, 1), digest[DIGEST_SIZE];
    struct error err = {""};

    if (head != NULL)
        memcpy(bytes + DIGEST_SIZE, head, head_length);
    bytes[DIGEST_SIZE + head_length] = '\n';
    if (record->body != NULL)
        memcpy(bytes + DIGEST_SIZE + head_length + 1, record->body,
               record->length);
    digest_hex(bytes + DIGEST_SIZE, size - DIGEST_SIZE, digest);
    memcpy(bytes, digest, DIGEST_LENGTH);
    bytes[DIGEST_LENGTH] = '\n';
    if (file_write_whole(path, bytes, size, 0600, &err) != 0) {
        if (cache->unsaved_count == 0)
            log_error(_("%s; answers are kept in memory alone until there is "
                        "room"),
                      err.text);
        unsaved_keep(cache, record);
    } else {
        unsaved_drop(cache, record->key);
    }
    free(bytes);
    free(path);
    cJSON_free(head);
}

static bool is_answer(const char *name)
{
    static const char end[] = ".answer";
    size_t length = strlen(name);

    return length == DIGEST_LENGTH + sizeof end - 1 &&
           strcmp(name + DIGEST_LENGTH, end) == 0;
}

int cache_prune(struct cache *cache, utc_s before)
{
    DIR *folder = opendir(cache->folder);
    const struct dirent *entry;
    struct stat status;
    int count = 0;

    if (folder == NULL)
        return 0;
    while ((entry = readdir(folder)) != NULL)
        if (is_answer(entry->d_name) &&
            fstatat(dirfd(folder), entry->d_name, &status,
                    AT_SYMLINK_NOFOLLOW) == 0 &&
            status.st_mtime < before &&
            unlinkat(dirfd(folder), entry->d_name, 0) == 0)
            count++;
    closedir(folder);
    return count;
}
