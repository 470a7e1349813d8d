/* The morning mail with pictures: simple blocks with styles of their own,
 * since mail programs drop what they do not know. Light by default; a block of
 * rules for dark where it is known, all of whose colours stand alone too. Full
 * sense without the picture. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "publish/chart_png.h"
#include "publish/mail_words.h"
#include "publish/page_html.h"
#include "publish/phrase.h"
#include "publish/season_words.h"
#include "publish/show.h"

enum { HTML_MAX_BYTES = 96 * 1024 }; /* longer ones are cut by some services */

#define INK "#28201a"
#define SOFT "#5a4e44"
#define PAPER "#fffdf6"
#define LINE "#cbbfac"
#define FONT "font-family:system-ui,-apple-system,'Segoe UI',sans-serif;"

static const char head[] =
    "<meta charset=\"utf-8\">\n"
    "<meta name=\"viewport\" content=\"width=device-width\">\n"
    "<meta name=\"color-scheme\" content=\"light dark\">\n"
    "<meta name=\"supported-color-schemes\" content=\"light dark\">\n"
    "<style>\n"
    ":root{color-scheme:light dark}\n"
    "@media(prefers-color-scheme:dark){\n"
    ".page,.page td,.page th{background:#141009!important;"
    "color:#efe5d3!important;border-color:#50453a!important}\n"
    ".soft{color:#beaf99!important}\n"
    ".page a{color:#9dc9ef!important}\n"
    ".page .runs td,.page .runs th{background:#2a2012!important}\n"
    "}\n"
    "</style>\n";

static void add_paragraph(struct text *out, const char *style,
                          const char *css_class, const char *words)
{
    text_addf(out, "<p class=\"%s\" style=\"%s\">", css_class, style);
    html_add(out, words);
    text_add(out, "</p>\n");
}

static void add_soft(struct text *out, const char *words)
{
    add_paragraph(out,
                  "margin:0 0 8px;font-size:15px;line-height:1.4;color:" SOFT,
                  "soft", words);
}

static void add_heading(struct text *out, const char *words)
{
    text_add(out, "<h2 style=\"margin:20px 0 6px;font-size:17px;"
                  "line-height:1.3\">");
    html_add(out, words);
    text_add(out, "</h2>\n");
}

static void add_decision(const struct bulletin *bulletin, utc_s now,
                         struct text *out)
{
    struct show_style style = {bulletin->units, 80, false};
    char reason[256], *age = mail_age_words(bulletin, now);
    struct text line;

    text_init(&line, 4096);
    show_line(bulletin, now, &style, &line);
    text_add(out, "<h1 style=\"margin:0 0 8px;font-family:Georgia,serif;"
                  "font-size:22px;font-weight:bold;line-height:1.3\">");
    html_add(out, line.bytes);
    text_add(out, "</h1>\n");
    phrase_reason(bulletin, bulletin_date(bulletin, now), bulletin->units,
                  reason, sizeof reason);
    if (reason[0] != '\0')
        add_paragraph(out, "margin:0 0 8px;font-size:16px;line-height:1.4",
                      "why", reason);
    add_soft(out, age);
    text_free(&line);
    free(age);
}

/* Whole sentences, one after the other; what was told above is not told
 * again. */
static void add_reason(const struct bulletin *bulletin, utc_s now, int number,
                       struct text *out)
{
    const struct bulletin_action *action = &bulletin->actions[number];
    bool told = bulletin_reason_told(bulletin, number, now);
    bool near = bulletin_action_near(bulletin, number, now);
    const char *reason = told ? "" : action->reason;
    const char *detail = near ? action->detail : "";
    const char *unless = near && !told ? action->unless : "";
    char *words = mem_format("%s%s%s%s%s", reason,
                             reason[0] != '\0' && detail[0] != '\0' ? " " : "",
                             detail, unless[0] != '\0' ? " " : "", unless);

    if (words[0] != '\0')
        add_soft(out, words);
    free(words);
}

static void add_action(const struct bulletin *bulletin, utc_s now, int number,
                       struct text *out)
{
    const struct bulletin_action *action = &bulletin->actions[number];
    char what[PHRASE_SIZE], when[PHRASE_SIZE];

    phrase_action(action, bulletin->units, what);
    phrase_action_time(bulletin, action, bulletin_date(bulletin, now), when);
    text_add(out, "<p style=\"margin:0 0 2px;font-size:16px;line-height:1.4\">"
                  "<strong>");
    html_add(out, what);
    text_add(out, "</strong>, <span style=\"white-space:nowrap\">");
    html_add(out, when);
    text_add(out, "</span></p>\n");
    add_reason(bulletin, now, number, out);
}

static void add_actions(const struct bulletin *bulletin, utc_s now,
                        struct text *out)
{
    int told = 0;

    for (int i = 0; i < bulletin->action_count; i++) {
        if (bulletin_action_over(bulletin, &bulletin->actions[i], now))
            continue;
        if (told++ == 0)
            add_heading(out, _("To do"));
        add_action(bulletin, now, i, out);
    }
    if (bulletin->lack == LACKS_NOTHING)
        return;
    if (told == 0)
        add_heading(out, _("To do"));
    add_soft(out, plan_lack_words(bulletin->lack));
}

static void add_chart(const struct bulletin *bulletin, utc_s now,
                      const struct chart_png *png, struct text *out)
{
    char *words = mail_chart_words(bulletin, now);

    if (png == NULL) {
        free(words);
        return;
    }
    text_addf(out, "<img src=\"cid:chart\" width=\"%d\" alt=\"", png->width);
    html_add(out, words);
    text_add(out, "\" style=\"display:block;width:100%;max-width:480px;"
                  "height:auto;margin:16px 0 4px;border:0;font-size:15px;"
                  "color:" SOFT "\">\n");
    add_soft(out, _("Pale bands: 8 times in 10 it lies within. Shaded: 18:00 "
                    "to 06:00."));
    free(words);
}

static void add_cell(struct text *out, bool numbers, const char *first,
                     const char *second)
{
    text_addf(out,
              "<td style=\"padding:6px 5px 6px 0;border-top:1px solid " LINE
              ";vertical-align:top;text-align:%s;white-space:nowrap\">",
              numbers ? "right" : "left");
    html_add(out, first);
    if (second[0] != '\0') {
        text_add(out, "<br><span class=\"soft\" style=\"font-size:13px;"
                      "color:" SOFT "\">");
        html_add(out, second);
        text_add(out, "</span>");
    }
    text_add(out, "</td>\n");
}

static void add_known_day(const struct bulletin *bulletin,
                          const struct bulletin_day *day, struct text *out)
{
    char volume[PHRASE_SIZE], range[PHRASE_SIZE], chance[PHRASE_SIZE],
        window[PHRASE_SIZE] = "", low[PHRASE_SIZE], high[PHRASE_SIZE];
    bool runs = day->strength >= STRENGTH_FAIR_RUN;

    phrase_volume(day->sap_l_p50, bulletin->units, volume);
    phrase_volume_range(day->sap_l_p10, day->sap_l_p90, bulletin->units, range);
    phrase_chance_short(day->chance, chance);
    phrase_temperature(day->min_c, bulletin->units, low);
    phrase_temperature(day->max_c, bulletin->units, high);
    if (day->has_window)
        phrase_window(bulletin, day->run_start, day->run_end, window);
    text_addf(out,
              "<td style=\"padding:6px 5px 6px 0;border-top:1px solid " LINE
              ";vertical-align:top\">%s",
              runs ? "<strong>" : "");
    html_add(out, phrase_strength_first(day->strength));
    text_add(out, runs ? "</strong>" : "");
    text_add(out, "<br><span class=\"soft\" style=\"font-size:13px;"
                  "white-space:nowrap;color:" SOFT "\">");
    html_add(out, window);
    text_add(out, window[0] != '\0' ? "<br>" : "");
    html_add(out, chance);
    text_add(out, "</span></td>\n");
    add_cell(out, true, volume, range);
    add_cell(out, true, high, low);
}

static void add_day(const struct bulletin *bulletin,
                    const struct bulletin_day *day, struct text *out)
{
    char date[PHRASE_SIZE];

    phrase_date_cell(day->date, date);
    text_addf(out, "<tr%s>\n",
              day->known && day->strength >= STRENGTH_FAIR_RUN
                  ? " class=\"runs\" style=\"background:#f6eeda\""
                  : "");
    text_add(out, "<th scope=\"row\" style=\"padding:6px 5px 6px 4px;"
                  "border-top:1px solid " LINE ";vertical-align:top;"
                  "text-align:left;font-weight:normal;white-space:nowrap\">");
    html_add(out, date);
    text_add(out, "</th>\n");
    if (day->known)
        add_known_day(bulletin, day, out);
    else
        text_addf(out,
                  "<td colspan=\"3\" style=\"padding:6px 0;border-top:1px "
                  "solid " LINE "\">%s</td>\n",
                  _("no weather data"));
    text_add(out, "</tr>\n");
}

static void add_table_head(struct text *out)
{
    const char *heads[] = {_("Day"), _("Run, chance"), _("Sap, range"),
                           _("High, low")};

    text_add(out, "<table role=\"table\" style=\"width:100%;max-width:480px;"
                  "border-collapse:collapse;font-size:14px;line-height:1.35\">"
                  "\n<tr>\n");
    for (int i = 0; i < 4; i++) {
        text_addf(out,
                  "<th scope=\"col\" style=\"padding:0 5px 4px %s;text-align:"
                  "%s;font-size:13px;font-weight:bold\">",
                  i == 0 ? "4px" : "0", i < 2 ? "left" : "right");
        html_add(out, heads[i]);
        text_add(out, "</th>\n");
    }
    text_add(out, "</tr>\n");
}

static void add_days(const struct bulletin *bulletin, utc_s now,
                     struct text *out)
{
    struct civil_date today = bulletin_date(bulletin, now);

    add_heading(out, _("The days ahead"));
    add_table_head(out);
    for (int i = 0; i < bulletin->day_count; i++)
        if (civil_date_compare(bulletin->days[i].date, today) >= 0)
            add_day(bulletin, &bulletin->days[i], out);
    text_add(out, "</table>\n");
}

static void add_season(const struct bulletin *bulletin, utc_s now,
                       struct text *out)
{
    struct civil_date today = bulletin_date(bulletin, now);

    for (int i = 0; i < bulletin->bush_count; i++) {
        struct text words;
        char *line;

        text_init(&words, SEASON_WORDS_MAX);
        season_words(&bulletin->bushes[i], today, &words);
        line = mem_format(_("%s: %s"), bulletin->bushes[i].name, words.bytes);
        if (words.length > 0)
            add_soft(out, line);
        free(line);
        text_free(&words);
    }
}

static void add_notes(const struct bulletin *bulletin, utc_s now,
                      struct text *out)
{
    add_heading(out, _("To know"));
    add_season(bulletin, now, out);
    for (int i = 0; i < bulletin->notes.count; i++)
        add_soft(out, bulletin->notes.items[i]);
    for (int i = 0; i < bulletin->source_count; i++) {
        const struct bulletin_source *source = &bulletin->sources[i];
        char *words = mem_format(_("%s: %s"), source->name, source->trouble);

        if (source->trouble[0] != '\0')
            add_soft(out, words);
        free(words);
    }
    if (mail_tells_of_fire(bulletin, now))
        add_soft(out, mail_caution_fire());
    add_soft(out, mail_caution_all());
}

static void add_end(const struct bulletin *bulletin, const char *page,
                    struct text *out)
{
    text_add(out, "<p class=\"soft\" style=\"margin:16px 0 0;padding-top:8px;"
                  "border-top:1px solid " LINE ";font-size:13px;"
                  "line-height:1.4;color:" SOFT "\">");
    if (page != NULL) {
        html_add_link(out, page, _("All of it on the page"));
        text_add(out, "<br>");
    }
    html_add_credits(out, bulletin, ".<br>");
    text_add(out, "</p>\n");
}

char *mail_morning_html(const struct bulletin *bulletin, utc_s now,
                        const char *page, const struct chart_png *png)
{
    struct text out;

    text_init(&out, HTML_MAX_BYTES);
    text_addf(&out, "<!DOCTYPE html>\n<html lang=\"%s\">\n<head>\n%s<title>",
              strcmp(bulletin->language, "fr") == 0 ? "fr" : "en", head);
    html_add(&out, bulletin->operation);
    text_add(&out,
             "</title>\n</head>\n"
             "<body class=\"page\" style=\"margin:0;padding:0;"
             "background:" PAPER ";color:" INK ";" FONT "\">\n"
             "<div class=\"page\" style=\"max-width:600px;margin:0 auto;"
             "padding:14px;background:" PAPER ";color:" INK ";" FONT "\">\n");
    add_decision(bulletin, now, &out);
    add_actions(bulletin, now, &out);
    add_chart(bulletin, now, png, &out);
    add_days(bulletin, now, &out);
    add_notes(bulletin, now, &out);
    add_end(bulletin, page, &out);
    text_add(&out, "</div>\n</body>\n</html>\n");
    if (!out.full)
        return text_steal(&out);
    text_free(&out);
    return NULL;
}
