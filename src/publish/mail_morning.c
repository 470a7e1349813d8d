/* The morning mail's words, and the alert's. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "publish/mail.h"
#include "publish/mail_words.h"
#include "publish/phrase.h"
#include "publish/show.h"
#include "publish/table.h"

enum {
    SUBJECT_COLUMNS = 60, /* more is cut in a mailbox's list */
    TEXT_MAX_BYTES = 256 * 1024
};

static char *line_of(const struct bulletin *bulletin, utc_s now, int columns)
{
    struct show_style style = {bulletin->units, columns, false};
    struct text line;

    text_init(&line, 4096);
    show_line(bulletin, now, &style, &line);
    return text_steal(&line);
}

static void add_credits(const struct bulletin *bulletin, struct text *out)
{
    for (int i = 0; i < bulletin->source_count; i++) {
        const struct bulletin_source *source = &bulletin->sources[i];
        char *words =
            mem_format(_("Source: %s, %s"), source->credit, source->credit_url);

        if (bulletin_has_credit(bulletin, i))
            table_wrap(words, MAIL_TEXT_COLUMNS, 2, out);
        free(words);
    }
}

char *mail_morning_text(const struct bulletin *bulletin, utc_s now,
                        const char *page)
{
    struct show_style style = {bulletin->units, MAIL_TEXT_COLUMNS, false};
    char *line = line_of(bulletin, now, MAIL_TEXT_COLUMNS), reason[256];
    struct text out;

    text_init(&out, TEXT_MAX_BYTES);
    text_addf(&out, "%s\n\n", line);
    phrase_reason(bulletin, bulletin_date(bulletin, now), bulletin->units,
                  reason, sizeof reason);
    if (reason[0] != '\0')
        table_wrap(reason, MAIL_TEXT_COLUMNS, 0, &out);
    text_add(&out, reason[0] != '\0' ? "\n" : "");
    show_week(bulletin, now, &style, &out);
    text_add(&out, "\n");
    if (mail_tells_of_fire(bulletin, now))
        table_wrap(mail_caution_fire(), MAIL_TEXT_COLUMNS, 0, &out);
    table_wrap(mail_caution_all(), MAIL_TEXT_COLUMNS, 0, &out);
    /* What mail programs take for a signature begins so. */
    text_add(&out, "\n-- \n");
    if (page != NULL)
        text_addf(&out, "%s\n", page);
    add_credits(bulletin, &out);
    text_addf(&out, "%s\n",
              _("What it means for the sap is thawbell's own reckoning."));
    free(line);
    return text_steal(&out);
}

static void set_language(const struct bulletin *bulletin,
                         struct mail_letter *out)
{
    snprintf(out->language, sizeof out->language, "%s", bulletin->language);
}

void mail_morning(const struct bulletin *bulletin, utc_s now, const char *page,
                  struct mail_letter *out, char **warning)
{
    const char *before = words_use(bulletin->language);
    struct error err = {""};

    memset(out, 0, sizeof *out);
    set_language(bulletin, out);
    if (warning != NULL)
        *warning = NULL;
    if (chart_png(bulletin, now, bulletin->units, &out->chart, &err) != 0 &&
        warning != NULL)
        *warning = mem_copy_text(err.text);
    out->subject = line_of(bulletin, now, SUBJECT_COLUMNS);
    out->text = mail_morning_text(bulletin, now, page);
    out->html = mail_morning_html(
        bulletin, now, page, out->chart.bytes != NULL ? &out->chart : NULL);
    words_use(before);
}

void mail_alert(const struct bulletin *bulletin,
                const struct mail_condition *condition, struct mail_letter *out)
{
    const char *before = words_use(bulletin->language);
    struct text words;

    memset(out, 0, sizeof *out);
    set_language(bulletin, out);
    out->subject = mem_copy_text(condition->subject);
    text_init(&words, TEXT_MAX_BYTES);
    for (int i = 0; i < MAIL_LINES; i++)
        if (condition->lines[i][0] != '\0')
            table_wrap(condition->lines[i], MAIL_TEXT_COLUMNS, 0, &words);
    text_add(&words, "\n-- \n");
    add_credits(bulletin, &words);
    words_use(before);
    out->text = text_steal(&words);
}

void mail_test(const char *operation, const char *when, struct mail_letter *out)
{
    struct text words;
    char *line;

    memset(out, 0, sizeof *out);
    out->subject = mem_format(_("Mail test of %s"), operation);
    text_init(&words, TEXT_MAX_BYTES);
    line = mem_format(_("Mail from thawbelld arrives here: this is a test, "
                        "sent for %s on %s."),
                      operation, when);
    table_wrap(line, MAIL_TEXT_COLUMNS, 0, &words);
    free(line);
    table_wrap(_("The morning mail and the alerts come from this address; if "
                 "this one lay among the junk, tell your mail program so."),
               MAIL_TEXT_COLUMNS, 0, &words);
    out->text = text_steal(&words);
}
