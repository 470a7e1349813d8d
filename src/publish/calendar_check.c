/* Our own check of a calendar's bytes: what RFC 5545 and 7986 ask and what
 * clients have been seen to stumble over. None of the parsers validates. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/units.h"
#include "base/words.h"
#include "publish/calendar.h"
#include "publish/calendar_lines.h"

/* The properties an event of ours may have. */
enum property {
    UID,
    DTSTAMP,
    CREATED,
    LAST_MODIFIED,
    SEQUENCE,
    DTSTART,
    DTEND,
    SUMMARY,
    DESCRIPTION,
    STATUS,
    TRANSP,
    URL,
    PROPERTY_COUNT
};

static const struct {
    const char *name;
    bool required;
} properties[PROPERTY_COUNT] = {
    [UID] = {"UID", true},
    [DTSTAMP] = {"DTSTAMP", true},
    [CREATED] = {"CREATED", true},
    [LAST_MODIFIED] = {"LAST-MODIFIED", true},
    [SEQUENCE] = {"SEQUENCE", true},
    [DTSTART] = {"DTSTART", true},
    [DTEND] = {"DTEND", true},
    [SUMMARY] = {"SUMMARY", true},
    [DESCRIPTION] = {"DESCRIPTION", false},
    [STATUS] = {"STATUS", false},
    [TRANSP] = {"TRANSP", false},
    [URL] = {"URL", false},
};

struct check {
    struct calendar_reader reader;
    int depth;      /* 0 outside, 1 in VCALENDAR, 2 in VEVENT */
    int event_line; /* where the event began */
    int events;
    bool ended, version, prodid;
    bool has[PROPERTY_COUNT];
    bool is_date[PROPERTY_COUNT];
    utc_s time[PROPERTY_COUNT];
    struct error_list uids; /* of the events so far */
};

/* The reader's line put before the words. */
static int at_line(const struct check *check, struct error *err,
                   const char *words)
{
    return error_set(err, _("line %d: %s: %s"), check->reader.first_line,
                     check->reader.name, words);
}

static bool digits(const char *words, size_t count, int *out)
{
    *out = 0;
    for (size_t i = 0; i < count; i++) {
        if (words[i] < '0' || words[i] > '9')
            return false;
        *out = *out * 10 + (words[i] - '0');
    }
    return true;
}

static bool parse_date(const char *words, utc_s *out)
{
    struct civil_date date;

    if (!digits(words, 4, &date.year) || !digits(words + 4, 2, &date.month) ||
        !digits(words + 6, 2, &date.day) || !civil_date_valid(date))
        return false;
    *out = civil_day_number(date) * SECONDS_PER_DAY;
    return true;
}

/* "20260307T150000Z" */
static bool parse_utc(const char *words, utc_s *out)
{
    int hour, minute, second;

    if (strlen(words) != 16 || words[8] != 'T' || words[15] != 'Z' ||
        !parse_date(words, out) || !digits(words + 9, 2, &hour) ||
        !digits(words + 11, 2, &minute) || !digits(words + 13, 2, &second) ||
        hour > 23 || minute > 59 || second > 59)
        return false;
    *out += hour * SECONDS_PER_HOUR + minute * 60 + second;
    return true;
}

static int check_time(struct check *check, enum property property,
                      struct error *err)
{
    const struct calendar_reader *reader = &check->reader;
    bool may_be_date = property == DTSTART || property == DTEND;

    if (may_be_date && strcmp(reader->params, "VALUE=DATE") == 0) {
        check->is_date[property] = true;
        if (strlen(reader->value) == 8 &&
            parse_date(reader->value, &check->time[property]))
            return 0;
        return at_line(check, err, _("no real date"));
    }
    check->is_date[property] = false;
    if (reader->params[0] != '\0')
        return at_line(check, err, _("a zone or type that is not ours"));
    if (parse_utc(reader->value, &check->time[property]))
        return 0;
    return at_line(check, err, _("no real time in UTC"));
}

/* RFC 5545 section 3.3.11: what must be escaped is, and nothing else is. */
static int check_text(const struct check *check, struct error *err)
{
    for (const char *at = check->reader.value; *at != '\0'; at++) {
        if (*at == ';' || *at == ',')
            return at_line(check, err, _("comma or semicolon not escaped"));
        if (*at == '\\' && (at[1] == '\0' || strchr("\\;,nN", at[1]) == NULL))
            return at_line(check, err, _("a backslash that escapes nothing"));
        at += *at == '\\';
    }
    return 0;
}

static int check_uid(struct check *check, struct error *err)
{
    const char *uid = check->reader.value;

    if (uid[0] == '\0')
        return at_line(check, err, _("is empty"));
    for (int i = 0; i < check->uids.count; i++)
        if (strcmp(check->uids.items[i], uid) == 0)
            return at_line(check, err, _("another event has it already"));
    error_list_add(&check->uids, "%s", uid);
    return check_text(check, err);
}

static bool is_word(const char *value, const char *const *words)
{
    for (; *words != NULL; words++)
        if (strcmp(value, *words) == 0)
            return true;
    return false;
}

static int check_words(const struct check *check, const char *const *words,
                       struct error *err)
{
    if (is_word(check->reader.value, words))
        return 0;
    return at_line(check, err, _("no value allowed here"));
}

static int check_url(const struct check *check, struct error *err)
{
    const char *url = check->reader.value;

    if (strncmp(url, "https://", 8) != 0 && strncmp(url, "http://", 7) != 0)
        return at_line(check, err, _("no web address"));
    if (strchr(url, ' ') != NULL)
        return at_line(check, err, _("a blank in a web address"));
    return 0;
}

static int check_value(struct check *check, enum property property,
                       struct error *err)
{
    static const char *const statuses[] = {"CONFIRMED", "TENTATIVE",
                                           "CANCELLED", NULL};
    static const char *const transparencies[] = {"TRANSPARENT", "OPAQUE", NULL};
    long sequence;

    switch (property) {
    case UID:
        return check_uid(check, err);
    case SEQUENCE:
        return integer_parse(check->reader.value, 0, 1000000000, &sequence)
                   ? 0
                   : at_line(check, err, _("no whole number"));
    case SUMMARY:
        return check->reader.value[0] != '\0'
                   ? check_text(check, err)
                   : at_line(check, err, _("is empty"));
    case DESCRIPTION:
        return check_text(check, err);
    case STATUS:
        return check_words(check, statuses, err);
    case TRANSP:
        return check_words(check, transparencies, err);
    case URL:
        return check_url(check, err);
    default:
        return check_time(check, property, err);
    }
}

static int event_line(struct check *check, struct error *err)
{
    for (int i = 0; i < PROPERTY_COUNT; i++) {
        if (strcmp(check->reader.name, properties[i].name) != 0)
            continue;
        if (check->has[i])
            return at_line(check, err, _("comes twice in one event"));
        check->has[i] = true;
        return check_value(check, (enum property)i, err);
    }
    return at_line(check, err, _("a property that our events do not have"));
}

static int calendar_line(struct check *check, struct error *err)
{
    const char *name = check->reader.name, *value = check->reader.value;

    if (strcmp(name, "METHOD") == 0)
        return at_line(check, err, _("a feed has none"));
    if (strncmp(name, "X-LIC-", 6) == 0)
        return at_line(check, err, _("a complaint of the library"));
    if (strcmp(name, "REFRESH-INTERVAL") == 0 &&
        strcmp(check->reader.params, "VALUE=DURATION") != 0)
        return at_line(check, err, _("without VALUE=DURATION"));
    if (strcmp(name, "URL") == 0)
        return check_url(check, err);
    if (strcmp(name, "NAME") == 0 || strcmp(name, "DESCRIPTION") == 0)
        return check_text(check, err);
    if (strcmp(name, "VERSION") == 0)
        check->version = strcmp(value, "2.0") == 0;
    if (strcmp(name, "PRODID") == 0)
        check->prodid = value[0] != '\0';
    return 0;
}

/* What only shows when the event is whole. */
static int end_event(struct check *check, struct error *err)
{
    for (int i = 0; i < PROPERTY_COUNT; i++)
        if (properties[i].required && !check->has[i])
            return error_set(err, _("line %d: the event has no %s"),
                             check->event_line, properties[i].name);
    if (check->is_date[DTSTART] != check->is_date[DTEND])
        return error_set(err,
                         _("line %d: the event's DTSTART and DTEND are of "
                           "different kinds"),
                         check->event_line);
    if (check->time[DTEND] <= check->time[DTSTART])
        return error_set(err, _("line %d: the event ends before it starts"),
                         check->event_line);
    if (check->time[DTSTAMP] != check->time[LAST_MODIFIED])
        return error_set(err,
                         _("line %d: the event's DTSTAMP is not its "
                           "LAST-MODIFIED"),
                         check->event_line);
    check->events++;
    return 0;
}

static int begin_part(struct check *check, struct error *err)
{
    const char *part = check->reader.value;

    if (check->depth == 0 && !check->ended && strcmp(part, "VCALENDAR") == 0) {
        check->depth = 1;
        return 0;
    }
    if (check->depth == 1 && strcmp(part, "VEVENT") == 0) {
        check->depth = 2;
        check->event_line = check->reader.first_line;
        memset(check->has, 0, sizeof check->has);
        return 0;
    }
    return at_line(check, err, _("a part that has no place here"));
}

static int end_part(struct check *check, struct error *err)
{
    const char *part = check->reader.value;

    if (check->depth == 2 && strcmp(part, "VEVENT") == 0) {
        check->depth = 1;
        return end_event(check, err);
    }
    if (check->depth == 1 && strcmp(part, "VCALENDAR") == 0) {
        check->depth = 0;
        check->ended = true;
        return 0;
    }
    return at_line(check, err, _("ends what has not begun"));
}

static int check_line(struct check *check, struct error *err)
{
    bool part = strcmp(check->reader.name, "BEGIN") == 0 ||
                strcmp(check->reader.name, "END") == 0;

    if (part && check->reader.params[0] != '\0')
        return at_line(check, err, _("a part that has no place here"));
    if (strcmp(check->reader.name, "BEGIN") == 0)
        return begin_part(check, err);
    if (strcmp(check->reader.name, "END") == 0)
        return end_part(check, err);
    if (check->depth == 0)
        return at_line(check, err, _("outside of the calendar"));
    return check->depth == 1 ? calendar_line(check, err)
                             : event_line(check, err);
}

static int check_whole(const struct check *check, struct error *err)
{
    if (!check->ended)
        return error_set(err, _("the calendar does not end"));
    if (!check->version || !check->prodid)
        return error_set(err, _("the calendar has no VERSION:2.0 or PRODID"));
    if (check->events == 0)
        return error_set(err, _("the calendar holds no event"));
    return 0;
}

int calendar_check(const char *bytes, size_t length, struct error *err)
{
    struct check *check = mem_alloc(1, sizeof *check);
    int result;

    calendar_reader_init(&check->reader, bytes, length);
    do {
        result = calendar_reader_next(&check->reader, err);
        if (result == 1 && check_line(check, err) != 0)
            result = -1;
    } while (result == 1);
    if (result == 0)
        result = check_whole(check, err);
    calendar_reader_free(&check->reader);
    error_list_free(&check->uids);
    free(check);
    return result;
}
