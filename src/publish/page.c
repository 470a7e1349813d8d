#include "publish/page.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/chart_svg.h"
#include "publish/page_html.h"
#include "publish/page_parts.h"
#include "publish/phrase.h"
#include "publish/show.h"

enum { WIDE = 1080, NARROW = 358, USUAL_BYTES = 120 * 1024 };

utc_s page_hour(const struct bulletin *bulletin)
{
    struct civil_time civil = bulletin_civil(bulletin, bulletin->made);

    return bulletin->made - civil.minute * 60 - civil.second;
}

void page_policy(char out[PAGE_POLICY_SIZE])
{
    snprintf(
        out, PAGE_POLICY_SIZE,
        "default-src 'none'; img-src data:; style-src 'sha256-%s' 'sha256-%s'; "
        "script-src 'sha256-%s'; base-uri 'none'; form-action 'none'",
        page_style_digest, page_style_wide_digest, page_script_digest);
}

static void add_head(const struct page *page)
{
    struct text *out = page->out;
    char policy[PAGE_POLICY_SIZE];

    page_policy(policy);
    text_addf(out, "<!DOCTYPE html>\n<html lang=\"%s\">\n<head>\n",
              strcmp(page->bulletin->language, "fr") == 0 ? "fr" : "en");
    text_add(out, "<meta charset=\"utf-8\">\n"
                  "<meta name=\"viewport\" content=\"width=device-width, "
                  "initial-scale=1\">\n"
                  "<meta name=\"robots\" content=\"noindex\">\n"
                  "<meta name=\"referrer\" content=\"no-referrer\">\n"
                  "<meta name=\"color-scheme\" content=\"light dark\">\n");
    text_addf(out,
              "<meta http-equiv=\"Content-Security-Policy\" content=\"%s\">\n",
              policy);
    html_add_element(out, "title", NULL, page->bulletin->operation);
    /* The file of no bytes: else the browser asks the server for an icon. */
    text_add(out, "<link rel=\"icon\" href=\"data:,\">\n");
    text_add(out, "<style>");
    text_add(out, page_style);
    text_add(out, "</style>\n<style>");
    text_add(out, page_style_wide);
    text_add(out, "</style>\n</head>\n<body>\n");
}

/* All that a reader must know first: the decision, and how old it is. */
static void add_decision(const struct page *page)
{
    struct show_style style = {page->units, 80, false};
    struct text line;
    int taps = 0;
    char *words;

    text_init(&line, 4096);
    show_line(page->bulletin, page->now, &style, &line);
    for (int i = 0; i < page->bulletin->bush_count; i++)
        taps += page->bulletin->bushes[i].taps;
    words = mem_format(words_count("%s, %d tap", "%s, %d taps", taps),
                       page->bulletin->operation, taps);
    html_add_element(page->out, "h1", NULL, words);
    free(words);
    html_add_element(page->out, "p", "decision", line.bytes);
    text_free(&line);
}

/* Of the hour in which the page was made the end counts: no age is told too
 * low. */
static char *age_words(const struct page *page)
{
    utc_s from = page->bulletin->weather_from;
    long long hours =
        (page->now + 2 * SECONDS_PER_HOUR - 1 - from) / SECONDS_PER_HOUR;
    char fetched[PHRASE_SIZE];

    if (from == 0)
        return mem_copy_text(_("No weather service has answered yet."));
    phrase_moment(page->bulletin, from, fetched);
    return hours < 72
               ? mem_format(_("Weather fetched %s, at most %lld h before this "
                              "page was made."),
                            fetched, hours)
               : mem_format(_("Weather fetched %s, %lld days before this page "
                              "was made."),
                            fetched, hours / 24);
}

/* The script fills in how old the page has grown. */
static void add_age(const struct page *page)
{
    char *words = age_words(page);
    struct text *out = page->out;

    html_add_element(out, "p", "age", words);
    text_addf(out, "<p id=\"grown\" hidden data-made=\"%lld\" data-hours=\"",
              (long long)page->now);
    html_add(out, _("This page is {n} hours old. Load it again; if it stays "
                    "old, thawbelld or the network is down."));
    text_add(out, "\" data-days=\"");
    html_add(out, _("This page is {n} days old. Load it again; if it stays "
                    "old, thawbelld or the network is down."));
    text_add(out, "\"></p>\n");
    free(words);
}

/* How full the tanks get, for those who do not see it drawn. */
static void add_fullest(const struct page *page)
{
    const struct bulletin_plan *plan = &page->bulletin->plan;
    char moment[PHRASE_SIZE], share[PHRASE_SIZE], *words;
    int most = 0;

    if (plan->hours == 0 || plan->tanks_hold_l <= 0)
        return;
    for (int hour = 1; hour < plan->hours; hour++)
        if (plan->tanks_l[hour] > plan->tanks_l[most])
            most = hour;
    phrase_moment(page->bulletin,
                  plan->start + (utc_s)(most + 1) * SECONDS_PER_HOUR, moment);
    phrase_share(plan->tanks_l[most] / plan->tanks_hold_l, share);
    words = mem_format(_("Tanks by the plan: fullest %s, %s."), moment, share);
    html_add_element(page->out, "p", "legend", words);
    free(words);
}

static void add_chart(const struct page *page)
{
    struct chart_style wide = {page->units, WIDE, "wide", "chart wide"};
    struct chart_style narrow = {page->units, NARROW, "narrow", "chart narrow"};
    struct text *out = page->out;

    text_add(out, "<section aria-labelledby=\"h-chart\">\n"
                  "<h2 id=\"h-chart\">");
    html_add(out, _("Ten days"));
    text_add(out, "</h2>\n<figure>\n");
    chart_svg(page->bulletin, page->now, &wide, out);
    chart_svg(page->bulletin, page->now, &narrow, out);
    add_fullest(page);
    html_add_element(out, "figcaption", NULL,
                     _("Pale bands: 8 times in 10 it lies within. Shaded: "
                       "18:00 to 06:00."));
    text_add(out, "</figure>\n</section>\n");
}

static void add_body(const struct page *page)
{
    struct text *out = page->out;

    text_add(out, "<header>\n");
    add_decision(page);
    add_age(page);
    text_add(out, "</header>\n<main>\n");
    page_add_actions(page);
    page_add_notes(page);
    add_chart(page);
    page_add_days(page);
    text_add(out, "<div class=\"pair\">\n");
    page_add_pan(page);
    page_add_season(page);
    text_add(out, "</div>\n");
    page_add_subscribe(page);
    page_add_cautions(page);
    text_add(out, "</main>\n");
    page_add_credits(page);
    text_add(out, "<script>");
    text_add(out, page_script);
    text_add(out, "</script>\n</body>\n</html>\n");
}

char *page_to_html(const struct bulletin *bulletin,
                   const struct page_options *options)
{
    static const struct page_options none;
    const char *before = words_use(bulletin->language);
    struct text out;
    struct page page = {.bulletin = bulletin,
                        .options = options != NULL ? options : &none,
                        .now = page_hour(bulletin),
                        .units = bulletin->units,
                        .out = &out};

    page.today = bulletin_date(bulletin, page.now);
    text_init(&out, PAGE_MAX_BYTES);
    text_reserve(&out, USUAL_BYTES);
    add_head(&page);
    add_body(&page);
    words_use(before);
    return text_steal(&out);
}

/* What would load something, or NULL. Words are escaped, so it can only come
 * from the page itself. */
static const char *find_foreign(const char *bytes)
{
    static const char *const foreign[] = {"<img",    "<script ", "<iframe",
                                          "<object", "<embed",   "<base"};

    for (const char *at = strchr(bytes, '<'); at != NULL;
         at = strchr(at + 1, '<'))
        for (size_t i = 0; i < sizeof foreign / sizeof foreign[0]; i++)
            if (strncmp(at, foreign[i], strlen(foreign[i])) == 0)
                return foreign[i];
    return NULL;
}

int page_check(const char *bytes, size_t length, struct error *err)
{
    static const char end[] = "</html>\n";
    size_t tail = sizeof end - 1;
    const char *foreign;

    if (strlen(bytes) != length || !utf8_valid(bytes, length))
        return error_set(err, "%s", _("the page is not well-formed text"));
    if (strncmp(bytes, "<!DOCTYPE html>", 15) != 0 || length < tail ||
        strcmp(bytes + length - tail, end) != 0)
        return error_set(err, "%s", _("the page is not whole"));
    foreign = find_foreign(bytes);
    if (foreign != NULL)
        return error_set(err, _("the page would load from elsewhere: %s"),
                         foreign);
    return 0;
}
