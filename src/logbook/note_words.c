#include "logbook/note_words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/trade.h"
#include "base/units.h"
#include "base/words.h"
#include "logbook/log_time.h"

enum {
    MOST_JOINED = 4,       /* words of one name: "north side" */
    AHEAD_ALLOWED_S = 300, /* clocks differ */
    NOON = 12
};

struct parsing {
    const struct note_context *context;
    const char *const *words;
    int count, at;
    struct log_note *note;
    bool has_bush, has_day, has_clock, has_instant, has_class;
    struct civil_date day;
    int hour, minute;
    unsigned told; /* figures, as bits */
    struct error *err;
};

/* Words [at, at + number) joined by blanks; NULL if there are not so many. */
static char *join(const struct parsing *parsing, int number)
{
    char *joined;

    if (parsing->at + number > parsing->count)
        return NULL;
    joined = mem_copy_text(parsing->words[parsing->at]);
    for (int i = 1; i < number; i++) {
        char *longer =
            mem_format("%s %s", joined, parsing->words[parsing->at + i]);

        free(joined);
        joined = longer;
    }
    return joined;
}

static bool take_day(struct parsing *parsing, const char *word)
{
    const struct note_context *context = parsing->context;
    bool yesterday = strcmp(word, "yesterday") == 0;

    if (!yesterday && strcmp(word, "today") != 0)
        return false;
    parsing->day = civil_date_add(zone_date(context->zone, context->now),
                                  yesterday ? -1 : 0);
    parsing->has_day = true;
    return true;
}

/* 1: taken, 0: another kind of word, -1: wrong. */
static int take_time(struct parsing *parsing, const char *word)
{
    const struct note_context *context = parsing->context;

    if (strcmp(word, "now") == 0) {
        parsing->has_instant = true;
        parsing->note->at = context->now;
        return 1;
    }
    if (take_day(parsing, word))
        return 1;
    if (log_clock_parse(word, &parsing->hour, &parsing->minute)) {
        parsing->has_clock = true;
        return 1;
    }
    if (strspn(word, "0123456789") != 4 || word[4] != '-')
        return 0;
    if (iso_date_parse(word, &parsing->day, NULL) == 0) {
        parsing->has_day = true;
        return 1;
    }
    if (log_time_parse(word, context->zone, &parsing->note->at, parsing->err) !=
        0)
        return -1;
    parsing->has_instant = true;
    return 1;
}

/* The bush's name as configured, "" for all, NULL for another word. */
static const char *bush_called(const struct note_context *context,
                               const char *name,
                               int compare(const char *, const char *))
{
    if (compare(name, "all") == 0)
        return "";
    for (int i = 0; i < context->bush_count; i++)
        if (compare(name, context->bushes[i]) == 0)
            return context->bushes[i];
    return NULL;
}

/* The longest run of words that is a bush's name, taken. */
static bool take_bush(struct parsing *parsing,
                      int compare(const char *, const char *))
{
    for (int number = MOST_JOINED; number > 0; number--) {
        char *name = join(parsing, number);
        const char *found =
            name ? bush_called(parsing->context, name, compare) : NULL;

        if (found) {
            snprintf(parsing->note->bush, sizeof parsing->note->bush, "%s",
                     found);
            parsing->has_bush = true;
            parsing->at += number;
        }
        free(name);
        if (found)
            return true;
    }
    return false;
}

static bool take_class_or_sign(struct parsing *parsing)
{
    for (int number = 2; number > 0; number--) {
        char *name = join(parsing, number);
        int grade = name == NULL ? -1 : grade_from_word(name);
        int sign =
            name == NULL || name[0] == '\0' ? -1 : log_sign_from_word(name);
        bool found = true;

        free(name);
        if (parsing->note->kind == LOG_OFF_FLAVOUR && sign > 0) {
            parsing->note->sign = (enum log_sign)sign;
        } else if (grade >= 0) {
            parsing->has_class = true;
            parsing->note->has_grade = true;
            parsing->note->grade = (enum grade)grade;
        } else {
            found = false;
        }
        if (found) {
            parsing->at += number;
            return true;
        }
    }
    return false;
}

static int put_figure(struct parsing *parsing, enum log_figure figure,
                      double value, const char *words)
{
    if ((parsing->told & (1u << figure)) != 0)
        return error_set(parsing->err, _("\"%.40s\": that is told twice"),
                         words);
    parsing->told |= 1u << figure;
    parsing->note->has[figure] = true;
    parsing->note->figure[figure] = value;
    return 1;
}

static int put_sugar(struct parsing *parsing, double brix, const char *words)
{
    if (log_kind_takes(parsing->note->kind, LOG_SAP_BRIX))
        return put_figure(parsing, LOG_SAP_BRIX, brix, words);
    if (!log_kind_takes(parsing->note->kind, LOG_SYRUP_BRIX))
        return error_set(parsing->err, _("\"%s\" takes no sugar (\"%.40s\")"),
                         log_kind_word(parsing->note->kind), words);
    /* "62 %" of a draw may be meant as light. */
    if (strchr(words, '%') != NULL)
        return error_set(parsing->err,
                         _("\"%.40s\" of a draw: write Brix for its density, "
                           "or \"%.40s light\" for its color"),
                         words, words);
    return put_figure(parsing, LOG_SYRUP_BRIX, brix, words);
}

static int put_volume(struct parsing *parsing, double volume_l,
                      const char *words)
{
    if (log_kind_takes(parsing->note->kind, LOG_SAP_L))
        return put_figure(parsing, LOG_SAP_L, volume_l, words);
    if (log_kind_takes(parsing->note->kind, LOG_SYRUP_L))
        return put_figure(parsing, LOG_SYRUP_L, volume_l, words);
    return error_set(parsing->err, _("\"%s\" takes no amount (\"%.40s\")"),
                     log_kind_word(parsing->note->kind), words);
}

static bool parse_hours(const char *words, double *hours)
{
    static const char *const units[] = {"h", "hr", "hrs", "hour", "hours"};
    size_t length = quantity_number(words, hours);
    const char *unit = words + length + strspn(words + length, " ");

    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
        if (length > 0 && strcmp(unit, units[i]) == 0)
            return true;
    return false;
}

/* One quantity in so many words, with the word "light" where it follows; 0 if
 * these words are none. */
static int put_quantity(struct parsing *parsing, const char *words, int number)
{
    double value;
    int result = 0, end = parsing->at + number;

    if (quantity_parse(words, DIMENSION_VOLUME_L, &value, NULL) == 0) {
        result = put_volume(parsing, value, words);
    } else if (parse_hours(words, &value)) {
        result = put_figure(parsing, LOG_HOURS, value, words);
    } else if (end < parsing->count &&
               strcmp(parsing->words[end], "light") == 0 &&
               quantity_parse(words, DIMENSION_SHARE_PCT, &value, NULL) == 0) {
        result = put_figure(parsing, LOG_LIGHT_PCT, value, words);
        end++;
    } else if (quantity_parse(words, DIMENSION_SUGAR_BRIX, &value, NULL) == 0) {
        result = put_sugar(parsing, value, words);
    }
    if (result > 0)
        parsing->at = end;
    return result;
}

static int take_quantity(struct parsing *parsing)
{
    const char *first = parsing->words[parsing->at];
    int result = 0;

    if (strspn(first, "+-.0123456789") == 0)
        return 0;
    for (int number = 2; number > 0 && result == 0; number--) {
        char *words = join(parsing, number);

        if (words != NULL)
            result = put_quantity(parsing, words, number);
        free(words);
    }
    if (result != 0)
        return result;
    if (strchr(first, ':') != NULL)
        return error_set(parsing->err,
                         _("\"%.40s\" is no time of the day: write such as "
                           "17:00 or 5pm"),
                         first);
    return error_set(parsing->err,
                     _("\"%.40s\" has no unit known here: write such as 42 "
                       "gal, 160 L, 2.1 Brix, 62 %% light or 7.5 h"),
                     first);
}

static bool is_filler(const char *word)
{
    static const char *const words[] = {"at", "of", "from", "in", "on"};

    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strcmp(word, words[i]) == 0)
            return true;
    return false;
}

/* The nearest of the words that would be understood here. */
static int not_known(struct parsing *parsing, const char *word)
{
    enum { MOST = 96 };
    const char *known[MOST];
    const char *near;
    int count = 0;

    for (int i = 0; i < parsing->context->bush_count && count < 64; i++)
        known[count++] = parsing->context->bushes[i];
    for (int i = 0; i < GRADE_COUNT; i++)
        known[count++] = grade_word((enum grade)i);
    for (int i = 1; i < LOG_SIGN_COUNT; i++)
        known[count++] = log_sign_word((enum log_sign)i);
    known[count++] = "yesterday";
    known[count++] = "today";
    near = nearest_word(word, known, count);
    if (near != NULL)
        return error_set(parsing->err,
                         _("\"%.60s\" is not understood; did you mean %s?"),
                         word, near);
    return error_set(parsing->err,
                     _("\"%.60s\" is not understood: no quantity, bush, time, "
                       "class or sign. Free words go into --remark"),
                     word);
}

static int take_word(struct parsing *parsing)
{
    const char *word = parsing->words[parsing->at];
    int taken;

    if (take_bush(parsing, strcmp) || take_class_or_sign(parsing))
        return 0;
    taken = take_time(parsing, word);
    if (taken > 0 || (taken == 0 && is_filler(word))) {
        parsing->at++;
        return 0;
    }
    /* Capitals count only where the word would be something else. */
    if (taken == 0 && take_bush(parsing, utf8_compare_names))
        return 0;
    if (taken == 0)
        taken = take_quantity(parsing);
    if (taken != 0)
        return taken < 0 ? -1 : 0;
    return not_known(parsing, word);
}

/* A clock without a day is today's, or that of the entry corrected; a day
 * without a clock its noon, or now if that has not come yet, or the clock of
 * the entry corrected. */
static void settle_time(struct parsing *parsing, bool is_new)
{
    const struct note_context *context = parsing->context;
    struct log_note *note = parsing->note;
    utc_s stands = is_new ? context->now : note->at;
    struct civil_time civil = zone_civil(context->zone, stands);

    if (parsing->has_instant)
        return;
    if (!parsing->has_day && !parsing->has_clock) {
        note->at = stands;
        return;
    }
    if (!parsing->has_day)
        parsing->day = civil.date;
    if (!parsing->has_clock) {
        parsing->hour = is_new ? NOON : civil.hour;
        parsing->minute = is_new ? 0 : civil.minute;
    }
    note->at = zone_instant(context->zone, parsing->day, parsing->hour,
                            parsing->minute, 0);
    if (!parsing->has_clock && note->at > context->now &&
        civil_date_compare(parsing->day,
                           zone_date(context->zone, context->now)) == 0)
        note->at = context->now;
}

static int check_time(const struct parsing *parsing)
{
    char words[ISO_TIME_SIZE];

    if (parsing->note->at <= parsing->context->now + AHEAD_ALLOWED_S)
        return 0;
    iso_time_local(parsing->context->zone, parsing->note->at, words);
    return error_set(parsing->err,
                     _("%s lies ahead; for the day before write yesterday, or "
                       "a date such as 2026-03-07"),
                     words);
}

static bool happens_in_a_bush(enum log_kind kind)
{
    return kind != LOG_BOILED && kind != LOG_DREW;
}

static int settle_bush(const struct parsing *parsing)
{
    const struct note_context *context = parsing->context;
    char names[256] = "";
    size_t length = 0;

    if (!happens_in_a_bush(parsing->note->kind) || parsing->has_bush)
        return 0;
    if (context->bush_count == 1) {
        snprintf(parsing->note->bush, sizeof parsing->note->bush, "%s",
                 context->bushes[0]);
        return 0;
    }
    for (int i = 0; i < context->bush_count && length < sizeof names; i++)
        length += (size_t)snprintf(names + length, sizeof names - length,
                                   "%s, ", context->bushes[i]);
    return error_set(parsing->err, _("of which bush? Name one of %.200sor all"),
                     names);
}

/* A light told anew makes a class told before void, and the other way round,
 * unless they agree. */
static void settle_class(struct parsing *parsing)
{
    struct log_note *note = parsing->note;
    bool has_light = (parsing->told & (1u << LOG_LIGHT_PCT)) != 0;

    if (has_light == parsing->has_class || !note->has_grade ||
        !note->has[LOG_LIGHT_PCT] || note->grade == GRADE_PROCESSING ||
        grade_of_light(note->figure[LOG_LIGHT_PCT]) == note->grade)
        return;
    if (has_light)
        note->has_grade = false;
    else
        note->has[LOG_LIGHT_PCT] = false;
}

/* What a shell's quotes held together comes as one: cut at its blanks. */
struct cut_words {
    char *bytes;
    const char **words;
    int count;
};

static void cut_words(const char *const *given, int count,
                      struct cut_words *out)
{
    size_t size = 1, at = 0;

    for (int i = 0; i < count; i++)
        size += strlen(given[i]) + 1;
    out->bytes = mem_alloc(size, 1);
    out->words = mem_alloc(size, sizeof *out->words);
    out->count = 0;
    for (int i = 0; i < count; i++)
        for (const char *from = given[i] + strspn(given[i], " "); *from != '\0';
             from += strspn(from, " ")) {
            size_t length = strcspn(from, " ");

            memcpy(out->bytes + at, from, length);
            out->words[out->count++] = out->bytes + at;
            at += length + 1;
            from += length;
        }
}

static int parse_words(struct parsing *parsing)
{
    struct log_note *note = parsing->note;
    bool is_new = note->at == 0;

    if (note->kind == LOG_OFF_FLAVOUR && is_new)
        note->sign = LOG_SIGN_OFF_TASTE;
    while (parsing->at < parsing->count)
        if (take_word(parsing) != 0)
            return -1;
    settle_time(parsing, is_new);
    settle_class(parsing);
    if (check_time(parsing) != 0)
        return -1;
    if (is_new && settle_bush(parsing) != 0)
        return -1;
    return log_note_check(note, parsing->err);
}

int note_words_parse(const struct note_context *context,
                     const char *const *words, int count, struct log_note *note,
                     struct error *err)
{
    struct cut_words cut;
    struct parsing parsing;
    int result;

    cut_words(words, count, &cut);
    parsing = (struct parsing){.context = context,
                               .words = cut.words,
                               .count = cut.count,
                               .note = note,
                               .err = err};
    result = parse_words(&parsing);
    free(cut.words);
    free(cut.bytes);
    return result;
}
