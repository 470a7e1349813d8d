/* The demo's operation for tests that turn the crank: as the demo has it, but
 * with a configuration made by hand. All of it is invented. */
#ifndef SUPPORT_DEMO_BEND_H
#define SUPPORT_DEMO_BEND_H

#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"
#include "base/memory.h"
#include "config/config.h"

/* The clock of the demo: 5 March 2026, 06:30 in America/New_York. */
#define DEMO_NOW ((utc_s)1772710200)

/* What a service of the demo answers; the caller frees. */
static inline char *demo_answer(const char *name)
{
    char *path = mem_format("%s/fixtures/tamarack-bend/%s", PROJECT_DIR, name);
    struct error err = {""};
    char *bytes;
    size_t length;

    if (file_read(path, 1 << 22, &bytes, &length, &err) != 0) {
        fprintf(stderr, "%s\n", err.text);
        abort();
    }
    free(path);
    return bytes;
}

/* One bush, tapped on 1 March. */
static inline struct config_bush demo_bush(void)
{
    return (struct config_bush){.name = (char *)"north",
                                .latitude = 45.06,
                                .longitude = -71.90,
                                .elevation_m = 450,
                                .taps = 140,
                                .gathering = GATHERING_BUCKETS,
                                .bucket_l = 15,
                                .has_tapped = true,
                                .tapped = {2026, 3, 1}};
}

/* Of one bush, without a service: the caller names them. What is pointed to
 * stays the caller's. */
static inline void demo_config(struct config *config, struct config_bush *bush,
                               char *spool)
{
    config->path = (char *)"bend.conf";
    config->name = (char *)"Tamarack Bend";
    config->slug = (char *)"tamarack-bend";
    config->zone_name = (char *)"America/New_York";
    snprintf(config->language, sizeof config->language, "en");
    config->bushes = bush;
    config->bush_count = 1;
    config->contact = (char *)"operator@example.org";
    config->spool = spool;
}

static inline void demo_use(struct config *config, const char *source)
{
    config->sources[config->source_count++].name = (char *)source;
}

#endif
