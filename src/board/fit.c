#include "board/fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/parallel.h"
#include "model/report.h"
#include "rating/bundle.h"

/* A tube must be this much wider than what it slides over (common practice, no source). */
#define PLAY_MM 0.2

const char *fit_verdict_text(FitVerdict verdict) {
    static const char *const TEXTS[] = {
        [FIT_OPEN] = "",
        [FIT_THROUGH] = "goes through",
        [FIT_FULL] = "goes through, too full",
        [FIT_NOT_FOUND] = "no way through found",
        [FIT_TOO_SMALL] = "does not go through",
        [FIT_NOT_PACKED] = "not proved: not packed",
    };
    return TEXTS[verdict];
}

/* --- what is in a bundle ---------------------------------------------------------------------- */

/* The round things of a cable, into `wires` unless it is NULL; returns their count. */
static uint32_t list_cable(const FitInput *input, const uint32_t *wire_row, CableId id,
                           FitWire *wires) {
    const TableSet *set = input->model->set;
    const Cable *cable = &input->wiring->cables[id];
    if (cable->part != ID_NONE) {
        const CableRow *row = &set->cable.rows[cable->part];
        if (wires != NULL) {
            wires[0] = (FitWire){id, cable->conductor_first, row->od_mm,
                                 row->mass_kg_per_km / 1000.0, cable->heavy};
        }
        return 1;
    }
    uint32_t count = 0;
    for (uint32_t core = 0; core < cable->conductor_count; core++) {
        ConductorId conductor = cable->conductor_first + core;
        if (wire_row[conductor] == ID_NONE) {
            continue; /* the library has no such wire: found elsewhere */
        }
        const WireRow *row = &set->wire.rows[wire_row[conductor]];
        if (wires != NULL) {
            wires[count] =
                (FitWire){id, conductor, row->od_mm, row->mass_kg_per_km / 1000.0, cable->heavy};
        }
        count++;
    }
    return count;
}

/* Wire rows by conductor; a gauge is looked up once. */
static uint32_t *find_wire_rows(Arena *arena, const FitInput *input) {
    enum { GAUGES = 64, THICKEST = -8 };
    uint32_t known[GAUGES];
    bool asked[GAUGES] = {false};
    uint32_t *rows = ARENA_ARRAY(arena, uint32_t, input->wiring->conductor_count);
    for (ConductorId id = 0; id < input->wiring->conductor_count; id++) {
        int32_t awg = route_conductor_awg(input->model, input->wiring, id, input->awg);
        rows[id] = ID_NONE;
        if (awg < THICKEST || awg >= THICKEST + GAUGES) {
            continue;
        }
        if (!asked[awg - THICKEST]) {
            asked[awg - THICKEST] = true;
            known[awg - THICKEST] = route_wire_row(input->model, awg);
        }
        rows[id] = known[awg - THICKEST];
    }
    return rows;
}

static int compare_wires(const void *left, const void *right) {
    const FitWire *a = left;
    const FitWire *b = right;
    int order = (a->heavy > b->heavy) - (a->heavy < b->heavy);
    order =
        order != 0 ? order : (a->diameter_mm < b->diameter_mm) - (a->diameter_mm > b->diameter_mm);
    return order != 0 ? order : (a->conductor > b->conductor) - (a->conductor < b->conductor);
}

void fit_gather(Arena *out, const FitInput *input, Fits *fits) {
    const Model *model = input->model;
    uint32_t segments = (uint32_t)model->set->segment.count;
    Arena scratch = {0};
    uint32_t *wire_row = find_wire_rows(&scratch, input);
    *fits = (Fits){.bundles = ARENA_ARRAY(out, BundleFit, segments)};
    for (int pass = 0; pass < 2; pass++) { /* count, then fill */
        for (SegmentId i = 0; pass == 1 && i < segments; i++) {
            fits->bundles[i].wire_first = fits->wire_count;
            fits->wire_count += fits->bundles[i].wire_count;
            fits->bundles[i].wire_count = 0;
        }
        fits->wires = pass == 1 ? ARENA_ARRAY(out, FitWire, fits->wire_count) : NULL;
        for (CableId id = 0; id < input->wiring->cable_count; id++) {
            const uint32_t *first = &input->routing->cable_first[id];
            for (uint32_t k = first[0]; k < first[1]; k++) {
                BundleFit *fit = &fits->bundles[input->routing->hops[k].segment];
                FitWire *at = pass == 1 ? fits->wires + fit->wire_first + fit->wire_count : NULL;
                fit->wire_count += list_cable(input, wire_row, id, at);
            }
        }
    }
    for (SegmentId i = 0; i < segments; i++) {
        BundleFit *fit = &fits->bundles[i];
        FitWire *wires = fits->wires + fit->wire_first;
        if (fit->wire_count > 1) {
            qsort(wires, fit->wire_count, sizeof *wires, compare_wires);
        }
        for (uint32_t k = 0; k < fit->wire_count; k++) {
            fit->heavy += wires[k].heavy ? 1 : 0;
            fit->kg_per_m += wires[k].kg_per_m;
        }
        fit->packing_mm = fit->all_mm = fit->least_mm = NAN;
        fit->grommet = fit->shrink = fit->braid = ID_NONE;
    }
    arena_free(&scratch);
}

/* --- packing ---------------------------------------------------------------------------------- */

/* More distinct sets than these are not packed: a job that large would take minutes. */
enum { SETS_MOST = 150 };

/* A set of diameters to be packed: the first `count` of these wires. */
typedef struct PackTask {
    const FitWire *wires;
    uint32_t count;
    bool hole; /* a hole or conduit is given for it */
    double squares_mm2;
    double outer_mm; /* NAN: not packed */
} PackTask;

static int compare_tasks(const PackTask *a, const PackTask *b) {
    int order = (a->count > b->count) - (a->count < b->count);
    for (uint32_t i = 0; order == 0 && i < a->count; i++) {
        double da = a->wires[i].diameter_mm;
        double db = b->wires[i].diameter_mm;
        order = (da > db) - (da < db);
    }
    return order;
}

static int compare_task_places(const void *left, const void *right) {
    return compare_tasks(*(PackTask *const *)left, *(PackTask *const *)right);
}

/* Those with a hole first, then the thickest. */
static int compare_urgency(const void *left, const void *right) {
    const PackTask *a = *(PackTask *const *)left;
    const PackTask *b = *(PackTask *const *)right;
    int order = (a->hole < b->hole) - (a->hole > b->hole);
    order =
        order != 0 ? order : (a->squares_mm2 < b->squares_mm2) - (a->squares_mm2 > b->squares_mm2);
    return order != 0 ? order : compare_tasks(a, b);
}

static void pack_one(void *context, unsigned thread, uint32_t item) {
    (void)thread;
    PackTask *task = ((PackTask **)context)[item];
    PackingCircle circles[PACKING_MOST];
    for (uint32_t i = 0; i < task->count; i++) {
        circles[i] = (PackingCircle){.diameter_mm = task->wires[i].diameter_mm};
    }
    task->outer_mm = packing_round(circles, task->count);
}

/* Packs the distinct ones and hands the diameters round. */
static void pack_all(Arena *scratch, PackTask *tasks, uint32_t count, unsigned threads) {
    PackTask **sorted = ARENA_ARRAY(scratch, PackTask *, count);
    PackTask **distinct = ARENA_ARRAY(scratch, PackTask *, count);
    uint32_t distinct_count = 0;
    for (uint32_t i = 0; i < count; i++) {
        sorted[i] = &tasks[i];
    }
    if (count > 1) {
        qsort(sorted, count, sizeof *sorted, compare_task_places);
    }
    for (uint32_t i = 0; i < count; i++) {
        if (i == 0 || compare_tasks(sorted[i - 1], sorted[i]) != 0) {
            distinct[distinct_count++] = sorted[i];
        } else if (sorted[i]->hole) {
            distinct[distinct_count - 1]->hole = true;
        }
    }
    if (distinct_count > 1) {
        qsort(distinct, distinct_count, sizeof *distinct, compare_urgency);
    }
    for (uint32_t i = SETS_MOST; i < distinct_count; i++) {
        if (distinct[i]->count <= 2) { /* side by side: no work */
            pack_one(distinct, 0, i);
        }
    }
    parallel_run(threads == 0 ? 1 : threads,
                 distinct_count < SETS_MOST ? distinct_count : SETS_MOST, pack_one, distinct);
    for (uint32_t i = 1; i < count; i++) {
        if (compare_tasks(sorted[i - 1], sorted[i]) == 0) {
            sorted[i]->outer_mm = sorted[i - 1]->outer_mm;
        }
    }
}

static void pack_bundles(Arena *scratch, const FitInput *input, Fits *fits) {
    uint32_t segments = (uint32_t)input->model->set->segment.count;
    PackTask *tasks = ARENA_ARRAY(scratch, PackTask, (size_t)2 * segments);
    for (SegmentId i = 0; i < segments; i++) {
        const BundleFit *fit = &fits->bundles[i];
        for (uint32_t part = 0; part < 2; part++) {
            uint32_t count = fit->wire_count - (part == 0 ? fit->heavy : 0);
            const FitWire *wires = fits->wires + fit->wire_first;
            /* Heavy ones come last: together they are not sorted by diameter, which does no harm.
             */
            PackTask *task = &tasks[2 * i + part];
            *task = (PackTask){wires, count <= PACKING_MOST ? count : 0, false, 0.0, (double)NAN};
            task->hole = part == 1 && !isnan(input->model->set->segment.rows[i].inner_mm);
            for (uint32_t k = 0; k < task->count; k++) {
                task->squares_mm2 += wires[k].diameter_mm * wires[k].diameter_mm;
            }
        }
    }
    pack_all(scratch, tasks, 2 * segments, input->threads);
    for (SegmentId i = 0; i < segments; i++) {
        BundleFit *fit = &fits->bundles[i];
        if (fit->wire_count - fit->heavy <= PACKING_MOST) {
            fit->packing_mm = tasks[2 * i].outer_mm;
        }
        if (fit->wire_count <= PACKING_MOST) {
            fit->all_mm = tasks[2 * i + 1].outer_mm;
        }
    }
}

/* --- sizes ------------------------------------------------------------------------------------ */

/* The smallest sleeve of a kind that goes over the thicker and closes on the thinner; ID_NONE. */
static uint32_t find_sleeve(const TableSet *set, const char *kind, double thin_mm,
                            double thick_mm) {
    uint32_t best = ID_NONE;
    for (uint32_t i = 0; i < set->sleeve.count; i++) {
        const SleeveRow *row = &set->sleeve.rows[i];
        if (strcmp(row->kind, kind) == 0 && row->supplied_mm >= thick_mm &&
            row->recovered_mm <= thin_mm &&
            (best == ID_NONE || row->supplied_mm < set->sleeve.rows[best].supplied_mm)) {
            best = i;
        }
    }
    return best;
}

static uint32_t find_grommet(const TableSet *set, double inner_mm) {
    uint32_t best = ID_NONE;
    for (uint32_t i = 0; i < set->grommet.count; i++) {
        const GrommetRow *row = &set->grommet.rows[i];
        if (row->inner_mm >= inner_mm &&
            (best == ID_NONE || row->inner_mm < set->grommet.rows[best].inner_mm)) {
            best = i;
        }
    }
    return best;
}

static FitVerdict judge(const BundleFit *fit, double inner_mm, double fill_pct) {
    if (isnan(inner_mm) || fit->wire_count == 0) {
        return FIT_OPEN;
    }
    if (fit->least_all_mm > inner_mm) {
        return FIT_TOO_SMALL;
    }
    if (isnan(fit->all_mm)) {
        return FIT_NOT_PACKED;
    }
    return fit->all_mm <= inner_mm * fill_pct / 100.0 ? FIT_THROUGH
           : fit->all_mm <= inner_mm                  ? FIT_FULL
                                                      : FIT_NOT_FOUND;
}

static void size_bundle(const FitInput *input, const double *diameters_mm, SegmentId id,
                        double fill_pct, BundleFit *fit) {
    const TableSet *set = input->model->set;
    const Bundle *bundle = &input->bundles[id];
    double thick_mm = diameters_mm[0];
    fit->rule_mm = bundle->diameter_mm;
    fit->bend_mm = bundle->bend_mm;
    fit->least_all_mm = bundle_least_mm(diameters_mm, fit->wire_count);
    fit->likely_all_mm =
        isnan(fit->all_mm) ? bundle_mm(diameters_mm, fit->wire_count) : fit->all_mm;
    for (uint32_t k = 1; k < fit->wire_count; k++) {
        thick_mm = fmax(thick_mm, diameters_mm[k]);
    }
    fit->supported_mm = thick_mm * model_limit(input->model, FIT_LIMIT_SUPPORTED);
    if (fit->wire_count > fit->heavy) {
        fit->least_mm = bundle_least_mm(diameters_mm, fit->wire_count - fit->heavy);
        /* One wire is as thick as it is; fmax and fmin pass over a missing packing. */
        double rule_mm = fit->wire_count - fit->heavy == 1 ? fit->packing_mm : fit->rule_mm;
        double most_mm = fmax(fit->packing_mm, rule_mm);
        double least_mm = fmin(fit->packing_mm, rule_mm);
        fit->grommet = find_grommet(set, most_mm * 100.0 / fill_pct);
        fit->shrink = find_sleeve(set, "tube", least_mm, most_mm + PLAY_MM);
        fit->braid = find_sleeve(set, "braid", least_mm, most_mm);
    }
    fit->verdict = judge(fit, set->segment.rows[id].inner_mm, fill_pct);
}

static void report_hole(const FitInput *input, SegmentId id, double fill_pct, const BundleFit *fit,
                        Findings *findings) {
    const Model *model = input->model;
    const SegmentRow *row = &model->set->segment.rows[id];
    double room_mm = row->inner_mm * fill_pct / 100.0;
    double need_mm = fit->likely_all_mm;
    if (fit->verdict == FIT_OPEN || need_mm <= room_mm || fit->rule_mm > room_mm) {
        return; /* the last: route.fill has said it */
    }
    Finding *finding =
        report_row(findings, model, RULE_BUNDLE_HOLE, TABLE_segment, id, "inner_mm",
                   "%u wires and cables%s run in segment %s; %s %.1f mm thick, its %.1f mm hole "
                   "takes %.1f mm: %s",
                   fit->wire_count, fit->heavy > 0 ? ", heavy ones among them," : "", row->segment,
                   isnan(fit->all_mm) ? "by rule they are" : "packed they are", need_mm,
                   row->inner_mm, room_mm, fit_verdict_text(fit->verdict));
    report_values(finding, need_mm, room_mm, "mm",
                  model_limit_row(model, ROUTE_LIMIT_FILL)->source);
    report_hint(findings, finding, "a hole of %.0f mm would do", ceil(need_mm * 100.0 / fill_pct));
}

void fit_run(Arena *out, const FitInput *input, Fits *fits, Findings *findings) {
    fit_gather(out, input, fits);
    Arena scratch = {0};
    pack_bundles(&scratch, input, fits);
    double fill_pct = model_limit(input->model, ROUTE_LIMIT_FILL);
    double *diameters_mm = ARENA_ARRAY(&scratch, double, fits->wire_count);
    for (SegmentId i = 0; i < input->model->set->segment.count; i++) {
        BundleFit *fit = &fits->bundles[i];
        if (fit->wire_count == 0) {
            continue;
        }
        for (uint32_t k = 0; k < fit->wire_count; k++) {
            diameters_mm[k] = fits->wires[fit->wire_first + k].diameter_mm;
        }
        size_bundle(input, diameters_mm, i, fill_pct, fit);
        report_hole(input, i, fill_pct, fit, findings);
    }
    arena_free(&scratch);
}

/* --- rows ------------------------------------------------------------------------------------- */

void fit_rows(Arena *arena, const Model *model, const Fits *fits, TableSet *out) {
    const TableSet *set = model->set;
    for (SegmentId i = 0; i < set->segment.count; i++) {
        const BundleFit *fit = &fits->bundles[i];
        if (fit->wire_count == 0) {
            continue;
        }
        BundleFitRow *row = table_append(out, arena, TABLE_bundle_fit);
        row->segment = set->segment.rows[i].segment;
        row->wires = (int32_t)(fit->wire_count - fit->heavy);
        row->heavy = (int32_t)fit->heavy;
        if (fit->wire_count > fit->heavy) {
            row->packing_mm = fit->packing_mm;
            row->rule_mm = fit->rule_mm;
        }
        if (fit->heavy > 0) {
            row->all_mm = fit->all_mm;
        }
        row->least_mm = fit->least_mm;
        row->bend_mm = fit->bend_mm;
        row->supported_mm = fit->supported_mm;
        if (fit->grommet != ID_NONE) {
            row->grommet = set->grommet.rows[fit->grommet].grommet;
            row->hole_mm = set->grommet.rows[fit->grommet].hole_mm;
        }
        row->shrink = fit->shrink == ID_NONE ? "" : set->sleeve.rows[fit->shrink].sleeve;
        row->braid = fit->braid == ID_NONE ? "" : set->sleeve.rows[fit->braid].sleeve;
        row->mass_kg_per_km = fit->kg_per_m * 1000.0;
        row->inner_mm = set->segment.rows[i].inner_mm;
        row->verdict = fit_verdict_text(fit->verdict);
    }
}

/* --- the largest ------------------------------------------------------------------------------ */

/* By square of all diameters, which needs no packing. */
static double area_of(const Fits *fits, SegmentId id) {
    const BundleFit *fit = &fits->bundles[id];
    double sum = 0.0;
    for (uint32_t k = 0; k + fit->heavy < fit->wire_count; k++) {
        double d = fits->wires[fit->wire_first + k].diameter_mm;
        sum += d * d;
    }
    return sum;
}

static bool same_wires(const Fits *fits, SegmentId a, SegmentId b) {
    const BundleFit *x = &fits->bundles[a];
    const BundleFit *y = &fits->bundles[b];
    bool same = x->wire_count == y->wire_count;
    for (uint32_t k = 0; same && k < x->wire_count; k++) {
        same = fits->wires[x->wire_first + k].conductor == fits->wires[y->wire_first + k].conductor;
    }
    return same;
}

uint32_t fit_largest(const Model *model, const Fits *fits, SegmentId *segments, uint32_t most) {
    uint32_t count = 0;
    for (SegmentId i = 0; i < model->set->segment.count; i++) {
        uint32_t wires = fits->bundles[i].wire_count - fits->bundles[i].heavy;
        bool fresh = wires >= 3 && !isnan(fits->bundles[i].packing_mm);
        for (uint32_t k = 0; fresh && k < count; k++) {
            fresh = !same_wires(fits, segments[k], i);
        }
        if (!fresh) {
            continue;
        }
        double area = area_of(fits, i);
        uint32_t at = count < most ? count++ : most;
        for (; at > 0 && area_of(fits, segments[at - 1]) < area; at--) {
            if (at < most) {
                segments[at] = segments[at - 1];
            }
        }
        if (at < most) {
            segments[at] = i;
        }
    }
    return count;
}
