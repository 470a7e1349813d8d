/* thawbell check: all that is wrong with the configuration at once, each with
 * file and line; what was understood; how it stands with what is published.
 */
#include "command/check.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "publish/show.h"
#include "source/source.h"

static void read_bulletin(struct checked *checked)
{
    char *bytes;
    size_t length;
    checked->folder = config_publish_folder(checked->config);
    checked->bulletin_path = file_join(checked->folder, "bulletin.json");
    if (!file_exists(checked->bulletin_path) && errno != EACCES)
        return;
    if (file_read(checked->bulletin_path, BULLETIN_MAX_BYTES, &bytes, &length,
                  &checked->unreadable))
        return;
    if (bulletin_from_json(bytes, length, &checked->bulletin,
                           &checked->unreadable))
        checked->bulletin = NULL;
    free(bytes);
}

static void check_file(const char *path, utc_s now, struct checked *checked)
{
    const char *names[CONFIG_MAX_SOURCES];
    int count = source_names(names, CONFIG_MAX_SOURCES);
    *checked = (struct checked){.path = mem_copy_text(path)};
    if (config_read(path, names, count, &checked->config, &checked->errors,
                    &checked->warnings))
        checked->config = NULL;
    if (!checked->config)
        return;
    check_files(checked->config, now, &checked->warnings);
    read_bulletin(checked);
    check_read_mail(checked);
}

static void checked_free(struct checked *checked)
{
    config_free(checked->config);
    bulletin_free(checked->bulletin);
    cJSON_Delete(checked->mail);
    error_list_free(&checked->errors);
    error_list_free(&checked->warnings);
    free(checked->path);
    free(checked->folder);
    free(checked->bulletin_path);
}

/* Two operations of one name: told as an error of the later file. */
static void check_together(struct checked *files, int count)
{
    for (int i = 0; i < count; i++)
        for (int j = 0; j < i; j++) {
            struct config *const pair[] = {files[j].config, files[i].config};
            if (pair[0] && pair[1])
                config_check_together(pair, 2, &files[i].errors);
        }
}

static bool is_meant(const struct checked *checked, const char *operation)
{
    const struct config *config = checked->config;
    return !operation || !config || strcmp(operation, config->slug) == 0 ||
           strcmp(operation, config->name) == 0;
}

/* Keeps the files that are meant; -1 if none is. */
static int keep_meant(struct checked *files, int *count, const char *operation)
{
    int kept = 0;
    for (int i = 0; i < *count; i++)
        if (is_meant(&files[i], operation))
            files[kept++] = files[i];
        else
            checked_free(&files[i]);
    *count = kept;
    if (kept > 0)
        return 0;
    fprintf(stderr, _("thawbell: no operation is called \"%s\"\n"), operation);
    return -1;
}

static void print_list(const char *heading, const struct error_list *list)
{
    if (list->count == 0)
        return;
    printf("%s\n", heading);
    for (int i = 0; i < list->count; i++)
        printf("  %s\n", list->items[i]);
}

static void print_good(const struct checked *checked, utc_s now,
                       const struct options *options)
{
    const struct config *config = checked->config;
    enum unit_system units =
        options->has_units ? options->units : config->units;
    printf(_("%s: configuration OK\n"), checked->path);
    check_print_summary(config, units);
    print_list(_("Assumed, since it is not told:"), &config->assumed);
    print_list(_("Warnings:"), &checked->warnings);
    check_print_state(checked, now);
    check_print_mail(checked);
}

static int worst(int a, int b)
{
    return a > b ? a : b;
}

static int state_of(const struct checked *checked, utc_s now)
{
    int code = worst(check_state(checked, now), check_mail_state(checked, now));
    return worst(code, check_store_state(checked));
}

/* Prints one file's findings and returns the status it asks for. */
static int print_file(const struct checked *checked, utc_s now,
                      const struct options *options)
{
    int errors = checked->errors.count;
    for (int i = 0; i < errors; i++)
        fprintf(stderr, "%s\n", checked->errors.items[i]);
    if (errors > 0) {
        fprintf(stderr,
                words_count("%s: %d error\n", "%s: %d errors\n", errors),
                checked->path, errors);
        return EXIT_USAGE;
    }
    if (options->verbosity >= 0)
        print_good(checked, now, options);
    return state_of(checked, now);
}

static int report(const struct checked *files, int count, utc_s now,
                  const struct options *options)
{
    int code = EXIT_DONE;
    if (options->json)
        check_print_json(files, count, now);
    for (int i = 0; i < count; i++) {
        if (i > 0 && !options->json && options->verbosity >= 0)
            putchar('\n');
        int own = !options->json ? print_file(&files[i], now, options)
                  : files[i].errors.count > 0 ? EXIT_USAGE
                                              : state_of(&files[i], now);
        code = worst(code, own);
    }
    return code;
}

/* One for all of them: told with the first. */
static void look_at_store(struct checked *files, int count)
{
    for (int i = 0; i < count; i++)
        if (files[i].config && files[i].errors.count == 0) {
            check_read_store(&files[i]);
            return;
        }
}

static int check_configurations(const struct options *options)
{
    struct error err = {""};
    char **paths;
    int count;
    utc_s now = options_now(options);
    const char *told =
        options->word_count > 0 ? options->words[0] : options->config;
    if (config_find(told, &paths, &count, &err)) {
        config_files_free(paths, count);
        fprintf(stderr, "thawbell: %s\n", err.text);
        return EXIT_USAGE;
    }
    struct checked *files = mem_alloc((size_t)count, sizeof *files);
    for (int i = 0; i < count; i++)
        check_file(paths[i], now, &files[i]);
    config_files_free(paths, count);
    check_together(files, count);
    int code = EXIT_USAGE;
    if (keep_meant(files, &count, options->operation) == 0) {
        look_at_store(files, count);
        code = report(files, count, now, options);
    }
    for (int i = 0; i < count; i++)
        checked_free(&files[i]);
    free(files);
    return code;
}

int command_check(const struct options *options)
{
    if (options->own[CHECK_EXAMPLE])
        return check_print_example();
    if (options->own[CHECK_EXPLAIN])
        return check_explain(options->own[CHECK_EXPLAIN]);
    if (options->own[CHECK_KEYS])
        return check_print_keys();
    return check_configurations(options);
}
