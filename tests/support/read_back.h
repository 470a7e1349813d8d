/* A bulletin as who reads its JSON gets it; to be freed by the caller. */
#ifndef SUPPORT_READ_BACK_H
#define SUPPORT_READ_BACK_H

#include <stdlib.h>
#include <string.h>

#include "publish/bulletin.h"
#include "unit_test.h"

static inline struct bulletin *read_back(const struct bulletin *bulletin)
{
    char *json = bulletin_to_json(bulletin);
    struct bulletin *back;
    struct error err = {""};

    if (bulletin_from_json(json, strlen(json), &back, &err) != 0)
        fail_msg("%s", err.text);
    free(json);
    return back;
}

#endif
