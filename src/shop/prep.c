/* One sweep over all ends: contact, then the tool by contact and gauge, then the force. Kinds of
 * crimps are counted by sorting. */
#include "shop/prep.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/report.h"
#include "table/value.h"

/* --- library rows -------------------------------------------------------------------------------
 */

uint32_t prep_tool(const Model *model, ContactId contact, int32_t awg) {
    const TableSet *set = model->set;
    uint32_t count = 0;
    uint32_t first =
        model_rows_of(model, TABLE_contact_tool, set->contact.rows[contact].contact, &count);
    uint32_t best = ID_NONE;
    for (uint32_t i = first; i < first + count; i++) {
        int32_t thickest = set->contact_tool.rows[i].awg;
        if (thickest <= awg && (best == ID_NONE || thickest > set->contact_tool.rows[best].awg)) {
            best = i;
        }
    }
    return best;
}

/* The row of a class for a gauge, else of the nearest thicker wire. */
static uint32_t find_pull(const Model *model, const char *class, int32_t awg) {
    const TableSet *set = model->set;
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_pull_force, class, &count);
    uint32_t best = ID_NONE;
    for (uint32_t i = first; i < first + count; i++) {
        int32_t row_awg = set->pull_force.rows[i].awg;
        if (row_awg <= awg && (best == ID_NONE || row_awg > set->pull_force.rows[best].awg)) {
            best = i;
        }
    }
    return best;
}

PrepPull prep_pull(const Model *model, const char *class, int32_t awg) {
    const TableSet *set = model->set;
    PrepPull pull = {.least_n = (double)NAN, .row = ID_NONE};
    if (awg == INT_BLANK || strcmp(class, "none") == 0) {
        return pull;
    }
    pull.row = find_pull(model, class, awg);
    if (pull.row == ID_NONE && strcmp(class, "contact") == 0) {
        pull.row = find_pull(model, "military", awg);
    }
    if (pull.row != ID_NONE) {
        pull.least_n = set->pull_force.rows[pull.row].force_n;
        pull.thicker = set->pull_force.rows[pull.row].awg != awg;
    }
    return pull;
}

uint32_t prep_samples(const Model *model, uint32_t crimps, uint32_t shifts) {
    const TableSet *set = model->set;
    uint32_t samples = 0;
    for (size_t i = 0; i < set->sampling.count; i++) {
        const SamplingRow *row = &set->sampling.rows[i];
        uint32_t each = row->samples > 0 ? (uint32_t)row->samples : 0;
        if (strcmp(row->when, "start of shift") == 0) {
            samples += each * shifts;
        } else if (row->every != INT_BLANK && row->every > 0) {
            samples += each * (crimps / (uint32_t)row->every);
        }
    }
    return samples;
}

/* --- one end ------------------------------------------------------------------------------------
 */

typedef struct Builder {
    Arena scratch;
    const Ends *ends;
    const Model *model;
    PrepSet *set;
    Findings *findings;
    uint32_t shield_on; /* rows of shield_prep */
    uint32_t shield_cut;
    uint32_t *no_contact;    /* by row of disconnect, and one for all else: ends not known */
    EndId *no_contact_first; /* the first of them */
} Builder;

static void tell_no_contact(Builder *builder, EndId id, const PieceEnd *end) {
    size_t place =
        end->kind == PIECE_PASS ? end->disconnect : builder->model->set->disconnect.count;
    if (builder->no_contact[place]++ == 0) {
        builder->no_contact_first[place] = id;
    }
}

static uint32_t shield_row(const Builder *builder, EndId id) {
    Arena scratch = {0};
    EndFacts facts;
    ends_facts(&scratch, builder->ends, id, &facts);
    uint32_t row = ID_NONE;
    for (size_t i = 0; i < facts.slide_count; i++) {
        if (facts.slides[i].item == SLIDE_SHIELD) {
            row = builder->shield_on;
        } else if (facts.slides[i].item == SLIDE_CUT) {
            row = builder->shield_cut;
        }
    }
    arena_free(&scratch);
    return row;
}

/* Tool and force, once contact and gauge are known. */
static void choose_tool(const Builder *builder, PrepEnd *prep) {
    const Model *model = builder->model;
    prep->tool = prep->awg == INT_BLANK ? ID_NONE : prep_tool(model, prep->contact, prep->awg);
    if (prep->tool != ID_NONE) {
        prep->pull = prep_pull(model, model->set->contact_tool.rows[prep->tool].pull, prep->awg);
    }
}

/* The end of a shield: in a cavity the wire of its solder sleeve takes a contact. */
static void prepare_lead(const Builder *builder, EndId id, PrepEnd *prep) {
    const PieceEnd *end = &builder->ends->pieces[id / 2].ends[id % 2];
    if (end->kind == PIECE_CAVITY && builder->shield_on != ID_NONE) {
        prep->contact = ends_contact(builder->ends, id);
        prep->awg = builder->model->set->shield_prep.rows[builder->shield_on].lead_awg;
        if (prep->contact != ID_NONE) {
            choose_tool(builder, prep);
        }
    }
}

static void prepare(Builder *builder, EndId id) {
    const Ends *ends = builder->ends;
    const Model *model = builder->model;
    const Piece *piece = &ends->pieces[id / 2];
    const PieceEnd *end = &piece->ends[id % 2];
    const Cable *cable = &ends->wiring->cables[piece->cable];
    PrepEnd *prep = &builder->set->ends[id];
    *prep = (PrepEnd){.contact = ID_NONE,
                      .awg = INT_BLANK,
                      .tool = ID_NONE,
                      .coax = ID_NONE,
                      .shield = ID_NONE,
                      .pull = {.least_n = (double)NAN, .row = ID_NONE}};
    if (piece->conductor == ID_NONE) {
        prepare_lead(builder, id, prep);
        return;
    }
    if (cable->shielded && !cable->coax && piece->conductor == cable->conductor_first) {
        prep->shield = shield_row(builder, id);
    }
    prep->contact = ends_contact(ends, id);
    if (prep->contact == ID_NONE) {
        tell_no_contact(builder, id, end);
        return;
    }
    if (cable->coax) {
        prep->coax =
            model_row(model, TABLE_coax_prep, model->set->contact.rows[prep->contact].contact);
        return;
    }
    prep->awg = route_conductor_awg(model, ends->wiring, piece->conductor, ends->awg);
    choose_tool(builder, prep);
}

/* --- kinds --------------------------------------------------------------------------------------
 */

static int compare_kinds(const void *left, const void *right) {
    const PrepKind *a = left;
    const PrepKind *b = right;
    if (a->harness != b->harness) {
        return a->harness < b->harness ? -1 : 1;
    }
    if (a->contact != b->contact) {
        return a->contact < b->contact ? -1 : 1;
    }
    return (a->awg > b->awg) - (a->awg < b->awg);
}

/* Minutes of one end by the shop's labour rows; 0: none counts ends. */
static double end_minutes(const Model *model) {
    double minutes = 0.0;
    for (size_t i = 0; i < model->set->labour.count; i++) {
        const LabourRow *row = &model->set->labour.rows[i];
        minutes += strcmp(row->per, "end") == 0 ? row->minutes_min : 0.0;
    }
    return minutes;
}

static void count_kinds(Arena *out, Builder *builder) {
    PrepSet *set = builder->set;
    const Model *model = builder->model;
    uint32_t ends = 2 * builder->ends->piece_count;
    PrepKind *kinds = ARENA_ARRAY(&builder->scratch, PrepKind, ends);
    size_t count = 0;
    for (EndId i = 0; i < ends; i++) {
        const PrepEnd *prep = &set->ends[i];
        uint32_t harness = set->harness->runs[set->harness->pieces[i / 2].run].harness;
        bool pulled = prep->tool != ID_NONE &&
                      strcmp(model->set->contact_tool.rows[prep->tool].pull, "none") != 0;
        if (pulled && harness != ID_NONE) {
            kinds[count++] = (PrepKind){.harness = harness,
                                        .contact = prep->contact,
                                        .awg = prep->awg,
                                        .tool = prep->tool,
                                        .pull = prep->pull};
        }
    }
    if (count > 1) {
        qsort(kinds, count, sizeof *kinds, compare_kinds);
    }
    set->kinds = ARENA_ARRAY(out, PrepKind, count);
    for (size_t i = 0; i < count; i++) {
        if (i == 0 || compare_kinds(&kinds[i - 1], &kinds[i]) != 0) {
            set->kinds[set->kind_count++] = kinds[i];
        }
        set->kinds[set->kind_count - 1].crimps++;
    }
    double minutes = end_minutes(model);
    double shift_min = model_limit(model, PREP_LIMIT_SHIFT);
    for (uint32_t i = 0; i < set->kind_count; i++) {
        PrepKind *kind = &set->kinds[i];
        double shifts = ceil((double)kind->crimps * minutes / shift_min);
        kind->shifts = shifts < 1.0 ? 1 : (uint32_t)shifts;
        kind->samples = prep_samples(model, kind->crimps, kind->shifts);
    }
}

/* --- findings -----------------------------------------------------------------------------------
 */

static void report_contacts(const Builder *builder) {
    const TableSet *set = builder->model->set;
    for (uint32_t i = 0; i <= set->disconnect.count; i++) {
        uint32_t count = builder->no_contact[i];
        if (count == 0) {
            continue;
        }
        EndFacts facts;
        ends_facts(builder->findings->arena, builder->ends, builder->no_contact_first[i], &facts);
        bool pass = i < set->disconnect.count;
        Finding *finding =
            pass ? report_row(builder->findings, builder->model, RULE_PREP_CONTACT,
                              TABLE_disconnect, i, "",
                              "%u ends pass %s by a bulkhead or stud and nothing says by which "
                              "plug or lug, the first of wire %s",
                              count, set->disconnect.rows[i].disconnect, facts.wire)
                 : finding_report(builder->findings, RULE_PREP_CONTACT, "contact", "", "",
                                  "of %u ends the library does not say what holds them, the first "
                                  "of wire %s at %s",
                                  count, facts.wire, facts.at);
        finding->value = count;
        finding->unit = "ends";
        finding->rows = facts.wire;
        finding->hint = pass ? "name a contact as `coax` or `stud` of the disconnect"
                             : "give the shell or stud a contact";
    }
}

typedef struct Missing {
    ContactId contact;
    int32_t awg;
} Missing;

static int compare_missing(const void *left, const void *right) {
    const Missing *a = left;
    const Missing *b = right;
    if (a->contact != b->contact) {
        return a->contact < b->contact ? -1 : 1;
    }
    return (a->awg > b->awg) - (a->awg < b->awg);
}

/* One finding for each contact, with the gauges and the number of its ends. */
static void report_tools(Builder *builder) {
    const Model *model = builder->model;
    uint32_t ends = 2 * builder->ends->piece_count;
    Missing *missing = ARENA_ARRAY(&builder->scratch, Missing, ends);
    size_t count = 0;
    for (EndId i = 0; i < ends; i++) {
        const PrepEnd *prep = &builder->set->ends[i];
        if (prep->contact != ID_NONE && prep->tool == ID_NONE && prep->coax == ID_NONE) {
            missing[count++] = (Missing){prep->contact, prep->awg};
        }
    }
    if (count > 1) {
        qsort(missing, count, sizeof *missing, compare_missing);
    }
    size_t first = 0;
    for (size_t i = 0; i < count; i++) {
        if (i + 1 < count && missing[i + 1].contact == missing[i].contact) {
            continue;
        }
        const ContactRow *row = &model->set->contact.rows[missing[i].contact];
        bool coax = strcmp(row->kind, "coax") == 0;
        Finding *finding =
            report_row(builder->findings, model, RULE_PREP_TOOL, TABLE_contact, missing[i].contact,
                       "", "%zu ends take contact %s and no row of %s says how they are prepared",
                       i + 1 - first, row->contact, coax ? "coax_prep" : "contact_tool");
        finding->value = (double)(i + 1 - first);
        finding->unit = "ends";
        finding->hint = coax ? "add a row of coax_prep from the plug maker's sheet"
                             : "add a row of contact_tool for it and as thick a wire";
        first = i + 1;
    }
}

static void report_pulls(const Builder *builder) {
    const PrepSet *set = builder->set;
    const Model *model = builder->model;
    for (uint32_t i = 0; i < set->kind_count; i++) {
        const PrepKind *kind = &set->kinds[i];
        if (kind->pull.row != ID_NONE && !kind->pull.thicker) {
            continue;
        }
        const char *awg = value_awg_text(builder->findings->arena, kind->awg);
        Finding *finding = report_row(
            builder->findings, model, RULE_PREP_PULL, TABLE_contact, kind->contact, "",
            kind->pull.thicker
                ? "harness %s: no published least force for %s AWG in contact %s; that of the next "
                  "thicker wire is asked for"
                : "harness %s: no published least force for %s AWG in contact %s",
            model->set->module.rows[kind->harness].module, awg,
            model->set->contact.rows[kind->contact].contact);
        finding->value = kind->awg;
        finding->unit = "AWG";
        finding->hint = "pull some to breaking: what the wire itself holds is the most there is";
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool prep_build(Arena *out, const HarnessSet *harness, PrepSet *set, Findings *findings) {
    const Ends *ends = harness->ends;
    const Model *model = ends->model;
    *set = (PrepSet){.harness = harness};
    set->ends = ARENA_ARRAY(out, PrepEnd, 2 * (size_t)ends->piece_count);
    Builder builder = {.ends = ends,
                       .model = model,
                       .set = set,
                       .findings = findings,
                       .shield_on = model_row(model, TABLE_shield_prep, "on"),
                       .shield_cut = model_row(model, TABLE_shield_prep, "cut")};
    size_t places = model->set->disconnect.count + 1;
    builder.no_contact = ARENA_ARRAY(&builder.scratch, uint32_t, places);
    builder.no_contact_first = ARENA_ARRAY(&builder.scratch, EndId, places);
    for (EndId i = 0; i < 2 * ends->piece_count; i++) {
        prepare(&builder, i);
    }
    count_kinds(out, &builder);
    report_contacts(&builder);
    report_tools(&builder);
    report_pulls(&builder);
    arena_free(&builder.scratch);
    return true;
}
