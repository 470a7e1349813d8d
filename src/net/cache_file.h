/* Within net/: the bytes of an answer's file, as net/cache.h describes them. */
#ifndef NET_CACHE_FILE_H
#define NET_CACHE_FILE_H

#include "net/cache.h"

enum { CACHE_HEAD_MAX_BYTES = 16384, CACHE_BODY_MAX_BYTES = 1 << 30 };

/* Fills what the file says; the body is owned by *out. False if the bytes are
 * not sound: *out is then to be cleared. */
bool cache_file_read(const char *bytes, size_t length, const char *key,
                     struct cache_record *out);
/* The whole file, owned by the caller; sets record->head_size. */
char *cache_file_write(struct cache_record *record, size_t *length);
/* Its head in just so many bytes, owned by the caller; NULL if it takes more.
 */
char *cache_file_head(const struct cache_record *record, size_t size);

#endif
