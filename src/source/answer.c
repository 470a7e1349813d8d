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

void answer_words(const char *words, char *out, size_t out_size)
{
    out[0] = '\0';
    if (words)
        text_escape(out, out_size, words, strlen(words), WORDS_SHOWN);
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
