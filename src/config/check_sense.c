/* Values that are good one by one and contradict each other. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "config/reading.h"

/* The line to name for a key: its own, else that of its section. */
static int line_of(const struct config_reading *reading, const char *section,
                   const char *key)
{
    const struct ini_value *value = reading_value(reading, section, key);
    return value ? value->line : reading_section_line(reading, section);
}

static void check_attended(struct config_reading *reading)
{
    const struct config_sugarhouse *house = &reading->config->sugarhouse;
    if (house->present && house->attended_from_min >= house->attended_to_min)
        error_list_add(
            reading->errors,
            _("%s:%d: attended to (%02d:%02d) must come after "
              "attended from (%02d:%02d) on the same day; the "
              "latest is 24:00"),
            reading->path, line_of(reading, "sugarhouse", "attended to"),
            house->attended_to_min / 60, house->attended_to_min % 60,
            house->attended_from_min / 60, house->attended_from_min % 60);
}

static void check_pan(struct config_reading *reading)
{
    if (reading_value(reading, "sugarhouse", "type") &&
        !reading_value(reading, "sugarhouse", "pan") &&
        !reading_value(reading, "sugarhouse", "evaporation"))
        error_list_add(reading->errors,
                       _("%s:%d: type needs the size of the pans with it, as "
                         "in pan = 2 x 6 ft"),
                       reading->path, line_of(reading, "sugarhouse", "type"));
}

static void check_login(struct config_reading *reading)
{
    const char *const keys[] = {"user", "password file"};
    bool has[2];
    for (int i = 0; i < 2; i++)
        has[i] = reading_value(reading, "mail", keys[i]);
    for (int i = 0; i < 2; i++)
        if (has[i] && !has[1 - i])
            error_list_add(reading->errors, _("%s:%d: %s needs %s beside it"),
                           reading->path, line_of(reading, "mail", keys[i]),
                           keys[i], keys[1 - i]);
}

/* One that is there and wrong is told as that. */
static void need_beside(struct config_reading *reading, const char *key,
                        const char *other)
{
    if (reading_value(reading, "calendar", key) &&
        !reading_value(reading, "calendar", other))
        error_list_add(reading->errors, _("%s:%d: %s needs %s beside it"),
                       reading->path, line_of(reading, "calendar", key), key,
                       other);
}

static void check_upload(struct config_reading *reading)
{
    const char *upload = reading->config->publish.upload;
    need_beside(reading, "upload user", "upload");
    need_beside(reading, "upload password file", "upload");
    need_beside(reading, "upload host key", "upload");
    if (!upload)
        return;
    need_beside(reading, "upload user", "upload password file");
    need_beside(reading, "upload password file", "upload user");
    if (strncmp(upload, "sftp:", 5) == 0) {
        need_beside(reading, "upload", "upload user");
        need_beside(reading, "upload", "upload host key");
    }
}

void config_check_sense(struct config_reading *reading)
{
    check_attended(reading);
    check_pan(reading);
    check_login(reading);
    check_upload(reading);
}

int config_check_together(struct config *const *configs, int count,
                          struct error_list *errors)
{
    int added = 0;
    for (int i = 0; i < count; i++)
        for (int j = 0; j < i; j++) {
            if (strcmp(configs[i]->slug, configs[j]->slug) != 0)
                continue;
            error_list_add(errors,
                           _("%s:1: the name \"%s\" is too like that of %s; "
                             "two operations need two names"),
                           configs[i]->path, configs[i]->name,
                           configs[j]->path);
            added++;
        }
    return added;
}
