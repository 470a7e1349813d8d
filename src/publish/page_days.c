/* What is to be done, and the days as cards. */
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/page_html.h"
#include "publish/page_parts.h"
#include "publish/phrase.h"

enum { BAR_WIDTH = 120, BAR_HEIGHT = 10 };

static void add_what(const struct page *page,
                     const struct bulletin_action *action)
{
    char what[PHRASE_SIZE], when[PHRASE_SIZE];

    phrase_action(action, page->units, what);
    phrase_action_time(page->bulletin, action, page->today, when);
    text_add(page->out, "<strong>");
    html_add(page->out, what);
    text_add(page->out, "</strong> <span class=\"when\">");
    html_add(page->out, when);
    text_add(page->out, "</span>");
}

static void add_reasons(const struct bulletin_action *action, struct text *out)
{
    if (action->reason[0] != '\0')
        html_add_element(out, "p", "why", action->reason);
    if (action->detail[0] != '\0')
        html_add_element(out, "p", "why", action->detail);
    if (action->unless[0] != '\0')
        html_add_element(out, "p", "why unless", action->unless);
}

/* "details" opens without a script; of later actions the reasons are folded
 * away in it. */
static void add_action(const struct page *page, int number)
{
    const struct bulletin_action *action = &page->bulletin->actions[number];
    struct text *out = page->out;
    bool near = bulletin_action_near(page->bulletin, number, page->now);

    text_add(out, near ? "<li>\n<p>" : "<li>\n<details>\n<summary>");
    add_what(page, action);
    text_add(out, near ? "</p>\n" : "</summary>\n");
    add_reasons(action, out);
    text_add(out, near ? "</li>\n" : "</details>\n</li>\n");
}

void page_add_actions(const struct page *page)
{
    const struct bulletin *bulletin = page->bulletin;
    struct text *out = page->out;
    int told = 0;

    for (int i = 0; i < bulletin->action_count; i++)
        told +=
            !bulletin_action_over(bulletin, &bulletin->actions[i], page->now);
    if (told == 0 && bulletin->lack == LACKS_NOTHING)
        return;
    text_add(out, "<section aria-labelledby=\"h-todo\">\n"
                  "<h2 id=\"h-todo\">");
    html_add(out, _("To do"));
    text_add(out, "</h2>\n");
    text_add(out, told > 0 ? "<ol class=\"todo\">\n" : "");
    for (int i = 0; i < bulletin->action_count; i++)
        if (!bulletin_action_over(bulletin, &bulletin->actions[i], page->now))
            add_action(page, i);
    text_add(out, told > 0 ? "</ol>\n" : "");
    if (bulletin->lack != LACKS_NOTHING)
        html_add_element(out, "p", NULL, plan_lack_words(bulletin->lack));
    text_add(out, "</section>\n");
}

/* The day's range on the scale of the best day: a bar from the tenth to the
 * ninetieth of a hundred, a tick at the middle. The figures stand beside. */
static void add_bar(const struct page *page, const struct bulletin_day *day,
                    double most_l)
{
    double scale = BAR_WIDTH / fmax(most_l, 1);
    double from = day->sap_l_p10 * scale, to = day->sap_l_p90 * scale;
    double middle = fmin(day->sap_l_p50 * scale, BAR_WIDTH - 3);

    text_addf(page->out,
              "<svg class=\"bar\" aria-hidden=\"true\" viewBox=\"0 0 %d %d\" "
              "width=\"%d\" height=\"%d\"><rect class=\"rail\" x=\"0\" "
              "y=\"4.5\" width=\"%d\" height=\"1\"/><rect class=\"range\" "
              "x=\"%.1f\" y=\"2\" width=\"%.1f\" height=\"6\"/><rect "
              "class=\"mid\" x=\"%.1f\" y=\"0\" width=\"3\" "
              "height=\"%d\"/></svg>\n",
              BAR_WIDTH, BAR_HEIGHT, BAR_WIDTH, BAR_HEIGHT, BAR_WIDTH, from,
              fmax(to - from, 0), middle, BAR_HEIGHT);
}

static void add_hours(const struct page *page, const struct bulletin_day *day)
{
    char window[PHRASE_SIZE], chance[PHRASE_SIZE];
    char *words;

    phrase_window(page->bulletin, day->run_start, day->run_end, window);
    phrase_chance(day->chance, chance);
    words = day->has_window && day->strength > STRENGTH_NONE
                ? mem_format(_("%s, %s chance of a run"), window, chance)
                : mem_format(_("%s chance of a run"), chance);
    html_add_element(page->out, "p", "hours", words);
    free(words);
}

static void add_sap(const struct page *page, const struct bulletin_day *day,
                    double most_l)
{
    char volume[PHRASE_SIZE], range[PHRASE_SIZE];
    struct text *out = page->out;

    phrase_volume(day->sap_l_p50, page->units, volume);
    phrase_volume_range(day->sap_l_p10, day->sap_l_p90, page->units, range);
    text_add(out, "<p class=\"sap\"><b>");
    html_add(out, volume);
    text_add(out, "</b> <span>");
    html_add(out, range);
    text_add(out, "</span></p>\n");
    add_bar(page, day, most_l);
}

static void add_air(const struct page *page, const struct bulletin_day *day)
{
    char low[PHRASE_SIZE], high[PHRASE_SIZE], why[256];
    char *words;

    phrase_temperature(day->min_c, page->units, low);
    phrase_temperature(day->max_c, page->units, high);
    words = mem_format(_("Low %s, high %s"), low, high);
    html_add_element(page->out, "p", "low-high", words);
    free(words);
    phrase_reason(page->bulletin, day->date, page->units, why, sizeof why);
    if (why[0] != '\0')
        html_add_element(page->out, "p", "why", why);
}

static void add_day(const struct page *page, const struct bulletin_day *day,
                    double most_l)
{
    struct text *out = page->out;
    char date[PHRASE_SIZE];
    bool runs = day->known && day->strength >= STRENGTH_FAIR_RUN;

    phrase_date(day->date, date);
    text_addf(out, "<li class=\"%s\">\n", runs ? "day runs" : "day");
    html_add_element(out, "h3", NULL, date);
    if (!day->known) {
        html_add_element(out, "p", "why", _("No weather data for this day."));
    } else {
        html_add_element(out, "p", "strength",
                         phrase_strength_first(day->strength));
        add_sap(page, day, most_l);
        add_hours(page, day);
        add_air(page, day);
    }
    text_add(out, "</li>\n");
}

void page_add_days(const struct page *page)
{
    const struct bulletin *bulletin = page->bulletin;
    struct text *out = page->out;
    char least[PHRASE_SIZE];
    double most_l = 0;
    char *legend;

    text_add(out, "<section aria-labelledby=\"h-days\">\n<h2 id=\"h-days\">");
    html_add(out, _("Day by day"));
    text_add(out, "</h2>\n<ol class=\"days\">\n");
    for (int i = 0; i < bulletin->day_count; i++)
        most_l = fmax(most_l, bulletin->days[i].sap_l_p90);
    for (int i = 0; i < bulletin->day_count; i++)
        if (civil_date_compare(bulletin->days[i].date, page->today) >= 0)
            add_day(page, &bulletin->days[i], most_l);
    text_add(out, "</ol>\n");
    phrase_per_tap(OUTLOOK_RUN_L_PER_TAP, page->units, least);
    legend = mem_format(_("Sap of all taps: the likeliest amount, and the "
                          "range that holds 8 times in 10. A run is %s a tap "
                          "or more."),
                        least);
    html_add_element(out, "p", "legend", legend);
    text_add(out, "</section>\n");
    free(legend);
}
