/* The rows of the table, each in its own file. */
#ifndef SOURCE_SERVICES_H
#define SOURCE_SERVICES_H

#include "source/source.h"

extern const struct source source_nws;
extern const struct source source_metno;
extern const struct source source_open_meteo;
extern const struct source source_open_meteo_ensemble;

#endif
