#include "command/operation.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "command/published.h"
#include "logbook/log_json.h"
#include "logbook/spool.h"
#include "source/source.h"

static int complain(int code, const char *sentence)
{
    fprintf(stderr, "thawbell: %s\n", sentence);
    return code;
}

struct config *operation_read_file(const char *path)
{
    struct error_list errors = {NULL, 0}, warnings = {NULL, 0};
    const char *names[CONFIG_MAX_SOURCES];
    struct config *config = NULL;
    int count = source_names(names, CONFIG_MAX_SOURCES);

    if (config_read(path, names, count, &config, &errors, &warnings) != 0)
        config = NULL;
    for (int i = 0; i < errors.count; i++)
        complain(0, errors.items[i]);
    error_list_free(&errors);
    error_list_free(&warnings);
    return config;
}

int operation_open(const struct options *options, struct operation *out)
{
    struct error err = {""};
    struct config *place = published_place(options, &err);

    *out = (struct operation){NULL, NULL};
    if (place == NULL)
        return complain(EXIT_USAGE, err.text);
    out->config = operation_read_file(place->path);
    config_free(place);
    if (out->config == NULL)
        return EXIT_USAGE;
    out->zone = zone_open(out->config->zone_name, &err);
    return out->zone != NULL ? EXIT_DONE : complain(EXIT_FAILED, err.text);
}

void operation_close(struct operation *operation)
{
    zone_free(operation->zone);
    config_free(operation->config);
    *operation = (struct operation){NULL, NULL};
}

static char *published_path(const struct operation *operation, const char *name)
{
    char *folder = config_publish_folder(operation->config);
    char *path = file_join(folder, name);

    free(folder);
    return path;
}

static int read_taken(const struct operation *operation, struct logbook *out)
{
    char *path = published_path(operation, "logbook.json"), *bytes = NULL;
    struct error err = {""};
    size_t length;
    int result = 0;

    if (file_exists(path)) {
        result = file_read(path, LOG_JSON_MAX_BYTES, &bytes, &length, &err);
        if (result == 0 && log_json_read(bytes, length, operation->config->slug,
                                         out, &err) != 0)
            result = error_prefix(&err, "%s: ", path);
        if (result != 0)
            complain(0, err.text);
    }
    free(bytes);
    free(path);
    return result;
}

static void read_waiting(const struct operation *operation, struct logbook *out)
{
    char *folder = config_spool_folder(operation->config);
    struct error err = {""};
    struct spool spool;

    if (spool_read(folder, operation->config->slug, &spool, &err) != 0)
        complain(0, err.text);
    for (int i = 0; i < spool.count; i++) {
        const struct spool_file *file = &spool.files[i];

        if (file->trouble.text[0] != '\0')
            complain(0, file->trouble.text);
        for (int k = 0; k < file->records.count; k++)
            logbook_add(out, &file->records.records[k]);
    }
    spool_free(&spool);
    free(folder);
}

/* The spool first: what the daemon takes in between is then seen twice, and
 * counted once, but never missed. */
int operation_read_log(const struct operation *operation, struct logbook *out)
{
    struct logbook waiting = {0};
    int result;

    *out = (struct logbook){0};
    read_waiting(operation, &waiting);
    result = read_taken(operation, out);
    for (int i = 0; i < waiting.count; i++)
        logbook_add(out, &waiting.records[i]);
    logbook_free(&waiting);
    logbook_settle(out);
    return result;
}

struct bulletin *operation_read_bulletin(const struct operation *operation,
                                         struct error *why)
{
    char *path = published_path(operation, "bulletin.json"), *bytes = NULL;
    struct bulletin *bulletin = NULL;
    size_t length;

    if (!file_exists(path))
        error_set(why, _("nothing is published for %s yet"),
                  operation->config->name);
    else if (file_read(path, BULLETIN_MAX_BYTES, &bytes, &length, why) == 0 &&
             bulletin_from_json(bytes, length, &bulletin, why) != 0)
        error_prefix(why, "%s: ", path);
    free(bytes);
    free(path);
    return bulletin;
}
