/* Numbers at the pan, and the season so far. */
#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "base/units.h"
#include "base/words.h"
#include "publish/page_html.h"
#include "publish/page_parts.h"
#include "publish/phrase.h"
#include "publish/season_words.h"
#include "sugarhouse/syrup.h"
#include "sugarhouse/water.h"

static const double usual_syrup_brix = 66.9;

static void add_row(struct text *out, const char *head, const char *value)
{
    text_add(out, "<tr><th scope=\"row\">");
    html_add(out, head);
    text_add(out, "</th><td>");
    html_add(out, value);
    text_add(out, "</td></tr>\n");
}

static void begin(struct text *out, const char *id, const char *words)
{
    text_addf(out, "<section aria-labelledby=\"h-%s\">\n<h2 id=\"h-%s\">", id,
              id);
    html_add(out, words);
    text_add(out, "</h2>\n");
}

static void add_pan_rows(const struct page *page,
                         const struct bulletin_pressure *pressure)
{
    double told = page->bulletin->pan.syrup_brix;
    double syrup_brix = told > 0 ? told : usual_syrup_brix;
    char words[PHRASE_SIZE], head[PHRASE_SIZE], figure[QUANTITY_SIZE];
    struct text *out = page->out;

    pressure_format(pressure->mean_hpa, page->units, figure);
    add_row(out, _("Barometer at the pan"), figure);
    phrase_heat(water_boiling_c(pressure->mean_hpa), page->units, words);
    add_row(out, _("Water boils at"), words);
    phrase_heat(syrup_draw_off_c(syrup_brix, pressure->mean_hpa), page->units,
                words);
    number_format(syrup_brix, 1, figure);
    snprintf(head, sizeof head, _("Syrup of %.30s Brix boils at"), figure);
    add_row(out, head, words);
}

void page_add_pan(const struct page *page)
{
    struct bulletin_pressure pressure;
    utc_s until = page->now + SECONDS_PER_DAY;
    char low[PHRASE_SIZE], high[PHRASE_SIZE];
    struct text *out = page->out;
    char *words;

    if (!bulletin_pan_pressure(page->bulletin, page->now, until, &pressure))
        return;
    begin(out, "pan", _("At the pan, the next 24 hours"));
    text_add(out, "<table>\n<tbody>\n");
    add_pan_rows(page, &pressure);
    text_add(out, "</tbody>\n</table>\n");
    phrase_heat(water_boiling_c(pressure.min_hpa), page->units, low);
    phrase_heat(water_boiling_c(pressure.max_hpa), page->units, high);
    words = mem_format(_("As the barometer moves, water boils between %s and "
                         "%s: set the thermometer in boiling water before you "
                         "draw off."),
                       low, high);
    html_add_element(out, "p", "why", words);
    text_add(out, "</section>\n");
    free(words);
}

static void add_bush_season(const struct page *page,
                            const struct bulletin_bush *bush)
{
    struct text words;

    text_init(&words, SEASON_WORDS_MAX);
    season_words(bush, page->today, &words);
    if (words.length > 0) {
        html_add_element(page->out, "h3", NULL, bush->name);
        html_add_element(page->out, "p", NULL, words.bytes);
    }
    text_free(&words);
}

static void add_draws(const struct page *page)
{
    const struct page_options *options = page->options;
    char words[PHRASE_SIZE];
    struct text *out = page->out;

    if (options->season_sap_l <= 0 && options->season_syrup_l <= 0)
        return;
    text_add(out, "<table>\n<tbody>\n");
    phrase_volume(options->season_sap_l, page->units, words);
    if (options->season_sap_l > 0)
        add_row(out, _("Sap collected"), words);
    phrase_volume(options->season_syrup_l, page->units, words);
    if (options->season_syrup_l > 0)
        add_row(out, _("Syrup drawn off"), words);
    for (int i = 0; i < options->draw_count; i++) {
        phrase_volume(options->draws[i].syrup_l, page->units, words);
        add_row(out, options->draws[i].grade, words);
    }
    text_add(out, "</tbody>\n</table>\n");
}

void page_add_season(const struct page *page)
{
    const struct bulletin *bulletin = page->bulletin;
    bool known =
        page->options->season_sap_l > 0 || page->options->season_syrup_l > 0;

    for (int i = 0; i < bulletin->bush_count; i++)
        known = known || bulletin->bushes[i].season != NULL;
    if (!known)
        return;
    begin(page->out, "season", _("The season"));
    for (int i = 0; i < bulletin->bush_count; i++)
        add_bush_season(page, &bulletin->bushes[i]);
    add_draws(page);
    text_add(page->out, "</section>\n");
}
