/* The figures as they are read back from the bulletin's JSON. */
#include "base/json.h"
#include "publish/bulletin.h"
#include "publish/bulletin_figures.h"

static void settle_days(struct outlook *outlook)
{
    for (int i = 0; i < outlook->count; i++) {
        struct outlook_day *day = &outlook->days[i];

        bulletin_figures_round(bulletin_bush_day_figures, day);
        day->source_spread_k = json_rounded(day->source_spread_k, DIGITS_C);
    }
}

static void settle_hours(struct bulletin_bush *bush)
{
    struct outlook *outlook = bush->outlook;
    const struct {
        double *values;
        int decimals;
    } rows[] = {
        {outlook->sap_l_per_tap, DIGITS_HOUR_L},
        {outlook->sap_l_per_tap_p10, DIGITS_HOUR_L},
        {outlook->sap_l_per_tap_p90, DIGITS_HOUR_L},
        {bush->air_temp_c, DIGITS_C},
        {outlook->air_temp_c_p10, DIGITS_C},
        {outlook->air_temp_c_p90, DIGITS_C},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (rows[i].values != NULL)
            json_round_numbers(rows[i].values, outlook->hours,
                               rows[i].decimals);
}

static void settle_season(struct bulletin_season *season)
{
    season->chance_of_more =
        json_rounded(season->chance_of_more, DIGITS_SEASON_SHARE);
    season->taphole = json_rounded(season->taphole, DIGITS_SEASON_SHARE);
    for (int i = 0; i < season->day_count; i++)
        season->days[i].off_flavour =
            json_rounded(season->days[i].off_flavour, DIGITS_SEASON_SHARE);
}

static void settle_action(struct bulletin_action *action)
{
    action->sap_l = json_rounded(action->sap_l, DIGITS_L);
    action->syrup_l = json_rounded(action->syrup_l, DIGITS_L);
    action->draw_off_c = json_rounded(action->draw_off_c, DIGITS_C);
}

static void settle_pan(struct bulletin_pan *pan)
{
    pan->elevation_m = json_rounded(pan->elevation_m, DIGITS_M);
    pan->syrup_brix = json_rounded(pan->syrup_brix, DIGITS_BRIX);
    json_round_numbers(pan->station_pressure_hpa, pan->hours, DIGITS_HPA);
}

void bulletin_settle(struct bulletin *bulletin)
{
    for (int i = 0; i < bulletin->day_count; i++)
        bulletin_figures_round(bulletin_day_figures, &bulletin->days[i]);
    for (int i = 0; i < bulletin->bush_count; i++) {
        struct bulletin_bush *bush = &bulletin->bushes[i];

        if (bush->outlook != NULL) {
            settle_days(bush->outlook);
            settle_hours(bush);
        }
        if (bush->season != NULL)
            settle_season(bush->season);
    }
    for (int i = 0; i < bulletin->action_count; i++)
        settle_action(&bulletin->actions[i]);
    settle_pan(&bulletin->pan);
}
