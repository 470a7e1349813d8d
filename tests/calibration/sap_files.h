/* The model files held against what the data give. */
#ifndef CALIBRATION_SAP_FILES_H
#define CALIBRATION_SAP_FILES_H

#include "sap_fit.h"

/* Compares the fitted numbers and full_store_l in stem.json and
 * gathering-buckets.json with the model's, or writes them (three figures).
 * Returns how many differ by more than 5 %, or could not be written: the fit
 * ends a little elsewhere with another compiler. */
int sap_files_settle(const struct sap_problem *problem, const char *folder,
                     bool write);

#endif
