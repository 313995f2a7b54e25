/* Result tables end_prep and pull_test. */
#include <math.h>

#include "base/units.h"
#include "shop/prep.h"

/* Gap between insulation and crimp barrel, in inches: NASA-STD-8739.4 par. 10.1.7b. */
#define GAP_LEAST_IN 0.01
#define GAP_MOST_THIN_IN 0.03
#define GAP_MOST_THICK_IN 0.05
#define GAP_THIN_AWG 20

static const char *gap_text(Arena *arena, int32_t awg) {
    double most_in = awg >= GAP_THIN_AWG ? GAP_MOST_THIN_IN : GAP_MOST_THICK_IN;
    return arena_format(arena, "%.2f to %.2f", units_mm_from_in(GAP_LEAST_IN),
                        units_mm_from_in(most_in));
}

static const char *tool_text(Arena *arena, const char *tool, const char *setting) {
    return *setting == '\0' ? tool : arena_format(arena, "%s, %s", tool, setting);
}

static const char *shield_text(Arena *arena, const ShieldPrepRow *row) {
    Buffer text = {.arena = arena};
    buffer_format(&text, "%s: jacket off %g mm", row->how, row->jacket_mm);
    if (row->braid_mm > 0.0) {
        buffer_format(&text, ", braid left %g mm", row->braid_mm);
    }
    if (!isnan(row->lead_mm)) {
        buffer_format(&text, ", wire %g mm", row->lead_mm);
    }
    return text.bytes;
}

static void add_end(Arena *arena, const PrepSet *set, EndId id, TableSet *out) {
    const Ends *ends = set->harness->ends;
    const TableSet *tables = ends->model->set;
    const PrepEnd *prep = &set->ends[id];
    const HarnessPiece *piece = &set->harness->pieces[id / 2];
    uint32_t harness = set->harness->runs[piece->run].harness;
    EndFacts facts;
    ends_facts(arena, ends, id, &facts);
    EndPrepRow *row = table_append(out, arena, TABLE_end_prep);
    row->module = harness == ID_NONE ? "none" : tables->module.rows[harness].module;
    row->piece = piece->key;
    row->end = (int32_t)(id % 2) + 1;
    row->at = facts.at;
    row->awg = prep->awg;
    row->slide_on = ends_slide_words(arena, ends, &facts);
    if (prep->shield != ID_NONE) {
        row->shield = shield_text(arena, &tables->shield_prep.rows[prep->shield]);
    }
    if (prep->contact != ID_NONE) {
        row->contact = tables->contact.rows[prep->contact].contact;
    }
    if (prep->coax != ID_NONE) {
        const CoaxPrepRow *coax = &tables->coax_prep.rows[prep->coax];
        row->coax = arena_format(arena, "jacket off %g, braid off %g, bare centre %g mm",
                                 coax->jacket_mm, coax->braid_mm, coax->dielectric_mm);
        row->crimp_tool = tool_text(arena, coax->tool, coax->setting);
    }
    if (prep->tool != ID_NONE) {
        const ContactToolRow *tool = &tables->contact_tool.rows[prep->tool];
        row->strip_mm = tool->strip_mm;
        row->crimp_tool = tool_text(arena, tool->crimp_tool, tool->setting);
        row->insert_tool = tool->insert_tool;
        row->least_n = prep->pull.least_n;
        row->gap = prep->pull.row == ID_NONE ? "" : gap_text(arena, prep->awg);
    }
    bool shield = ends->pieces[id / 2].conductor == ID_NONE;
    row->note = shield                                           ? "see its cable's first core"
                : prep->contact == ID_NONE                       ? "contact not known"
                : prep->tool == ID_NONE && prep->coax == ID_NONE ? "strip length, tool not known"
                                                                 : "";
}

static void add_kind(Arena *arena, const PrepSet *set, const PrepKind *kind, TableSet *out) {
    const Model *model = set->harness->ends->model;
    const TableSet *tables = model->set;
    const ContactToolRow *tool = &tables->contact_tool.rows[kind->tool];
    PullTestRow *row = table_append(out, arena, TABLE_pull_test);
    row->module = tables->module.rows[kind->harness].module;
    row->contact = tables->contact.rows[kind->contact].contact;
    row->awg = kind->awg;
    row->crimp_tool = tool_text(arena, tool->crimp_tool, tool->setting);
    row->crimps = (int32_t)kind->crimps;
    row->shifts = (int32_t)kind->shifts;
    row->samples = (int32_t)kind->samples;
    row->wire_mm = kind->samples * model_limit(model, PREP_LIMIT_SAMPLE);
    row->least_n = kind->pull.least_n;
    if (kind->pull.row != ID_NONE) {
        const PullForceRow *force = &tables->pull_force.rows[kind->pull.row];
        row->table = kind->pull.thicker
                         ? arena_format(arena, "%s, of the next thicker wire", force->class)
                         : force->class;
        row->source = force->source;
        row->status = force->status;
    }
}

void prep_rows(Arena *arena, const PrepSet *set, TableSet *out) {
    for (EndId i = 0; i < 2 * set->harness->ends->piece_count; i++) {
        add_end(arena, set, i, out);
    }
    for (uint32_t i = 0; i < set->kind_count; i++) {
        add_kind(arena, set, &set->kinds[i], out);
    }
}
