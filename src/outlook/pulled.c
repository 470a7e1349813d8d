#include "outlook/outlook.h"

static void take_sap_out(struct outlook_day *day)
{
    day->sap_l_per_tap_p10 = 0;
    day->sap_l_per_tap_p50 = 0;
    day->sap_l_per_tap_p90 = 0;
    day->rule_a_l_per_tap = 0;
    day->rule_b_l_per_tap = 0;
    day->chance = 0;
    day->strength = STRENGTH_NONE;
    day->has_window = false;
    day->has_window_span = false;
}

void outlook_pulled(struct outlook *outlook, const struct zone *zone,
                    struct civil_date pulled)
{
    int width = outlook->hours - outlook->member_first;
    int from = grid_row_from(outlook->start, outlook->hours,
                             zone_day_start(zone, pulled));

    for (int i = 0; i < outlook->count; i++)
        if (civil_date_compare(outlook->days[i].date, pulled) >= 0)
            take_sap_out(&outlook->days[i]);
    for (int row = from; row < outlook->hours; row++) {
        outlook->sap_l_per_tap[row] = 0;
        outlook->sap_l_per_tap_p10[row] = 0;
        outlook->sap_l_per_tap_p90[row] = 0;
    }
    for (int member = 0; member < outlook->member_count &&
                         outlook->member_sap_l_per_tap != NULL;
         member++)
        for (int row = from > outlook->member_first ? from
                                                    : outlook->member_first;
             row < outlook->hours; row++)
            outlook->member_sap_l_per_tap[member * width + row -
                                          outlook->member_first] = 0;
}
