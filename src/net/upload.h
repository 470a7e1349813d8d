/* What is published, sent to a folder of a web host: WebDAV (RFC 4918) over
 * https, or SFTP. Only what has changed since it was last sent there; each
 * file under another name first and then moved into place, so that no reader
 * gets half of one, and in the order given: the index that names the others
 * comes last.
 *
 * Certificates are checked, and for SFTP the host's key; nothing is sent, not
 * even the name, to a host that fails. No redirects, plain http to this machine
 * alone. Neither password nor path stands in any sentence, only the host. */
#ifndef NET_UPLOAD_H
#define NET_UPLOAD_H

#include <stdatomic.h>
#include <stdbool.h>

#include "base/error.h"

struct upload_target {
    const char *url;           /* of the folder, ends in a slash */
    const char *user;          /* NULL: none is needed */
    const char *password_file; /* see base/secret.h; NULL with no user */
    const char *host_key;      /* SFTP: SHA-256 of the key in base64 */
};

struct upload_result {
    int sent, unchanged;
};

/* Blocks, for minutes if need be: for a thread of its own. `names` are sent in
 * their order; one that is not in `folder` is passed over. memory_path is a
 * file that holds what is there already (written after each file); one that
 * cannot be read, or that is about another address, only means that all is
 * sent. *stop (may be NULL) ends it within a second. 0, or -1 and a sentence
 * at the first file that could not be sent; the ones before are remembered.
 * http_global_start must have been called. */
int upload_folder(const struct upload_target *target, const char *folder,
                  const char *const *names, int count, const char *memory_path,
                  const atomic_bool *stop, struct upload_result *result,
                  struct error *err);

#endif
