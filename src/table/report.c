#include "table/report.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "table/rows.h"
#include "table/utf8.h"

enum { EXCERPT_CHARACTERS = 40 };

bool report_room(Report *report) {
    if (report->listed < FINDINGS_PER_FILE_MAX) {
        return true;
    }
    report->more++;
    return false;
}

Finding *report_add(Report *report, RuleId rule, const char *key, const char *column, uint32_t line,
                    const char *format, ...) {
    char message[1024];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(message, sizeof message, format, arguments);
    va_end(arguments);
    report->listed++;
    Finding *finding =
        finding_report(report->findings, rule, report->table, key, column, "%s", message);
    finding->file = report->file;
    finding->line = line;
    return finding;
}

void report_close(Report *report) {
    if (report->more > 0) {
        report_add(report, RULE_READ_MANY, "", "", 0, "%zu more errors in this file are not listed",
                   report->more);
    }
}

const char *report_excerpt(Report *report, const char *text) {
    const char *end = text + strlen(text);
    const char *at = text;
    size_t count = 0;
    while (at < end && count < EXCERPT_CHARACTERS) {
        size_t size = utf8_sequence(at, end);
        at += size > 0 ? size : 1;
        count++;
    }
    bool whole = at == end;
    char *copy =
        arena_format(report->findings->arena, "%.*s%s", (int)(at - text), text, whole ? "" : "...");
    for (char *c = copy; *c != '\0'; c++) {
        *c = *c == '\n' || *c == '\r' || *c == '\t' ? ' ' : *c;
    }
    return copy;
}

void report_nearest(Report *report, Finding *finding, const char *found, const char *const *names,
                    size_t count) {
    const char *nearest = text_nearest(found, names, count);
    if (nearest != NULL) {
        finding->hint = arena_format(report->findings->arena, "perhaps \"%s\"", nearest);
    }
}
