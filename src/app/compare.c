#include "app/compare.h"

#include <stdlib.h>
#include <string.h>

#include "app/panel_files.h"
#include "draw/panel_look.h"
#include "draw/paper.h"
#include "out/portrait.h"
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

/* The tables of a group by key: derived ones stand in an order of their own. */
static TableSet by_key(Arena *arena, const TableSet *set, TableGroup group) {
    TableSet sorted = {0};
    for (int i = 0; i < TABLE_COUNT; i++) {
        const AnyTable *table = &set->any[i];
        size_t bytes = table_schema((TableId)i)->row_bytes;
        if (table_schema((TableId)i)->group == group && table->count > 0) {
            void *rows = arena_take(arena, table->count, bytes);
            memcpy(rows, table->rows, table->count * bytes);
            sorted.any[i] =
                (AnyTable){.rows = rows, .count = table->count, .capacity = table->count};
        }
    }
    table_set_sort(&sorted);
    return sorted;
}

static void write_group(Buffer *out, const Proof *before, const Proof *after, TableGroup group,
                        bool csv) {
    size_t count = 0;
    bool written = group != GROUP_RESULT; /* as a person wrote it, with what was declined */
    TableSet was = by_key(out->arena, written ? &before->whole : &before->set, group);
    TableSet is = by_key(out->arena, written ? &after->whole : &after->set, group);
    TableChange *changes = table_compare(out->arena, &was, &is, group, &count);
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

/* --- panel --------------------------------------------------------------------------------------
 */

/* Seen, then cut. */
static void write_changes(Buffer *out, const SeenChange *changes, size_t count, bool csv) {
    for (size_t i = 0; i < count; i++) {
        const SeenChange *change = &changes[i];
        if (csv) {
            TableChange row = {.key = arena_format(out->arena, "%s %s", change->kind, change->key),
                               .column = change->what,
                               .before = change->before,
                               .after = change->after};
            write_csv_line(out, "panel", &row);
        } else {
            bool words = *change->before != '\0' || *change->after != '\0';
            bool both = *change->before != '\0' && *change->after != '\0';
            buffer_format(out, "    %s %s: %s%s%s%s%s\n", change->kind, change->key, change->what,
                          words ? ": " : "", change->before, both ? " -> " : "", change->after);
        }
    }
}

static void write_panel(Buffer *out, const Proof *before, const Proof *after, bool csv) {
    Arena *arena = out->arena;
    Panel panels[2];
    const char *seen[2];
    char hex[2][65];
    Buffer cut[2] = {{.arena = arena}, {.arena = arena}};
    const Proof *proofs[] = {before, after};
    for (int i = 0; i < 2; i++) {
        Findings findings = {.arena = arena}; /* told by prove */
        panels[i] = (Panel){.model = &proofs[i]->model};
        panel_read(arena, &proofs[i]->model, &panels[i], &findings);
        panel_seen_hash(arena, &panels[i], hex[i], &seen[i]);
        panel_cut_list(&cut[i], &panels[i]);
    }
    size_t seen_count;
    size_t cut_count;
    SeenChange *of_seen = panel_seen_compare(arena, seen[0], seen[1], &seen_count);
    SeenChange *of_cut = panel_seen_compare(arena, cut[0].bytes == NULL ? "" : cut[0].bytes,
                                            cut[1].bytes == NULL ? "" : cut[1].bytes, &cut_count);
    if (seen_count + cut_count == 0) {
        return;
    }
    if (!csv) {
        buffer_format(out, "panel\n");
    }
    if (seen_count > 0) {
        SeenChange hash = {"seen", "hash", "approval no longer covers it", hex[0], hex[1]};
        write_changes(out, &hash, 1, csv);
    }
    write_changes(out, of_seen, seen_count, csv);
    write_changes(out, of_cut, cut_count, csv);
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
    if (before->complete && after->complete) {
        write_panel(out, before, after, csv);
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

bool compare_picture(Arena *arena, const Proof *before, const Proof *after, const char *path,
                     Status *status, const char **problem) {
    const Proof *proofs[] = {before, after};
    Panel panels[2];
    const char *seen[2];
    char hex[2][65];
    for (int i = 0; i < 2; i++) {
        Findings findings = {.arena = arena};
        panels[i] = (Panel){.model = &proofs[i]->model};
        if (!proofs[i]->complete || !panel_read(arena, &proofs[i]->model, &panels[i], &findings)) {
            *problem = "a picture of what differs wants two complete jobs with a panel";
            return false;
        }
        panel_seen_hash(arena, &panels[i], hex[i], &seen[i]);
    }
    size_t count;
    SeenChange *changes = panel_seen_compare(arena, seen[0], seen[1], &count);
    PortraitShot *shots = ARENA_ARRAY(arena, PortraitShot, panels[1].face_count);
    for (uint32_t i = 0; i < panels[1].face_count; i++) {
        shots[i] = (PortraitShot){.look = panel_look(&panels[1], i),
                                  .face = i,
                                  .view = PORTRAIT_FRONT,
                                  .caption = panels[1].faces[i].key,
                                  .detail = "dashed: as it was; thick: as it is",
                                  .before = &panels[0],
                                  .changes = changes,
                                  .change_count = count};
    }
    PortraitPage page = {
        .panel = &panels[1],
        .shots = shots,
        .count = panels[1].face_count,
        .title = "Panel: what differs",
        .right = arena_format(arena, "seen %.8s, was %.8s", hex[1], hex[0]),
        .foot = sheet_caution(),
    };
    DrawFonts *fonts = fonts_open();
    *status = portrait_write(&page, fonts, path, PORTRAIT_PIXELS);
    fonts_close(fonts);
    return true;
}
