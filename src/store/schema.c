#include "store/schema.h"

#include <sqlite3.h>
#include <stddef.h>

#include "base/words.h"
#include "store/store_private.h"
#include "store/weather_place.h"

/* What SQL cannot do stands between `sql` and `after`. */
struct migration {
    const char *sql;
    int (*move)(sqlite3 *db, struct error *err);
    const char *after;
};

/* Each migration is one transaction; the step's number is the user_version
 * that it leaves. Never change one that has been released: add another. */
static const struct migration migrations[] = {
    /* 1 */
    {"CREATE TABLE weather("
     " operation TEXT NOT NULL, bush TEXT NOT NULL, hour INTEGER NOT NULL,"
     " quantity TEXT NOT NULL, value REAL NOT NULL, origin INTEGER NOT NULL,"
     " source TEXT NOT NULL, issued INTEGER NOT NULL,"
     " fetched INTEGER NOT NULL,"
     " PRIMARY KEY(operation, bush, hour, quantity)) STRICT, WITHOUT ROWID;"
     "CREATE TABLE event("
     " operation TEXT NOT NULL, uid TEXT NOT NULL, json TEXT NOT NULL,"
     " PRIMARY KEY(operation, uid)) STRICT, WITHOUT ROWID;"
     "CREATE TABLE score("
     " operation TEXT NOT NULL, bush TEXT NOT NULL, date TEXT NOT NULL,"
     " issued INTEGER NOT NULL, made INTEGER NOT NULL,"
     " source TEXT NOT NULL, model TEXT NOT NULL,"
     " model_version TEXT NOT NULL, model_digest TEXT NOT NULL,"
     " sap_l_per_tap_p10 REAL NOT NULL, sap_l_per_tap_p50 REAL NOT NULL,"
     " sap_l_per_tap_p90 REAL NOT NULL, chance REAL NOT NULL,"
     " PRIMARY KEY(operation, bush, date, issued)) STRICT, WITHOUT ROWID;"
     "CREATE TABLE note("
     " operation TEXT NOT NULL, name TEXT NOT NULL, value TEXT NOT NULL,"
     " PRIMARY KEY(operation, name)) STRICT, WITHOUT ROWID;",
     NULL, NULL},
    /* 2: the logbook; records are only ever added. A removal has no kind. */
    {"CREATE TABLE log_record("
     " operation TEXT NOT NULL, uid TEXT NOT NULL, number INTEGER,"
     " change TEXT NOT NULL, target TEXT NOT NULL, written INTEGER NOT NULL,"
     " taken INTEGER NOT NULL, kind TEXT, at INTEGER, bush TEXT,"
     " sap_l REAL, sap_brix REAL, hours REAL, syrup_l REAL, syrup_brix REAL,"
     " light_pct REAL, grade TEXT, sign TEXT, remark TEXT,"
     " PRIMARY KEY(operation, uid)) STRICT, WITHOUT ROWID;"
     "CREATE UNIQUE INDEX log_number ON log_record(operation, number);",
     NULL, NULL},
    /* 3: mail, and its way to each recipient (outbox.h). A mail is what all
     * of them get; head is what one alone gets, frozen. */
    {"CREATE TABLE mail("
     " id INTEGER PRIMARY KEY AUTOINCREMENT, operation TEXT NOT NULL,"
     " name TEXT NOT NULL, kind TEXT NOT NULL, sender TEXT NOT NULL,"
     " made INTEGER NOT NULL, best_before INTEGER NOT NULL,"
     " body BLOB NOT NULL, UNIQUE(operation, name)) STRICT;"
     "CREATE TABLE outbox("
     " id INTEGER PRIMARY KEY AUTOINCREMENT,"
     " mail INTEGER NOT NULL REFERENCES mail(id) ON DELETE CASCADE,"
     " recipient TEXT NOT NULL, message_id TEXT NOT NULL,"
     " head TEXT NOT NULL, state TEXT NOT NULL, attempts INTEGER NOT NULL,"
     " next INTEGER NOT NULL, attempted INTEGER NOT NULL,"
     " settled INTEGER NOT NULL, reply INTEGER NOT NULL,"
     " words TEXT NOT NULL, UNIQUE(mail, recipient)) STRICT;"
     "CREATE INDEX outbox_due ON outbox(state, next);",
     NULL, NULL},
    /* 4: weather by days (weather_day.h); a row an hour and quantity took ten
     * times the time and room. */
    {"CREATE TABLE weather_place("
     " place INTEGER PRIMARY KEY, operation TEXT NOT NULL, bush TEXT NOT NULL,"
     " UNIQUE(operation, bush)) STRICT;"
     "CREATE TABLE weather_day("
     " day INTEGER PRIMARY KEY, hours BLOB NOT NULL) STRICT;"
     "INSERT INTO weather_place(operation, bush)"
     " SELECT DISTINCT operation, bush FROM weather;",
     weather_move, "DROP TABLE weather;"},
    /* 5: the plan as told, an opaque JSON text; with row ids, since rows of
     * two thousand bytes make a tree of keys slow and half empty. */
    {"CREATE TABLE plan("
     " operation TEXT NOT NULL, made INTEGER NOT NULL, json TEXT NOT NULL,"
     " PRIMARY KEY(operation, made)) STRICT;",
     NULL, NULL},
};

enum { MIGRATION_COUNT = sizeof migrations / sizeof migrations[0] };

static int run(sqlite3 *db, const char *sql, struct error *err)
{
    if (sqlite3_exec(db, sql, NULL, NULL, NULL) == SQLITE_OK)
        return 0;
    return error_set(err, "%s", sqlite3_errmsg(db));
}

static int migrate_one(sqlite3 *db, int step, struct error *err)
{
    const struct migration *migration = &migrations[step - 1];
    char *sql = sqlite3_mprintf(
        "%s PRAGMA user_version=%d;PRAGMA application_id=%d;COMMIT;",
        migration->after != NULL ? migration->after : "", step,
        STORE_APPLICATION_ID);
    int result;

    if (sql == NULL)
        return error_set(err, "%s", _("out of memory"));
    result = run(db, "BEGIN IMMEDIATE", err);
    if (result == 0)
        result = run(db, migration->sql, err);
    if (result == 0 && migration->move != NULL)
        result = migration->move(db, err);
    if (result == 0)
        result = run(db, sql, err);
    if (result != 0)
        sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL);
    sqlite3_free(sql);
    return result;
}

int schema_version(void)
{
    return MIGRATION_COUNT;
}

int schema_fits(sqlite3_int64 version, sqlite3_int64 application,
                struct error *err)
{
    if (version < 0 ||
        (application != 0 && application != STORE_APPLICATION_ID))
        return error_set(err, "%s", _("it is the database of another program"));
    if (version > MIGRATION_COUNT)
        return error_set(err,
                         _("it was written by a newer thawbell (store version "
                           "%d, this program knows %d): update the program"),
                         (int)version, (int)MIGRATION_COUNT);
    return 0;
}

int schema_migrate(sqlite3 *db, struct error *err)
{
    sqlite3_int64 version = 0, application = 0;

    if (store_number(db, "PRAGMA user_version", &version) != 0 ||
        store_number(db, "PRAGMA application_id", &application) != 0)
        return error_set(err, "%s", sqlite3_errmsg(db));
    if (schema_fits(version, application, err) != 0)
        return -1;
    for (int step = (int)version + 1; step <= MIGRATION_COUNT; step++)
        if (migrate_one(db, step, err) != 0)
            return -1;
    return 0;
}
