/* Method: what depends on gauge and zone only, or on the count of wires only, is worked out once;
 * a cable keeps the stretches of its way by zone, so that one question costs a few products. */
#include "power/limits.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/units.h"
#include "rating/ampacity.h"
#include "route/length.h"

/* --- ladder -------------------------------------------------------------------------------------
 */

static int compare_gauges(const void *left, const void *right) {
    const Gauge *a = left;
    const Gauge *b = right;
    if (a->awg != b->awg) {
        return a->awg > b->awg ? -1 : 1;
    }
    if (a->usual != b->usual) {
        return a->usual ? -1 : 1;
    }
    return a->wire < b->wire ? -1 : 1;
}

static double worst_bundle_a(const TableSet *set, int32_t awg, double rated_degc) {
    for (size_t i = 0; i < set->wire_rating.count; i++) {
        const WireRatingRow *row = &set->wire_rating.rows[i];
        if (row->awg == awg) {
            const RatingPoint points[] = {
                {105.0, row->at105_a}, {150.0, row->at150_a}, {200.0, row->at200_a}};
            RatingValue value = ampacity_worst_bundle_a((RatingCurve){points, 3}, rated_degc);
            return value.value;
        }
    }
    return (double)NAN;
}

/* One step for each gauge of the library: the usual wire of it, else the first. */
static void find_gauges(Arena *out, Arena *scratch, Limits *limits) {
    const TableSet *set = limits->model->set;
    Gauge *gauges = ARENA_ARRAY(out, Gauge, set->wire.count);
    ProtectorWireRow *protectors = ARENA_ARRAY(scratch, ProtectorWireRow, set->protector.count);
    for (size_t i = 0; i < set->protector.count; i++) {
        const ProtectorRow *row = &set->protector.rows[i];
        protectors[i] = (ProtectorWireRow){row->awg, row->breaker_a, row->fuse_a};
    }
    for (uint32_t i = 0; i < set->wire.count; i++) {
        const WireRow *row = &set->wire.rows[i];
        gauges[i] = (Gauge){
            .awg = row->awg,
            .wire = i,
            .usual = strcmp(row->use, "usual") == 0,
            .hand_ohm_per_m =
                (isnan(row->hand_ohm_per_km) ? row->r20_ohm_per_km : row->hand_ohm_per_km) / 1000.0,
            .r20_ohm_per_m = row->r20_ohm_per_km / 1000.0,
            .kg_per_m = row->mass_kg_per_km / 1000.0,
            .rated_degc = row->rated_degc,
        };
    }
    if (set->wire.count > 1) {
        qsort(gauges, set->wire.count, sizeof *gauges, compare_gauges);
    }
    uint32_t count = 0;
    for (uint32_t i = 0; i < set->wire.count; i++) {
        if (count == 0 || gauges[count - 1].awg != gauges[i].awg) {
            gauges[count++] = gauges[i];
        }
    }
    for (uint32_t i = 0; i < count; i++) {
        Gauge *gauge = &gauges[i];
        gauge->worst_bundle_a = worst_bundle_a(set, gauge->awg, gauge->rated_degc);
        for (int kind = 0; kind < 2; kind++) {
            gauge->protector_a[kind] = protector_for_wire(protectors, set->protector.count,
                                                          gauge->awg, (ProtectorKind)kind)
                                           .value;
        }
    }
    limits->gauges = gauges;
    limits->gauge_count = count;
}

uint32_t limits_place(const Limits *limits, int32_t awg) {
    for (uint32_t i = 0; i < limits->gauge_count; i++) {
        if (limits->gauges[i].awg == awg) {
            return i;
        }
    }
    return GAUGE_NONE;
}

uint32_t limits_from(const Limits *limits, int32_t awg) {
    for (uint32_t i = 0; i < limits->gauge_count; i++) {
        if (limits->gauges[i].usual && limits->gauges[i].awg <= awg) {
            return i;
        }
    }
    return GAUGE_NONE;
}

uint32_t limits_thinner(const Limits *limits, uint32_t place) {
    for (uint32_t i = place; i > 0; i--) {
        if (limits->gauges[i - 1].usual) {
            return i - 1;
        }
    }
    return GAUGE_NONE;
}

uint32_t limits_thicker(const Limits *limits, uint32_t place) {
    for (uint32_t i = place + 1; i < limits->gauge_count; i++) {
        if (limits->gauges[i].usual) {
            return i;
        }
    }
    return GAUGE_NONE;
}

/* --- currents -----------------------------------------------------------------------------------
 */

/* Amperes in free air at `rise_k` by the line of that gauge; between lines by area; NAN when no
 * line reaches it. Lines are thinnest first. */
static double free_air_a(const AmpacityLine *lines, size_t count, const WireRow *wire,
                         double rise_k) {
    for (size_t i = 0; i < count; i++) {
        if (lines[i].awg == wire->awg) {
            return ampacity_free_air(&lines[i], rise_k).value;
        }
    }
    if (count < 2) {
        return (double)NAN;
    }
    double cmil = isnan(wire->cmil) ? awg_area_cmil(wire->awg) : wire->cmil;
    return ampacity_free_air_by_area(lines, count, NULL, cmil, rise_k).value;
}

static int compare_lines(const void *left, const void *right) {
    const AmpacityLine *a = left;
    const AmpacityLine *b = right;
    return a->awg > b->awg ? -1 : (a->awg < b->awg ? 1 : 0);
}

static void find_zones(Arena *out, Arena *scratch, Limits *limits) {
    const TableSet *set = limits->model->set;
    size_t line_count = set->free_air.count;
    AmpacityLine *lines = ARENA_ARRAY(scratch, AmpacityLine, line_count);
    for (size_t i = 0; i < line_count; i++) {
        const FreeAirRow *row = &set->free_air.rows[i];
        lines[i] = (AmpacityLine){row->awg, awg_area_cmil(row->awg), row->b, row->m};
        uint32_t place = limits_place(limits, row->awg);
        if (place != GAUGE_NONE && !isnan(set->wire.rows[limits->gauges[place].wire].cmil)) {
            lines[i].area_cmil = set->wire.rows[limits->gauges[place].wire].cmil;
        }
    }
    if (line_count > 1) {
        qsort(lines, line_count, sizeof *lines, compare_lines);
    }
    RatingPoint *points = ARENA_ARRAY(scratch, RatingPoint, set->altitude_factor.count);
    for (size_t i = 0; i < set->altitude_factor.count; i++) {
        const AltitudeFactorRow *row = &set->altitude_factor.rows[i];
        points[i] = (RatingPoint){row->altitude_ft, row->factor};
    }
    RatingCurve altitude = {points, set->altitude_factor.count};
    limits->zone_a = ARENA_ARRAY(out, double, set->zone.count * limits->gauge_count);
    for (size_t z = 0; z < set->zone.count; z++) {
        const ZoneRow *zone = &set->zone.rows[z];
        double altitude_ft = units_ft_from_m(zone->altitude_max_m);
        double thin_air = altitude.count > 0 && curve_is_sound(altitude)
                              ? ampacity_altitude_factor(altitude, altitude_ft).value
                              : (double)NAN;
        for (uint32_t g = 0; g < limits->gauge_count; g++) {
            const Gauge *gauge = &limits->gauges[g];
            double rise_k = gauge->rated_degc - zone->ambient_max_degc;
            double a = free_air_a(lines, line_count, &set->wire.rows[gauge->wire], rise_k);
            a *= thin_air;
            limits->zone_a[z * limits->gauge_count + g] = isnan(a) ? 0.0 : a;
        }
    }
}

static int compare_bundle_points(const void *left, const void *right) {
    const AmpacityBundlePoint *a = left;
    const AmpacityBundlePoint *b = right;
    if (a->wires != b->wires) {
        return a->wires < b->wires ? -1 : 1;
    }
    return a->percent < b->percent ? -1 : (a->percent > b->percent ? 1 : 0);
}

static void find_bundle_factors(Arena *out, Arena *scratch, Limits *limits, uint32_t most) {
    const TableSet *set = limits->model->set;
    size_t count = set->bundle_factor.count;
    AmpacityBundlePoint *points = ARENA_ARRAY(scratch, AmpacityBundlePoint, count);
    for (size_t i = 0; i < count; i++) {
        const BundleFactorRow *row = &set->bundle_factor.rows[i];
        points[i] = (AmpacityBundlePoint){row->wires, row->load_pct, row->factor};
    }
    if (count > 1) {
        qsort(points, count, sizeof *points, compare_bundle_points);
    }
    double percent = model_limit(limits->model, "bundle_load");
    /* The published table says the same for its count of wires and for any larger one. */
    double wires_most = fmax(model_limit(limits->model, "bundle_wires"), 1.0);
    limits->bundle_factor = ARENA_ARRAY(out, double, (size_t)most + 1);
    for (uint32_t wires = 1; wires <= most; wires++) {
        double factor = count == 0 ? (double)NAN
                                   : ampacity_bundle_factor((AmpacityBundleTable){points, count},
                                                            fmin(wires, wires_most), percent)
                                         .value;
        limits->bundle_factor[wires] = isnan(factor) ? 0.0 : factor;
    }
    limits->bundle_factor[0] = most == 0 ? 1.0 : limits->bundle_factor[1];
}

/* --- ways ---------------------------------------------------------------------------------------
 */

/* Wires in every segment; heavy cables lie apart from the bundle and count among themselves. */
static uint32_t count_wires(const Limits *limits, uint32_t *wires, uint32_t *heavy) {
    const Wiring *wiring = limits->wiring;
    uint32_t most = 1;
    for (CableId c = 0; c < wiring->cable_count; c++) {
        const Cable *cable = &wiring->cables[c];
        uint32_t *count = cable->heavy ? heavy : wires;
        for (uint32_t h = limits->routing->cable_first[c]; h < limits->routing->cable_first[c + 1];
             h++) {
            SegmentId segment = limits->routing->hops[h].segment;
            count[segment] += cable->conductor_count;
            most = count[segment] > most ? count[segment] : most;
        }
    }
    return most;
}

typedef struct StretchList {
    Stretch *rows;
    size_t count;
    size_t capacity;
} StretchList;

static void add_stretch(Arena *out, StretchList *list, size_t first, ZoneId zone, double length_m,
                        uint32_t wires) {
    if (zone == ID_NONE || isnan(length_m)) {
        return;
    }
    for (size_t i = first; i < list->count; i++) {
        if (list->rows[i].zone == zone) {
            list->rows[i].length_m += length_m;
            list->rows[i].wires = wires > list->rows[i].wires ? wires : list->rows[i].wires;
            return;
        }
    }
    *ARENA_PUSH(out, list->rows, list->count, list->capacity) = (Stretch){zone, length_m, wires};
}

static ZoneId node_zone(const Model *model, NodeId node) {
    return node == ID_NONE ? ID_NONE : model->node_zone[node];
}

/* Stretches of every cable: its segments; what its runs have beyond them (stubs, what is kept) in
 * the zones of their ends, where its own wires lie alone. */
static void find_stretches(Arena *out, Limits *limits, const uint32_t *wires,
                           const uint32_t *heavy) {
    const Model *model = limits->model;
    const Wiring *wiring = limits->wiring;
    const Routing *routing = limits->routing;
    StretchList list = {0};
    limits->stretch_first = ARENA_ARRAY(out, uint32_t, (size_t)wiring->cable_count + 1);
    for (CableId c = 0; c < wiring->cable_count; c++) {
        const Cable *cable = &wiring->cables[c];
        size_t first = list.count;
        limits->stretch_first[c] = (uint32_t)first;
        for (uint32_t h = routing->cable_first[c]; h < routing->cable_first[c + 1]; h++) {
            SegmentId segment = routing->hops[h].segment;
            double length_m = model->segment_length_mm[segment] / 1000.0;
            add_stretch(out, &list, first, model->segment_zone[segment], length_m,
                        cable->heavy ? heavy[segment] : wires[segment]);
        }
        for (uint32_t r = routing->run_first[c]; r < routing->run_first[c + 1]; r++) {
            const LengthRun *run = &routing->runs[r];
            for (int end = 0; end < 2; end++) {
                add_stretch(out, &list, first, node_zone(model, run->node[end]),
                            length_end_mm(run, end) / 1000.0, cable->conductor_count);
            }
        }
    }
    limits->stretch_first[wiring->cable_count] = (uint32_t)list.count;
    limits->stretches = list.rows;
}

/* --- disconnects --------------------------------------------------------------------------------
 */

static void find_shells(Arena *out, Limits *limits) {
    const Model *model = limits->model;
    const TableSet *set = model->set;
    size_t segments = set->segment.count;
    size_t count = set->disconnect_shell.count;
    uint32_t *first = ARENA_ARRAY(out, uint32_t, segments + 2);
    uint32_t *shells = ARENA_ARRAY(out, uint32_t, count);
    for (size_t i = 0; i < count; i++) {
        SegmentId s = model_row(model, TABLE_segment, set->disconnect_shell.rows[i].segment);
        if (s != ID_NONE) {
            first[s + 2]++;
        }
    }
    for (size_t i = 2; i < segments + 2; i++) {
        first[i] += first[i - 1];
    }
    for (uint32_t i = 0; i < count; i++) {
        SegmentId s = model_row(model, TABLE_segment, set->disconnect_shell.rows[i].segment);
        if (s != ID_NONE) {
            shells[first[s + 1]++] = i;
        }
    }
    limits->shell_first = first;
    limits->shells = shells;
    limits->shell_contact = ARENA_ARRAY(out, ContactId, count);
    limits->shell_largest = ARENA_ARRAY(out, int32_t, count);
    for (uint32_t i = 0; i < count; i++) {
        const DisconnectShellRow *row = &set->disconnect_shell.rows[i];
        ShellId kind = model_row(model, TABLE_shell, row->shell);
        ContactId contact = kind == ID_NONE
                                ? ID_NONE
                                : model_row(model, TABLE_contact, set->shell.rows[kind].contact);
        limits->shell_contact[i] = contact;
        limits->shell_largest[i] = row->largest_awg != INT_BLANK ? row->largest_awg
                                   : contact == ID_NONE          ? INT_BLANK
                                                        : set->contact.rows[contact].largest_awg;
    }
}

static void find_crossings(Arena *out, Limits *limits) {
    const Routing *routing = limits->routing;
    uint32_t cables = limits->wiring->cable_count;
    size_t count = 0;
    size_t capacity = 0;
    limits->crossing_first = ARENA_ARRAY(out, uint32_t, (size_t)cables + 1);
    for (CableId c = 0; c < cables; c++) {
        limits->crossing_first[c] = (uint32_t)count;
        for (uint32_t h = routing->cable_first[c]; h < routing->cable_first[c + 1]; h++) {
            SegmentId segment = routing->hops[h].segment;
            if (limits->shell_first[segment] != limits->shell_first[segment + 1]) {
                *ARENA_PUSH(out, limits->crossings, count, capacity) = segment;
            }
        }
    }
    limits->crossing_first[cables] = (uint32_t)count;
}

uint32_t limits_shell(const Limits *limits, SegmentId segment, CableId cable, uint32_t place) {
    const TableSet *set = limits->model->set;
    const Cable *row = &limits->wiring->cables[cable];
    const Net *net = &limits->wiring->nets[row->net];
    if (row->coax || row->heavy || set->interface.rows[net->class_id].bulkhead == 1) {
        return ID_NONE;
    }
    const char *own = net->group == 2 ? "2" : "1";
    uint32_t power = ID_NONE;
    for (uint32_t i = limits->shell_first[segment]; i < limits->shell_first[segment + 1]; i++) {
        uint32_t shell = limits->shells[i];
        const char *group = set->disconnect_shell.rows[shell].group;
        if (strcmp(group, "power") == 0) {
            power = power == ID_NONE ? shell : power;
            continue;
        }
        int32_t largest = limits->shell_largest[shell];
        bool takes = largest == INT_BLANK || limits->gauges[place].awg >= largest;
        if (takes && (strcmp(group, "all") == 0 || strcmp(group, own) == 0)) {
            return shell;
        }
    }
    return power;
}

/* --- one conductor ------------------------------------------------------------------------------
 */

static double stretch_a(const Limits *limits, const Stretch *stretch, uint32_t place) {
    return limits->zone_a[(size_t)stretch->zone * limits->gauge_count + place] *
           limits->bundle_factor[stretch->wires];
}

double limits_allowed_a(const Limits *limits, CableId cable, uint32_t place) {
    double least_a = (double)INFINITY;
    for (uint32_t i = limits->stretch_first[cable]; i < limits->stretch_first[cable + 1]; i++) {
        least_a = fmin(least_a, stretch_a(limits, &limits->stretches[i], place));
    }
    return least_a;
}

static double stretch_degc(const Limits *limits, const Stretch *stretch, uint32_t place,
                           double current_a) {
    double ambient_degc = limits->model->set->zone.rows[stretch->zone].ambient_max_degc;
    double allowed_a = stretch_a(limits, stretch, place);
    if (current_a <= 0.0) {
        return ambient_degc;
    }
    double rated_degc = fmax(limits->gauges[place].rated_degc, ambient_degc);
    return allowed_a <= 0.0
               ? rated_degc
               : ampacity_conductor_degc(ambient_degc, rated_degc, current_a, allowed_a);
}

double limits_conductor_degc(const Limits *limits, CableId cable, uint32_t place,
                             double current_a) {
    double hottest_degc = -(double)INFINITY;
    for (uint32_t i = limits->stretch_first[cable]; i < limits->stretch_first[cable + 1]; i++) {
        const Stretch *stretch = &limits->stretches[i];
        hottest_degc = fmax(hottest_degc, stretch_degc(limits, stretch, place, current_a));
    }
    return hottest_degc;
}

/* Ohm per metre at 20 degC of a core: the cable's own figure, else the wire's. */
static double core_ohm_per_m(const Limits *limits, CableId cable, double wire_ohm_per_m) {
    uint32_t part = limits->wiring->cables[cable].part;
    double own = part == ID_NONE ? (double)NAN
                                 : limits->model->set->cable.rows[part].r20_ohm_per_km / 1000.0;
    return isnan(own) ? wire_ohm_per_m : own;
}

double limits_plain_ohm(const Limits *limits, CableId cable, uint32_t place) {
    double length_mm = limits->routing->length_mm[cable];
    return isnan(length_mm) ? 0.0
                            : core_ohm_per_m(limits, cable, limits->gauges[place].hand_ohm_per_m) *
                                  length_mm / 1000.0;
}

double limits_hot_ohm(const Limits *limits, CableId cable, uint32_t place, double current_a) {
    double ohm_per_m = core_ohm_per_m(limits, cable, limits->gauges[place].r20_ohm_per_m);
    double sum = 0.0;
    for (uint32_t i = limits->stretch_first[cable]; i < limits->stretch_first[cable + 1]; i++) {
        const Stretch *stretch = &limits->stretches[i];
        double t_degc = stretch_degc(limits, stretch, place, current_a);
        sum += resistance_at(METAL_COPPER, ohm_per_m * stretch->length_m, t_degc);
    }
    return sum;
}

static double contact_ohm(const Model *model, ContactId contact) {
    double mohm = contact == ID_NONE ? 0.0 : model->set->contact.rows[contact].r_mohm;
    return isnan(mohm) ? 0.0 : mohm / 1000.0;
}

double limits_joint_ohm(const Limits *limits, ConductorId conductor, uint32_t place) {
    const Model *model = limits->model;
    const Conductor *wire = &limits->wiring->conductors[conductor];
    double ends_ohm = contact_ohm(model, model->pins[wire->from].contact) +
                      contact_ohm(model, model->pins[wire->to].contact);
    double sum = ends_ohm;
    CableId cable = wire->cable;
    for (uint32_t i = limits->crossing_first[cable]; i < limits->crossing_first[cable + 1]; i++) {
        uint32_t shell = limits_shell(limits, limits->crossings[i], cable, place);
        /* A heavy cable passes by a stud: two more lugs like its own. */
        sum += shell == ID_NONE ? ends_ohm : contact_ohm(model, limits->shell_contact[shell]);
    }
    return sum;
}

/* --- exported -----------------------------------------------------------------------------------
 */

static void report_unproved(const Limits *limits, Findings *findings) {
    const TableSet *set = limits->model->set;
    const struct {
        TableId table;
        const char *what;
    } needed[] = {
        {TABLE_wire, "there is no wire to choose from"},
        {TABLE_free_air, "no current in free air is proved"},
        {TABLE_bundle_factor, "no current in a bundle is proved"},
        {TABLE_altitude_factor, "no current at altitude is proved"},
        {TABLE_wire_rating, "no current in the worst bundle is published"},
        {TABLE_protector, "no wire is proved to be protected"},
        {TABLE_drop_limit, "no drop limit is published"},
        {TABLE_device_rating, "no device is known to be made for its rating"},
        {TABLE_switch_factor, "no switch is proved to stand what it switches"},
        /* not of sizes, but as silent when they are empty */
        {TABLE_antenna_apart, "no distance between aerials is asked for"},
        {TABLE_required_item, "no equipment is required of any flight"},
    };
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++) {
        if (set->any[needed[i].table].count == 0) {
            const char *name = table_schema(needed[i].table)->name;
            Finding *finding =
                finding_report(findings, RULE_SIZE_UNPROVED, name, "", "",
                               "the library's table `%s` is empty: %s", name, needed[i].what);
            finding->hint = "use the library that came with the program, or fill in the table";
        }
    }
}

void limits_find(Arena *out, Arena *scratch, const Model *model, const Wiring *wiring,
                 const Routing *routing, Limits *limits, Findings *findings) {
    *limits = (Limits){.model = model, .wiring = wiring, .routing = routing};
    report_unproved(limits, findings);
    size_t segments = model->set->segment.count;
    uint32_t *wires = ARENA_ARRAY(scratch, uint32_t, segments);
    uint32_t *heavy = ARENA_ARRAY(scratch, uint32_t, segments);
    uint32_t most = count_wires(limits, wires, heavy);
    for (CableId c = 0; c < wiring->cable_count; c++) {
        uint32_t own = wiring->cables[c].conductor_count;
        most = own > most ? own : most;
    }
    find_gauges(out, scratch, limits);
    find_zones(out, scratch, limits);
    find_bundle_factors(out, scratch, limits, most);
    find_stretches(out, limits, wires, heavy);
    find_shells(out, limits);
    find_crossings(out, limits);
}
