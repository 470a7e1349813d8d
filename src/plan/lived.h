/* A course of choices lived through by every member. Inside plan/ only. */
#ifndef PLAN_LIVED_H
#define PLAN_LIVED_H

#include "plan/team.h"

struct lived {
    const struct teams *teams;
    struct team *now;    /* the members, where they have come to */
    struct team *starts; /* at each day's start [day * teams->count + team] */
    /* What is told of each hour and member: [row * tale.stride + member]. */
    struct team_tale tale;
    void *memory[2]; /* owned, and with it all above */
};

/* Room for a course. `whole`: with the starts and all of the tale, else with
 * what runs over and what is lost alone. */
void lived_alloc(struct lived *lived, const struct teams *teams, bool whole);
void lived_free(struct lived *lived);
/* Begins with the stock, the same for all members. */
void lived_begin(struct lived *lived, const struct plan_stock *stock);
/* Lives the next day. */
void lived_day(struct lived *lived, int day,
               const struct plan_day_choice *choice);
/* Lives the course (a choice a day) from the stock on. */
void lived_run(struct lived *lived, const struct plan_stock *stock,
               const struct plan_day_choice *course);
/* Lives on from the day's start as `with`, a whole one, left it; the hours
 * before are left as they are. */
void lived_run_from(struct lived *lived, const struct lived *with, int day,
                    const struct plan_day_choice *course);

/* Of a row, or of a mean of two. */
utc_s lived_row_start(const struct lived *lived, double row);

/* Median over the members, an hour each, of cells of the tale; the caller
 * frees. */
double *lived_medians(const struct lived *lived, const double *cells);
/* The members by what they have in one hour, the least first, and the median.
 * order is that of an hour close to it, which is quick, or lived_order. */
double lived_median(const double *cells, int members, short *order);
short *lived_order(int members); /* the caller frees */

#endif
