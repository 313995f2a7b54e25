/* Method: every row whose key starts with the word asked for is a fact and is told column by
 * column, job first, derived next, library last; between them the passes explain their own numbers
 * (route: length; disconnect: shell and cavity; size: gauge; loads: sums, margins, minutes,
 * volts). Findings that name the key close it. */
#include "app/why.h"

#include <math.h>
#include <string.h>

#include "app/bench.h"
#include "table/value.h"

enum { ROWS_MAX = 12 };

/* --- facts --------------------------------------------------------------------------------------
 */

/* A value for reading: six digits of a number say enough, the tables have them all. */
static const char *readable(Arena *arena, const ColumnSchema *column, const void *field) {
    if (column->kind == COLUMN_REAL && !isnan(*(const double *)field)) {
        return arena_format(arena, "%.6g", *(const double *)field);
    }
    return value_text(arena, column, field);
}

static void write_row(Buffer *out, const TableSet *set, TableId table, size_t index) {
    const TableSchema *schema = table_schema(table);
    const char *bytes = table_row(set, table, index);
    const RowPlace *place = (const void *)bytes;
    buffer_format(out, "%s %s", schema->name, table_row_key(out->arena, table, bytes));
    if (place->line > 0 && place->file < set->file_count) {
        buffer_format(out, "  (%s:%u)", set->files[place->file], place->line);
    }
    buffer_text(out, "\n");
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        const char *text = readable(out->arena, column, bytes + column->offset);
        if (*text != '\0' && column->flag != FLAG_KEY) {
            buffer_format(out, "    %-16s %s\n", column->name, text);
        }
    }
}

static const char *first_cell(const TableSet *set, TableId table, size_t index) {
    const ColumnSchema *column = &table_schema(table)->columns[0];
    if (column->kind != COLUMN_TEXT && column->kind != COLUMN_REF) {
        return "";
    }
    const char *bytes = table_row(set, table, index);
    return *(const char *const *)(const void *)(bytes + column->offset);
}

/* Rows of that group whose first key column is `key`; of one table at most ROWS_MAX. */
static size_t write_rows(Buffer *out, const TableSet *set, TableGroup group, const char *key) {
    size_t told = 0;
    for (int table = 0; table < TABLE_COUNT; table++) {
        if (table_schema((TableId)table)->group != group || table == TABLE_finding) {
            continue;
        }
        size_t here = 0;
        for (size_t i = 0; i < set->any[table].count; i++) {
            if (strcmp(first_cell(set, (TableId)table, i), key) != 0) {
                continue;
            }
            if (here++ < ROWS_MAX) {
                write_row(out, set, (TableId)table, i);
            }
        }
        if (here > ROWS_MAX) {
            buffer_format(out, "  and %zu more rows of %s\n", here - ROWS_MAX,
                          table_schema((TableId)table)->name);
        }
        told += here;
    }
    return told;
}

/* --- findings -----------------------------------------------------------------------------------
 */

static void write_finding(Buffer *out, const Finding *finding) {
    buffer_format(out, "%s %s: %s\n", severity_name(finding->severity), rule_name(finding->rule),
                  finding->message);
    if (!isnan(finding->value) && !isnan(finding->limit)) {
        buffer_format(out, "    found %.6g %s, limit %.6g %s\n", finding->value, finding->unit,
                      finding->limit, finding->unit);
    }
    buffer_format(out, "    source: %s\n", finding->source);
    if (*finding->hint != '\0') {
        buffer_format(out, "    cure: %s\n", finding->hint);
    }
    if (finding->accepted) {
        buffer_format(out, "    accepted: %s\n", finding->reason);
    }
}

static size_t write_findings(Buffer *out, const Proof *proof, const char *key) {
    size_t told = 0;
    for (size_t i = 0; i < proof->findings.count; i++) {
        const Finding *finding = &proof->findings.rows[i];
        if (text_has_word(finding->key, key) || text_has_word(finding->rows, key)) {
            write_finding(out, finding);
            told++;
        }
    }
    return told;
}

/* --- rules --------------------------------------------------------------------------------------
 */

static bool write_rule(Buffer *out, const Proof *proof, const char *key) {
    RuleId rule = rule_find(key);
    if (rule == RULE_COUNT) {
        return false;
    }
    buffer_format(out, "%s: %s (%s)\n    source: %s\n", rule_name(rule), rule_title(rule),
                  severity_name(rule_severity(rule)), rule_source(rule));
    for (size_t i = 0; i < proof->findings.count; i++) {
        const Finding *finding = &proof->findings.rows[i];
        if (finding->rule == rule) {
            buffer_format(out, "  %s: %s\n", finding->key, finding->message);
        }
    }
    return true;
}

/* --- wires, ends, circuits ----------------------------------------------------------------------
 */

/* The first conductor of each cable of a circuit, or the wire asked for. */
static void write_gauges(Buffer *out, const Proof *proof, const char *key) {
    const Wiring *wiring = &proof->wiring;
    ConductorId conductor = name_map_find(&wiring->conductor_by_key, key);
    if (conductor != NAME_NONE) {
        size_why(out, &proof->sizing, conductor);
        if (proof->bench != NULL && proof->bench->done[BENCH_HARNESS]) {
            harness_why(out, &proof->bench->harness, conductor);
        }
        return;
    }
    NetId net = name_map_find(&wiring->net_by_name, key);
    for (uint32_t i = 0; net != NAME_NONE && i < wiring->nets[net].cable_count; i++) {
        CableId cable = wiring->nets[net].cable_first + i;
        size_why(out, &proof->sizing, wiring->cables[cable].conductor_first);
    }
}

/* What a short does to the wire asked for. */
static void write_guard(Buffer *out, const Proof *proof, const char *key) {
    ConductorId conductor = name_map_find(&proof->wiring.conductor_by_key, key);
    if (conductor != NAME_NONE && proof->complete) {
        GuardInput input = proof_guard_input(proof);
        guard_why(out, &input, &proof->guard, conductor);
    }
}

/* The end of a pin as a person writes it: "PD1.J1-14", or an end itself. */
static TerminalId find_end(Arena *arena, const Model *model, const char *key) {
    TerminalId terminal = model_terminal(model, key);
    for (PinId i = 0; terminal == ID_NONE && i < model->pin_count; i++) {
        if (strcmp(model_pin_text(model, arena, i), key) == 0) {
            terminal = model->pins[i].terminal;
        }
    }
    return terminal;
}

static void write_supply(Buffer *out, const Proof *proof, TerminalId terminal) {
    uint32_t load = proof->supply.terminal_load[terminal];
    for (uint32_t phase = 0; load != ID_NONE && phase < proof->set.phase.count; phase++) {
        if (proof->supply.loads[load].phase_a[phase] > 0.0) {
            phases_why_port(out, &proof->model, &proof->wiring, &proof->supply, &proof->network,
                            &proof->phases, phase, load);
        }
    }
}

static bool write_end(Buffer *out, const Proof *proof, const char *key) {
    const Model *model = &proof->model;
    TerminalId terminal = find_end(out->arena, model, key);
    if (terminal == ID_NONE) {
        return false;
    }
    const ModelTerminal *row = &model->terminals[terminal];
    buffer_format(out, "%s: end of %s at node %s, %.0f mm from it\n", row->end,
                  model->owners[row->owner].tag,
                  row->node == ID_NONE ? "?" : model->set->node.rows[row->node].node, row->stub_mm);
    for (uint32_t i = 0; i < row->pin_count; i++) {
        PinId pin = row->pin_first + i;
        NetId net = proof->wiring.pin_net[pin];
        buffer_format(out, "    pin %-14s %s\n", model_pin_text(model, out->arena, pin),
                      net == ID_NONE ? "free" : proof->wiring.nets[net].name);
    }
    for (ConductorId i = 0; i < proof->wiring.conductor_count; i++) {
        const Conductor *conductor = &proof->wiring.conductors[i];
        if (model->pins[conductor->from].terminal == terminal ||
            model->pins[conductor->to].terminal == terminal) {
            buffer_format(out, "    wire %s  %s > %s  %.0f mm\n", conductor->key,
                          model_pin_text(model, out->arena, conductor->from),
                          model_pin_text(model, out->arena, conductor->to),
                          proof->routing.length_mm[conductor->cable]);
        }
    }
    write_supply(out, proof, terminal);
    return true;
}

/* --- sums, margins, minutes ---------------------------------------------------------------------
 */

static void write_phase(Buffer *out, const Proof *proof, uint32_t phase) {
    loads_why_total(out, &proof->model, &proof->supply, &proof->loads, phase, ID_NONE);
    loads_why_margin(out, &proof->model, &proof->loads, phase);
    if (proof->phases.crank.done && proof->phases.crank.phase == phase) {
        phases_why_crank(out, &proof->model, &proof->phases);
    }
}

static void write_sums(Buffer *out, const Proof *proof, const char *key) {
    const Model *model = &proof->model;
    uint32_t phase = name_map_find(&model->phase_by_name, key);
    if (phase != NAME_NONE) {
        write_phase(out, proof, phase);
    }
    BusId bus = name_map_find(&model->bus_by_name, key);
    for (uint32_t i = 0; bus != NAME_NONE && i < proof->set.phase.count; i++) {
        loads_why_total(out, model, &proof->supply, &proof->loads, i, bus);
    }
    for (uint32_t i = 0; i < proof->loads.endurance_count; i++) {
        const LoadsEndurance *row = &proof->loads.endurances[i];
        if (strcmp(proof->set.situation.rows[row->situation].situation, key) == 0) {
            loads_why_endurance(out, model, &proof->supply, &proof->loads, i);
            endurance_why(out, model, &proof->loads, &proof->endurance, i);
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool why_write(Buffer *out, const Proof *proof, const char *key) {
    const TableSet *set = &proof->set;
    size_t start = out->length;
    if (write_rule(out, proof, key)) {
        return true;
    }
    size_t told = write_rows(out, set, GROUP_JOB, key);
    told += write_rows(out, set, GROUP_RESULT, key);
    RouteView view = proof_route_view(proof);
    why_route(&view, key, out);
    write_gauges(out, proof, key);
    write_guard(out, proof, key);
    if (proof->bench != NULL && proof->bench->done[BENCH_HARNESS]) {
        harness_why_piece(out, &proof->bench->harness, key);
    }
    write_end(out, proof, key);
    write_sums(out, proof, key);
    lift_why(out, &proof->paths, &proof->lifts, key);
    HeadingInput heading = proof_heading_input(proof);
    heading_why(out, &heading, &proof->heading, key);
    if (told == 0 && out->length == start) {
        write_rows(out, set, GROUP_LIBRARY, key);
    }
    write_findings(out, proof, key);
    return out->length > start;
}

const char *why_nearest(Arena *arena, const Proof *proof, const char *key) {
    const char **names = NULL;
    size_t count = 0;
    size_t capacity = 0;
    for (int table = 0; table < TABLE_COUNT; table++) {
        if (table_schema((TableId)table)->group == GROUP_LIBRARY) {
            continue;
        }
        for (size_t i = 0; i < proof->set.any[table].count; i++) {
            const char *name = first_cell(&proof->set, (TableId)table, i);
            if (*name != '\0') {
                *ARENA_PUSH(arena, names, count, capacity) = name;
            }
        }
    }
    for (TerminalId i = 0; i < proof->model.terminal_count; i++) {
        *ARENA_PUSH(arena, names, count, capacity) = proof->model.terminals[i].end;
    }
    for (int rule = 0; rule < RULE_COUNT; rule++) {
        *ARENA_PUSH(arena, names, count, capacity) = rule_name((RuleId)rule);
    }
    return text_nearest(key, names, count);
}
