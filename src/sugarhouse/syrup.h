/* Sugar solutions: density, boiling, the hydrometer, syrup from sap.
 *
 * "Brix" is sugar in per cent of mass; sap and syrup are taken as sucrose
 * solutions, as the trade's tables do. */
#ifndef SUGARHOUSE_SYRUP_H
#define SUGARHOUSE_SYRUP_H

/* The temperature at which hydrometers for syrup are set: 60 F. */
#define HYDROMETER_SET_C 15.555555555555555
/* Expansion of hydrometer glass, per kelvin (soda-lime glass, volume). */
#define HYDROMETER_GLASS_PER_K 25e-6
/* Legal least density of syrup: 66.0 % soluble solids (80 FR 4853, 29 January
 * 2015; 21 CFR 168.140); Grade A at most 68.9 %. */
#define SYRUP_LEAST_BRIX 66.0
#define SYRUP_MOST_BRIX 68.9
/* Packed hot, at 180 to 185 F, it keeps; above some 190 F it throws new sugar
 * sand (common practice, no source). */
#define SYRUP_PACK_LEAST_C ((180.0 - 32) * 5 / 9)
#define SYRUP_PACK_MOST_C ((185.0 - 32) * 5 / 9)
/* Denser than this, sugar crystals form at 20 C: the solubility of sucrose,
 * 67.09 % (CRC Handbook of Chemistry and Physics). */
#define SYRUP_CRYSTALS_BRIX 67.09

/* Density of a sucrose solution, kg/m3, 0 to 80 C in the fit and up to the
 * boil by extension: the polynomial of ICUMSA Specification and Standard
 * SPS-4 (1994) (Bubnik et al., Sugar Technologists Manual, 1995). */
double sugar_density_kg_m3(double brix, double temp_c);

/* How far above water the solution boils, kelvin, at the pressure: at one
 * atmosphere 1.78 x + 6.22 x^2 (x mass fraction; Geankoplis, Transport
 * Processes and Unit Operations, 1983), scaled by 1.015 so that syrup of
 * 66.0 Brix boils 7.1 F above water (common practice, no source); with the
 * pressure as the square of the absolute boiling point over the latent heat
 * (van 't Hoff). */
double sugar_boiling_rise_k(double brix, double station_pressure_hpa);

/* What the thermometer in the pan reads when it is syrup. */
double syrup_draw_off_c(double brix, double station_pressure_hpa);

/* What a hydrometer in Brix, set at set_temp_c, reads in a solution of `brix`
 * at temp_c. */
double hydrometer_reading_brix(double brix, double temp_c, double set_temp_c);

/* Degrees Baume (145 - 145/SG, specific gravity 20 C over 20 C) of Brix. */
double baume_of_brix(double brix);

/* Litres of syrup at 20 C from litres of sap at 4 C, by the balance of
 * sugar. 0 for sap without sugar. */
double syrup_from_sap_l(double sap_l, double sap_brix, double syrup_brix);
double sap_for_syrup_l(double syrup_l, double sap_brix, double syrup_brix);
/* A rule of thumb beside it: volumes of sap for one of syrup are `over` by the
 * sap's Brix, less `less`. Each is of syrup of one density:
 * 65.5 Brix  86 / x           the old rule, of the density of its day
 * 66.0 Brix  87.1 / x - 0.32  Perkins and Isselhardt, The Jones Rule of 86
 *                             Revisited (2013)
 * 66.9 Brix  88.2 / x         common practice, no source
 * Against the balance of sugar each is off by 1.2 % at most up to
 * 4 Brix. */
struct sap_rule {
    double syrup_brix, over, less;
};
/* The rule whose density is nearest. Borrowed. */
const struct sap_rule *sap_rule_for(double syrup_brix);
double sap_rule_ratio(const struct sap_rule *rule, double sap_brix);

#endif
