#include "net/cache.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"
#include "net/cache_file.h"

enum { DIGEST_LENGTH = DIGEST_SIZE - 1 };

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

static void record_copy(const struct cache_record *record,
                        struct cache_record *out)
{
    *out = *record;
    out->head_size = 0;
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

    record_copy(record, &copy);
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
        record_copy(&cache->unsaved[at], out);
        return;
    }
    path = record_path(cache, key);
    if (!file_exists(path)) {
        free(path);
        return;
    }
    if (file_read(path, max_bytes + CACHE_HEAD_MAX_BYTES, &bytes, &length,
                  &err) != 0) {
        log_warn("%s; it is not used", err.text);
    } else if (!cache_file_read(bytes, length, key, out)) {
        log_warn("%s: is damaged; it is not used", path);
        cache_record_free(out);
        record_clear(out, key);
    }
    free(bytes);
    free(path);
}

/* Room for `size` bytes in an open file. */
static bool has_room(int fd, const struct stat *status, size_t size)
{
    enum {
        BLOCK_BYTES = 512
    }; /* of st_blocks: POSIX leaves it open, Linux
          does not */

    return (size_t)status->st_blocks * BLOCK_BYTES >= size ||
           posix_fallocate(fd, 0, (off_t)size) == 0;
}

/* A record's file for what is written into it; nothing but a file is. -1 with
 * nothing open where there is none. */
static int open_record(const char *path, struct stat *status)
{
    int fd = open(path, O_WRONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);

    if (fd >= 0 && (fstat(fd, status) != 0 || !S_ISREG(status->st_mode))) {
        close(fd);
        return -1;
    }
    return fd;
}

/* Over the old bytes, where there is room: a file made and one taken away for
 * each answer cost more than all that is written. Whoever is killed in between
 * loses the answer. */
static bool put_over(const char *path, const char *bytes, size_t size)
{
    struct stat status;
    int fd = open_record(path, &status);
    bool good;

    if (fd < 0)
        return false;
    good = status.st_nlink == 1 && has_room(fd, &status, size) &&
           pwrite(fd, bytes, size, 0) == (ssize_t)size &&
           (status.st_size <= (off_t)size || ftruncate(fd, (off_t)size) == 0);
    return close(fd) == 0 && good;
}

void cache_save(struct cache *cache, struct cache_record *record)
{
    char *path = record_path(cache, record->key);
    struct error err = {""};
    size_t size;
    char *bytes = cache_file_write(record, &size);

    if (!put_over(path, bytes, size) &&
        file_write_loose(path, bytes, size, 0600, &err) != 0) {
        record->head_size = 0;
        if (cache->unsaved_count == 0)
            log_error(_("%s; answers are kept in memory alone until they can "
                        "be written"),
                      err.text);
        unsaved_keep(cache, record);
    } else {
        unsaved_drop(cache, record->key);
    }
    free(bytes);
    free(path);
}

/* The file must be what was read: nothing else is written into. */
static bool put_head(const char *path, const char *head,
                     const struct cache_record *record)
{
    struct stat status;
    int fd = open_record(path, &status);
    bool good;

    if (fd < 0)
        return false;
    good = status.st_size == (off_t)(record->head_size + record->length) &&
           pwrite(fd, head, record->head_size, 0) == (ssize_t)record->head_size;
    return close(fd) == 0 && good;
}

void cache_save_head(struct cache *cache, struct cache_record *record)
{
    char *head = cache_file_head(record, record->head_size);
    char *path = record_path(cache, record->key);

    if (head == NULL || unsaved_find(cache, record->key) >= 0 ||
        !put_head(path, head, record))
        cache_save(cache, record);
    free(path);
    free(head);
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
