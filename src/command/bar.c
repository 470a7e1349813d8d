/* thawbell bar: a few words for a status bar. A bar must not stay empty nor
 * show an error's exit, so whatever is wrong is told in its words. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "command/published.h"

/* waybar reads its text as Pango markup, which is XML. */
static char *pango_text(const char *words)
{
    struct text out;

    text_init(&out, 6 * strlen(words) + 1);
    for (; *words != '\0'; words++) {
        if (*words == '&')
            text_add(&out, "&amp;");
        else if (*words == '<')
            text_add(&out, "&lt;");
        else if (*words == '>')
            text_add(&out, "&gt;");
        else
            text_add_bytes(&out, words, 1);
    }
    return text_steal(&out);
}

static void add_pango(cJSON *object, const char *key, const char *words)
{
    char *escaped = pango_text(words);

    cJSON_AddStringToObject(object, key, escaped);
    free(escaped);
}

static void print_json(const struct show_bar *bar)
{
    cJSON *object = cJSON_CreateObject();
    cJSON *classes = cJSON_CreateArray();
    char *line;

    cJSON_AddItemToArray(classes, cJSON_CreateString(bar->state));
    if (bar->old)
        cJSON_AddItemToArray(classes, cJSON_CreateString("old"));
    cJSON_AddNumberToObject(object, "version", 1);
    add_pango(object, "text", bar->words);
    add_pango(object, "tooltip", bar->more);
    cJSON_AddItemToObject(object, "class", classes);
    cJSON_AddNumberToObject(object, "percentage", bar->chance_percent);
    cJSON_AddStringToObject(object, "full_text", bar->words);
    cJSON_AddStringToObject(object, "short_text", bar->fewer);
    line = json_to_line(object);
    fputs(line, stdout);
    free(line);
}

int command_bar(const struct options *options)
{
    struct options silent = *options;
    struct published published;
    struct show_bar bar;
    struct error err = {""};

    silent.verbosity = -1;
    if (published_open(&silent, &published, &err) == EXIT_DONE)
        show_bar(published.bulletin, options_now(options),
                 published.style.units, &bar);
    else
        show_bar_nothing(err.text, &bar);
    if (options->json)
        print_json(&bar);
    else
        puts(bar.words);
    published_free(&published);
    return EXIT_DONE;
}
