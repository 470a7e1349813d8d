/* What is served, by token. All functions but the last two are called with
 * the table's lock held by nobody and take it themselves. Inside daemon/
 * only. */
#ifndef DAEMON_SERVE_TABLE_H
#define DAEMON_SERVE_TABLE_H

#include <microhttpd.h>
#include <pthread.h>

#include "base/digest.h"
#include "daemon/serve.h"

enum { SERVE_FILES = 3, SERVE_TAG_SIZE = 48 };

/* One coding of a file. libmicrohttpd counts who still sends it. */
struct served_form {
    struct MHD_Response *response; /* NULL: not in this coding */
    char tag[SERVE_TAG_SIZE];      /* with its quotes */
};

struct served_file {
    struct served_form plain, gzip;
    utc_s modified;
};

struct served {
    char key[DIGEST_SIZE];                 /* digest of the token */
    struct served_file files[SERVE_FILES]; /* as serve_names */
    struct serve_figures figures;
};

struct serve_table {
    pthread_mutex_t lock;
    struct served *rows; /* owned, by key */
    int count;
};

extern const char *const serve_names[SERVE_FILES];

void serve_table_init(struct serve_table *table);
void serve_table_free(struct serve_table *table);
int serve_table_swap(struct serve_table *table, const char *token,
                     const struct serve_file *files, int count,
                     struct error *err);
void serve_table_tell(struct serve_table *table, const char *token,
                      const struct serve_figures *figures);
void serve_table_drop(struct serve_table *table, const char *token);

/* The row of a token of `length` bytes, or NULL. The search goes by the
 * token's digest, so that its time tells nothing about the tokens there are.
 * The caller holds the lock for as long as it looks at the row. */
struct served *serve_table_find(struct serve_table *table, const char *token,
                                size_t length);
/* Headers that every answer has. */
void serve_add_headers(struct MHD_Response *response, const char *type);

#endif
