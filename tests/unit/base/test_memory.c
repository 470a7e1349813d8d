#include <stdlib.h>
#ifdef __GLIBC__
#include <malloc.h>
#endif

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

/* What the main heap holds, as glibc counts it; a sanitizer's allocator counts
 * nothing there. */
static size_t main_heap_bytes(void)
{
#ifdef __GLIBC__
    return mallinfo2().uordblks;
#else
    return 0;
#endif
}

/* It is done once, has ended on return, and what it took is not taken from the
 * caller's heap, though it can be given back there. */
static void work_apart_has_its_own_heap(void **state)
{
    static struct blocks taken;
    size_t before = main_heap_bytes();

    (void)state;
    mem_apart(take_blocks, &taken);
    assert_int_equal(1, taken.times);
    assert_true(main_heap_bytes() < before + BLOCKS * BLOCK_BYTES / 10);
    for (int i = 0; i < BLOCKS; i++)
        free(taken.blocks[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(work_apart_has_its_own_heap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
