/* Readings at any times laid on the hours of a series. */
#ifndef SOURCE_LAY_H
#define SOURCE_LAY_H

#include "source/intake.h"

utc_s hour_at_or_after(utc_s instant);

/* Lays one layer on the series, as its source 0.
 *
 * Instants on the hour go there; between instants off the hour and at most
 * 90 minutes apart the hour gets a straight line; what is left takes the
 * nearest instant within snap_s. An interval of a state holds for the hours
 * that begin in it; an interval of a mean or sum is spread evenly, and only
 * hours that are wholly covered count. Of two readings for the same time the
 * first is kept; where intervals overlap, the one that begins later counts
 * for its length, of two that begin together the shorter. Both are told. */
void lay_layer(struct layer *layer, struct series *series,
               enum quantity quantity, utc_s snap_s, struct error_list *notes);

/* Drops values that no air makes: starting from the longest run of hours
 * without a jump past quantity_max_jump, outwards, whatever jumps from the
 * last good hour. Each is told and counted as refused. */
void lay_drop_jumps(struct intake *intake, struct series *series,
                    enum quantity quantity);

#endif
