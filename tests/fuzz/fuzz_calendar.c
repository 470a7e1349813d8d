/* Any bytes as a feed to be published or served, and as an event that the
 * store remembers. A feed that our check lets through is one to libical too. */
#include "promise.h"

#include <libical/ical.h>

#include "publish/calendar.h"
#include "store/store.h"
#include "turn/remember.h"

static void check_feed(const char *bytes, size_t size)
{
    struct error err = {""};
    int result = calendar_check(bytes, size, &err);
    icalcomponent *parsed;
    char *text;

    promise_result(result, &err);
    if (result != 0)
        return;
    text = input_text((const uint8_t *)bytes, size);
    PROMISE(strlen(text) == size);
    parsed = icalparser_parse_string(text);
    PROMISE(parsed && icalcomponent_isa(parsed) == ICAL_VCALENDAR_COMPONENT);
    PROMISE(icalcomponent_count_components(parsed, ICAL_VEVENT_COMPONENT) > 0);
    icalcomponent_free(parsed);
    free(text);
}

/* What is remembered is remembered again as the same. */
static void check_again(struct store *store,
                        const struct calendar_memory *memory)
{
    static const struct bulletin nothing = {.slug = "slug", .made = 1772838600};
    struct calendar_memory back = {0};
    struct error err = {""};
    char *warning = NULL;

    PROMISE(remember_save(store, memory, &nothing, &err) == 0);
    PROMISE(remember_load(store, "slug", &back, &warning, &err) == 0);
    PROMISE(warning == NULL && back.count == memory->count);
    for (int i = 0; i < back.count; i++) {
        const struct calendar_event *was = &memory->events[i];
        const struct calendar_event *is = &back.events[i];

        PROMISE(strcmp(was->uid, is->uid) == 0);
        PROMISE(strcmp(was->summary, is->summary) == 0);
        PROMISE(was->all_day == is->all_day && was->start == is->start);
        PROMISE(was->sequence == is->sequence);
        PROMISE(was->created == is->created && was->modified == is->modified);
        PROMISE(was->cancelled == is->cancelled);
    }
    calendar_memory_free(&back);
}

static void check_event(const char *json)
{
    static struct store *store;
    struct store_event event = {(char *)(uintptr_t) "uid@example.org",
                                (char *)(uintptr_t)json};
    struct calendar_memory memory = {0};
    struct error err = {""};
    char *warning = NULL;

    if (store == NULL)
        PROMISE(store_open(":memory:", 1772838600, &store, &warning, &err) ==
                0);
    PROMISE(store_put_events(store, "slug", &event, 1, &err) == 0);
    PROMISE(remember_load(store, "slug", &memory, &warning, &err) == 0);
    PROMISE((memory.count == 1) == (warning == NULL));
    if (warning)
        promise_sentence(warning);
    else
        check_again(store, &memory);
    free(warning);
    calendar_memory_free(&memory);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = input_text(data, size);

    check_feed((const char *)data, size);
    check_event(text);
    free(text);
    return 0;
}
