/* Any bytes as a published bulletin, which the client reads: one that is
 * taken is written as a bulletin that reads back as the same, and every way
 * to show it stands it. */
#include "promise.h"

#include "publish/bulletin.h"
#include "publish/show.h"

static char *write_again(const char *words)
{
    struct bulletin *bulletin = NULL;
    struct error err = {""};
    char *again;

    if (bulletin_from_json(words, strlen(words), &bulletin, &err) != 0) {
        fprintf(stderr, "%s\n%s\n", err.text, words);
        abort();
    }
    again = bulletin_to_json(bulletin);
    bulletin_free(bulletin);
    return again;
}

/* What is written reads back, and from the second time on the bytes stay: the
 * first writing leaves out the hours gone by, and the clock's offsets that
 * only they needed. */
static void check_again(const struct bulletin *bulletin)
{
    char *first = bulletin_to_json(bulletin);
    char *second = write_again(first), *third = write_again(second);

    if (strcmp(second, third) != 0) {
        fprintf(stderr, "%s\n%s\n", second, third);
        abort();
    }
    free(first);
    free(second);
    free(third);
}

/* Lines of words; nothing that steers a terminal. */
static void check_shown(struct text *shown)
{
    PROMISE(utf8_valid(shown->bytes, shown->length));
    for (const char *p = shown->bytes; *p; p++)
        PROMISE(((unsigned char)*p >= 0x20 && *p != 0x7f) || *p == '\n');
    text_clear(shown);
}

static void check_bar(const struct bulletin *bulletin, utc_s now)
{
    struct show_bar bar;

    show_bar(bulletin, now, UNITS_US, &bar);
    PROMISE(*bar.words && *bar.fewer && *bar.more && *bar.state);
    PROMISE(utf8_columns(bar.words) <= 40 && utf8_columns(bar.fewer) <= 24);
    PROMISE(bar.chance_percent >= 0 && bar.chance_percent <= 100);
}

static void check_show(const struct bulletin *bulletin, utc_s now)
{
    struct show_style style = {bulletin->units, 80, false};
    struct error err = {""};
    struct text shown;

    text_init(&shown, 100000);
    show_line(bulletin, now, &style, &shown);
    PROMISE(utf8_columns(shown.bytes) <= 80 && !strchr(shown.bytes, '\n'));
    check_shown(&shown);
    show_week(bulletin, now, &style, &shown);
    check_shown(&shown);
    for (int i = 0; i < bulletin->day_count && i < 4; i++) {
        int result = show_why(bulletin, now, bulletin->days[i].date, &style,
                              &shown, &err);

        promise_result(result, &err);
        check_shown(&shown);
    }
    text_free(&shown);
    check_bar(bulletin, now);
}

static void check_parts(const struct bulletin *bulletin)
{
    char *words = bulletin_week_json(bulletin, bulletin->made);

    PROMISE(words);
    free(words);
    if (bulletin->day_count == 0)
        return;
    words = bulletin_day_json(bulletin, bulletin->days[0].date);
    free(words);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct bulletin *bulletin = NULL;
    struct error err = {""};
    int result = bulletin_from_json((const char *)data, size, &bulletin, &err);

    promise_result(result, &err);
    PROMISE((result == 0) == (bulletin != NULL));
    if (result != 0)
        return 0;
    check_again(bulletin);
    check_show(bulletin, bulletin->made);
    check_show(bulletin, 1772838600);
    check_parts(bulletin);
    bulletin_free(bulletin);
    return 0;
}
