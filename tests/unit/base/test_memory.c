#define _DEFAULT_SOURCE /* sbrk */

#include <stdint.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/memory.h"
#include "unit_test.h"

enum { BLOCKS = 40000, BLOCK_BYTES = 100 };

struct blocks {
    char *blocks[BLOCKS];
    int times;
};

static void take_blocks(void *data)
{
    struct blocks *taken = data;
    for (int i = 0; i < BLOCKS; i++)
        taken->blocks[i] = mem_alloc(1, BLOCK_BYTES);
    taken->times++;
}

/* The main heap ends where brk(2) has moved the end of the program to; other
 * heaps, and a sanitizer's, are mapped above it. */
static int in_the_main_heap(const struct blocks *taken)
{
    uintptr_t end = (uintptr_t)sbrk(0);
    int count = 0;
    for (int i = 0; i < BLOCKS; i++)
        if ((uintptr_t)taken->blocks[i] < end)
            count++;
    return count;
}

static void free_blocks(struct blocks *taken)
{
    for (int i = 0; i < BLOCKS; i++)
        free(taken->blocks[i]);
}

/* It is done once, has ended on return, and what it took is not taken from the
 * caller's heap, though it can be given back there. */
static void work_apart_has_its_own_heap(void **state)
{
    static struct blocks here, apart;

    (void)state;
    take_blocks(&here);
    mem_apart(take_blocks, &apart);
    assert_int_equal(1, apart.times);
    assert_int_equal(0, in_the_main_heap(&apart));
    if (in_the_main_heap(&here) == 0)
        print_message("this allocator does not use the main heap\n");
    free_blocks(&apart);
    free_blocks(&here);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(work_apart_has_its_own_heap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
