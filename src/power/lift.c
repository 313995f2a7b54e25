/* Method: connection first: a walk from the lifted end over metal; where it meets no other ground
 * and at most one thing that draws, nothing is left to solve. The others are opened on the solved
 * network. What flows more than before, away from the lifted end, is a flow down the raised
 * voltages and therefore without circles: the way of the largest part is taken off, then the next,
 * until what is left is too small to name. */
#include "power/lift.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"

enum {
    WALK_MAX = 256,   /* nodes looked at from one lifted end; beyond that the network decides */
    PATHS_MAX = 8,    /* ways named for one lift */
    TRIES_MAX = 24,   /* parts of the current followed for that: some only cease */
    HOPS_MAX = 64,    /* pieces in one way */
    UNKNOWN_NAMED = 6 /* unknown points named for one lift */
};

/* Ways below these are not told: no wire, shield or track minds a milliampere, and the fiftieth
 * part of a current is no way that it takes. */
static const double LEAST_A = 1e-3;
static const double LEAST_SHARE = 0.02;

/* Bound on work, in nodes solved: a second or so at any size. Lifts beyond it are told as not
 * solved. */
static const double SOLVE_MAX = 2e6;

typedef struct Lifter {
    Arena *out;
    Arena scratch;
    const Paths *paths;
    Lifts *lifts;
    const FailBase *base;
    FailRun *run;
    const char *const *positions;
    uint32_t *seen; /* by node: number of the walk that was here last */
    uint32_t walk;
    uint32_t queue[WALK_MAX];
    uint32_t reached;
    bool grounded;    /* the walk met a ground */
    bool cut;         /* the walk was given up */
    double sign;      /* -1: the current comes in by the lifted piece, as a source's does */
    double *taken[3]; /* by resistor, contact, diode: named already, signed as the current */
    PathsEdge touched[TRIES_MAX * HOPS_MAX];
    uint32_t touched_count;
    double solved;        /* nodes */
    uint32_t *feed_first; /* by OwnerId, and one more: feeds that pass it or end at it */
    uint32_t *owner_feeds;
    uint32_t *box_walk; /* by OwnerId: walk in which it was met last */
    size_t path_count, path_capacity;
    size_t hop_count, hop_capacity;
    size_t lost_count, lost_capacity;
} Lifter;

/* --- what is lifted -----------------------------------------------------------------------------
 */

static bool is_ground_net(const Model *model, const Net *net) {
    return net->from_table == TABLE_ground ||
           (net->class_id != ID_NONE &&
            strcmp(model->set->interface.rows[net->class_id].kind, "return") == 0);
}

static void list_lifts(Lifter *lifter) {
    const Model *model = lifter->paths->model;
    const Wiring *wiring = lifter->paths->wiring;
    Lifts *lifts = lifter->lifts;
    size_t bonds = model->set->bond.count;
    lifts->rows = ARENA_ARRAY(lifter->out, Lift, wiring->conductor_count + bonds);
    for (ConductorId i = 0; i < wiring->conductor_count; i++) {
        const Conductor *row = &wiring->conductors[i];
        if (is_ground_net(model, &wiring->nets[wiring->cables[row->cable].net])) {
            lifts->rows[lifts->count++] = (Lift){
                .lifted = {BUILD_CONDUCTOR, i},
                .box = model->terminals[model->pins[row->from].terminal].owner,
                .unknown = "",
            };
        }
    }
    for (uint32_t i = 0; i < bonds; i++) {
        OwnerId item = model_owner(model, model->set->bond.rows[i].item);
        if (item != ID_NONE && model->owners[item].kind == OWNER_GROUND) {
            lifts->rows[lifts->count++] =
                (Lift){.lifted = {BUILD_BOND, i}, .box = item, .unknown = ""};
        }
    }
}

/* The resistor that stands for a lifted piece, NETWORK_NONE. */
static uint32_t lifted_resistor(const Paths *paths, const uint32_t *bond_resistor,
                                BuildSource lifted) {
    return lifted.kind == BUILD_CONDUCTOR ? paths->built.conductor_resistor[lifted.index]
                                          : bond_resistor[lifted.index];
}

static uint32_t *bond_resistors(Lifter *lifter) {
    const Paths *paths = lifter->paths;
    uint32_t count = (uint32_t)paths->model->set->bond.count;
    uint32_t *found = ARENA_ARRAY(&lifter->scratch, uint32_t, count);
    memset(found, 0xff, count * sizeof *found);
    for (uint32_t i = 0; i < paths->built.network.resistor_count; i++) {
        if (paths->built.resistor_source[i].kind == BUILD_BOND) {
            found[paths->built.resistor_source[i].index] = i;
        }
    }
    return found;
}

/* --- connection ---------------------------------------------------------------------------------
 */

/* Marks the nodes that metal joins to `start` with `lifted` gone, stopping at grounds. */
static void walk_from(Lifter *lifter, uint32_t start, uint32_t lifted) {
    const Paths *paths = lifter->paths;
    lifter->walk++;
    lifter->reached = 0;
    lifter->grounded = lifter->cut = false;
    lifter->seen[start] = lifter->walk;
    lifter->queue[lifter->reached++] = start;
    for (uint32_t head = 0; head < lifter->reached; head++) {
        uint32_t node = lifter->queue[head];
        if (node != start && paths->ground[node]) {
            lifter->grounded = true;
            continue;
        }
        for (uint32_t i = paths->edge_first[node]; i < paths->edge_first[node + 1]; i++) {
            const PathsEdge *edge = &paths->edges[i];
            bool gone = edge->kind == NETWORK_RESISTOR && edge->index == lifted;
            gone = gone || (edge->kind == NETWORK_CONTACT &&
                            !fail_state(lifter->run)->contact_closed[edge->index]);
            if (gone || lifter->seen[edge->other] == lifter->walk) {
                continue;
            }
            if (lifter->reached == WALK_MAX) {
                lifter->cut = true;
                return;
            }
            lifter->seen[edge->other] = lifter->walk;
            lifter->queue[lifter->reached++] = edge->other;
        }
    }
}

/* True when current worth telling could pass from one thing that draws at the reached nodes to
 * another: their far ends stand at different voltages. Of two things in series at most spread /
 * knee of the nominal current passes: below its knee (power/network.h) each is a resistance of knee
 * over nominal current at least. */
static bool two_draws(const Lifter *lifter) {
    const Paths *paths = lifter->paths;
    const double *node_v = fail_base_result(lifter->base)->node_v;
    double knee_v = NETWORK_LOAD_KNEE * paths->model->set->job.rows[0].nominal_v;
    double low_v = (double)INFINITY;
    double high_v = -(double)INFINITY;
    uint32_t draws = 0;
    bool source = false; /* its resistance is small: any voltage counts */
    for (uint32_t i = 0; i < lifter->reached; i++) {
        uint32_t node = lifter->queue[i];
        for (uint32_t k = paths->draw_first[node]; k < paths->draw_first[node + 1]; k++) {
            uint32_t other = paths->draws[k].other;
            if (lifter->seen[other] != lifter->walk) {
                NetworkKind kind = paths->draws[k].kind;
                source = source || kind == NETWORK_BATTERY || kind == NETWORK_ALTERNATOR;
                draws++;
                low_v = fmin(low_v, node_v[other]);
                high_v = fmax(high_v, node_v[other]);
            }
        }
    }
    return (source && draws > 1) || high_v - low_v > LEAST_SHARE * knee_v;
}

static int compare_numbers(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left;
    uint32_t b = *(const uint32_t *)right;
    return a < b ? -1 : (a > b ? 1 : 0);
}

/* Unknown points of a box. */
static uint32_t box_unknown(const Paths *paths, OwnerId box, uint32_t *points, uint32_t room) {
    const ModelOwner *owner = &paths->model->owners[box];
    uint32_t count = 0;
    for (uint32_t i = 0; i < owner->terminal_count; i++) {
        const ModelTerminal *terminal = &paths->model->terminals[owner->terminal_first + i];
        for (uint32_t core = 0; core < terminal->pin_count && count < room; core++) {
            if (paths->unknown[terminal->pin_first + core]) {
                points[count++] = terminal->pin_first + core;
            }
        }
    }
    if (count < room && paths->unknown[gates_case_point(paths->model, box)]) {
        points[count++] = gates_case_point(paths->model, box);
    }
    return count;
}

/* What no inside row speaks of in the boxes that the walk met. A ground point is metal alone: what
 * hangs on it has its own rows. */
static const char *list_unknown(Lifter *lifter, OwnerId box) {
    const Paths *paths = lifter->paths;
    if (paths->model->owners[box].kind == OWNER_GROUND) {
        return "";
    }
    uint32_t points[WALK_MAX];
    uint32_t count = 0;
    for (uint32_t i = 0; i < lifter->reached; i++) {
        uint32_t node = lifter->queue[i];
        bool metal = node != lifter->queue[0] && paths->ground[node];
        for (uint32_t k = paths->point_first[node]; !metal && k < paths->point_first[node + 1];
             k++) {
            bool inner = paths->inner[paths->points[k]];
            OwnerId owner = inner ? paths_point_owner(paths, paths->points[k]) : ID_NONE;
            if (owner != ID_NONE && lifter->box_walk[owner] != lifter->walk) {
                lifter->box_walk[owner] = lifter->walk;
                count += box_unknown(paths, owner, points + count, WALK_MAX - count);
            }
        }
    }
    if (count > 1) {
        qsort(points, count, sizeof *points, compare_numbers);
    }
    Buffer list = {.arena = lifter->out};
    for (uint32_t i = 0; i < count && i < UNKNOWN_NAMED; i++) {
        buffer_format(&list, "%s%s", i == 0 ? "" : ", ",
                      paths_point_name(&lifter->scratch, paths, points[i]));
    }
    if (count > UNKNOWN_NAMED) {
        buffer_format(&list, " and %u more", count - UNKNOWN_NAMED);
    }
    return count == 0 ? "" : list.bytes;
}

/* --- the box on ---------------------------------------------------------------------------------
 */

/* Feeds by the owners they pass or end at, in rising order. */
static void index_feeds(Lifter *lifter) {
    const Model *model = lifter->paths->model;
    uint32_t owners = model->owner_count;
    lifter->feed_first = ARENA_ARRAY(&lifter->scratch, uint32_t, (size_t)owners + 2);
    for (int pass = 0; pass < 2; pass++) {
        for (uint32_t feed = 0; feed < model->set->feed.count; feed++) {
            const ModelFeed *row = &model->feeds[feed];
            bool box = row->usable && row->to_bus == ID_NONE;
            for (uint32_t i = 0; box && i < row->step_count + row->target_count; i++) {
                OwnerId owner =
                    i < row->step_count
                        ? model->steps[row->step_first + i].owner
                        : model->terminals[model->targets[row->target_first + i - row->step_count]]
                              .owner;
                if (pass == 0) {
                    lifter->feed_first[owner + 2]++;
                } else {
                    lifter->owner_feeds[lifter->feed_first[owner + 1]++] = feed;
                }
            }
        }
        for (uint32_t i = 2; pass == 0 && i < owners + 2; i++) {
            lifter->feed_first[i] += lifter->feed_first[i - 1];
        }
        if (pass == 0) {
            lifter->owner_feeds =
                ARENA_ARRAY(&lifter->scratch, uint32_t, lifter->feed_first[owners + 1]);
        }
    }
}

/* Edits that put the switches of a feed where it supplies its port. */
static void close_feed(Lifter *lifter, uint32_t feed) {
    const Paths *paths = lifter->paths;
    const PowerNetwork *built = &paths->built;
    if (supply_feed_closed(paths->model, paths->ordinary, lifter->positions, feed)) {
        return;
    }
    const char *const *closed =
        supply_close_feed(&lifter->scratch, paths->model, paths->ordinary, lifter->positions, feed);
    for (uint32_t i = 0; i < built->network.contact_count; i++) {
        BuildSource source = built->contact_source[i];
        if (built->network.contacts[i].coil != NETWORK_NONE || source.kind != BUILD_GATE) {
            continue;
        }
        const Gate *gate = &paths->supply.gates.rows[source.index];
        bool now = gates_closed(gate, closed[gate->owner]);
        if (now != fail_state(lifter->run)->contact_closed[i]) {
            FailEdit edit = fail_hold(i, now);
            fail_apply(lifter->run, &edit, 1);
        }
    }
}

/* Makes a load draw its usual current; a motor that finds its voltage turned round turns the other
 * way. */
static void draw_usual(Lifter *lifter, uint32_t load) {
    const Paths *paths = lifter->paths;
    const SupplyLoad *row = &paths->supply.loads[load];
    const Network *network = &paths->built.network;
    uint32_t first = paths->built.load_first[load];
    uint32_t end = paths->built.load_first[load + 1];
    bool motor = row->return_port == row->port;
    double usual_a = isnan(row->usual_a) ? row->design_a : row->usual_a;
    for (uint32_t i = first; i < end; i++) {
        double share = motor ? (i == first ? 1.0 : 0.0) : 1.0 / (double)(end - first);
        if (network->loads[i].nominal_a <= 0.0 && usual_a * share > 0.0) {
            FailEdit edit = fail_value(FAIL_DRAW, NETWORK_LOAD, i, usual_a * share);
            fail_apply(lifter->run, &edit, 1);
        }
    }
    if (motor && end == first + 2 && fail_load_v(lifter->run, first) < 0.0) {
        FailEdit turn[2] = {
            fail_value(FAIL_DRAW, NETWORK_LOAD, first, 0.0),
            fail_value(FAIL_DRAW, NETWORK_LOAD, first + 1, usual_a),
        };
        fail_apply(lifter->run, turn, 2);
    }
}

/* Switches on what returns by the lifted piece: the loads of a box, or what a switch feeds. */
static void switch_on(Lifter *lifter, OwnerId box) {
    const Paths *paths = lifter->paths;
    const Model *model = paths->model;
    OwnerKind kind = model->owners[box].kind;
    if (kind != OWNER_UNIT && kind != OWNER_SWITCHGEAR) {
        return;
    }
    for (uint32_t i = lifter->feed_first[box]; i < lifter->feed_first[box + 1]; i++) {
        uint32_t feed = lifter->owner_feeds[i];
        const ModelFeed *row = &model->feeds[feed];
        close_feed(lifter, feed);
        for (uint32_t k = 0; k < row->target_count; k++) {
            TerminalId port = model->targets[row->target_first + k];
            uint32_t load = paths->supply.terminal_load[port];
            bool own = kind == OWNER_SWITCHGEAR || model->terminals[port].owner == box;
            if (own && load != ID_NONE) {
                draw_usual(lifter, load);
            }
        }
    }
}

/* --- ways ---------------------------------------------------------------------------------------
 */

static double *taken_a(const Lifter *lifter, const PathsEdge *edge) {
    return &lifter->taken[edge->kind == NETWORK_RESISTOR  ? 0
                          : edge->kind == NETWORK_CONTACT ? 1
                                                          : 2][edge->index];
}

static double base_a(const Lifter *lifter, const PathsEdge *edge) {
    const SolveResult *base = fail_base_result(lifter->base);
    return edge->kind == NETWORK_RESISTOR  ? base->resistor_a[edge->index]
           : edge->kind == NETWORK_CONTACT ? base->contact_a[edge->index]
                                           : base->diode_a[edge->index];
}

/* 1 when the element's current counts away from `node`, else -1; turned round where the current
 * comes in by the lifted piece. */
static double away(const Lifter *lifter, uint32_t node, const PathsEdge *edge) {
    uint32_t ends[2];
    network_element_ends(&lifter->paths->built.network, edge->kind, edge->index, ends);
    return ends[0] == node ? lifter->sign : -lifter->sign;
}

/* More current than before along an edge away from `node`, less what is named already. */
static double more_a(const Lifter *lifter, uint32_t node, const PathsEdge *edge) {
    double flow_a = fail_element_a(lifter->run, edge->kind, edge->index) - base_a(lifter, edge);
    return away(lifter, node, edge) * (flow_a - *taken_a(lifter, edge));
}

static void take(Lifter *lifter, uint32_t node, PathsEdge edge, double amps_a) {
    *taken_a(lifter, &edge) += away(lifter, node, &edge) * amps_a;
    lifter->touched[lifter->touched_count++] = edge;
}

static void forget_taken(Lifter *lifter) {
    for (uint32_t i = 0; i < lifter->touched_count; i++) {
        *taken_a(lifter, &lifter->touched[i]) = 0.0;
    }
    lifter->touched_count = 0;
}

static LiftVerdict judge_path(Lifter *lifter, LiftPath *path) {
    path->weakest = ID_NONE;
    double worst = -1.0;
    bool unrated = false;
    for (uint32_t i = path->hop_first; i < path->hop_first + path->hop_count; i++) {
        const LiftHop *hop = &lifter->lifts->hops[i];
        if (isinf(hop->rating_a)) {
            continue;
        }
        /* What is beyond its rating with everything whole has a finding of its own. */
        double share = isnan(hop->rating_a)             ? 1.0
                       : hop->before_a >= hop->rating_a ? 0.0
                                                        : hop->amps_a / hop->rating_a;
        unrated = unrated || isnan(hop->rating_a);
        if (share > worst) {
            worst = share;
            path->weakest = i;
        }
    }
    return worst > 1.0 ? LIFT_OVERLOADS : unrated ? LIFT_NOT_PROVED : LIFT_CARRIES;
}

/* A way as it is followed. */
typedef struct Way {
    PathsEdge edges[HOPS_MAX];
    uint32_t nodes[HOPS_MAX];
    uint32_t count;
    double amps_a;
    bool lands; /* at a ground; else the current has only ceased */
} Way;

/* Follows the largest part that is left. */
static void follow(const Lifter *lifter, uint32_t start, uint32_t lifted, double least_a,
                   Way *way) {
    const Paths *paths = lifter->paths;
    way->count = 0;
    way->amps_a = (double)INFINITY;
    way->lands = false;
    for (uint32_t node = start; way->count < HOPS_MAX && !way->lands;) {
        const PathsEdge *best = NULL;
        double best_a = least_a;
        for (uint32_t i = paths->edge_first[node]; i < paths->edge_first[node + 1]; i++) {
            const PathsEdge *edge = &paths->edges[i];
            bool gone = edge->kind == NETWORK_RESISTOR && edge->index == lifted;
            double flow_a = gone ? 0.0 : more_a(lifter, node, edge);
            if (flow_a > best_a) {
                best = edge;
                best_a = flow_a;
            }
        }
        if (best == NULL) {
            return;
        }
        way->nodes[way->count] = node;
        way->edges[way->count++] = *best;
        way->amps_a = fmin(way->amps_a, best_a);
        node = best->other;
        way->lands = node == start || paths->ground[node];
    }
}

static bool same_hops(const Lifts *lifts, const LiftPath *a, const LiftPath *b) {
    for (uint32_t i = 0; a->hop_count == b->hop_count && i < a->hop_count; i++) {
        BuildSource left = lifts->hops[a->hop_first + i].source;
        BuildSource right = lifts->hops[b->hop_first + i].source;
        if (left.kind != right.kind || left.index != right.index) {
            return false;
        }
    }
    return a->hop_count == b->hop_count;
}

/* Keeps a way. Pieces at its beginning that carry less than before only feed the ones after them:
 * the current does not come by there any more. */
static void keep_way(Lifter *lifter, Lift *lift, const Way *way) {
    const Paths *paths = lifter->paths;
    LiftPath path = {.amps_a = way->amps_a, .hop_first = (uint32_t)lifter->hop_count};
    for (uint32_t i = 0; i < way->count; i++) {
        const PathsEdge *edge = &way->edges[i];
        double amps_a = fabs(fail_element_a(lifter->run, edge->kind, edge->index));
        double before_a = fabs(base_a(lifter, edge));
        bool less = amps_a <= before_a;
        if (path.hop_count == 0 && less && i + 1 < way->count) {
            continue;
        }
        BuildSource source = paths_source(paths, edge->kind, edge->index);
        *ARENA_PUSH(lifter->out, lifter->lifts->hops, lifter->hop_count, lifter->hop_capacity) =
            (LiftHop){source, amps_a, before_a, paths_rating_a(paths, source)};
        path.hop_count++;
    }
    path.verdict = judge_path(lifter, &path);
    for (uint32_t i = lift->path_first; i < lifter->path_count; i++) {
        if (same_hops(lifter->lifts, &lifter->lifts->paths[i], &path)) {
            lifter->lifts->paths[i].amps_a += path.amps_a;
            return;
        }
    }
    *ARENA_PUSH(lifter->out, lifter->lifts->paths, lifter->path_count, lifter->path_capacity) =
        path;
    lift->path_count++;
}

static int compare_paths(const void *left, const void *right) {
    const LiftPath *a = left;
    const LiftPath *b = right;
    if (a->amps_a != b->amps_a) {
        return a->amps_a > b->amps_a ? -1 : 1;
    }
    return a->hop_first < b->hop_first ? -1 : 1;
}

static void find_paths(Lifter *lifter, Lift *lift, uint32_t start, uint32_t lifted) {
    double least_a = fmax(LEAST_A, LEAST_SHARE * lift->before_a);
    for (uint32_t i = 0; i < TRIES_MAX && lift->path_count < PATHS_MAX; i++) {
        Way way;
        follow(lifter, start, lifted, least_a, &way);
        if (way.count == 0) {
            break;
        }
        for (uint32_t k = 0; k < way.count; k++) {
            take(lifter, way.nodes[k], way.edges[k], way.amps_a);
        }
        if (way.lands) {
            keep_way(lifter, lift, &way);
        }
    }
    forget_taken(lifter);
    if (lift->path_count > 1) {
        qsort(&lifter->lifts->paths[lift->path_first], lift->path_count, sizeof(LiftPath),
              compare_paths);
    }
}

static LiftVerdict judge(const Lifter *lifter, const Lift *lift) {
    LiftVerdict verdict = lift->path_count == 0 ? LIFT_NONE : LIFT_CARRIES;
    for (uint32_t i = 0; i < lift->path_count; i++) {
        LiftVerdict own = lifter->lifts->paths[lift->path_first + i].verdict;
        verdict = own > verdict ? own : verdict;
    }
    if (*lift->unknown != '\0' && verdict != LIFT_OVERLOADS) {
        return LIFT_NOT_DECIDED;
    }
    return verdict;
}

/* --- one lift -----------------------------------------------------------------------------------
 */

static void add_lost(Lifter *lifter, Lift *lift, uint32_t load) {
    for (uint32_t i = lift->lost_first; i < lifter->lost_count; i++) {
        if (lifter->lifts->lost[i] == load) {
            return;
        }
    }
    *ARENA_PUSH(lifter->out, lifter->lifts->lost, lifter->lost_count, lifter->lost_capacity) = load;
    lift->lost_count++;
}

/* The loads that hang on the reached nodes alone. */
static void lose_reached(Lifter *lifter, Lift *lift) {
    const Paths *paths = lifter->paths;
    for (uint32_t i = 0; i < lifter->reached; i++) {
        uint32_t node = lifter->queue[i];
        for (uint32_t k = paths->draw_first[node]; k < paths->draw_first[node + 1]; k++) {
            const PathsEdge *draw = &paths->draws[k];
            uint32_t load = draw->kind == NETWORK_LOAD   ? paths->built.load_supply[draw->index]
                            : draw->kind == NETWORK_COIL ? paths->supply.coils[draw->index].load
                                                         : NETWORK_NONE;
            if (load != NETWORK_NONE) {
                add_lost(lifter, lift, load);
            }
        }
    }
}

static void lose_solved(Lifter *lifter, Lift *lift) {
    const uint32_t *loads;
    uint32_t count = fail_loads_lost(lifter->run, &loads);
    for (uint32_t i = 0; i < count; i++) {
        uint32_t load = lifter->paths->built.load_supply[loads[i]];
        if (load != NETWORK_NONE) {
            add_lost(lifter, lift, load);
        }
    }
}

static void lift_one(Lifter *lifter, Lift *lift, uint32_t lifted) {
    const Paths *paths = lifter->paths;
    /* `a` is the wire's first end, the box's; a bond's item. */
    uint32_t start = paths->built.network.resistors[lifted].a;
    lift->path_first = (uint32_t)lifter->path_count;
    lift->lost_first = (uint32_t)lifter->lost_count;
    fail_begin(lifter->run);
    bool box = paths->model->owners[lift->box].kind == OWNER_UNIT;
    if (!box) {
        switch_on(lifter, lift->box); /* moves switches, and so what is connected */
    }
    walk_from(lifter, start, lifted);
    lift->unknown = list_unknown(lifter, lift->box);
    if (!lifter->grounded && !lifter->cut && !two_draws(lifter)) {
        lifter->lifts->structural++;
        lose_reached(lifter, lift);
        lift->before_a = fabs(fail_base_result(lifter->base)->resistor_a[lifted]);
        for (uint32_t i = 0; lift->before_a < LEAST_A && i < lift->lost_count; i++) {
            lift->before_a = paths->supply.loads[lifter->lifts->lost[lift->lost_first + i]].usual_a;
        }
        lift->verdict = judge(lifter, lift);
        return;
    }
    if (lifter->solved > SOLVE_MAX) {
        lift->before_a = fabs(fail_base_result(lifter->base)->resistor_a[lifted]);
        lift->verdict = LIFT_NOT_SOLVED;
        return;
    }
    lifter->solved += paths->built.network.node_count;
    if (box) {
        switch_on(lifter, lift->box);
    }
    double amps_a = fail_element_a(lifter->run, NETWORK_RESISTOR, lifted);
    lifter->sign = amps_a < 0.0 ? -1.0 : 1.0;
    lift->before_a = fabs(amps_a);
    if (lift->before_a < LEAST_A) {
        lift->verdict = LIFT_NO_CURRENT;
        return;
    }
    lifter->lifts->solved++;
    FailEdit edit = fail_open(NETWORK_RESISTOR, lifted);
    if (fail_apply(lifter->run, &edit, 1) != SOLVE_OK) {
        lift->verdict = LIFT_NOT_SOLVED;
        return;
    }
    find_paths(lifter, lift, start, lifted);
    lose_solved(lifter, lift);
    lift->verdict = judge(lifter, lift);
}

/* --- everything whole ---------------------------------------------------------------------------
 */

static bool is_signal(const Paths *paths, BuildSource source) {
    const Wiring *wiring = paths->wiring;
    switch (source.kind) {
    case BUILD_SHIELD:
        return true;
    case BUILD_CONDUCTOR:
        return !gates_net_carries(paths->model, wiring,
                                  wiring->cables[wiring->conductors[source.index].cable].net);
    case BUILD_GATE:
        return paths->supply.gates.rows[source.index].table == TABLE_inside;
    case BUILD_BOND:
    case BUILD_INNER:
    default:
        return false;
    }
}

/* Shields, signal wires and insides of boxes that get more than they stand with nothing lifted. */
static void list_loops(Lifter *lifter) {
    const Paths *paths = lifter->paths;
    const SolveResult *base = fail_base_result(lifter->base);
    size_t count = 0;
    size_t capacity = 0;
    for (uint32_t i = 0; i < paths->built.network.resistor_count; i++) {
        BuildSource source = paths->built.resistor_source[i];
        double amps_a = fabs(base->resistor_a[i]);
        if (amps_a < LEAST_A || !is_signal(paths, source)) {
            continue;
        }
        double rating_a = paths_rating_a(paths, source);
        if (amps_a > rating_a) {
            *ARENA_PUSH(lifter->out, lifter->lifts->loops, count, capacity) =
                (LiftHop){source, amps_a, amps_a, rating_a};
        }
    }
    lifter->lifts->loop_count = (uint32_t)count;
}

/* --- exported -----------------------------------------------------------------------------------
 */

/* The phase in which the sources deliver most. */
static uint32_t heaviest_phase(const Model *model, const Phases *phases) {
    uint32_t best = ID_NONE;
    for (uint32_t i = 0; i < model->set->phase.count; i++) {
        uint32_t phase = phases->order[i];
        if (phases->solved[phase] &&
            (best == ID_NONE || phases->delivered_a[phase] > phases->delivered_a[best])) {
            best = phase;
        }
    }
    return best;
}

/* The same thing in both networks: gates in the same order, some only in the larger. */
static bool same_source(const Paths *paths, BuildSource whole, BuildSource part) {
    if (whole.kind != part.kind || whole.kind != BUILD_GATE) {
        return whole.kind == part.kind && whole.index == part.index;
    }
    const Gate *a = &paths->supply.gates.rows[whole.index];
    const Gate *b = &paths->ordinary->gates.rows[part.index];
    return a->owner == b->owner && a->table == b->table && a->row == b->row;
}

/* States of the ordinary network as a start for the larger one, which has the same coils, loads and
 * sources. */
static void take_state(const Paths *paths, const PowerNetwork *ordinary, const NetworkState *from,
                       NetworkState *to) {
    const Network *network = &paths->built.network;
    const Network *small = &ordinary->network;
    CHECK(network->coil_count == small->coil_count && network->load_count == small->load_count &&
          network->alternator_count == small->alternator_count);
    for (uint32_t i = 0; i < network->coil_count; i++) {
        to->coil_energised[i] = from->coil_energised[i];
    }
    for (uint32_t i = 0; i < network->load_count; i++) {
        to->load_on[i] = from->load_on[i];
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        to->alternator_mode[i] = from->alternator_mode[i];
    }
    for (uint32_t i = 0, k = 0; i < network->contact_count && k < small->contact_count; i++) {
        if (same_source(paths, paths->built.contact_source[i], ordinary->contact_source[k])) {
            to->contact_closed[i] = from->contact_closed[k++];
        }
    }
    for (uint32_t i = 0, k = 0; i < network->diode_count && k < small->diode_count; i++) {
        if (same_source(paths, paths->built.diode_source[i], ordinary->diode_source[k])) {
            to->diode_on[i] = from->diode_on[k++];
        }
    }
}

bool lift_run(Arena *out, const Paths *paths, const PowerNetwork *ordinary, const Phases *phases,
              Lifts *lifts, Findings *findings) {
    const Model *model = paths->model;
    *lifts = (Lifts){.phase = heaviest_phase(model, phases)};
    if (lifts->phase == ID_NONE) {
        return false;
    }
    Lifter *lifter = ARENA_NEW(out, Lifter);
    *lifter = (Lifter){.out = out, .paths = paths, .lifts = lifts};
    PowerNetwork built = paths->built; /* the arrays are shared: their numbers are this phase's */
    const Network *network = &built.network;
    lifter->positions = paths->ordinary->positions[lifts->phase];
    NetworkState state = network_state_rest(&lifter->scratch, network);
    take_state(paths, ordinary, &phases->results[lifts->phase].state, &state);
    phases_set(&built, model, &paths->supply, lifts->phase, lifter->positions, &state);
    SolveResult result;
    bool good = phases_solve(paths->plan, &built, &paths->supply, &state, NULL, &lifter->scratch,
                             &result, NULL);
    if (good) {
        lifter->base = fail_base_new(&lifter->scratch, paths->plan, network, &result.state);
        lifter->run = fail_run_new(&lifter->scratch, lifter->base);
        lifter->seen = ARENA_ARRAY(&lifter->scratch, uint32_t, network->node_count);
        lifter->box_walk = ARENA_ARRAY(&lifter->scratch, uint32_t, model->owner_count);
        lifter->taken[0] = ARENA_ARRAY(&lifter->scratch, double, network->resistor_count);
        lifter->taken[1] = ARENA_ARRAY(&lifter->scratch, double, network->contact_count);
        lifter->taken[2] = ARENA_ARRAY(&lifter->scratch, double, network->diode_count);
        index_feeds(lifter);
        list_lifts(lifter);
        const uint32_t *bonds = bond_resistors(lifter);
        for (uint32_t i = 0; i < lifts->count; i++) {
            uint32_t lifted = lifted_resistor(paths, bonds, lifts->rows[i].lifted);
            if (lifted != NETWORK_NONE) {
                lift_one(lifter, &lifts->rows[i], lifted);
            }
        }
        fail_run_free(lifter->run);
        list_loops(lifter);
        lift_report(paths, lifts, findings);
    }
    Arena scratch = lifter->scratch;
    arena_free(&scratch);
    return good;
}
