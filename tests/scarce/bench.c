#include "bench.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/file.h"
#include "base/log.h"
#include "base/memory.h"
#include "demo_bend.h"
#include "logbook/log_json.h"
#include "logbook/spool.h"
#include "publish/bulletin.h"
#include "publish/calendar.h"
#include "publish/page.h"
#include "store/care.h"
#include "store/store.h"
#include "turn/file_transport.h"
#include "turn/turn.h"

static const char *const published[] = {"bulletin.json", "calendar.ics",
                                        "index.html", "logbook.json"};
enum { PUBLISHED = sizeof published / sizeof *published };

#define SPARE ".bulletin.json.old"
#define NOTE_TAKEN "20260305T090000Z-0000000000000001"

static char root[200], model[300], work[300];
/* What was published at first. */
static char *old[PUBLISHED];

static _Noreturn void stop(const char *attempt, const char *what)
{
    fprintf(stderr, "%s: %s\n", attempt, what);
    exit(1);
}

static void must(int result, const struct error *err)
{
    if (result != 0)
        stop("preparation", err->text);
}

char *bench_path(const char *folder, const char *name)
{
    return file_join(folder, name);
}

void bench_config_make(struct bench_config *out, const char *folder)
{
    memset(out, 0, sizeof *out);
    out->spool = bench_path(folder, "spool");
    out->bush = demo_bush();
    demo_config(&out->config, &out->bush, out->spool);
    demo_use(&out->config, "metno");
    demo_use(&out->config, "open-meteo");
}

void bench_config_free(struct bench_config *config)
{
    free(config->spool);
}

static int turn_with(const char *folder, struct store *store, utc_s now,
                     struct error *err)
{
    static const struct file_transport_row rows[] = {
        {"/v1/forecast", "open-meteo.json"},
        {"/locationforecast/", "metno.json"}};
    struct file_transport files = {PROJECT_DIR "/fixtures/tamarack-bend", rows,
                                   2, now};
    struct transport transport = file_transport(&files);
    char *public = bench_path(folder, "public");
    struct bench_config config;
    struct turn_result result;
    int code;

    bench_config_make(&config, folder);
    code = turn(&config.config, now, &transport, store, public, &result, NULL,
                err);
    if (code == 0 && result.unpublished) {
        code = -1;
        error_set(err, "%s", result.troubles.items[0]);
    }
    turn_result_free(&result);
    bench_config_free(&config);
    free(public);
    return code;
}

int bench_turn(const char *folder, utc_s now, struct error *err)
{
    char *path = bench_path(folder, "thawbell.db"), *warning = NULL;
    struct store *store = NULL;
    int code = store_open(path, now, &store, &warning, err);

    free(path);
    free(warning);
    if (code != 0)
        return -1;
    code = turn_with(folder, store, now, err);
    store_close(store);
    return code;
}

static void put_note(const char *folder, const char *uid)
{
    struct log_record record = {.change = LOG_NEW, .written = SCARCE_BEFORE};
    struct logbook book = {0};
    char *spool = bench_path(folder, "spool");
    struct error err;

    snprintf(record.uid, sizeof record.uid, "%s", uid);
    record.note = (struct log_note){.kind = LOG_COLLECTED,
                                    .at = SCARCE_BEFORE,
                                    .has = {[LOG_SAP_L] = true},
                                    .figure = {[LOG_SAP_L] = 160}};
    snprintf(record.note.bush, sizeof record.note.bush, "north");
    logbook_add(&book, &record);
    must(spool_write(spool, "tamarack-bend", &book, &err), &err);
    logbook_free(&book);
    free(spool);
}

static char *read_published(const char *folder, int which)
{
    char *path = mem_format("%s/public/%s", folder, published[which]), *bytes;
    struct error err;
    size_t length;

    if (file_read(path, 1 << 22, &bytes, &length, &err) != 0)
        bytes = NULL;
    free(path);
    return bytes;
}

static bool is_folder(const char *path)
{
    struct stat status;

    return lstat(path, &status) == 0 && S_ISDIR(status.st_mode);
}

static void empty(const char *folder)
{
    DIR *dir = opendir(folder);
    struct dirent *entry;

    while (dir != NULL && (entry = readdir(dir)) != NULL) {
        char *path = file_join(folder, entry->d_name);

        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            ;
        else if (is_folder(path))
            empty(path);
        else
            unlink(path);
        free(path);
    }
    if (dir != NULL)
        closedir(dir);
    rmdir(folder);
}

static void copy_file(const char *from, const char *to)
{
    struct error err;
    size_t length;
    char *bytes;
    FILE *file;

    must(file_read(from, 1 << 24, &bytes, &length, &err), &err);
    file = fopen(to, "wb");
    if (file == NULL || fwrite(bytes, 1, length, file) != length ||
        fclose(file) != 0)
        stop("preparation", "a file cannot be copied");
    free(bytes);
}

/* The bulletin published before has been put aside for so long that it is
 * written into again (base/file_spare.h); the page's has not, so that a new
 * one is made. */
static void age(const char *path)
{
    const struct timespec at[] = {{.tv_sec = time(NULL) - 3600},
                                  {.tv_sec = time(NULL) - 3600}};

    if (utimensat(AT_FDCWD, path, at, 0) != 0)
        stop("preparation", "a file's time cannot be set");
}

static void copy(const char *from, const char *to)
{
    DIR *dir = opendir(from);
    struct dirent *entry;

    if (dir == NULL || mkdir(to, 0700) != 0)
        stop("preparation", "a folder cannot be copied");
    while ((entry = readdir(dir)) != NULL) {
        char *source = file_join(from, entry->d_name);
        char *target = file_join(to, entry->d_name);

        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            ;
        else if (is_folder(source))
            copy(source, target);
        else
            copy_file(source, target);
        if (strcmp(entry->d_name, SPARE) == 0)
            age(target);
        free(source);
        free(target);
    }
    closedir(dir);
}

/* In a process of its own: what the libraries keep must be made anew in
 * each attempt. */
static void make_model(void)
{
    struct error err;
    pid_t child;
    char *path;
    int status;

    fflush(stdout);
    child = fork();
    if (child == 0) {
        put_note(model, NOTE_TAKEN);
        must(bench_turn(model, SCARCE_BEFORE, &err), &err);
        /* What was published then is put aside. */
        must(bench_turn(model, SCARCE_BEFORE + 600, &err), &err);
        put_note(model, SCARCE_WAITING);
        exit(0);
    }
    if (child < 0 || waitpid(child, &status, 0) != child || status != 0)
        stop("preparation", "no turn");
    path = bench_path(model, "public/" SPARE);
    if (!file_exists(path))
        stop("preparation", "nothing lies ready to be written into");
    free(path);
}

void bench_open(void)
{
    const char *below = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";

    snprintf(root, sizeof root, "%s/test-scarce-XXXXXX", below);
    if (mkdtemp(root) == NULL)
        stop("preparation", "no folder");
    snprintf(model, sizeof model, "%s/model", root);
    snprintf(work, sizeof work, "%s/work", root);
    log_set_level(LOG_LEVEL_ERROR);
    if (mkdir(model, 0700) != 0)
        stop("preparation", "no folder");
    make_model();
    for (int i = 0; i < PUBLISHED; i++)
        if ((old[i] = read_published(model, i)) == NULL)
            stop("preparation", published[i]);
}

void bench_close(void)
{
    empty(root);
    for (int i = 0; i < PUBLISHED; i++)
        free(old[i]);
}

const char *bench_first(void)
{
    return model;
}

const char *bench_fresh(void)
{
    empty(work);
    copy(model, work);
    return work;
}

static int check_whole(const char *name, const char *bytes, struct error *err)
{
    struct bulletin *bulletin = NULL;
    struct logbook book = {0};
    size_t length = strlen(bytes);
    int result;

    if (strcmp(name, "calendar.ics") == 0)
        return calendar_check(bytes, length, err);
    if (strcmp(name, "index.html") == 0)
        return page_check(bytes, length, err);
    if (strcmp(name, "logbook.json") == 0) {
        result = log_json_read(bytes, length, "tamarack-bend", &book, err);
        logbook_free(&book);
        return result;
    }
    result = bulletin_from_json(bytes, length, &bulletin, err);
    bulletin_free(bulletin);
    return result;
}

/* A new bulletin tells as much as the old one: the same members at the top, so
 * many bytes. */
static bool as_much(const char *was, const char *is)
{
    return strlen(is) * 10 > strlen(was) * 9;
}

static void check_published(const char *folder, const char *attempt)
{
    for (int i = 0; i < PUBLISHED; i++) {
        char *bytes = read_published(folder, i);
        struct error err = {""};

        if (bytes == NULL)
            stop(attempt, "a published file is gone");
        if (strcmp(bytes, old[i]) != 0) {
            if (check_whole(published[i], bytes, &err) != 0)
                stop(attempt, err.text);
            if (!as_much(old[i], bytes))
                stop(attempt, "a published file has lost something");
        }
        free(bytes);
    }
}

/* What file_sweep takes away is all that may lie around. */
static void check_left_overs(const char *folder, const char *attempt)
{
    char *public = bench_path(folder, "public");
    DIR *dir;
    struct dirent *entry;
    int files = 0;

    file_sweep(public);
    dir = opendir(public);
    while (dir != NULL && (entry = readdir(dir)) != NULL)
        files += entry->d_name[0] != '.';
    if (dir == NULL || files != PUBLISHED)
        stop(attempt, "something else lies among the published files");
    closedir(dir);
    free(public);
}

/* A file there is a whole one. */
static bool waits_in_spool(const char *folder, const char *attempt)
{
    char *spool = bench_path(folder, "spool");
    struct spool waiting;
    struct error err;
    bool found = false;

    if (spool_read(spool, "tamarack-bend", &waiting, &err) == 0) {
        for (int i = 0; i < waiting.count; i++) {
            if (waiting.files[i].bad)
                stop(attempt, waiting.files[i].trouble.text);
            found |= strcmp(waiting.files[i].records.records[0].uid,
                            SCARCE_WAITING) == 0;
        }
        spool_free(&waiting);
    }
    free(spool);
    return found;
}

static bool holds(const struct logbook *book, const char *uid)
{
    for (int i = 0; i < book->count; i++)
        if (strcmp(book->records[i].uid, uid) == 0)
            return true;
    return false;
}

static void check_store(const char *folder, const char *attempt)
{
    char *path = bench_path(folder, "thawbell.db"), *warning = NULL;
    struct error_list facts = {0}, found = {0};
    struct logbook book = {0};
    struct store *store;
    struct error err;

    if (store_open(path, SCARCE_NOW, &store, &warning, &err) != 0)
        stop(attempt, err.text);
    if (warning != NULL)
        stop(attempt, warning);
    if (store_get_log(store, "tamarack-bend", &book, &err) != 0)
        stop(attempt, err.text);
    store_close(store);
    if (!holds(&book, NOTE_TAKEN))
        stop(attempt, "a note of the store is lost");
    if (!waits_in_spool(folder, attempt) && !holds(&book, SCARCE_WAITING))
        stop(attempt, "the note that waited is lost");
    if (store_inspect(path, &facts, &found, &err) != 0)
        stop(attempt, err.text);
    if (found.count > 0)
        stop(attempt, found.items[0]);
    error_list_free(&facts);
    error_list_free(&found);
    logbook_free(&book);
    free(path);
}

bool bench_is_new(const char *folder, const char *name)
{
    for (int i = 0; i < PUBLISHED; i++)
        if (strcmp(published[i], name) == 0) {
            char *bytes = read_published(folder, i);
            bool is_new = bytes != NULL && strcmp(bytes, old[i]) != 0;

            free(bytes);
            return is_new;
        }
    return false;
}

void bench_check(const char *folder, const char *attempt)
{
    check_published(folder, attempt);
    check_left_overs(folder, attempt);
    check_store(folder, attempt);
}
