#include "turn/remember.h"

#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/words.h"

/* Times as ISO text: a number in JSON would do, but a person who opens the
 * store reads this. */
static void add_time(cJSON *object, const char *key, utc_s instant)
{
    char words[ISO_TIME_SIZE];

    iso_time_utc(instant, words);
    json_add_text(object, key, words);
}

static void add_text(cJSON *object, const char *key, const char *words)
{
    if (words != NULL)
        json_add_text(object, key, words);
}

static char *event_to_json(const struct calendar_event *event)
{
    cJSON *object = cJSON_CreateObject();
    char date[ISO_DATE_SIZE];

    add_text(object, "summary", event->summary);
    add_text(object, "description", event->description);
    add_text(object, "url", event->url);
    if (event->all_day) {
        iso_date(event->date, date);
        json_add_text(object, "date", date);
    } else {
        add_time(object, "start", event->start);
        add_time(object, "end", event->end);
    }
    json_add_number(object, "sequence", event->sequence);
    add_time(object, "created", event->created);
    add_time(object, "modified", event->modified);
    if (event->cancelled)
        add_time(object, "cancelled_at", event->cancelled_at);
    return json_to_text(object);
}

static int get_time(const cJSON *object, const char *key, utc_s *out,
                    struct error *err)
{
    const char *words = json_string(object, key);

    if (words == NULL)
        return error_set(err, _("it has no \"%s\""), key);
    return iso_time_parse(words, 0, out, err);
}

static int event_times(const cJSON *object, struct calendar_event *event,
                       struct error *err)
{
    const char *date = json_string(object, "date");

    event->all_day = date != NULL;
    if (event->all_day)
        return iso_date_parse(date, &event->date, err);
    if (get_time(object, "start", &event->start, err) != 0)
        return -1;
    return get_time(object, "end", &event->end, err);
}

static int event_from_json(const struct store_event *row,
                           struct calendar_event *event, struct error *err)
{
    cJSON *object = json_parse(row->json, strlen(row->json), err);
    long sequence;
    int result = -1;

    if (object == NULL)
        return -1;
    if (event_times(object, event, err) == 0 &&
        get_time(object, "created", &event->created, err) == 0 &&
        get_time(object, "modified", &event->modified, err) == 0) {
        event->uid = mem_copy_text(row->uid);
        event->summary = mem_copy_text(json_string(object, "summary"));
        event->description = mem_copy_text(json_string(object, "description"));
        event->url = mem_copy_text(json_string(object, "url"));
        if (json_integer(object, "sequence", 0, 1000000, &sequence))
            event->sequence = (int)sequence;
        event->cancelled =
            get_time(object, "cancelled_at", &event->cancelled_at, NULL) == 0;
        result = 0;
    }
    cJSON_Delete(object);
    return result;
}

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
    memory->events = mem_alloc((size_t)count + 1, sizeof *memory->events);
    for (int i = 0; i < count; i++) {
        struct calendar_event *event = &memory->events[memory->count];

        memset(event, 0, sizeof *event);
        if (event_from_json(&rows[i], event, &why) == 0)
            memory->count++;
        else if (*warning == NULL)
            *warning = mem_format(_("calendar event %s in the store cannot be "
                                    "read and is left out: %s"),
                                  rows[i].uid, why.text);
    }
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
        rows[i].json = event_to_json(&memory->events[i]);
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

static int save_plan(struct store *store, const struct bulletin *bulletin,
                     struct error *err)
{
    char *json = bulletin_plan_json(bulletin);
    int result = json == NULL ? 0
                              : store_put_plan(store, bulletin->slug,
                                               bulletin->made, json, err);

    free(json);
    return result;
}

int remember_save(struct store *store, const struct calendar_memory *memory,
                  const struct bulletin *bulletin, struct error *err)
{
    int result;

    if (!store_is_begun(store) && store_begin(store, err) != 0)
        return -1;
    result = save_events(store, bulletin->slug, memory, err);
    for (int i = 0; result == 0 && i < bulletin->bush_count; i++)
        result = save_scores(store, bulletin, &bulletin->bushes[i], err);
    if (result == 0)
        result = save_plan(store, bulletin, err);
    if (result == 0)
        return store_commit(store, err);
    store_rollback(store);
    return -1;
}
