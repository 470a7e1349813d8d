#include "source/answer.h"

#include <stdio.h>
#include <string.h>

#include "base/json.h"
#include "base/words.h"

enum { WORDS_SHOWN = 160 };

/* Takes the data out of a recorded exchange; the rest is deleted. */
static cJSON *unwrap(cJSON *root, struct error *err)
{
    cJSON *data = cJSON_GetObjectItemCaseSensitive(root, "data");
    double status = 0;

    if (!cJSON_IsObject(data) || !json_number(root, "status_code", &status))
        return root;
    if (status == 200 || status == 203)
        data = cJSON_DetachItemViaPointer(root, data);
    else
        data = NULL;
    cJSON_Delete(root);
    if (!data)
        error_set(err, _("the recorded exchange has the HTTP status %.0f"),
                  status);
    return data;
}

/* HTML of a proxy, plain text and the like, told before the reader of JSON
 * finds some byte of it odd. */
static int check_start(const char *bytes, size_t length, struct error *err)
{
    static const char mark[] = "\xef\xbb\xbf"; /* of UTF-8 */
    char shown[160];
    size_t at = 0;

    if (length >= 3 && memcmp(bytes, mark, 3) == 0)
        at = 3;
    while (at < length && bytes[at] != '\0' && strchr(" \t\r\n", bytes[at]))
        at++;
    if (at < length && (bytes[at] == '{' || bytes[at] == '['))
        return 0;
    text_escape(shown, sizeof shown, bytes + at, length - at, 40);
    return error_set(err, _("the answer is not JSON; it starts with \"%s\""),
                     shown);
}

cJSON *answer_parse(const char *bytes, size_t length, struct error *err)
{
    cJSON *root;

    if (length > SOURCE_MAX_BYTES) {
        error_set(err, _("the answer has %zu bytes, more than the %d allowed"),
                  length, SOURCE_MAX_BYTES);
        return NULL;
    }
    if (length == 0) {
        error_set(err, _("the answer is empty"));
        return NULL;
    }
    if (check_start(bytes, length, err) < 0)
        return NULL;
    root = json_parse(bytes, length, err);
    if (!root)
        return NULL;
    if (!cJSON_IsObject(root)) {
        error_set(err, _("the answer is JSON but no object; ask for one place "
                         "at a time"));
        cJSON_Delete(root);
        return NULL;
    }
    return unwrap(root, err);
}

/* Printable ASCII, and Latin letters and signs (U+00A0 to U+024F) as they
 * are; no quotation from outside shall steer a terminal. */
static size_t printable_length(const char *at)
{
    unsigned char first = (unsigned char)at[0];
    unsigned char second = (unsigned char)(first ? at[1] : 0);

    if (first >= 0x20 && first < 0x7f && first != '\\')
        return 1;
    if (first < 0xc2 || first > 0xc9 || (second & 0xc0) != 0x80)
        return 0;
    return first == 0xc2 && second < 0xa0 ? 0 : 2;
}

void answer_words(const char *words, char *out, size_t out_size)
{
    struct text text;
    size_t left = WORDS_SHOWN;

    text_init(&text, out_size - 1);
    while (words && *words && left-- > 0 && !text.full) {
        size_t length = printable_length(words);
        char escaped[8];

        if (length > 0) {
            text_add_bytes(&text, words, length);
        } else {
            length = 1;
            text_escape(escaped, sizeof escaped, words, 1, 1);
            text_add(&text, escaped);
        }
        words += length;
    }
    memcpy(out, text.bytes, text.length + 1);
    text_free(&text);
}

void answer_member_words(const char *bytes, size_t length, const char *key,
                         char *out, size_t out_size)
{
    cJSON *root = NULL;

    if (length <= SOURCE_MAX_BYTES)
        root = json_parse(bytes, length, NULL);
    answer_words(json_string(root, key), out, out_size);
    cJSON_Delete(root);
}

void answer_add_degrees(struct text *url, double degrees)
{
    char digits[32];
    size_t length;

    snprintf(digits, sizeof digits, "%.4f", degrees);
    length = strlen(digits);
    while (digits[length - 1] == '0')
        length--;
    if (digits[length - 1] == '.')
        length--;
    digits[length] = '\0';
    text_add(url, strcmp(digits, "-0") == 0 ? "0" : digits);
}

struct series_source answer_source(const char *service, utc_s fetched)
{
    const struct source *row = source_find(service);
    struct series_source source = {.fetched = fetched};

    snprintf(source.name, sizeof source.name, "%s", service);
    if (row) {
        snprintf(source.credit, sizeof source.credit, "%s", row->credit);
        snprintf(source.credit_url, sizeof source.credit_url, "%s",
                 row->credit_url);
    }
    return source;
}
