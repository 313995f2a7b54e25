/* Result tables end_prep, bench_code and pull_test. */
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
    const char *lead = isnan(row->lead_mm) ? "" : arena_format(arena, " / %g", row->lead_mm);
    return arena_format(arena, "%s %g / %g%s", row->kind, row->jacket_mm, row->braid_mm, lead);
}

/* --- letters and numbers ------------------------------------------------------------------------
 */

/* Tools in the order in which they stand in the library: "T1", "T2" ...; inserters "I1" ... */
typedef struct Codes {
    NameMap map[2]; /* tool, inserter: text -> number from 0 */
    const char **texts[2];
    uint32_t *ends[2];
    uint32_t count[2];
    uint32_t slides[SLIDE_COUNT];
    uint32_t *shields; /* by row of shield_prep */
    uint32_t *coax;    /* by row of coax_prep */
} Codes;

enum { CODE_TOOL, CODE_INSERTER };

static void add_code(Arena *arena, Codes *codes, int kind, const char *text) {
    if (*text != '\0' &&
        name_map_add(&codes->map[kind], arena, text, codes->count[kind]) == NAME_NONE) {
        codes->texts[kind][codes->count[kind]++] = text;
    }
}

/* Numbers for all tools of the library, so that a tool keeps its number from job to job as long as
 * the library's rows stay. */
static void make_codes(Arena *arena, const TableSet *tables, Codes *codes) {
    size_t rows = tables->contact_tool.count + tables->coax_prep.count;
    *codes = (Codes){0};
    for (int kind = 0; kind < 2; kind++) {
        codes->texts[kind] = ARENA_ARRAY(arena, const char *, rows);
        codes->ends[kind] = ARENA_ARRAY(arena, uint32_t, rows);
    }
    codes->shields = ARENA_ARRAY(arena, uint32_t, tables->shield_prep.count);
    codes->coax = ARENA_ARRAY(arena, uint32_t, tables->coax_prep.count);
    for (size_t i = 0; i < tables->contact_tool.count; i++) {
        const ContactToolRow *row = &tables->contact_tool.rows[i];
        add_code(arena, codes, CODE_TOOL, tool_text(arena, row->crimp_tool, row->setting));
        add_code(arena, codes, CODE_INSERTER, row->insert_tool);
    }
    for (size_t i = 0; i < tables->coax_prep.count; i++) {
        const CoaxPrepRow *row = &tables->coax_prep.rows[i];
        add_code(arena, codes, CODE_TOOL, tool_text(arena, row->tool, row->setting));
    }
}

static const char *code_of(Arena *arena, Codes *codes, int kind, const char *text) {
    if (*text == '\0') {
        return "";
    }
    uint32_t number = name_map_find(&codes->map[kind], text);
    codes->ends[kind][number]++;
    return arena_format(arena, "%c%u", kind == CODE_TOOL ? 'T' : 'I', number + 1);
}

static void add_code_row(Arena *arena, TableSet *out, const char *code, const char *kind,
                         const char *meaning, uint32_t ends) {
    if (ends == 0) {
        return;
    }
    BenchCodeRow *row = table_append(out, arena, TABLE_bench_code);
    row->code = code;
    row->kind = kind;
    row->meaning = meaning;
    row->ends = (int32_t)ends;
}

static void code_rows(Arena *arena, const TableSet *tables, const Codes *codes, TableSet *out) {
    for (int i = 0; i < SLIDE_COUNT; i++) {
        add_code_row(arena, out, slide_letter((SlideItem)i), "slid on", slide_words((SlideItem)i),
                     codes->slides[i]);
    }
    static const char *const KINDS[] = {"tool", "inserter"};
    for (int kind = 0; kind < 2; kind++) {
        for (uint32_t i = 0; i < codes->count[kind]; i++) {
            add_code_row(arena, out,
                         arena_format(arena, "%c%u", kind == CODE_TOOL ? 'T' : 'I', i + 1),
                         KINDS[kind], codes->texts[kind][i], codes->ends[kind][i]);
        }
    }
    for (size_t i = 0; i < tables->shield_prep.count; i++) {
        const ShieldPrepRow *row = &tables->shield_prep.rows[i];
        add_code_row(arena, out, row->kind, "shield",
                     arena_format(arena, "%s (mm of jacket off / braid left / wire)", row->how),
                     codes->shields[i]);
    }
    uint32_t coax = 0;
    for (size_t i = 0; i < tables->coax_prep.count; i++) {
        coax += codes->coax[i];
    }
    add_code_row(arena, out, "coax", "coax",
                 "mm of jacket off / braid off / bare centre, from the cut end", coax);
}

/* --- rows ---------------------------------------------------------------------------------------
 */

static void add_end(Arena *arena, const PrepSet *set, EndId id, Codes *codes, TableSet *out) {
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
    row->slides = ends_slide_letters(arena, ends, &facts);
    row->slide_on = ends_slide_words(arena, ends, &facts);
    for (size_t i = 0; i < facts.slide_count; i++) {
        codes->slides[facts.slides[i].item]++;
    }
    if (prep->shield != ID_NONE) {
        row->cut_back = shield_text(arena, &tables->shield_prep.rows[prep->shield]);
        codes->shields[prep->shield]++;
    }
    if (prep->contact != ID_NONE) {
        row->contact = tables->contact.rows[prep->contact].contact;
    }
    if (prep->coax != ID_NONE) {
        const CoaxPrepRow *coax = &tables->coax_prep.rows[prep->coax];
        row->cut_back = arena_format(arena, "coax %g / %g / %g", coax->jacket_mm, coax->braid_mm,
                                     coax->dielectric_mm);
        codes->coax[prep->coax]++;
        row->crimp_tool = tool_text(arena, coax->tool, coax->setting);
        row->tools = code_of(arena, codes, CODE_TOOL, row->crimp_tool);
    }
    if (prep->tool != ID_NONE) {
        const ContactToolRow *tool = &tables->contact_tool.rows[prep->tool];
        row->strip_mm = tool->strip_mm;
        row->crimp_tool = tool_text(arena, tool->crimp_tool, tool->setting);
        row->insert_tool = tool->insert_tool;
        const char *inserter = code_of(arena, codes, CODE_INSERTER, row->insert_tool);
        const char *crimp = code_of(arena, codes, CODE_TOOL, row->crimp_tool);
        row->tools = *inserter == '\0' ? crimp : arena_format(arena, "%s %s", crimp, inserter);
        row->least_n = prep->pull.least_n;
        row->gap = prep->pull.row == ID_NONE ? "" : gap_text(arena, prep->awg);
    }
    bool known = prep->contact != ID_NONE || ends->pieces[id / 2].conductor == ID_NONE;
    bool tooled = prep->contact == ID_NONE || prep->tool != ID_NONE || prep->coax != ID_NONE;
    row->note = !known ? "contact not known" : tooled ? "" : "strip length, tool not known";
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
    const TableSet *tables = set->harness->ends->model->set;
    Codes codes;
    make_codes(arena, tables, &codes);
    for (EndId i = 0; i < 2 * set->harness->ends->piece_count; i++) {
        add_end(arena, set, i, &codes, out);
    }
    for (uint32_t i = 0; i < set->kind_count; i++) {
        add_kind(arena, set, &set->kinds[i], out);
    }
    code_rows(arena, tables, &codes, out);
}
