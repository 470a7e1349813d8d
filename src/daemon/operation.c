#include "daemon/operation.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "config/slug.h"
#include "daemon/schedule.h"
#include "publish/bulletin.h"
#include "source/source.h"

enum {
    CONFIG_MAX_BYTES = 1024 * 1024,
    AT_ONCE = 16, /* so many operations need no spreading */
    A_SECOND = 4, /* turns begun in a second when there are more */
};

struct config *operation_read(const char *path, struct error_list *errors,
                              struct error_list *warnings)
{
    const char *names[CONFIG_MAX_SOURCES];
    struct config *config = NULL;
    int count = source_names(names, CONFIG_MAX_SOURCES);

    return config_read(path, names, count, &config, errors, warnings) == 0
               ? config
               : NULL;
}

bool operation_chosen(const struct config *config, const char *name)
{
    char *slug;
    bool meant;

    if (name == NULL)
        return true;
    slug = slug_from_name(name);
    meant = strcmp(slug, config->slug) == 0;
    free(slug);
    return meant;
}

static void operation_free(struct daemon_operation *operation)
{
    if (operation == NULL)
        return;
    config_free(operation->config);
    zone_free(operation->zone);
    error_list_free(&operation->troubles);
    free(operation->folder);
    free(operation);
}

void operations_free(struct daemon_operation **operations, int count)
{
    for (int i = 0; i < count; i++)
        operation_free(operations[i]);
    free(operations);
}

/* The age of what an earlier process published: known without the forecast,
 * so that a start without a network tells the truth. */
static utc_s published_weather(const char *folder)
{
    char *path = file_join(folder, "bulletin.json"), *bytes = NULL;
    struct bulletin *bulletin = NULL;
    utc_s from = 0;
    size_t length;

    if (file_exists(path) &&
        file_read(path, BULLETIN_MAX_BYTES, &bytes, &length, NULL) == 0 &&
        bulletin_from_json(bytes, length, &bulletin, NULL) == 0) {
        from = bulletin->weather_from;
        bulletin_free(bulletin);
    }
    free(bytes);
    free(path);
    return from;
}

static void digest_file(const char *path, char digest[DIGEST_SIZE])
{
    char *bytes;
    size_t length;

    digest[0] = '\0';
    if (file_read(path, CONFIG_MAX_BYTES, &bytes, &length, NULL) != 0)
        return;
    digest_hex(bytes, length, digest);
    free(bytes);
}

static struct daemon_operation *operation_make(struct config *config,
                                               struct error *err)
{
    struct daemon_operation *operation = mem_alloc(1, sizeof *operation);

    operation->config = config;
    /* What was assumed is for `check` to tell. */
    error_list_free(&config->assumed);
    config->assumed = (struct error_list){NULL, 0};
    operation->folder = config_publish_folder(config);
    digest_file(config->path, operation->digest);
    operation->zone = zone_open(config->zone_name, err);
    if (operation->zone != NULL)
        return operation;
    operation_free(operation);
    return NULL;
}

static void check_together(struct daemon_operation **operations, int count,
                           struct error_list *errors)
{
    struct config **configs = mem_alloc((size_t)count + 1, sizeof *configs);

    for (int i = 0; i < count; i++)
        configs[i] = operations[i]->config;
    config_check_together(configs, count, errors);
    free(configs);
}

static void read_file(const char *path, const char *chosen,
                      struct daemon_operation **operations, int *count,
                      struct error_list *errors, struct error_list *warnings)
{
    struct config *config = operation_read(path, errors, warnings);
    struct error err = {""};

    if (config == NULL)
        return;
    if (!operation_chosen(config, chosen)) {
        config_free(config);
        return;
    }
    operations[*count] = operation_make(config, &err);
    if (operations[*count] != NULL)
        (*count)++;
    else
        error_list_add(errors, "%s: %s", path, err.text);
}

static int read_all(const struct options *options,
                    struct daemon_operation ***operations, int *count,
                    struct error_list *errors, struct error_list *warnings)
{
    int file_count = 0, before = errors->count;
    struct error err = {""};
    char **files = NULL;

    *count = 0;
    *operations = NULL;
    if (config_find(options->config, &files, &file_count, &err) != 0) {
        error_list_add(errors, "%s", err.text);
        return -1;
    }
    *operations = mem_alloc((size_t)file_count + 1, sizeof **operations);
    for (int i = 0; i < file_count; i++)
        read_file(files[i], options->operation, *operations, count, errors,
                  warnings);
    config_files_free(files, file_count);
    check_together(*operations, *count, errors);
    for (int i = 0; i < *count && *count <= AT_ONCE; i++)
        (*operations)[i]->weather_from =
            published_weather((*operations)[i]->folder);
    if (*count == 0 && errors->count == before)
        error_list_add(errors, _("no operation is called \"%s\""),
                       options->operation != NULL ? options->operation : "");
    if (errors->count == before)
        return 0;
    operations_free(*operations, *count);
    *operations = NULL;
    *count = 0;
    return -1;
}

struct reading {
    const struct options *options;
    struct daemon_operation ***operations;
    int *count;
    struct error_list *errors, *warnings;
    int code;
};

static void read_apart(void *data)
{
    struct reading *reading = data;

    reading->code =
        read_all(reading->options, reading->operations, reading->count,
                 reading->errors, reading->warnings);
}

/* Ten thousand operations, each with holes beside it, are more than a turn's
 * small blocks should be spread over. */
int operations_read(const struct options *options,
                    struct daemon_operation ***operations, int *count,
                    struct error_list *errors, struct error_list *warnings)
{
    struct reading reading = {options, operations, count, errors, warnings, -1};

    mem_apart(read_apart, &reading);
    return reading.code;
}

static struct daemon_operation *find(struct daemon_operation **operations,
                                     int count, const char *slug, int hint)
{
    if (hint < count && strcmp(operations[hint]->config->slug, slug) == 0)
        return operations[hint];
    for (int i = 0; i < count; i++)
        if (strcmp(operations[i]->config->slug, slug) == 0)
            return operations[i];
    return NULL;
}

void operations_inherit(struct daemon_operation **operations, int count,
                        struct daemon_operation **old, int old_count, utc_s now)
{
    int rest_s = count <= AT_ONCE ? 1 : count / A_SECOND;

    if (rest_s > SCHEDULE_LONGEST_REST_S)
        rest_s = SCHEDULE_LONGEST_REST_S;
    for (int i = 0; i < count; i++) {
        struct daemon_operation *operation = operations[i];
        struct daemon_operation *before =
            find(old, old_count, operation->config->slug, i);

        operation->place = i;
        operation->next =
            now + schedule_spread_s(operation->config->slug, rest_s);
        if (before == NULL)
            continue;
        operation->turned = before->turned;
        operation->fresh = before->fresh;
        operation->kept_back = before->kept_back;
        if (operation->weather_from == 0)
            operation->weather_from = before->weather_from;
        operation->trouble_since = before->trouble_since;
        operation->troubles = before->troubles;
        operation->pruned = before->pruned;
        before->troubles = (struct error_list){NULL, 0};
        if (strcmp(before->digest, operation->digest) == 0)
            operation->next = before->next;
    }
}

int state_lock(const char *state, bool *at_work, struct error *err)
{
    struct flock whole = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    char *path = file_join(state, "lock");
    int fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    int why = errno;

    *at_work = false;
    if (fd < 0) {
        error_set(err, _("%s: cannot be opened: %s"), path, words_errno(why));
    } else if (fcntl(fd, F_SETLK, &whole) != 0) {
        error_set(err, _("%s: another thawbelld is at work with this folder"),
                  state);
        *at_work = true;
        close(fd);
        fd = -1;
    }
    free(path);
    return fd;
}
