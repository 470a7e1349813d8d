/* The turn's first half: asks the services for each bush and decodes what
 * they say. */
#ifndef TURN_GATHER_H
#define TURN_GATHER_H

#include "config/config.h"
#include "publish/bulletin.h"
#include "source/source.h"
#include "source/transport.h"

enum { GATHER_FORECAST_DAYS = 11, GATHER_MAX_PAST_DAYS = 92 };

/* One service asked for one bush. */
struct gathered {
    int bush;
    const struct source *source;
    bool in_use; /* answer holds something */
    struct source_answer answer;
    utc_s fetched;     /* of the answer in use */
    utc_s next;        /* not to be asked again before */
    char trouble[512]; /* "" or what is wrong */
};

struct gathering_result {
    struct gathered *items; /* owned: bush by bush, in configured order */
    int count;
};

/* past_days[bush]: days of past weather wanted from services that have it. */
void gather(const struct config *config, utc_s now,
            const struct transport *transport, const int *past_days,
            struct gathering_result *out);
void gathering_result_free(struct gathering_result *result);

#endif
