/* The keys of the configuration, from their table. */
#include <stdio.h>
#include <string.h>

#include "base/trade.h"
#include "base/words.h"
#include "command/check.h"

/* A small configuration; contrib/thawbell.conf.example is this text. */
static const char example[] =
    "; Your sugarbush. Save it as ~/.config/thawbell/NAME.conf, where NAME is\n"
    "; what you call your operation, put in your own values and run\n"
    "; \"thawbell check\". A semicolon starts a comment.\n"
    "\n"
    "[bush north]               ; one section a bush; \"north\" is its name\n"
    "; latitude, longitude (minus means west) and height above the sea, in ft\n"
    "; or m: a map on a phone shows the first two; 100 m change the air by\n"
    "; 0.65 C\n"
    "place = 45.06, -71.90, 1480 ft\n"
    "taps = 140\n"
    "\n"
    "[sources]\n"
    "contact = ann@example.org  ; yours: the weather services ask for it\n"
    "\n"
    "; All else may be left out; \"thawbell check\" says what it assumes.\n"
    "; \"thawbell check --keys\" lists what more can be told.\n";

static const char *section_shown(const struct config_key *key)
{
    return strcmp(key->section, "bush") == 0 ? "bush NAME" : key->section;
}

static void print_key(const struct config_key *key)
{
    printf(key->required ? _("%s (needed)\n    %s\n") : "%s\n    %s\n",
           key->key, _(key->takes));
}

int check_print_keys(void)
{
    int count;
    const struct config_key *keys = config_keys(&count);
    for (int i = 0; i < count; i++) {
        if (i == 0 || strcmp(keys[i].section, keys[i - 1].section) != 0)
            printf("%s[%s]\n", i == 0 ? "" : "\n", section_shown(&keys[i]));
        print_key(&keys[i]);
    }
    return EXIT_DONE;
}

int check_explain(const char *key)
{
    enum { MOST = 128 };
    const char *known[MOST];
    int count, found = 0;
    const struct config_key *keys = config_keys(&count);
    for (int i = 0; i < count && i < MOST; i++) {
        known[i] = keys[i].key;
        if (strcmp(keys[i].key, key) != 0)
            continue;
        printf("[%s] ", section_shown(&keys[i]));
        print_key(&keys[i]);
        found++;
    }
    if (found > 0)
        return EXIT_DONE;
    const char *near = nearest_word(key, known, count < MOST ? count : MOST);
    if (near)
        fprintf(stderr,
                _("thawbell: key \"%s\" is not known; did you mean \"%s\"?\n"),
                key, near);
    else
        fprintf(stderr,
                _("thawbell: key \"%s\" is not known; --keys lists all\n"),
                key);
    return EXIT_USAGE;
}

int check_print_example(void)
{
    fputs(example, stdout);
    return EXIT_DONE;
}
