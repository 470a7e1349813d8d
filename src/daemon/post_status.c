#include "daemon/post_status.h"

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"
#include "base/memory.h"
#include "store/outbox.h"

static bool of_address(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
           (c >= '0' && c <= '9') ||
           (c != '\0' && strchr(".!#$%&'*+-/=?^_`{|}~", c) != NULL);
}

/* Shortens each mail address in the words, in place: "a***@bush.test". */
static void mask_addresses(char *words)
{
    for (char *at = words; (at = strchr(at, '@')) != NULL; at++) {
        char *first = at;

        while (first > words && of_address(first[-1]))
            first--;
        for (char *p = first + 1; p < at; p++)
            *p = '*';
    }
}

static void add_masked(cJSON *object, const char *key, const char *words)
{
    char *copy = mem_copy_text(words);

    mask_addresses(copy);
    cJSON_AddStringToObject(object, key, copy);
    free(copy);
}

static void add_letter(cJSON *array, const struct outbox_letter *letter)
{
    cJSON *object = cJSON_CreateObject();

    cJSON_AddItemToArray(array, object);
    cJSON_AddStringToObject(object, "kind", letter->kind);
    add_masked(object, "to", letter->recipient);
    json_add_time(object, "made", letter->made);
    json_add_time(object, "given_up", letter->settled);
    cJSON_AddNumberToObject(object, "attempts", letter->attempts);
    add_masked(object, "reason", letter->words);
}

static char *to_json(const struct outbox_summary *summary)
{
    cJSON *root = cJSON_CreateObject();
    cJSON *array;
    char *words;

    cJSON_AddNumberToObject(root, "version", 1);
    cJSON_AddNumberToObject(root, "waiting",
                            summary->waiting + summary->sending);
    json_add_time(root, "waiting_since", summary->oldest);
    json_add_time(root, "next_attempt", summary->next);
    cJSON_AddNumberToObject(root, "attempts", summary->attempts);
    add_masked(root, "trouble", summary->words != NULL ? summary->words : "");
    array = cJSON_AddArrayToObject(root, "given_up");
    for (int i = 0; i < summary->given_up.count; i++)
        add_letter(array, &summary->given_up.items[i]);
    words = cJSON_PrintUnformatted(root);
    cJSON_Delete(root);
    return words;
}

int post_status(const struct post_place *place, utc_s now, struct error *err)
{
    enum { TOLD_S = 14 * SECONDS_PER_DAY };
    struct outbox_summary summary;
    char *words, *path;
    int result;

    if (!place->config->mail.present)
        return 0;
    if (outbox_sum(place->store, place->config->slug, now - TOLD_S, &summary,
                   err) != 0 ||
        file_make_folder(place->folder, 0755, err) != 0)
        return -1;
    words = to_json(&summary);
    path = file_join(place->folder, "mail.json");
    result = file_write_changed(path, words, strlen(words), 0644, NULL, err);
    outbox_summary_free(&summary);
    free(words);
    free(path);
    return result;
}

struct post_wait *post_wait(const struct post_place *place)
{
    struct outbox_summary summary;
    struct post_wait *wait = NULL;

    if (outbox_sum(place->store, place->config->slug, 0, &summary, NULL) != 0)
        return NULL;
    if (summary.waiting > 0 && summary.words != NULL) {
        size_t length = strlen(summary.words);

        wait = mem_alloc(1, sizeof *wait + length + 1);
        wait->count = summary.waiting;
        wait->since = summary.oldest;
        memcpy(wait->words, summary.words, length + 1);
        mask_addresses(wait->words);
    }
    outbox_summary_free(&summary);
    return wait;
}

void post_count(struct store *store, const char *slug, int *waiting, int *dead)
{
    struct outbox_summary summary;

    *waiting = *dead = -1;
    if (store == NULL || outbox_sum(store, slug, 0, &summary, NULL) != 0)
        return;
    *waiting = summary.waiting + summary.sending;
    *dead = summary.dead;
    outbox_summary_free(&summary);
}
