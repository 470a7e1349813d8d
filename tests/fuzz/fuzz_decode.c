/* Any bytes to the decoder of one service (FUZZ_SERVICE, a row of the table
 * of services, or "station"): what comes out keeps the promises of source.h. */
#include "promise.h"

#include "source/source.h"

static void check_series(const struct series *series)
{
    PROMISE(series_hours(series) <= SERIES_MAX_HOURS);
    PROMISE(series_count(series, AIR_TEMP_C) > 0);
    PROMISE(series_start(series) % SECONDS_PER_HOUR == 0);
    for (int i = 0; i < QUANTITY_COUNT; i++)
        for (int hour = 0; hour < series_hours(series); hour++) {
            double value;

            if (!series_get(series, (enum quantity)i, hour, &value))
                continue;
            PROMISE(quantity_check((enum quantity)i, value, NULL) == 0);
            PROMISE(series_value_source(series, (enum quantity)i, hour) == 0);
        }
}

/* What is written is read back as the same. */
static void check_written(const struct series *series)
{
    char *csv = series_to_csv(series), *again;
    struct error err = {""};
    struct series *back = NULL;

    if (series_from_csv(csv, strlen(csv), 0, &back, &err) != 0) {
        fprintf(stderr, "%s\n", err.text);
        abort();
    }
    again = series_to_csv(back);
    PROMISE(strcmp(csv, again) == 0);
    free(again);
    free(csv);
    series_free(back);
}

static void check_members(const struct members *members)
{
    PROMISE(members->count > 0 && members->hours > 0);
    PROMISE(members->start % SECONDS_PER_HOUR == 0);
    for (int i = 0; i < members->count * members->hours; i++)
        PROMISE(quantity_check(AIR_TEMP_C, members->air_temp_c[i], NULL) == 0);
}

static void check_answer(int result, struct source_answer *answer,
                         const struct error *err)
{
    promise_result(result, err);
    PROMISE((result == 0) == (answer->series || answer->members));
    if (answer->series) {
        check_series(answer->series);
        check_written(answer->series);
    }
    if (answer->members)
        check_members(answer->members);
    for (int i = 0; i < answer->refused.count; i++)
        promise_sentence(answer->refused.items[i]);
    PROMISE(answer->refused.count < 200);
    source_answer_free(answer);
}

/* A look-up's answer makes an address of the service or none. */
static void check_url(const struct source *source, const char *bytes,
                      size_t size)
{
    struct source_query query = {45.06, -71.9, 450, 1, 7, NULL, NULL};
    struct error err = {""};
    struct text url;
    int result;

    text_init(&url, 2000);
    result = source->url(&query, bytes, size, &url, &err);
    promise_result(result, &err);
    if (result == 0)
        PROMISE(strncmp(url.bytes, source->default_url,
                        strlen(source->default_url)) == 0 &&
                !strstr(url.bytes, "..") && !strpbrk(url.bytes, " \r\n\t"));
    text_free(&url);
}

static void check_words(const struct source *source, const char *bytes,
                        size_t size)
{
    char words[200] = "";

    source->error_words(bytes, size, words, sizeof words);
    for (const char *p = words; *p; p++)
        PROMISE((unsigned char)*p >= 0x20 && *p != 0x7f);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *bytes = (const char *)data;
    const struct source *source = source_find(FUZZ_SERVICE);
    struct source_answer answer = {0};
    struct error err = {""};
    int result = source ? source->decode(bytes, size, 0, &answer, &err)
                        : station_decode(bytes, size, 0, &answer, &err);

    check_answer(result, &answer, &err);
    if (source && source->error_words)
        check_words(source, bytes, size);
    if (source && source->lookup_url)
        check_url(source, bytes, size);
    return 0;
}
