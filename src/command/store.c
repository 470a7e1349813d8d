/* thawbell store: looking after what must not be lost. */
#include "command/store.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"
#include "base/memory.h"
#include "base/words.h"
#include "config/config.h"
#include "store/care.h"

static int complain(const char *sentence)
{
    fprintf(stderr, "thawbell: %s\n", sentence);
    return EXIT_FAILED;
}

/* All operations of an installation share one store, so the first file
 * tells where it is. */
static char *store_path(const struct options *options, struct error *err)
{
    char **files = NULL, *path = NULL, *folder;
    struct config *config = NULL;
    int count = 0;

    if (config_find(options->config, &files, &count, err) == 0)
        config = config_read_place(files[0], err);
    config_files_free(files, count);
    if (config == NULL)
        return NULL;
    folder = config_state_folder(config);
    path = file_join(folder, "thawbell.db");
    free(folder);
    config_free(config);
    return path;
}

static void print_list(FILE *out, const struct error_list *list)
{
    for (int i = 0; i < list->count; i++)
        fprintf(out, "%s\n", list->items[i]);
}

static void add_list(cJSON *object, const char *key,
                     const struct error_list *list)
{
    cJSON *array = cJSON_AddArrayToObject(object, key);

    for (int i = 0; i < list->count; i++)
        cJSON_AddItemToArray(array, cJSON_CreateString(list->items[i]));
}

/* For programs (docs/store.md). */
static void print_json(const char *path, const struct error_list *facts,
                       const struct error_list *found)
{
    cJSON *root = cJSON_CreateObject();
    char *line;

    cJSON_AddNumberToObject(root, "version", 1);
    cJSON_AddStringToObject(root, "path", path);
    cJSON_AddBoolToObject(root, "ok", found->count == 0);
    add_list(root, "facts", facts);
    add_list(root, "found", found);
    line = json_to_line(root);
    fputs(line, stdout);
    free(line);
}

static void print_words(const char *path, const struct error_list *facts,
                        const struct error_list *found, int verbosity)
{
    if (verbosity >= 0)
        print_list(stdout, facts);
    if (found->count > 0) {
        print_list(stderr, found);
        fprintf(stderr,
                _("thawbell: %s is damaged; thawbelld sets it aside at its "
                  "next start and begins a new one. A backup can be put in "
                  "its place while thawbelld is stopped\n"),
                path);
    } else if (verbosity >= 0) {
        puts(_("nothing is wrong with it"));
    }
}

static int check(const char *path, const struct options *options)
{
    struct error_list facts = {NULL, 0}, found = {NULL, 0};
    struct error err = {""};
    int code;

    if (store_inspect(path, &facts, &found, &err) != 0)
        return complain(err.text);
    if (options->json)
        print_json(path, &facts, &found);
    else
        print_words(path, &facts, &found, options->verbosity);
    code = found.count > 0 ? EXIT_FAILED : EXIT_DONE;
    error_list_free(&facts);
    error_list_free(&found);
    return code;
}

static int backup(const char *path, const char *target,
                  const struct options *options)
{
    struct error err = {""};

    if (store_backup(path, target, &err) != 0)
        return complain(err.text);
    if (options->verbosity >= 0)
        printf(_("a copy of %s is in %s\n"), path, target);
    return EXIT_DONE;
}

static int export(const char *path, const char *target)
{
    struct error err = {""};
    int result = target == NULL ? store_export(path, stdout, &err)
                                : store_export_file(path, target, &err);

    return result == 0 ? EXIT_DONE : complain(err.text);
}

static int usage(void)
{
    fprintf(stderr, "%s\n",
            _("thawbell: say what to do with the store: store check, store "
              "backup FILE or store export [FILE]"));
    return EXIT_USAGE;
}

int command_store(const struct options *options)
{
    const char *what = options->words[0];
    const char *file = options->word_count > 1 ? options->words[1] : NULL;
    struct error err = {""};
    int code = EXIT_USAGE;
    char *path;

    if (strcmp(what, "check") != 0 && strcmp(what, "backup") != 0 &&
        strcmp(what, "export") != 0)
        return usage();
    if ((strcmp(what, "backup") == 0) != (file != NULL) &&
        strcmp(what, "export") != 0)
        return usage();
    path = store_path(options, &err);
    if (path == NULL) {
        fprintf(stderr, "thawbell: %s\n", err.text);
        return EXIT_USAGE;
    }
    if (strcmp(what, "check") == 0)
        code = check(path, options);
    else if (strcmp(what, "backup") == 0)
        code = backup(path, file, options);
    else
        code = export(path, file);
    free(path);
    return code;
}
