/* Writes calendars and bulletins of many kinds into a folder, each calendar
 * with what a reader must give back: NAME.ics and NAME.expected.json,
 * NAME.bulletin.json. All figures and names are invented. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/text.h"
#include "case_files.h"
#include "fake_bulletin.h"
#include "publish/calendar.h"
#include "test_seed.h"

static const char *folder;

static cJSON *expected_event(const struct calendar_event *event)
{
    cJSON *object = cJSON_CreateObject();
    char date[ISO_DATE_SIZE];

    cJSON_AddStringToObject(object, "uid", event->uid);
    cJSON_AddStringToObject(object, "summary", event->summary);
    cJSON_AddStringToObject(object, "description", event->description);
    cJSON_AddNumberToObject(object, "sequence", event->sequence);
    cJSON_AddNumberToObject(object, "modified_s", (double)event->modified);
    cJSON_AddBoolToObject(object, "cancelled", event->cancelled);
    if (event->all_day) {
        iso_date(event->date, date);
        cJSON_AddStringToObject(object, "date", date);
        iso_date(civil_date_add(event->date, 1), date);
        cJSON_AddStringToObject(object, "day_after", date);
    } else {
        cJSON_AddNumberToObject(object, "start_s", (double)event->start);
        cJSON_AddNumberToObject(object, "end_s", (double)event->end);
    }
    return object;
}

static void write_case(const char *name, const struct calendar_memory *memory,
                       const struct bulletin *bulletin)
{
    char *ics = calendar_to_ics(memory, bulletin, "https://example.org/page");
    char *json = bulletin_to_json(bulletin);
    cJSON *expected = cJSON_CreateArray();
    struct error err = {""};
    char *words;

    must(calendar_check(ics, strlen(ics), &err), &err);
    for (int i = 0; i < memory->count; i++)
        cJSON_AddItemToArray(expected, expected_event(&memory->events[i]));
    words = cJSON_Print(expected);
    case_write(folder, name, ".ics", ics);
    case_write(folder, name, ".bulletin.json", json);
    case_write(folder, name, ".expected.json", words);
    cJSON_free(words);
    cJSON_Delete(expected);
    free(json);
    free(ics);
}

static void finish_case(const char *name, struct bulletin *bulletin)
{
    struct calendar_memory memory = {0};

    bulletin_sum_days(bulletin);
    calendar_update(&memory, bulletin);
    write_case(name, &memory, bulletin);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void write_plain(void)
{
    finish_case("plain", fake_bulletin());
}

static void write_lacking(void)
{
    struct bulletin *bulletin = fake_bulletin();

    bulletin->lack = LACKS_EVAPORATOR;
    finish_case("lacking", bulletin);
}

static void write_metric_with_gaps(void)
{
    struct bulletin *bulletin = fake_bulletin();

    bulletin->units = UNITS_METRIC;
    bulletin->weather_from = 0;
    bulletin->bushes[0].air_known[90] = false;
    bulletin->bushes[1].outlook->days[4].known = false;
    bulletin->bushes[0].outlook->days[2].has_window = false;
    bulletin->bushes[0].outlook->days[2].has_spread = false;
    snprintf(bulletin->sources[1].trouble, sizeof bulletin->sources[1].trouble,
             "answered 503");
    bulletin->sources[1].trouble_since = FAKE_MADE - 7200;
    error_list_add(&bulletin->notes, "%s", "Weather of the 9th is missing.");
    bulletin->pan = (struct bulletin_pan){
        67.5, 450, FAKE_MADE - 600, 3, {961.2, 0, 960.8}, {true, false, true}};
    fake_season(&bulletin->bushes[0]);
    fake_season(&bulletin->bushes[1]);
    bulletin->bushes[1].season->swell.known = false;
    bulletin->bushes[1].season->tapped.year = 0;
    bulletin->bushes[1].season->has_taphole = false;
    finish_case("metric-gaps", bulletin);
}

/* Accents and emoji over the folds, at every shift. */
static void write_accents(void)
{
    static const char *const letters[] = {"é", "œ", "🍁", "€", "a", "Ł", "雪"};

    for (int shift = 0; shift < 7; shift++) {
        struct bulletin *bulletin = fake_bulletin();
        char name[32];
        struct text words;

        snprintf(name, sizeof name, "accents-%d", shift);
        snprintf(bulletin->operation, sizeof bulletin->operation,
                 "Érablière de l'Été 🍁, n° %d; \\haut", shift);
        text_init(&words, sizeof bulletin->sources[0].credit - 1);
        for (int i = 0; !words.full; i++)
            text_add(&words, letters[(i + shift) % 7]);
        snprintf(bulletin->sources[0].credit,
                 sizeof bulletin->sources[0].credit, "%s", words.bytes);
        snprintf(bulletin->bushes[0].name, sizeof bulletin->bushes[0].name,
                 "%s", shift % 2 ? "érablière du ruisseau" : "北の森");
        text_free(&words);
        finish_case(name, bulletin);
    }
}

static struct bulletin_action action(const struct bulletin *bulletin,
                                     enum action_kind kind, int month, int day,
                                     int from_h, int hours)
{
    struct bulletin_action made = {.kind = kind, .date = {2026, month, day}};

    made.start = zone_instant(bulletin->zone, made.date, from_h, 0, 0);
    made.end = made.start + (utc_s)hours * SECONDS_PER_HOUR;
    made.sap_l = 700;
    return made;
}

static void give_actions(struct bulletin *bulletin,
                         const struct bulletin_action *actions, int count)
{
    bulletin->actions = mem_alloc((size_t)count + 1, sizeof *bulletin->actions);
    memcpy(bulletin->actions, actions, (size_t)count * sizeof *actions);
    bulletin->action_count = count;
}

/* A plan of a day, in made-up figures. */
static void give_plan(struct bulletin *bulletin)
{
    enum { HOURS = 24 };
    struct bulletin_plan *plan = &bulletin->plan;

    plan->start = bulletin->made - bulletin->made % SECONDS_PER_HOUR;
    plan->hours = HOURS;
    plan->buckets_l = mem_alloc(HOURS, sizeof *plan->buckets_l);
    plan->tanks_l = mem_alloc(HOURS, sizeof *plan->tanks_l);
    for (int hour = 0; hour < HOURS; hour++) {
        plan->buckets_l[hour] = 20 * hour;
        plan->tanks_l[hour] = 500 - 20 * hour;
    }
    plan->buckets_hold_l = 2100;
    plan->tanks_hold_l = 1136;
    plan->ran_l = 900;
    plan->boiled_l = 800;
    plan->syrup_l = 18;
    plan->overflow_l = 12;
    plan->spoiled_l = 3;
    plan->loss_chance = 0.1;
}

/* Three sentences with a value of each kind. */
static void fill_sayings(struct saying sayings[3])
{
    memset(sayings, 0, 3 * sizeof *sayings);
    for (int i = 0; i < 3; i++)
        snprintf(sayings[i].pattern, sizeof sayings[i].pattern, "%s",
                 "%s, %s, %s.");
    sayings[0].values[0] = said_volume(120.5);
    sayings[0].values[1] = said_chance(0.85);
    sayings[0].values[2] = said_moment(FAKE_MADE);
    sayings[1].values[0] = said_clock(FAKE_MADE);
    sayings[1].values[1] = said_date((struct civil_date){2026, 3, 8});
    sayings[1].values[2] = said_heat(103.1);
    sayings[2].values[0] = said_count(19);
    sayings[2].values[1] = said_near_heat(103.1);
    sayings[2].values[2] = said_volume(40);
}

/* The words that people read are those that stand there already. */
static void give_sayings(struct bulletin *bulletin,
                         struct bulletin_action *action)
{
    struct saying sayings[3];

    fill_sayings(sayings);
    error_list_add(&bulletin->notes, "%s", "Trois fois dit.");
    for (int i = 0; i < 3; i++) {
        action->said[i].place = SAYING_UNLESS;
        action->said[i].saying = sayings[i];
        bulletin->notes_said[i].saying = sayings[i];
    }
    action->said_count = 3;
    bulletin->note_said_count = 3;
}

static void write_french(void)
{
    struct bulletin *bulletin = fake_bulletin();
    struct bulletin_action actions[2] = {
        action(bulletin, ACTION_BOIL, 3, 7, 18, 4),
        action(bulletin, ACTION_COLLECT, 3, 8, 16, 2)};

    snprintf(bulletin->language, sizeof bulletin->language, "fr");
    bulletin->units = UNITS_METRIC;
    snprintf(actions[0].reason, sizeof actions[0].reason,
             "Le réservoir déborderait à 3 h\u202f: mieux vaut bouillir ce "
             "soir, jusqu'à 22 h.");
    snprintf(actions[1].unless, sizeof actions[1].unless,
             "À moins qu'il ne gèle plus tôt; voir la météo, puis décider.");
    snprintf(actions[0].detail, sizeof actions[0].detail,
             "Allumé avant 19 h, le feu est éteint à 22 h 30.");
    actions[0].averts = AVERTS_OVERFLOW;
    actions[0].syrup_l = 11;
    actions[0].draw_off_c = 103.1;
    actions[0].start_by = actions[0].start + SECONDS_PER_HOUR;
    actions[0].done_by = actions[0].start + 6 * SECONDS_PER_HOUR;
    give_sayings(bulletin, &actions[0]);
    give_actions(bulletin, actions, 2);
    give_plan(bulletin);
    finish_case("french", bulletin);
}

/* The nights of both changes of the clock, 2026 in New York. */
static void write_clock_changes(void)
{
    struct bulletin *bulletin = fake_bulletin();
    struct bulletin_action actions[5] = {
        action(bulletin, ACTION_BOIL, 3, 7, 22, 6),
        action(bulletin, ACTION_BOIL, 3, 8, 2, 1),
        action(bulletin, ACTION_COLLECT, 3, 8, 3, 1),
        action(bulletin, ACTION_BOIL, 11, 1, 1, 1),
        action(bulletin, ACTION_COLLECT, 10, 31, 22, 8)};

    snprintf(actions[2].bush, sizeof actions[2].bush, "north");
    give_actions(bulletin, actions, 5);
    finish_case("clock-changes", bulletin);
}

static void write_cancelled(void)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    struct bulletin_action actions[2] = {
        action(bulletin, ACTION_BOIL, 3, 9, 18, 4),
        action(bulletin, ACTION_TAP, 3, 10, 0, 24)};

    actions[1].all_day = true;
    give_actions(bulletin, actions, 2);
    calendar_update(&memory, bulletin);
    bulletin->action_count = 0;
    bulletin->made += SECONDS_PER_HOUR;
    bulletin->days[2].strength = STRENGTH_NONE;
    calendar_update(&memory, bulletin);
    write_case("cancelled", &memory, bulletin);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

/* No backslash: python3-icalendar 4.0.3 undoes the escapes one kind after the
 * other, and so reads a backslash before a comma wrongly. The unit tests of
 * the calendar cover it. */
static char *random_words(uint64_t *seed, size_t most)
{
    static const char *const letters[] = {"a", "b",  " ", "é",  "🍁",  ";",
                                          ",", "\n", ":", "\"", "雪", "ö"};
    struct text words;

    text_init(&words, most);
    /* No event of ours is without words. */
    text_add(&words, "a");
    while (!words.full) {
        *seed = *seed * 6364136223846793005u + 1442695040888963407u;
        text_add(&words, letters[(*seed >> 33) % 12]);
    }
    text_add(&words, "");
    return text_steal(&words);
}

/* A season of 90 events with texts of all kinds. */
static void write_ninety(uint64_t seed)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};

    memory.events = mem_alloc(90, sizeof *memory.events);
    for (int i = 0; i < 90; i++) {
        struct calendar_event *event = &memory.events[memory.count++];

        event->uid = mem_format("tamarack-bend-run-%d@thawbell", i);
        event->summary = random_words(&seed, 3 + (size_t)i);
        event->description = random_words(&seed, 20 + 9 * (size_t)i);
        event->all_day = i % 3 != 0;
        event->date = civil_date_add((struct civil_date){2026, 2, 1}, i);
        event->start = FAKE_MADE + (utc_s)i * 40000;
        event->end = event->start + 3600 + i;
        event->sequence = i;
        event->created = FAKE_MADE;
        event->modified = FAKE_MADE + i;
    }
    write_case("ninety", &memory, bulletin);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void write_nothing_yet(void)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};

    for (int i = 0; i < bulletin->day_count; i++) {
        bulletin->days[i].strength = STRENGTH_NONE;
        bulletin->days[i].chance = 0.1;
    }
    calendar_update(&memory, bulletin);
    write_case("nothing-yet", &memory, bulletin);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

int main(int argc, char **argv)
{
    if (argc != 2) {
        fprintf(stderr, "usage: write_feeds FOLDER\n");
        return 2;
    }
    folder = argv[1];
    write_plain();
    write_lacking();
    write_metric_with_gaps();
    write_accents();
    write_french();
    write_clock_changes();
    write_cancelled();
    write_ninety(test_seed());
    write_nothing_yet();
    return 0;
}
