/* What was understood of a configuration, in the user's units. */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/secret.h"
#include "base/text.h"
#include "base/words.h"
#include "command/check.h"
#include "config/token.h"

enum { LIST_BYTES = 1000 };

static void print_row(const char *label, const char *words)
{
    enum { LABEL_COLUMNS = 14 };
    int columns = utf8_columns(label);
    int pad = columns < LABEL_COLUMNS ? LABEL_COLUMNS - columns : 1;
    printf("  %s%*s%s\n", label, pad, "", words);
}

/* One more part of a list with commas. */
static void add_part(struct text *list, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static void add_part(struct text *list, const char *format, ...)
{
    char part[300];
    va_list args;
    va_start(args, format);
    vsnprintf(part, sizeof part, format, args);
    va_end(args);
    if (list->length > 0)
        text_add(list, ", ");
    text_add(list, part);
}

static void add_gathering(struct text *list, const struct config_bush *bush,
                          enum unit_system units)
{
    char amount[QUANTITY_SIZE];
    if (bush->gathering == GATHERING_BUCKETS && bush->bucket_l > 0) {
        volume_format(bush->bucket_l, units, amount);
        add_part(list, _("buckets of %s"), amount);
    } else if (bush->gathering == GATHERING_BUCKETS) {
        add_part(list, "%s", _("buckets"));
    } else if (bush->gathering == GATHERING_VACUUM) {
        add_part(list, _("vacuum of %.0f inHg"),
                 bush->vacuum_kpa / KPA_PER_INHG);
    } else if (bush->fall_m > 0) {
        height_format(bush->fall_m, units, amount);
        add_part(list, _("gravity tubing with a fall of %s"), amount);
    } else {
        add_part(list, "%s", _("gravity tubing"));
    }
}

static void print_bush(const struct config_bush *bush, enum unit_system units)
{
    char label[80], height[QUANTITY_SIZE], date[ISO_DATE_SIZE];
    struct text list;
    text_init(&list, LIST_BYTES);
    add_part(&list, words_count("%d tap", "%d taps", bush->taps), bush->taps);
    add_part(&list, "%s", _(species_word(bush->species)));
    add_gathering(&list, bush, units);
    height_format(bush->elevation_m, units, height);
    add_part(&list, _("at %.4f, %.4f and %s"), bush->latitude, bush->longitude,
             height);
    if (bush->has_tapped) {
        iso_date(bush->tapped, date);
        add_part(&list, _("tapped %s"), date);
    }
    snprintf(label, sizeof label, _("bush %s"), bush->name);
    print_row(label, list.bytes);
    text_free(&list);
}

static void add_tank(struct text *list, const struct config_tank *tank,
                     enum unit_system units)
{
    char amount[QUANTITY_SIZE];
    volume_format(tank->size_l, units, amount);
    if (tank->site == STORAGE_SUN)
        add_part(list, _("storage of %s in the sun"), amount);
    else if (tank->site == STORAGE_INSIDE)
        add_part(list, _("storage of %s inside"), amount);
    else
        add_part(list, _("storage of %s in the shade"), amount);
}

static void add_storage(struct text *list,
                        const struct config_sugarhouse *house,
                        enum unit_system units)
{
    for (int i = 0; i < house->tank_count; i++)
        add_tank(list, &house->tanks[i], units);
}

static void add_pan(struct text *list, const struct config_sugarhouse *house,
                    enum unit_system units)
{
    bool us = units == UNITS_US;
    double area = us ? house->pan_area_m2 / (M_PER_FOOT * M_PER_FOOT)
                     : house->pan_area_m2;
    char number[QUANTITY_SIZE], size[QUANTITY_SIZE];
    if (house->pan_area_m2 <= 0)
        return;
    number_format(area, 1, number);
    snprintf(size, sizeof size, us ? _("%.30s ft2") : _("%.30s m2"), number);
    if (house->pan_type == PAN_RAISED_FLUE)
        add_part(list, _("raised flue pan of %s"), size);
    else if (house->pan_type == PAN_DROP_FLUE)
        add_part(list, _("drop flue pan of %s"), size);
    else
        add_part(list, _("flat pan of %s"), size);
}

static void add_boil(struct text *list, const struct config_sugarhouse *house,
                     enum unit_system units)
{
    char amount[QUANTITY_SIZE];
    if (house->evaporation_l_h > 0) {
        volume_format(house->evaporation_l_h, units, amount);
        add_part(list, _("evaporation of %s an hour"), amount);
    }
    add_pan(list, house, units);
    if (house->smallest_boil_l > 0) {
        volume_format(house->smallest_boil_l, units, amount);
        add_part(list, _("smallest boil %s"), amount);
    }
    if (house->pan_sweet_l > 0) {
        volume_format(house->pan_sweet_l, units, amount);
        add_part(list, _("%s left in the pan"), amount);
    }
    number_format(house->syrup_brix, 1, amount);
    add_part(list, _("syrup at %s Brix"), amount);
}

static void print_sugarhouse(const struct config_sugarhouse *house,
                             enum unit_system units)
{
    struct text list;
    if (!house->present)
        return;
    text_init(&list, LIST_BYTES);
    add_storage(&list, house, units);
    add_boil(&list, house, units);
    print_row(_("sugarhouse"), list.bytes);
    text_free(&list);
}

/* Plans go by whole hours: these are told where others are attended. */
static void print_attended(const struct config *config)
{
    const struct config_sugarhouse *house = &config->sugarhouse;
    int from = house->attended_from_min, to = house->attended_to_min;
    int whole_from, whole_to;
    int hours = config_planned_hours(config, &whole_from, &whole_to);
    char *words;
    if (!house->present)
        return;
    if (hours == 0 || (whole_from == from && whole_to == to))
        words = mem_format(_("%02d:%02d to %02d:%02d"), from / 60, from % 60,
                           to / 60, to % 60);
    else
        words =
            mem_format(_("%02d:%02d to %02d:%02d; plans use the whole "
                         "hours from %02d:%02d to %02d:%02d"),
                       from / 60, from % 60, to / 60, to % 60, whole_from / 60,
                       whole_from % 60, whole_to / 60, whole_to % 60);
    print_row(_("attended"), words);
    free(words);
}

static void print_weather(const struct config *config)
{
    struct text list;
    text_init(&list, LIST_BYTES);
    for (int i = 0; i < config->source_count; i++)
        add_part(&list, "%s", config->sources[i].name);
    print_row(_("weather"), list.bytes);
    text_free(&list);
    print_row(_("contact"), config->contact);
    if (config->station)
        print_row(_("station"), config->station);
}

static void print_mail(const struct config_mail *mail)
{
    struct text list;
    if (!mail->present)
        return;
    text_init(&list, LIST_BYTES);
    for (int i = 0; i < mail->to_count; i++)
        add_part(&list, "%s", mail->to[i]);
    add_part(&list, _("each morning at %02d:%02d"), mail->morning_min / 60,
             mail->morning_min % 60);
    add_part(&list, _("through %s"), mail->server);
    print_row(_("mail to"), list.bytes);
    text_clear(&list);
    for (int i = 0; config_alert_words[i]; i++)
        if (mail->alerts & 1U << i)
            add_part(&list, "%s", _(config_alert_words[i]));
    print_row(_("alerts"),
              list.length > 0 ? list.bytes : words_in("alerts", "none"));
    text_free(&list);
}

/* "http://HOST:PORT": a listener on all addresses goes by the machine's name.
 */
static char *served_host(const char *listen)
{
    const char *port = strrchr(listen, ':');
    char name[256] = "";
    bool all =
        strncmp(listen, "0.0.0.0:", 8) == 0 || strncmp(listen, "[::]:", 5) == 0;
    if (!port || !all || gethostname(name, sizeof name) != 0 ||
        !memchr(name, '\0', sizeof name))
        return mem_format("http://%s", listen);
    return mem_format("http://%s%s", name, port);
}

static void print_served(const struct config *config)
{
    char *path = config_token_file(config), *token = check_secret(path);
    char *host = served_host(config->publish.listen);
    bool fits = token && token_fits(token);
    char *words =
        fits    ? mem_format("%s/%s/", host, token)
        : token ? mem_copy_text(_("nowhere, see the warnings"))
        : file_exists(path)
            ? mem_format(_("%s/SECRET/, its secret stands in %s, which you may "
                           "not read"),
                         host, path)
            : mem_format(_("%s/SECRET/, its secret is made when thawbelld "
                           "first starts"),
                         host);
    print_row(_("served at"), words);
    free(words);
    if (fits) {
        words = mem_format("%s/%s/calendar.ics", host, token);
        print_row(_("subscribe to"), words);
        free(words);
    }
    free(host);
    secret_free(token);
    free(path);
}

/* Where readers find it: an address of one's own goes first. */
static void print_addresses(const struct config_publish *publish)
{
    char *feed;
    if (!publish->address)
        return;
    print_row(_("page"), publish->address);
    feed = mem_format("%scalendar.ics", publish->address);
    print_row(_("subscribe to"), feed);
    free(feed);
}

void check_print_summary(const struct config *config, enum unit_system units)
{
    print_row(_("operation"), config->name);
    print_row(_("time zone"), config->zone_name);
    for (int i = 0; i < config->bush_count; i++)
        print_bush(&config->bushes[i], units);
    print_sugarhouse(&config->sugarhouse, units);
    print_attended(config);
    print_weather(config);
    if (config->publish.listen)
        print_row(_("listens on"), config->publish.listen);
    print_addresses(&config->publish);
    if (config->publish.listen)
        print_served(config);
    print_mail(&config->mail);
}
