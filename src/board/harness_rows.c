/* Result tables of the harness pass, and its part of "why". */
#include <math.h>
#include <string.h>

#include "board/harness_inner.h"

static const char *part_name(const HarnessSet *set, uint32_t piece) {
    const Ends *ends = set->ends;
    const TableSet *tables = ends->model->set;
    const Piece *p = &ends->pieces[piece];
    const Cable *cable = &ends->wiring->cables[p->cable];
    if (cable->part != ID_NONE) {
        return tables->cable.rows[cable->part].part;
    }
    if (p->conductor == ID_NONE) {
        return "";
    }
    int32_t awg = route_conductor_awg(ends->model, ends->wiring, p->conductor, ends->awg);
    const WireRow *wire = awg == INT_BLANK ? NULL : gauges_wire(ends->model, &ends->gauges, awg);
    return wire == NULL ? "" : wire->part;
}

/* --- words --------------------------------------------------------------------------------------
 */

/* The node where a run passes an opening before its k-th step, ID_NONE. */
static uint32_t opening_before(const HarnessSet *set, const HarnessRun *run, uint32_t k) {
    uint32_t before =
        k == 0 ? run->node[0] : harness_step_node(set, set->steps[run->step_first + k - 1], 1);
    uint32_t after = k == run->step_count
                         ? run->node[1]
                         : harness_step_node(set, set->steps[run->step_first + k], 0);
    if (before == after) {
        return ID_NONE;
    }
    return set->nodes[before].kind == HARNESS_NODE_OPEN ? set->nodes[before].opening
                                                        : set->nodes[after].opening;
}

static void tell_openings(Buffer *text, const HarnessSet *set, const HarnessRun *run) {
    for (uint32_t k = 0; k <= run->step_count; k++) {
        uint32_t opening = opening_before(set, run, k);
        if (opening != ID_NONE) {
            const HarnessArm *arm = &set->arms[set->openings[opening].arm];
            buffer_format(text, "; passes %s, laid open at %s",
                          set->ends->model->set->segment.rows[arm->segment].segment,
                          set->openings[opening].name);
        }
    }
}

/* "unit, tray" of the row that says what is kept at a leaf. */
static const char *rule_words(const HarnessSet *set, Arena *arena, const HarnessLeaf *leaf) {
    if (leaf->rule == ID_NONE) {
        return "no row";
    }
    const EndAllowanceRow *row = &set->ends->model->set->end_allowance.rows[leaf->rule];
    return arena_format(arena, "%s, %s", row->at, row->where);
}

static const char *piece_why(Arena *arena, const HarnessSet *set, uint32_t piece) {
    const HarnessPiece *p = &set->pieces[piece];
    const HarnessRun *run = &set->runs[p->run];
    if (run->harness == ID_NONE) {
        return "its cable has no way";
    }
    Buffer text = {.arena = arena};
    const char *from = rule_words(set, arena, &set->leaves[p->leaf[0]]);
    const char *to = rule_words(set, arena, &set->leaves[p->leaf[1]]);
    buffer_format(&text, "kept: %s", from);
    if (strcmp(from, to) != 0) {
        buffer_format(&text, " / %s", to);
    }
    tell_openings(&text, set, run);
    return text.bytes;
}

/* --- tables -------------------------------------------------------------------------------------
 */

static void add_harness(Arena *arena, const HarnessSet *set, uint32_t index, TableSet *out) {
    const TableSet *tables = set->ends->model->set;
    const Harness *harness = &set->harnesses[index];
    HarnessRow *row = table_append(out, arena, TABLE_harness);
    row->module = tables->module.rows[index].module;
    row->name = tables->module.rows[index].name;
    row->pieces = (int32_t)harness->pieces;
    row->runs = (int32_t)harness->runs;
    row->leaves = (int32_t)harness->leaf_count;
    row->arms = (int32_t)harness->arm_count;
    row->arms_mm = 0.0;
    for (uint32_t i = harness->arm_first; i < harness->arm_first + harness->arm_count; i++) {
        row->arms_mm += set->arms[i].length_mm;
    }
    row->trees = (int32_t)harness->tree_count;
    row->wire_mm = harness->wire_mm;
    row->mass_kg = harness->mass_kg;
    row->opened = (int32_t)harness->opening_count;
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < harness->opening_count; i++) {
        const HarnessOpening *opening = &set->openings[harness->opening_first + i];
        buffer_format(&text, "%s%s at %s", i == 0 ? "" : ", ",
                      tables->segment.rows[set->arms[opening->arm].segment].segment, opening->name);
    }
    row->opened_at = text.bytes == NULL ? "" : text.bytes;
}

static void add_piece(Arena *arena, const HarnessSet *set, uint32_t piece, TableSet *out) {
    const HarnessPiece *p = &set->pieces[piece];
    const HarnessRun *run = &set->runs[p->run];
    const LengthParts *length = &p->length;
    EndFacts facts;
    ends_facts(arena, set->ends, 2 * piece, &facts);
    PieceRow *row = table_append(out, arena, TABLE_piece);
    row->piece = p->key;
    row->wire = facts.wire;
    row->number = facts.number;
    row->net = facts.net;
    row->module =
        run->harness == ID_NONE ? "none" : set->ends->model->set->module.rows[run->harness].module;
    row->part = part_name(set, piece);
    uint32_t first = set->run_pieces[run->piece_first];
    row->cut_as = run->jacketed && run->piece_count > 1 ? set->pieces[first].key : "";
    row->from_end = facts.at;
    row->to_end = facts.far;
    row->path_mm = length->path_mm;
    row->stub_from_mm = length->stub_mm[0];
    row->stub_to_mm = length->stub_mm[1];
    row->loop_from_mm = length->loop_mm[0];
    row->loop_to_mm = length->loop_mm[1];
    row->handling_mm = length->handling_mm;
    row->slack_mm = length->slack_mm;
    row->twist_mm = length->twist_mm;
    row->bend_mm = length->bend_mm;
    row->round_mm = length->round_mm;
    row->cut_mm = length->cut_mm;
    bool lost = isnan(length->cut_mm);
    row->minus_mm = lost ? (double)NAN : set->minus_mm;
    row->plus_mm = lost ? (double)NAN : set->plus_mm;
    row->why = piece_why(arena, set, piece);
}

void harness_rows(Arena *arena, const HarnessSet *set, TableSet *out) {
    for (uint32_t i = 0; i < set->harness_count; i++) {
        add_harness(arena, set, i, out);
    }
    for (uint32_t i = 0; i < set->ends->piece_count; i++) {
        add_piece(arena, set, i, out);
    }
}

/* --- why ----------------------------------------------------------------------------------------
 */

static void tell_part(Buffer *out, double length_mm, const char *what, const char *source) {
    if (fabs(length_mm) >= 0.05) {
        buffer_format(out, "      %9.1f mm  %s%s%s\n", length_mm, what, *source == '\0' ? "" : "; ",
                      source);
    }
}

static void tell_loop(Buffer *out, const HarnessSet *set, const HarnessLeaf *leaf) {
    const char *source =
        leaf->rule == ID_NONE ? "" : set->ends->model->set->end_allowance.rows[leaf->rule].source;
    tell_part(
        out, leaf->loop_mm,
        arena_format(out->arena, "kept at %s (%s)", leaf->label, rule_words(set, out->arena, leaf)),
        source);
}

static void tell_piece(Buffer *out, const HarnessSet *set, uint32_t piece) {
    const Model *model = set->ends->model;
    const HarnessPiece *p = &set->pieces[piece];
    const HarnessRun *run = &set->runs[p->run];
    const LengthParts *length = &p->length;
    if (run->harness == ID_NONE) {
        buffer_format(out, "    piece %s: not known, its cable has no way\n", p->key);
        return;
    }
    const HarnessLeaf *from = &set->leaves[p->leaf[0]];
    const HarnessLeaf *to = &set->leaves[p->leaf[1]];
    buffer_format(out, "    piece %s in harness %s, %s > %s: cut %.0f mm, -%.0f/+%.0f mm\n", p->key,
                  model->set->module.rows[run->harness].module, from->label, to->label,
                  length->cut_mm, set->minus_mm, set->plus_mm);
    Buffer way = {.arena = out->arena};
    buffer_format(&way, "way %s", set->nodes[run->node[0]].name);
    for (uint32_t k = 0; k < run->step_count; k++) {
        uint32_t node = harness_step_node(set, set->steps[run->step_first + k], 1);
        buffer_format(&way, " > %s", set->nodes[node].name);
    }
    tell_openings(&way, set, run);
    tell_part(out, length->path_mm, way.bytes, "");
    tell_part(out, length->stub_mm[0], arena_format(out->arena, "stub to %s", from->label), "");
    tell_part(out, length->stub_mm[1], arena_format(out->arena, "stub to %s", to->label), "");
    tell_loop(out, set, from);
    tell_loop(out, set, to);
    tell_part(out, length->handling_mm, "handling allowance, and what a person set it longer by",
              "");
    tell_part(out, length->slack_mm, "sag between clamps, 8/3 (sag / span)^2 of the way",
              model_limit_row(model, LENGTH_LIMIT_SAG)->source);
    tell_part(out, length->twist_mm, "twist, sqrt(1 + (pi d / lay)^2) - 1 of the length", "");
    tell_part(out, length->bend_mm, "outside of the bundle's bends, angle x distance from its axis",
              "");
    tell_part(out, length->round_mm, "up to whole steps of cutting",
              model_limit_row(model, LENGTH_LIMIT_STEP)->source);
}

void harness_why(Buffer *out, const HarnessSet *set, ConductorId conductor) {
    const Ends *ends = set->ends;
    CableId cable = ends->wiring->conductors[conductor].cable;
    double whole_mm = 0.0;
    uint32_t count = 0;
    for (uint32_t i = 0; i < set->ends->piece_count; i++) {
        if (ends->pieces[i].cable != cable || ends->pieces[i].conductor != conductor) {
            continue;
        }
        if (count == 0) {
            buffer_format(out, "  to cut:\n");
        }
        tell_piece(out, set, i);
        whole_mm += set->pieces[i].length.cut_mm;
        count++;
    }
    if (count > 1) {
        buffer_format(out, "    %u pieces, together %.0f mm\n", count, whole_mm);
    }
}

bool harness_why_piece(Buffer *out, const HarnessSet *set, const char *key) {
    for (uint32_t i = 0; i < set->ends->piece_count; i++) {
        if (strcmp(set->pieces[i].key, key) == 0) {
            tell_piece(out, set, i);
            return true;
        }
    }
    return false;
}
