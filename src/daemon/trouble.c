#include "daemon/trouble.h"

#include <string.h>

#include "base/log.h"
#include "base/words.h"
#include "publish/bulletin.h"

/* The same but for what comes after the semicolon, the time of the next
 * attempt? */
static bool same(const char *a, const char *b)
{
    const char *end = strrchr(a, ';');

    return end != NULL ? strncmp(a, b, (size_t)(end - a) + 1) == 0
                       : strcmp(a, b) == 0;
}

static bool holds(const struct error_list *list, const char *words)
{
    for (int i = 0; i < list->count; i++)
        if (same(list->items[i], words))
            return true;
    return false;
}

static void tell_well(const struct daemon_operation *operation)
{
    char since[ISO_TIME_SIZE];

    iso_time_local(operation->zone, operation->trouble_since, since);
    log_warn(_("%s: all is well again; something was wrong since %s "
               "operation=%s"),
             operation->config->name, since, operation->config->slug);
}

void trouble_tell(struct daemon_operation *operation, utc_s now,
                  const struct error_list *troubles)
{
    struct error_list kept = {NULL, 0};

    for (int i = 0; i < troubles->count; i++) {
        if (!holds(&operation->troubles, troubles->items[i]))
            log_warn(_("%s: %s operation=%s"), operation->config->name,
                     troubles->items[i], operation->config->slug);
        error_list_add(&kept, "%s", troubles->items[i]);
    }
    if (kept.count > 0 && operation->trouble_since == 0)
        operation->trouble_since = now;
    if (kept.count == 0 && operation->trouble_since != 0) {
        tell_well(operation);
        operation->trouble_since = 0;
    }
    error_list_free(&operation->troubles);
    operation->troubles = kept;
}

void trouble_tell_one(struct daemon_operation *operation, utc_s now,
                      const char *words)
{
    struct error_list one = {NULL, 0};

    error_list_add(&one, "%s", words);
    trouble_tell(operation, now, &one);
    error_list_free(&one);
}
