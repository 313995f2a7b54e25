#include "base/findings.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"

typedef struct RuleRow {
    const char *name;
    Severity severity;
    const char *title;
    const char *source;
} RuleRow;

static const RuleRow RULES[RULE_COUNT] = {
#define RULE_ROW(id, name, severity, title, source) {name, SEVERITY_##severity, title, source},
    RULE_LIST(RULE_ROW)
#undef RULE_ROW
};

static const char *const SEVERITIES[SEVERITY_COUNT] = {
#define SEVERITY_NAME(id, name) name,
    SEVERITY_LIST(SEVERITY_NAME)
#undef SEVERITY_NAME
};

static int compare_findings(const void *left, const void *right) {
    const Finding *a = left;
    const Finding *b = right;
    if (a->severity != b->severity) {
        return a->severity > b->severity ? -1 : 1;
    }
    if (a->rule != b->rule) {
        return a->rule < b->rule ? -1 : 1;
    }
    int order = strcmp(a->table, b->table);
    order = order != 0 ? order : text_compare_keys(a->key, b->key);
    order = order != 0 ? order : strcmp(a->column, b->column);
    order = order != 0 ? order : strcmp(a->file, b->file);
    if (order == 0 && a->line != b->line) {
        return a->line < b->line ? -1 : 1;
    }
    return order != 0 ? order : strcmp(a->message, b->message);
}

/* --- exported ----------------------------------------------------------------------------------
 */

Finding *finding_add(Findings *findings, RuleId rule) {
    CHECK(rule < RULE_COUNT);
    Finding *finding =
        ARENA_PUSH(findings->arena, findings->rows, findings->count, findings->capacity);
    *finding = (Finding){
        .rule = rule,
        .severity = RULES[rule].severity,
        .table = "",
        .key = "",
        .column = "",
        .file = "",
        .message = "",
        .value = NAN,
        .limit = NAN,
        .unit = "",
        .source = RULES[rule].source,
        .hint = "",
        .rows = "",
        .reason = "",
    };
    return finding;
}

Finding *finding_report(Findings *findings, RuleId rule, const char *table, const char *key,
                        const char *column, const char *format, ...) {
    char text[1024];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    Finding *finding = finding_add(findings, rule);
    finding->table = arena_text(findings->arena, table, strlen(table));
    finding->key = arena_text(findings->arena, key, strlen(key));
    finding->column = arena_text(findings->arena, column, strlen(column));
    finding->message = arena_text(findings->arena, text, strlen(text));
    return finding;
}

void findings_append(Findings *findings, const Findings *more) {
    for (size_t i = 0; i < more->count; i++) {
        *ARENA_PUSH(findings->arena, findings->rows, findings->count, findings->capacity) =
            more->rows[i];
    }
}

void findings_sort(Findings *findings) {
    if (findings->count > 1) {
        qsort(findings->rows, findings->count, sizeof *findings->rows, compare_findings);
    }
}

size_t findings_open(const Findings *findings, Severity severity) {
    size_t open = 0;
    for (size_t i = 0; i < findings->count; i++) {
        open += findings->rows[i].severity == severity && !findings->rows[i].accepted;
    }
    return open;
}

const char *rule_name(RuleId rule) {
    CHECK(rule < RULE_COUNT);
    return RULES[rule].name;
}

const char *rule_title(RuleId rule) {
    CHECK(rule < RULE_COUNT);
    return RULES[rule].title;
}

const char *rule_source(RuleId rule) {
    CHECK(rule < RULE_COUNT);
    return RULES[rule].source;
}

Severity rule_severity(RuleId rule) {
    CHECK(rule < RULE_COUNT);
    return RULES[rule].severity;
}

const char *severity_name(Severity severity) {
    CHECK(severity < SEVERITY_COUNT);
    return SEVERITIES[severity];
}

RuleId rule_find(const char *name) {
    for (int rule = 0; rule < RULE_COUNT; rule++) {
        if (strcmp(RULES[rule].name, name) == 0) {
            return (RuleId)rule;
        }
    }
    return RULE_COUNT;
}

bool rule_is_bench(RuleId rule) {
    static const bool BENCH[RULE_COUNT] = {
#define RULE_BENCH(id, name, severity, title, source) [RULE_##id] = true,
        BENCH_RULES(RULE_BENCH)
#undef RULE_BENCH
    };
    return rule < RULE_COUNT && BENCH[rule];
}
