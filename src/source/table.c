#include <stdlib.h>
#include <string.h>

#include "source/services.h"
#include "source/source.h"

static const struct source *const table[] = {
    &source_nws,
    &source_metno,
    &source_open_meteo,
    &source_open_meteo_ensemble,
};

int source_count(void)
{
    return (int)(sizeof table / sizeof table[0]);
}

const struct source *source_at(int index)
{
    return index >= 0 && index < source_count() ? table[index] : NULL;
}

int source_names(const char **names, int most)
{
    int count = 0;

    while (count < source_count() && count < most) {
        names[count] = table[count]->name;
        count++;
    }
    return count;
}

const struct source *source_find(const char *name)
{
    for (int i = 0; i < source_count(); i++)
        if (strcmp(table[i]->name, name) == 0)
            return table[i];
    return NULL;
}

void source_answer_free(struct source_answer *answer)
{
    series_free(answer->series);
    members_free(answer->members);
    error_list_free(&answer->refused);
    *answer = (struct source_answer){0};
}
