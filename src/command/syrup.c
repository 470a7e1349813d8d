/* thawbell syrup: the day's numbers at the pan. */
#include "command/syrup.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/words.h"
#include "command/published.h"
#include "sugarhouse/syrup.h"
#include "turn/plan_rules.h"
#include "weather/pressure.h"

enum { OUT_MAX_BYTES = 64 * 1024, HALF_DAY_H = 12 };

static const double usual_sap_brix = 2.0, sap_temp_c = 4;
static const double example_us_l = 100 * L_PER_US_GALLON, example_l = 400;
static const double least_hpa = 500, most_hpa = 1085;

/* Heats of the cup: from the boil to a cool room. */
static const double cups_us_f[] = {210, 200, 190, 180, 160,
                                   140, 120, 100, 80,  60};
static const double cups_metric_c[] = {100, 95, 90, 80, 70, 60, 50, 40, 30, 20};
enum { CUP_COUNT = sizeof cups_us_f / sizeof cups_us_f[0] };

static int complain(int code, const char *sentence)
{
    fprintf(stderr, "thawbell: %s\n", sentence);
    return code;
}

static int read_option(const struct options *options, int row, const char *name,
                       enum dimension dimension, double *out, struct error *err)
{
    if (options->own[row] == NULL)
        return 0;
    return quantity_parse(options->own[row], dimension, out, err) != 0
               ? error_prefix(err, "%s: ", name)
               : 1;
}

/* The boil that the plan has next, or the attended hours that are left today,
 * or tomorrow's. */
static void find_hours(struct syrup_day *day, const struct bulletin *bulletin)
{
    const struct config_sugarhouse *house = &day->operation->config->sugarhouse;
    const struct zone *zone = day->operation->zone;
    struct civil_date date = zone_date(zone, day->now);

    for (int i = 0; bulletin != NULL && i < bulletin->action_count; i++) {
        const struct bulletin_action *action = &bulletin->actions[i];

        if (action->kind != ACTION_BOIL || action->all_day ||
            action->end <= day->now)
            continue;
        day->from = action->start;
        day->to = action->end;
        day->of_plan = true;
        return;
    }
    for (int days = 0; days < 2; days++, date = civil_date_add(date, 1)) {
        day->from = zone_instant(zone, date, house->attended_from_min / 60,
                                 house->attended_from_min % 60, 0);
        day->to = zone_instant(zone, date, house->attended_to_min / 60,
                               house->attended_to_min % 60, 0);
        if (day->from < day->now)
            day->from = day->now;
        if (day->to > day->now)
            return;
    }
}

static bool air_at(const struct bulletin *bulletin, utc_s at, double *temp_c)
{
    const struct bulletin_bush *bush;
    utc_s hour;

    if (bulletin == NULL || bulletin->bush_count == 0)
        return false;
    bush = &bulletin->bushes[0];
    if (bush->outlook == NULL || bush->air_temp_c == NULL ||
        at < bush->outlook->start)
        return false;
    hour = (at - bush->outlook->start) / SECONDS_PER_HOUR;
    if (hour >= bush->outlook->hours || !bush->air_known[hour])
        return false;
    *temp_c = bush->air_temp_c[hour];
    return true;
}

/* The mean of now and twelve hours before, as stations reduce pressure; the
 * standard atmosphere's where nothing is known. */
static double reduction_temp_c(const struct syrup_day *day,
                               const struct bulletin *bulletin)
{
    double now_c, before_c;

    if (!air_at(bulletin, day->now, &now_c))
        return temperature_standard_c(day->elevation_m);
    if (!air_at(bulletin, day->now - HALF_DAY_H * SECONDS_PER_HOUR, &before_c))
        return now_c;
    return (now_c + before_c) / 2;
}

static int check_kind(const struct options *options, struct syrup_day *day,
                      struct error *err)
{
    bool sea = options->own[SYRUP_SEA_LEVEL] != NULL;
    bool altimeter = options->own[SYRUP_ALTIMETER] != NULL;

    if (sea && altimeter)
        return error_set(err, "%s",
                         _("--sea-level and --altimeter: a pressure is one or "
                           "the other"));
    if ((sea || altimeter) && options->own[SYRUP_PRESSURE] == NULL)
        return error_set(err, "%s",
                         _("--sea-level and --altimeter say what --pressure "
                           "is; give that too"));
    day->barometer = sea         ? BAROMETER_SEA_LEVEL
                     : altimeter ? BAROMETER_ALTIMETER
                                 : BAROMETER_STATION;
    return 0;
}

static void doubt_pressure(struct syrup_day *day)
{
    double here = day->order.air.mean_hpa;

    if (day->barometer == BAROMETER_STATION &&
        barometer_looks_reduced(day->told_hpa, day->elevation_m))
        error_list_add(&day->doubts, "%s",
                       _("That pressure looks reduced to sea level, as "
                         "forecasts and most barometers tell it: then add "
                         "--sea-level, or the draw-off is too hot."));
    else if (barometer_unlikely(here, day->elevation_m))
        error_list_add(&day->doubts, "%s",
                       _("So far from the usual pressure of this height the "
                         "air hardly goes: look at the barometer again."));
}

static int take_told(const struct options *options,
                     const struct bulletin *bulletin, struct syrup_day *day,
                     struct error *err)
{
    int told = read_option(options, SYRUP_PRESSURE, "--pressure",
                           DIMENSION_PRESSURE_HPA, &day->told_hpa, err);
    double here;

    if (told <= 0)
        return told;
    if (!(day->told_hpa >= least_hpa && day->told_hpa <= most_hpa))
        return error_set(err,
                         _("--pressure %.40s: the air presses with %.0f to "
                           "%.0f hPa (15 to 32 inHg)"),
                         options->own[SYRUP_PRESSURE], least_hpa, most_hpa);
    day->air_temp_c = reduction_temp_c(day, bulletin);
    here = barometer_station_hpa(day->barometer, day->told_hpa,
                                 day->elevation_m, day->air_temp_c);
    day->air_from = SYRUP_AIR_TOLD;
    day->order.air = (struct pan_air){here, here, here};
    doubt_pressure(day);
    return 1;
}

static int find_air(const struct options *options,
                    const struct bulletin *bulletin, struct syrup_day *day,
                    struct error *err)
{
    struct bulletin_pressure air;
    double usual = pressure_standard_hpa(day->elevation_m);
    int told;

    if (check_kind(options, day, err) != 0)
        return -1;
    told = take_told(options, bulletin, day, err);
    if (told != 0)
        return told < 0 ? -1 : 0;
    if (bulletin != NULL &&
        bulletin_pan_pressure(bulletin, day->from, day->to, &air)) {
        day->air_from = SYRUP_AIR_FORECAST;
        day->made = bulletin->made;
        day->order.air =
            (struct pan_air){air.mean_hpa, air.min_hpa, air.max_hpa};
        return 0;
    }
    day->air_from = SYRUP_AIR_STANDARD;
    day->order.air = (struct pan_air){usual, usual, usual};
    return 0;
}

static int find_sap(const struct options *options,
                    const struct bulletin *bulletin, struct syrup_day *day,
                    enum unit_system units, struct error *err)
{
    const struct config_sugarhouse *house = &day->operation->config->sugarhouse;
    int told = read_option(options, SYRUP_SAP, "--sap", DIMENSION_VOLUME_L,
                           &day->order.sap_l, err);

    if (told < 0)
        return -1;
    if (told > 0 && !(day->order.sap_l > 0 && day->order.sap_l <= 1e6))
        return error_set(err, _("--sap %.40s: that is no amount to boil"),
                         options->own[SYRUP_SAP]);
    day->sap_from = SYRUP_SAP_TOLD;
    if (told > 0)
        return 0;
    for (int i = 0; day->of_plan && i < bulletin->action_count; i++)
        if (bulletin->actions[i].kind == ACTION_BOIL &&
            bulletin->actions[i].start == day->from)
            day->order.sap_l = bulletin->actions[i].sap_l;
    day->sap_from = SYRUP_SAP_PLAN;
    if (day->order.sap_l > 0)
        return 0;
    day->sap_from =
        house->storage_l > 0 ? SYRUP_SAP_STORAGE : SYRUP_SAP_EXAMPLE;
    day->order.sap_l = house->storage_l > 0 ? house->storage_l
                       : units == UNITS_US  ? example_us_l
                                            : example_l;
    return 0;
}

/* The sugar last measured, if that is not long ago. The plan's amounts are of
 * sap, not of concentrate: of those as the plan itself takes it. */
static void sugar_of_log(struct syrup_day *day)
{
    double most_brix = day->sap_from == SYRUP_SAP_PLAN ? LOG_MOST_SAP_BRIX
                                                       : day->order.syrup_brix;
    struct logbook book;
    struct log_view view;

    if (operation_read_log(day->operation, &book) != 0)
        logbook_free(&book);
    log_view_make(&book, false, &view);
    if (log_sugar_lately(&view, day->now, most_brix, &day->order.sap_brix,
                         &day->sugar_at))
        day->sugar_from = SYRUP_SUGAR_LOG;
    log_view_free(&view);
    logbook_free(&book);
}

/* Of sugar a plain number is Brix. */
static int read_brix(const struct options *options, double *out,
                     struct error *err)
{
    const char *words = options->own[SYRUP_BRIX];
    size_t length = words != NULL ? quantity_number(words, out) : 0;

    if (length > 0 && words[length] == '\0')
        return 1;
    return read_option(options, SYRUP_BRIX, "--brix", DIMENSION_SUGAR_BRIX, out,
                       err);
}

static int find_sugar(const struct options *options, struct syrup_day *day,
                      struct error *err)
{
    int told = read_brix(options, &day->order.sap_brix, err);

    if (told < 0)
        return -1;
    day->sugar_from = told > 0 ? SYRUP_SUGAR_TOLD : SYRUP_SUGAR_ASSUMED;
    if (told > 0 && !(day->order.sap_brix >= 0.1 &&
                      day->order.sap_brix < day->order.syrup_brix))
        return error_set(err,
                         _("--brix %.40s: sap has from 0.1 %% to less than "
                           "the syrup's %.1f %%"),
                         options->own[SYRUP_BRIX], day->order.syrup_brix);
    if (told == 0)
        sugar_of_log(day);
    if (day->sugar_from == SYRUP_SUGAR_ASSUMED)
        day->order.sap_brix = usual_sap_brix;
    return 0;
}

static int find_cup(const struct options *options, struct syrup_day *day,
                    struct error *err)
{
    double cup_c = 0;
    int told = read_option(options, SYRUP_CUP, "--cup-temp",
                           DIMENSION_TEMPERATURE_C, &cup_c, err);

    if (told <= 0)
        return told;
    if (!(cup_c >= 0 && cup_c <= 110))
        return error_set(err,
                         _("--cup-temp %.40s: syrup in the cup has 32 to 230 F "
                           "(0 to 110 C)"),
                         options->own[SYRUP_CUP]);
    day->has_cup = true;
    day->cup = pan_cup_at(day->order.syrup_brix, cup_c);
    return 0;
}

static void take_house(struct syrup_day *day)
{
    const struct config_sugarhouse *house = &day->operation->config->sugarhouse;

    day->order.evaporator = plan_evaporator(house);
    day->order.syrup_brix = house->syrup_brix;
    day->order.sap_temp_c = sap_temp_c;
    day->order.syrup_l_per_m3_wood = house->syrup_l_per_m3_wood;
    day->order.smallest_boil_l = plan_smallest_boil_l(house);
    day->elevation_m = day->operation->config->bushes[0].elevation_m;
}

static void doubt_density(struct syrup_day *day)
{
    double brix = day->order.syrup_brix;
    char told[QUANTITY_SIZE], bound[QUANTITY_SIZE];

    number_format(brix, 1, told);
    number_format(brix < SYRUP_LEAST_BRIX ? SYRUP_LEAST_BRIX : SYRUP_MOST_BRIX,
                  1, bound);
    if (brix < SYRUP_LEAST_BRIX)
        error_list_add(&day->doubts,
                       _("%s Brix is under the legal least of %s for "
                         "syrup that is sold (80 FR 4853)."),
                       told, bound);
    else if (brix > SYRUP_MOST_BRIX)
        error_list_add(&day->doubts,
                       _("%s Brix is over the %s that Grade A may have "
                         "(80 FR 4853)."),
                       told, bound);
    else if (brix > SYRUP_CRYSTALS_BRIX)
        error_list_add(&day->doubts,
                       _("Syrup of %s Brix throws crystals in a cool room."),
                       told);
}

static void doubt_amount(struct syrup_day *day)
{
    const struct pan_numbers *numbers = &day->numbers;
    /* The plan counts whole hours, and one to light and to let it go out. */
    double room_s =
        (double)(day->to - day->from) + (day->of_plan ? SECONDS_PER_HOUR : 0);

    /* The plan lights no fire below it: what a day does not take stays in the
     * tanks for the next, and the pans are fed all the time. */
    if (day->sap_from != SYRUP_SAP_PLAN &&
        day->order.sap_l < day->order.smallest_boil_l)
        error_list_add(&day->doubts, "%s",
                       _("That is less sap than the smallest boil: the pans "
                         "would run dry and scorch. Wait for more."));
    if (numbers->boil.hours * SECONDS_PER_HOUR > room_s)
        error_list_add(&day->doubts, "%s",
                       _("That takes longer than the hours above: part of it "
                         "is for another day, or the fire burns unattended."));
}

static int fill_day(const struct options *options,
                    const struct bulletin *bulletin, enum unit_system units,
                    struct syrup_day *day, struct error *err)
{
    take_house(day);
    find_hours(day, bulletin);
    if (find_air(options, bulletin, day, err) != 0 ||
        find_sap(options, bulletin, day, units, err) != 0 ||
        find_sugar(options, day, err) != 0 || find_cup(options, day, err) != 0)
        return -1;
    for (int i = 0; i < CUP_COUNT; i++)
        day->cups_c[i] =
            units == UNITS_US ? c_from_f(cups_us_f[i]) : cups_metric_c[i];
    day->order.cups_c = day->cups_c;
    day->order.cup_count = CUP_COUNT;
    pan_numbers_make(&day->order, &day->numbers);
    doubt_density(day);
    doubt_amount(day);
    return 0;
}

static void print_day(const struct syrup_day *day,
                      const struct show_style *style, bool json)
{
    struct text out;

    if (json) {
        char *words = syrup_json(day);

        fputs(words, stdout);
        free(words);
        return;
    }
    text_init(&out, OUT_MAX_BYTES);
    syrup_show(day, style, &out);
    fputs(out.bytes, stdout);
    text_free(&out);
}

int command_syrup(const struct options *options)
{
    struct operation operation;
    struct syrup_day day = {.operation = &operation,
                            .now = options_now(options)};
    struct bulletin *bulletin = NULL;
    struct error err = {""}, why = {""};
    int code = operation_open(options, &operation);

    if (code == EXIT_DONE) {
        struct show_style style =
            published_style(options, operation.config->units);

        bulletin = operation_read_bulletin(&operation, &why);
        if (fill_day(options, bulletin, style.units, &day, &err) == 0)
            print_day(&day, &style, options->json);
        else
            code = complain(EXIT_USAGE, err.text);
    }
    error_list_free(&day.doubts);
    bulletin_free(bulletin);
    operation_close(&operation);
    return code;
}
