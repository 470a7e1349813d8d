#include "command/published.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "config/config.h"
#include "config/slug.h"

enum { MOST_COLUMNS = 500, FEWEST_COLUMNS = 40, USUAL_COLUMNS = 80 };

static int complain(int code, const struct error *err)
{
    fprintf(stderr, "thawbell: %s\n", err->text);
    return code;
}

/* By slug, or by a name that has the same one. */
static bool is_meant(const struct config *config, const char *operation)
{
    char *slug = slug_from_name(operation);
    bool meant = strcmp(slug, config->slug) == 0;

    free(slug);
    return meant;
}

static void say_choice(const struct options *options, int count,
                       const struct config *config)
{
    if (count > 1 && options->operation == NULL && options->verbosity >= 0)
        fprintf(stderr,
                _("thawbell: %d operations are configured; this is %s. Choose "
                  "with -o NAME; thawbell -o all tells a line of each.\n"),
                count, config->name);
}

/* The configuration that is meant; an unreadable one of another operation
 * does not stand in the way. */
static struct config *choose(const struct options *options, char **files,
                             int count, struct error *err)
{
    struct error last = {""};
    struct config *config = NULL;

    for (int i = 0; i < count && config == NULL; i++) {
        config = config_read_place(files[i], &last);
        if (config == NULL || options->operation == NULL ||
            is_meant(config, options->operation))
            continue;
        config_free(config);
        config = NULL;
    }
    if (config != NULL)
        say_choice(options, count, config);
    else if (last.text[0] != '\0')
        *err = last;
    else
        error_set(err,
                  _("no operation is called \"%.60s\"; \"thawbell check\" "
                    "lists them"),
                  options->operation);
    return config;
}

struct config *published_place(const struct options *options, struct error *err)
{
    char **files;
    int count;
    struct config *config;

    if (config_find(options->config, &files, &count, err) != 0)
        return NULL;
    config = choose(options, files, count, err);
    config_files_free(files, count);
    if (config != NULL && options->language == NULL &&
        config->language[0] != '\0')
        words_use(config->language);
    return config;
}

static int read_bulletin(struct published *published, const char *operation,
                         struct error *err)
{
    if (!file_exists(published->path) && errno != EACCES)
        return error_set(err,
                         _("nothing is published for %s yet: there is no %s. "
                           "\"thawbelld --once\" makes it."),
                         operation, published->path);
    if (file_read(published->path, BULLETIN_MAX_BYTES, &published->bytes,
                  &published->length, err) != 0)
        return -1;
    if (bulletin_from_json(published->bytes, published->length,
                           &published->bulletin, err) != 0)
        return error_prefix(err, "%s: ", published->path);
    return 0;
}

static bool says_something(const char *variable)
{
    const char *value = getenv(variable);

    return value != NULL && value[0] != '\0';
}

static int terminal_columns(void)
{
    struct winsize size = {0};
    const char *told = getenv("COLUMNS");
    long columns;

    if (told != NULL &&
        integer_parse(told, FEWEST_COLUMNS, MOST_COLUMNS, &columns))
        return (int)columns;
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 &&
        size.ws_col >= FEWEST_COLUMNS && size.ws_col <= MOST_COLUMNS)
        return size.ws_col;
    return USUAL_COLUMNS;
}

static bool wants_colour(void)
{
    const char *terminal = getenv("TERM");

    return isatty(STDOUT_FILENO) && !says_something("NO_COLOR") &&
           terminal != NULL && strcmp(terminal, "dumb") != 0;
}

struct show_style published_style(const struct options *options,
                                  enum unit_system configured)
{
    return (struct show_style){.units = options->has_units ? options->units
                                                           : configured,
                               .columns = terminal_columns(),
                               .colour = wants_colour()};
}

int published_open(const struct options *options, struct published *out,
                   struct error *err)
{
    struct config *config = published_place(options, err);
    char *folder;
    int result;

    *out = (struct published){0};
    if (config == NULL)
        return EXIT_USAGE;
    folder = config_publish_folder(config);
    out->path = file_join(folder, "bulletin.json");
    result = read_bulletin(out, config->name, err);
    free(folder);
    config_free(config);
    if (result != 0)
        return EXIT_FAILED;
    out->style = published_style(options, out->bulletin->units);
    /* Sentences were stored in the operation's own language and units. */
    if (!options->json)
        bulletin_reword(out->bulletin, out->style.units);
    return EXIT_DONE;
}

int published_read(const struct options *options, struct published *out)
{
    struct error err = {""};
    int code = published_open(options, out, &err);

    return code == EXIT_DONE ? code : complain(code, &err);
}

void published_free(struct published *published)
{
    free(published->path);
    free(published->bytes);
    bulletin_free(published->bulletin);
    *published = (struct published){0};
}
