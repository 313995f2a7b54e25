/* Method: feeders.c says what flows where, limits.c what a gauge stands. Every cable starts at the
 * thinnest gauge that its own limits allow (current, protection, class, contacts). Then feeder by
 * feeder, while its drop is over the limit, the conductor that takes off most volts per kilogram
 * grows by one gauge (of those whose contacts take it, if there are any); nothing shrinks, so it
 * ends. A last pass takes back, one gauge at a time and
 * in a fixed order, what no limit needs: a conductor enlarged early may have been overtaken by its
 * neighbours. After it no conductor can be one gauge thinner with all others as they are.
 * What a wire is cut to depends a little on gauges (twist, bends of thicker bundles), so all of it
 * is done again while any run has become longer; runs never become shorter, so that ends too. */
#include "power/size.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "power/sizing.h"
#include "route/length.h"

/* --- what the tool may choose -------------------------------------------------------------------
 */

static const InterfaceRow *cable_class(const SizeDetail *detail, CableId cable) {
    const Net *net = &detail->wiring->nets[detail->wiring->cables[cable].net];
    return &detail->model->set->interface.rows[net->class_id];
}

static void add_currents(SizeDetail *detail) {
    const Wiring *wiring = detail->wiring;
    for (CableId c = 0; c < wiring->cable_count; c++) {
        const Cable *cable = &wiring->cables[c];
        for (uint16_t core = 0; core < cable->conductor_count; core++) {
            double current_a = detail->feeders.design_a[cable->conductor_first + core];
            detail->cable_a[c] = fmax(detail->cable_a[c], current_a);
        }
    }
}

/* Thickest gauge of the class, and the one at which its own limits are kept. When no gauge keeps
 * them the thickest stays; sizing_check says so. */
static void start_cable(SizeDetail *detail, CableId c) {
    const Limits *limits = &detail->limits;
    int32_t largest = cable_class(detail, c)->largest_awg;
    uint32_t top = GAUGE_NONE;
    for (uint32_t g = 0; g < limits->gauge_count; g++) {
        const Gauge *gauge = &limits->gauges[g];
        if (gauge->usual && (largest == INT_BLANK || gauge->awg >= largest)) {
            top = g;
        }
    }
    detail->thickest[c] = top;
    if (detail->fixed[c] != SIZE_FREE) {
        return;
    }
    detail->fitting[c] = sizing_fitting(detail, c);
    static const SizeLimit OWN[] = {SIZE_CLASS, SIZE_MECHANICAL, SIZE_FREE_AIR,
                                    SIZE_TABLE, SIZE_PROTECTION, SIZE_CONTACT};
    uint32_t place = limits_from(limits, INT32_MAX);
    for (size_t i = 0; i < sizeof OWN / sizeof *OWN && place != GAUGE_NONE && top != GAUGE_NONE;
         i++) {
        bool says = false;
        double value = 0.0;
        double limit = 0.0;
        while (place < top &&
               !sizing_holds(detail, c, OWN[i], place, true, &says, &value, &limit)) {
            place = limits_thicker(limits, place);
        }
    }
    detail->low[c] = place;
    detail->place[c] = place;
}

/* --- uses ---------------------------------------------------------------------------------------
 */

static void group_uses(SizeDetail *detail, Arena *out) {
    const Feeders *feeders = &detail->feeders;
    const Wiring *wiring = detail->wiring;
    uint32_t *first = ARENA_ARRAY(out, uint32_t, (size_t)wiring->cable_count + 2);
    for (int pass = 0; pass < 2; pass++) {
        for (uint32_t f = 0; f < feeders->count; f++) {
            const FeederPath *path = &feeders->paths[f];
            for (uint32_t i = 0; i < path->feed_count + path->return_count; i++) {
                ConductorId wire = feeders->wires[path->first + i];
                CableId cable = wiring->conductors[wire].cable;
                if (pass == 0) {
                    first[cable + 2]++;
                } else {
                    detail->uses[first[cable + 1]++] = (SizeUse){.feeder = f, .wire = wire};
                }
            }
        }
        if (pass == 0) {
            for (uint32_t c = 2; c < wiring->cable_count + 2; c++) {
                first[c] += first[c - 1];
            }
            detail->uses = ARENA_ARRAY(out, SizeUse, first[wiring->cable_count + 1]);
        }
    }
    detail->use_first = first;
}

/* --- drops --------------------------------------------------------------------------------------
 */

double sizing_volts(const SizeDetail *detail, SizeDrop kind, ConductorId wire, uint32_t place) {
    double current_a = detail->feeders.design_a[wire];
    CableId cable = detail->wiring->conductors[wire].cable;
    if (current_a <= 0.0 || place == GAUGE_NONE) {
        return 0.0;
    }
    if (kind == DROP_PLAIN) {
        return current_a * limits_plain_ohm(&detail->limits, cable, place);
    }
    return current_a * (limits_hot_ohm(&detail->limits, cable, place, current_a) +
                        limits_joint_ohm(&detail->limits, wire, place));
}

/* Devices and switches on the way of a feeder, at the current in them. */
static double find_fixed_v(const SizeDetail *detail, uint32_t f) {
    const Model *model = detail->model;
    const Feeder *feeder = &detail->feeders.rows[f];
    const FeederPath *path = &detail->feeders.paths[f];
    double ohm = 0.0;
    if (feeder->feed != ID_NONE) {
        const ModelFeed *feed = &model->feeds[feeder->feed];
        for (uint32_t s = 0; s < feed->step_count; s++) {
            ohm += feeders_step_ohm(model, &model->steps[feed->step_first + s],
                                    detail->sizing->rating_a);
        }
    }
    return ohm * path->through_a + path->return_switch_ohm * feeder->design_a;
}

static double sum_drop(const SizeDetail *detail, SizeDrop kind, uint32_t f) {
    const FeederPath *path = &detail->feeders.paths[f];
    double sum = kind == DROP_HOT ? detail->fixed_v[f] : 0.0;
    for (uint32_t i = 0; i < path->feed_count + path->return_count; i++) {
        sum += detail->volts[kind][detail->feeders.wires[path->first + i]];
    }
    return sum;
}

/* What is left when every free wire on the way is as thick as its class allows. */
static double least_drop(const SizeDetail *detail, SizeDrop kind, uint32_t f) {
    const FeederPath *path = &detail->feeders.paths[f];
    double sum = kind == DROP_HOT ? detail->fixed_v[f] : 0.0;
    for (uint32_t i = 0; i < path->feed_count + path->return_count; i++) {
        ConductorId wire = detail->feeders.wires[path->first + i];
        CableId cable = detail->wiring->conductors[wire].cable;
        sum += detail->fixed[cable] == SIZE_FREE
                   ? sizing_volts(detail, kind, wire, detail->thickest[cable])
                   : detail->volts[kind][wire];
    }
    return sum;
}

static void start_drops(SizeDetail *detail) {
    const Feeders *feeders = &detail->feeders;
    for (CableId c = 0; c < detail->wiring->cable_count; c++) {
        for (uint32_t u = detail->use_first[c]; u < detail->use_first[c + 1]; u++) {
            ConductorId wire = detail->uses[u].wire;
            for (int kind = 0; kind < DROP_KIND_COUNT; kind++) {
                detail->volts[kind][wire] =
                    sizing_volts(detail, (SizeDrop)kind, wire, detail->place[c]);
            }
        }
    }
    for (uint32_t f = 0; f < feeders->count; f++) {
        uint32_t load = feeders->rows[f].load;
        double network_v =
            detail->network_v == NULL || load == ID_NONE ? 0.0 : detail->network_v[load];
        detail->fixed_v[f] = find_fixed_v(detail, f) + network_v;
        for (int kind = 0; kind < DROP_KIND_COUNT; kind++) {
            detail->drop_v[kind][f] = sum_drop(detail, (SizeDrop)kind, f);
            /* NAN as a limit: none is published for this voltage, nothing to keep. */
            detail->given_up[kind][f] =
                !(least_drop(detail, (SizeDrop)kind, f) <= feeders->rows[f].limit_v + SIZE_SAME_V);
        }
    }
}

/* --- growing ------------------------------------------------------------------------------------
 */

/* Puts a cable at `place` and carries the change into the drops of all feeders through it. */
static void set_place(SizeDetail *detail, CableId c, uint32_t place) {
    detail->place[c] = place;
    for (int kind = 0; kind < DROP_KIND_COUNT; kind++) {
        for (uint32_t u = detail->use_first[c]; u < detail->use_first[c + 1]; u++) {
            const SizeUse *use = &detail->uses[u];
            double now = sizing_volts(detail, (SizeDrop)kind, use->wire, place);
            detail->drop_v[kind][use->feeder] += now - detail->volts[kind][use->wire];
        }
        for (uint32_t u = detail->use_first[c]; u < detail->use_first[c + 1]; u++) {
            ConductorId wire = detail->uses[u].wire;
            detail->volts[kind][wire] = sizing_volts(detail, (SizeDrop)kind, wire, place);
        }
    }
}

static bool is_over(const SizeDetail *detail, SizeDrop kind, uint32_t f) {
    return !detail->given_up[kind][f] &&
           detail->drop_v[kind][f] > detail->feeders.rows[f].limit_v + SIZE_SAME_V;
}

/* Volts that one gauge more takes off a feeder per kilogram, over all cores of the cable that the
 * feeder uses; negative when the cable can't grow. *fits: its contacts still take it then. */
static double gain(const SizeDetail *detail, SizeDrop kind, uint32_t f, ConductorId wire,
                   bool *fits) {
    CableId c = detail->wiring->conductors[wire].cable;
    const Limits *limits = &detail->limits;
    uint32_t place = detail->place[c];
    uint32_t next = place == GAUGE_NONE ? GAUGE_NONE : limits_thicker(limits, place);
    if (detail->fixed[c] != SIZE_FREE || next == GAUGE_NONE || next > detail->thickest[c]) {
        return -1.0;
    }
    *fits = next <= detail->fitting[c];
    const Cable *cable = &detail->wiring->cables[c];
    double saved_v = detail->volts[kind][wire] - sizing_volts(detail, kind, wire, next);
    for (uint32_t u = detail->use_first[c];
         cable->conductor_count > 1 && u < detail->use_first[c + 1]; u++) {
        const SizeUse *use = &detail->uses[u];
        if (use->feeder == f && use->wire != wire) {
            saved_v += detail->volts[kind][use->wire] - sizing_volts(detail, kind, use->wire, next);
        }
    }
    double length_m = detail->routing->length_mm[c] / 1000.0;
    double added_kg = (limits->gauges[next].kg_per_m - limits->gauges[place].kg_per_m) * length_m *
                      cable->conductor_count;
    const double least_kg = 1e-6; /* two gauges of one mass in a library still have an order */
    return saved_v <= 0.0 ? -1.0 : saved_v / fmax(added_kg, least_kg);
}

/* Returns grow with their feeds. */
static void grow_returns(SizeDetail *detail, const uint32_t *back_first, const CableId *backs,
                         CableId feed) {
    for (uint32_t i = back_first[feed]; i < back_first[feed + 1]; i++) {
        CableId c = backs[i];
        if (detail->fixed[c] != SIZE_FREE || detail->place[c] == GAUGE_NONE) {
            continue;
        }
        uint32_t place = detail->place[c];
        while (place < detail->place[feed] && place < detail->thickest[c]) {
            place = limits_thicker(&detail->limits, place);
            detail->sizing->rounds++;
        }
        if (place != detail->place[c]) {
            set_place(detail, c, place);
        }
    }
}

/* The pairs turned round: by feed cable, the returns that follow it. */
static void group_backs(const SizeDetail *detail, Arena *scratch, uint32_t **back_first,
                        CableId **backs) {
    const Feeders *feeders = &detail->feeders;
    uint32_t cables = detail->wiring->cable_count;
    uint32_t *first = ARENA_ARRAY(scratch, uint32_t, (size_t)cables + 2);
    uint32_t pairs = feeders->pair_first[cables];
    for (uint32_t i = 0; i < pairs; i++) {
        first[feeders->pairs[i] + 2]++;
    }
    for (uint32_t c = 2; c < cables + 2; c++) {
        first[c] += first[c - 1];
    }
    CableId *list = ARENA_ARRAY(scratch, CableId, pairs);
    for (CableId c = 0; c < cables; c++) {
        for (uint32_t i = feeders->pair_first[c]; i < feeders->pair_first[c + 1]; i++) {
            list[first[feeders->pairs[i] + 1]++] = c;
        }
    }
    *back_first = first;
    *backs = list;
}

/* The cable on a feeder's way that grows next, ID_NONE when none can. */
static CableId pick(const SizeDetail *detail, SizeDrop kind, uint32_t f) {
    const FeederPath *path = &detail->feeders.paths[f];
    double best = 0.0;
    bool best_fits = false;
    CableId grows = ID_NONE;
    for (uint32_t i = 0; i < path->feed_count + path->return_count; i++) {
        ConductorId wire = detail->feeders.wires[path->first + i];
        bool fits = false;
        double now = gain(detail, kind, f, wire, &fits);
        if (now > 0.0 && (fits != best_fits ? fits : now > best)) {
            best = now;
            best_fits = fits;
            grows = detail->wiring->conductors[wire].cable;
        }
    }
    return grows;
}

static void grow(SizeDetail *detail, const uint32_t *back_first, const CableId *backs) {
    for (CableId c = 0; c < detail->wiring->cable_count; c++) {
        if (detail->place[c] != GAUGE_NONE) {
            grow_returns(detail, back_first, backs, c);
        }
    }
    for (uint32_t f = 0; f < detail->feeders.count; f++) {
        for (int kind = 0; kind < DROP_KIND_COUNT; kind++) {
            while (is_over(detail, (SizeDrop)kind, f)) {
                CableId grows = pick(detail, (SizeDrop)kind, f);
                if (grows == ID_NONE) {
                    detail->given_up[kind][f] = true;
                    break;
                }
                uint32_t next = limits_thicker(&detail->limits, detail->place[grows]);
                CHECK(next > detail->place[grows]);
                set_place(detail, grows, next);
                detail->sizing->rounds++;
                grow_returns(detail, back_first, backs, grows);
            }
        }
    }
}

/* --- taking back --------------------------------------------------------------------------------
 */

static bool can_thin(const SizeDetail *detail, CableId c, uint32_t place) {
    static const SizeLimit SHARED[] = {SIZE_PAIRED, SIZE_PLAIN_DROP, SIZE_HOT_DROP};
    if (place == GAUGE_NONE || place < detail->low[c]) {
        return false;
    }
    for (size_t i = 0; i < sizeof SHARED / sizeof *SHARED; i++) {
        bool says = false;
        double value = 0.0;
        double limit = 0.0;
        if (!sizing_holds(detail, c, SHARED[i], place, false, &says, &value, &limit)) {
            return false;
        }
    }
    return true;
}

static bool is_feed(const SizeDetail *detail, CableId c) {
    return detail->feeders.role[detail->wiring->cables[c].conductor_first] == WIRE_FEED;
}

/* Those that outgrew their contacts first; then feeds, since a return may only follow a feed that
 * is as thin as it gets. */
typedef enum ThinRank { THIN_MISFIT, THIN_FEED, THIN_OTHER, THIN_RANK_COUNT } ThinRank;

static ThinRank thin_rank(const SizeDetail *detail, CableId c) {
    if (detail->place[c] > detail->fitting[c]) {
        return THIN_MISFIT;
    }
    return is_feed(detail, c) ? THIN_FEED : THIN_OTHER;
}

static uint32_t thin(SizeDetail *detail, ThinRank rank) {
    uint32_t count = 0;
    for (CableId c = 0; c < detail->wiring->cable_count; c++) {
        if (detail->fixed[c] != SIZE_FREE || detail->place[c] == GAUGE_NONE ||
            thin_rank(detail, c) != rank) {
            continue;
        }
        uint32_t next = limits_thinner(&detail->limits, detail->place[c]);
        while (can_thin(detail, c, next)) {
            set_place(detail, c, next);
            next = limits_thinner(&detail->limits, next);
            count++;
        }
    }
    return count;
}

/* --- exported -----------------------------------------------------------------------------------
 */

static void take_detail_arrays(SizeDetail *detail, Arena *out) {
    uint32_t cables = detail->wiring->cable_count;
    detail->place = ARENA_ARRAY(out, uint32_t, cables);
    detail->thickest = ARENA_ARRAY(out, uint32_t, cables);
    detail->fitting = ARENA_ARRAY(out, uint32_t, cables);
    detail->low = ARENA_ARRAY(out, uint32_t, cables);
    detail->fixed = ARENA_ARRAY(out, uint8_t, cables);
    detail->override_row = ARENA_ARRAY(out, uint32_t, cables);
    detail->cable_a = ARENA_ARRAY(out, double, cables);
    detail->fixed_v = ARENA_ARRAY(out, double, detail->feeders.count);
    for (int kind = 0; kind < DROP_KIND_COUNT; kind++) {
        detail->volts[kind] = ARENA_ARRAY(out, double, detail->wiring->conductor_count);
        detail->drop_v[kind] = ARENA_ARRAY(out, double, detail->feeders.count);
        detail->given_up[kind] = ARENA_ARRAY(out, bool, detail->feeders.count);
    }
}

/* Drops once more from the finished gauges, and the gauges on each feeder's way. */
static void finish_feeders(SizeDetail *detail) {
    Feeders *feeders = &detail->feeders;
    for (uint32_t f = 0; f < feeders->count; f++) {
        const FeederPath *path = &feeders->paths[f];
        Feeder *row = &feeders->rows[f];
        for (int kind = 0; kind < DROP_KIND_COUNT; kind++) {
            detail->drop_v[kind][f] = sum_drop(detail, (SizeDrop)kind, f);
        }
        row->plain_drop_v = detail->drop_v[DROP_PLAIN][f];
        row->hot_drop_v = detail->drop_v[DROP_HOT][f];
        row->thickest_awg = INT_BLANK;
        row->thinnest_awg = INT_BLANK;
        for (uint32_t i = 0; i < path->feed_count + path->return_count; i++) {
            int32_t awg = detail->sizing->awg[feeders->wires[path->first + i]];
            if (awg == INT_BLANK) {
                continue;
            }
            bool first = row->thickest_awg == INT_BLANK;
            row->thickest_awg = first || awg < row->thickest_awg ? awg : row->thickest_awg;
            row->thinnest_awg = first || awg > row->thinnest_awg ? awg : row->thinnest_awg;
        }
    }
}

/* One choice of all gauges and ratings, with the lengths as they are. */
static void choose_gauges(Arena *out, SizeDetail *detail, Findings *findings) {
    const Model *model = detail->model;
    const Wiring *wiring = detail->wiring;
    Sizing *sizing = detail->sizing;
    Arena scratch = {0};
    feeders_find(out, &scratch, model, wiring, detail->routing, detail->supply, &detail->feeders,
                 findings);
    limits_find(out, &scratch, model, wiring, detail->routing, &detail->limits, findings);
    take_detail_arrays(detail, out);
    add_currents(detail);
    sizing_rate_devices(detail, findings);
    sizing_read_given(detail, findings);
    group_uses(detail, out);
    for (CableId c = 0; c < wiring->cable_count; c++) {
        sizing->length_mm[c] = detail->routing->length_mm[c];
        start_cable(detail, c);
    }
    uint32_t *back_first = NULL;
    CableId *backs = NULL;
    group_backs(detail, &scratch, &back_first, &backs);
    start_drops(detail);
    grow(detail, back_first, backs);
    for (uint32_t count = 1; count > 0;) {
        count = 0;
        for (int rank = 0; rank < THIN_RANK_COUNT; rank++) {
            count += thin(detail, (ThinRank)rank);
        }
        sizing->thinned += count;
    }
    for (CableId c = 0; c < wiring->cable_count; c++) {
        const Cable *cable = &wiring->cables[c];
        for (uint16_t core = 0; core < cable->conductor_count; core++) {
            uint32_t place = detail->place[c];
            int32_t own =
                cable->part == ID_NONE ? INT_BLANK : model->set->cable.rows[cable->part].awg;
            sizing->awg[cable->conductor_first + core] =
                place == GAUGE_NONE ? own : detail->limits.gauges[place].awg;
        }
    }
    arena_free(&scratch);
}

bool size_run(Arena *out, const Model *model, const Wiring *wiring, Routing *routing,
              const Supply *supply, const double *network_v, Sizing *sizing, Findings *findings) {
    enum { ROUNDS_MAX = 8 };
    SizeDetail *detail = ARENA_NEW(out, SizeDetail);
    int32_t *awg = ARENA_ARRAY(out, int32_t, wiring->conductor_count);
    double *rating_a = ARENA_ARRAY(out, double, model->set->protection.count);
    double *length_mm = ARENA_ARRAY(out, double, wiring->cable_count);
    size_t mark = findings->count;
    for (int round = 0; round < ROUNDS_MAX; round++) {
        findings->count = mark;
        *sizing =
            (Sizing){.awg = awg, .rating_a = rating_a, .length_mm = length_mm, .detail = detail};
        *detail = (SizeDetail){
            .model = model,
            .wiring = wiring,
            .routing = routing,
            .supply = supply,
            .network_v = network_v,
            .sizing = sizing,
            .mechanical_awg = (int32_t)lround(model_limit(model, "smallest_awg")),
            .heater_contact = model_limit(model, "heater_contact"),
        };
        choose_gauges(out, detail, findings);
        if (!lengths_raise(routing, awg)) {
            break;
        }
    }
    finish_feeders(detail);
    sizing->choices = ARENA_ARRAY(out, GaugeChoice, wiring->conductor_count);
    for (CableId c = 0; c < wiring->cable_count; c++) {
        sizing_choose(detail, c);
    }
    sizing->design_a = detail->feeders.design_a;
    sizing->device = detail->feeders.device;
    sizing->feeders = detail->feeders.rows;
    sizing->feeder_count = detail->feeders.count;
    sizing_check(detail, findings);
    return true;
}

double size_allowed_a(const Sizing *sizing, CableId cable) {
    const SizeDetail *detail = sizing->detail;
    uint32_t place = detail->place[cable];
    if (place == GAUGE_NONE) {
        return (double)NAN;
    }
    double allowed_a = limits_allowed_a(&detail->limits, cable, place);
    /* 0: no table says; infinite: it has no way. */
    allowed_a = allowed_a > 0.0 && !isinf(allowed_a) ? allowed_a : (double)NAN;
    double table_a = detail->limits.gauges[place].worst_bundle_a;
    return isnan(table_a) ? allowed_a : fmin(allowed_a, table_a); /* fmin: the one that is no NAN */
}

const struct Limits *size_limits(const Sizing *sizing) {
    return &sizing->detail->limits;
}

uint32_t size_place(const Sizing *sizing, CableId cable) {
    return sizing->detail->place[cable];
}

uint8_t size_role(const Sizing *sizing, ConductorId conductor) {
    return sizing->detail->feeders.role[conductor];
}

bool size_cranks(const Sizing *sizing, ConductorId conductor) {
    return sizing->detail->feeders.crank[conductor];
}

double size_drop_of_lengths(const Sizing *sizing, uint32_t feeder, const double *factor, bool hot) {
    const SizeDetail *detail = sizing->detail;
    const FeederPath *path = &detail->feeders.paths[feeder];
    double drop_v = detail->drop_v[hot ? DROP_HOT : DROP_PLAIN][feeder];
    for (uint32_t i = 0; i < path->feed_count + path->return_count; i++) {
        ConductorId wire = detail->feeders.wires[path->first + i];
        CableId cable = detail->wiring->conductors[wire].cable;
        double current_a = detail->feeders.design_a[wire];
        uint32_t place = detail->place[cable];
        if (current_a > 0.0 && place != GAUGE_NONE) {
            double copper_v =
                hot ? current_a * limits_hot_ohm(&detail->limits, cable, place, current_a)
                    : detail->volts[DROP_PLAIN][wire];
            drop_v += copper_v * (factor[wire] - 1.0);
        }
    }
    return drop_v;
}
