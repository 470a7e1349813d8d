/* cmocka with the headers that it wants before it, in their order. */
#ifndef UNIT_TEST_H
#define UNIT_TEST_H

/* clang-format off */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
/* clang-format on */

/* cmocka compares floats; this one compares doubles. NaN is never near. */
#define assert_near(value, expected, tolerance)                                \
    do {                                                                       \
        double near_value = (value), near_expected = (expected);               \
                                                                               \
        if (!(fabs(near_value - near_expected) <= (tolerance)))                \
            fail_msg("%s is %.12g, not %.12g within %g", #value, near_value,   \
                     near_expected, (double)(tolerance));                      \
    } while (0)

#endif
