/* What runs in each segment. Sources: limit rows of the library (handbook count and diameter of a
 * bundle, distance of clamps AC 43.13-1B par. 11-96a, bend radii par. 11-96). */
#include <math.h>

#include "route/gauges.h"
#include "model/report.h"

/* --- wires by gauge --------------------------------------------------------------------------- */

void gauges_read(const Model *model, RouteGauges *gauges) {
    for (size_t i = 0; i < GAUGES_COUNT; i++) {
        gauges->wire[i] = ID_NONE;
    }
    const TableSet *set = model->set;
    for (uint32_t i = 0; i < set->wire.count; i++) {
        const WireRow *row = &set->wire.rows[i];
        if (row->awg < UNITS_AWG_THICKEST || row->awg > UNITS_AWG_THINNEST) {
            continue;
        }
        uint32_t *slot = &gauges->wire[row->awg - UNITS_AWG_THICKEST];
        bool usual = row->use[0] == 'u';
        if (*slot == ID_NONE || (usual && set->wire.rows[*slot].use[0] != 'u')) {
            *slot = i;
        }
    }
}

const WireRow *gauges_wire(const Model *model, const RouteGauges *gauges, int32_t awg) {
    if (awg < UNITS_AWG_THICKEST || awg > UNITS_AWG_THINNEST) {
        return NULL;
    }
    uint32_t row = gauges->wire[awg - UNITS_AWG_THICKEST];
    return row == ID_NONE ? NULL : &model->set->wire.rows[row];
}

uint32_t route_wire_row(const Model *model, int32_t awg) {
    RouteGauges gauges;
    gauges_read(model, &gauges);
    const WireRow *row = gauges_wire(model, &gauges, awg);
    return row == NULL ? ID_NONE : (uint32_t)(row - model->set->wire.rows);
}

int32_t route_conductor_awg(const Model *model, const Wiring *wiring, ConductorId id,
                            const int32_t *awg) {
    const Cable *cable = &wiring->cables[wiring->conductors[id].cable];
    if (cable->part != ID_NONE) {
        return model->set->cable.rows[cable->part].awg;
    }
    if (awg[id] != INT_BLANK) {
        return awg[id];
    }
    return wiring_class(model, wiring->nets[cable->net].class_id)->smallest_awg;
}

double gauges_square_mm2(const Model *model, const Wiring *wiring, const RouteGauges *gauges,
                         CableId id, const int32_t *awg) {
    const Cable *cable = &wiring->cables[id];
    if (cable->part != ID_NONE) {
        double od_mm = model->set->cable.rows[cable->part].od_mm;
        return od_mm * od_mm;
    }
    double sum_mm2 = 0.0;
    for (uint32_t core = 0; core < cable->conductor_count; core++) {
        int32_t gauge = route_conductor_awg(model, wiring, cable->conductor_first + core, awg);
        const WireRow *wire = gauges_wire(model, gauges, gauge);
        sum_mm2 += wire == NULL ? 0.0 : wire->od_mm * wire->od_mm;
    }
    return sum_mm2;
}

double gauges_kg_per_m(const Model *model, const Wiring *wiring, const RouteGauges *gauges,
                       CableId id, const int32_t *awg) {
    const Cable *cable = &wiring->cables[id];
    if (cable->part != ID_NONE) {
        return model->set->cable.rows[cable->part].mass_kg_per_km / 1000.0;
    }
    double sum_kg_per_m = 0.0;
    for (uint32_t core = 0; core < cable->conductor_count; core++) {
        int32_t gauge = route_conductor_awg(model, wiring, cable->conductor_first + core, awg);
        const WireRow *wire = gauges_wire(model, gauges, gauge);
        sum_kg_per_m += wire == NULL ? 0.0 : wire->mass_kg_per_km / 1000.0;
    }
    return sum_kg_per_m;
}

double route_cable_od_mm(const Model *model, const Wiring *wiring, CableId cable,
                         const int32_t *awg) {
    RouteGauges gauges;
    gauges_read(model, &gauges);
    return sqrt(gauges_square_mm2(model, wiring, &gauges, cable, awg));
}

double route_cable_kg_per_m(const Model *model, const Wiring *wiring, CableId cable,
                            const int32_t *awg) {
    RouteGauges gauges;
    gauges_read(model, &gauges);
    return gauges_kg_per_m(model, wiring, &gauges, cable, awg);
}

/* --- bundles ---------------------------------------------------------------------------------- */

/* Thickest single thing of a laid piece: the cable, or one of its wires. */
static double thickest_mm(const Model *model, const Wiring *wiring, const RouteGauges *gauges,
                          CableId id, const int32_t *awg) {
    const Cable *cable = &wiring->cables[id];
    if (cable->part != ID_NONE) {
        return model->set->cable.rows[cable->part].od_mm;
    }
    double most_mm = 0.0;
    for (uint32_t core = 0; core < cable->conductor_count; core++) {
        int32_t gauge = route_conductor_awg(model, wiring, cable->conductor_first + core, awg);
        const WireRow *wire = gauges_wire(model, gauges, gauge);
        most_mm = wire != NULL && wire->od_mm > most_mm ? wire->od_mm : most_mm;
    }
    return most_mm;
}

/* The sum of squares is gathered in diameter_mm until all cables are in. */
void route_bundles(const Model *model, const Wiring *wiring, const Routing *routing,
                   const int32_t *awg, Bundle *bundles) {
    RouteGauges gauges;
    gauges_read(model, &gauges);
    double bend_wire = model_limit(model, ROUTE_LIMIT_BEND_WIRE);
    double bend_coax = model_limit(model, ROUTE_LIMIT_BEND_COAX);
    double factor = model_limit(model, ROUTE_LIMIT_FACTOR);
    double spacing_mm = model_limit(model, ROUTE_LIMIT_CLAMPS);
    size_t count = model->set->segment.count;
    for (size_t i = 0; i < count; i++) {
        bundles[i] = (Bundle){0};
    }
    for (CableId id = 0; id < wiring->cable_count; id++) {
        const Cable *cable = &wiring->cables[id];
        double square_mm2 = gauges_square_mm2(model, wiring, &gauges, id, awg);
        double kg_per_mm = gauges_kg_per_m(model, wiring, &gauges, id, awg) / 1000.0;
        double bend_mm =
            thickest_mm(model, wiring, &gauges, id, awg) * (cable->coax ? bend_coax : bend_wire);
        for (uint32_t i = routing->cable_first[id]; i < routing->cable_first[id + 1]; i++) {
            SegmentId segment = routing->hops[i].segment;
            Bundle *bundle = &bundles[segment];
            bundle->mass_kg += kg_per_mm * model->segment_length_mm[segment];
            bundle->bend_mm = bend_mm > bundle->bend_mm ? bend_mm : bundle->bend_mm;
            if (cable->heavy) {
                bundle->heavy++;
                continue;
            }
            bundle->cables++;
            bundle->conductors += cable->conductor_count;
            bundle->diameter_mm += square_mm2;
        }
    }
    for (size_t i = 0; i < count; i++) {
        Bundle *bundle = &bundles[i];
        bundle->diameter_mm = factor * sqrt(bundle->diameter_mm);
        if (bundle->cables + bundle->heavy > 0 && spacing_mm > 0.0) {
            bundle->clamps = (uint32_t)fmin(ceil(model->segment_length_mm[i] / spacing_mm), 1e9);
        }
    }
}

/* --- checks ----------------------------------------------------------------------------------- */

typedef struct BundleLimits {
    const Model *model;
    Findings *findings;
    double cables;
    double diameter_mm;
    double fill_pct;
} BundleLimits;

static void check_segment(const BundleLimits *limits, SegmentId id, const Bundle *bundle) {
    const Model *model = limits->model;
    const SegmentRow *segment = &model->set->segment.rows[id];
    if (bundle->cables > limits->cables) {
        Finding *finding = report_row(limits->findings, model, RULE_ROUTE_BUNDLE, TABLE_segment, id,
                                      "", "%u cables run in segment %s, at most %.0f may",
                                      bundle->cables, segment->segment, limits->cables);
        report_values(finding, bundle->cables, limits->cables, "cables",
                      model_limit_row(model, ROUTE_LIMIT_CABLES)->source);
        finding->hint = "lay a second way beside it, or lead some circuits round";
    }
    if (bundle->diameter_mm > limits->diameter_mm) {
        Finding *finding =
            report_row(limits->findings, model, RULE_ROUTE_DIAMETER, TABLE_segment, id, "",
                       "the bundle in segment %s is %.1f mm thick, at most %.1f mm may be",
                       segment->segment, bundle->diameter_mm, limits->diameter_mm);
        report_values(finding, bundle->diameter_mm, limits->diameter_mm, "mm",
                      model_limit_row(model, ROUTE_LIMIT_DIAMETER)->source);
        finding->hint = "lay a second way beside it, or lead some circuits round";
    }
    double room_mm = segment->inner_mm * limits->fill_pct / 100.0;
    if (!isnan(room_mm) && bundle->diameter_mm > room_mm) {
        Finding *finding = report_row(
            limits->findings, model, RULE_ROUTE_FILL, TABLE_segment, id, "inner_mm",
            "the bundle in segment %s is %.1f mm thick; its %.1f mm hole takes %.1f mm (%.0f %%)",
            segment->segment, bundle->diameter_mm, segment->inner_mm, room_mm, limits->fill_pct);
        report_values(finding, 100.0 * bundle->diameter_mm / segment->inner_mm, limits->fill_pct,
                      "%", model_limit_row(model, ROUTE_LIMIT_FILL)->source);
        report_hint(limits->findings, finding, "a hole of %.0f mm would do",
                    ceil(bundle->diameter_mm * 100.0 / limits->fill_pct));
    }
}

/* Classes that an `apart` row keeps from each other: how far each circuit of the one runs where any
 * of the other runs too. */
static void check_apart(const Model *model, const Wiring *wiring, const Routing *routing,
                        uint32_t row, bool *carries, Findings *findings) {
    const ApartRow *apart = &model->set->apart.rows[row];
    ClassId class_a = name_map_find(&model->class_by_name, apart->class_a);
    ClassId class_b = name_map_find(&model->class_by_name, apart->class_b);
    double allowed_mm = isnan(apart->together_mm) ? 0.0 : apart->together_mm;
    for (size_t i = 0; i < model->set->segment.count; i++) {
        carries[i] = false;
    }
    for (CableId i = 0; i < wiring->cable_count; i++) {
        if (wiring->nets[wiring->cables[i].net].class_id == class_b) {
            for (uint32_t k = routing->cable_first[i]; k < routing->cable_first[i + 1]; k++) {
                carries[routing->hops[k].segment] = true;
            }
        }
    }
    Buffer names = {.arena = findings->arena};
    CableId worst = ID_NONE;
    double worst_mm = allowed_mm;
    unsigned over = 0;
    for (CableId i = 0; i < wiring->cable_count; i++) {
        const Net *net = &wiring->nets[wiring->cables[i].net];
        double shared_mm = 0.0;
        for (uint32_t k = routing->cable_first[i];
             net->class_id == class_a && k < routing->cable_first[i + 1]; k++) {
            SegmentId segment = routing->hops[k].segment;
            shared_mm += carries[segment] ? model->segment_length_mm[segment] : 0.0;
        }
        if (shared_mm > allowed_mm) {
            buffer_format(&names, over++ == 0 ? "%s" : " %s", net->name);
        }
        if (shared_mm > worst_mm) {
            worst_mm = shared_mm;
            worst = i;
        }
    }
    if (worst == ID_NONE) {
        return;
    }
    Finding *finding = report_row(
        findings, model, RULE_ROUTE_APART, TABLE_apart, row, "",
        "%u circuit%s of class %s share%s a way with class %s: %s over %.0f mm, allowed %.0f mm "
        "(else %.0f mm apart)",
        over, over == 1 ? "" : "s", apart->class_a, over == 1 ? "s" : "", apart->class_b,
        wiring->nets[wiring->cables[worst].net].name, worst_mm, allowed_mm, apart->distance_mm);
    report_values(finding, worst_mm, allowed_mm, "mm", *apart->why == '\0' ? NULL : apart->why);
    finding->rows = names.bytes;
    finding->hint = "keep one of them off the shared segments, or clamp them apart and accept this";
}

void route_check(const Model *model, const Wiring *wiring, const Routing *routing,
                 const Bundle *bundles, Findings *findings) {
    BundleLimits limits = {
        .model = model,
        .findings = findings,
        .cables = model_limit(model, ROUTE_LIMIT_CABLES),
        .diameter_mm = model_limit(model, ROUTE_LIMIT_DIAMETER),
        .fill_pct = model_limit(model, ROUTE_LIMIT_FILL),
    };
    for (SegmentId i = 0; i < model->set->segment.count; i++) {
        check_segment(&limits, i, &bundles[i]);
    }
    Arena scratch = {0};
    bool *carries = ARENA_ARRAY(&scratch, bool, model->set->segment.count);
    for (uint32_t i = 0; i < model->set->apart.count; i++) {
        check_apart(model, wiring, routing, i, carries, findings);
    }
    arena_free(&scratch);
}

/* --- text ------------------------------------------------------------------------------------- */

const char *route_text(Arena *arena, const Model *model, const Wiring *wiring,
                       const Routing *routing, CableId id) {
    NodeId from = model->terminals[wiring->cables[id].from].node;
    if (from == ID_NONE) {
        return "";
    }
    Buffer text = {.arena = arena};
    buffer_text(&text, model->set->node.rows[from].node);
    for (uint32_t i = routing->cable_first[id]; i < routing->cable_first[id + 1]; i++) {
        const Hop *hop = &routing->hops[i];
        NodeId next =
            hop->backward ? model->segment_a[hop->segment] : model->segment_b[hop->segment];
        buffer_format(&text, ">%s", model->set->node.rows[next].node);
    }
    return text.bytes;
}
