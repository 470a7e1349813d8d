/* A transport that answers from files: the demo's, and tests'. No network.
 *
 * An address is answered with the first row whose part occurs in it; an
 * address without a row is in trouble, as an unknown host would be. */
#ifndef TURN_FILE_TRANSPORT_H
#define TURN_FILE_TRANSPORT_H

#include "source/transport.h"

struct file_transport_row {
    const char *url_part; /* "/v1/forecast" */
    const char *file;     /* in the folder */
};

struct file_transport {
    const char *folder; /* borrowed */
    const struct file_transport_row *rows;
    int row_count;
    utc_s obtained; /* told as the time of the answers */
};

/* The transport borrows `self`, which must outlive it. */
struct transport file_transport(struct file_transport *self);

#endif
