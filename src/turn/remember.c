#include "turn/remember.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"

int remember_load(struct store *store, const char *operation,
                  struct calendar_memory *memory, char **warning,
                  struct error *err)
{
    struct store_event *rows;
    struct error why;
    int count;

    memset(memory, 0, sizeof *memory);
    *warning = NULL;
    if (store_get_events(store, operation, &rows, &count, err) != 0)
        return -1;
    for (int i = 0; i < count; i++)
        if (calendar_memory_add_json(memory, rows[i].json, &why) != 0 &&
            *warning == NULL)
            *warning = mem_format(_("calendar event %s in the store cannot be "
                                    "read and is left out: %s"),
                                  rows[i].uid, why.text);
    store_events_free(rows, count);
    return 0;
}

static int save_events(struct store *store, const char *operation,
                       const struct calendar_memory *memory, struct error *err)
{
    struct store_event *rows =
        mem_alloc((size_t)memory->count + 1, sizeof *rows);
    int result;

    for (int i = 0; i < memory->count; i++) {
        rows[i].uid = mem_copy_text(memory->events[i].uid);
        rows[i].json = calendar_event_to_json(&memory->events[i]);
    }
    result = store_put_events(store, operation, rows, memory->count, err);
    store_events_free(rows, memory->count);
    return result;
}

static const struct bulletin_source *newest(const struct bulletin *bulletin)
{
    const struct bulletin_source *best = NULL;

    for (int i = 0; i < bulletin->source_count; i++) {
        const struct bulletin_source *source = &bulletin->sources[i];

        if (source->in_use && (best == NULL || source->issued > best->issued))
            best = source;
    }
    return best;
}

static int save_scores(struct store *store, const struct bulletin *bulletin,
                       const struct bulletin_bush *bush, struct error *err)
{
    const struct bulletin_source *source = newest(bulletin);
    const struct outlook *outlook = bush->outlook;
    struct store_score *scores =
        mem_alloc((size_t)outlook->count + 1, sizeof *scores);
    int count = 0, result;

    for (int i = 0; i < outlook->count; i++) {
        const struct outlook_day *day = &outlook->days[i];

        if (!day->known || day->past)
            continue;
        scores[count++] = (struct store_score){
            .bush = bush->name,
            .date = day->date,
            .issued = source == NULL        ? 0
                      : source->issued != 0 ? source->issued
                                            : source->fetched,
            .made = bulletin->made,
            .source = source == NULL ? "" : source->name,
            .model = outlook->model_name,
            .model_version = outlook->model_version,
            .model_digest = outlook->model_digest,
            .sap_l_per_tap_p10 = day->sap_l_per_tap_p10,
            .sap_l_per_tap_p50 = day->sap_l_per_tap_p50,
            .sap_l_per_tap_p90 = day->sap_l_per_tap_p90,
            .chance = day->chance,
        };
    }
    result = store_put_scores(store, bulletin->slug, scores, count, err);
    free(scores);
    return result;
}

int remember_save(struct store *store, const struct calendar_memory *memory,
                  const struct bulletin *bulletin, struct error *err)
{
    int result;

    if (store_begin(store, err) != 0)
        return -1;
    result = save_events(store, bulletin->slug, memory, err);
    for (int i = 0; result == 0 && i < bulletin->bush_count; i++)
        result = save_scores(store, bulletin, &bulletin->bushes[i], err);
    if (result == 0)
        return store_commit(store, err);
    store_rollback(store);
    return -1;
}
