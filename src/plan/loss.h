/* What one course loses more than another. Inside plan/ only. */
#ifndef PLAN_LOSS_H
#define PLAN_LOSS_H

#include "plan/lived.h"

struct plan_loss {
    double overflow_l, spoiled_l; /* means */
    bool overflows; /* what runs over is told, though more may spoil later */
    double chance;  /* share of the members that lose more than the least */
    utc_s at;       /* median hour from which they have, or 0 */
};

/* `without` parts from `with` at the row `from`. */
struct plan_loss plan_loss_of(const struct lived *with,
                              const struct lived *without, int from,
                              double least_l);

#endif
