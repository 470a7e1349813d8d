/* What is doubtful on this machine now. The configuration itself is judged
 * without looking at the machine; this is the rest. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/secret.h"
#include "base/words.h"
#include "command/check.h"
#include "config/token.h"

char *check_secret(const char *path)
{
    char *bytes = NULL;
    size_t length = 0;
    if (file_read(path, SECRET_MAX_BYTES + 2, &bytes, &length, NULL) != 0)
        return NULL;
    bytes[secret_line_length(bytes, length)] = '\0';
    return bytes;
}

static void doubt_line(const char *key, const char *path,
                       struct error_list *warnings)
{
    char *line = check_secret(path);
    if (line && line[0] == '\0')
        error_list_add(warnings,
                       _("%s: %s holds no secret: one line is expected"), key,
                       path);
    secret_free(line);
}

/* The server's own sentence. */
static void doubt_letters(const char *path, struct error_list *warnings)
{
    char *line = check_secret(path);
    if (line && !token_fits(line))
        error_list_add(warnings,
                       _("%s: a secret path is %d to %d letters, digits, - "
                         "and _; remove the file and a new one is made"),
                       path, (int)TOKEN_LEAST, (int)TOKEN_MOST);
    secret_free(line);
}

/* True if there is nothing to say of who may read it. */
static bool doubt_guard(const char *key, const char *path,
                        struct error_list *warnings)
{
    struct stat status;
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
    else
        return true;
    return false;
}

static void doubt_secret(const char *key, const char *path,
                         struct error_list *warnings)
{
    if (path && doubt_guard(key, path, warnings))
        doubt_line(key, path, warnings);
}

/* One that is not there yet is made. */
static void doubt_token(const struct config *config,
                        struct error_list *warnings)
{
    char *path = config_token_file(config);
    if (config->publish.listen && access(path, F_OK) == 0 &&
        doubt_guard("token file", path, warnings))
        doubt_letters(path, warnings);
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

static void doubt_certificates(const struct config *config,
                               struct error_list *warnings)
{
    const char *path = config->mail.ca_file;
    if (path && access(path, R_OK) != 0)
        error_list_add(warnings, _("%s: %s cannot be read: %s"), "ca file",
                       path, words_errno(errno));
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

/* The folder above, made out of its path; false where there is none. */
static bool cut_to_parent(char *path)
{
    char *slash = strrchr(path, '/');
    if (strcmp(path, "/") == 0 || strcmp(path, ".") == 0)
        return false;
    if (!slash)
        memcpy(path, ".", 2); /* a name takes as much */
    else
        slash[slash == path] = '\0';
    return true;
}

/* Tries it, since permissions do not tell of a file system that takes none,
 * and takes it away again; 0 or the errno. */
static int folder_trouble(const char *folder)
{
    char *trial = mem_format("%s/.thawbell-check-XXXXXX", folder);
    int trouble = mkdtemp(trial) ? 0 : errno;
    if (trouble == 0)
        rmdir(trial);
    free(trial);
    return trouble;
}

static bool is_away(const char *path)
{
    struct stat status;
    return stat(path, &status) != 0 && (errno == ENOENT || errno == ENOTDIR);
}

/* The folder that is there of those which lead to `path`, as the daemon would
 * make them. Who asks may be another than the daemon's user: of a
 * configuration in /etc that he may not write there says nothing. */
static void doubt_publish(const struct config *config,
                          struct error_list *warnings)
{
    if (!config->publish.folder)
        return;
    char *path = config_publish_folder(config);
    bool further = true;
    while (further && is_away(path))
        further = cut_to_parent(path);
    int trouble = folder_trouble(path);
    bool other = trouble == EACCES && strncmp(config->path, "/etc/", 5) == 0;
    if (trouble != 0 && !other)
        error_list_add(warnings,
                       _("publish: nothing can be written into %s: %s"),
                       config->publish.folder, words_errno(trouble));
    free(path);
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
    doubt_certificates(config, warnings);
    doubt_token(config, warnings);
    doubt_secret("upload password file", config->publish.upload_password_file,
                 warnings);
    doubt_own_file(config, warnings);
    doubt_station(config, warnings);
    doubt_models(config, warnings);
    doubt_publish(config, warnings);
    doubt_tapped(config, now, warnings);
}
