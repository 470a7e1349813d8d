#include "daemon/post_queue.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"
#include "daemon/schedule.h"
#include "publish/mail.h"
#include "store/outbox.h"

static const char memory_note[] = "mail-memory";

enum { LEAST_S = SECONDS_PER_HOUR };

static struct post_rules rules_of(const struct config_mail *mail, utc_s due)
{
    return (struct post_rules){.alerts = mail->alerts,
                               .morning_min = mail->morning_min,
                               .has_quiet = mail->has_quiet,
                               .quiet_from_min = mail->quiet_from_min,
                               .quiet_to_min = mail->quiet_to_min,
                               .due = due};
}

static int put_rows(const struct post_place *place, struct outbox_mail *mail,
                    int *queued, struct error *err)
{
    const struct config_mail *to = &place->config->mail;
    size_t count = (size_t)to->to_count;
    struct outbox_recipient *rows = mem_alloc(count + 1, sizeof *rows);
    char(*ids)[MAIL_ID_SIZE] = mem_alloc(count + 1, sizeof *ids);
    char **heads = mem_alloc(count + 1, sizeof *heads);
    struct civil_time date = zone_civil(place->zone, mail->made);
    bool added;
    int result;

    for (size_t i = 0; i < count; i++) {
        mail_message_id(mail->operation, mail->name, mail->sender, to->to[i],
                        mail->made, ids[i]);
        heads[i] = mail_head(place->config->name, mail->sender, to->to[i],
                             &date, ids[i]);
        rows[i] = (struct outbox_recipient){to->to[i], ids[i], heads[i]};
    }
    mail->recipients = rows;
    mail->recipient_count = to->to_count;
    result = outbox_put(place->store, mail, &added, err);
    if (result == 0 && added && queued != NULL)
        *queued += to->to_count;
    for (size_t i = 0; i < count; i++)
        free(heads[i]);
    free(heads);
    free(ids);
    free(rows);
    return result;
}

int post_put(const struct post_place *place, const char *kind, const char *name,
             const struct mail_letter *letter, utc_s now, utc_s best_before,
             int *queued, struct error *err)
{
    struct outbox_mail mail = {.operation = place->config->slug,
                               .name = name,
                               .kind = kind,
                               .sender = place->config->mail.from,
                               .made = now,
                               .best_before = best_before < now + LEAST_S
                                                  ? now + LEAST_S
                                                  : best_before};
    char *body = mail_body(letter, mail.sender, &mail.length);
    int result;

    mail.body = body;
    result = put_rows(place, &mail, queued, err);
    free(body);
    return result;
}

static int put_morning(const struct post_place *place,
                       const struct bulletin *bulletin,
                       const struct post_decision *decision, utc_s now,
                       int *queued, struct error *err)
{
    bool till_noon = place->config->mail.morning_min < POST_MORNING_END_MIN;
    utc_s noon =
        schedule_instant(place->zone, decision->date, POST_MORNING_END_MIN);
    char date[ISO_DATE_SIZE], name[40];
    struct mail_letter letter;
    char *warning;
    int result;

    iso_date(decision->date, date);
    snprintf(name, sizeof name, "morning %s", date);
    mail_morning(bulletin, now, place->config->publish.address, &letter,
                 &warning);
    if (warning != NULL)
        log_warn("%s: %s", place->config->name, warning);
    /* One that is set for the afternoon is good until midnight. */
    result =
        post_put(place, "morning", name, &letter, now,
                 till_noon ? noon : now + SECONDS_PER_DAY / 2, queued, err);
    free(warning);
    mail_letter_free(&letter);
    return result;
}

static int put_alert(const struct post_place *place,
                     const struct bulletin *bulletin,
                     const struct mail_condition *condition, utc_s since,
                     utc_s now, int *queued, struct error *err)
{
    const char *kind = mail_kind_word(condition->kind);
    char when[ISO_TIME_SIZE], name[80];
    struct mail_letter letter;
    int result;

    iso_time_utc(since, when);
    snprintf(name, sizeof name, "%s %s", kind, when);
    mail_alert(bulletin, condition, &letter);
    result = post_put(place, kind, name, &letter, now, condition->best_before,
                      queued, err);
    mail_letter_free(&letter);
    return result;
}

static int load_memory(const struct post_place *place, char **held,
                       struct post_memory *memory, struct error *err)
{
    struct error why;

    memset(memory, 0, sizeof *memory);
    if (store_get_note(place->store, place->config->slug, memory_note, held,
                       err) != 0)
        return -1;
    if (*held != NULL && post_memory_from_json(*held, memory, &why) != 0)
        log_warn(_("%s: what was mailed before cannot be read, so something "
                   "may come twice: %s"),
                 place->config->name, why.text);
    return 0;
}

static int save_memory(const struct post_place *place, const char *held,
                       const struct post_memory *memory, struct error *err)
{
    char *words = post_memory_to_json(memory);
    int result = 0;

    if (held == NULL || strcmp(held, words) != 0)
        result = store_put_note(place->store, place->config->slug, memory_note,
                                words, err);
    free(words);
    return result;
}

/* Inside the transaction. */
static int decide_and_put(const struct post_place *place,
                          const struct post_rules *rules,
                          const struct bulletin *bulletin, utc_s now,
                          int *queued, struct error *err)
{
    struct post_memory memory;
    struct post_decision *decision = mem_alloc(1, sizeof *decision);
    char *held = NULL;
    int result = load_memory(place, &held, &memory, err);

    if (result == 0) {
        post_decide(rules, place->zone, bulletin, now, &memory, decision);
        if (decision->missed)
            log_warn(_("%s: the hour of the morning mail has passed, and noon; "
                       "it is left out"),
                     place->config->name);
    }
    if (result == 0 && decision->morning)
        result = put_morning(place, bulletin, decision, now, queued, err);
    for (int i = 0; result == 0 && i < decision->alert_count; i++)
        result = put_alert(place, bulletin, &decision->alerts[i],
                           decision->since[i], now, queued, err);
    if (result == 0)
        result = save_memory(place, held, &memory, err);
    free(held);
    free(decision);
    return result;
}

static struct bulletin *read_published(const struct post_place *place)
{
    char *path = file_join(place->folder, "bulletin.json"), *bytes;
    struct bulletin *bulletin = NULL;
    struct error err;
    size_t length;

    if (file_exists(path) &&
        file_read(path, BULLETIN_MAX_BYTES, &bytes, &length, &err) == 0) {
        if (bulletin_from_json(bytes, length, &bulletin, &err) != 0) {
            log_warn("%s: %s", path, err.text);
            bulletin = NULL;
        }
        free(bytes);
    }
    free(path);
    return bulletin;
}

static int queue_in_transaction(const struct post_place *place,
                                const struct post_rules *rules,
                                const struct bulletin *bulletin, utc_s now,
                                int *queued, struct error *err)
{
    if (store_begin(place->store, err) != 0)
        return -1;
    if (decide_and_put(place, rules, bulletin, now, queued, err) != 0) {
        store_rollback(place->store);
        return -1;
    }
    return store_commit(place->store, err);
}

int post_queue(const struct post_place *place, const struct bulletin *bulletin,
               utc_s now, utc_s due, int *queued, utc_s *next,
               struct error *err)
{
    struct post_rules rules = rules_of(&place->config->mail, due);
    struct bulletin *published = NULL;
    const char *language;
    int count = 0, result;

    if (queued != NULL)
        *queued = 0;
    *next = SCHEDULE_NEVER;
    if (!place->config->mail.present)
        return 0;
    *next = post_decide_next(&rules, place->zone, now);
    if (bulletin == NULL)
        published = read_published(place);
    language = words_use(place->config->language);
    result = queue_in_transaction(place, &rules,
                                  bulletin != NULL ? bulletin : published, now,
                                  &count, err);
    words_use(language);
    bulletin_free(published);
    if (result == 0 && queued != NULL)
        *queued = count;
    return result;
}
