/* One file to a host. Inside net/ only. */
#ifndef NET_UPLOAD_SEND_H
#define NET_UPLOAD_SEND_H

#include <curl/curl.h>

#include "net/upload.h"

struct upload_link {
    const struct upload_target *target;
    char *host;     /* for sentences */
    char *password; /* or NULL */
    bool sftp;
    const atomic_bool *stop;
    CURL *easy; /* one connection for all files */
};

int upload_link_open(struct upload_link *link,
                     const struct upload_target *target,
                     const atomic_bool *stop, struct error *err);
void upload_link_close(struct upload_link *link);

/* Puts the bytes in place under the name, whole. */
int upload_send(struct upload_link *link, const char *name, const char *bytes,
                size_t length, struct error *err);

#endif
