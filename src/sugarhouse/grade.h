/* Color classes of syrup, by the light that passes.
 *
 * Per cent of light at 560 nm through 10 mm, glycerol being 100 (US Standards
 * for Grades of Maple Sirup, 80 FR 4853, 29 January 2015; Canada and New York
 * draw the same lines): Golden from 75.0, Amber from 50.0, Dark from 25.0,
 * Very Dark below. What fails in flavour is Processing Grade. */
#ifndef SUGARHOUSE_GRADE_H
#define SUGARHOUSE_GRADE_H

enum grade {
    GRADE_GOLDEN,
    GRADE_AMBER,
    GRADE_DARK,
    GRADE_VERY_DARK,
    GRADE_PROCESSING,
    GRADE_COUNT
};

/* The class of a reading, which instruments tell to a tenth. */
enum grade grade_of_light(double light_pct);
/* The word of files and commands ("very dark"), borrowed; or the reverse,
 * -1 for none. */
const char *grade_word(enum grade grade);
int grade_from_word(const char *word);

#endif
