/* Times as people write them, on the clock of the operation. */
#ifndef LOGBOOK_LOG_TIME_H
#define LOGBOOK_LOG_TIME_H

#include <stdbool.h>

#include "base/civil_time.h"

/* "2026-03-07", "2026-03-07T17:00", "2026-03-07 17:00:30",
 * "2026-03-07T17:00-05:00". Without an offset it is the zone's clock, an hour
 * that comes twice being its first (civil_time.h); a date alone is its noon.
 */
int log_time_parse(const char *words, const struct zone *zone, utc_s *out,
                   struct error *err);
/* "17:00", "5pm", "5:30pm"; false for another word, hour and minute are then
 * as they were. */
bool log_clock_parse(const char *word, int *hour, int *minute);

#endif
