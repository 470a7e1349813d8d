/* One's own thermometer: every value is a measurement at the place. */
#include <string.h>

#include "base/words.h"
#include "source/lay.h"
#include "source/source.h"

/* The sentences quote cells as they came, cut by bytes; a file from outside
 * shall not steer a terminal. */
static void tidy(char *words)
{
    bool valid = utf8_valid(words, strlen(words));

    for (; *words; words++) {
        unsigned char byte = (unsigned char)*words;

        if (byte < 0x20 || byte == 0x7f || (byte > 0x7f && !valid))
            *words = '?';
    }
}

static int tidy_all(int result, struct source_answer *out, struct error *err)
{
    for (int i = 0; i < out->refused.count; i++)
        tidy(out->refused.items[i]);
    if (result < 0 && err)
        tidy(err->text);
    return result;
}

static int read_series(const char *bytes, size_t length, utc_s fetched,
                       struct source_answer *out, struct error *err)
{
    struct series_source source = {.name = "station", .fetched = fetched};
    struct intake intake;

    if (length > SOURCE_MAX_BYTES)
        return error_set(err,
                         _("the file has %zu bytes, more than the %d allowed"),
                         length, SOURCE_MAX_BYTES);
    if (series_read_csv(bytes, length, 0, &out->series, &out->refused, err) < 0)
        return -1;
    series_set_source(out->series, 0, &source);
    intake_init(&intake, &out->refused);
    lay_drop_jumps(&intake, out->series, AIR_TEMP_C);
    intake_tell_rest(&intake);
    intake_free(&intake);
    if (series_count(out->series, AIR_TEMP_C) > 0)
        return 0;
    series_free(out->series);
    out->series = NULL;
    return error_set(err, _("no row has an air temperature that can be used"));
}

int station_decode(const char *bytes, size_t length, utc_s fetched,
                   struct source_answer *out, struct error *err)
{
    *out = (struct source_answer){0};
    return tidy_all(read_series(bytes, length, fetched, out, err), out, err);
}
