/* What is wrong, how to subscribe, cautions, whose weather it is. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/page_html.h"
#include "publish/page_parts.h"
#include "publish/phrase.h"

static void add_trouble(const struct page *page,
                        const struct bulletin_source *source)
{
    char *words = phrase_trouble(page->bulletin, source);

    html_add_element(page->out, "li", NULL, words);
    free(words);
}

static void add_given_up(const struct page *page)
{
    int mails = page->options->mails_given_up;
    char *words = mem_format(
        words_count("%d mail of the last three days was given up: \"thawbell "
                    "check\" tells which and why.",
                    "%d mails of the last three days were given up: "
                    "\"thawbell check\" tells which and why.",
                    mails),
        mails);

    html_add_element(page->out, "li", NULL, words);
    free(words);
}

void page_add_notes(const struct page *page)
{
    const struct bulletin *bulletin = page->bulletin;
    struct text *out = page->out;
    int troubles = page->options->mails_given_up > 0;

    for (int i = 0; i < bulletin->source_count; i++)
        troubles += bulletin->sources[i].trouble[0] != '\0';
    if (troubles == 0 && bulletin->notes.count == 0)
        return;
    text_add(out, "<section class=\"notes\" aria-labelledby=\"h-notes\">\n"
                  "<h2 id=\"h-notes\">");
    html_add(out, _("To know"));
    text_add(out, "</h2>\n<ul>\n");
    for (int i = 0; i < bulletin->notes.count; i++)
        html_add_element(out, "li", NULL, bulletin->notes.items[i]);
    for (int i = 0; i < bulletin->source_count; i++)
        if (bulletin->sources[i].trouble[0] != '\0')
            add_trouble(page, &bulletin->sources[i]);
    if (page->options->mails_given_up > 0)
        add_given_up(page);
    text_add(out, "</ul>\n</section>\n");
}

/* Letters, digits and "-._~" stay, all else becomes %XX (RFC 3986 2.1). */
static char *percent_encode(const char *words)
{
    static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                "abcdefghijklmnopqrstuvwxyz0123456789-._~";
    struct text out;

    text_init(&out, 4 * strlen(words) + 16);
    for (; *words != '\0'; words++) {
        if (strchr(plain, *words) != NULL)
            text_add_bytes(&out, words, 1);
        else
            text_addf(&out, "%%%02X", (unsigned)(unsigned char)*words);
    }
    return text_steal(&out);
}

static void add_way(struct text *out, const char *address, const char *name,
                    const char *how)
{
    text_add(out, "<dt>");
    html_add_link(out, address, name);
    text_add(out, "</dt>\n");
    html_add_element(out, "dd", NULL, how);
}

/* The feed under its three addresses: to copy, for clients that know webcal,
 * and for a calendar on the web. */
static void add_ways(const struct page *page)
{
    char *https = mem_format("%scalendar.ics", page->options->address);
    const char *rest = strstr(https, "://");
    char *webcal = mem_format("webcal%s", rest != NULL ? rest : "://");
    char *encoded = percent_encode(https);
    char *google =
        mem_format("https://calendar.google.com/calendar/r?cid=%s", encoded);
    struct text *out = page->out;

    text_add(out, "<dl>\n");
    add_way(out, webcal, _("Open in this device's calendar"),
            _("Apple, Thunderbird, GNOME and others. They look again between "
              "every five minutes and once a week, as set in the calendar; "
              "once a day is common."));
    add_way(out, google, _("Add to Google Calendar"),
            _("It looks again after 8 to 24 hours, and that cannot be "
              "changed."));
    add_way(out, https, https,
            _("For any other: copy this address and subscribe to it; do not "
              "import the file. Outlook on the web looks again after about "
              "three hours, at times after a day."));
    text_add(out, "</dl>\n");
    free(google);
    free(encoded);
    free(webcal);
    free(https);
}

void page_add_subscribe(const struct page *page)
{
    struct text *out = page->out;

    text_add(out, "<section class=\"subscribe\" "
                  "aria-labelledby=\"h-subscribe\">\n"
                  "<h2 id=\"h-subscribe\">");
    html_add(out, _("In your calendar"));
    text_add(out, "</h2>\n");
    if (page->options->address != NULL) {
        add_ways(page);
    } else {
        text_add(out, "<p><a href=\"calendar.ics\">calendar.ics</a></p>\n");
        html_add_element(out, "p", NULL,
                         _("Copy the address of this link and subscribe to it "
                           "in your calendar; do not import the file."));
    }
    html_add_element(out, "p", NULL,
                     _("Calendars are slow. What cannot wait a day comes by "
                       "mail and stands here."));
    text_add(out, "</section>\n");
}

void page_add_cautions(const struct page *page)
{
    static const char *const cautions[] = {
        N_("Advice, not a guarantee: look at the buckets, the tank and the "
           "fire yourself."),
        N_("Never leave a boiling pan. Boiling syrup sticks and burns deep; "
           "keep children away."),
        N_("Open the roof or the windows: steam and carbon monoxide need a "
           "way out. Hang a carbon monoxide alarm."),
        N_("Watch the chimney and the roof for sparks, and keep water and an "
           "extinguisher at hand."),
        N_("Sap and syrup are food: clean vessels, no lead solder, and no sap "
           "that has soured."),
        N_("Local codes and licensed practice come first.")};
    struct text *out = page->out;

    text_add(out, "<section class=\"cautions\" aria-labelledby=\"h-care\">\n"
                  "<h2 id=\"h-care\">");
    html_add(out, _("Take care"));
    text_add(out, "</h2>\n<ul>\n");
    for (size_t i = 0; i < sizeof cautions / sizeof cautions[0]; i++)
        html_add_element(out, "li", NULL, _(cautions[i]));
    text_add(out, "</ul>\n</section>\n");
}

void page_add_credits(const struct page *page)
{
    text_add(page->out, "<footer>\n<p>");
    html_add_credits(page->out, page->bulletin, ". ");
    text_add(page->out, "</p>\n</footer>\n");
}
