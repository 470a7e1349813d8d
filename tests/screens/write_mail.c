/* The morning mail of a bulletin as files to look at: mail.txt (subject and
 * text), mail.html and chart.png.
 * Usage: write_mail BULLETIN TIME FOLDER */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/text.h"
#include "publish/mail.h"

enum { HTML_MAX = 1 << 20 };

static void must(int result, const struct error *err)
{
    if (result == 0)
        return;
    fprintf(stderr, "%s\n", err->text);
    exit(1);
}

static void write_file(const char *folder, const char *name, const char *bytes,
                       size_t length)
{
    struct error err = {""};
    char *path = file_join(folder, name);

    must(file_write_whole(path, bytes, length, 0644, &err), &err);
    free(path);
}

/* The picture lies beside the page here: "cid:…" becomes its name. */
static char *with_picture(const char *html)
{
    const char *at = strstr(html, "\"cid:");
    struct text out;

    text_init(&out, HTML_MAX);
    if (at == NULL) {
        text_add(&out, html);
        return text_steal(&out);
    }
    text_add_bytes(&out, html, (size_t)(at - html));
    text_add(&out, "\"chart.png");
    text_add(&out, at + 1 + strcspn(at + 1, "\""));
    return text_steal(&out);
}

static void write_letter(const struct mail_letter *letter, const char *folder)
{
    char *text = mem_format("Subject: %s\n\n%s", letter->subject, letter->text);
    char *html = with_picture(letter->html);

    write_file(folder, "mail.txt", text, strlen(text));
    write_file(folder, "mail.html", html, strlen(html));
    write_file(folder, "chart.png", (const char *)letter->chart.bytes,
               letter->chart.length);
    free(text);
    free(html);
}

int main(int argc, char **argv)
{
    struct error err = {""};
    struct bulletin *bulletin = NULL;
    struct mail_letter letter;
    char *bytes, *warning = NULL;
    size_t length;
    utc_s now;

    if (argc != 4) {
        fprintf(stderr, "usage: write_mail BULLETIN TIME FOLDER\n");
        return 2;
    }
    must(file_read(argv[1], BULLETIN_MAX_BYTES, &bytes, &length, &err), &err);
    must(bulletin_from_json(bytes, length, &bulletin, &err), &err);
    must(iso_time_parse(argv[2], 0, &now, &err), &err);
    mail_morning(bulletin, now, "https://example.org/tamarack-bend/", &letter,
                 &warning);
    if (warning != NULL) {
        fprintf(stderr, "%s\n", warning);
        return 1;
    }
    write_letter(&letter, argv[3]);
    mail_letter_free(&letter);
    bulletin_free(bulletin);
    free(bytes);
    return 0;
}
