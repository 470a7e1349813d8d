#include <errno.h>
#include <locale.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/catalogue.h"
#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "unit_test.h"

static void french_is_found_from_the_build_tree(void **state)
{
    (void)state;
    assert_string_equal(words_language(), "en");
    assert_string_equal(_("Boil %.40s"), "Boil %.40s");
    assert_null(words_use("fr"));
    assert_string_equal(_("Boil %.40s"), "Bouillir %.40s");
    assert_string_equal(words_use("en"), "fr");
    assert_string_equal(_("Boil %.40s"), "Boil %.40s");
}

static void what_has_no_translation_stays_english(void **state)
{
    (void)state;
    words_use("fr");
    assert_string_equal(words_find("no such sentence"), "no such sentence");
    /* "" is the catalogue's header: its words are nobody's. */
    assert_string_equal(words_find(""), "");
    words_use("de");
    assert_string_equal(_("Boil %.40s"), "Boil %.40s");
    words_use("fr");
    assert_string_equal(words_use(NULL), "fr");
    assert_string_equal(words_language(), "en");
}

static void *language_of_thread(void *language)
{
    *(const char **)language = words_language();
    return NULL;
}

/* A thread that has chosen nothing speaks as the program does. */
static void program_has_a_language(void **state)
{
    const char *other = NULL;
    pthread_t thread;

    (void)state;
    words_program("fr");
    words_use("en");
    assert_int_equal(
        pthread_create(&thread, NULL, language_of_thread, (void *)&other), 0);
    pthread_join(thread, NULL);
    assert_string_equal(other, "fr");
    assert_string_equal(words_language(), "en");
    words_use(NULL);
    assert_string_equal(words_language(), "fr");
    words_program("en");
    assert_string_equal(words_language(), "en");
}

/* GNU gettext manual, "Plural forms": French has plural=n>1, English n!=1. */
static void plural_follows_the_language(void **state)
{
    static const struct {
        long count;
        const char *english, *french;
    } rows[] = {{0, "%d taps", "%d entaille"},
                {1, "%d tap", "%d entaille"},
                {2, "%d taps", "%d entailles"},
                {140, "%d taps", "%d entailles"}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        words_use("en");
        assert_string_equal(words_count("%d tap", "%d taps", rows[i].count),
                            rows[i].english);
        words_use("fr");
        assert_string_equal(words_count("%d tap", "%d taps", rows[i].count),
                            rows[i].french);
    }
    words_use("en");
}

static void *in_another_thread(void *words)
{
    *(const char **)words = _("Boil %.40s");
    return NULL;
}

static void fifty_switches_do_not_mix(void **state)
{
    (void)state;
    for (int i = 0; i < 50; i++) {
        const char *english = NULL;
        pthread_t other;

        words_use("fr");
        assert_int_equal(
            pthread_create(&other, NULL, in_another_thread, (void *)&english),
            0);
        assert_string_equal(_("Boil %.40s"), "Bouillir %.40s");
        pthread_join(other, NULL);
        assert_string_equal(english, "Boil %.40s");
        assert_string_equal(words_use("en"), "fr");
        assert_string_equal(_("Boil %.40s"), "Boil %.40s");
    }
}

/* Data are never localised: neither printf nor a locale knows of the words. */
static void numbers_stay_as_they_are(void **state)
{
    char number[16];

    (void)state;
    words_use("fr");
    snprintf(number, sizeof number, "%.1f", 1.5);
    assert_string_equal(number, "1.5");
    assert_string_equal(setlocale(LC_ALL, NULL), "C");
    words_use("en");
}

static void set(const char *all, const char *messages, const char *lang)
{
    setenv("LC_ALL", all, 1);
    setenv("LC_MESSAGES", messages, 1);
    setenv("LANG", lang, 1);
}

static void environment_is_asked_in_order(void **state)
{
    static const char *const rows[][4] = {
        {"", "", "fr_CA.UTF-8", "fr"},  {"", "", "fr", "fr"},
        {"C", "", "fr_CA.UTF-8", "en"}, {"", "fr_CA", "en_US.UTF-8", "fr"},
        {"", "", "fro_XX", "en"},       {"", "", "", "en"}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        set(rows[i][0], rows[i][1], rows[i][2]);
        assert_string_equal(words_of_environment(), rows[i][3]);
    }
}

static void errno_is_told(void **state)
{
    (void)state;
    assert_string_equal(words_errno(ENOENT), "No such file or directory");
}

/* The real catalogue, in memory of its own. */
static char *read_catalogue(size_t *length)
{
    char *path = file_find_locale("fr/LC_MESSAGES/thawbell.mo"), *bytes;
    struct error err;

    assert_non_null(path);
    assert_int_equal(file_read(path, 1 << 22, &bytes, length, &err), 0);
    free(path);
    return bytes;
}

static void whole_catalogue_is_taken(void **state)
{
    size_t length;
    char *bytes = read_catalogue(&length);
    struct catalogue *catalogue = catalogue_open(bytes, length);

    (void)state;
    assert_non_null(catalogue);
    assert_string_equal(catalogue_find(catalogue, "Boil %.40s", 0),
                        "Bouillir %.40s");
    /* A form that is not there is the only one. */
    assert_string_equal(catalogue_find(catalogue, "Boil %.40s", 1),
                        "Bouillir %.40s");
    assert_null(catalogue_find(catalogue, "Boil %.40", 0));
    assert_null(catalogue_find(catalogue, "Boil %.40ss", 0));
    assert_null(catalogue_find(catalogue, "\x01", 0));
    assert_null(catalogue_find(catalogue, "\xff", 0));
    catalogue_free(catalogue);
}

/* The copy is as long as its bytes, so that reading past them is seen. */
static void refused(const char *bytes, size_t length)
{
    char *copy = mem_copy_bytes(bytes, length);
    char *exact = mem_alloc(length > 0 ? length : 1, 1);

    memcpy(exact, copy, length);
    free(copy);
    assert_null(catalogue_open(exact, length));
    free(exact);
}

static void cut_catalogue_is_refused(void **state)
{
    size_t length, step;
    char *bytes = read_catalogue(&length);

    (void)state;
    step = length / 200 + 1;
    for (size_t cut = 0; cut < length; cut += cut < 64 ? 1 : step)
        refused(bytes, cut);
    refused(bytes, length - 1);
    free(bytes);
}

/* Magic, revision, count, both tables, first row's length and offset. */
static void broken_catalogue_is_refused(void **state)
{
    static const size_t places[] = {0, 4, 11, 15, 19, 28 + 3, 28 + 7};
    size_t length;
    char *bytes = read_catalogue(&length);

    (void)state;
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        char held = bytes[places[i]];

        bytes[places[i]] = (char)(held ^ 0x7f);
        refused(bytes, length);
        bytes[places[i]] = held;
    }
    /* The second message changes places with the third. */
    for (int byte = 0; byte < 8; byte++) {
        char held = bytes[36 + byte];

        bytes[36 + byte] = bytes[44 + byte];
        bytes[44 + byte] = held;
    }
    refused(bytes, length);
    free(bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(french_is_found_from_the_build_tree),
        cmocka_unit_test(what_has_no_translation_stays_english),
        cmocka_unit_test(program_has_a_language),
        cmocka_unit_test(plural_follows_the_language),
        cmocka_unit_test(fifty_switches_do_not_mix),
        cmocka_unit_test(numbers_stay_as_they_are),
        cmocka_unit_test(environment_is_asked_in_order),
        cmocka_unit_test(errno_is_told),
        cmocka_unit_test(whole_catalogue_is_taken),
        cmocka_unit_test(cut_catalogue_is_refused),
        cmocka_unit_test(broken_catalogue_is_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
