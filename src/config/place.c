/* Where configurations are looked for, and where things are kept. */
#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "config/config.h"
#include "config/token.h"

static const char system_config[] = "/etc/thawbell";
static const char system_state[] = "/var/lib/thawbell";
static const char system_spool[] = "/var/spool/thawbell";

/* $VARIABLE/thawbell, where the XDG base directory specification wants an
 * absolute path, else ~/FALLBACK/thawbell; NULL without a home. */
static char *personal_folder(const char *variable, const char *fallback)
{
    const char *base = getenv(variable);
    const char *home = getenv("HOME");
    if (base && base[0] == '/')
        return file_join(base, "thawbell");
    if (!home || !*home)
        return NULL;
    return mem_format("%s/%s/thawbell", home, fallback);
}

static int compare_bytes(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static bool is_config_name(const char *name)
{
    size_t length = strlen(name);
    return name[0] != '.' && length > 5 &&
           strcmp(name + length - 5, ".conf") == 0;
}

/* Adds the *.conf of a folder, sorted; a folder that is not there adds
 * nothing. */
static int list_folder(const char *folder, char ***files, int *count,
                       struct error *err)
{
    DIR *dir = opendir(folder);
    if (!dir && errno == ENOENT)
        return 0;
    if (!dir)
        return error_set(err, _("%s: cannot be read: %s"), folder,
                         words_errno(errno));
    for (struct dirent *entry; (entry = readdir(dir));) {
        if (!is_config_name(entry->d_name))
            continue;
        *files = mem_resize(*files, (size_t)*count + 1, sizeof **files);
        (*files)[(*count)++] = file_join(folder, entry->d_name);
    }
    closedir(dir);
    if (*count > 0)
        qsort(*files, (size_t)*count, sizeof **files, compare_bytes);
    return 0;
}

static int find_told(const char *path, char ***files, int *count,
                     struct error *err)
{
    if (!file_is_folder(path)) {
        *files = mem_alloc(1, sizeof **files);
        (*files)[(*count)++] = mem_copy_text(path);
        return 0;
    }
    if (list_folder(path, files, count, err))
        return -1;
    if (*count == 0)
        return error_set(err, _("%s: there is no *.conf in this folder"), path);
    return 0;
}

int config_find(const char *path, char ***files, int *count, struct error *err)
{
    *files = NULL;
    *count = 0;
    if (path)
        return find_told(path, files, count, err);
    char *personal = personal_folder("XDG_CONFIG_HOME", ".config");
    int result = personal ? list_folder(personal, files, count, err) : 0;
    if (result == 0 && *count == 0)
        result = list_folder(system_config, files, count, err);
    if (result == 0 && *count == 0)
        result = error_set(err,
                           _("no configuration: there is no *.conf in %s, nor "
                             "in %s. \"thawbell check --example\" prints one "
                             "to start from"),
                           personal ? personal : "~/.config/thawbell",
                           system_config);
    free(personal);
    return result;
}

void config_files_free(char **files, int count)
{
    for (int i = 0; i < count; i++)
        free(files[i]);
    free(files);
}

static bool is_of_system(const struct config *config)
{
    size_t length = sizeof system_config - 1;
    return config->path != NULL &&
           strncmp(config->path, system_config, length) == 0 &&
           config->path[length] == '/';
}

char *config_state_folder(const struct config *config)
{
    const char *managed = getenv("STATE_DIRECTORY");
    size_t length = managed ? strcspn(managed, ":") : 0;
    if (length > 0)
        return mem_copy_bytes(managed, length);
    char *personal = is_of_system(config)
                         ? NULL
                         : personal_folder("XDG_STATE_HOME", ".local/state");
    return personal ? personal : mem_copy_text(system_state);
}

bool token_fits(const char *token)
{
    static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                "abcdefghijklmnopqrstuvwxyz0123456789-_";
    size_t length = strlen(token);
    return length >= TOKEN_LEAST && length <= TOKEN_MOST &&
           strspn(token, plain) == length;
}

char *config_token_file(const struct config *config)
{
    if (config->publish.token_file)
        return mem_copy_text(config->publish.token_file);
    char *state = config_state_folder(config);
    char *file = mem_format("%s/%s.token", state, config->slug);
    free(state);
    return file;
}

char *config_spool_folder(const struct config *config)
{
    if (config->spool)
        return mem_copy_text(config->spool);
    char *personal = is_of_system(config)
                         ? NULL
                         : personal_folder("XDG_STATE_HOME", ".local/state");
    char *folder =
        personal ? file_join(personal, "spool") : mem_copy_text(system_spool);
    free(personal);
    return folder;
}

char *config_publish_folder(const struct config *config)
{
    if (config->publish.folder)
        return file_join(config->publish.folder, config->slug);
    char *state = config_state_folder(config);
    char *folder = mem_format("%s/public/%s", state, config->slug);
    free(state);
    return folder;
}
