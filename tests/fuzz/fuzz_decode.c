/* Any bytes to every decoder: no crash, and what comes out keeps the
 * promises of source.h. For libFuzzer, or with replay.c beside it as an
 * ordinary test. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "source/source.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define PROMISE(condition)                                                     \
    do {                                                                       \
        if (!(condition)) {                                                    \
            fprintf(stderr, "%s:%d: not kept: %s\n", __FILE__, __LINE__,       \
                    #condition);                                               \
            abort();                                                           \
        }                                                                      \
    } while (0)

static void check_series(const struct series *series)
{
    PROMISE(series_hours(series) <= SERIES_MAX_HOURS);
    PROMISE(series_count(series, AIR_TEMP_C) > 0);
    for (int i = 0; i < QUANTITY_COUNT; i++)
        for (int hour = 0; hour < series_hours(series); hour++) {
            double value;

            if (!series_get(series, (enum quantity)i, hour, &value))
                continue;
            PROMISE(quantity_check((enum quantity)i, value, NULL) == 0);
            PROMISE(series_value_source(series, (enum quantity)i, hour) == 0);
        }
}

static void check_members(const struct members *members)
{
    PROMISE(members->count > 0 && members->hours > 0);
    for (int i = 0; i < members->count * members->hours; i++)
        PROMISE(quantity_check(AIR_TEMP_C, members->air_temp_c[i], NULL) == 0);
}

/* A sentence: some words, no line breaks, nothing that steers a terminal. */
static void check_sentence(const char *words)
{
    PROMISE(strlen(words) > 5);
    PROMISE(utf8_valid(words, strlen(words)));
    for (; *words; words++)
        PROMISE((unsigned char)*words >= 0x20 && *words != 0x7f);
}

static void check_answer(int result, struct source_answer *answer,
                         const struct error *err)
{
    PROMISE(result == 0 || result == -1);
    if (result < 0) {
        PROMISE(!answer->series && !answer->members);
        check_sentence(err->text);
    } else {
        PROMISE(answer->series || answer->members);
    }
    if (answer->series)
        check_series(answer->series);
    if (answer->members)
        check_members(answer->members);
    for (int i = 0; i < answer->refused.count; i++)
        check_sentence(answer->refused.items[i]);
    PROMISE(answer->refused.count < 200);
    source_answer_free(answer);
}

/* The look-up's answer makes an address of ours or none. */
static void check_url(const char *bytes, size_t size)
{
    static const char start[] = "https://api.weather.gov/gridpoints/";
    struct source_query query = {45.06, -71.9, 450, 1, 7, NULL, NULL};
    struct text url;

    text_init(&url, 2000);
    if (source_find("nws")->url(&query, bytes, size, &url, NULL) == 0)
        PROMISE(strncmp(url.bytes, start, sizeof start - 1) == 0 &&
                !strstr(url.bytes, ".."));
    text_free(&url);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *bytes = (const char *)data;
    char words[200];

    for (int i = 0; i <= source_count(); i++) {
        const struct source *source = source_at(i);
        struct source_answer answer = {0};
        struct error err = {""};
        int result = source ? source->decode(bytes, size, 0, &answer, &err)
                            : station_decode(bytes, size, 0, &answer, &err);

        check_answer(result, &answer, &err);
        if (source && source->error_words)
            source->error_words(bytes, size, words, sizeof words);
    }
    check_url(bytes, size);
    return 0;
}
