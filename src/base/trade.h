/* The trade's own words that several parts share. */
#ifndef BASE_TRADE_H
#define BASE_TRADE_H

enum species {
    SPECIES_SUGAR_MAPLE,
    SPECIES_BLACK_MAPLE,
    SPECIES_RED_MAPLE,
    SPECIES_SILVER_MAPLE,
    SPECIES_BOX_ELDER,
    SPECIES_NORWAY_MAPLE,
    SPECIES_COUNT
};

enum gathering {
    GATHERING_BUCKETS,
    GATHERING_GRAVITY_TUBING,
    GATHERING_VACUUM,
    GATHERING_COUNT
};

/* Strength of a day, per tap. */
enum strength {
    STRENGTH_NONE,
    STRENGTH_WEEPING,
    STRENGTH_FAIR_RUN,
    STRENGTH_GOOD_RUN,
    STRENGTH_BIG_RUN,
    STRENGTH_COUNT
};

/* The words as written in configuration and JSON ("sugar maple",
 * "gravity tubing", "good run"); borrowed, not translated. */
const char *species_word(enum species species);
const char *gathering_word(enum gathering gathering);
const char *strength_word(enum strength strength);
/* The enum's number, or -1. */
int species_from_word(const char *word);
int gathering_from_word(const char *word);
int strength_from_word(const char *word);

/* What a tap brings on a good day, litres: about a gallon (common practice, no
 * source); on a pump two to three times as much (University of Vermont
 * Extension), here the less. */
double good_day_l_per_tap(enum gathering gathering);

/* Why a tree that is tapped elsewhere is not forecast here ("birch", "walnut":
 * root pressure, other physics); NULL for a word not known as such. */
const char *species_refusal(const char *word);

/* The known word nearest to a misspelt one (edit distance, a swap of neighbours
 * counted once, at most a third of its length, at least one), or NULL; borrowed
 * from `known`. */
const char *nearest_word(const char *word, const char *const *known,
                         int known_count);

#endif
