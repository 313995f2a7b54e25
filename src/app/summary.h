/* Summary: one page that a practitioner would pin on the wall, from the result tables alone. */
#ifndef APP_SUMMARY_H
#define APP_SUMMARY_H

#include "app/prove.h"

/* Colours for a terminal; all "" for plain text. */
typedef struct SummaryStyle {
    const char *strong;
    const char *severity[SEVERITY_COUNT];
    const char *plain; /* back to normal */
} SummaryStyle;

extern const SummaryStyle SUMMARY_PLAIN;
extern const SummaryStyle SUMMARY_TERMINAL;

/* Writes size, mass, bundles, disconnects, loads by phase with margins, endurance, lowest box
 * voltage, findings by severity with the first line of each, and the caution. */
void summary_write(Buffer *out, const Proof *proof, const SummaryStyle *style);

/* The caution that stands wherever a person may act on a result. */
const char *summary_caution(void);

#endif
