/* thawbell store check | backup FILE | export [FILE]. */
#ifndef COMMAND_STORE_H
#define COMMAND_STORE_H

#include "command/options.h"

/* Its option, as a row of its table. */
enum { STORE_FROM };

/* Works beside a running daemon. Exit status 1 when something is wrong with
 * the store or the file cannot be written. */
int command_store(const struct options *options);

#endif
