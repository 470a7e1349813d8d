/* Takes in the readings of one answer, in any order, and lays them on the
 * hours of a series: checks each value, settles double and overlapping
 * times, brings odd stamps to the hour, and tells what it left out. */
#ifndef SOURCE_INTAKE_H
#define SOURCE_INTAKE_H

#include <cjson/cJSON.h>

#include "base/civil_time.h"
#include "source/source.h"
#include "source/unit.h"

/* start == end: the value at an instant. Otherwise the value holds from
 * start to before end (temperature and the like), or is the mean or sum of
 * that time (what belongs to the hour, see weather/quantity.h). */
struct reading {
    utc_s start, end;
    double value; /* in the unit of the quantity */
    enum origin origin;
    int order; /* as it came */
};

struct layer {
    char name[64]; /* the service's own, for messages */
    struct reading *readings;
    int count, size;
    int refused; /* values left out */
    struct error first_refused;
};

struct intake {
    struct layer layers[QUANTITY_COUNT];
    struct error_list *refused; /* borrowed */
    /* An instant that is off the hour counts for an hour this near when no
     * neighbour beyond the hour helps; 0 for never. */
    utc_s snap_s;
};

void intake_init(struct intake *intake, struct error_list *refused);
void intake_free(struct intake *intake);
/* The name of the layer that follows. */
void intake_name(struct intake *intake, enum quantity quantity,
                 const char *name);

/* So many readings are to come: room for them is made at once. */
void intake_expect(struct intake *intake, enum quantity quantity, int count);
/* One reading: `item` is the JSON value in the unit of `scale`. A null or a
 * missing item is no reading; one of another type or outside the plausible
 * range is refused and told. */
void intake_json(struct intake *intake, enum quantity quantity,
                 const struct unit_scale *scale, utc_s start, utc_s end,
                 enum origin origin, const cJSON *item);
/* The same for a number that is in the unit of the quantity already. */
void intake_value(struct intake *intake, enum quantity quantity, utc_s start,
                  utc_s end, enum origin origin, double value);
/* Counts a value as left out; the first few a layer are told. */
void intake_refuse(struct intake *intake, enum quantity quantity,
                   const struct error *why);

/* Tells how many more were refused; intake_finish does it by itself. */
void intake_tell_rest(struct intake *intake);

/* Makes the series over the hours that the air temperature spans; it holds
 * the one source. NULL with a sentence when no air temperature is left, when
 * more of it was refused than taken, or when it spans more than two years. */
struct series *intake_finish(struct intake *intake,
                             const struct series_source *source,
                             struct error *err);

#endif
