#include "base/trade.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/units.h"
#include "base/words.h"

static const char *const species_words[SPECIES_COUNT] = {
    [SPECIES_SUGAR_MAPLE] = "sugar maple",
    [SPECIES_BLACK_MAPLE] = "black maple",
    [SPECIES_RED_MAPLE] = "red maple",
    [SPECIES_SILVER_MAPLE] = "silver maple",
    [SPECIES_BOX_ELDER] = "box elder",
    [SPECIES_NORWAY_MAPLE] = "norway maple",
};

static const char *const gathering_words[GATHERING_COUNT] = {
    [GATHERING_BUCKETS] = "buckets",
    [GATHERING_GRAVITY_TUBING] = "gravity tubing",
    [GATHERING_VACUUM] = "vacuum",
};

static const char *const strength_words[STRENGTH_COUNT] = {
    [STRENGTH_NONE] = "none",         [STRENGTH_WEEPING] = "weeping",
    [STRENGTH_FAIR_RUN] = "fair run", [STRENGTH_GOOD_RUN] = "good run",
    [STRENGTH_BIG_RUN] = "big run",
};

static int find_word(const char *word, const char *const *known, int count)
{
    for (int i = 0; i < count; i++)
        if (strcmp(word, known[i]) == 0)
            return i;
    return -1;
}

const char *species_word(enum species species)
{
    return species_words[species];
}

double good_day_l_per_tap(enum gathering gathering)
{
    return (gathering == GATHERING_VACUUM ? 2 : 1) * L_PER_US_GALLON;
}

const char *gathering_word(enum gathering gathering)
{
    return gathering_words[gathering];
}

const char *strength_word(enum strength strength)
{
    return strength_words[strength];
}

int species_from_word(const char *word)
{
    return find_word(word, species_words, SPECIES_COUNT);
}

int gathering_from_word(const char *word)
{
    return find_word(word, gathering_words, GATHERING_COUNT);
}

int strength_from_word(const char *word)
{
    return find_word(word, strength_words, STRENGTH_COUNT);
}

const char *species_refusal(const char *word)
{
    if (strstr(word, "birch"))
        return _("birch sap is driven by root pressure after the thaw, not by "
                 "freeze and thaw; it is not forecast here");
    if (strstr(word, "walnut") || strstr(word, "butternut"))
        return _("walnut sap is driven partly by root pressure, which this "
                 "model does not hold; it is not forecast here");
    return NULL;
}

static int least(int a, int b, int c)
{
    int low = a < b ? a : b;
    return low < c ? low : c;
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c + ('a' - 'A')) : c;
}

enum { LONGEST_WORD = 100 };

/* Edit distance (insert, delete, replace, swap two neighbours: optimal string
 * alignment), letter case aside; neither word longer than LONGEST_WORD. */
static int edit_distance(const char *a, const char *b)
{
    int rows[3][LONGEST_WORD + 1];
    int width = (int)strlen(b);
    for (int j = 0; j <= width; j++)
        rows[0][j] = j;
    int i = 0;
    for (; a[i]; i++) {
        const int *before = rows[(i + 2) % 3], *above = rows[i % 3];
        int *row = rows[(i + 1) % 3];
        row[0] = i + 1;
        for (int j = 0; j < width; j++) {
            int same = lower(a[i]) == lower(b[j]) ? 0 : 1;
            row[j + 1] = least(row[j] + 1, above[j + 1] + 1, above[j] + same);
            bool swapped = i > 0 && j > 0 && lower(a[i]) == lower(b[j - 1]) &&
                           lower(a[i - 1]) == lower(b[j]);
            if (swapped && before[j - 1] + 1 < row[j + 1])
                row[j + 1] = before[j - 1] + 1;
        }
    }
    return rows[i % 3][width];
}

const char *nearest_word(const char *word, const char *const *known,
                         int known_count)
{
    size_t length = strlen(word);
    if (length > LONGEST_WORD)
        return NULL;
    int best = length >= 3 ? (int)(length / 3) : 1;
    const char *nearest = NULL;
    for (int i = 0; i < known_count; i++) {
        if (strlen(known[i]) > LONGEST_WORD)
            continue;
        int distance = edit_distance(word, known[i]);
        if (distance < best || (distance == best && !nearest)) {
            best = distance;
            nearest = known[i];
        }
    }
    return nearest;
}
