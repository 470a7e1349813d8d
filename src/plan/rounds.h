/* Rounds of the buckets that make no sense: for most members no fire takes
 * what they bring in. Inside plan/ only. */
#ifndef PLAN_ROUNDS_H
#define PLAN_ROUNDS_H

#include "plan/lived.h"

/* Takes them out of the course that was lived (with its whole tale); true if
 * there were any. Rounds before one that a fire takes stay. */
bool plan_drop_rounds(const struct lived *lived,
                      struct plan_day_choice *course);

#endif
