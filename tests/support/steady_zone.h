/* A clock without summer time, five hours behind UTC all year: Panama's
 * (tzdata), for tests that count in whole days. */
#ifndef SUPPORT_STEADY_ZONE_H
#define SUPPORT_STEADY_ZONE_H

#include <stdio.h>
#include <stdlib.h>

#include "base/civil_time.h"

/* The caller frees with zone_free. */
static inline struct zone *steady_zone(void)
{
    struct error err = {""};
    struct zone *zone = zone_open("America/Panama", &err);

    if (zone == NULL) {
        fprintf(stderr, "%s\n", err.text);
        abort();
    }
    return zone;
}

#endif
