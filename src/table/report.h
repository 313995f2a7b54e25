/* Findings about one file, capped: the first FINDINGS_PER_FILE_MAX are listed, the rest counted. */
#ifndef TABLE_REPORT_H
#define TABLE_REPORT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/findings.h"

typedef struct Report {
    Findings *findings;
    const char *file;  /* in findings->arena or longer */
    const char *table; /* name of the table, "" when unknown */
    size_t listed;
    size_t more;
} Report;

/* True when the next finding will be listed; counts it when not. Ask before doing work that only a
 * listed finding needs (nearest names), then call report_add exactly once. */
bool report_room(Report *report);

/* Adds one finding at `line` (0: the file as a whole). Only after report_room said true. */
Finding *report_add(Report *report, RuleId rule, const char *key, const char *column, uint32_t line,
                    const char *format, ...) __attribute__((format(printf, 6, 7)));

/* Says how many were not listed, if any. */
void report_close(Report *report);

/* A cell's text for a message: one line, at most 40 characters. In findings->arena. */
const char *report_excerpt(Report *report, const char *text);

/* Sets the hint `perhaps "NAME"` from the nearest of `names`, when one is near. */
void report_nearest(Report *report, Finding *finding, const char *found, const char *const *names,
                    size_t count);

#endif
