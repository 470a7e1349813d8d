/* What is read from a bulletin just made and from its file: the same. */
#include <string.h>

#include "base/text.h"
#include "fake_bulletin.h"
#include "publish/bulletin_figures.h"
#include "publish/show.h"
#include "read_back.h"
#include "unit_test.h"

/* More decimals than are told, other ones for each figure: invented. */
static double odd(void)
{
    static int count;

    count = (count + 1) % 97;
    return 0.00137 + count * 0.0003719;
}

static void make_odd(const struct bulletin_figure *figures, void *row)
{
    for (; figures->key != NULL; figures++)
        *(double *)(void *)((char *)row + figures->offset) += odd();
}

static void make_odd_hours(double *values, int count)
{
    for (int i = 0; i < count; i++)
        values[i] += odd();
}

static void make_odd_bush(struct bulletin_bush *bush)
{
    struct outlook *outlook = bush->outlook;

    for (int i = 0; i < outlook->count; i++) {
        make_odd(bulletin_bush_day_figures, &outlook->days[i]);
        outlook->days[i].source_spread_k += odd();
    }
    make_odd_hours(outlook->sap_l_per_tap, outlook->hours);
    make_odd_hours(outlook->sap_l_per_tap_p10, outlook->hours);
    make_odd_hours(outlook->sap_l_per_tap_p90, outlook->hours);
    make_odd_hours(outlook->air_temp_c_p10, outlook->hours);
    make_odd_hours(outlook->air_temp_c_p90, outlook->hours);
    make_odd_hours(bush->air_temp_c, outlook->hours);
}

static void make_odd_season(struct bulletin_season *season)
{
    season->chance_of_more += odd();
    season->taphole += odd();
    for (int i = 0; i < season->day_count; i++)
        season->days[i].off_flavour += odd();
}

static void make_odd_pan(struct bulletin *bulletin)
{
    struct bulletin_pan *pan = &bulletin->pan;
    struct bulletin_action *action =
        fake_action(bulletin, ACTION_BOIL, 7, 18, 4);

    action->sap_l = 700 + odd();
    action->syrup_l = 16 + odd();
    action->draw_off_c = 103 + odd();
    action_say(bulletin, action, SAYING_DETAIL, "About %s at %s (chance %s).",
               said_volume(16 + odd()), said_heat(103 + odd()),
               said_chance(0.3 + odd()));
    pan->start = FAKE_MADE;
    pan->hours = 2;
    pan->syrup_brix = 66.9 + odd();
    pan->elevation_m = 450 + odd();
    for (int i = 0; i < 2; i++) {
        pan->known[i] = true;
        pan->station_pressure_hpa[i] = 960 + odd();
    }
}

static struct bulletin *odd_bulletin(void)
{
    struct bulletin *bulletin = fake_bulletin();

    for (int i = 0; i < bulletin->day_count; i++)
        make_odd(bulletin_day_figures, &bulletin->days[i]);
    for (int b = 0; b < bulletin->bush_count; b++) {
        make_odd_bush(&bulletin->bushes[b]);
        fake_season(&bulletin->bushes[b]);
        make_odd_season(bulletin->bushes[b].season);
    }
    make_odd_pan(bulletin);
    return bulletin;
}

static void same_number(double a, double b, const char *what)
{
    if (a < b || a > b)
        fail_msg("%s: %.17g here, %.17g read back", what, a, b);
}

static void same_figures(const struct bulletin_figure *figures, const void *a,
                         const void *b)
{
    for (; figures->key != NULL; figures++)
        same_number(
            *(const double *)(const void *)((const char *)a + figures->offset),
            *(const double *)(const void *)((const char *)b + figures->offset),
            figures->key);
}

static void same_hours(const double *a, const double *b, int count,
                       const char *what)
{
    for (int i = 0; i < count; i++)
        same_number(a[i], b[i], what);
}

/* The file leaves out the hours before yesterday's noon. */
static void same_bush(const struct bulletin_bush *a,
                      const struct bulletin_bush *b)
{
    const struct outlook *here = a->outlook, *back = b->outlook;
    int first = (int)((back->start - here->start) / SECONDS_PER_HOUR);

    for (int i = 0; i < here->count; i++) {
        same_figures(bulletin_bush_day_figures, &here->days[i], &back->days[i]);
        same_number(here->days[i].source_spread_k,
                    back->days[i].source_spread_k, "source_spread_k");
    }
    same_hours(here->sap_l_per_tap + first, back->sap_l_per_tap, back->hours,
               "sap_l_per_tap_p50");
    same_hours(here->sap_l_per_tap_p10 + first, back->sap_l_per_tap_p10,
               back->hours, "sap_l_per_tap_p10");
    same_hours(here->sap_l_per_tap_p90 + first, back->sap_l_per_tap_p90,
               back->hours, "sap_l_per_tap_p90");
    same_hours(here->air_temp_c_p10 + first, back->air_temp_c_p10, back->hours,
               "air_temp_c_p10");
    same_hours(here->air_temp_c_p90 + first, back->air_temp_c_p90, back->hours,
               "air_temp_c_p90");
    same_hours(a->air_temp_c + first, b->air_temp_c, back->hours, "air_temp_c");
}

static void same_season(const struct bulletin_season *a,
                        const struct bulletin_season *b)
{
    same_number(a->chance_of_more, b->chance_of_more, "chance_of_more");
    same_number(a->taphole, b->taphole, "taphole");
    for (int i = 0; i < a->day_count; i++)
        same_number(a->days[i].off_flavour, b->days[i].off_flavour,
                    "off_flavour");
}

static void same_pan(const struct bulletin *a, const struct bulletin *b)
{
    const struct bulletin_action *here = &a->actions[0], *back = &b->actions[0];

    same_number(here->sap_l, back->sap_l, "sap_l");
    same_number(here->syrup_l, back->syrup_l, "syrup_l");
    same_number(here->draw_off_c, back->draw_off_c, "draw_off_c");
    for (int i = 0; i < SAYING_VALUES; i++)
        same_number(here->said[0].saying.values[i].number,
                    back->said[0].saying.values[i].number, "said");
    same_number(a->pan.syrup_brix, b->pan.syrup_brix, "syrup_brix");
    same_number(a->pan.elevation_m, b->pan.elevation_m, "elevation_m");
    same_hours(a->pan.station_pressure_hpa, b->pan.station_pressure_hpa, 2,
               "station_pressure_hpa");
}

static void every_figure_is_what_is_read_back(void **state)
{
    struct bulletin *bulletin = odd_bulletin(), *back;

    (void)state;
    bulletin_settle(bulletin);
    back = read_back(bulletin);
    assert_int_equal(back->day_count, bulletin->day_count);
    for (int i = 0; i < bulletin->day_count; i++)
        same_figures(bulletin_day_figures, &bulletin->days[i], &back->days[i]);
    for (int b = 0; b < bulletin->bush_count; b++) {
        same_bush(&bulletin->bushes[b], &back->bushes[b]);
        same_season(bulletin->bushes[b].season, back->bushes[b].season);
    }
    same_pan(bulletin, back);
    bulletin_free(back);
    bulletin_free(bulletin);
}

static void the_file_does_not_change(void **state)
{
    struct bulletin *bulletin = odd_bulletin();
    char *before = bulletin_to_json(bulletin), *after;

    (void)state;
    bulletin_settle(bulletin);
    after = bulletin_to_json(bulletin);
    assert_string_equal(before, after);
    free(before);
    free(after);
    bulletin_free(bulletin);
}

/* 7.46 C are 45.4 F, and 7.5 C, as the file has it, 45.5 F. */
static void a_degree_is_told_alike(void **state)
{
    struct bulletin *bulletin = fake_bulletin(), *back;
    struct show_style style = {UNITS_US, 80, false};
    struct text here, there;

    (void)state;
    for (int i = 0; i < bulletin->day_count; i++)
        bulletin->days[i].max_c = 7.46;
    bulletin_settle(bulletin);
    back = read_back(bulletin);
    text_init(&here, 100000);
    text_init(&there, 100000);
    show_week(bulletin, FAKE_MADE, &style, &here);
    show_week(back, FAKE_MADE, &style, &there);
    assert_non_null(strstr(here.bytes, "46 F"));
    assert_string_equal(here.bytes, there.bytes);
    text_free(&here);
    text_free(&there);
    bulletin_free(back);
    bulletin_free(bulletin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_figure_is_what_is_read_back),
        cmocka_unit_test(the_file_does_not_change),
        cmocka_unit_test(a_degree_is_told_alike),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
