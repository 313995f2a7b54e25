/* Findings: what is wrong in the user's job, as data. A pass adds them; nobody prints until the
 * end. A finding says which rule, where (table, row, column, file, line), what was found, what the
 * limit is, where the limit comes from and what would cure it. */
#ifndef BASE_FINDINGS_H
#define BASE_FINDINGS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/rules.h"

/* SEVERITY(identifier, name): from least to worst. `unreadable` is bad input (exit 2), `error`
 * blocks a release (exit 1), a warning wants a look, a note only tells. */
#define SEVERITY_LIST(S)                                                                           \
    S(NOTE, "note") S(WARNING, "warning") S(ERROR, "error") S(UNREADABLE, "unreadable")

typedef enum Severity {
#define SEVERITY_ID(id, name) SEVERITY_##id,
    SEVERITY_LIST(SEVERITY_ID)
#undef SEVERITY_ID
        SEVERITY_COUNT
} Severity;

typedef struct Finding {
    RuleId rule;
    Severity severity;
    const char *table;   /* "unit"; "" when no table is concerned */
    const char *key;     /* key of the row, or of the derived thing; "" when none */
    const char *column;  /* "" when the whole row is meant */
    const char *file;    /* path as given, "" when the row was not read from a file */
    uint32_t line;       /* 1 is the first line of the file, 0 when there is none */
    const char *message; /* one sentence a practitioner understands, with the numbers */
    double value;        /* what was found, NAN when it is not a number */
    double limit;        /* the limit, NAN when there is none */
    const char *unit;    /* of value and limit, "" when none */
    const char *source;  /* of the limit; the rule's own source when none is given */
    const char *hint;    /* what would cure it; nearest valid name; "" when unknown */
    const char *rows;    /* keys of the other rows concerned, separated by blanks */
    bool accepted;       /* an `accept` row covers it */
    const char *reason;  /* of the acceptance, "" when none */
} Finding;

typedef struct Findings {
    Arena *arena; /* owns the list and every text in it */
    Finding *rows;
    size_t count;
    size_t capacity;
} Findings;

/* Appends a finding of `rule` with the rule's severity and source, empty texts and NAN numbers, and
 * returns it for filling in; texts put into it must live in findings->arena or longer. The pointer
 * is good until the next call. */
Finding *finding_add(Findings *findings, RuleId rule);

/* The same with table, key, column and a message formatted into findings->arena; table and key are
 * copied. */
Finding *finding_report(Findings *findings, RuleId rule, const char *table, const char *key,
                        const char *column, const char *format, ...)
    __attribute__((format(printf, 6, 7)));

/* Appends those of `more`, whose texts must live as long. */
void findings_append(Findings *findings, const Findings *more);

/* Puts findings in their final order: worst first, then rule, table, key, column, line. Total, so
 * that the order in which passes ran does not show. */
void findings_sort(Findings *findings);

/* How many of that severity are not accepted. */
size_t findings_open(const Findings *findings, Severity severity);

const char *rule_name(RuleId rule);
const char *rule_title(RuleId rule);
const char *rule_source(RuleId rule);
Severity rule_severity(RuleId rule);
const char *severity_name(Severity severity);

/* The rule of that name, RULE_COUNT when there is none. */
RuleId rule_find(const char *name);

/* True for rules of the passes beside the live chain. */
bool rule_is_bench(RuleId rule);

#endif
