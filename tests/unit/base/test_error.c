#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/text.h"
#include "unit_test.h"

static void set_writes_the_sentence(void **state)
{
    (void)state;
    struct error err;
    assert_int_equal(-1, error_set(&err, "%s:%d: no", "a.conf", 3));
    assert_string_equal("a.conf:3: no", err.text);
    assert_int_equal(-1, error_set(NULL, "nobody reads this"));
}

static void set_may_use_its_own_text(void **state)
{
    (void)state;
    struct error err;
    error_set(&err, "inner");
    error_set(&err, "outer: %s", err.text);
    assert_string_equal("outer: inner", err.text);
}

static void long_sentence_is_cut_between_characters(void **state)
{
    (void)state;
    struct error err;
    char words[1001];
    for (int shift = 0; shift < 3; shift++) {
        /* Three bytes each; every shift puts the cut at another of them. */
        memset(words, 'x', (size_t)shift);
        for (int i = 0; i < 300; i++)
            memcpy(words + shift + 3 * i, "\xE2\x82\xAC", 3);
        words[shift + 900] = '\0';
        error_set(&err, "%s", words);
        assert_true(strlen(err.text) > 500);
        assert_true(utf8_valid(err.text, strlen(err.text)));
    }
}

static void prefix_comes_first(void **state)
{
    (void)state;
    struct error err;
    error_set(&err, "not a number");
    assert_int_equal(-1, error_prefix(&err, "%s: ", "file.csv"));
    assert_string_equal("file.csv: not a number", err.text);
    assert_int_equal(-1, error_prefix(NULL, "x"));
}

static void list_keeps_order(void **state)
{
    (void)state;
    struct error_list list = {0};
    for (int i = 0; i < 100; i++)
        error_list_add(&list, "number %d", i);
    assert_int_equal(100, list.count);
    assert_string_equal("number 0", list.items[0]);
    assert_string_equal("number 99", list.items[99]);
    error_list_free(&list);
    assert_int_equal(0, list.count);
    assert_null(list.items);
}

static void memory_is_zeroed_and_never_null(void **state)
{
    (void)state;
    char *bytes = mem_alloc(0, 0);
    assert_non_null(bytes);
    free(bytes);
    int *numbers = mem_alloc(1000, sizeof *numbers);
    for (int i = 0; i < 1000; i++)
        assert_int_equal(0, numbers[i]);
    numbers = mem_resize(numbers, 0, sizeof *numbers);
    assert_non_null(numbers);
    free(numbers);
}

/* The child says so on standard error and exits 1. */
static void too_much_memory_ends_the_program(void **state)
{
    (void)state;
    int ends[2], status;
    char words[100] = "";
    assert_int_equal(0, pipe(ends));
    pid_t child = fork();
    if (child == 0) {
        dup2(ends[1], STDERR_FILENO);
        mem_resize(NULL, SIZE_MAX / 2, 3);
        _exit(0);
    }
    assert_true(child > 0);
    close(ends[1]);
    assert_true(read(ends[0], words, sizeof words - 1) > 0);
    close(ends[0]);
    assert_true(waitpid(child, &status, 0) == child);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 1);
    assert_string_equal("thawbell: out of memory\n", words);
}

static void memory_copies(void **state)
{
    (void)state;
    char *copy = mem_copy_text(NULL);
    assert_string_equal("", copy);
    free(copy);
    copy = mem_copy_bytes("abcdef", 3);
    assert_string_equal("abc", copy);
    free(copy);
    copy = mem_format("%s-%04d", "a", 7);
    assert_string_equal("a-0007", copy);
    free(copy);
}

static void sentences_are_plain(void **state)
{
    struct error err = {""};
    struct error_list list = {NULL, 0};

    (void)state;
    error_set(&err, "\"%s\" is no time", "\x1b[2J\xff\n");
    assert_string_equal(err.text, "\"?[2J??\" is no time");
    error_prefix(&err, "%s: ", "a\r");
    assert_string_equal(err.text, "a?: \"?[2J??\" is no time");
    error_list_add(&list, "%s", "\tx");
    assert_string_equal(list.items[0], "?x");
    error_list_free(&list);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(set_writes_the_sentence),
        cmocka_unit_test(set_may_use_its_own_text),
        cmocka_unit_test(long_sentence_is_cut_between_characters),
        cmocka_unit_test(prefix_comes_first),
        cmocka_unit_test(list_keeps_order),
        cmocka_unit_test(sentences_are_plain),
        cmocka_unit_test(memory_is_zeroed_and_never_null),
        cmocka_unit_test(too_much_memory_ends_the_program),
        cmocka_unit_test(memory_copies),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
