#include "plan/loss.h"

#include <stdlib.h>

#include "base/memory.h"
#include "outlook/flow.h"

static const double overflow_told = 0.3, rounding_l = 1e-6;

/* What is lost at the hour's end by one way. */
static double lost_at_l(const struct lived *lived, size_t at, bool overflow)
{
    return overflow ? lived->tale.overflow_l[at]
                    : lived->tale.lost_l[at] - lived->tale.overflow_l[at];
}

/* Whether that course can lose so much more at all: what is lost never comes
 * back, but for what rounding does to a difference. */
static bool may_lose(const struct lived *with, const struct lived *without,
                     int member, int from, bool overflow, double more_l)
{
    size_t at = (size_t)from * with->tale.stride + (size_t)member;
    size_t end =
        (size_t)(with->teams->rows - 1) * with->tale.stride + (size_t)member;

    return lost_at_l(without, end, overflow) - lost_at_l(with, at, overflow) >
           more_l - rounding_l;
}

/* The row at which one course has lost `more_l` more than the other by that
 * way, from the row on in which they part; -1 if never. */
static int loss_row(const struct lived *with, const struct lived *without,
                    int member, int from, bool overflow, double more_l)
{
    if (!may_lose(with, without, member, from, overflow, more_l))
        return -1;
    for (int row = from; row < with->teams->rows; row++) {
        size_t at = (size_t)row * with->tale.stride + (size_t)member;

        if (lost_at_l(without, at, overflow) - lost_at_l(with, at, overflow) >
            more_l)
            return row;
    }
    return -1;
}

static void find_loss_time(const struct lived *with,
                           const struct lived *without, int from,
                           double least_l, struct plan_loss *loss)
{
    int members = with->teams->members, count = 0;
    double *rows = mem_alloc((size_t)members, sizeof *rows);

    for (int member = 0; member < members; member++) {
        int row =
            loss_row(with, without, member, from, loss->overflows, least_l);

        if (row >= 0)
            rows[count++] = row;
    }
    flow_sort(rows, count);
    loss->chance = (double)count / members;
    if (count > 0)
        loss->at = lived_row_start(with, flow_quantile(rows, count, 0.5));
    free(rows);
}

struct plan_loss plan_loss_of(const struct lived *with,
                              const struct lived *without, int from,
                              double least_l)
{
    int members = with->teams->members;
    struct plan_loss loss = {0};

    for (int member = 0; member < members; member++) {
        const struct team *a = &with->now[member / TEAM];
        const struct team *b = &without->now[member / TEAM];
        int lane = member % TEAM;

        loss.overflow_l +=
            (b->overflow_l[lane] - a->overflow_l[lane]) / members;
        loss.spoiled_l += (b->spoiled_l[lane] - a->spoiled_l[lane]) / members;
    }
    loss.overflows =
        loss.overflow_l >= overflow_told * (loss.overflow_l + loss.spoiled_l);
    find_loss_time(with, without, from, least_l, &loss);
    return loss;
}
