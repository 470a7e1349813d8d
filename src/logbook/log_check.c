/* Words of the logbook, and what an entry may hold. */
#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"
#include "base/words.h"
#include "logbook/logbook.h"

static const char *const kind_words[LOG_KIND_COUNT] = {
    "tapped", "collected", "boiled", "drew", "off-flavour", "pulled"};
static const char *const sign_words[LOG_SIGN_COUNT] = {"", "clean", "dark",
                                                       "milky", "off taste"};
static const char *const change_words[LOG_CHANGE_COUNT] = {"new", "correction",
                                                           "removal"};

/* Other words for the same, which are read and never written. */
static const struct {
    const char *word, *usual;
} synonyms[] = {{"off-flavor", "off-flavour"}, {"buddy", "off taste"}};

#define BIT(figure) (1u << (figure))

/* What each kind takes; of `needs` at least one must be told. */
static const struct {
    unsigned takes, needs;
} kinds[LOG_KIND_COUNT] = {
    [LOG_COLLECTED] = {BIT(LOG_SAP_L) | BIT(LOG_SAP_BRIX), BIT(LOG_SAP_L)},
    [LOG_BOILED] = {BIT(LOG_SAP_L) | BIT(LOG_SAP_BRIX) | BIT(LOG_HOURS),
                    BIT(LOG_SAP_L) | BIT(LOG_HOURS)},
    [LOG_DREW] = {BIT(LOG_SYRUP_L) | BIT(LOG_SYRUP_BRIX) | BIT(LOG_LIGHT_PCT),
                  BIT(LOG_SYRUP_L)},
};

static const struct {
    const char *key, *name;
    double min, max;
    const char *range; /* for the sentence */
} figures[LOG_FIGURE_COUNT] = {
    [LOG_SAP_L] = {"sap_l", N_("amount of sap"), 0, 1e6,
                   N_("an amount of sap is from 0 to 1 000 "
                      "000 L")},
    [LOG_SAP_BRIX] = {"sap_brix", N_("sugar of sap"), 0.1, 40,
                      N_("the sugar of sap or concentrate is from 0.1 to 40 "
                         "Brix")},
    [LOG_HOURS] = {"hours", N_("hours of boiling"), 0, 200,
                   N_("a boil takes 0 to 200 h")},
    [LOG_SYRUP_L] = {"syrup_l", N_("amount of syrup"), 0, 1e5,
                     N_("an amount of syrup is from 0 to 100 000 L")},
    [LOG_SYRUP_BRIX] = {"syrup_brix", N_("density of syrup"), 50, 80,
                        N_("the density of syrup is from 50 to 80 Brix")},
    [LOG_LIGHT_PCT] = {"light_pct", N_("light that passes"), 0, 100,
                       N_("light that passes is from 0 to 100 %")},
};

static int find_word(const char *const *words, int count, const char *word)
{
    for (int i = 0; i < count; i++)
        if (strcmp(words[i], word) == 0)
            return i;
    return -1;
}

static const char *usual_word(const char *word)
{
    for (size_t i = 0; i < sizeof synonyms / sizeof synonyms[0]; i++)
        if (strcmp(synonyms[i].word, word) == 0)
            return synonyms[i].usual;
    return word;
}

const char *log_kind_word(enum log_kind kind)
{
    return kind_words[kind];
}

int log_kind_from_word(const char *word)
{
    return find_word(kind_words, LOG_KIND_COUNT, usual_word(word));
}

const char *log_sign_word(enum log_sign sign)
{
    return sign_words[sign];
}

int log_sign_from_word(const char *word)
{
    return find_word(sign_words, LOG_SIGN_COUNT, usual_word(word));
}

const char *log_change_word(enum log_change change)
{
    return change_words[change];
}

int log_change_from_word(const char *word)
{
    return find_word(change_words, LOG_CHANGE_COUNT, word);
}

const char *log_figure_key(enum log_figure figure)
{
    return figures[figure].key;
}

void log_number_write(double value, char out[LOG_NUMBER_SIZE])
{
    double back;

    snprintf(out, LOG_NUMBER_SIZE, "%.15g", value);
    if (!number_parse(out, strlen(out), &back) || back < value || back > value)
        snprintf(out, LOG_NUMBER_SIZE, "%.17g", value);
}

bool log_kind_takes(enum log_kind kind, enum log_figure figure)
{
    return (kinds[kind].takes & BIT(figure)) != 0;
}

static int check_figures(const struct log_note *note, struct error *err)
{
    bool needed = kinds[note->kind].needs == 0;

    for (int i = 0; i < LOG_FIGURE_COUNT; i++) {
        if (!note->has[i])
            continue;
        if (!log_kind_takes(note->kind, (enum log_figure)i))
            return error_set(err, _("\"%s\" takes no %s"),
                             log_kind_word(note->kind), _(figures[i].name));
        if (!(note->figure[i] >= figures[i].min &&
              note->figure[i] <= figures[i].max))
            return error_set(err, "%s", _(figures[i].range));
        needed = needed || (kinds[note->kind].needs & BIT(i)) != 0;
    }
    if (needed)
        return 0;
    return note->kind == LOG_BOILED
               ? error_set(err, "%s",
                           _("\"boiled\" needs the sap boiled or the hours it "
                             "took, such as 200 gal or 7.5 h"))
               : error_set(err,
                           _("\"%s\" needs an amount, such as 42 gal or 160 "
                             "L"),
                           log_kind_word(note->kind));
}

/* Processing Grade is off in flavour and may be of any color. */
static int check_class(const struct log_note *note, struct error *err)
{
    enum grade by_light;

    if (note->has_grade && note->kind != LOG_DREW)
        return error_set(err, _("only \"drew\" takes a class such as %s"),
                         grade_word(note->grade));
    if (!note->has_grade || !note->has[LOG_LIGHT_PCT] ||
        note->grade == GRADE_PROCESSING)
        return 0;
    by_light = grade_of_light(note->figure[LOG_LIGHT_PCT]);
    if (by_light == note->grade)
        return 0;
    return error_set(err, _("%.1f %% light is %s, not %s"),
                     note->figure[LOG_LIGHT_PCT], grade_word(by_light),
                     grade_word(note->grade));
}

static bool plain_text(const char *words)
{
    for (const char *c = words; *c != '\0'; c++)
        if ((unsigned char)*c < ' ' || *c == 0x7f)
            return false;
    return utf8_valid(words, strlen(words));
}

int log_note_check(const struct log_note *note, struct error *err)
{
    /* Years 1900 to 2999. */
    if (note->at < -2208988800 || note->at >= 32503680000)
        return error_set(err, "%s", _("the time is none of this age"));
    if (!plain_text(note->bush) || !plain_text(note->remark))
        return error_set(err, "%s",
                         _("a name or remark holds control characters or is "
                           "no UTF-8"));
    if (note->sign != LOG_SIGN_NONE && note->kind != LOG_OFF_FLAVOUR)
        return error_set(err, _("only \"off-flavour\" takes a sign such as %s"),
                         log_sign_word(note->sign));
    if (note->sign == LOG_SIGN_NONE && note->kind == LOG_OFF_FLAVOUR)
        return error_set(err, "%s",
                         _("\"off-flavour\" needs what was found: clean, dark, "
                           "milky or off taste"));
    if (check_class(note, err) != 0)
        return -1;
    return check_figures(note, err);
}

static bool uid_good(const char *uid)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyz"
                                  "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.-";

    return uid[0] != '\0' && uid[strspn(uid, allowed)] == '\0';
}

int log_record_check(const struct log_record *record, struct error *err)
{
    if (!uid_good(record->uid))
        return error_set(err, "%s",
                         _("the uid is missing or holds other than letters, "
                           "digits, - and ."));
    if (record->change == LOG_NEW && record->target[0] != '\0')
        return error_set(err, "%s", _("a new entry has no target"));
    if (record->change != LOG_NEW && !uid_good(record->target))
        return error_set(err, "%s",
                         _("a correction or removal needs the target's uid"));
    if (record->change == LOG_REMOVAL)
        return 0;
    return log_note_check(&record->note, err);
}
