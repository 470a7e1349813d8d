/* What is published, checked and handed to the server; and its token. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <sys/stat.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/secret.h"
#include "base/words.h"
#include "config/token.h"
#include "daemon/serve.h"
#include "publish/bulletin.h"
#include "publish/calendar.h"
#include "publish/page.h"

enum {
    FILE_MAX_BYTES = 8 * 1024 * 1024,
    TOKEN_LETTERS = 26 /* of 5 bits */
};

/* NULL: there is no room for one more. */
static struct serve_source *source_row(struct serve_figures *figures,
                                       const char *name)
{
    struct serve_source *row;

    for (int i = 0; i < figures->source_count; i++)
        if (strcmp(figures->sources[i].name, name) == 0)
            return &figures->sources[i];
    if (figures->source_count == SERVE_MAX_SOURCES)
        return NULL;
    row = &figures->sources[figures->source_count++];
    memset(row, 0, sizeof *row);
    snprintf(row->name, sizeof row->name, "%s", name);
    return row;
}

void serve_note_sources(struct serve_figures *figures,
                        const struct bulletin *bulletin, bool turned)
{
    for (int i = 0; i < bulletin->source_count; i++) {
        const struct bulletin_source *source = &bulletin->sources[i];
        struct serve_source *row = source_row(figures, source->name);

        if (row == NULL)
            continue;
        row->fetched = source->fetched;
        row->in_trouble = source->trouble[0] != '\0';
        row->bad_turns += turned && row->in_trouble;
        row->good_turns += turned && !row->in_trouble;
    }
}

static int check_bulletin(const char *bytes, size_t length,
                          struct serve_figures *figures, struct error *err)
{
    struct bulletin *bulletin = NULL;
    int code = bulletin_from_json(bytes, length, &bulletin, err);

    if (code == 0) {
        figures->made = bulletin->made;
        figures->weather_from = bulletin->weather_from;
        serve_note_sources(figures, bulletin, false);
    }
    bulletin_free(bulletin);
    return code;
}

static const struct kind {
    const char *name, *type;
    int (*check)(const char *bytes, size_t length, struct error *err);
} kinds[] = {
    {"index.html", "text/html; charset=utf-8", page_check},
    {"calendar.ics", "text/calendar; charset=utf-8", calendar_check},
    {"bulletin.json", "application/json", NULL}, /* check_bulletin */
};

enum { KINDS = sizeof kinds / sizeof kinds[0] };

/* "20260306T231000Z", which is all digits but for T and Z. */
static bool stamp_parse(const char *words, utc_s *out)
{
    char spread[ISO_TIME_SIZE] = "0000-00-00T00:00:00Z";
    static const int places[] = {0, 1,  2,  3,  5,  6,  8,
                                 9, 11, 12, 14, 15, 17, 18};

    for (int i = 0, from = 0; i < 14; i++, from++) {
        from += i == 8; /* the T */
        spread[places[i]] = words[from];
    }
    return iso_time_parse(spread, 0, out, NULL) == 0;
}

/* Of a calendar the newest LAST-MODIFIED: what the reader sees changed then.
 * 0 if there is none. The lines are not folded so early. */
static utc_s newest_change(const char *bytes)
{
    static const char name[] = "\nLAST-MODIFIED:";
    utc_s newest = 0, stamp;

    for (const char *at = strstr(bytes, name); at != NULL;
         at = strstr(at + 1, name)) {
        const char *value = at + sizeof name - 1;

        if (strcspn(value, "\r\n") == 16 && stamp_parse(value, &stamp) &&
            stamp > newest)
            newest = stamp;
    }
    return newest;
}

/* Other files change when their bytes do: they are left alone else. */
static utc_s changed(const char *path, const struct kind *kind,
                     const char *bytes)
{
    struct stat status;
    utc_s newest = kind->check == calendar_check ? newest_change(bytes) : 0;

    if (newest != 0)
        return newest;
    return stat(path, &status) == 0 ? status.st_mtime : 0;
}

static int check(const struct kind *kind, const struct serve_file *file,
                 const char *bytes, struct serve_figures *figures,
                 struct error *err)
{
    return kind->check != NULL
               ? kind->check(bytes, file->length, err)
               : check_bulletin(bytes, file->length, figures, err);
}

/* 1: read and checked, 0: not there, -1 and a sentence. */
static int read_file(const char *folder, const struct kind *kind,
                     struct serve_file *file, char **bytes,
                     struct serve_figures *figures, struct error *err)
{
    char *path = file_join(folder, kind->name);
    int code = 0;

    *bytes = NULL;
    if (file_exists(path)) {
        code = file_read(path, FILE_MAX_BYTES, bytes, &file->length, err);
        if (code == 0 && check(kind, file, *bytes, figures, err) != 0)
            code = error_prefix(err, "%s: ", path);
        if (code == 0) {
            file->name = kind->name;
            file->type = kind->type;
            file->bytes = *bytes;
            file->modified = changed(path, kind, *bytes);
            code = 1;
        }
    }
    free(path);
    return code;
}

int serve_folder(struct serve *serve, const char *token, const char *folder,
                 struct serve_figures *figures, struct error *err)
{
    struct serve_figures known = {0};
    struct serve_file files[KINDS];
    char *bytes[KINDS] = {NULL};
    int count = 0, code = 0;

    if (figures != NULL)
        known = *figures;
    for (int i = 0; i < KINDS && code >= 0; i++) {
        code =
            read_file(folder, &kinds[i], &files[count], &bytes[i], &known, err);
        count += code == 1;
    }
    if (code >= 0)
        code = serve_swap(serve, token, files, count, err);
    if (code >= 0 && figures != NULL)
        *figures = known;
    for (int i = 0; i < KINDS; i++)
        free(bytes[i]);
    return code < 0 ? -1 : 0;
}

static int make_token(const char *path, struct error *err)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyz234567";
    unsigned char random_bytes[TOKEN_LETTERS];
    char token[TOKEN_LETTERS + 1];
    int code;

    if (getrandom(random_bytes, sizeof random_bytes, 0) !=
        (ssize_t)sizeof random_bytes)
        return error_set(err, _("%s: no random bytes: %s"), path,
                         words_errno(errno));
    for (int i = 0; i < TOKEN_LETTERS; i++)
        token[i] = letters[random_bytes[i] & 31];
    token[TOKEN_LETTERS] = '\n';
    code = file_write_whole(path, token, sizeof token, 0600, err);
    secret_wipe(token, sizeof token);
    return code;
}

_Static_assert((int)TOKEN_MOST < (int)SERVE_TOKEN_SIZE, "a token fits");

int serve_token_read(const char *path, char out[SERVE_TOKEN_SIZE],
                     struct error *err)
{
    char *token;
    int code = 0;

    if (!file_exists(path) && make_token(path, err) != 0)
        return -1;
    if (secret_read(path, &token, err) != 0)
        return -1;
    if (!token_fits(token))
        code = error_set(err,
                         _("%s: a secret path is %d to %d letters, digits, - "
                           "and _; remove the file and a new one is made"),
                         path, (int)TOKEN_LEAST, (int)TOKEN_MOST);
    else
        memcpy(out, token, strlen(token) + 1);
    secret_free(token);
    return code;
}
