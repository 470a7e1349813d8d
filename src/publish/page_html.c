#include "publish/page_html.h"

#include <stdbool.h>
#include <string.h>

#include "base/words.h"

static const char *entity(char c)
{
    switch (c) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return "";
    }
}

static bool is_plain(char c)
{
    return ((unsigned char)c >= 0x20 && c != 0x7F && *entity(c) == '\0');
}

void html_add(struct text *out, const char *words)
{
    for (const char *at = words; *at != '\0';) {
        size_t plain = 0;

        while (is_plain(at[plain]))
            plain++;
        text_add_bytes(out, at, plain);
        at += plain;
        /* Control characters are left out. */
        if (*at != '\0')
            text_add(out, entity(*at++));
    }
}

void html_add_element(struct text *out, const char *tag, const char *css_class,
                      const char *words)
{
    if (css_class != NULL)
        text_addf(out, "<%s class=\"%s\">", tag, css_class);
    else
        text_addf(out, "<%s>", tag);
    html_add(out, words);
    text_addf(out, "</%s>\n", tag);
}

static bool plain_address(const char *address)
{
    static const char *const schemes[] = {"https://", "http://", "webcal://"};
    bool known = false;

    for (int i = 0; i < 3; i++)
        known = known || strncmp(address, schemes[i], strlen(schemes[i])) == 0;
    for (; known && *address != '\0'; address++)
        known = *address > 0x20 && *address < 0x7F;
    return known;
}

void html_add_link(struct text *out, const char *address, const char *words)
{
    if (!plain_address(address)) {
        html_add(out, words);
        return;
    }
    text_add(out, "<a rel=\"noreferrer\" href=\"");
    html_add(out, address);
    text_add(out, "\">");
    html_add(out, words);
    text_add(out, "</a>");
}

void html_add_credits(struct text *out, const struct bulletin *bulletin,
                      const char *end)
{
    int told = 0;

    for (int i = 0; i < bulletin->source_count; i++) {
        const struct bulletin_source *source = &bulletin->sources[i];

        if (!bulletin_has_credit(bulletin, i))
            continue;
        html_add(out, told++ == 0 ? _("Weather:") : ";");
        text_add(out, " ");
        html_add_link(out, source->credit_url, source->credit);
    }
    text_add(out, told > 0 ? end : "");
    html_add(out, _("What it means for the sap is thawbell's own reckoning."));
}
