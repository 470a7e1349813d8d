#include "turn/publishing.h"

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "logbook/log_season.h"
#include "publish/calendar.h"
#include "publish/page.h"
#include "store/outbox.h"
#include "turn/remember.h"

#define BULLETIN "bulletin.json"
#define CALENDAR "calendar.ics"
#define PAGE "index.html"

void turn_result_free(struct turn_result *result)
{
    error_list_free(&result->troubles);
}

/* The same but for what comes after the semicolon, the time of the next
 * attempt? */
static bool same_trouble(const char *a, const char *b)
{
    const char *end = strrchr(a, ';');

    return end != NULL ? strncmp(a, b, (size_t)(end - a) + 1) == 0
                       : strcmp(a, b) == 0;
}

void turn_tell(struct turn_result *result, const char *words)
{
    for (int i = 0; i < result->troubles.count; i++)
        if (same_trouble(result->troubles.items[i], words))
            return;
    error_list_add(&result->troubles, "%s", words);
}

static void put(struct file_set *set, const char *name, const char *bytes)
{
    file_set_put(set, name, bytes, strlen(bytes), 0644);
}

static void put_bulletin(const struct bulletin *bulletin, struct file_set *set)
{
    char *json = bulletin_to_json(bulletin);

    put(set, BULLETIN, json);
    free(json);
}

static int put_calendar(const struct config *config,
                        const struct calendar_memory *memory,
                        const struct bulletin *bulletin, struct file_set *set,
                        struct error *err)
{
    char *ics = calendar_to_ics(memory, bulletin, config->publish.address);
    int code = calendar_check(ics, strlen(ics), err);

    if (code == 0)
        put(set, CALENDAR, ics);
    free(ics);
    return code;
}

/* What is told is remembered first: a feed that a crash keeps back is made
 * again by the next turn from the memory. */
static int make_calendar(const struct config *config,
                         const struct bulletin *bulletin, struct store *store,
                         struct file_set *set, struct turn_result *result,
                         struct error *err)
{
    struct calendar_memory memory;
    char *warning;
    int code;

    if (remember_load(store, bulletin->slug, &memory, &warning, err) != 0)
        return -1;
    if (warning != NULL)
        turn_tell(result, warning);
    free(warning);
    calendar_update(&memory, bulletin);
    code = remember_save(store, &memory, bulletin, err);
    if (code == 0)
        code = put_calendar(config, &memory, bulletin, set, err);
    calendar_memory_free(&memory);
    return code;
}

static const char *grade_name(enum grade grade)
{
    static const char *const names[GRADE_COUNT] = {N_("Golden"), N_("Amber"),
                                                   N_("Dark"), N_("Very dark"),
                                                   N_("Processing grade")};

    return _(names[grade]);
}

/* What came of this season so far, by the log. */
static void fill_season(const struct bulletin *bulletin,
                        const struct log_view *log,
                        struct page_options *options)
{
    struct civil_date today = bulletin_date(bulletin, bulletin->made);
    struct log_season *season = mem_alloc(1, sizeof *season);

    log_season_make(log, bulletin->zone, season_of_day(civil_day_number(today)),
                    NULL, 0, season);
    options->season_sap_l = season->together.sap_l;
    options->season_syrup_l = season->syrup_l;
    for (int grade = 0; grade < GRADE_COUNT; grade++)
        if (season->grade_l[grade] > 0 && options->draw_count < PAGE_MAX_DRAWS)
            options->draws[options->draw_count++] = (struct page_draw){
                grade_name((enum grade)grade), season->grade_l[grade]};
    free(season);
}

/* As `thawbell check` counts them. 0 from a store that cannot tell: that is
 * told where it is asked for what must not be lost. */
static int mails_given_up(const struct config *config, struct store *store,
                          utc_s now)
{
    struct outbox_summary summary;
    int count;

    if (!config->mail.present ||
        outbox_sum(store, config->slug, now - OUTBOX_TOLD_S + 1, &summary,
                   NULL) != 0)
        return 0;
    count = summary.given_up.count;
    outbox_summary_free(&summary);
    return count;
}

static int put_page(const struct config *config, const struct log_view *log,
                    const struct bulletin *bulletin, struct store *store,
                    struct file_set *set, struct error *err)
{
    struct page_options options = {
        .address = config->publish.address,
        .mails_given_up = mails_given_up(config, store, bulletin->made)};
    char *html;
    int code;

    fill_season(bulletin, log, &options);
    html = page_to_html(bulletin, &options);
    code = page_check(html, strlen(html), err);
    if (code == 0)
        put(set, PAGE, html);
    free(html);
    return code;
}

static void tell_unpublished(struct turn_result *result, const char *words,
                             struct error *err)
{
    error_prefix(err, "%s", words);
    turn_tell(result, err->text);
    result->unpublished = true;
}

/* `told`: a sentence that has been told already. */
static void tell_file(const struct file_set *set, const char *name,
                      const char *words, const char *told,
                      struct turn_result *result)
{
    struct error err;

    if (file_set_look(set, name, &err) != 0 && strcmp(err.text, told) != 0)
        tell_unpublished(result, words, &err);
}

/* -1 if the bulletin is not in place. One sentence is enough where none could
 * be flushed, and where several could not be written for one reason. Where only
 * the folder could not be flushed, at the end, all of it is in place, but may
 * not be after a power cut: that is told too. */
static int put_in_place(struct file_set *set, struct turn_result *result,
                        struct error *err)
{
    struct error folder = {""}, bulletin = {""};
    bool settled = file_set_settle(set, &folder) == 0;
    int code = file_set_look(set, BULLETIN, &bulletin);

    result->published += file_set_count(set);
    if (code != 0) {
        error_set(err, "%s", bulletin.text);
        result->unpublished = true;
    }
    if (!settled && strcmp(bulletin.text, folder.text) != 0)
        tell_unpublished(result, "", &folder);
    tell_file(set, CALENDAR, _("the calendar was not published: "), folder.text,
              result);
    tell_file(set, PAGE, _("the page was not published: "), folder.text,
              result);
    return code;
}

int turn_publish(const struct config *config, const struct log_view *log,
                 const struct bulletin *bulletin, struct store *store,
                 const char *folder, enum file_set_flush flush,
                 struct turn_result *result, struct error *err)
{
    struct file_set *set = NULL;
    struct error other;
    int code;

    if (file_make_folder(folder, 0755, err) == 0)
        set = file_set_begin(folder, flush, err);
    if (set == NULL) {
        result->unpublished = true;
        return -1;
    }
    put_bulletin(bulletin, set);
    if (make_calendar(config, bulletin, store, set, result, &other) != 0)
        tell_unpublished(result, _("the calendar was not published: "), &other);
    if (put_page(config, log, bulletin, store, set, &other) != 0)
        tell_unpublished(result, _("the page was not published: "), &other);
    code = put_in_place(set, result, err);
    file_set_free(set);
    return code;
}
