#include "app/compare.h"

#include <stdlib.h>
#include <string.h>

#include "table/write.h"

/* Tables whose rows say the same thing as another one's, or that only count. */
static bool is_compared(TableId table) {
    return table_schema(table)->group != GROUP_LIBRARY && table != TABLE_finding;
}

static void write_csv_line(Buffer *out, const char *table, const TableChange *change) {
    buffer_format(out, "%s,", table);
    table_write_cell(out, change->key);
    buffer_format(out, ",%s,", change->column);
    table_write_cell(out, change->before == NULL ? "" : change->before);
    buffer_text(out, ",");
    table_write_cell(out, change->after == NULL ? "" : change->after);
    buffer_text(out, "\n");
}

static void write_text_line(Buffer *out, const TableChange *change) {
    if (*change->column == '\0') {
        buffer_format(out, "  %c %s\n", change->before == NULL ? '+' : '-', change->key);
    } else {
        buffer_format(out, "    %s %s: %s -> %s\n", change->key, change->column,
                      *change->before == '\0' ? "(blank)" : change->before,
                      *change->after == '\0' ? "(blank)" : change->after);
    }
}

static void write_group(Buffer *out, const Proof *before, const Proof *after, TableGroup group,
                        bool csv) {
    size_t count = 0;
    TableChange *changes = table_compare(out->arena, &before->set, &after->set, group, &count);
    TableId last = TABLE_COUNT;
    for (size_t i = 0; i < count; i++) {
        const TableChange *change = &changes[i];
        if (!is_compared(change->table)) {
            continue;
        }
        const char *name = table_schema(change->table)->name;
        if (csv) {
            write_csv_line(out, name, change);
            continue;
        }
        if (change->table != last) {
            buffer_format(out, "%s\n", name);
            last = change->table;
        }
        write_text_line(out, change);
    }
}

/* What a finding says, without its number and place: equal texts are one finding. */
static const char *finding_text(Arena *arena, const Finding *finding) {
    return arena_format(arena, "%s %s %s: %s", severity_name(finding->severity),
                        rule_name(finding->rule), finding->key, finding->message);
}

static void write_findings(Buffer *out, const Proof *here, const Proof *there, bool came,
                           bool csv) {
    NameMap known = {0};
    for (size_t i = 0; i < there->findings.count; i++) {
        name_map_add(&known, out->arena, finding_text(out->arena, &there->findings.rows[i]), 0);
    }
    for (size_t i = 0; i < here->findings.count; i++) {
        const char *text = finding_text(out->arena, &here->findings.rows[i]);
        if (name_map_find(&known, text) != NAME_NONE) {
            continue;
        }
        if (csv) {
            TableChange change = {.key = text, .column = ""};
            change.before = came ? NULL : text;
            change.after = came ? text : NULL;
            write_csv_line(out, "finding", &change);
        } else {
            buffer_format(out, "  %c %s\n", came ? '+' : '-', text);
        }
    }
}

bool compare_write(Buffer *out, const Proof *before, const Proof *after, const char *format) {
    bool csv = strcmp(format, "csv") == 0;
    if (!csv && strcmp(format, "text") != 0) {
        return false;
    }
    if (csv) {
        buffer_text(out, "table,row,column,before,after\n");
    }
    write_group(out, before, after, GROUP_JOB, csv);
    if (before->complete && after->complete) {
        write_group(out, before, after, GROUP_RESULT, csv);
    }
    Buffer findings = {.arena = out->arena};
    write_findings(&findings, before, after, false, csv);
    write_findings(&findings, after, before, true, csv);
    if (findings.length > 0) {
        buffer_text(out, csv ? "" : "findings\n");
        buffer_add(out, findings.bytes, findings.length);
    }
    if (out->length == 0) {
        buffer_text(out, "no difference\n");
    }
    return true;
}
