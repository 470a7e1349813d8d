/* thawbell decode: exit status, table on standard output, the rest on
 * standard error. */
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "command/options.h"
#include "source/source.h"
#include "unit_test.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What the command wrote. */
struct outcome {
    int status;
    char out[16384], err[4096];
};

static void read_back(FILE *file, char *text, size_t size)
{
    size_t length;

    rewind(file);
    length = fread(text, 1, size - 1, file);
    text[length] = '\0';
    fclose(file);
}

static struct outcome decode(const char *service, const char *path)
{
    struct options options = {.words = {service, path},
                              .word_count =
                                  (service != NULL) + (service && path)};
    struct outcome outcome = {0};
    FILE *out = tmpfile(), *err = tmpfile();
    int old_out = dup(STDOUT_FILENO), old_err = dup(STDERR_FILENO);

    assert_non_null(out);
    assert_non_null(err);
    fflush(stdout);
    dup2(fileno(out), STDOUT_FILENO);
    dup2(fileno(err), STDERR_FILENO);
    outcome.status = command_decode(&options);
    fflush(stdout);
    fflush(stderr);
    dup2(old_out, STDOUT_FILENO);
    dup2(old_err, STDERR_FILENO);
    close(old_out);
    close(old_err);
    read_back(out, outcome.out, sizeof outcome.out);
    read_back(err, outcome.err, sizeof outcome.err);
    return outcome;
}

static struct outcome decode_fixture(const char *service, const char *name)
{
    char *path = mem_format("%s/fixtures/answers/%s", PROJECT_DIR, name);
    struct outcome outcome = decode(service, path);

    free(path);
    return outcome;
}

static void test_table(void **state)
{
    struct outcome o =
        decode_fixture("open-meteo", "open-meteo-local-us-units.json");

    (void)state;
    assert_int_equal(EXIT_DONE, o.status);
    assert_string_equal("time,air_temp_c,wind_m_s,rel_humidity_pct,precip_mm\n"
                        "2026-03-08T05:00:00Z,0,4.47,80,2.54\n"
                        "2026-03-08T06:00:00Z,-1,0,81,0.508\n"
                        "2026-03-08T07:00:00Z,-2,2.235,82,0\n"
                        "2026-03-08T08:00:00Z,-3,2.235,83,0\n"
                        "2026-03-08T09:00:00Z,-4,2.235,84,0\n"
                        "2026-03-08T10:00:00Z,-5,2.235,85,\n",
                        o.out);
    assert_string_equal("", o.err);
}

static void test_all_services(void **state)
{
    static const char *const rows[][3] = {
        {"open-meteo-ensemble", "open-meteo-ensemble.json", "members: 5"},
        {"metno", "metno.json", ""},
        {"nws", "nws-grid.json", ""},
        {"nws", "nws-observations.json", "148.89"},
        {"station", "station.csv", "85 is outside"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome o = decode_fixture(rows[i][0], rows[i][1]);

        assert_int_equal(EXIT_DONE, o.status);
        assert_int_equal(0, strncmp(o.out, "time,air_temp_c", 15));
        assert_non_null(strstr(o.err, rows[i][2]));
    }
}

static void test_refused(void **state)
{
    struct outcome o = decode_fixture("nws", "nws-points.json");

    (void)state;
    assert_int_equal(EXIT_FAILED, o.status);
    assert_string_equal("", o.out);
    assert_non_null(strstr(o.err, "nws-points.json: this is the look-up"));
    o = decode_fixture("metno", "no-such-file.json");
    assert_int_equal(EXIT_FAILED, o.status);
    assert_non_null(strstr(o.err, "no-such-file.json"));
}

static void test_too_large(void **state)
{
    char path[] = "thawbell-decode-XXXXXX";
    int fd = mkstemp(path);
    struct outcome o;

    (void)state;
    assert_true(fd >= 0);
    assert_int_equal(0, ftruncate(fd, 50 * 1000 * 1000));
    close(fd);
    o = decode("metno", path);
    assert_int_equal(EXIT_FAILED, o.status);
    assert_string_equal("", o.out);
    assert_non_null(strstr(o.err, "larger than the 2097152 bytes"));
    unlink(path);
}

static void test_usage(void **state)
{
    struct outcome o = decode("open_meteo", "x");

    (void)state;
    assert_int_equal(EXIT_USAGE, o.status);
    assert_non_null(strstr(o.err, "did you mean open-meteo?"));
    o = decode("barometer", "x");
    assert_int_equal(EXIT_USAGE, o.status);
    assert_non_null(
        strstr(o.err, "nws, metno, open-meteo, open-meteo-ensemble, station"));
    o = decode("nws", NULL);
    assert_int_equal(EXIT_USAGE, o.status);
    assert_non_null(strstr(o.err, "decode SERVICE FILE"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_table),   cmocka_unit_test(test_all_services),
        cmocka_unit_test(test_refused), cmocka_unit_test(test_too_large),
        cmocka_unit_test(test_usage),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
