/* What is to be done, in the line. */
#include "base/words.h"
#include "publish/phrase.h"
#include "publish/show_line.h"

/* What is to be done till then is told. */
enum { ACTION_AHEAD_S = 36 * SECONDS_PER_HOUR };

static void say_one_action(struct line *line,
                           const struct bulletin_action *action)
{
    struct bulletin_action bare = *action;
    char what[PHRASE_SIZE], when[PHRASE_SIZE], end[PHRASE_SIZE];
    bool under_way = !action->all_day && action->start <= line->now;

    line->due = under_way || civil_date_compare(action->date, line->today) == 0;
    bare.sap_l = 0;
    phrase_action_time(line->bulletin, action, line->today, when);
    phrase_end(line->bulletin, action->end, end);
    for (int form = 0; form < 2; form++) {
        phrase_action(form == 0 ? action : &bare, line->units, what);
        if (under_way)
            line_put(line, LINE_ACTION, form, _("%s until %s."), what, end);
        else
            /* What and when: "Boil 180 gal 18:00-22:00." */
            line_put(line, LINE_ACTION, form, _("%s %s."), what, when);
    }
}

/* "Nothing to do until Saturday" is an answer, of a plan that is not old; why
 * there is no plan is one too. The weekday alone is clear for a week. */
static void say_wait(struct line *line, const struct bulletin_action *next)
{
    char date[PHRASE_SIZE];

    if (line->now - line->bulletin->made >= SHOW_VERY_OLD_S)
        return;
    if (line->bulletin->lack != LACKS_NOTHING) {
        line->lacks = true;
        for (int form = 0; form < 2; form++)
            line_put(line, LINE_ACTION, form, "%s",
                     plan_lack_brief(line->bulletin->lack, form));
    }
    if (line->bulletin->plan.hours == 0)
        return;
    if (next == NULL) {
        line_put(line, LINE_ACTION, 0, _("Nothing to do in the days ahead."));
        line_put(line, LINE_ACTION, 1, _("Nothing to do."));
        return;
    }
    phrase_date(next->date, date);
    line_put(line, LINE_ACTION, 0, _("Nothing to do until %s."), date);
    line_put(line, LINE_ACTION, 1, _("Nothing to do until %s."), date);
    if (civil_date_compare(next->date, civil_date_add(line->today, 7)) < 0)
        line_put(line, LINE_ACTION, 1,
                 words_in("weekday", "Nothing to do until %s."),
                 phrase_weekday(next->date));
}

void line_say_action(struct line *line)
{
    const struct bulletin *bulletin = line->bulletin;
    const struct bulletin_action *next = NULL;

    for (int i = 0; i < bulletin->action_count; i++) {
        const struct bulletin_action *action = &bulletin->actions[i];
        utc_s start = action->all_day ? bulletin_noon(bulletin, action->date)
                                      : action->start;

        if (bulletin_action_over(bulletin, action, line->now))
            continue;
        if (start <= line->now + ACTION_AHEAD_S) {
            say_one_action(line, action);
            return;
        }
        if (next == NULL)
            next = action;
    }
    say_wait(line, next);
}
