/* Words for a status bar: the line again, in fewer columns, and the coming
 * days for who points at it. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/words.h"
#include "publish/phrase.h"
#include "publish/show.h"

enum { BAR_COLUMNS = 40, MORE_COLUMNS = 80, MORE_DAYS = 5 };

static void write_line(const struct bulletin *bulletin, utc_s now,
                       enum unit_system units, int columns,
                       char out[SHOW_BAR_SIZE])
{
    struct show_style style = {units, columns, false};
    struct text words;

    text_init(&words, SHOW_BAR_SIZE - 1);
    show_line(bulletin, now, &style, &words);
    snprintf(out, SHOW_BAR_SIZE, "%s", words.bytes);
    text_free(&words);
}

static void write_day(const struct bulletin_day *day, enum unit_system units,
                      struct text *out)
{
    char date[PHRASE_SIZE], volume[PHRASE_SIZE], chance[PHRASE_SIZE];

    phrase_date(day->date, date);
    phrase_volume(day->sap_l_p50, units, volume);
    phrase_chance(day->chance, chance);
    /* Date, strength, volume, chance: "Sat 7 Mar: good run, 170 gal, 85%". */
    text_addf(out, _("\n%s: %s, %s, %s"), date, phrase_strength(day->strength),
              volume, chance);
}

static void write_more(const struct bulletin *bulletin, utc_s now,
                       enum unit_system units, struct show_bar *out)
{
    struct civil_date today = bulletin_date(bulletin, now);
    int told = 0;
    struct text words;

    write_line(bulletin, now, units, MORE_COLUMNS, out->more);
    text_init(&words, SHOW_BAR_SIZE - 1);
    text_add(&words, out->more);
    for (int i = 0; i < bulletin->day_count && told < MORE_DAYS; i++) {
        const struct bulletin_day *day = &bulletin->days[i];

        if (!day->known || civil_date_compare(day->date, today) <= 0)
            continue;
        write_day(day, units, &words);
        told++;
    }
    snprintf(out->more, SHOW_BAR_SIZE, "%s", words.bytes);
    text_free(&words);
}

/* Strength, and the age where it is high, else the volume. */
static void write_fewer(const struct bulletin *bulletin, utc_s now,
                        enum unit_system units, const struct bulletin_day *day,
                        struct show_bar *out)
{
    const char *strength = phrase_strength_first(day->strength);
    char age[PHRASE_SIZE], volume[PHRASE_SIZE];

    bulletin_age_words(bulletin->weather_from, now, age, sizeof age);
    phrase_volume(day->sap_l_p50, units, volume);
    if (!day->known || bulletin->weather_from == 0)
        snprintf(out->fewer, SHOW_BAR_SIZE, "%s", _("No weather data"));
    else if (out->old)
        /* "Good run (8 h old)" */
        snprintf(out->fewer, SHOW_BAR_SIZE, _("%s (%s)"), strength, age);
    else if (day->strength == STRENGTH_NONE)
        snprintf(out->fewer, SHOW_BAR_SIZE, "%s", strength);
    else
        /* "Good run, 170 gal" */
        snprintf(out->fewer, SHOW_BAR_SIZE, _("%s, %s"), strength, volume);
}

void show_bar(const struct bulletin *bulletin, utc_s now,
              enum unit_system units, struct show_bar *out)
{
    static const char *const states[STRENGTH_COUNT] = {
        "none", "weeping", "fair-run", "good-run", "big-run"};
    const struct bulletin_day *day =
        bulletin_day(bulletin, bulletin_date(bulletin, now));

    *out = (struct show_bar){.state = "unknown", .old = true};
    write_more(bulletin, now, units, out);
    if (day == NULL) {
        show_bar_nothing(out->more, out);
        return;
    }
    write_line(bulletin, now, units, BAR_COLUMNS, out->words);
    out->old = now - bulletin->weather_from >= SHOW_OLD_S;
    write_fewer(bulletin, now, units, day, out);
    if (!day->known)
        return;
    out->state = states[day->strength];
    out->chance_percent = (int)lround(100 * fmin(fmax(day->chance, 0), 1));
}

void show_bar_nothing(const char *why, struct show_bar *out)
{
    char more[SHOW_BAR_SIZE];
    size_t cut = utf8_cut(why, strlen(why), SHOW_BAR_SIZE - 1);

    memcpy(more, why, cut);
    more[cut] = '\0';
    *out = (struct show_bar){.state = "unknown", .old = true};
    memcpy(out->more, more, cut + 1);
    snprintf(out->words, SHOW_BAR_SIZE, "%s", _("No current sap forecast"));
    snprintf(out->fewer, SHOW_BAR_SIZE, "%s", _("No sap forecast"));
}
