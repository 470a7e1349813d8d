/* The calendar's bytes, through libical. What libical does not guard is
 * guarded here: controls pass its TEXT, line breaks its URIs. */
#include <libical/ical.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "publish/calendar_events.h"
#include "publish/phrase.h"

enum { REFRESH_HOURS = 1 };

/* More than libical takes for a calendar and for each event of it, which it
 * does not look whether it got. */
enum { LIBRARY_BYTES = 1024 * 1024, LIBRARY_EVENT_BYTES = 16 * 1024 };

/* Some readers do not undo the escapes in a calendar's name: none needed. */
static char *plain_text(const char *words)
{
    char *plain = utf8_clean(words, "\n");

    for (char *at = plain; *at != '\0'; at++)
        if (strchr(";,\\\n", *at) != NULL)
            *at = ' ';
    return plain;
}

static void add_text(icalcomponent *to, icalproperty *(*make)(const char *),
                     const char *words)
{
    char *clean = utf8_clean(words, "\n");

    icalcomponent_add_property(to, make(clean));
    free(clean);
}

static void add_x(icalcomponent *to, const char *name, const char *words)
{
    char *plain = plain_text(words);
    icalproperty *property = icalproperty_new_x(plain);

    icalproperty_set_x_name(property, name);
    icalcomponent_add_property(to, property);
    free(plain);
}

static bool plain_address(const char *url)
{
    if (url == NULL ||
        (strncmp(url, "https://", 8) != 0 && strncmp(url, "http://", 7) != 0))
        return false;
    for (; *url != '\0'; url++)
        if (*url <= ' ' || *url > '~')
            return false;
    return true;
}

static struct icaltimetype utc_time(utc_s instant)
{
    return icaltime_from_timet_with_zone((time_t)instant, 0,
                                         icaltimezone_get_utc_timezone());
}

static struct icaltimetype whole_day(struct civil_date date)
{
    struct icaltimetype day = icaltime_null_date();

    day.year = date.year;
    day.month = date.month;
    day.day = date.day;
    return day;
}

static void add_times(icalcomponent *to, const struct calendar_event *event)
{
    struct icaltimetype start =
        event->all_day ? whole_day(event->date) : utc_time(event->start);
    struct icaltimetype end = event->all_day
                                  ? whole_day(civil_date_add(event->date, 1))
                                  : utc_time(event->end);

    icalcomponent_add_property(to, icalproperty_new_dtstart(start));
    icalcomponent_add_property(to, icalproperty_new_dtend(end));
}

/* The description with the time of the last change, which is a fact of the
 * event and so leaves the bytes alone while nothing changes. */
static void add_description(icalcomponent *to,
                            const struct calendar_event *event,
                            const struct bulletin *bulletin)
{
    char moment[PHRASE_SIZE];
    const char *words = event->description != NULL ? event->description : "";
    char *told, *all;

    phrase_moment(bulletin, event->modified, moment);
    told = mem_format(_("Last changed %s."), moment);
    all = mem_format("%s%s", words, told);
    add_text(to, icalproperty_new_description, all);
    free(told);
    free(all);
}

static icalcomponent *make_event(const struct calendar_event *event,
                                 const struct bulletin *bulletin,
                                 const char *page_url)
{
    icalcomponent *made = icalcomponent_new_vevent();
    const char *url = event->url != NULL ? event->url : page_url;

    add_text(made, icalproperty_new_uid, event->uid);
    icalcomponent_add_property(
        made, icalproperty_new_dtstamp(utc_time(event->modified)));
    icalcomponent_add_property(
        made, icalproperty_new_created(utc_time(event->created)));
    icalcomponent_add_property(
        made, icalproperty_new_lastmodified(utc_time(event->modified)));
    icalcomponent_add_property(made,
                               icalproperty_new_sequence(event->sequence));
    add_times(made, event);
    add_text(made, icalproperty_new_summary,
             event->summary != NULL ? event->summary : "");
    add_description(made, event, bulletin);
    if (event->cancelled)
        icalcomponent_add_property(
            made, icalproperty_new_status(ICAL_STATUS_CANCELLED));
    icalcomponent_add_property(
        made, icalproperty_new_transp(ICAL_TRANSP_TRANSPARENT));
    if (plain_address(url))
        icalcomponent_add_property(made, icalproperty_new_url(url));
    return made;
}

static char *credit_words(const struct bulletin *bulletin)
{
    struct text out;

    text_init(&out, 4000);
    text_addf(&out, _("Sap runs expected at %s."), bulletin->operation);
    for (int i = 0; i < bulletin->source_count; i++) {
        const struct bulletin_source *source = &bulletin->sources[i];

        if (bulletin_has_credit(bulletin, i))
            text_addf(&out, _("\nSource: %s %s"), source->credit,
                      source->credit_url);
    }
    return text_steal(&out);
}

static utc_s last_change(const struct calendar_memory *memory)
{
    utc_s last = 0;

    for (int i = 0; i < memory->count; i++)
        if (memory->events[i].modified > last)
            last = memory->events[i].modified;
    return last;
}

static void add_names(icalcomponent *calendar, const struct bulletin *bulletin)
{
    char *words = mem_format(_("Sap: %s"), bulletin->operation);
    char *name = plain_text(words), *credit = credit_words(bulletin);

    add_text(calendar, icalproperty_new_name, name);
    add_x(calendar, "X-WR-CALNAME", name);
    add_text(calendar, icalproperty_new_description, credit);
    add_x(calendar, "X-WR-CALDESC", credit);
    add_x(calendar, "X-WR-TIMEZONE", bulletin->zone_name);
    free(words);
    free(name);
    free(credit);
}

static void add_manners(icalcomponent *calendar)
{
    struct icaldurationtype refresh = {.hours = REFRESH_HOURS};

    icalcomponent_add_property(calendar,
                               icalproperty_new_refreshinterval(refresh));
    add_x(calendar, "X-PUBLISHED-TTL", "PT1H");
    add_text(calendar, icalproperty_new_color, "peru");
    add_x(calendar, "X-APPLE-CALENDAR-COLOR", "#CD853F");
}

static icalcomponent *make_calendar(const struct calendar_memory *memory,
                                    const struct bulletin *bulletin,
                                    const char *page_url)
{
    icalcomponent *calendar = icalcomponent_new_vcalendar();
    utc_s changed = last_change(memory);

    add_text(calendar, icalproperty_new_version, "2.0");
    add_text(calendar, icalproperty_new_prodid, "-//thawbell//calendar 1//EN");
    add_text(calendar, icalproperty_new_calscale, "GREGORIAN");
    add_names(calendar, bulletin);
    add_manners(calendar);
    if (changed != 0)
        icalcomponent_add_property(
            calendar, icalproperty_new_lastmodified(utc_time(changed)));
    if (plain_address(page_url))
        icalcomponent_add_property(calendar, icalproperty_new_url(page_url));
    return calendar;
}

char *calendar_to_ics(const struct calendar_memory *memory,
                      const struct bulletin *bulletin, const char *page_url)
{
    const char *before = words_use(bulletin->language);
    icalcomponent *calendar;
    char *printed, *bytes;

    mem_spare(LIBRARY_BYTES + (size_t)memory->count * LIBRARY_EVENT_BYTES);
    calendar = make_calendar(memory, bulletin, page_url);
    for (int i = 0; i < memory->count; i++)
        if (calendar_is_told(&memory->events[i], bulletin->made))
            icalcomponent_add_component(
                calendar, make_event(&memory->events[i], bulletin, page_url));
    words_use(before);
    printed = icalcomponent_as_ical_string_r(calendar);
    bytes = mem_copy_text(printed != NULL ? printed : "");
    icalmemory_free_buffer(printed);
    icalcomponent_free(calendar);
    return bytes;
}
