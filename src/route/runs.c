#include "route/runs.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "rating/coax.h"
#include "route/gauges.h"
#include "route/length.h"
#include "model/report.h"

typedef struct Measurer {
    Arena scratch;
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Disconnects *disconnects;
    Findings *findings;
} Measurer;

static Finding *report_net(const Measurer *measurer, RuleId rule, const Net *net,
                           const char *text) {
    return report_row(measurer->findings, measurer->model, rule, net->from_table, net->from_row, "",
                      "%s", text);
}

/* --- feeders ---------------------------------------------------------------------------------- */

static int compare_points(const void *left, const void *right) {
    double a = ((const RatingPoint *)left)->x;
    double b = ((const RatingPoint *)right)->x;
    return (a > b) - (a < b);
}

/* Published loss of a cable by frequency, rising. */
static RatingCurve read_loss(Measurer *measurer, uint32_t cable) {
    const TableSet *set = measurer->model->set;
    uint32_t rows = 0;
    uint32_t first =
        model_rows_of(measurer->model, TABLE_coax_loss, set->cable.rows[cable].part, &rows);
    RatingPoint *points = ARENA_ARRAY(&measurer->scratch, RatingPoint, rows);
    size_t count = 0;
    for (uint32_t i = first; i < first + rows; i++) {
        const CoaxLossRow *row = &set->coax_loss.rows[i];
        if (row->frequency_mhz > 0.0 && row->loss_db_per_m > 0.0) {
            points[count++] = (RatingPoint){row->frequency_mhz, row->loss_db_per_m};
        }
    }
    if (count > 1) {
        qsort(points, count, sizeof *points, compare_points);
    }
    return (RatingCurve){.points = points, .count = count};
}

static OwnerId find_antenna(const Measurer *measurer, const Net *net) {
    const Model *model = measurer->model;
    for (uint32_t i = 0; i < net->end_count; i++) {
        TerminalId end = measurer->wiring->ends[net->end_first + i];
        OwnerId owner = model->terminals[end].owner;
        if (model->owners[owner].kind == OWNER_ANTENNA) {
            return owner;
        }
    }
    return ID_NONE;
}

static void check_feeder(const Measurer *measurer, const CoaxRun *run) {
    const Model *model = measurer->model;
    const Net *net = &measurer->wiring->nets[run->net];
    const AntennaRow *antenna = &model->set->antenna.rows[model->owners[run->antenna].row];
    const char *part = model->set->cable.rows[run->part].part;
    Arena *arena = measurer->findings->arena;
    if (run->db_per_m.basis == RATING_NOT_PROVED) {
        Finding *finding = report_net(
            measurer, RULE_ROUTE_COAX_TABLE, net,
            arena_format(arena, "the loss of %s at %g MHz is not published: %s", part,
                         run->frequency_mhz,
                         isnan(run->db_per_m.value) ? "no loss for this feeder"
                                                    : "carried on from the last point by its law"));
        finding->hint = "add rows to the library's coax_loss";
    }
    if (run->loss_db > run->limit_db) {
        Finding *finding = report_net(
            measurer, RULE_ROUTE_COAX, net,
            arena_format(arena,
                         "feeder %s to %s loses %.2f dB at %g MHz, %.2f dB allowed: %.0f mm at "
                         "%.3f dB/m and %u connectors",
                         net->name, antenna->tag, run->loss_db, run->frequency_mhz, run->limit_db,
                         run->length_mm, run->db_per_m.value, run->joints));
        report_values(finding, run->loss_db, run->limit_db, "dB", NULL);
        finding->rows = antenna->tag;
        finding->hint = "move the aerial or the box, take fewer connectors, or a coax of less loss";
    }
}

static void measure_feeder(Measurer *measurer, NetId id, CoaxRun *run) {
    const Model *model = measurer->model;
    const Net *net = &measurer->wiring->nets[id];
    OwnerId antenna = find_antenna(measurer, net);
    *run = (CoaxRun){.net = id, .antenna = antenna, .part = model->class_cable[net->class_id]};
    for (CableId i = net->cable_first; i < net->cable_first + net->cable_count; i++) {
        run->length_mm += measurer->routing->length_mm[i];
        run->joints += 2u + 2u * measurer->disconnects->crossings[i];
    }
    const AntennaRow *row = &model->set->antenna.rows[model->owners[antenna].row];
    run->frequency_mhz = row->frequency_mhz;
    run->limit_db = row->loss_limit_db;
    RatingCurve loss = read_loss(measurer, run->part);
    run->db_per_m = loss.count > 0 && row->frequency_mhz > 0.0
                        ? coax_db_per_m(loss, row->frequency_mhz)
                        : rating_not_proved();
    run->loss_db = run->db_per_m.value * run->length_mm / 1000.0 +
                   run->joints * model_limit(model, ROUTE_LIMIT_COAX_JOINT);
}

static void measure_feeders(Arena *out, Measurer *measurer, Runs *runs) {
    const Wiring *wiring = measurer->wiring;
    size_t capacity = 0;
    size_t count = 0;
    for (NetId i = 0; i < wiring->net_count; i++) {
        const Net *net = &wiring->nets[i];
        bool coax = net->cable_count > 0 && wiring->cables[net->cable_first].coax &&
                    wiring->cables[net->cable_first].part != ID_NONE;
        if (!coax || find_antenna(measurer, net) == ID_NONE) {
            continue;
        }
        CoaxRun *run = ARENA_PUSH(out, runs->coax, count, capacity);
        measure_feeder(measurer, i, run);
        check_feeder(measurer, run);
    }
    runs->coax_count = (uint32_t)count;
}

/* --- chains and lengths ----------------------------------------------------------------------- */

uint32_t runs_terminators(const Model *model, const Net *net, uint32_t *first) {
    uint32_t count = 0;
    *first = net->from_table == TABLE_link
                 ? model_rows_of(model, TABLE_terminator, net->name, &count)
                 : 0;
    return count;
}

/* From first to last end of a chain; the longest branch of a hub; the wire itself else. */
static double run_length_mm(const Measurer *measurer, const Net *net) {
    double sum_mm = 0.0;
    double longest_mm = 0.0;
    for (CableId i = net->cable_first; i < net->cable_first + net->cable_count; i++) {
        double length_mm = measurer->routing->length_mm[i];
        sum_mm += length_mm;
        longest_mm = length_mm > longest_mm ? length_mm : longest_mm;
    }
    return net->join == JOIN_HUB ? longest_mm : sum_mm;
}

static double meter_ohm(const Model *model, const Net *net) {
    uint32_t first = 0;
    uint32_t count = runs_terminators(model, net, &first);
    double siemens = 0.0;
    for (uint32_t i = first; i < first + count; i++) {
        const TerminatorRow *row = &model->set->terminator.rows[i];
        siemens += row->fitted != 0 && row->ohm > 0.0 ? 1.0 / row->ohm : 0.0;
    }
    return siemens > 0.0 ? 1.0 / siemens : (double)NAN;
}

static void check_length(const Measurer *measurer, const Net *net, double length_mm) {
    const InterfaceRow *class = wiring_class(measurer->model, net->class_id);
    if (isnan(class->length_max_mm) || !(length_mm > class->length_max_mm)) {
        return;
    }
    Finding *finding = report_net(
        measurer, RULE_ROUTE_LENGTH, net,
        arena_format(measurer->findings->arena, "%s is %.2f m long, class %s allows %.2f m",
                     net->name, length_mm / 1000.0, class->class, class->length_max_mm / 1000.0));
    report_values(finding, length_mm, class->length_max_mm, "mm", class->source);
    finding->hint = "move one of the boxes, or change the order of a chain";
}

/* A chain goes into and out of every connector, so only a hub has branches. */
static void check_branches(const Measurer *measurer, const Net *net) {
    const Model *model = measurer->model;
    const InterfaceRow *class = wiring_class(model, net->class_id);
    if (net->join != JOIN_HUB || isnan(class->stub_max_mm)) {
        return;
    }
    for (CableId i = net->cable_first; i < net->cable_first + net->cable_count; i++) {
        double length_mm = measurer->routing->length_mm[i];
        if (!(length_mm > class->stub_max_mm)) {
            continue;
        }
        const char *end = model->terminals[measurer->wiring->cables[i].to].end;
        Finding *finding = report_net(
            measurer, RULE_ROUTE_STUB, net,
            arena_format(measurer->findings->arena,
                         "the branch of %s to %s is %.0f mm long, class %s allows %.0f mm",
                         net->name, end, length_mm, class->class, class->stub_max_mm));
        report_values(finding, length_mm, class->stub_max_mm, "mm", class->source);
        finding->rows = end;
        finding->hint = "chain the ends instead of leading each to the first";
    }
}

static void measure_chains(Arena *out, Measurer *measurer, Runs *runs) {
    const Wiring *wiring = measurer->wiring;
    size_t capacity = 0;
    size_t count = 0;
    for (NetId i = 0; i < wiring->net_count; i++) {
        const Net *net = &wiring->nets[i];
        if (net->cable_count == 0) {
            continue;
        }
        double length_mm = run_length_mm(measurer, net);
        check_length(measurer, net, length_mm);
        check_branches(measurer, net);
        if (wiring_class(measurer->model, net->class_id)->terminators > 0) {
            *ARENA_PUSH(out, runs->chains, count, capacity) = (ChainRun){
                .net = i,
                .length_mm = length_mm,
                .unpowered_ohm = meter_ohm(measurer->model, net),
            };
        }
    }
    runs->chain_count = (uint32_t)count;
}

/* --- aerials ---------------------------------------------------------------------------------- */

static int compare_antennas(const void *left, const void *right) {
    const AntennaRow *a = *(const AntennaRow *const *)left;
    const AntennaRow *b = *(const AntennaRow *const *)right;
    if (a->x_mm != b->x_mm) {
        return a->x_mm < b->x_mm ? -1 : 1;
    }
    return a < b ? -1 : (a > b ? 1 : 0); /* rows are sorted by tag */
}

/* The rule for two kinds, in either order; NULL when there is none. */
static const AntennaApartRow *apart_rule(const Model *model, const char *a, const char *b) {
    for (size_t i = 0; i < model->set->antenna_apart.count; i++) {
        const AntennaApartRow *row = &model->set->antenna_apart.rows[i];
        if ((strcmp(row->kind_a, a) == 0 && strcmp(row->kind_b, b) == 0) ||
            (strcmp(row->kind_a, b) == 0 && strcmp(row->kind_b, a) == 0)) {
            return row;
        }
    }
    return NULL;
}

static void check_pair(const Measurer *measurer, const AntennaRow *a, const AntennaRow *b) {
    const Model *model = measurer->model;
    const AntennaApartRow *rule = apart_rule(model, a->kind, b->kind);
    if (rule == NULL) {
        return;
    }
    double dx = a->x_mm - b->x_mm;
    double dy = a->y_mm - b->y_mm;
    double dz = a->z_mm - b->z_mm;
    double apart_mm = sqrt(dx * dx + dy * dy + dz * dz);
    if (apart_mm >= rule->distance_mm) {
        return;
    }
    const AntennaRow *first = a < b ? a : b;
    const AntennaRow *second = a < b ? b : a;
    Finding *finding =
        report_row(measurer->findings, model, RULE_ROUTE_ANTENNA, TABLE_antenna,
                   (uint32_t)(first - model->set->antenna.rows), "x_mm",
                   "%s and %s are %.0f mm apart; %s and %s want %.0f mm", first->tag, second->tag,
                   apart_mm, first->kind, second->kind, rule->distance_mm);
    report_values(finding, apart_mm, rule->distance_mm, "mm", rule->source);
    finding->rows = second->tag;
    report_hint(measurer->findings, finding, "move one of them %.0f mm away",
                ceil(rule->distance_mm - apart_mm));
}

/* Sorted along the fuselage, only aerials within the largest distance are compared. */
static void check_antennas(Measurer *measurer) {
    const TableSet *set = measurer->model->set;
    double farthest_mm = 0.0;
    for (size_t i = 0; i < set->antenna_apart.count; i++) {
        double distance_mm = set->antenna_apart.rows[i].distance_mm;
        farthest_mm = distance_mm > farthest_mm ? distance_mm : farthest_mm;
    }
    size_t count = set->antenna.count;
    const AntennaRow **order = ARENA_ARRAY(&measurer->scratch, const AntennaRow *, count);
    for (size_t i = 0; i < count; i++) {
        order[i] = &set->antenna.rows[i];
    }
    if (count > 1) {
        qsort(order, count, sizeof *order, compare_antennas);
    }
    for (size_t i = 0; i < count; i++) {
        for (size_t k = i + 1; k < count && order[k]->x_mm - order[i]->x_mm < farthest_mm; k++) {
            check_pair(measurer, order[i], order[k]);
        }
    }
}

/* --- mass ------------------------------------------------------------------------------------- */

static void add_mass(MassItem *item, double mass_kg, double arm_mm) {
    item->mass_kg += mass_kg;
    item->moment_kgmm += mass_kg * arm_mm;
}

static double node_x_mm(const Model *model, NodeId node) {
    return node == ID_NONE ? 0.0 : model->set->node.rows[node].x_mm;
}

/* A cable without a way has neither hops nor runs: nothing to lay. */
static void weigh_cable(const Measurer *measurer, CableId id, double kg_per_m, MassItem *item) {
    const Model *model = measurer->model;
    const Routing *routing = measurer->routing;
    double kg_per_mm = kg_per_m / 1000.0;
    for (uint32_t i = routing->run_first[id]; i < routing->run_first[id + 1]; i++) {
        const LengthRun *run = &routing->runs[i];
        for (int end = 0; end < 2; end++) {
            add_mass(item, kg_per_mm * length_end_mm(run, end), node_x_mm(model, run->node[end]));
        }
    }
    for (uint32_t i = routing->cable_first[id]; i < routing->cable_first[id + 1]; i++) {
        SegmentId segment = routing->hops[i].segment;
        double middle_mm = (node_x_mm(model, model->segment_a[segment]) +
                            node_x_mm(model, model->segment_b[segment])) /
                           2.0;
        add_mass(item, kg_per_mm * model->segment_length_mm[segment], middle_mm);
    }
}

static void weigh_all(const Measurer *measurer, const int32_t *awg, Masses *masses) {
    const Model *model = measurer->model;
    const Wiring *wiring = measurer->wiring;
    RouteGauges gauges;
    gauges_read(model, &gauges);
    for (CableId i = 0; i < wiring->cable_count; i++) {
        MassItem *item = wiring->cables[i].heavy ? &masses->heavy : &masses->harness;
        weigh_cable(measurer, i, gauges_kg_per_m(model, wiring, &gauges, i, awg), item);
    }
    for (OwnerId i = 0; i < model->owner_count; i++) {
        const ModelOwner *owner = &model->owners[i];
        if (owner->kind == OWNER_UNIT && owner->part != ID_NONE) {
            double mass_kg = model->set->part.rows[owner->part].mass_kg;
            if (isnan(mass_kg)) {
                Finding *finding = report_owner(
                    measurer->findings, model, RULE_PLACE_MASS, i,
                    "the mass of %s (part %s) is not known: it is missing in the total", owner->tag,
                    model->set->part.rows[owner->part].part);
                report_hint(measurer->findings, finding, "weigh it and write part.mass_kg");
            } else {
                add_mass(&masses->units, mass_kg, node_x_mm(model, owner->node));
            }
        }
    }
}

bool runs_measure(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                  const Disconnects *disconnects, const int32_t *awg, Runs *runs,
                  Findings *findings) {
    *runs = (Runs){0};
    Measurer measurer = {
        .model = model,
        .wiring = wiring,
        .routing = routing,
        .disconnects = disconnects,
        .findings = findings,
    };
    measure_feeders(out, &measurer, runs);
    measure_chains(out, &measurer, runs);
    check_antennas(&measurer);
    weigh_all(&measurer, awg, &runs->masses);
    arena_free(&measurer.scratch);
    return true;
}
