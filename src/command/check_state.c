/* How it stands with what is published. */
#include <stdio.h>
#include <string.h>

#include "base/words.h"
#include "command/check.h"
#include "publish/show.h"

static bool any_in_use(const struct bulletin *bulletin)
{
    for (int i = 0; i < bulletin->source_count; i++)
        if (bulletin->sources[i].in_use)
            return true;
    return false;
}

static bool too_old(const struct bulletin *bulletin, utc_s now)
{
    return bulletin->weather_from > 0 &&
           now - bulletin->weather_from >= SHOW_VERY_OLD_S;
}

int check_state(const struct checked *checked, utc_s now)
{
    const struct bulletin *bulletin = checked->bulletin;
    char age[40];
    if (checked->unreadable.text[0]) {
        fprintf(stderr, _("%s cannot be used: %s\n"), checked->bulletin_path,
                checked->unreadable.text);
        return EXIT_FAILED;
    }
    if (!bulletin)
        return EXIT_DONE;
    if (!any_in_use(bulletin)) {
        fprintf(stderr, _("%s: no weather service is in use\n"),
                checked->bulletin_path);
        return EXIT_FAILED;
    }
    if (!too_old(bulletin, now))
        return EXIT_DONE;
    bulletin_age_words(bulletin->weather_from, now, age, sizeof age);
    fprintf(stderr,
            _("%s: its weather is %s; is thawbelld running, and the network "
              "up?\n"),
            checked->bulletin_path, age);
    return EXIT_FAILED;
}

static void print_source(const struct bulletin *bulletin,
                         const struct bulletin_source *source)
{
    struct civil_time since = bulletin_civil(bulletin, source->trouble_since);
    if (source->trouble[0] == '\0')
        return;
    if (source->trouble_since > 0)
        printf(_("  %s is in trouble since %04d-%02d-%02d %02d:%02d: %s\n"),
               source->name, since.date.year, since.date.month, since.date.day,
               since.hour, since.minute, source->trouble);
    else
        printf(_("  %s is in trouble: %s\n"), source->name, source->trouble);
}

static void print_bulletin(const struct bulletin *bulletin, utc_s now)
{
    char made[40], weather[40];
    bulletin_age_words(bulletin->made, now, made, sizeof made);
    bulletin_age_words(bulletin->weather_from, now, weather, sizeof weather);
    if (bulletin->weather_from > 0)
        printf(_("  bulletin %s, its weather %s\n"), made, weather);
    else
        printf(_("  bulletin %s, without a forecast\n"), made);
    for (int i = 0; i < bulletin->source_count; i++)
        print_source(bulletin, &bulletin->sources[i]);
}

void check_print_state(const struct checked *checked, utc_s now)
{
    printf(_("Published in %s:\n"), checked->folder);
    if (checked->unreadable.text[0])
        puts(_("  a bulletin that cannot be used"));
    else if (!checked->bulletin)
        puts(_("  nothing yet; \"thawbelld --once\" makes the first "
               "forecast"));
    else
        print_bulletin(checked->bulletin, now);
}
