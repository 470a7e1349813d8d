/* Has the plan changed since it was told? Inside publish/ only. */
#ifndef PUBLISH_MAIL_PLAN_H
#define PUBLISH_MAIL_PLAN_H

#include "publish/mail_watch.h"

bool mail_watch_plan(const struct bulletin *bulletin, utc_s now,
                     const struct mail_told *told, int told_count,
                     struct mail_condition *out);

#endif
