/* Writes pages of many kinds into a folder, each with the sentence that must
 * come first: NAME.html and NAME.line. All figures and names are invented. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "case_files.h"
#include "fake_bulletin.h"
#include "publish/page.h"
#include "publish/show.h"

static const char *folder;

static void finish(const char *name, struct bulletin *bulletin,
                   const struct page_options *options)
{
    struct show_style style = {bulletin->units, 80, false};
    char *html = page_to_html(bulletin, options);
    struct error err = {""};
    struct text line;

    must(page_check(html, strlen(html), &err), &err);
    text_init(&line, 4096);
    show_line(bulletin, page_hour(bulletin), &style, &line);
    case_write(folder, name, ".html", html);
    case_write(folder, name, ".line", line.bytes);
    text_free(&line);
    free(html);
    bulletin_free(bulletin);
}

static void add_action(struct bulletin *bulletin, enum action_kind kind,
                       int day, int from_h, int hours, const char *reason)
{
    struct bulletin_action *action =
        fake_action(bulletin, kind, day, from_h, hours);

    action->all_day = hours == 24;
    action->sap_l = kind <= ACTION_BOIL ? 650 : 0;
    snprintf(action->reason, sizeof action->reason, "%s", reason);
    snprintf(action->unless, sizeof action->unless,
             "It can wait if the day stays too cold to run.");
}

/* Buckets that fill for two days and are emptied into the tank. */
static void fill_plan(struct bulletin *bulletin)
{
    struct bulletin_plan *plan = &bulletin->plan;

    plan->start = FAKE_MADE - 600;
    plan->hours = 220;
    plan->buckets_l = mem_alloc(220, sizeof(double));
    plan->tanks_l = mem_alloc(220, sizeof(double));
    plan->buckets_hold_l = 2000;
    plan->tanks_hold_l = 1100;
    for (int hour = 0; hour < 220; hour++) {
        plan->buckets_l[hour] = 40 * (hour % 48);
        plan->tanks_l[hour] = 1100 - 22 * (hour % 50);
    }
}

static struct bulletin *with_actions(void)
{
    struct bulletin *bulletin = fake_bulletin();

    add_action(bulletin, ACTION_COLLECT, 7, 17, 2,
               "Left in the buckets, about 60 gal would run over or not reach "
               "the pan, from Sun 8 Mar 11:00 on (chance 85%).");
    add_action(bulletin, ACTION_BOIL, 7, 19, 3,
               "It makes room: otherwise about 60 gal would run over, from "
               "Sun 8 Mar 13:00 on (chance 70%).");
    add_action(bulletin, ACTION_COLLECT, 8, 16, 3,
               "It feeds the next fire and leaves the buckets empty for the "
               "next run.");
    add_action(bulletin, ACTION_BOIL, 9, 7, 9,
               "Unboiled, about 90 gal would spoil by Tue 10 Mar 15:00 "
               "(chance over 95%).");
    add_action(bulletin, ACTION_PULL, 14, 0, 24, "The buds are near.");
    fill_plan(bulletin);
    bulletin->pan =
        (struct bulletin_pan){67.0, 450, FAKE_MADE - 600, 26, {0}, {0}};
    for (int hour = 0; hour < 26; hour++) {
        bulletin->pan.station_pressure_hpa[hour] = 961.2 - 0.3 * hour;
        bulletin->pan.known[hour] = true;
    }
    return bulletin;
}

static void write_full(void)
{
    struct bulletin *bulletin = with_actions();
    struct page_options options = {
        .address = "https://sap.example.org/mK2bQ8rW4tYx1nV7pZc5dA/",
        .season_sap_l = 5200,
        .season_syrup_l = 130,
        .draws = {{"Golden", 40}, {"Amber", 60}, {"Dark", 30}},
        .draw_count = 3,
        .mails_given_up = 2};

    snprintf(bulletin->sources[1].trouble, sizeof bulletin->sources[1].trouble,
             "api.weather.gov did not answer in time; next attempt 18:40");
    bulletin->sources[1].trouble_since = FAKE_MADE - 7200;
    error_list_add(&bulletin->notes, "%s",
                   "Syrup from the days ahead: about 20 gal, if the sap is as "
                   "sweet as usual.");
    finish("full", bulletin, &options);
}

static void write_metric_with_gaps(void)
{
    struct bulletin *bulletin = fake_bulletin();

    bulletin->units = UNITS_METRIC;
    bulletin->weather_from = FAKE_MADE - 100 * SECONDS_PER_HOUR;
    for (int hour = 60; hour < 80; hour++)
        bulletin->bushes[0].air_known[hour] = false;
    for (int i = 0; i < 2; i++)
        bulletin->bushes[i].outlook->days[5].known = false;
    bulletin_sum_days(bulletin);
    finish("metric-gaps", bulletin, NULL);
}

static void write_nothing_known(void)
{
    struct bulletin *bulletin = fake_bulletin();

    bulletin->weather_from = 0;
    for (int i = 0; i < 2; i++) {
        struct bulletin_bush *bush = &bulletin->bushes[i];

        memset(bush->air_known, 0, (size_t)bush->outlook->hours);
        for (int day = 0; day < bush->outlook->count; day++)
            bush->outlook->days[day].known = false;
    }
    bulletin_sum_days(bulletin);
    finish("nothing-known", bulletin, NULL);
}

/* No plan, and the reason in its place. */
static void write_lacking(void)
{
    struct bulletin *bulletin = fake_bulletin();

    bulletin->lack = LACKS_HOURS;
    finish("lacking", bulletin, NULL);
}

/* Names as long as they may be, and text that would break out of HTML. */
static void write_hostile(void)
{
    struct bulletin *bulletin = with_actions();

    snprintf(bulletin->operation, sizeof bulletin->operation,
             "<script>alert(1)</script>&\"'Érablière-de-l'Été-à-la-Rivière-"
             "du-Loup-et-de-ses-environs-immédiats-de-l'ouest");
    snprintf(bulletin->sources[0].credit, sizeof bulletin->sources[0].credit,
             "<b onclick=\"alert(2)\">unbroken%s</b>",
             "wordwordwordwordwordwordwordwordwordwordwordwordwordword");
    snprintf(bulletin->sources[0].credit_url,
             sizeof bulletin->sources[0].credit_url, "javascript:alert(3)");
    snprintf(bulletin->actions[0].reason, sizeof bulletin->actions[0].reason,
             "%s", "\"><img src=x onerror=alert(4)>");
    error_list_add(&bulletin->notes, "%s", "</ul></main><h1>taken</h1>");
    finish("hostile", bulletin, NULL);
}

/* A large operation: figures of four digits, every day a run. */
static void write_large(void)
{
    struct bulletin *bulletin = with_actions();

    bulletin->bushes[0].taps = 45000;
    bulletin->bushes[1].taps = 9800;
    bulletin->units = UNITS_METRIC;
    bulletin_sum_days(bulletin);
    for (int i = 0; i < bulletin->action_count; i++)
        bulletin->actions[i].sap_l *= 400;
    finish("large", bulletin, NULL);
}

int main(int argc, char **argv)
{
    if (argc != 2) {
        fprintf(stderr, "usage: write_pages FOLDER\n");
        return 2;
    }
    folder = argv[1];
    finish("plain", fake_bulletin(), NULL);
    write_full();
    write_metric_with_gaps();
    write_nothing_known();
    write_lacking();
    write_hostile();
    write_large();
    return 0;
}
