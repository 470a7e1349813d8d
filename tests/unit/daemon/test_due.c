/* Which operation turns next. */
#include "unit_test.h"

#include <stdlib.h>

#include "base/memory.h"
#include "daemon/due.h"
#include "daemon/schedule.h"

enum { COUNT = 300 };

static const utc_s NOW = 1772710200;

struct bench {
    struct daemon_operation all[COUNT], *list[COUNT];
    struct due due;
};

/* A fixed course of numbers: Knuth's, The Art of Computer Programming 3.3.4,
 * from memory; any would do. */
static unsigned next_number(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return *state >> 16;
}

static int set_up(void **state)
{
    struct bench *bench = mem_alloc(1, sizeof *bench);
    unsigned number = 7;

    for (int i = 0; i < COUNT; i++) {
        bench->all[i].place = i;
        bench->all[i].next = NOW + next_number(&number) % 50;
        bench->list[i] = &bench->all[i];
    }
    *state = bench;
    return 0;
}

static int tear_down(void **state)
{
    struct bench *bench = *state;

    due_free(&bench->due);
    free(bench);
    return 0;
}

static void test_the_earliest_comes_first(void **state)
{
    struct bench *bench = *state;
    const struct daemon_operation *last = NULL;

    due_fill(&bench->due, bench->list, COUNT, NOW);
    for (int i = 0; i < COUNT; i++) {
        const struct daemon_operation *first = due_first(&bench->due);

        assert_non_null(first);
        assert_true(last == NULL || last->next < first->next ||
                    (last->next == first->next && last->place < first->place));
        last = first;
        due_take_first(&bench->due);
    }
    assert_null(due_first(&bench->due));
}

/* As the daemon goes: the first is taken, and put back with a later time. */
static void test_each_comes_again(void **state)
{
    struct bench *bench = *state;
    int turns[COUNT] = {0};
    utc_s last = 0;

    due_fill(&bench->due, bench->list, COUNT, NOW);
    for (int i = 0; i < 10 * COUNT; i++) {
        struct daemon_operation *first = due_first(&bench->due);

        assert_true(first->next >= last);
        last = first->next;
        turns[first->place]++;
        due_take_first(&bench->due);
        first->next += 50;
        due_add(&bench->due, first);
    }
    for (int i = 0; i < COUNT; i++)
        assert_in_range(turns[i], 9, 11);
}

static void test_those_under_way_are_left_out(void **state)
{
    struct bench *bench = *state;

    for (int i = 0; i < COUNT; i++)
        bench->all[i].under_way = i != 5;
    due_fill(&bench->due, bench->list, COUNT, NOW);
    assert_ptr_equal(due_first(&bench->due), &bench->all[5]);
    due_take_first(&bench->due);
    assert_null(due_first(&bench->due));
}

/* Set by a clock that ran a year ahead. */
static void test_a_wrong_clock_is_mended(void **state)
{
    struct bench *bench = *state;

    bench->all[9].next = NOW + 365 * SECONDS_PER_DAY;
    due_fill(&bench->due, &bench->list[9], 1, NOW);
    assert_int_equal(due_first(&bench->due)->next, NOW);
    bench->all[9].next = NOW + SCHEDULE_LONGEST_REST_S;
    due_fill(&bench->due, &bench->list[9], 1, NOW);
    assert_int_equal(due_first(&bench->due)->next,
                     NOW + SCHEDULE_LONGEST_REST_S);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_the_earliest_comes_first, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_each_comes_again, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_those_under_way_are_left_out,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_a_wrong_clock_is_mended, set_up,
                                        tear_down),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
