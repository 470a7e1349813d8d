/* What the operation lacks for a plan, in words. */
#include <string.h>

#include "base/words.h"
#include "publish/bulletin.h"

static const struct {
    const char *word;  /* in the JSON */
    const char *words; /* a sentence */
    const char *brief[2];
} lacks[LACKS_COUNT] = {
    [LACKS_NOTHING] = {"nothing", "", {"", ""}},
    [LACKS_TANK] = {"tank",
                    N_("No plan for collecting and boiling: the configuration "
                       "tells of no tank (storage)."),
                    {N_("No plan to collect and boil: no tank is told."),
                     N_("No tank, no plan.")}},
    [LACKS_EVAPORATOR] =
        {"evaporator",
         N_("No plan for collecting and boiling: the configuration tells of "
            "no evaporator (evaporation or pan)."),
         {N_("No plan to collect and boil: no evaporator is told."),
          N_("No evaporator, no plan.")}},
    [LACKS_HOURS] = {"hours",
                     N_("No plan for collecting and boiling: no fire fits "
                        "into the attended hours; it takes two whole hours "
                        "at least."),
                     {N_("No plan to collect and boil: no hours for a fire."),
                      N_("No fire fits, no plan.")}},
    [LACKS_TAPS] = {"taps",
                    N_("Nothing is planned until it is known that the taps "
                       "are in: thawbell note tapped."),
                    {N_("No plan until it is known that the taps are in."),
                     N_("No taps noted, no plan.")}},
};

const char *plan_lack_word(enum plan_lack lack)
{
    return lacks[lack].word;
}

int plan_lack_from_word(const char *word)
{
    for (int i = 0; i < LACKS_COUNT; i++)
        if (strcmp(word, lacks[i].word) == 0)
            return i;
    return -1;
}

const char *plan_lack_words(enum plan_lack lack)
{
    return lack == LACKS_NOTHING ? "" : _(lacks[lack].words);
}

const char *plan_lack_brief(enum plan_lack lack, int form)
{
    return lack == LACKS_NOTHING ? "" : _(lacks[lack].brief[form]);
}
