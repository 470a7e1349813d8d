/* What the tests of the decoders share. */
#ifndef SOURCE_TEST_H
#define SOURCE_TEST_H

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "open_bytes.h"
#include "source/source.h"
#include "unit_test.h"

/* A decoded answer, and the sentence if it was refused. */
struct decoded {
    struct source_answer answer;
    struct error err;
    int result;
};

static inline struct decoded decode_bytes(const char *service,
                                          const char *bytes, size_t length)
{
    struct decoded decoded = {.err = {""}};
    /* A copy of the exact size, so that reading past the end is seen. */
    char *copy = malloc(length ? length : 1);

    assert_non_null(copy);
    memcpy(copy, bytes, length);
    if (strcmp(service, "station") == 0)
        decoded.result =
            station_decode(copy, length, 0, &decoded.answer, &decoded.err);
    else
        decoded.result = source_find(service)->decode(
            copy, length, 0, &decoded.answer, &decoded.err);
    free(copy);
    return decoded;
}

static inline struct decoded decode_text(const char *service, const char *json)
{
    return decode_bytes(service, json, strlen(json));
}

static inline char *fixture_read(const char *name, size_t *length)
{
    char *path = mem_format("%s/fixtures/answers/%s", PROJECT_DIR, name);
    char *bytes = NULL;
    struct error err;

    if (file_read(path, SOURCE_MAX_BYTES, &bytes, length, &err) < 0)
        fail_msg("%s", err.text);
    free(path);
    return bytes;
}

static inline struct decoded decode_fixture(const char *service,
                                            const char *name)
{
    size_t length;
    char *bytes = fixture_read(name, &length);
    struct decoded decoded = decode_bytes(service, bytes, length);

    free(bytes);
    if (decoded.result != 0)
        fail_msg("%s: %s", name, decoded.err.text);
    return decoded;
}

/* The recorded answer providers/NAME of the open data; skips or fails where
 * it is missing. */
static inline struct decoded decode_recorded(const char *service,
                                             const char *name)
{
    char *path = mem_format("providers/%s", name);
    char *bytes = NULL;
    size_t length = 0;
    bool found = open_bytes_read(path, &bytes, &length);
    struct decoded decoded;

    free(path);
    if (!found)
        skip();
    decoded = decode_bytes(service, bytes, length);
    free(bytes);
    return decoded;
}

static inline void decoded_free(struct decoded *decoded)
{
    source_answer_free(&decoded->answer);
}

/* One expectation, written by hand from the answer's text. */
struct expected {
    const char *time;
    enum quantity quantity;
    double value;
};

static inline utc_s time_of(const char *words)
{
    utc_s time = 0;

    assert_int_equal(0, iso_time_parse(words, 0, &time, NULL));
    return time;
}

static inline bool value_at(const struct series *series, const char *time,
                            enum quantity quantity, double *value)
{
    return series_get(series, quantity, series_row(series, time_of(time)),
                      value);
}

static inline void expect_values(const struct series *series,
                                 const struct expected *rows, size_t count)
{
    assert_non_null(series);
    for (size_t i = 0; i < count; i++) {
        double value = 0;

        if (!value_at(series, rows[i].time, rows[i].quantity, &value))
            fail_msg("%s at %s is missing", quantity_name(rows[i].quantity),
                     rows[i].time);
        if (fabs(value - rows[i].value) > 0.0005)
            fail_msg("%s at %s is %.6g, not %.6g",
                     quantity_name(rows[i].quantity), rows[i].time, value,
                     rows[i].value);
    }
}

static inline void expect_missing(const struct series *series, const char *time,
                                  enum quantity quantity)
{
    double value;

    if (value_at(series, time, quantity, &value))
        fail_msg("%s at %s is %.6g, not missing", quantity_name(quantity), time,
                 value);
}

/* A sentence among those that tell what was left out. */
static inline void expect_told(const struct decoded *decoded, const char *words)
{
    for (int i = 0; i < decoded->answer.refused.count; i++)
        if (strstr(decoded->answer.refused.items[i], words))
            return;
    for (int i = 0; i < decoded->answer.refused.count; i++)
        print_error("told: %s\n", decoded->answer.refused.items[i]);
    fail_msg("nothing told of \"%s\"", words);
}

/* Refused as a whole, with these words in the sentence. */
static inline void expect_refused(const char *service, const char *json,
                                  const char *words)
{
    struct decoded decoded = decode_text(service, json);

    assert_int_equal(-1, decoded.result);
    assert_null(decoded.answer.series);
    if (!strstr(decoded.err.text, words))
        fail_msg("\"%s\" does not tell \"%s\"", decoded.err.text, words);
    decoded_free(&decoded);
}

#endif
