#include "publish/mail_words.h"

#include <math.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/chart_svg.h"
#include "publish/phrase.h"

bool mail_tells_of_fire(const struct bulletin *bulletin, utc_s now)
{
    for (int i = 0; i < bulletin->action_count; i++)
        if (bulletin->actions[i].kind == ACTION_BOIL &&
            !bulletin_action_over(bulletin, &bulletin->actions[i], now))
            return true;
    return false;
}

const char *mail_caution_fire(void)
{
    return _("At the fire: never leave a boiling pan; boiling syrup burns "
             "deep. Let steam and carbon monoxide out, watch the chimney for "
             "sparks.");
}

const char *mail_caution_all(void)
{
    return _("Advice, not a guarantee: look at the buckets, the tank and the "
             "fire yourself. Local codes and licensed practice come first.");
}

/* Coldest and warmest hour, the best day: what the picture is read for. */
char *mail_chart_words(const struct bulletin *bulletin, utc_s now)
{
    struct civil_date today = bulletin_date(bulletin, now);
    const struct bulletin_day *best = NULL;
    char low[PHRASE_SIZE], high[PHRASE_SIZE], date[PHRASE_SIZE],
        volume[PHRASE_SIZE];
    double min_c = INFINITY, max_c = -INFINITY;
    int runs = 0;

    for (int i = 0; i < bulletin->day_count; i++) {
        const struct bulletin_day *day = &bulletin->days[i];

        if (!day->known || civil_date_compare(day->date, today) < 0 ||
            civil_date_compare(day->date, civil_date_add(today, CHART_DAYS)) >=
                0)
            continue;
        min_c = fmin(min_c, day->min_c);
        max_c = fmax(max_c, day->max_c);
        runs += day->strength >= STRENGTH_FAIR_RUN;
        if (best == NULL || day->sap_l_p50 > best->sap_l_p50)
            best = day;
    }
    if (best == NULL)
        return mem_copy_text(_("Chart of ten days: no weather is known."));
    phrase_temperature(min_c, bulletin->units, low);
    phrase_temperature(max_c, bulletin->units, high);
    phrase_date(best->date, date);
    phrase_volume(best->sap_l_p50, bulletin->units, volume);
    return runs > 0 ? mem_format(_("Chart of ten days: air from %s to %s, runs "
                                   "on %d of the days, most on %s with about "
                                   "%s."),
                                 low, high, runs, date, volume)
                    : mem_format(_("Chart of ten days: air from %s to %s, no "
                                   "run in sight."),
                                 low, high);
}

char *mail_age_words(const struct bulletin *bulletin, utc_s now)
{
    char age[PHRASE_SIZE];

    if (bulletin->weather_from == 0)
        return mem_format(_("%s. No weather service has answered yet."),
                          bulletin->operation);
    bulletin_age_words(bulletin->weather_from, now, age, sizeof age);
    return mem_format(_("%s. The weather is %s."), bulletin->operation, age);
}
