/* Findings about a row of the job or library, with the file and line it was read from. */
#ifndef MODEL_REPORT_H
#define MODEL_REPORT_H

#include "model/model.h"

/* A finding of `rule` about row `row` of `table`; `column` may be "". The message is formatted into
 * findings->arena. The pointer is good until the next finding. */
Finding *report_row(Findings *findings, const Model *model, RuleId rule, TableId table,
                    uint32_t row, const char *column, const char *format, ...)
    __attribute__((format(printf, 7, 8)));

/* The same about the row behind an owner. */
Finding *report_owner(Findings *findings, const Model *model, RuleId rule, OwnerId owner,
                      const char *format, ...) __attribute__((format(printf, 5, 6)));

/* Table of the row behind an owner. */
TableId report_owner_table(const Model *model, OwnerId owner);

/* The same for a kind of owner. */
TableId report_kind_table(OwnerKind kind);

/* A hint formatted into the findings' arena. */
void report_hint(Findings *findings, Finding *finding, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* A hint for a name that nothing in the job has, "TAG" or "TAG.TERMINAL": the nearest one that is
 * there (owners, buses, terminals), else, and for "TAG.", the terminals of that owner. No hint when
 * nothing is near; false then. */
bool report_meant(Findings *findings, Finding *finding, const Model *model, const char *end);

/* Value, limit and unit of a finding; the limit's source unless it is NULL. */
void report_values(Finding *finding, double value, double limit, const char *unit,
                   const char *source);

#endif
