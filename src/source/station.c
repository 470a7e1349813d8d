/* One's own thermometer: every value is a measurement at the place. */
#include "base/words.h"
#include "source/lay.h"
#include "source/source.h"

int station_decode(const char *bytes, size_t length, utc_s fetched,
                   struct source_answer *out, struct error *err)
{
    struct series_source source = {.name = "station", .fetched = fetched};
    struct intake intake;

    *out = (struct source_answer){0};
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
