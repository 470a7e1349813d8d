/* Jumps that no air makes, found on the laid hours. */
#include <math.h>

#include "base/words.h"
#include "source/lay.h"

enum { JUMP_MAX_GAP_H = 3 };

struct walk {
    const struct series *series;
    enum quantity quantity;
    double max_jump;
    int last; /* hour of the last good value, -1: none yet */
    double last_value;
};

/* True if the value fits the last good one; it then becomes that. */
static bool take_step(struct walk *walk, int hour, double value)
{
    int apart = hour > walk->last ? hour - walk->last : walk->last - hour;

    apart = apart < JUMP_MAX_GAP_H ? apart : JUMP_MAX_GAP_H;
    if (walk->last >= 0 &&
        fabs(value - walk->last_value) > walk->max_jump * apart)
        return false;
    walk->last = hour;
    walk->last_value = value;
    return true;
}

/* First hour of the run without a jump that has the most values. */
static int find_longest_run(struct walk walk)
{
    int start = 0, best = 0, length = 0, best_length = 0;
    double value;

    for (int hour = 0; hour < series_hours(walk.series); hour++) {
        if (!series_get(walk.series, walk.quantity, hour, &value))
            continue;
        if (!take_step(&walk, hour, value)) {
            walk.last = -1;
            take_step(&walk, hour, value);
            length = 0;
        }
        if (length++ == 0)
            start = hour;
        if (length > best_length) {
            best_length = length;
            best = start;
        }
    }
    return best;
}

static void refuse_jump(struct intake *intake, struct series *series,
                        const struct walk *walk, int hour, double value)
{
    char when[ISO_TIME_SIZE];
    struct error err;

    iso_time_utc(series_time(series, hour), when);
    error_set(&err,
              _("%s at %s left out: %s %.4g is more than %g an hour from the "
                "%.4g beside it"),
              intake->layers[walk->quantity].name, when,
              quantity_name(walk->quantity), value, walk->max_jump,
              walk->last_value);
    intake_refuse(intake, walk->quantity, &err);
    series_clear(series, walk->quantity, hour);
}

static void walk_away(struct intake *intake, struct series *series,
                      struct walk walk, int from, int step)
{
    double value;

    for (int hour = from; hour >= 0 && hour < series_hours(series);
         hour += step)
        if (series_get(series, walk.quantity, hour, &value) &&
            !take_step(&walk, hour, value))
            refuse_jump(intake, series, &walk, hour, value);
}

void lay_drop_jumps(struct intake *intake, struct series *series,
                    enum quantity quantity)
{
    struct walk walk = {series, quantity, quantity_max_jump(quantity), -1, 0};
    int run;

    if (walk.max_jump <= 0 || series_count(series, quantity) == 0)
        return;
    run = find_longest_run(walk);
    walk_away(intake, series, walk, run, 1);
    walk_away(intake, series, walk, run, -1);
}
