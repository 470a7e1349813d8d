#include "base/json.h"

#include <math.h>

#include "base/json_guard.h"
#include "base/text.h"
#include "base/words.h"

static int not_json(const char *bytes, size_t length, size_t at,
                    struct error *err)
{
    char shown[200];
    text_escape(shown, sizeof shown, bytes, length, 40);
    if (length == 0)
        return error_set(err, _("the answer is empty where JSON is expected"));
    return error_set(err,
                     _("not JSON (at byte %zu); the text starts with \"%s\""),
                     at, shown);
}

static bool is_space(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

cJSON *json_parse(const char *bytes, size_t length, struct error *err)
{
    if (json_guard(bytes, length, err) != 0)
        return NULL;
    const char *end = bytes;
    cJSON *root = cJSON_ParseWithLengthOpts(bytes, length, &end, 0);
    if (!root) {
        not_json(bytes, length, (size_t)(end - bytes), err);
        return NULL;
    }
    while (end < bytes + length && is_space(*end))
        end++;
    if (end != bytes + length) {
        error_set(err, _("the JSON ends at byte %zu but more follows"),
                  (size_t)(end - bytes));
        cJSON_Delete(root);
        return NULL;
    }
    return root;
}

const cJSON *json_object(const cJSON *parent, const char *key)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(parent, key);
    return cJSON_IsObject(item) ? item : NULL;
}

const cJSON *json_array(const cJSON *parent, const char *key)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(parent, key);
    return cJSON_IsArray(item) ? item : NULL;
}

const char *json_string(const cJSON *parent, const char *key)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(parent, key);
    return cJSON_IsString(item) ? item->valuestring : NULL;
}

bool json_number(const cJSON *parent, const char *key, double *out)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(parent, key);
    if (!cJSON_IsNumber(item))
        return false;
    *out = item->valuedouble;
    return true;
}

bool json_bool(const cJSON *parent, const char *key, bool *out)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(parent, key);
    if (!cJSON_IsBool(item))
        return false;
    *out = cJSON_IsTrue(item);
    return true;
}

bool json_integer(const cJSON *parent, const char *key, long min, long max,
                  long *out)
{
    double value;
    if (!json_number(parent, key, &value) || value != floor(value) ||
        fabs(value) > 9007199254740992.0 /* 2^53: exact up to there */)
        return false;
    int64_t whole = (int64_t)value;
    if (whole < min || whole > max)
        return false;
    *out = (long)whole;
    return true;
}

void json_add_time(cJSON *object, const char *key, utc_s instant)
{
    char words[ISO_TIME_SIZE];

    iso_time_utc(instant, words);
    if (instant > 0)
        json_add_text(object, key, words);
    else
        json_add_null(object, key);
}
