/* Writes a configuration into a folder of its own and reads it back. */
#ifndef CONFIG_FILE_H
#define CONFIG_FILE_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/text.h"
#include "config/reading.h"
#include "unit_test.h"

/* What one reading gave; all is told as text, one sentence a line. */
struct config_file {
    struct config *config;
    char *errors, *warnings, *assumed;
};

static const char *const file_services[] = {"nws", "metno", "open-meteo",
                                            "open-meteo-ensemble"};
static const char file_bush[] = "[bush north]\nlatitude = 45.06\n"
                                "longitude = -71.90\nelevation = 1480 ft\n"
                                "taps = 140\n";
static const char file_sources[] = "[sources]\ncontact = ann@bush.test\n"
                                   "use = metno\n";
static const char file_operation[] = "[operation]\nname = Tamarack Bend\n"
                                     "time zone = America/New_York\n"
                                     "units = us\n";

static inline char *file_joined(const struct error_list *list)
{
    struct text text;
    text_init(&text, 100000);
    for (int i = 0; list && i < list->count; i++)
        text_addf(&text, "%s\n", list->items[i]);
    return text.bytes;
}

/* Every test program works in a new folder, so that paths are short. */
static inline int file_setup(void **state)
{
    (void)state;
    char folder[] = "/tmp/thawbell-config-XXXXXX";
    return mkdtemp(folder) && chdir(folder) == 0 ? 0 : -1;
}

static inline int file_teardown(void **state)
{
    char folder[200];
    (void)state;
    unlink("t.conf");
    return getcwd(folder, sizeof folder) && rmdir(folder) == 0 ? 0 : -1;
}

static inline struct config_file file_read_bytes(const char *bytes,
                                                 size_t length)
{
    struct config_file out = {0};
    struct error_list errors = {0}, warnings = {0};
    struct error err = {""};
    if (file_write_whole("t.conf", bytes, length, 0600, &err))
        fail_msg("%s", err.text);
    int result = config_read("t.conf", file_services, 4, &out.config, &errors,
                             &warnings);
    assert_int_equal(result, errors.count > 0 ? -1 : 0);
    if (result)
        assert_null(out.config);
    out.errors = file_joined(&errors);
    out.warnings = file_joined(&warnings);
    out.assumed = file_joined(out.config ? &out.config->assumed : NULL);
    error_list_free(&errors);
    error_list_free(&warnings);
    return out;
}

static inline struct config_file file_read_text(const char *text)
{
    return file_read_bytes(text, strlen(text));
}

/* The same of several pieces, ended by NULL. */
static inline struct config_file file_read_parts(const char *first, ...)
{
    struct text text;
    va_list args;
    text_init(&text, 100000);
    va_start(args, first);
    for (const char *part = first; part; part = va_arg(args, const char *))
        text_add(&text, part);
    va_end(args);
    struct config_file out = file_read_text(text.bytes);
    text_free(&text);
    return out;
}

static inline void file_free(struct config_file *file)
{
    config_free(file->config);
    free(file->errors);
    free(file->warnings);
    free(file->assumed);
}

#endif
