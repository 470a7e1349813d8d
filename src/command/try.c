/* The demo: an invented operation and invented weather (fixtures/
 * tamarack-bend), a fixed clock, a temporary folder, no network. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "command/options.h"
#include "config/config.h"
#include "publish/show.h"
#include "source/source.h"
#include "turn/file_transport.h"
#include "turn/turn.h"

enum { CONF_MAX_BYTES = 64 * 1024 };

/* Thursday 5 March 2026, 06:30 at the bush: three days before the change to
 * summer time. */
static const char demo_clock[] = "2026-03-05T06:30:00-05:00";

static const struct file_transport_row demo_answers[] = {
    {"/v1/ensemble", "open-meteo-ensemble.json"},
    {"/v1/forecast", "open-meteo.json"},
    {"/points/", "nws-points.json"},
    {"/gridpoints/", "nws-grid.json"},
    {"/locationforecast/", "metno.json"},
};

static char *make_folder(struct error *err)
{
    const char *base = getenv("TMPDIR");
    char *folder = mem_format("%s/thawbell-XXXXXX",
                              base != NULL && base[0] != '\0' ? base : "/tmp");

    if (mkdtemp(folder) != NULL)
        return folder;
    error_set(err, _("%s: cannot make a temporary folder: %s"), folder,
              words_errno(errno));
    free(folder);
    return NULL;
}

/* The scenario's configuration with its publish folder put in. */
static char *fill_folder(const char *bytes, const char *folder)
{
    static const char mark[] = "@FOLDER@";
    const char *at = strstr(bytes, mark);

    if (at == NULL)
        return mem_copy_text(bytes);
    return mem_format("%.*s%s%s", (int)(at - bytes), bytes, folder,
                      at + sizeof mark - 1);
}

static int copy_configuration(const char *folder, const char *path,
                              struct error *err)
{
    char *from =
        file_find_data("fixtures/tamarack-bend/tamarack-bend.conf", err);
    char *bytes = NULL, *filled;
    size_t length;
    int result = -1;

    if (from != NULL &&
        file_read(from, CONF_MAX_BYTES, &bytes, &length, err) == 0) {
        filled = fill_folder(bytes, folder);
        result = file_write_whole(path, filled, strlen(filled), 0644, err);
        free(filled);
    }
    free(bytes);
    free(from);
    return result;
}

static struct config *read_configuration(const char *path, struct error *err)
{
    struct error_list errors = {NULL, 0}, warnings = {NULL, 0};
    const char *names[CONFIG_MAX_SOURCES];
    struct config *config = NULL;
    int count = source_names(names, CONFIG_MAX_SOURCES);

    if (config_read(path, names, count, &config, &errors, &warnings) != 0) {
        error_set(err, "%s", errors.items[0]);
        config = NULL;
    }
    error_list_free(&errors);
    error_list_free(&warnings);
    return config;
}

static void show(const struct bulletin *bulletin, utc_s now,
                 const struct options *options)
{
    struct show_style style = {bulletin->units, 80, false};
    struct text out;

    if (options->has_units)
        style.units = options->units;
    text_init(&out, 64 * 1024);
    show_line(bulletin, now, &style, &out);
    text_add(&out, "\n\n");
    show_week(bulletin, now, &style, &out);
    fputs(out.bytes, stdout);
    text_free(&out);
}

static void say_next(const char *folder, const char *conf,
                     const char *published)
{
    printf(_("\nAll of this is invented: the operation, the weather, the "
             "clock (%s).\n"),
           demo_clock);
    printf(_("It lies in %s\n\nLook further:\n"), folder);
    printf("  thawbell -c %s --at %s why\n", conf, demo_clock);
    printf("  thawbell -c %s --at %s why 2026-03-07\n", conf, demo_clock);
    printf("  thawbell -c %s --at %s --json week\n", conf, demo_clock);
    printf(_("  the calendar for a phone: %s/calendar.ics\n"), published);
    printf(_("\nYour own bush: copy %s, change the first lines, then\n"
             "  thawbell -c FILE check\n"),
           conf);
}

static int demo_turn(const char *folder, const char *conf, utc_s now,
                     const struct options *options, struct error *err)
{
    struct config *config = read_configuration(conf, err);
    char *answers = file_find_data("fixtures/tamarack-bend", err);
    char *database = file_join(folder, "thawbell.db"), *warning = NULL;
    struct store *store = NULL;
    struct bulletin *bulletin = NULL;
    struct turn_result result;
    int code = -1;

    if (config != NULL)
        snprintf(config->language, sizeof config->language, "%s",
                 words_language());
    if (config != NULL && answers != NULL &&
        store_open(database, now, &store, &warning, err) == 0) {
        struct file_transport files = {
            answers, demo_answers, sizeof demo_answers / sizeof demo_answers[0],
            now};
        struct transport transport = file_transport(&files);
        char *published = config_publish_folder(config);

        code = turn(config, now, &transport, store, published, &result,
                    &bulletin, err);
        for (int i = 0; i < result.troubles.count; i++)
            fprintf(stderr, "thawbell: %s\n", result.troubles.items[i]);
        turn_result_free(&result);
        if (code == 0) {
            show(bulletin, now, options);
            say_next(folder, conf, published);
        }
        free(published);
    }
    bulletin_free(bulletin);
    store_close(store);
    free(warning);
    free(database);
    free(answers);
    config_free(config);
    return code;
}

int command_try(const struct options *options)
{
    struct error err = {""};
    char *folder = make_folder(&err), *conf = NULL;
    utc_s now;
    int code = -1;

    if (folder != NULL) {
        conf = file_join(folder, "tamarack-bend.conf");
        if (iso_time_parse(demo_clock, 0, &now, &err) == 0 &&
            copy_configuration(folder, conf, &err) == 0)
            code = demo_turn(folder, conf, now, options, &err);
    }
    if (code != 0)
        fprintf(stderr, "thawbell: %s\n", err.text);
    free(conf);
    free(folder);
    return code == 0 ? EXIT_DONE : EXIT_FAILED;
}
