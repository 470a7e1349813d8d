/* The one published file of an operation, found through its configuration.
 * No network, no database: any user of the machine may read it. */
#ifndef COMMAND_PUBLISHED_H
#define COMMAND_PUBLISHED_H

#include "command/options.h"
#include "config/config.h"
#include "publish/bulletin.h"
#include "publish/show.h"

struct published {
    char *path; /* of bulletin.json */
    char *bytes;
    size_t length;
    struct bulletin *bulletin;
    struct show_style style; /* units, width and colour of this output */
};

/* The place (config_read_place) of the operation that is meant; NULL and a
 * sentence. Freed with config_free. */
struct config *published_place(const struct options *options,
                               struct error *err);

/* How this output is to look, in the units of --units or else of the
 * configuration. */
struct show_style published_style(const struct options *options,
                                  enum unit_system configured);

/* As published_read, but what is wrong is only put into err. */
int published_open(const struct options *options, struct published *out,
                   struct error *err);
/* Takes the operation of -o (by slug or name), else the first by file name;
 * says on standard error how to choose when there are several. Returns
 * EXIT_DONE, or says what is wrong on standard error and returns the exit
 * status. Free with published_free either way. */
int published_read(const struct options *options, struct published *out);
void published_free(struct published *published);

#endif
