/* thawbell store: looking after what must not be lost. */
#include "command/store.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"
#include "base/memory.h"
#include "base/trade.h"
#include "base/words.h"
#include "config/config.h"
#include "store/care.h"

static int complain(const char *sentence)
{
    fprintf(stderr, "thawbell: %s\n", sentence);
    return EXIT_FAILED;
}

/* Where it is. All operations of an installation share one store, so the first
 * file tells. */
static char *store_path(const struct options *options, struct error *err)
{
    char **files = NULL, *path = NULL, *folder;
    struct config *config = NULL;
    int count = 0;

    if (options->own[STORE_FROM] != NULL)
        return mem_copy_text(options->own[STORE_FROM]);
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
                       const struct error_list *found,
                       const struct error_list *aside)
{
    cJSON *root = cJSON_CreateObject();
    char *line;

    cJSON_AddNumberToObject(root, "version", 1);
    cJSON_AddStringToObject(root, "path", path);
    cJSON_AddBoolToObject(root, "ok", found->count == 0);
    add_list(root, "facts", facts);
    add_list(root, "found", found);
    add_list(root, "set_aside", aside);
    line = json_to_line(root);
    fputs(line, stdout);
    free(line);
}

static void print_damage(const char *path, const struct options *options)
{
    /* What thawbelld does with its own. */
    if (options->own[STORE_FROM] != NULL)
        fprintf(stderr,
                _("thawbell: %s is damaged; \"thawbell store export\" writes "
                  "what can be read of it\n"),
                path);
    else
        fprintf(stderr,
                _("thawbell: %s is damaged; thawbelld sets it aside at its "
                  "next start and begins a new one. A backup can be put in "
                  "its place while thawbelld is stopped\n"),
                path);
}

static void print_words(const char *path, const struct error_list *facts,
                        const struct error_list *found,
                        const struct options *options)
{
    if (options->verbosity >= 0)
        print_list(stdout, facts);
    if (found->count > 0) {
        print_list(stderr, found);
        print_damage(path, options);
    } else if (options->verbosity >= 0) {
        puts(_("nothing is wrong with it"));
    }
}

static int inspect(const char *path, const struct error_list *aside,
                   const struct options *options)
{
    struct error_list facts = {NULL, 0}, found = {NULL, 0};
    struct error err = {""};
    int code = EXIT_FAILED;

    if (store_inspect(path, &facts, &found, &err) == 0) {
        if (options->json)
            print_json(path, &facts, &found, aside);
        else
            print_words(path, &facts, &found, options);
        code = found.count > 0 ? EXIT_FAILED : EXIT_DONE;
    } else {
        complain(err.text);
    }
    error_list_free(&facts);
    error_list_free(&found);
    return code;
}

static int check(const char *path, const struct options *options)
{
    struct error_list aside = {NULL, 0};
    int code;

    store_set_aside_list(path, &aside);
    code = inspect(path, &aside, options);
    for (int i = 0; i < aside.count && !options->json; i++)
        if (options->verbosity >= 0)
            fprintf(stderr, "thawbell: %s\n", aside.items[i]);
    error_list_free(&aside);
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

/* What can be done with it, and how many files each names. */
static const struct deed {
    const char *name;
    const char *usage;
    int min_files, max_files;
} deeds[] = {
    {"check", "store check", 0, 0},
    {"backup", "store backup FILE", 1, 1},
    {"export", "store export [FILE]", 0, 1},
};

enum { DEED_COUNT = sizeof deeds / sizeof deeds[0] };

static const struct deed *find_deed(const char *word, struct error *err)
{
    const char *names[DEED_COUNT], *near;

    for (int i = 0; i < DEED_COUNT; i++) {
        names[i] = deeds[i].name;
        if (strcmp(word, names[i]) == 0)
            return &deeds[i];
    }
    near = nearest_word(word, names, DEED_COUNT);
    if (near != NULL)
        error_set(err,
                  _("store \"%.60s\" is not known; did you mean store %s?"),
                  word, near);
    else
        error_set(err,
                  _("store \"%.60s\" is not known; it is store check, store "
                    "backup FILE or store export [FILE]"),
                  word);
    return NULL;
}

static int check_words(const struct options *options, struct error *err)
{
    const struct deed *deed = find_deed(options->words[0], err);
    int files = options->word_count - 1;

    if (deed == NULL)
        return -1;
    if (files > deed->max_files)
        return error_set(err, _("\"%.60s\" is a word too many. Usage: %s %s"),
                         options->words[1 + deed->max_files], "thawbell",
                         deed->usage);
    if (files < deed->min_files)
        return error_set(err, _("a word is missing. Usage: %s %s"), "thawbell",
                         deed->usage);
    if (files > 0 && options->words[1][0] == '\0')
        return error_set(err, _("the name of the file is empty. Usage: %s %s"),
                         "thawbell", deed->usage);
    return 0;
}

int command_store(const struct options *options)
{
    const char *what = options->words[0];
    const char *file = options->word_count > 1 ? options->words[1] : NULL;
    struct error err = {""};
    char *path;
    int code;

    if (check_words(options, &err) == 0)
        path = store_path(options, &err);
    else
        path = NULL;
    if (path == NULL) {
        complain(err.text);
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
