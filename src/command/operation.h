/* The operation that is meant, its configuration read whole: for commands that
 * need more than what is published. */
#ifndef COMMAND_OPERATION_H
#define COMMAND_OPERATION_H

#include "command/options.h"
#include "config/config.h"
#include "logbook/logbook.h"
#include "publish/bulletin.h"

struct operation {
    struct config *config;
    struct zone *zone;
};

/* A configuration by its path, read whole; NULL after saying all that is wrong
 * on standard error. Freed with config_free. */
struct config *operation_read_file(const char *path);

/* EXIT_DONE, or says all that is wrong on standard error and returns the exit
 * status. Free with operation_close either way. */
int operation_open(const struct options *options, struct operation *out);
void operation_close(struct operation *operation);

/* The logbook as far as it is known here: what is published and what still
 * waits in the spool, settled. What cannot be read is said on standard error
 * and left out; -1 if the published book is there and cannot be read. */
int operation_read_log(const struct operation *operation, struct logbook *out);

/* What is published, or NULL where there is none or it cannot be read; then
 * *why tells it. Freed with bulletin_free. */
struct bulletin *operation_read_bulletin(const struct operation *operation,
                                         struct error *why);

#endif
