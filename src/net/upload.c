#include "net/upload.h"

#include <stdlib.h>
#include <string.h>

#include "base/digest.h"
#include "base/file.h"
#include "base/json.h"
#include "base/memory.h"
#include "base/words.h"
#include "net/upload_send.h"

enum { MEMORY_MAX_BYTES = 64 * 1024, FILE_MAX_BYTES = 16 * 1024 * 1024 };

/* What lies at the host: {"target": digest of the address and name, "files":
 * {name: digest}}. Never NULL; empty for another target. */
static cJSON *memory_read(const char *path, const char *target)
{
    size_t length = 0;
    char *bytes = NULL;
    cJSON *memory = NULL;
    const char *whose;

    if (file_read(path, MEMORY_MAX_BYTES, &bytes, &length, NULL) == 0)
        memory = json_parse(bytes, length, NULL);
    free(bytes);
    whose = memory != NULL ? json_string(memory, "target") : NULL;
    if (whose != NULL && strcmp(whose, target) == 0 &&
        json_object(memory, "files") != NULL)
        return memory;
    cJSON_Delete(memory);
    memory = cJSON_CreateObject();
    cJSON_AddStringToObject(memory, "target", target);
    cJSON_AddObjectToObject(memory, "files");
    return memory;
}

static void memory_set(cJSON *memory, const char *name, const char *digest)
{
    cJSON *files = cJSON_GetObjectItemCaseSensitive(memory, "files");

    cJSON_DeleteItemFromObjectCaseSensitive(files, name);
    cJSON_AddStringToObject(files, name, digest);
}

static int memory_write(const cJSON *memory, const char *path,
                        struct error *err)
{
    char *bytes = cJSON_Print(memory);
    int code = file_write_whole(path, bytes, strlen(bytes), 0600, err);

    cJSON_free(bytes);
    return code;
}

static void target_digest(const struct upload_target *target,
                          char out[DIGEST_SIZE])
{
    char *words = mem_format("%s %s", target->url,
                             target->user != NULL ? target->user : "");

    digest_hex(words, strlen(words), out);
    free(words);
}

static int send_one(struct upload_link *link, cJSON *memory,
                    const char *memory_path, const char *name,
                    const char *bytes, size_t length, const char *digest,
                    struct error *err)
{
    if (upload_send(link, name, bytes, length, err) != 0)
        return -1;
    memory_set(memory, name, digest);
    return memory_write(memory, memory_path, err);
}

static bool held(const cJSON *memory, const char *name, const char *digest)
{
    const char *there = json_string(json_object(memory, "files"), name);

    return there != NULL && strcmp(there, digest) == 0;
}

int upload_folder(const struct upload_target *target, const char *folder,
                  const char *const *names, int count, const char *memory_path,
                  const atomic_bool *stop, struct upload_result *result,
                  struct error *err)
{
    char key[DIGEST_SIZE], digest[DIGEST_SIZE];
    struct upload_link link;
    cJSON *memory;
    int code = upload_link_open(&link, target, stop, err);

    memset(result, 0, sizeof *result);
    target_digest(target, key);
    memory = memory_read(memory_path, key);
    for (int i = 0; i < count && code == 0; i++) {
        char *path = file_join(folder, names[i]), *bytes = NULL;
        size_t length = 0;

        if (file_exists(path))
            code = file_read(path, FILE_MAX_BYTES, &bytes, &length, err);
        if (bytes != NULL) {
            digest_hex(bytes, length, digest);
            if (held(memory, names[i], digest)) {
                result->unchanged++;
            } else {
                code = send_one(&link, memory, memory_path, names[i], bytes,
                                length, digest, err);
                result->sent += code == 0;
            }
        }
        free(bytes);
        free(path);
    }
    cJSON_Delete(memory);
    upload_link_close(&link);
    return code;
}
