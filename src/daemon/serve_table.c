#include "daemon/serve_table.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

#include "base/memory.h"
#include "base/words.h"
#include "daemon/serve_http.h"
#include "publish/page.h"

enum { GZIP_WINDOW = 15 + 16, GZIP_LEAST = 1000 };

const char *const serve_names[SERVE_FILES] = {"index.html", "calendar.ics",
                                              "bulletin.json"};

void serve_table_init(struct serve_table *table)
{
    memset(table, 0, sizeof *table);
    pthread_mutex_init(&table->lock, NULL);
}

static void release(struct served_file *file)
{
    if (file->plain.response != NULL)
        MHD_destroy_response(file->plain.response);
    if (file->gzip.response != NULL)
        MHD_destroy_response(file->gzip.response);
    memset(file, 0, sizeof *file);
}

void serve_table_free(struct serve_table *table)
{
    for (int i = 0; i < table->count; i++)
        for (int file = 0; file < SERVE_FILES; file++)
            release(&table->rows[i].files[file]);
    free(table->rows);
    pthread_mutex_destroy(&table->lock);
}

/* Compressed, or NULL where that saves less than a tenth. Same bytes, same
 * result: no time stands in it. */
static char *compress_bytes(const char *bytes, size_t length, size_t *out)
{
    z_stream stream;
    size_t room = length - length / 10;
    char *packed;

    memset(&stream, 0, sizeof stream);
    if (length < GZIP_LEAST ||
        deflateInit2(&stream, Z_BEST_COMPRESSION, Z_DEFLATED, GZIP_WINDOW, 9,
                     Z_DEFAULT_STRATEGY) != Z_OK)
        return NULL;
    packed = mem_alloc(room, 1);
    /* zlib's declaration is without const; it does not write there. */
    stream.next_in = /* NOLINTNEXTLINE(performance-no-int-to-ptr) */
        (Bytef *)(uintptr_t)bytes;
    stream.avail_in = (uInt)length;
    stream.next_out = (Bytef *)packed;
    stream.avail_out = (uInt)room;
    if (deflate(&stream, Z_FINISH) == Z_STREAM_END) {
        *out = stream.total_out;
    } else {
        free(packed);
        packed = NULL;
    }
    deflateEnd(&stream);
    return packed;
}

void serve_add_headers(struct MHD_Response *response, const char *type)
{
    static const char *const always[][2] = {
        {"X-Content-Type-Options", "nosniff"},
        {"X-Robots-Tag", "noindex"},
        {"Referrer-Policy", "no-referrer"},
        {"Cross-Origin-Resource-Policy", "same-origin"}};
    char own[PAGE_POLICY_SIZE] = "default-src 'none'";
    char policy[PAGE_POLICY_SIZE + 32];

    if (type != NULL && strncmp(type, "text/html", 9) == 0)
        page_policy(own);
    snprintf(policy, sizeof policy, "%s; frame-ancestors 'none'", own);
    for (size_t i = 0; i < sizeof always / sizeof always[0]; i++)
        MHD_add_response_header(response, always[i][0], always[i][1]);
    MHD_add_response_header(response, "Content-Security-Policy", policy);
    if (type != NULL)
        MHD_add_response_header(response, "Content-Type", type);
}

/* The bytes are handed over: freed after the last answer with them. */
static void make_form(struct served_form *form, char *bytes, size_t length,
                      const struct serve_file *file, bool both)
{
    char date[SERVE_DATE_SIZE];

    form->response =
        MHD_create_response_from_buffer_with_free_callback(length, bytes, free);
    if (form->response == NULL) {
        free(bytes);
        return;
    }
    serve_date_words(file->modified, date);
    serve_add_headers(form->response, file->type);
    MHD_add_response_header(form->response, "ETag", form->tag);
    MHD_add_response_header(form->response, "Last-Modified", date);
    MHD_add_response_header(form->response, "Cache-Control",
                            "max-age=300, must-revalidate");
    if (both)
        MHD_add_response_header(form->response, "Vary", "Accept-Encoding");
}

static void make_file(struct served_file *served, const struct serve_file *file)
{
    size_t packed_length = 0;
    char *packed = compress_bytes(file->bytes, file->length, &packed_length);
    char digest[DIGEST_SIZE];

    digest_hex(file->bytes, file->length, digest);
    snprintf(served->plain.tag, SERVE_TAG_SIZE, "\"%.32s\"", digest);
    snprintf(served->gzip.tag, SERVE_TAG_SIZE, "\"%.32s-gz\"", digest);
    served->modified = file->modified;
    make_form(&served->plain, mem_copy_bytes(file->bytes, file->length),
              file->length, file, packed != NULL);
    if (packed == NULL)
        return;
    make_form(&served->gzip, packed, packed_length, file, true);
    if (served->gzip.response != NULL)
        MHD_add_response_header(served->gzip.response, "Content-Encoding",
                                "gzip");
}

static int name_number(const char *name)
{
    for (int i = 0; i < SERVE_FILES; i++)
        if (strcmp(name, serve_names[i]) == 0)
            return i;
    return -1;
}

/* Where the key is, or the place for it; *found tells which. */
static int place_of(const struct serve_table *table, const char *key,
                    bool *found)
{
    int low = 0, high = table->count;

    while (low < high) {
        int middle = (low + high) / 2;

        if (strcmp(table->rows[middle].key, key) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    *found = low < table->count && strcmp(table->rows[low].key, key) == 0;
    return low;
}

struct served *serve_table_find(struct serve_table *table, const char *token,
                                size_t length)
{
    char key[DIGEST_SIZE];
    bool found;
    int place;

    digest_hex(token, length, key);
    place = place_of(table, key, &found);
    return found ? &table->rows[place] : NULL;
}

/* The lock is held. */
static struct served *find_or_add(struct serve_table *table, const char *token)
{
    char key[DIGEST_SIZE];
    bool found;
    int place;

    digest_hex(token, strlen(token), key);
    place = place_of(table, key, &found);
    if (found)
        return &table->rows[place];
    table->rows =
        mem_resize(table->rows, (size_t)table->count + 1, sizeof *table->rows);
    memmove(&table->rows[place + 1], &table->rows[place],
            (size_t)(table->count - place) * sizeof *table->rows);
    memset(&table->rows[place], 0, sizeof *table->rows);
    memcpy(table->rows[place].key, key, sizeof key);
    table->rows[place].figures.mail_waiting = -1;
    table->count++;
    return &table->rows[place];
}

int serve_table_swap(struct serve_table *table, const char *token,
                     const struct serve_file *files, int count,
                     struct error *err)
{
    struct served_file made[SERVE_FILES], old[SERVE_FILES];
    struct served *row;

    for (int i = 0; i < count; i++)
        if (name_number(files[i].name) < 0)
            return error_set(err, _("%s is no file that is served"),
                             files[i].name);
    memset(made, 0, sizeof made);
    for (int i = 0; i < count; i++)
        make_file(&made[name_number(files[i].name)], &files[i]);
    pthread_mutex_lock(&table->lock);
    row = find_or_add(table, token);
    memcpy(old, row->files, sizeof old);
    memcpy(row->files, made, sizeof made);
    pthread_mutex_unlock(&table->lock);
    for (int i = 0; i < SERVE_FILES; i++)
        release(&old[i]);
    return 0;
}

void serve_table_tell(struct serve_table *table, const char *token,
                      const struct serve_figures *figures)
{
    pthread_mutex_lock(&table->lock);
    find_or_add(table, token)->figures = *figures;
    pthread_mutex_unlock(&table->lock);
}

void serve_table_drop(struct serve_table *table, const char *token)
{
    struct served *row;

    pthread_mutex_lock(&table->lock);
    row = serve_table_find(table, token, strlen(token));
    if (row != NULL) {
        int place = (int)(row - table->rows);

        for (int file = 0; file < SERVE_FILES; file++)
            release(&row->files[file]);
        memmove(row, row + 1, (size_t)(table->count - place - 1) * sizeof *row);
        table->count--;
    }
    pthread_mutex_unlock(&table->lock);
}
