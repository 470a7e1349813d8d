#include "sugarhouse/grade.h"

#include <math.h>
#include <string.h>

static const char *const words[GRADE_COUNT] = {"golden", "amber", "dark",
                                               "very dark", "processing"};
/* The least light of each class but the last. */
static const double least_pct[] = {75.0, 50.0, 25.0};

enum grade grade_of_light(double light_pct)
{
    double tenths = round(light_pct * 10);

    for (int grade = 0; grade < 3; grade++)
        if (tenths >= least_pct[grade] * 10)
            return (enum grade)grade;
    return GRADE_VERY_DARK;
}

const char *grade_word(enum grade grade)
{
    return words[grade];
}

int grade_from_word(const char *word)
{
    for (int grade = 0; grade < GRADE_COUNT; grade++)
        if (strcmp(words[grade], word) == 0)
            return grade;
    return -1;
}
