#include "publish/saying.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "publish/bulletin.h"
#include "publish/phrase.h"

struct saying_value said_nothing(void)
{
    return (struct saying_value){SAID_NOTHING, 0};
}

struct saying_value said_volume(double volume_l)
{
    return (struct saying_value){SAID_VOLUME, volume_l};
}

struct saying_value said_chance(double chance)
{
    return (struct saying_value){SAID_CHANCE, chance};
}

struct saying_value said_moment(utc_s instant)
{
    return (struct saying_value){SAID_MOMENT, (double)instant};
}

struct saying_value said_clock(utc_s instant)
{
    return (struct saying_value){SAID_CLOCK, (double)instant};
}

struct saying_value said_date(struct civil_date date)
{
    return (struct saying_value){SAID_DATE, (double)civil_day_number(date)};
}

struct saying_value said_heat(double temp_c)
{
    return (struct saying_value){SAID_HEAT, temp_c};
}

struct saying_value said_count(int count)
{
    return (struct saying_value){SAID_COUNT, count};
}

struct saying_value said_near_heat(double temp_c)
{
    return (struct saying_value){SAID_NEAR_HEAT, temp_c};
}

static void value_words(const struct bulletin *bulletin,
                        const struct saying_value *value,
                        enum unit_system units, char out[PHRASE_SIZE])
{
    double number = value->number;

    out[0] = '\0';
    switch (value->kind) {
    case SAID_VOLUME:
        phrase_volume(number, units, out);
        break;
    case SAID_CHANCE:
        phrase_chance(number, out);
        break;
    case SAID_MOMENT:
        phrase_moment(bulletin, (utc_s)number, out);
        break;
    case SAID_CLOCK:
        phrase_clock(bulletin, (utc_s)number, out);
        break;
    case SAID_DATE:
        phrase_date(civil_date_from_day_number((int64_t)number), out);
        break;
    case SAID_HEAT:
        phrase_heat(number, units, out);
        break;
    case SAID_COUNT:
        snprintf(out, PHRASE_SIZE, "%.0f", number);
        break;
    case SAID_NEAR_HEAT:
        phrase_temperature(number, units, out);
        break;
    case SAID_NOTHING:
    case SAID_KINDS:
        break;
    }
}

/* Length of "%s" or "%2$s" at the start, and which value it stands for; 0 for
 * anything else. */
static size_t mark(const char *pattern, int *next, int *value)
{
    if (strncmp(pattern, "%s", 2) == 0) {
        *value = (*next)++;
        return 2;
    }
    if (pattern[0] == '%' && pattern[1] >= '1' && pattern[1] <= '9' &&
        strncmp(pattern + 2, "$s", 2) == 0) {
        *value = pattern[1] - '1';
        return 4;
    }
    return 0;
}

static size_t put(char out[SAYING_SIZE], size_t used, const char *words,
                  size_t length)
{
    size_t room = SAYING_SIZE - 1 - used;
    size_t cut = length > room ? utf8_cut(words, length, room) : length;

    memcpy(out + used, words, cut);
    out[used + cut] = '\0';
    return used + cut;
}

void saying_words(const struct bulletin *bulletin, const struct saying *saying,
                  enum unit_system units, char out[SAYING_SIZE])
{
    const char *at =
        saying->pattern[0] != '\0' ? words_find(saying->pattern) : "";
    char words[SAYING_VALUES][PHRASE_SIZE];
    size_t used = 0;
    int next = 0, value = 0;

    for (int i = 0; i < SAYING_VALUES; i++)
        value_words(bulletin, &saying->values[i], units, words[i]);
    out[0] = '\0';
    while (*at != '\0') {
        size_t plain = strcspn(at, "%"), length;

        used = put(out, used, at, plain);
        at += plain;
        length = mark(at, &next, &value);
        if (length > 0 && value < SAYING_VALUES)
            used = put(out, used, words[value], strlen(words[value]));
        else if (*at != '\0')
            used = put(out, used, at, 1);
        at += length > 0 ? length : *at != '\0';
    }
}

static char *place_of(struct bulletin_action *action, enum saying_place place)
{
    return place == SAYING_REASON   ? action->reason
           : place == SAYING_DETAIL ? action->detail
                                    : action->unless;
}

/* One more whole sentence, if there is room for it. */
static void add_sentence(char out[SAYING_SIZE], const char *sentence)
{
    size_t length = strlen(out);

    if (length + strlen(sentence) + 2 > SAYING_SIZE)
        return;
    snprintf(out + length, SAYING_SIZE - length, "%s%s", length > 0 ? " " : "",
             sentence);
}

int saying_decimals(enum saying_kind kind)
{
    return kind == SAID_CHANCE ? 3 : 2;
}

static struct saying saying_of(const char *pattern, struct saying_value first,
                               struct saying_value second,
                               struct saying_value third)
{
    struct saying saying = {"", {first, second, third}};

    for (int i = 0; i < SAYING_VALUES; i++)
        saying.values[i].number = json_rounded(
            saying.values[i].number, saying_decimals(saying.values[i].kind));
    snprintf(saying.pattern, sizeof saying.pattern, "%s", pattern);
    return saying;
}

void action_say(const struct bulletin *bulletin, struct bulletin_action *action,
                enum saying_place place, const char *pattern,
                struct saying_value first, struct saying_value second,
                struct saying_value third)
{
    struct saying saying = saying_of(pattern, first, second, third);
    char words[SAYING_SIZE];

    if (action->said_count == ACTION_SAYINGS)
        return;
    action->said[action->said_count].place = place;
    action->said[action->said_count++].saying = saying;
    saying_words(bulletin, &saying, bulletin->units, words);
    add_sentence(place_of(action, place), words);
}

void bulletin_note(struct bulletin *bulletin, const char *pattern,
                   struct saying_value first, struct saying_value second)
{
    struct saying saying = saying_of(pattern, first, second, said_nothing());
    char words[SAYING_SIZE];

    if (bulletin->note_said_count < BULLETIN_NOTES_SAID) {
        struct bulletin_note_said *said =
            &bulletin->notes_said[bulletin->note_said_count++];

        said->note = bulletin->notes.count;
        said->saying = saying;
    }
    saying_words(bulletin, &saying, bulletin->units, words);
    error_list_add(&bulletin->notes, "%s", words);
}

static void reword_action(const struct bulletin *bulletin,
                          enum unit_system units,
                          struct bulletin_action *action)
{
    bool begun[SAYING_PLACES] = {false};
    char words[SAYING_SIZE];

    for (int i = 0; i < action->said_count; i++) {
        enum saying_place place = action->said[i].place;
        char *out = place_of(action, place);

        if (!begun[place])
            out[0] = '\0';
        begun[place] = true;
        saying_words(bulletin, &action->said[i].saying, units, words);
        add_sentence(out, words);
    }
}

void bulletin_reword(struct bulletin *bulletin, enum unit_system units)
{
    char words[SAYING_SIZE];

    for (int i = 0; i < bulletin->action_count; i++)
        reword_action(bulletin, units, &bulletin->actions[i]);
    for (int i = 0; i < bulletin->note_said_count; i++) {
        const struct bulletin_note_said *said = &bulletin->notes_said[i];
        char **note = &bulletin->notes.items[said->note];

        saying_words(bulletin, &said->saying, units, words);
        free(*note);
        *note = mem_copy_text(words);
    }
}
