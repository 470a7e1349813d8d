#include "store/care.h"

#include <errno.h>
#include <fcntl.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "store/schema.h"
#include "store/store_private.h"

enum { BUSY_MS = 5000, PAGES_A_STEP = 256, MAX_FOUND = 20 };

int store_open_beside(const char *path, sqlite3 **db, struct error *err)
{
    *db = NULL;
    if (!file_exists(path))
        return errno != ENOENT
                   ? error_set(err, _("%s: cannot be read: %s"), path,
                               words_errno(errno))
                   : error_set(err, _("%s: there is no store yet"), path);
    if (sqlite3_open_v2(path, db, SQLITE_OPEN_READWRITE, NULL) != SQLITE_OK) {
        store_tell(*db, path, err);
        sqlite3_close(*db);
        return -1;
    }
    sqlite3_busy_timeout(*db, BUSY_MS);
    return 0;
}

/* SQLite puts several findings into one answer, under headings in stars. */
static void add_lines(const char *words, struct error_list *found)
{
    for (const char *line = words; *line != '\0';) {
        size_t length = strcspn(line, "\n");

        if (length > 0 && line[0] != '*' && found->count < MAX_FOUND)
            error_list_add(found, "%.*s", (int)length, line);
        line += length + (line[length] == '\n');
    }
    if (found->count == 0)
        error_list_add(found, "%s", words);
}

/* Damage is a finding; a disk or memory that fails is not, and is told. */
static int add_trouble(sqlite3 *db, const char *path, struct error_list *found,
                       struct error *err)
{
    if (!store_is_damage(sqlite3_errcode(db)))
        return store_tell(db, path, err);
    error_list_add(found, "%s", sqlite3_errmsg(db));
    return 0;
}

static int add_finding(const char *words, const char *path,
                       struct error_list *found, struct error *err)
{
    if (strcmp(words, "ok") == 0)
        return 0;
    if (!store_tells_damage(words))
        return error_set(err, "%s: %s", path, words);
    add_lines(words, found);
    return 0;
}

static int add_integrity(sqlite3 *db, const char *path,
                         struct error_list *found, struct error *err)
{
    sqlite3_stmt *row = NULL;
    int result = 0, code = sqlite3_prepare_v2(db, "PRAGMA integrity_check(20)",
                                              -1, &row, NULL);

    while (result == 0 && (code == SQLITE_OK || code == SQLITE_ROW)) {
        code = sqlite3_step(row);
        if (code == SQLITE_ROW)
            result = add_finding(store_column_words(row, 0), path, found, err);
    }
    if (result == 0 && code != SQLITE_DONE)
        result = add_trouble(db, path, found, err);
    sqlite3_finalize(row);
    return result;
}

static int count_table(sqlite3 *db, const char *path, const char *table,
                       struct error_list *facts, struct error_list *found,
                       struct error *err)
{
    char *sql = sqlite3_mprintf("SELECT count(*) FROM \"%w\"", table);
    sqlite3_int64 rows = 0;
    int result;

    if (sql == NULL)
        mem_fail();
    result = store_number(db, sql, &rows);
    sqlite3_free(sql);
    if (result != 0)
        return add_trouble(db, path, found, err);
    error_list_add(
        facts, words_count("table %s: %lld row", "table %s: %lld rows", rows),
        table, (long long)rows);
    return 0;
}

static int count_tables(sqlite3 *db, const char *path, struct error_list *facts,
                        struct error_list *found, struct error *err)
{
    sqlite3_stmt *row = NULL;
    int result = 0, code = sqlite3_prepare_v2(
                        db,
                        "SELECT name FROM sqlite_schema WHERE type='table'"
                        " AND name NOT LIKE 'sqlite_%' ORDER BY name",
                        -1, &row, NULL);

    while (result == 0 && (code == SQLITE_OK || code == SQLITE_ROW)) {
        code = sqlite3_step(row);
        if (code == SQLITE_ROW)
            result = count_table(db, path, store_column_words(row, 0), facts,
                                 found, err);
    }
    if (result == 0 && code != SQLITE_DONE)
        result = add_trouble(db, path, found, err);
    sqlite3_finalize(row);
    return result;
}

static void add_version(sqlite3_int64 id, sqlite3_int64 version,
                        struct error_list *found)
{
    if (id != STORE_APPLICATION_ID)
        error_list_add(found, "%s", _("it is the database of another program"));
    if (version > schema_version())
        error_list_add(found, "%s",
                       _("it was written by a newer thawbell: update the "
                         "program"));
}

static int add_facts(sqlite3 *db, const char *path, struct error_list *facts,
                     struct error_list *found, struct error *err)
{
    sqlite3_int64 id = 0, version = 0;
    struct stat status;

    if (store_number(db, "PRAGMA user_version", &version) != 0 ||
        store_number(db, "PRAGMA application_id", &id) != 0)
        return add_trouble(db, path, found, err);
    if (stat(path, &status) == 0)
        error_list_add(facts, _("%s: %lld kB, version %lld"), path,
                       (long long)status.st_size / 1024, (long long)version);
    add_version(id, version, found);
    return count_tables(db, path, facts, found, err);
}

int store_inspect(const char *path, struct error_list *facts,
                  struct error_list *found, struct error *err)
{
    sqlite3 *db;
    int result;

    if (store_open_beside(path, &db, err) != 0)
        return -1;
    result = add_integrity(db, path, found, err);
    if (result == 0 && found->count == 0)
        result = add_facts(db, path, facts, found, err);
    sqlite3_close(db);
    return result;
}

/* Says of the copy being written what is wrong with it. Which of both files
 * failed SQLite does not tell, but where one was read it is the store. */
static int copy_fail(sqlite3 *to, const char *path, const char *target,
                     struct error *err)
{
    int code = sqlite3_extended_errcode(to);

    if (store_is_damage(code))
        return error_set(err,
                         _("nothing was copied, for the store is damaged: %s"),
                         sqlite3_errmsg(to));
    if (code == SQLITE_IOERR_READ || code == SQLITE_IOERR_SHORT_READ)
        return store_tell(to, path, err);
    return error_set(err, _("%s: cannot be written: %s"), target,
                     store_why(to));
}

static int copy_pages(sqlite3 *from, sqlite3 *to)
{
    sqlite3_backup *backup = sqlite3_backup_init(to, "main", from, "main");
    int code = backup == NULL ? SQLITE_ERROR : SQLITE_OK;

    while (code == SQLITE_OK || code == SQLITE_BUSY || code == SQLITE_LOCKED) {
        code = sqlite3_backup_step(backup, PAGES_A_STEP);
        if (code == SQLITE_BUSY || code == SQLITE_LOCKED)
            sqlite3_sleep(50);
    }
    if (backup != NULL)
        sqlite3_backup_finish(backup);
    return code == SQLITE_DONE ? 0 : -1;
}

/* One file, without a log beside it: a copy is to be carried about. */
static int drop_log(sqlite3 *to)
{
    return sqlite3_exec(to, "PRAGMA journal_mode=DELETE", NULL, NULL, NULL) ==
                   SQLITE_OK
               ? 0
               : -1;
}

static int look_at_copy(sqlite3 *to, const char *target, struct error *err)
{
    struct error_list found = {NULL, 0};
    int result = add_integrity(to, target, &found, err);

    if (result == 0 && found.count > 0)
        result = error_set(err,
                           _("nothing was copied, for the store is damaged: "
                             "%s"),
                           found.items[0]);
    error_list_free(&found);
    return result;
}

/* Into `part`; what is told is told of the store at `path` and of `target`. */
static int write_copy(sqlite3 *from, const char *path, const char *part,
                      const char *target, struct error *err)
{
    int fd = open(part, O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0600);
    sqlite3 *to = NULL;
    int result;

    if (fd < 0)
        return error_set(err, _("%s: cannot be made: %s"), target,
                         words_errno(errno));
    close(fd);
    result = sqlite3_open_v2(part, &to, SQLITE_OPEN_READWRITE, NULL);
    if (result != SQLITE_OK || copy_pages(from, to) != 0 || drop_log(to) != 0)
        result = copy_fail(to, path, target, err);
    else
        result = look_at_copy(to, target, err);
    sqlite3_close(to);
    return result;
}

int store_backup(const char *path, const char *target, struct error *err)
{
    char *part;
    sqlite3 *db;
    int result;

    if (file_exists(target))
        return error_set(err, _("%s is there already: name another file"),
                         target);
    if (store_open_beside(path, &db, err) != 0)
        return -1;
    part = mem_format("%s.part-%ld", target, (long)getpid());
    result = write_copy(db, path, part, target, err);
    if (result == 0)
        result = file_put_in_place(part, target, err);
    else
        unlink(part);
    sqlite3_close(db);
    free(part);
    return result;
}
