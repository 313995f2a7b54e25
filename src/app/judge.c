#include "app/judge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/report.h"
#include "route/length.h"

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
                            uint32_t row, Findings *findings) {
    const OverrideRow *cell = &model->set->override.rows[row];
    CableId cable = find_cable(wiring, cell->row);
    if (cable == ID_NONE) {
        report_row(findings, model, RULE_APP_OVERRIDE, TABLE_override, row, "row",
                   "no laid piece is called %s", cell->row)
            ->hint = "name a wire key, or a circuit that is one piece";
        return;
    }
    char *end = NULL;
    double length_mm = strtod(cell->value, &end);
    if (end == cell->value || *end != '\0' || !isfinite(length_mm) || length_mm <= 0.0) {
        report_row(findings, model, RULE_APP_OVERRIDE, TABLE_override, row, "value",
                   "%s is no length in mm", cell->value)
            ->hint = "a number above 0, in mm";
        return;
    }
    double derived_mm = routing->length_mm[cable];
    if (isnan(derived_mm)) {
        report_row(findings, model, RULE_APP_OVERRIDE, TABLE_override, row, "row",
                   "%s has no way through the airframe: its length can't be set", cell->row)
            ->hint = "give it a way first";
        return;
    }
    Finding *finding = report_row(findings, model, RULE_APP_OVERRIDDEN, TABLE_override, row,
                                  "value", "length of %s set to %.0f mm by %s, derived %.0f mm: %s",
                                  cell->row, length_mm, cell->who, derived_mm, cell->reason);
    report_values(finding, length_mm, derived_mm, "mm", NULL);
    lengths_give(routing, cable, length_mm);
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

static void accept_row(const Model *model, uint32_t row, Findings *findings) {
    const AcceptRow *accept = &model->set->accept.rows[row];
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
    if (rule == RULE_COUNT) {
        const char *names[RULE_COUNT];
        for (int i = 0; i < RULE_COUNT; i++) {
            names[i] = rule_name((RuleId)i);
        }
        const char *nearest = text_nearest(accept->rule, names, RULE_COUNT);
        Finding *finding = report_row(findings, model, RULE_APP_IDLE, TABLE_accept, row, "",
                                      "no rule is called %s", accept->rule);
        finding->hint = "docs/rules.md lists them";
        if (nearest != NULL) {
            report_hint(findings, finding, "did you mean %s?", nearest);
        }
    } else if (worse > 0) {
        Finding *finding = report_row(findings, model, RULE_APP_VOID, TABLE_accept, row, "",
                                      "accepted %s of %s at %g, now it is %g: void", accept->rule,
                                      accept->row, accept->value, worst);
        finding->value = worst;
        finding->limit = accept->value;
        finding->hint = "mend it, or accept the new value with a reason";
    } else {
        report_row(findings, model, RULE_APP_IDLE, TABLE_accept, row, "",
                   "nothing to accept: no finding %s on %s", accept->rule, accept->row)
            ->hint = "leave the row out";
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

void judge_lengths(const Model *model, const Wiring *wiring, Routing *routing, Findings *findings) {
    for (uint32_t i = 0; i < model->set->override.count; i++) {
        const OverrideRow *cell = &model->set->override.rows[i];
        if (!override_known(cell)) {
            report_row(findings, model, RULE_APP_OVERRIDE, TABLE_override, i, "column",
                       "%s of %s can't be set by hand", cell->column, cell->table)
                ->hint = "what can: gauge awg, conductor awg, cable_run length_mm";
        } else if (strcmp(cell->table, "cable_run") == 0) {
            override_length(model, wiring, routing, i, findings);
        }
    }
}

static void accept_rows(const Model *model, bool bench, Findings *findings) {
    for (uint32_t i = 0; i < model->set->accept.count; i++) {
        if (rule_is_bench(rule_find(model->set->accept.rows[i].rule)) == bench) {
            accept_row(model, i, findings);
        }
    }
}

void judge_accept(const Model *model, Findings *findings) {
    accept_rows(model, false, findings);
}

void judge_accept_bench(const Model *model, Findings *findings) {
    accept_rows(model, true, findings);
}
