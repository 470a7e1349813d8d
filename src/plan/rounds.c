#include "plan/rounds.h"

/* Does a fire take what is carried from this row on: one in the days planned,
 * or is there enough for one in the end? */
static bool fire_takes(const struct lived *lived, int member, int row)
{
    size_t stride = lived->tale.stride;
    size_t end = (size_t)(lived->teams->rows - 1) * stride + (size_t)member;

    for (; row < lived->teams->rows; row++)
        if (lived->tale.boiled_l[(size_t)row * stride + (size_t)member] >= 0)
            return true;
    return lived->tale.buckets_l[end] + lived->tale.tanks_l[end] >=
           lived->teams->rules->smallest_boil_l;
}

/* A fire takes two whole hours: one to start, one to finish. */
static bool fits_a_fire(const struct plan_time *time)
{
    for (int row = 0; row + 1 < time->hour_count; row++)
        if (time->hours[row].attended && time->hours[row + 1].attended)
            return true;
    return false;
}

static bool most_have_it_taken(const struct lived *lived, int row)
{
    int taken = 0;

    for (int member = 0; member < lived->teams->members; member++)
        taken += fire_takes(lived, member, row);
    return 2 * taken >= lived->teams->members;
}

bool plan_drop_rounds(const struct lived *lived, struct plan_day_choice *course)
{
    bool dropped = false, fires = fits_a_fire(lived->teams->time);

    for (int day = lived->teams->time->day_count - 1; day >= 0; day--)
        for (int i = 1; i >= 0; i--) {
            short *at = &course[day].collect_at[i];

            if (*at < 0)
                continue;
            if (fires && most_have_it_taken(lived, *at))
                return dropped;
            *at = -1;
            dropped = true;
        }
    return dropped;
}
