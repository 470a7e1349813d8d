/* Walks the sections: which structure a section fills, which row reads a key,
 * what is missing, and the nearest known name for a misspelt one. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "config/reading.h"

static const char bush_kind[] = "bush";

/* The sections without a name of their own, and where their data lie. */
static const struct {
    const char *kind;
    size_t offset;
} plain_sections[] = {
    {"operation", 0},
    {"sugarhouse", offsetof(struct config, sugarhouse)},
    {"sources", 0},
    {"calendar", offsetof(struct config, publish)},
    {"mail", offsetof(struct config, mail)},
};
enum { PLAIN_COUNT = sizeof plain_sections / sizeof plain_sections[0] };

/* "north" of "bush north"; NULL for another section. */
static const char *bush_label(const char *section)
{
    size_t length = sizeof bush_kind - 1;
    if (strncmp(section, bush_kind, length) != 0)
        return NULL;
    if (section[length] == '\0')
        return "";
    return section[length] == ' ' ? section + length + 1 : NULL;
}

/* The structure that a section fills, and its kind; NULL for a section that
 * is not known (an error told elsewhere). */
static void *section_data(const struct config_reading *reading,
                          const char *section, const char **kind)
{
    const char *label = bush_label(section);
    *kind = bush_kind;
    for (int i = 0; label && i < reading->config->bush_count; i++)
        if (strcmp(reading->config->bushes[i].name, label) == 0)
            return &reading->config->bushes[i];
    for (int i = 0; i < PLAIN_COUNT; i++)
        if (strcmp(section, plain_sections[i].kind) == 0) {
            *kind = plain_sections[i].kind;
            return (char *)reading->config + plain_sections[i].offset;
        }
    return NULL;
}

static void refuse_section(struct config_reading *reading,
                           const struct ini_value *section)
{
    const char *known[PLAIN_COUNT + 1] = {bush_kind};
    for (int i = 0; i < PLAIN_COUNT; i++)
        known[i + 1] = plain_sections[i].kind;
    char shown[SHOWN_SIZE];
    value_shown(NULL, section->section, shown);
    char *word =
        mem_copy_bytes(section->section, strcspn(section->section, " "));
    const char *near = nearest_word(section->section, known + 1, PLAIN_COUNT);
    if (!near)
        near = nearest_word(word, known, PLAIN_COUNT + 1);
    free(word);
    if (near)
        error_list_add(reading->errors,
                       _("%s:%d: section [%s] is not known; did you mean "
                         "[%s]? Known: operation, bush NAME, sugarhouse, "
                         "sources, calendar, mail"),
                       reading->path, section->line, shown,
                       near == bush_kind ? "bush NAME" : near);
    else
        error_list_add(reading->errors,
                       _("%s:%d: section [%s] is not known. Known: "
                         "operation, bush NAME, sugarhouse, sources, "
                         "calendar, mail"),
                       reading->path, section->line, shown);
}

/* A bush of the same name but for capitals, or NULL: notes are taken without
 * regard to them. */
static const struct config_bush *twin_of(const struct config *config,
                                         const char *label)
{
    for (int i = 0; i < config->bush_count; i++)
        if (utf8_compare_names(config->bushes[i].name, label) == 0)
            return &config->bushes[i];
    return NULL;
}

static int bush_heading(const struct config_reading *reading, const char *name)
{
    char *section = mem_format("%s %s", bush_kind, name);
    int line = reading_section_line(reading, section);
    free(section);
    return line;
}

static void add_bush(struct config_reading *reading,
                     const struct ini_value *section, const char *label)
{
    enum { LABEL_BYTES = 60 };
    struct config *config = reading->config;
    const struct config_bush *twin = twin_of(config, label);
    if (*label == '\0')
        error_list_add(reading->errors,
                       _("%s:%d: [bush] needs a name, as in [bush north]"),
                       reading->path, section->line);
    else if (strlen(label) > LABEL_BYTES)
        error_list_add(reading->errors,
                       _("%s:%d: the bush's name is longer than 60 bytes"),
                       reading->path, section->line);
    else if (words_have_control(label))
        error_list_add(reading->errors,
                       _("%s:%d: the bush's name holds a control character"),
                       reading->path, section->line);
    else if (twin)
        error_list_add(reading->errors,
                       _("%s:%d: bush %s has the name of bush %s on line %d "
                         "but for capitals; two bushes need two names"),
                       reading->path, section->line, label, twin->name,
                       bush_heading(reading, twin->name));
    else if (config->bush_count == CONFIG_MAX_BUSHES)
        error_list_add(reading->errors,
                       _("%s:%d: more than 64 bushes in one file; make it "
                         "several operations"),
                       reading->path, section->line);
    else
        config->bushes[config->bush_count++].name = mem_copy_text(label);
}

/* Makes room for each section's data and refuses those not known. */
static void open_sections(struct config_reading *reading)
{
    struct config *config = reading->config;
    bool any_bush = false;
    config->bushes = mem_alloc(CONFIG_MAX_BUSHES, sizeof *config->bushes);
    for (int i = 0; i < reading->ini.section_count; i++) {
        const struct ini_value *section = &reading->ini.sections[i];
        const char *label = bush_label(section->section);
        const char *kind;
        bool known = section_data(reading, section->section, &kind);
        any_bush = any_bush || label != NULL;
        if (label && !known)
            add_bush(reading, section, label);
        else if (!known)
            refuse_section(reading, section);
    }
    config->sugarhouse.present = reading_section_line(reading, "sugarhouse");
    config->mail.present = reading_section_line(reading, "mail");
    if (!any_bush)
        error_list_add(reading->errors,
                       _("%s:1: there is no bush; add [bush NAME] with "
                         "place and taps"),
                       reading->path);
}

/* True if `name` is the service's name and what follows SERVICE in `row`. */
static bool service_key_matches(const struct config_reading *reading,
                                const char *row, const char *name)
{
    const char *rest = strchr(row, ' ');
    for (int i = 0; i < reading->known_count; i++) {
        size_t length = strlen(reading->known[i]);
        if (rest != NULL && strncmp(name, reading->known[i], length) == 0 &&
            strcmp(name + length, rest) == 0)
            return true;
    }
    return false;
}

static bool is_service_row(const char *key)
{
    return strncmp(key, "SERVICE ", 8) == 0;
}

/* The row of a key; in any section if `kind` is NULL. */
static const struct config_key *find_row(const struct config_reading *reading,
                                         const char *kind, const char *name)
{
    int count;
    const struct config_key *rows = config_keys(&count);
    for (int i = 0; i < count; i++) {
        if (kind && strcmp(rows[i].section, kind) != 0)
            continue;
        if (is_service_row(rows[i].key)
                ? service_key_matches(reading, rows[i].key, name)
                : strcmp(rows[i].key, name) == 0)
            return &rows[i];
    }
    return NULL;
}

/* The nearest key of a section, owned by the caller, or NULL. */
static char *nearest_key(const struct config_reading *reading, const char *kind,
                         const char *name)
{
    int row_count, count = 0;
    const struct config_key *rows = config_keys(&row_count);
    int most = row_count * (reading->known_count + 1);
    char **known = mem_alloc((size_t)most, sizeof *known);
    for (int i = 0; i < row_count; i++) {
        if (strcmp(rows[i].section, kind) != 0)
            continue;
        if (!is_service_row(rows[i].key))
            known[count++] = mem_copy_text(rows[i].key);
        else
            for (int j = 0; j < reading->known_count; j++)
                known[count++] = mem_format("%s%s", reading->known[j],
                                            strchr(rows[i].key, ' '));
    }
    const char *near = nearest_word(name, (const char *const *)known, count);
    char *copy = near ? mem_copy_text(near) : NULL;
    words_free(known, count);
    return copy;
}

static void refuse_key(struct config_reading *reading, const char *kind,
                       const struct ini_value *value)
{
    char shown[SHOWN_SIZE];
    value_shown(NULL, value->key, shown);
    const struct config_key *elsewhere = find_row(reading, NULL, value->key);
    char *near = elsewhere ? NULL : nearest_key(reading, kind, value->key);
    if (elsewhere)
        error_list_add(reading->errors,
                       _("%s:%d: key \"%s\" belongs in [%s], not in [%s]"),
                       reading->path, value->line, shown,
                       strcmp(elsewhere->section, bush_kind) == 0
                           ? "bush NAME"
                           : elsewhere->section,
                       value->section);
    else if (near)
        error_list_add(reading->errors,
                       _("%s:%d: key \"%s\" is not known in [%s]; did you "
                         "mean \"%s\"?"),
                       reading->path, value->line, shown, value->section, near);
    else
        error_list_add(reading->errors,
                       _("%s:%d: key \"%s\" is not known in [%s]; see "
                         "thawbell check --keys"),
                       reading->path, value->line, shown, value->section);
    free(near);
}

static void read_value(struct config_reading *reading,
                       const struct ini_value *value)
{
    const char *kind;
    void *data = section_data(reading, value->section, &kind);
    if (!data)
        return;
    const struct config_key *row = find_row(reading, kind, value->key);
    if (!row)
        refuse_key(reading, kind, value);
    else if (*value->value == '\0')
        error_list_add(reading->errors,
                       _("%s:%d: %s has no value. Allowed: %s"), reading->path,
                       value->line, value->key, _(row->takes));
    else if (words_have_control(value->value))
        refuse_because(reading, row, value,
                       _("there is a tab or another control character in "
                         "it"));
    else
        row->read(reading, row, value, data);
}

/* One error for each key that a section needs and does not have. */
static void require_keys(struct config_reading *reading,
                         const struct ini_value *section)
{
    const char *kind;
    int count;
    const struct config_key *rows = config_keys(&count);
    if (!section_data(reading, section->section, &kind))
        return;
    for (int i = 0; i < count; i++)
        if (rows[i].required && strcmp(rows[i].section, kind) == 0 &&
            !reading_value(reading, section->section, rows[i].key) &&
            !place_stands_for(reading, section->section, rows[i].key))
            error_list_add(reading->errors,
                           _("%s:%d: [%s] has no %s. Needed: %s"),
                           reading->path, section->line, section->section,
                           rows[i].key, _(rows[i].takes));
}

void sections_read(struct config_reading *reading)
{
    const struct ini *ini = &reading->ini;
    open_sections(reading);
    places_expand(reading);
    for (int i = 0; i < ini->count; i++)
        read_value(reading, &ini->values[i]);
    for (int i = 0; i < ini->section_count; i++)
        if (reading_section_line(reading, ini->sections[i].section) ==
            ini->sections[i].line)
            require_keys(reading, &ini->sections[i]);
}

const struct ini_value *reading_value(const struct config_reading *reading,
                                      const char *section, const char *key)
{
    return ini_find(&reading->ini, section, key);
}

int reading_section_line(const struct config_reading *reading,
                         const char *section)
{
    for (int i = 0; i < reading->ini.section_count; i++)
        if (strcmp(reading->ini.sections[i].section, section) == 0)
            return reading->ini.sections[i].line;
    return 0;
}
