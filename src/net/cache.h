/* Answers on disk: one file an address, named by a digest.
 *
 * A file holds, on its first line, the digest of its second with its end; on
 * the second, a JSON object with what is known of the address (RFC 8259), the
 * length and the check of the body among it, and blanks up to a round number
 * of bytes; then the last body that was judged good. (Version 1: the digest is
 * of all that follows, the body included.) A file that does not fit is left
 * out with a log line. The address itself is not in it: it may hold a key.
 *
 * A file is written over where the new bytes find room in it, else replaced;
 * nothing is flushed: a process that is killed within, or a power cut, may lose
 * an answer, which costs a question. When the body stays as it is, the head
 * alone is written anew. */
#ifndef NET_CACHE_H
#define NET_CACHE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/civil_time.h"
#include "base/digest.h"
#include "base/error.h"
#include "net/http_headers.h"

struct cache_record {
    char key[DIGEST_SIZE];
    /* Of the held body: validators as sent. */
    char etag[HTTP_ETAG_SIZE];
    char last_modified[HTTP_DATE_SIZE];
    bool deprecated;
    utc_s asked; /* the last time; 0: never */
    utc_s next;  /* not before */
    int failures;
    char trouble[512]; /* of the last time; "" if all was well */
    char *body;        /* owned; NULL: none */
    size_t length;
    utc_s fetched; /* the body */
    /* Its forecast's issue time, as the caller told; 0: it has none. */
    bool issued_known;
    utc_s issued;
    size_t head_size;       /* cache's own: of the file's head; 0: no file */
    char check[CHECK_SIZE]; /* cache's own: of the file's body */
};

struct cache;

/* Makes the folder if missing. NULL and a sentence if it cannot be used. */
struct cache *cache_open(const char *folder, struct error *err);
void cache_free(struct cache *cache);

/* The digest that names an address asked for a media type (may be NULL). */
void cache_key(const char *url, const char *accept, char out[DIGEST_SIZE]);

/* Fills *out; an unknown address gives an empty record with its key. A body
 * over max_bytes makes the record as good as lost. Free with
 * cache_record_free. */
void cache_load(struct cache *cache, const char *key, size_t max_bytes,
                struct cache_record *out);
/* What cannot be written is logged and kept in memory, so that a full disk
 * does not make us ask again and again. */
void cache_save(struct cache *cache, struct cache_record *record);
/* The same for a record that was loaded and has its body still. */
void cache_save_head(struct cache *cache, struct cache_record *record);

/* Removes the answers last written before `before`. Each question writes its
 * answer anew, be it a trouble: an old file is one that nobody asks for.
 * Returns how many. */
int cache_prune(struct cache *cache, utc_s before);

void cache_record_free(struct cache_record *record);

#endif
