/* The bytes of an answer's file. */
#include "net/cache_file.h"

#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"

enum {
    OLD_VERSION = 1,
    VERSION = 2,
    FAILURES_MAX = 1000,
    DIGEST_LENGTH = DIGEST_SIZE - 1,
    HEAD_STEP = 1024 /* room for another head is left in it */
};

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

static bool head_read(const cJSON *head, long version, const char *key,
                      struct cache_record *out, bool *has_body)
{
    long failures;

    if (!json_integer(head, "version", version, version, &version) ||
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

static bool digest_fits(const char *bytes, size_t length)
{
    char digest[DIGEST_SIZE];

    digest_hex(bytes + DIGEST_SIZE, length - DIGEST_SIZE, digest);
    return memcmp(digest, bytes, DIGEST_LENGTH) == 0;
}

/* The body is what the head says. */
static bool body_fits(const cJSON *head, const char *body, size_t length,
                      bool has_body, char check[CHECK_SIZE])
{
    const char *held = json_string(head, "check");
    long told;

    if (!json_integer(head, "length", 0, (long)CACHE_BODY_MAX_BYTES, &told) ||
        (size_t)told != length || (!has_body && length > 0) || held == NULL)
        return false;
    check_hex(body, length, check);
    return strcmp(check, held) == 0;
}

static void take_body(const char *body, size_t length, struct cache_record *out)
{
    out->length = length;
    out->body = mem_copy_bytes(body, length);
}

/* Both versions: what follows the head's line end is the body. */
bool cache_file_read(const char *bytes, size_t length, const char *key,
                     struct cache_record *out)
{
    const char *head = bytes + DIGEST_SIZE, *body;
    bool has_body = false, new_one, good;
    size_t rest;
    cJSON *json;

    if (length <= DIGEST_SIZE || bytes[DIGEST_LENGTH] != '\n')
        return false;
    body = memchr(head, '\n', length - DIGEST_SIZE);
    if (body == NULL)
        return false;
    body++;
    rest = length - (size_t)(body - bytes);
    new_one = digest_fits(bytes, length - rest);
    if (!new_one && !digest_fits(bytes, length))
        return false;
    json = json_parse(head, (size_t)(body - head), NULL);
    good = json != NULL &&
           (head_read(json, VERSION, key, out, &has_body)
                ? new_one && body_fits(json, body, rest, has_body, out->check)
                : head_read(json, OLD_VERSION, key, out, &has_body) &&
                      digest_fits(bytes, length));
    out->issued_known =
        good && new_one && time_read(json, "issued", &out->issued);
    cJSON_Delete(json);
    if (good && has_body)
        take_body(body, rest, out);
    out->head_size = good && new_one ? length - rest : 0;
    return good;
}

static char *head_write(const struct cache_record *record)
{
    cJSON *head = cJSON_CreateObject();

    json_add_number(head, "version", VERSION);
    json_add_text(head, "key", record->key);
    json_add_text(head, "etag", record->etag);
    json_add_text(head, "last_modified", record->last_modified);
    json_add_bool(head, "deprecated", record->deprecated);
    json_add_number(head, "asked", (double)record->asked);
    json_add_number(head, "next", (double)record->next);
    json_add_number(head, "failures",
                    record->failures < FAILURES_MAX ? record->failures
                                                    : FAILURES_MAX);
    json_add_text(head, "trouble", record->trouble);
    json_add_number(head, "fetched", (double)record->fetched);
    if (record->issued_known)
        json_add_number(head, "issued", (double)record->issued);
    json_add_bool(head, "held", record->body != NULL);
    json_add_number(head, "length", (double)record->length);
    json_add_text(head, "check", record->check);
    return json_to_text(head);
}

/* In `size` bytes, which are enough. */
static void head_fill(char *bytes, size_t size, const char *words)
{
    size_t length = strlen(words);

    /* NOLINTNEXTLINE(bugprone-not-null-terminated-result): blanks follow */
    memcpy(bytes + DIGEST_SIZE, words, length);
    memset(bytes + DIGEST_SIZE + length, ' ', size - DIGEST_SIZE - length - 1);
    bytes[size - 1] = '\n';
    digest_hex(bytes + DIGEST_SIZE, size - DIGEST_SIZE, bytes);
    bytes[DIGEST_LENGTH] = '\n';
}

char *cache_file_head(const struct cache_record *record, size_t size)
{
    char *words = head_write(record), *bytes = NULL;

    if (size > 0 && DIGEST_SIZE + strlen(words) + 1 <= size) {
        bytes = mem_alloc(size, 1);
        head_fill(bytes, size, words);
    }
    free(words);
    return bytes;
}

char *cache_file_write(struct cache_record *record, size_t *length)
{
    char *words, *bytes;
    size_t wanted;

    check_hex(record->body != NULL ? record->body : "", record->length,
              record->check);
    words = head_write(record);
    wanted = DIGEST_SIZE + strlen(words) + 1;
    record->head_size = (wanted + HEAD_STEP - 1) / HEAD_STEP * HEAD_STEP;
    *length = record->head_size + record->length;
    bytes = mem_resize(NULL, *length, 1);
    head_fill(bytes, record->head_size, words);
    if (record->length > 0)
        memcpy(bytes + record->head_size, record->body, record->length);
    free(words);
    return bytes;
}
