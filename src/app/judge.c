#include "app/judge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* --- where a row stands -------------------------------------------------------------------------
 */

static Finding *report_row(const Model *model, Findings *findings, RuleId rule, TableId table,
                           const char *key, RowPlace place, const char *column) {
    Finding *finding = finding_add(findings, rule);
    finding->table = table_schema(table)->name;
    finding->key = key;
    finding->column = column;
    finding->file = place.file < model->set->file_count ? model->set->files[place.file] : "";
    finding->line = place.line;
    return finding;
}

static const char *override_key(Arena *arena, const OverrideRow *row) {
    return arena_format(arena, "%s %s %s", row->table, row->row, row->column);
}

/* --- overrides ----------------------------------------------------------------------------------
 */

/* OVERRIDE(table, column): what a person may set. */
#define OVERRIDE_LIST(OVERRIDE)                                                                    \
    OVERRIDE("gauge", "awg") OVERRIDE("conductor", "awg") OVERRIDE("cable_run", "length_mm")

static bool override_known(const OverrideRow *row) {
#define OVERRIDE_IS(table_name, column_name)                                                       \
    if (strcmp(row->table, table_name) == 0 && strcmp(row->column, column_name) == 0) {            \
        return true;                                                                               \
    }
    OVERRIDE_LIST(OVERRIDE_IS)
#undef OVERRIDE_IS
    return false;
}

/* The cable of that key, or the only one of that circuit. */
static CableId find_cable(const Wiring *wiring, const char *key) {
    ConductorId conductor = name_map_find(&wiring->conductor_by_key, key);
    if (conductor != NAME_NONE) {
        return wiring->conductors[conductor].cable;
    }
    NetId net = name_map_find(&wiring->net_by_name, key);
    if (net != NAME_NONE && wiring->nets[net].cable_count == 1) {
        return wiring->nets[net].cable_first;
    }
    return ID_NONE;
}

static void override_length(const Model *model, const Wiring *wiring, Routing *routing,
                            const OverrideRow *row, Findings *findings) {
    CableId cable = find_cable(wiring, row->row);
    const char *key = override_key(findings->arena, row);
    if (cable == ID_NONE) {
        Finding *finding =
            report_row(model, findings, RULE_APP_OVERRIDE, TABLE_override, key, row->row_at, "row");
        finding->message = arena_format(findings->arena, "no laid piece is called %s", row->row);
        finding->hint = "name a wire key, or a circuit that is one piece";
        return;
    }
    char *end = NULL;
    double length_mm = strtod(row->value, &end);
    if (end == row->value || *end != '\0' || !isfinite(length_mm) || length_mm <= 0.0) {
        Finding *finding = report_row(model, findings, RULE_APP_OVERRIDE, TABLE_override, key,
                                      row->row_at, "value");
        finding->message = arena_format(findings->arena, "%s is no length in mm", row->value);
        return;
    }
    double derived_mm = routing->length_mm[cable];
    Finding *finding =
        report_row(model, findings, RULE_APP_OVERRIDDEN, TABLE_override, key, row->row_at, "value");
    finding->message =
        arena_format(findings->arena, "length of %s set to %.0f mm by %s, derived %.0f mm: %s",
                     row->row, length_mm, row->who, derived_mm, row->reason);
    finding->value = length_mm;
    finding->limit = derived_mm;
    finding->unit = "mm";
    routing->length_mm[cable] = length_mm;
}

/* --- acceptances --------------------------------------------------------------------------------
 */

static bool row_matches(const AcceptRow *accept, const Finding *finding) {
    return strcmp(accept->row, "*") == 0 || strcmp(accept->row, finding->key) == 0;
}

/* A finding got worse when its value moved away from the limit beyond what was accepted. */
static bool is_worse(const Finding *finding, double accepted) {
    const double TOLERANCE = 1e-9; /* of printing and reading the value back */
    if (isnan(accepted) || isnan(finding->value)) {
        return false;
    }
    double margin = TOLERANCE * fmax(1.0, fabs(accepted));
    bool over = isnan(finding->limit) || finding->value >= finding->limit;
    return over ? finding->value > accepted + margin : finding->value < accepted - margin;
}

static void accept_row(const Model *model, const AcceptRow *accept, Findings *findings) {
    size_t covered = 0;
    size_t worse = 0;
    double worst = NAN;
    RuleId rule = rule_find(accept->rule);
    for (size_t i = 0; rule != RULE_COUNT && i < findings->count; i++) {
        Finding *finding = &findings->rows[i];
        if (finding->rule != rule || finding->severity == SEVERITY_UNREADABLE ||
            !row_matches(accept, finding)) {
            continue;
        }
        if (is_worse(finding, accept->value)) {
            worse++;
            worst = finding->value;
            continue;
        }
        covered++;
        finding->accepted = true;
        finding->reason = arena_format(findings->arena, "%s (%s)", accept->reason, accept->who);
    }
    if (covered > 0 && worse == 0) {
        return;
    }
    const char *key = arena_format(findings->arena, "%s %s", accept->rule, accept->row);
    Finding *finding = report_row(model, findings, worse > 0 ? RULE_APP_VOID : RULE_APP_IDLE,
                                  TABLE_accept, key, accept->row_at, "");
    if (rule == RULE_COUNT) {
        finding->message = arena_format(findings->arena, "no rule is called %s", accept->rule);
        const char *names[RULE_COUNT];
        for (int i = 0; i < RULE_COUNT; i++) {
            names[i] = rule_name((RuleId)i);
        }
        const char *nearest = text_nearest(accept->rule, names, RULE_COUNT);
        finding->hint = nearest == NULL
                            ? "docs/rules.md lists them"
                            : arena_format(findings->arena, "did you mean %s?", nearest);
    } else if (worse > 0) {
        finding->message =
            arena_format(findings->arena, "accepted %s of %s at %g, now it is %g: void",
                         accept->rule, accept->row, accept->value, worst);
        finding->value = worst;
        finding->limit = accept->value;
        finding->hint = "mend it, or accept the new value with a reason";
    } else {
        finding->message = arena_format(findings->arena, "nothing to accept: no finding %s on %s",
                                        accept->rule, accept->row);
        finding->hint = "leave the row out";
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

void judge_lengths(const Model *model, const Wiring *wiring, Routing *routing, Findings *findings) {
    for (size_t i = 0; i < model->set->override.count; i++) {
        const OverrideRow *row = &model->set->override.rows[i];
        if (!override_known(row)) {
            Finding *finding =
                report_row(model, findings, RULE_APP_OVERRIDE, TABLE_override,
                           override_key(findings->arena, row), row->row_at, "column");
            finding->message = arena_format(findings->arena, "%s of %s can't be set by hand",
                                            row->column, row->table);
            finding->hint = "what can: gauge awg, conductor awg, cable_run length_mm";
        } else if (strcmp(row->table, "cable_run") == 0) {
            override_length(model, wiring, routing, row, findings);
        }
    }
}

void judge_accept(const Model *model, Findings *findings) {
    for (size_t i = 0; i < model->set->accept.count; i++) {
        accept_row(model, &model->set->accept.rows[i], findings);
    }
}
