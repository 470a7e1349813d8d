/* One screen at the pan. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "command/syrup.h"
#include "publish/phrase.h"
#include "publish/table.h"
#include "sugarhouse/syrup.h"

enum { INDENT = 10 };

const char *const syrup_cautions[] = {
    N_("Hot syrup sticks and burns worse than water: cover arms and feet, "
       "keep children and pets away."),
    N_("Never leave the fire, nor a hot pan without sap running in."),
    N_("Steam and smoke need their way out and fresh air its way in: carbon "
       "monoxide cannot be smelt."),
    N_("Look after the chimney: soot burns, and sparks light roofs."),
    N_("Local codes and licensed practice come first."),
    NULL};

static void span(double span_k, enum unit_system units, char out[QUANTITY_SIZE])
{
    bool us = units == UNITS_US;
    char number[QUANTITY_SIZE];

    number_format(us ? span_k * 1.8 : span_k, 1, number);
    snprintf(out, QUANTITY_SIZE, us ? _("%.30s F") : _("%.30s C"), number);
}

static void clock_words(const struct zone *zone, utc_s at,
                        char out[PHRASE_SIZE])
{
    struct civil_time civil = zone_civil(zone, at);

    phrase_hour(civil.hour, civil.minute, out);
}

/* The number alone, for the first of two: a blank, in French one that does not
 * break, stands before the unit. */
static void drop_unit(char *quantity)
{
    quantity[strcspn(quantity, " \xC2")] = '\0';
}

static void show_head(const struct syrup_day *day, struct text *out)
{
    const struct zone *zone = day->operation->zone;
    char date[PHRASE_SIZE], from[PHRASE_SIZE], to[PHRASE_SIZE];

    phrase_date(zone_date(zone, day->from), date);
    clock_words(zone, day->from, from);
    clock_words(zone, day->to, to);
    text_addf(out,
              day->of_plan ? _("%s: at the pan %s %s-%s, the next boil of the "
                               "plan\n\n")
                           : _("%s: at the pan %s %s-%s\n\n"),
              day->operation->config->name, date, from, to);
}

/* A label and what belongs to it, wrapped beside it. */
static void labelled(struct text *out, const struct show_style *style,
                     const char *label, const char *words)
{
    struct text wrapped;
    const char *line;

    text_init(&wrapped, 4096);
    table_wrap(words, style->columns - INDENT, 0, &wrapped);
    for (line = wrapped.bytes; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        const char *head = line == wrapped.bytes ? label : "";

        text_add(out, head);
        for (int i = utf8_columns(head); i < INDENT; i++)
            text_add(out, " ");
        text_add_bytes(out, line, length);
        text_add(out, "\n");
        line += length + (line[length] == '\n');
    }
    text_free(&wrapped);
}

static void told_air(const struct syrup_day *day, enum unit_system units,
                     const char *here, char *out, size_t out_size)
{
    char told[QUANTITY_SIZE], height[QUANTITY_SIZE], air[QUANTITY_SIZE];

    pressure_format(day->told_hpa, units, told);
    height_format(day->elevation_m, units, height);
    temperature_format(day->air_temp_c, units, air);
    if (day->barometer == BAROMETER_STATION)
        snprintf(out, out_size, _("%s at the pan, as told"), here);
    else if (day->barometer == BAROMETER_ALTIMETER)
        snprintf(out, out_size,
                 _("%s at the pan, from the altimeter setting %s at %s"), here,
                 told, height);
    else
        snprintf(out, out_size,
                 _("%s at the pan, from %s at sea level, %s up in air of %s"),
                 here, told, height, air);
}

static void show_air(const struct syrup_day *day,
                     const struct show_style *style, struct text *out)
{
    const struct pan_air *air = &day->order.air;
    char here[QUANTITY_SIZE], least[QUANTITY_SIZE], most[QUANTITY_SIZE];
    char height[QUANTITY_SIZE], age[PHRASE_SIZE], line[512];

    pressure_format(air->mean_hpa, style->units, here);
    pressure_format(air->min_hpa, style->units, least);
    pressure_format(air->max_hpa, style->units, most);
    drop_unit(least); /* "28.38 to 28.45 inHg" */
    height_format(day->elevation_m, style->units, height);
    bulletin_age_words(day->made, day->now, age, sizeof age);
    if (day->air_from == SYRUP_AIR_TOLD)
        told_air(day, style->units, here, line, sizeof line);
    else if (day->air_from == SYRUP_AIR_FORECAST)
        snprintf(line, sizeof line,
                 _("%s at the pan (%s to %s), by the forecast, %s"), here,
                 least, most, age);
    else
        snprintf(line, sizeof line,
                 _("%s, the usual of %s, for there is no forecast for these "
                   "hours. A front shifts the boil by 1 to 2 F (1 C): better "
                   "tell --pressure."),
                 here, height);
    labelled(out, style, _("Air"), line);
}

static void show_heat(const struct syrup_day *day,
                      const struct show_style *style, struct text *out)
{
    const struct pan_numbers *numbers = &day->numbers;
    char c[PHRASE_SIZE], least[PHRASE_SIZE], most[PHRASE_SIZE];
    char rise[QUANTITY_SIZE], brix[QUANTITY_SIZE], baume[QUANTITY_SIZE];
    char line[256];

    phrase_heat(numbers->water.c, style->units, c);
    phrase_heat(numbers->water.min_c, style->units, least);
    phrase_heat(numbers->water.max_c, style->units, most);
    if (strcmp(least, most) == 0) {
        snprintf(line, sizeof line, _("boils at %s"), c);
    } else {
        drop_unit(least);
        snprintf(line, sizeof line, _("boils at %s (%s to %s)"), c, least,
                 most);
    }
    labelled(out, style, _("Water"), line);
    phrase_heat(numbers->draw_off.c, style->units, c);
    span(numbers->rise_k, style->units, rise);
    number_format(day->order.syrup_brix, 1, brix);
    number_format(numbers->baume, 1, baume);
    snprintf(line, sizeof line,
             _("at %s, %s above water, for %s Brix, %s Baume; the "
               "hydrometer decides"),
             c, rise, brix, baume);
    labelled(out, style, _("Draw off"), line);
}

static void put(struct table *table, int row, int column, double value)
{
    char number[QUANTITY_SIZE];

    number_format(value, 1, number);
    snprintf(table->cells[row][column], TABLE_CELL_SIZE, "%s", number);
}

static void show_cups(const struct syrup_day *day,
                      const struct show_style *style, struct text *out)
{
    const struct pan_numbers *numbers = &day->numbers;
    struct table *table = mem_alloc(1, sizeof *table);
    bool us = style->units == UNITS_US;

    table->column_count = numbers->cup_count + 1;
    table->row_count = 2;
    snprintf(table->columns[0].head, TABLE_CELL_SIZE, "%s",
             us ? _("cup F") : _("cup C"));
    snprintf(table->cells[0][0], TABLE_CELL_SIZE, "%s", _("Brix"));
    snprintf(table->cells[1][0], TABLE_CELL_SIZE, "%s", _("Baume"));
    for (int i = 0; i < numbers->cup_count; i++) {
        const struct pan_cup *cup = &numbers->cups[i];

        table->columns[i + 1].right = true;
        snprintf(table->columns[i + 1].head, TABLE_CELL_SIZE, "%.0f",
                 us ? f_from_c(cup->cup_c) : cup->cup_c);
        put(table, 0, i + 1, cup->brix);
        put(table, 1, i + 1, cup->baume);
    }
    text_addf(out,
              us ? _("\nFinished syrup on a hydrometer set at 60 F, by the "
                     "heat of the cup:\n")
                 : _("\nFinished syrup on a hydrometer set at 60 F (15.6 C), "
                     "by the heat of the cup:\n"));
    table_write(table, style->columns, style->colour, out);
    free(table);
}

static void show_cup(const struct syrup_day *day, enum unit_system units,
                     struct text *out)
{
    char cup[PHRASE_SIZE], brix[QUANTITY_SIZE], baume[QUANTITY_SIZE];

    if (!day->has_cup)
        return;
    phrase_heat(day->cup.cup_c, units, cup);
    number_format(day->cup.brix, 1, brix);
    number_format(day->cup.baume, 1, baume);
    text_addf(out, _("At %s in the cup: %s Brix, %s Baume.\n"), cup, brix,
              baume);
}

static void sap_origin(const struct syrup_day *day, char *out, size_t out_size)
{
    static const char *const words[] = {[SYRUP_SAP_TOLD] = N_("as told"),
                                        [SYRUP_SAP_PLAN] = N_("of the plan"),
                                        [SYRUP_SAP_STORAGE] =
                                            N_("a full storage"),
                                        [SYRUP_SAP_EXAMPLE] = N_("an example")};

    snprintf(out, out_size, "%s", _(words[day->sap_from]));
}

static void sugar_origin(const struct syrup_day *day, char *out,
                         size_t out_size)
{
    char date[PHRASE_SIZE];

    if (day->sugar_from == SYRUP_SUGAR_LOG) {
        phrase_date(zone_date(day->operation->zone, day->sugar_at), date);
        snprintf(out, out_size, _("noted %s"), date);
    } else if (day->sugar_from == SYRUP_SUGAR_TOLD) {
        snprintf(out, out_size, "%s", _("as told"));
    } else {
        snprintf(out, out_size, "%s", _("assumed"));
    }
}

/* "the rule of thumb for syrup of 66.9 Brix, 88.2 over the sap's": of which
 * density it is, since the syrup may be of another. */
static void rule_words(const struct sap_rule *rule, char *out, size_t out_size)
{
    char syrup[QUANTITY_SIZE], over[QUANTITY_SIZE], less[QUANTITY_SIZE];

    number_format(rule->syrup_brix, 1, syrup);
    number_format(rule->over, 1, over);
    number_format(rule->less, 2, less);
    if (rule->less > 0)
        snprintf(out, out_size,
                 _("the rule of thumb for syrup of %s Brix, %s over the sap's "
                   "less %s"),
                 syrup, over, less);
    else
        snprintf(out, out_size,
                 _("the rule of thumb for syrup of %s Brix, %s over the sap's"),
                 syrup, over);
}

static void show_sap(const struct syrup_day *day,
                     const struct show_style *style, struct text *out)
{
    const struct pan_numbers *numbers = &day->numbers;
    char sap[QUANTITY_SIZE], syrup[QUANTITY_SIZE], rule[QUANTITY_SIZE];
    char sap_from[PHRASE_SIZE], sugar_from[PHRASE_SIZE + 16], line[512];
    char brix[QUANTITY_SIZE], ratio[QUANTITY_SIZE], by[160] = "";

    volume_format(day->order.sap_l, style->units, sap);
    volume_format(numbers->boil.syrup_l, style->units, syrup);
    volume_format(numbers->rule_syrup_l, style->units, rule);
    sap_origin(day, sap_from, sizeof sap_from);
    sugar_origin(day, sugar_from, sizeof sugar_from);
    number_format(day->order.sap_brix, 1, brix);
    number_format(numbers->ratio, 1, ratio);
    if (numbers->rule != NULL)
        rule_words(numbers->rule, by, sizeof by);
    snprintf(line, sizeof line,
             _("%s (%s) of %s Brix (%s) give %s of syrup, %s to 1; by %s, "
               "%s."),
             sap, sap_from, brix, sugar_from, syrup, ratio, by, rule);
    labelled(out, style, _("Sap"), line);
}

static void wood_words(double wood_m3, enum unit_system units,
                       char out[QUANTITY_SIZE])
{
    bool us = units == UNITS_US;
    char number[QUANTITY_SIZE];

    number_format(us ? wood_m3 / M3_PER_CORD : wood_m3, 2, number);
    snprintf(out, QUANTITY_SIZE, us ? _("%.30s cord") : _("%.30s m3"), number);
}

static void show_fire(const struct syrup_day *day,
                      const struct show_style *style, struct text *out)
{
    const struct boil *boil = &day->numbers.boil;
    char rate[QUANTITY_SIZE], wood[QUANTITY_SIZE], line[512];
    int minutes = (int)lround(boil->hours * 60);

    volume_format(evaporator_rate_l_h(&day->order.evaporator), style->units,
                  rate);
    wood_words(boil->wood_m3, style->units, wood);
    if (boil->hours > 0)
        snprintf(line, sizeof line,
                 _("%d h %02d min at %s an hour, half an hour to "
                   "start and half to finish in it; %s of wood."),
                 minutes / 60, minutes % 60, rate, wood);
    else
        snprintf(line, sizeof line,
                 _("%s of wood; for the hours, tell \"evaporation\" "
                   "or \"pan\" in [sugarhouse]."),
                 wood);
    labelled(out, style, _("Fire"), line);
}

static void show_sweet(const struct syrup_day *day,
                       const struct show_style *style, struct text *out)
{
    const struct pan_numbers *numbers = &day->numbers;
    char sweet[QUANTITY_SIZE], less[QUANTITY_SIZE], line[512];

    if (numbers->sweet.l <= 0)
        return;
    volume_format(numbers->sweet.l, style->units, sweet);
    volume_format(numbers->dry_start_l, style->units, less);
    snprintf(line, sizeof line,
             _("%s of sweet, some %.0f Brix in the mean, at the "
               "start and at the end; starting dry, %s of syrup less."),
             sweet, numbers->sweet.brix, less);
    labelled(out, style, _("Pans"), line);
}

/* Who told the smallest boil knows the pans; others are told what they take. */
static void show_least(const struct syrup_day *day,
                       const struct show_style *style, struct text *out)
{
    bool told = day->operation->config->sugarhouse.smallest_boil_l > 0;
    double finish_l = told ? 0 : day->numbers.finish_l;
    char smallest[QUANTITY_SIZE], finish[QUANTITY_SIZE], line[512];

    volume_format(day->order.smallest_boil_l, style->units, smallest);
    volume_format(finish_l, style->units, finish);
    if (day->order.smallest_boil_l <= 0)
        snprintf(line, sizeof line, "%s",
                 _("not known: tell \"smallest boil\" or \"pan\" in "
                   "[sugarhouse]"));
    else if (finish_l > day->order.smallest_boil_l)
        snprintf(line, sizeof line,
                 _("%s of sap in the tanks: do not light the fire for less. To "
                   "make syrup of all that is in the pans takes %s: with less, "
                   "leave sweet in them."),
                 smallest, finish);
    else
        snprintf(line, sizeof line,
                 _("%s of sap in the tanks: do not light the fire for less"),
                 smallest);
    labelled(out, style, _("Least"), line);
}

static void show_packing(const struct show_style *style, struct text *out)
{
    char least[QUANTITY_SIZE], most[QUANTITY_SIZE], line[256];

    temperature_format(SYRUP_PACK_LEAST_C, style->units, least);
    temperature_format(SYRUP_PACK_MOST_C, style->units, most);
    snprintf(line, sizeof line, _("hot, at %s to %s"), least, most);
    labelled(out, style, _("Pack"), line);
}

static void show_cautions(const struct show_style *style, struct text *out)
{
    struct text all;

    text_init(&all, 4096);
    for (int i = 0; syrup_cautions[i] != NULL; i++)
        text_addf(&all, i > 0 ? " %s" : "%s", _(syrup_cautions[i]));
    text_add(out, "\n");
    table_wrap(all.bytes, style->columns, 0, out);
    text_free(&all);
}

void syrup_show(const struct syrup_day *day, const struct show_style *style,
                struct text *out)
{
    show_head(day, out);
    show_air(day, style, out);
    show_heat(day, style, out);
    show_cups(day, style, out);
    show_cup(day, style->units, out);
    text_add(out, "\n");
    show_sap(day, style, out);
    show_fire(day, style, out);
    show_sweet(day, style, out);
    show_least(day, style, out);
    show_packing(style, out);
    for (int i = 0; i < day->doubts.count; i++) {
        text_add(out, i == 0 ? "\n" : "");
        table_wrap(day->doubts.items[i], style->columns, 0, out);
    }
    show_cautions(style, out);
}
