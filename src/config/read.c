/* Reading one file from its bytes to a whole, checked configuration. */
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "config/reading.h"

/* Sixty-four bushes with every key told and explained are a tenth of it. */
enum { CONFIG_MAX_BYTES = 128 * 1024 };

/* The line of a sentence "path:line: …"; 0 for another. */
static int line_of(const char *sentence, const char *path)
{
    size_t length = strlen(path);
    long line;
    if (strncmp(sentence, path, length) != 0 || sentence[length] != ':')
        return 0;
    sentence += length + 1;
    char *number = mem_copy_bytes(sentence, strcspn(sentence, ":"));
    bool good = integer_parse(number, 0, CONFIG_MAX_BYTES, &line);
    free(number);
    return good ? (int)line : 0;
}

/* A sentence with its line and its place among those of the line. */
struct placed {
    int line, place;
    char *sentence;
};

static int compare_placed(const void *a, const void *b)
{
    const struct placed *one = a, *other = b;
    return one->line != other->line ? one->line - other->line
                                    : one->place - other->place;
}

/* By line, so that the file can be mended from top to bottom; what belongs to
 * one line stays in its order. */
static void sort_by_line(struct error_list *list, int from, const char *path)
{
    int count = list->count - from;
    if (count < 2)
        return;
    struct placed *placed = mem_alloc((size_t)count, sizeof *placed);
    for (int i = 0; i < count; i++)
        placed[i] = (struct placed){line_of(list->items[from + i], path), i,
                                    list->items[from + i]};
    qsort(placed, (size_t)count, sizeof *placed, compare_placed);
    for (int i = 0; i < count; i++)
        list->items[from + i] = placed[i].sentence;
    free(placed);
}

static void read_bytes(struct config_reading *reading, const char *bytes,
                       size_t length)
{
    struct config *config = reading->config;
    int before = reading->errors_before;
    int warned = reading->warnings->count;
    config->path = mem_copy_text(reading->path);
    /* Goes on after a broken line, so that all is told in one run. */
    ini_read(reading->path, bytes, length, &reading->ini, reading->errors);
    config_preset(config);
    sections_read(reading);
    services_settle(reading);
    tanks_settle(reading);
    config_assume(reading);
    config_check_sense(reading);
    if (reading->errors->count == before)
        config_doubt(reading);
    sort_by_line(reading->errors, before, reading->path);
    sort_by_line(reading->warnings, warned, reading->path);
}

/* The ensemble of a service comes with the service and is no choice of its
 * own. */
static int choices(const char *const *names, int count, const char **out)
{
    int kept = 0;
    for (int i = 0; i < count; i++)
        if (!strstr(names[i], "-ensemble"))
            out[kept++] = names[i];
    return kept;
}

static void reading_free(struct config_reading *reading)
{
    for (int i = 0; i < reading->known_count; i++) {
        free(reading->services[i].url);
        free(reading->services[i].key);
    }
    free(reading->services);
    ini_free(&reading->ini);
}

int config_read(const char *path, const char *const *known_sources,
                int known_source_count, struct config **out,
                struct error_list *errors, struct error_list *warnings)
{
    struct error err = {""};
    char *bytes;
    size_t length;
    *out = NULL;
    if (file_read(path, CONFIG_MAX_BYTES, &bytes, &length, &err)) {
        error_list_add(errors, "%s", err.text);
        return -1;
    }
    struct config_reading reading = {
        .path = path, .errors = errors, .warnings = warnings};
    reading.errors_before = errors->count;
    reading.config = mem_alloc(1, sizeof *reading.config);
    size_t most = (size_t)known_source_count + 1;
    const char **known = mem_alloc(most, sizeof *known);
    reading.known = known;
    reading.known_count = choices(known_sources, known_source_count, known);
    reading.services = mem_alloc(most, sizeof *reading.services);
    read_bytes(&reading, bytes, length);
    reading_free(&reading);
    free(known);
    free(bytes);
    if (errors->count > reading.errors_before) {
        config_free(reading.config);
        return -1;
    }
    *out = reading.config;
    return 0;
}

static void free_mail(struct config_mail *mail)
{
    free(mail->server);
    free(mail->user);
    free(mail->password_file);
    free(mail->ca_file);
    free(mail->from);
    words_free(mail->to, mail->to_count);
}

void config_free(struct config *config)
{
    if (!config)
        return;
    for (int i = 0; i < config->bush_count; i++)
        free(config->bushes[i].name);
    for (int i = 0; i < config->source_count; i++) {
        free(config->sources[i].name);
        free(config->sources[i].base_url);
        free(config->sources[i].key);
    }
    free(config->bushes);
    free(config->path);
    free(config->name);
    free(config->slug);
    free(config->zone_name);
    free(config->models);
    free(config->spool);
    free(config->contact);
    free(config->station);
    free(config->publish.folder);
    free(config->publish.listen);
    free(config->publish.token_file);
    free(config->publish.address);
    free(config->publish.upload);
    free(config->publish.upload_user);
    free(config->publish.upload_password_file);
    free(config->publish.upload_host_key);
    free_mail(&config->mail);
    error_list_free(&config->assumed);
    free(config);
}
