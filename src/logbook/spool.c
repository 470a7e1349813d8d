#include "logbook/spool.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "logbook/log_json.h"

static const char ending[] = ".json";

/* SLUG.UID.json; a slug holds no dot. */
static bool is_ours(const char *name, const char *operation)
{
    size_t slug = strlen(operation), length = strlen(name);

    return strncmp(name, operation, slug) == 0 && name[slug] == '.' &&
           length > slug + sizeof ending &&
           strcmp(name + length - (sizeof ending - 1), ending) == 0;
}

static int compare_names(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static int list_names(const char *folder, const char *operation, char ***names,
                      int *count, struct error *err)
{
    DIR *dir = opendir(folder);
    struct dirent *entry;

    *names = NULL;
    *count = 0;
    if (dir == NULL)
        return errno == ENOENT ? 0
                               : error_set(err, _("%s: cannot be read: %s"),
                                           folder, words_errno(errno));
    while ((entry = readdir(dir)) != NULL) {
        if (!is_ours(entry->d_name, operation))
            continue;
        *names = mem_resize(*names, (size_t)*count + 1, sizeof **names);
        (*names)[(*count)++] = mem_copy_text(entry->d_name);
    }
    closedir(dir);
    if (*count > 0)
        qsort(*names, (size_t)*count, sizeof **names, compare_names);
    return 0;
}

/* A link, a pipe or a folder is none of ours: it is not opened. */
static bool is_plain(struct spool_file *file)
{
    struct stat status;

    if (lstat(file->path, &status) != 0) {
        error_set(&file->trouble, _("%s: cannot be read: %s"), file->path,
                  words_errno(errno));
        return false;
    }
    if (S_ISREG(status.st_mode))
        return true;
    file->bad = true;
    error_set(&file->trouble, _("%s: is not a regular file"), file->path);
    return false;
}

static void read_file(struct spool_file *file, const char *operation)
{
    char *bytes;
    size_t length;

    if (!is_plain(file) || file_read(file->path, SPOOL_MAX_BYTES, &bytes,
                                     &length, &file->trouble) != 0)
        return;
    if (log_json_read(bytes, length, operation, &file->records,
                      &file->trouble) != 0) {
        file->bad = true;
        error_prefix(&file->trouble, "%s: ", file->path);
        logbook_free(&file->records);
    }
    free(bytes);
    for (int i = 0; i < file->records.count; i++) {
        /* Numbers are the daemon's to give. */
        file->records.records[i].number = 0;
        file->records.records[i].waiting = true;
    }
}

int spool_read(const char *folder, const char *operation, struct spool *out,
               struct error *err)
{
    char **names;
    int count;

    *out = (struct spool){0};
    if (list_names(folder, operation, &names, &count, err) != 0)
        return -1;
    out->files = mem_alloc((size_t)count + 1, sizeof *out->files);
    out->more = count > SPOOL_MAX_FILES;
    for (int i = 0; i < count; i++) {
        if (i < SPOOL_MAX_FILES) {
            struct spool_file *file = &out->files[out->count++];

            file->path = file_join(folder, names[i]);
            read_file(file, operation);
        }
        free(names[i]);
    }
    free(names);
    return 0;
}

void spool_free(struct spool *spool)
{
    for (int i = 0; i < spool->count; i++) {
        free(spool->files[i].path);
        logbook_free(&spool->files[i].records);
    }
    free(spool->files);
    *spool = (struct spool){0};
}

int spool_write(const char *folder, const char *operation,
                const struct logbook *records, struct error *err)
{
    char *name, *path, *json;
    int result;

    if (!file_exists(folder) && file_make_folder(folder, 0700, err) != 0)
        return -1;
    name = mem_format("%s.%s%s", operation, records->records[0].uid, ending);
    path = file_join(folder, name);
    json = log_json_write(operation, records);
    result = file_write_whole(path, json, strlen(json), 0660, err);
    free(json);
    free(path);
    free(name);
    return result;
}

int spool_remove(const struct spool_file *file, struct error *err)
{
    if (unlink(file->path) == 0 || errno == ENOENT)
        return 0;
    return error_set(err, _("%s: cannot be removed: %s"), file->path,
                     words_errno(errno));
}

int spool_set_aside(const struct spool_file *file, char **aside,
                    struct error *err)
{
    *aside = mem_format("%s.bad", file->path);
    if (rename(file->path, *aside) == 0)
        return 0;
    error_set(err, _("%s: cannot be set aside: %s"), file->path,
              words_errno(errno));
    free(*aside);
    *aside = NULL;
    return -1;
}
