#include "store/store_private.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/units.h"
#include "base/words.h"
#include "store/schema.h"

enum { SPARE_BYTES = 4 * 1024 * 1024 };

/* Of a full disk SQLite keeps no errno. */
const char *store_why(sqlite3 *db)
{
    int code = sqlite3_errcode(db) & 0xff;
    int why = code == SQLITE_FULL ? ENOSPC : sqlite3_system_errno(db);

    if (why != 0 && (code == SQLITE_IOERR || code == SQLITE_CANTOPEN ||
                     code == SQLITE_FULL))
        return words_errno(why);
    return sqlite3_errmsg(db);
}

int store_tell(sqlite3 *db, const char *path, struct error *err)
{
    int code = sqlite3_errcode(db) & 0xff;

    if (code == SQLITE_IOERR || code == SQLITE_CANTOPEN || code == SQLITE_FULL)
        return error_set(err, _("%s: the database cannot be used: %s"), path,
                         store_why(db));
    return error_set(err, "%s: %s", path, sqlite3_errmsg(db));
}

int store_fail(struct store *store, struct error *err)
{
    if (store_is_damage(sqlite3_errcode(store->db)))
        store->damaged = true;
    return store_tell(store->db, store->path, err);
}

static int store_exec(struct store *store, const char *sql, struct error *err)
{
    if (sqlite3_exec(store->db, sql, NULL, NULL, NULL) != SQLITE_OK)
        return store_fail(store, err);
    return 0;
}

int store_begin(struct store *store, struct error *err)
{
    return store_finish(store, store_prepare(store, "BEGIN IMMEDIATE", err),
                        err);
}

int store_commit(struct store *store, struct error *err)
{
    if (store_finish(store, store_prepare(store, "COMMIT", err), err) != 0) {
        store_rollback(store);
        return -1;
    }
    return 0;
}

void store_rollback(struct store *store)
{
    if (store_is_begun(store))
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
}

/* SQLite itself is asked: some failures end a transaction unasked. */
bool store_is_begun(struct store *store)
{
    return sqlite3_get_autocommit(store->db) == 0;
}

int store_enter(struct store *store, bool *own, struct error *err)
{
    *own = !store_is_begun(store);
    return *own ? store_begin(store, err) : 0;
}

int store_leave(struct store *store, bool own, int result, struct error *err)
{
    if (!own)
        return result;
    if (result == 0)
        return store_commit(store, err);
    store_rollback(store);
    return result;
}

bool store_is_damage(int code)
{
    return (code & 0xff) == SQLITE_CORRUPT || (code & 0xff) == SQLITE_NOTADB;
}

bool store_tells_damage(const char *words)
{
    static const char mark[] = "error code";
    const char *code = strstr(words, mark);
    char digits[8] = "";
    long number;

    if (code == NULL)
        return true;
    code += sizeof mark - 1;
    code += strspn(code, "= ");
    snprintf(digits, sizeof digits, "%.*s", (int)strspn(code, "0123456789"),
             code);
    return !integer_parse(digits, 0, 999999, &number) ||
           store_is_damage((int)number);
}

static bool looks_damaged(sqlite3 *db)
{
    sqlite3_stmt *row = NULL;
    bool damaged = false;
    int code = sqlite3_prepare_v2(db, "PRAGMA quick_check(1)", -1, &row, NULL);

    if (code == SQLITE_OK)
        code = sqlite3_step(row);
    if (code == SQLITE_ROW) {
        const char *words = store_column_words(row, 0);

        damaged = words != NULL && strcmp(words, "ok") != 0 &&
                  store_tells_damage(words);
    } else {
        damaged = store_is_damage(code);
    }
    sqlite3_finalize(row);
    return damaged;
}

/* A file that cannot be read for another reason (permission, disk, memory) is
 * not called damaged: it would be set aside. So it is looked at again, with
 * memory to spare. */
static bool store_damaged(sqlite3 *db)
{
    if (!looks_damaged(db))
        return false;
    mem_spare(SPARE_BYTES);
    return looks_damaged(db);
}

static int store_settings(struct store *store, struct error *err)
{
    sqlite3_busy_timeout(store->db, 5000);
    return store_exec(store,
                      "PRAGMA trusted_schema=OFF;PRAGMA foreign_keys=ON;"
                      "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;",
                      err);
}

/* SQLite would make it as open as the umask allows; its log takes the file's
 * own permissions. What cannot be made, SQLite tells. */
static void make_private(const char *path)
{
    int fd;

    if (strcmp(path, ":memory:") == 0) /* SQLite's name for no file */
        return;
    fd = open(path, O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0600);
    if (fd >= 0)
        close(fd);
}

static int store_open_file(struct store *store, bool *damaged,
                           struct error *err)
{
    int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;

    *damaged = false;
    make_private(store->path);
    if (sqlite3_open_v2(store->path, &store->db, flags, NULL) != SQLITE_OK)
        return store_fail(store, err);
    if (store_damaged(store->db)) {
        *damaged = true;
        return error_set(err, _("%s: the database is damaged"), store->path);
    }
    if (store_settings(store, err) != 0)
        return -1;
    if (schema_migrate(store->db, err) != 0)
        return error_prefix(err, "%s: ", store->path);
    return 0;
}

/* One that is there already stays: then by a later second. */
static char *free_name(const struct store *store, utc_s now)
{
    char *name = mem_format("%s.damaged-%lld", store->path, (long long)now);

    while (file_exists(name)) {
        free(name);
        name = mem_format("%s.damaged-%lld", store->path, (long long)++now);
    }
    return name;
}

/* The write-ahead log belongs to the damaged file and goes with it. */
static int store_set_aside(struct store *store, utc_s now, char **warning,
                           struct error *err)
{
    static const char *const parts[] = {"", "-wal", "-shm"};
    char *aside = free_name(store, now);

    store_forget_statements(store);
    sqlite3_close(store->db);
    store->db = NULL;
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        char *from = mem_format("%s%s", store->path, parts[i]);
        char *to = mem_format("%s%s", aside, parts[i]);
        int code = rename(from, to);
        int why = errno;

        free(from);
        free(to);
        if (code != 0 && i == 0) {
            free(aside);
            return error_set(err,
                             _("%s: the database is damaged and cannot be set "
                               "aside: %s"),
                             store->path, words_errno(why));
        }
    }
    *warning = mem_format(_("%s: the database was damaged; it is kept as %s "
                            "and a new one was begun"),
                          store->path, aside);
    free(aside);
    return 0;
}

int store_open(const char *path, utc_s now, struct store **out, char **warning,
               struct error *err)
{
    struct store *store = mem_alloc(1, sizeof *store);
    bool damaged;
    int result;

    *warning = NULL;
    store->path = mem_copy_text(path);
    result = store_open_file(store, &damaged, err);
    if (result != 0 && damaged) {
        result = store_set_aside(store, now, warning, err);
        if (result == 0)
            result = store_open_file(store, &damaged, err);
    }
    if (result != 0) {
        store_close(store);
        return -1;
    }
    *out = store;
    return 0;
}

bool store_lost(struct store *store)
{
    int moved = 0;

    return store->damaged ||
           (sqlite3_file_control(store->db, "main", SQLITE_FCNTL_HAS_MOVED,
                                 &moved) == SQLITE_OK &&
            moved != 0);
}

void store_rest(struct store *store)
{
    sqlite3_db_release_memory(store->db);
}

void store_close(struct store *store)
{
    if (store == NULL)
        return;
    store_forget_statements(store);
    sqlite3_close(store->db);
    free(store->path);
    free(store);
}
