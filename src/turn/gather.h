/* The turn's first half: asks the services for each bush and decodes what
 * they say. */
#ifndef TURN_GATHER_H
#define TURN_GATHER_H

#include "config/config.h"
#include "publish/bulletin.h"
#include "source/source.h"
#include "source/transport.h"

enum {
    GATHER_FORECAST_DAYS = 11,
    GATHER_PAST_DAYS = 2, /* always asked for with a forecast */
    GATHER_MAX_PAST_DAYS = 92
};

/* One service asked for one bush. */
struct gathered {
    int bush;
    const struct source *source;
    bool past;       /* asked for past weather alone: no forecast of its own */
    bool in_use;     /* answer holds something */
    bool deprecated; /* the service says that this version of it will go */
    struct source_answer answer;
    utc_s fetched;     /* of the answer in use */
    utc_s next;        /* not to be asked again before */
    char trouble[512]; /* "" or what is wrong */
};

struct gathering_result {
    struct gathered *items; /* owned: bush by bush, in configured order */
    int count;
};

/* In steps, for a loop that has other things to do. past_days[bush]: days of
 * past weather wanted from services that have it. More than GATHER_PAST_DAYS
 * are asked for apart, so that the forecast's address, and with it what is held
 * of it, stays. While gather_round() gives a number, the caller has so many
 * requests answered (in zeroed `answers`, one each, which stay in place) and
 * calls gather_take(). config and out must outlive it; gather_end() leaves *out
 * to the caller, in whatever state it is. */
struct asking;
struct asking *gather_begin(const struct config *config, utc_s now,
                            const struct transport *transport,
                            const int *past_days, struct gathering_result *out);
int gather_round(struct asking *asking, struct transport_request **requests,
                 struct transport_answer **answers);
void gather_take(struct asking *asking);
void gather_end(struct asking *asking);

void gathering_result_free(struct gathering_result *result);

#endif
