/* What is told of stores beside this one, and of this one before it is opened.
 */
#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/units.h"
#include "base/words.h"
#include "store/care.h"
#include "store/schema.h"
#include "store/store_private.h"

static int judge(sqlite3 *db, const char *path, struct error *err)
{
    sqlite3_int64 version = 0, id = 0;

    if (store_number(db, "PRAGMA user_version", &version) != 0 ||
        store_number(db, "PRAGMA application_id", &id) != 0)
        return store_is_damage(sqlite3_errcode(db))
                   ? error_set(err, _("%s: the database is damaged"), path)
                   : store_tell(db, path, err);
    if (sqlite3_db_readonly(db, "main") == 1)
        return error_set(err, "%s: %s", path, sqlite3_errstr(SQLITE_READONLY));
    if (schema_fits(version, id, err) != 0)
        return error_prefix(err, "%s: ", path);
    return 0;
}

int store_try(const char *path, struct error *err)
{
    sqlite3 *db;
    int result;

    if (!file_exists(path) && errno == ENOENT)
        return 0;
    if (store_open_beside(path, &db, err) != 0)
        return -1;
    result = judge(db, path, err);
    sqlite3_close(db);
    return result;
}

/* The seconds in "thawbell.db.damaged-SECONDS"; false for another name, such
 * as that of its log. */
static bool set_aside_at(const char *name, const char *store, long *at)
{
    static const char mark[] = ".damaged-";
    size_t length = strlen(store);

    return strncmp(name, store, length) == 0 &&
           strncmp(name + length, mark, sizeof mark - 1) == 0 &&
           integer_parse(name + length + sizeof mark - 1, 0, 99999999999, at);
}

static int by_time(const void *a, const void *b)
{
    long one = *(const long *)a, other = *(const long *)b;

    return one < other ? -1 : one > other;
}

static int find_times(const char *folder, const char *store, long **times)
{
    DIR *entries = opendir(folder);
    const struct dirent *entry;
    int count = 0;
    long at;

    *times = NULL;
    if (entries == NULL)
        return 0;
    while ((entry = readdir(entries)) != NULL)
        if (set_aside_at(entry->d_name, store, &at)) {
            *times = mem_resize(*times, (size_t)count + 1, sizeof **times);
            (*times)[count++] = at;
        }
    closedir(entries);
    if (count > 0)
        qsort(*times, (size_t)count, sizeof **times, by_time);
    return count;
}

void store_set_aside_list(const char *path, struct error_list *out)
{
    const char *slash = strrchr(path, '/');
    char *folder = slash != NULL ? mem_copy_bytes(path, (size_t)(slash - path))
                                 : mem_copy_text(".");
    char when[ISO_TIME_SIZE];
    long *times;
    int count = find_times(folder, slash != NULL ? slash + 1 : path, &times);

    for (int i = 0; i < count; i++) {
        iso_time_utc((utc_s)times[i], when);
        error_list_add(
            out,
            _("%s.damaged-%ld: this store was damaged and set aside at %s; the "
              "logbook of before may be in it. \"thawbell store export --from "
              "FILE\" writes what can be read of it; remove it once it has "
              "been "
              "looked at"),
            path, times[i], when);
    }
    free(times);
    free(folder);
}
