#include "turn/log_intake.h"

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/words.h"
#include "logbook/log_json.h"
#include "logbook/log_season.h"
#include "logbook/spool.h"

static const double darker_pct = 10;

static void tell(struct error_list *troubles, const struct error *err)
{
    error_list_add(troubles, "%s", err->text);
}

/* All good files' records together, in the order of writing. */
static void gather_waiting(const struct spool *spool, struct logbook *waiting)
{
    for (int i = 0; i < spool->count; i++) {
        const struct logbook *records = &spool->files[i].records;

        for (int k = 0; k < records->count; k++)
            logbook_add(waiting, &records->records[k]);
    }
    logbook_settle(waiting);
}

static bool take_in(const char *operation, utc_s now, const struct spool *spool,
                    struct store *store, struct error_list *troubles)
{
    struct logbook waiting = {0};
    struct error err = {""};
    bool taken;

    gather_waiting(spool, &waiting);
    taken = store_take_log(store, operation, &waiting, now, &err) == 0;
    if (!taken) {
        error_prefix(&err, "%s", _("the notes wait on: "));
        tell(troubles, &err);
    }
    logbook_free(&waiting);
    return taken;
}

/* 1 if the file changed, 0 if it holds the book already, -1 on failure. */
static int publish(const char *folder, const char *operation,
                   const struct logbook *book, struct error_list *troubles)
{
    char *path = file_join(folder, "logbook.json"), *json;
    struct error err = {""};
    bool changed = false;
    int result = 0;

    if (book->count > 0 || file_exists(path)) {
        json = log_json_write(operation, book);
        if (file_make_folder(folder, 0755, &err) != 0 ||
            file_write_changed(path, json, strlen(json), 0644, &changed,
                               &err) != 0)
            result = -1;
        free(json);
    }
    free(path);
    if (result == 0)
        return changed ? 1 : 0;
    error_prefix(&err, "%s", _("the logbook was not published: "));
    tell(troubles, &err);
    return -1;
}

static void set_aside(const struct spool_file *file,
                      struct error_list *troubles)
{
    struct error err = {""};
    char *aside = NULL;

    if (spool_set_aside(file, &aside, &err) == 0)
        error_list_add(troubles,
                       _("a note cannot be read and is kept as %s: %s"), aside,
                       file->trouble.text);
    else
        tell(troubles, &err);
    free(aside);
}

static void empty_spool(const struct spool *spool, bool kept,
                        struct error_list *troubles)
{
    struct error err = {""};

    for (int i = 0; i < spool->count; i++) {
        const struct spool_file *file = &spool->files[i];

        if (file->bad)
            set_aside(file, troubles);
        else if (file->trouble.text[0] != '\0')
            tell(troubles, &file->trouble);
        else if (kept && spool_remove(file, &err) != 0)
            tell(troubles, &err);
    }
}

int log_intake(const struct config *config, utc_s now, struct store *store,
               const char *folder, struct logbook *out,
               struct error_list *troubles)
{
    char *spool_folder = config_spool_folder(config);
    struct error err = {""};
    struct spool spool;
    bool kept;
    int changed = 0;

    if (spool_read(spool_folder, config->slug, &spool, &err) != 0)
        tell(troubles, &err);
    kept =
        spool.count == 0 || take_in(config->slug, now, &spool, store, troubles);
    if (store_get_log(store, config->slug, out, &err) != 0) {
        tell(troubles, &err);
        logbook_free(out);
        kept = false;
    } else {
        changed = publish(folder, config->slug, out, troubles);
        kept = kept && changed >= 0;
    }
    empty_spool(&spool, kept, troubles);
    spool_free(&spool);
    free(spool_folder);
    return changed > 0 ? 1 : 0;
}

static bool darker(const struct log_note *draw, const struct log_note *before)
{
    if (before == NULL || !draw->has[LOG_LIGHT_PCT] ||
        !before->has[LOG_LIGHT_PCT])
        return false;
    return log_draw_grade(draw) > log_draw_grade(before) &&
           draw->figure[LOG_LIGHT_PCT] + darker_pct <=
               before->figure[LOG_LIGHT_PCT];
}

static bool sign_of(const struct log_note *note, const struct log_note *before,
                    enum season_note_kind *kind)
{
    static const enum season_note_kind kinds[LOG_SIGN_COUNT] = {
        [LOG_SIGN_CLEAN] = SEASON_NOTE_CLEAN,
        [LOG_SIGN_DARK] = SEASON_NOTE_DARK,
        [LOG_SIGN_MILKY] = SEASON_NOTE_MILKY,
        [LOG_SIGN_OFF_TASTE] = SEASON_NOTE_OFF_TASTE};

    if (note->kind == LOG_OFF_FLAVOUR) {
        *kind = kinds[note->sign];
        return true;
    }
    *kind = SEASON_NOTE_DARK;
    return note->kind == LOG_DREW && darker(note, before);
}

int log_season_notes(const struct log_view *view, const struct zone *zone,
                     const char *bush, utc_s now,
                     struct season_note out[SEASON_MAX_NOTES])
{
    const struct log_note *before = NULL;
    int count = 0;

    for (int i = 0; i < view->count; i++) {
        const struct log_note *note = &view->entries[i].note;
        struct season_note found = {.date = zone_date(zone, note->at)};

        if (view->entries[i].removed || note->at > now ||
            log_season_of(zone, note->at) != log_season_of(zone, now) ||
            !log_of_bush(note, bush))
            continue;
        if (sign_of(note, before, &found.kind)) {
            if (count == SEASON_MAX_NOTES)
                memmove(out, out + 1, (size_t)--count * sizeof *out);
            out[count++] = found;
        }
        if (note->kind == LOG_DREW)
            before = note;
    }
    return count;
}
