/* Any words as a note of the logbook: the first byte chooses the kind and how
 * many bushes there are. */
#include "promise.h"

#include "logbook/note_words.h"

enum { MOST_WORDS = 64 };

static const utc_s now = 1772838600; /* 6 March 2026 */

static void check_note(const struct log_note *note)
{
    struct error err = {""};

    PROMISE(log_note_check(note, &err) == 0);
    PROMISE(note->at <= now);
    PROMISE(note->bush[0] == '\0' || strcmp(note->bush, "north") == 0 ||
            strcmp(note->bush, "brook") == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const bushes[] = {"north", "brook"};
    static struct zone *zone;
    struct note_context context = {now, NULL, bushes, 1};
    const char *words[MOST_WORDS];
    struct log_note note = {0};
    struct error err = {""};
    int count = 0, result;
    char *text, *rest;

    if (size == 0)
        return 0;
    if (zone == NULL)
        zone = zone_open("America/New_York", &err);
    PROMISE(zone);
    context.zone = zone;
    context.bush_count = 1 + (data[0] & 1);
    note.kind = (enum log_kind)((data[0] >> 1) % LOG_KIND_COUNT);
    text = input_text(data + 1, size - 1);
    /* At line ends, so that a word may hold a blank ("2.1 Brix"). */
    for (rest = text; count < MOST_WORDS; rest++) {
        words[count++] = rest;
        rest = strchr(rest, '\n');
        if (rest == NULL)
            break;
        *rest = '\0';
    }
    result = note_words_parse(&context, words, count, &note, &err);
    PROMISE(result == 0 || result == -1);
    if (result == 0)
        check_note(&note);
    else
        PROMISE(strlen(err.text) > 5);
    free(text);
    return 0;
}
