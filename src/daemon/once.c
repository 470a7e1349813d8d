#include "daemon/once.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/log.h"
#include "base/memory.h"
#include "base/progress.h"
#include "base/words.h"
#include "config/config.h"
#include "daemon/operation.h"
#include "daemon/post.h"
#include "net/http.h"
#include "publish/show.h"
#include "turn/turn.h"

/* The worst of two ends, as the caller of many operations tells it. */
static int worse(int a, int b)
{
    static const int order[] = {EXIT_DONE, EXIT_TRY_LATER, EXIT_FAILED,
                                EXIT_USAGE};
    int rank_a = 0, rank_b = 0;

    for (int i = 0; i < 4; i++) {
        rank_a = order[i] == a ? i : rank_a;
        rank_b = order[i] == b ? i : rank_b;
    }
    return rank_a > rank_b ? a : b;
}

static struct config *read_one(const char *path)
{
    struct error_list errors = {NULL, 0}, warnings = {NULL, 0};
    struct config *config = operation_read(path, &errors, &warnings);

    for (int i = 0; i < errors.count; i++)
        fprintf(stderr, "%s\n", errors.items[i]);
    for (int i = 0; i < warnings.count; i++)
        log_info("%s", warnings.items[i]);
    error_list_free(&errors);
    error_list_free(&warnings);
    return config;
}

static int code_of(const struct turn_result *result)
{
    if (result->unpublished)
        return EXIT_FAILED;
    if (result->in_place)
        return result->fresh ? EXIT_DONE : EXIT_TRY_LATER;
    return result->no_forecast ? EXIT_TRY_LATER : EXIT_FAILED;
}

/* Troubles that others make up for are no news for one who wants quiet. */
static void say_troubles(const struct config *config,
                         const struct turn_result *result,
                         const struct error *err, int code,
                         const struct options *options)
{
    if (code == EXIT_DONE && options->verbosity < 0)
        return;
    for (int i = 0; i < result->troubles.count; i++)
        fprintf(stderr, "thawbelld: %s\n", result->troubles.items[i]);
    if (err->text[0] != '\0')
        fprintf(stderr, "thawbelld: %s: %s\n", config->name, err->text);
}

static void say_line(const struct config *config, const char *folder,
                     const struct bulletin *bulletin, utc_s now,
                     const struct options *options)
{
    struct show_style style = {config->units, 80, false};
    struct text line;

    if (options->has_units)
        style.units = options->units;
    text_init(&line, 4096);
    show_line(bulletin, now, &style, &line);
    printf("%s\n", line.bytes);
    printf(_("published in %s\n"), folder);
    text_free(&line);
}

/* By the new bulletin or, where none was made, by the published one. */
static int mail_due(const struct config *config, const char *folder,
                    struct store *store, const struct bulletin *bulletin,
                    utc_s now)
{
    struct error err;
    struct zone *zone = zone_open(config->zone_name, &err);
    struct post_place place = {config, zone, folder, store};
    int code = EXIT_FAILED;

    if (zone != NULL)
        code = post_once(&place, bulletin, now);
    else
        fprintf(stderr, "thawbelld: %s\n", err.text);
    zone_free(zone);
    return code;
}

static int turn_one(const struct config *config, struct http *http,
                    struct store *store, utc_s now,
                    const struct options *options)
{
    struct transport transport = http_transport(http);
    char *folder = config_publish_folder(config);
    struct bulletin *bulletin = NULL;
    struct turn_result result;
    struct error err = {""};
    int code;

    file_sweep(folder);
    if (options->verbosity >= 0)
        progress_say(_("%s: asking the weather services..."), config->name);
    /* A trouble that did not keep the bulletin back is among the others. */
    if (turn(config, now, &transport, store, folder, &result, &bulletin,
             &err) == 0)
        err.text[0] = '\0';
    progress_end();
    code = code_of(&result);
    say_troubles(config, &result, &err, code, options);
    if (result.in_place && options->verbosity >= 0)
        say_line(config, folder, bulletin, now, options);
    code = worse(code, mail_due(config, folder, store, bulletin, now));
    turn_result_free(&result);
    bulletin_free(bulletin);
    free(folder);
    return code;
}

static int turn_with_store(const struct config *config, const char *state,
                           const struct options *options, struct error *err)
{
    char *database = file_join(state, "thawbell.db"), *warning = NULL;
    char *cache = file_join(state, "answers");
    utc_s now = options_now(options);
    struct store *store = NULL;
    struct http *http = NULL;
    int code = EXIT_FAILED;

    file_sweep(state);
    if (store_open(database, now, &store, &warning, err) == 0 &&
        warning != NULL)
        fprintf(stderr, "thawbelld: %s\n", warning);
    if (store != NULL)
        http = http_transport_open(cache, config->contact, NULL, err);
    if (http != NULL)
        code = turn_one(config, http, store, now, options);
    else
        fprintf(stderr, "thawbelld: %s\n", err->text);
    /* A time that is pretended says nothing about the answers' age. */
    if (http != NULL && !options->has_at)
        http_prune(http, now);
    http_transport_free(http);
    store_close(store);
    free(warning);
    free(cache);
    free(database);
    return code;
}

static int once_config(const struct config *config,
                       const struct options *options)
{
    char *state = config_state_folder(config);
    struct error err = {""};
    int code = EXIT_FAILED, lock = -1;
    bool at_work = false;

    if (file_make_folder(state, 0750, &err) == 0)
        lock = state_lock(state, &at_work, &err);
    if (at_work)
        code = EXIT_TRY_LATER;
    if (lock >= 0)
        code = turn_with_store(config, state, options, &err);
    else
        fprintf(stderr, "thawbelld: %s\n", err.text);
    if (lock >= 0)
        close(lock);
    free(state);
    return code;
}

/* What the options mean, of all files; the status that the others ask for. */
static int read_chosen(char *const *files, int count,
                       const struct options *options, struct config **configs,
                       int *chosen)
{
    int code = EXIT_DONE;

    *chosen = 0;
    for (int i = 0; i < count; i++) {
        struct config *config = read_one(files[i]);

        if (config == NULL)
            code = worse(code, EXIT_USAGE);
        else if (operation_chosen(config, options->operation))
            configs[(*chosen)++] = config;
        else
            config_free(config);
    }
    return code;
}

/* Two of one name would publish in one folder: which of them is meant, no one
 * can tell, and neither turns. */
static bool has_twin(struct config *const *configs, int count, int which)
{
    for (int i = 0; i < count; i++)
        if (i != which && strcmp(configs[i]->slug, configs[which]->slug) == 0)
            return true;
    return false;
}

static int say_twins(struct config *const *configs, int count)
{
    struct error_list errors = {NULL, 0};
    int twins = config_check_together(configs, count, &errors);

    for (int i = 0; i < errors.count; i++)
        fprintf(stderr, "%s\n", errors.items[i]);
    error_list_free(&errors);
    return twins > 0 ? EXIT_USAGE : EXIT_DONE;
}

static int once_all(struct config *const *configs, int count,
                    const struct options *options)
{
    int code = say_twins(configs, count);

    for (int i = 0; i < count; i++) {
        if (has_twin(configs, count, i))
            continue;
        words_use(options->language != NULL ? options->language
                                            : configs[i]->language);
        code = worse(code, once_config(configs[i], options));
    }
    return code;
}

int once(const struct options *options)
{
    struct error err = {""};
    struct config **configs;
    char **files = NULL;
    int count = 0, chosen, code;

    if (config_find(options->config, &files, &count, &err) != 0) {
        fprintf(stderr, "thawbelld: %s\n", err.text);
        return EXIT_USAGE;
    }
    configs = mem_alloc((size_t)count + 1, sizeof *configs);
    code = read_chosen(files, count, options, configs, &chosen);
    config_files_free(files, count);
    if (chosen == 0 && code == EXIT_DONE) {
        fprintf(stderr, _("thawbelld: no operation is called \"%s\"\n"),
                options->operation != NULL ? options->operation : "");
        code = EXIT_USAGE;
    }
    code = worse(code, once_all(configs, chosen, options));
    for (int i = 0; i < chosen; i++)
        config_free(configs[i]);
    free(configs);
    return code;
}
