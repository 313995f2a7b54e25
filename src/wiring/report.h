/* Findings about rows of the job: table, key, file and line are taken from the row. Shared by the
 * wire and route passes. */
#ifndef WIRING_REPORT_H
#define WIRING_REPORT_H

#include "model/model.h"

/* A finding of `rule` on row `row` of `table`, with a formatted message; column "" for the whole
 * row. The pointer is good until the next finding. */
Finding *wiring_report(Findings *findings, const Model *model, RuleId rule, TableId table,
                       uint32_t row, const char *column, const char *format, ...)
    __attribute__((format(printf, 7, 8)));

/* A hint formatted into the findings' arena. */
void wiring_hint(Findings *findings, Finding *finding, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Value, limit and unit of a finding; the limit's source unless it is NULL. */
void wiring_values(Finding *finding, double value, double limit, const char *unit,
                   const char *source);

#endif
