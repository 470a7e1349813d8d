#include "base/json_guard.h"

#include <stdbool.h>
#include <string.h>

#include "base/json.h"
#include "base/text.h"
#include "base/units.h"
#include "base/words.h"

struct guard {
    const char *bytes;
    size_t length, at;
    int depth, items;
};

static int check_string(struct guard *guard, struct error *err)
{
    size_t start = guard->at++;
    for (; guard->at < guard->length; guard->at++) {
        const char *p = guard->bytes + guard->at;
        if (*p == '"') {
            guard->at++;
            return 0;
        }
        if ((unsigned char)*p < 0x20)
            return error_set(err,
                             _("JSON: a control character in a string at byte "
                               "%zu"),
                             guard->at);
        if (*p != '\\')
            continue;
        if (guard->length - guard->at >= 6 && memcmp(p, "\\u0000", 6) == 0)
            return error_set(err, _("JSON: a zero character at byte %zu"),
                             guard->at);
        guard->at++;
    }
    return error_set(err,
                     _("JSON: the string that starts at byte %zu has no "
                       "end"),
                     start);
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_of_number(char c)
{
    return is_digit(c) || c == '.' || c == '-' || c == '+' || c == 'e' ||
           c == 'E';
}

static size_t count_digits(const char *words, size_t length)
{
    size_t at = 0;
    while (at < length && is_digit(words[at]))
        at++;
    return at;
}

/* The length of what most numbers are, whole or with a point and too short to
 * leave the range of a double; 0 for all others, which are looked at closely.
 */
static size_t plain_number(const char *words, size_t left)
{
    size_t at = words[0] == '-' ? 1 : 0, whole, part;
    whole = count_digits(words + at, left - at);
    if (whole == 0 || (whole > 1 && words[at] == '0'))
        return 0;
    at += whole;
    if (at < left && words[at] == '.') {
        part = count_digits(words + at + 1, left - at - 1);
        if (part == 0)
            return 0;
        at += 1 + part;
    }
    return at < 32 && (at == left || !is_of_number(words[at])) ? at : 0;
}

/* number_parse is laxer than RFC 8259: "+1", "01", "1." and ".5". */
static bool is_json_number(const char *words, size_t length)
{
    double value;
    size_t at = words[0] == '-' ? 1 : 0;
    if (at >= length || !is_digit(words[at]))
        return false;
    if (words[at] == '0' && at + 1 < length && is_digit(words[at + 1]))
        return false;
    const char *point = memchr(words, '.', length);
    if (point && (point + 1 == words + length || !is_digit(point[1])))
        return false;
    return number_parse(words, length, &value);
}

static int check_number(struct guard *guard, struct error *err)
{
    const char *start = guard->bytes + guard->at;
    size_t left = guard->length - guard->at;
    size_t length = plain_number(start, left);
    if (length > 0) {
        guard->at += length;
        return 0;
    }
    while (length < left && is_of_number(start[length]))
        length++;
    if (!is_json_number(start, length)) {
        char shown[64];
        text_escape(shown, sizeof shown, start, length, 30);
        return error_set(err,
                         _("JSON: \"%s\" at byte %zu is not a number that can "
                           "be used"),
                         shown, guard->at);
    }
    guard->at += length;
    return 0;
}

static int count_item(struct guard *guard, struct error *err)
{
    if (++guard->items > JSON_MAX_ITEMS)
        return error_set(err, _("JSON: more than %d values"), JSON_MAX_ITEMS);
    return 0;
}

static int check_mark(struct guard *guard, char c, struct error *err)
{
    guard->at++;
    if (c == '}' || c == ']')
        guard->depth--;
    if (c != '{' && c != '[')
        return c == ',' ? count_item(guard, err) : 0;
    if (++guard->depth > JSON_MAX_DEPTH)
        return error_set(err,
                         _("JSON: nested deeper than %d levels at byte "
                           "%zu"),
                         JSON_MAX_DEPTH, guard->at - 1);
    return count_item(guard, err);
}

int json_guard(const char *bytes, size_t length, struct error *err)
{
    struct guard guard = {.bytes = bytes, .length = length};
    const char *zero = length ? memchr(bytes, '\0', length) : NULL;
    if (zero)
        return error_set(err, _("JSON: a zero byte at byte %zu"),
                         (size_t)(zero - bytes));
    if (!utf8_valid(bytes, length))
        return error_set(err, _("JSON: the text is not UTF-8"));
    int result = 0;
    while (result == 0 && guard.at < length) {
        char c = bytes[guard.at];
        if (c == '"')
            result = check_string(&guard, err);
        else if (c == '-' || is_digit(c))
            result = check_number(&guard, err);
        else
            result = check_mark(&guard, c, err);
    }
    return result;
}
