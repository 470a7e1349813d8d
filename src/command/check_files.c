/* What is doubtful on this machine now. The configuration itself is judged
 * without looking at the machine; this is the rest. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/words.h"
#include "command/check.h"

static void doubt_secret(const char *key, const char *path,
                         struct error_list *warnings)
{
    struct stat status;
    if (!path)
        return;
    if (stat(path, &status) != 0)
        error_list_add(warnings, _("%s: %s cannot be read: %s"), key, path,
                       words_errno(errno));
    else if (!S_ISREG(status.st_mode))
        error_list_add(warnings, _("%s: %s is not a regular file"), key, path);
    else if (status.st_mode & (S_IRWXG | S_IRWXO))
        error_list_add(warnings,
                       _("%s: others may read %s, and so it will be refused; "
                         "chmod 600 %s"),
                       key, path, path);
}

/* One that is not there yet is made. */
static void doubt_token(const struct config *config,
                        struct error_list *warnings)
{
    char *path = config_token_file(config);
    if (config->publish.listen && access(path, F_OK) == 0)
        doubt_secret("token file", path, warnings);
    free(path);
}

/* A key of a service stands in the configuration itself. */
static void doubt_own_file(const struct config *config,
                           struct error_list *warnings)
{
    struct stat status;
    bool secret = false;
    for (int i = 0; i < config->source_count; i++)
        secret = secret || config->sources[i].key;
    if (secret && stat(config->path, &status) == 0 &&
        (status.st_mode & S_IRWXO))
        error_list_add(warnings,
                       _("%s: it holds an access key, and anybody on this "
                         "machine may read it; chmod o= %s"),
                       config->path, config->path);
}

static void doubt_station(const struct config *config,
                          struct error_list *warnings)
{
    if (config->station && access(config->station, R_OK) != 0)
        error_list_add(warnings,
                       _("station: %s cannot be read: %s; the forecast goes "
                         "on without it"),
                       config->station, words_errno(errno));
}

static void doubt_models(const struct config *config,
                         struct error_list *warnings)
{
    struct stat status;
    if (!config->models)
        return;
    if (stat(config->models, &status) != 0)
        error_list_add(warnings, _("models: %s cannot be read: %s"),
                       config->models, words_errno(errno));
    else if (!S_ISDIR(status.st_mode))
        error_list_add(warnings, _("models: %s is not a folder"),
                       config->models);
}

/* Tapholes close within the year; a date of another one was left behind. */
static void doubt_tapped(const struct config *config, utc_s now,
                         struct error_list *warnings)
{
    const int64_t season_days = 200, ahead_days = 60;
    int64_t today = now / SECONDS_PER_DAY;
    char date[ISO_DATE_SIZE];
    for (int i = 0; i < config->bush_count; i++) {
        const struct config_bush *bush = &config->bushes[i];
        if (!bush->has_tapped)
            continue;
        int64_t day = civil_day_number(bush->tapped);
        iso_date(bush->tapped, date);
        if (today - day > season_days)
            error_list_add(warnings,
                           _("bush %s: tapped %s is of a season that is "
                             "over; write this season's date"),
                           bush->name, date);
        else if (day - today > ahead_days)
            error_list_add(warnings,
                           _("bush %s: tapped %s is more than two months "
                             "ahead"),
                           bush->name, date);
    }
}

void check_files(const struct config *config, utc_s now,
                 struct error_list *warnings)
{
    doubt_secret("password file", config->mail.password_file, warnings);
    doubt_token(config, warnings);
    doubt_secret("upload password file", config->publish.upload_password_file,
                 warnings);
    doubt_own_file(config, warnings);
    doubt_station(config, warnings);
    doubt_models(config, warnings);
    doubt_tapped(config, now, warnings);
}
