/* A net of n points in reach needs n - 1 continuity readings, whatever they are: fewer leave a
 * point unproved. They are taken along the wires, so that one reading passes one wire wherever both
 * its ends are in reach: its limit is then tight and a fault is found where it is. Together with
 * the isolation readings they settle which points are one piece of metal: the trees say that no net
 * is parted, the groups that no two touch. */
#include "shop/ringout.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "shop/ohms.h"

typedef struct Builder {
    Arena *out;
    Arena scratch;
    const Rig *rig;
    Ringout *ringout;
    size_t step_count;
    size_t step_capacity;
    double wire_factor;
    double contact_ohm;
    double signal_ohm;
    double isolation_ohm;
    uint32_t *back;     /* by point: edge + 1 it was reached by in its net's tree */
    RigPointId *parent; /* by point */
    bool *in_tree;      /* by edge */
} Builder;

static const char *const KIND_NAMES[RING_KIND_COUNT] = {"continuity", "parallel",  "coax",
                                                        "chain",      "isolation", "bond"};

const char *ringout_kind_name(RingKind kind) {
    return KIND_NAMES[kind];
}

/* --- resistance ---------------------------------------------------------------------------------
 */

double ringout_ohm(const Rig *rig, RigPointId a, RigPointId b, uint32_t without) {
    Arena scratch = {0};
    uint32_t net = rig->points[a].net;
    double ohm = (double)INFINITY;
    if (net != ID_NONE && net == rig->points[b].net) {
        uint32_t first = rig->net_point_first[net];
        uint32_t count = rig->net_point_first[net + 1] - first;
        size_t edge_count = 0;
        size_t edge_capacity = 0;
        OhmsEdge *edges = NULL;
        uint32_t from = 0;
        uint32_t to = 0;
        /* Points of a net are in rising order: place by bisection. */
        for (uint32_t i = 0; i < count; i++) {
            RigPointId point = rig->net_points[first + i];
            from = point == a ? i : from;
            to = point == b ? i : to;
            for (uint32_t e = rig->point_edge_first[point]; e < rig->point_edge_first[point + 1];
                 e++) {
                const RigEdge *edge = &rig->edges[rig->point_edges[e]];
                if (edge->kind == RIG_TERMINATOR || edge->a != point ||
                    rig->point_edges[e] == without) {
                    continue;
                }
                uint32_t low = 0;
                uint32_t high = count;
                while (high - low > 1) {
                    uint32_t middle = low + (high - low) / 2;
                    *(rig->net_points[first + middle] <= edge->b ? &low : &high) = middle;
                }
                *ARENA_PUSH(&scratch, edges, edge_count, edge_capacity) =
                    (OhmsEdge){.a = i, .b = low, .ohm = edge->ohm};
            }
        }
        ohm = ohms_between(count, edges, (uint32_t)edge_count, from, to);
    }
    arena_free(&scratch);
    return ohm;
}

/* --- continuity ---------------------------------------------------------------------------------
 */

static RingStep *add_step(Builder *builder, RingKind kind, RigPointId a, RigPointId b) {
    RingStep *step = ARENA_PUSH(&builder->scratch, builder->ringout->steps, builder->step_count,
                                builder->step_capacity);
    *step = (RingStep){
        .kind = kind,
        .a = a,
        .b = b,
        .a_name = a == ID_NONE ? "" : builder->rig->points[a].name,
        .b_name = b == ID_NONE ? "" : builder->rig->points[b].name,
        .expected_ohm = (double)NAN,
        .low_ohm = (double)NAN,
        .high_ohm = (double)NAN,
        .note = "",
    };
    return step;
}

/* Sets what the meter should show for the edges of a step. */
static void set_limits(Builder *builder, RingStep *step) {
    const Rig *rig = builder->rig;
    double joints_ohm = rig->points[step->a].contact_ohm + rig->points[step->b].contact_ohm;
    double wire_ohm = 0.0;
    uint32_t pairs = 2;
    bool alloy = false;
    for (uint32_t i = 0; i < step->edge_count; i++) {
        const RigEdge *edge = &rig->edges[step->edges[i]];
        step->four_wire = step->four_wire || edge->power;
        alloy = alloy || edge->alloy;
        if (edge->kind == RIG_MATE || edge->kind == RIG_BOND) {
            joints_ohm += edge->ohm;
            pairs++;
        } else {
            wire_ohm += edge->ohm;
        }
    }
    double high_ohm = builder->wire_factor * wire_ohm + pairs * builder->contact_ohm;
    step->expected_ohm = wire_ohm + joints_ohm;
    if (isnan(wire_ohm)) {
        step->high_ohm = builder->signal_ohm;
        step->note = "the library has no resistance for it";
    } else if (alloy) {
        step->high_ohm = high_ohm;
        step->note = "thermocouple alloy: by the larger resistance of the two";
    } else if (!step->four_wire && high_ohm > builder->signal_ohm) {
        step->high_ohm = step->expected_ohm < builder->signal_ohm ? builder->signal_ohm : high_ohm;
        step->note = step->expected_ohm < builder->signal_ohm
                         ? "the ceiling for signals"
                         : "its length alone passes the ceiling for signals";
    } else {
        step->high_ohm = high_ohm;
    }
}

/* The tree of one net, breadth first from `root`. */
static void grow_tree(Builder *builder, RigPointId root, RigPointId *queue, uint32_t *tail) {
    const Rig *rig = builder->rig;
    *tail = 0;
    queue[(*tail)++] = root;
    builder->back[root] = UINT32_MAX;
    for (uint32_t head = 0; head < *tail; head++) {
        RigPointId point = queue[head];
        for (uint32_t e = rig->point_edge_first[point]; e < rig->point_edge_first[point + 1]; e++) {
            uint32_t id = rig->point_edges[e];
            RigPointId other = rig_other(&rig->edges[id], point);
            if (rig->edges[id].kind == RIG_TERMINATOR || builder->back[other] != 0) {
                continue;
            }
            builder->back[other] = id + 1;
            builder->parent[other] = point;
            builder->in_tree[id] = true;
            queue[(*tail)++] = other;
        }
    }
}

/* The nearest point in reach on the way to the root, `point` itself left out; edges passed are
 * appended. ID_NONE at the root. */
static RigPointId climb(const Builder *builder, Arena *arena, RigPointId point, uint32_t **edges,
                        size_t *count, size_t *capacity) {
    while (builder->back[point] != UINT32_MAX && builder->back[point] != 0) {
        *ARENA_PUSH(arena, *edges, *count, *capacity) = builder->back[point] - 1;
        point = builder->parent[point];
        if (builder->rig->points[point].reachable) {
            return point;
        }
    }
    return ID_NONE;
}

static void read_tree(Builder *builder, const RigPointId *queue, uint32_t count) {
    for (uint32_t i = 1; i < count; i++) {
        RigPointId point = queue[i];
        if (!builder->rig->points[point].reachable) {
            continue;
        }
        uint32_t *edges = NULL;
        size_t edge_count = 0;
        size_t capacity = 0;
        RigPointId onto = climb(builder, builder->out, point, &edges, &edge_count, &capacity);
        CHECK(onto != ID_NONE); /* the root is in reach */
        RingStep *step = add_step(builder, RING_CONTINUITY, onto, point);
        step->edges = edges;
        step->edge_count = (uint32_t)edge_count;
        set_limits(builder, step);
    }
}

static void read_nets(Builder *builder) {
    const Rig *rig = builder->rig;
    RigPointId *queue = ARENA_ARRAY(&builder->scratch, RigPointId, rig->point_count);
    for (uint32_t net = 0; net < rig->net_count; net++) {
        for (uint32_t i = rig->net_point_first[net]; i < rig->net_point_first[net + 1]; i++) {
            if (rig->points[rig->net_points[i]].reachable) {
                uint32_t count = 0;
                grow_tree(builder, rig->net_points[i], queue, &count);
                read_tree(builder, queue, count);
                break;
            }
        }
    }
}

/* --- more than one way --------------------------------------------------------------------------
 */

/* Reading across an edge that closes a loop: what it shows with the edge and without it. */
static void limit_parallel(Builder *builder, RingStep *step, uint32_t edge) {
    const Rig *rig = builder->rig;
    double joints_ohm = rig->points[step->a].contact_ohm + rig->points[step->b].contact_ohm;
    double whole_ohm = ringout_ohm(rig, step->a, step->b, ID_NONE) + joints_ohm;
    double without_ohm = ringout_ohm(rig, step->a, step->b, edge) + joints_ohm;
    step->expected_ohm = whole_ohm;
    step->four_wire = true;
    /* Half way between both, where that is clear of what wire and contacts may vary by. */
    double spread_ohm = (builder->wire_factor - 1.0) * whole_ohm;
    if (isnan(whole_ohm) || isnan(without_ohm) || without_ohm - whole_ohm < 2.0 * spread_ohm) {
        step->note = "more than one way: whether each is whole no reading here can tell; look";
        step->high_ohm = builder->wire_factor * whole_ohm + 2.0 * builder->contact_ohm;
        step->high_ohm = isnan(step->high_ohm) ? builder->signal_ohm : step->high_ohm;
    } else {
        step->high_ohm = 0.5 * (whole_ohm + without_ohm);
        step->note = "more than one way: an open one shows by its ohms alone";
    }
}

static uint64_t pair_key(RigPointId a, RigPointId b) {
    return a < b ? (uint64_t)a << 32 | b : (uint64_t)b << 32 | a;
}

typedef struct PairStep {
    uint64_t pair;
    uint32_t step;
} PairStep;

static int compare_pairs(const void *left, const void *right) {
    const PairStep *a = left;
    const PairStep *b = right;
    if (a->pair != b->pair) {
        return a->pair < b->pair ? -1 : 1;
    }
    return a->step < b->step ? -1 : a->step > b->step ? 1 : 0;
}

/* The continuity step between two points, UINT32_MAX. */
static uint32_t find_pair(const PairStep *pairs, size_t count, uint64_t pair) {
    size_t low = 0;
    size_t high = count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (pairs[middle].pair < pair) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low < count && pairs[low].pair == pair ? pairs[low].step : UINT32_MAX;
}

/* Edges that close a loop: the reading that is there already between the same points is made to
 * watch them, else one more is taken. */
static void read_loops(Builder *builder) {
    const Rig *rig = builder->rig;
    size_t count = builder->step_count;
    PairStep *pairs = ARENA_ARRAY(&builder->scratch, PairStep, count);
    for (size_t i = 0; i < count; i++) {
        const RingStep *step = &builder->ringout->steps[i];
        pairs[i] = (PairStep){pair_key(step->a, step->b), (uint32_t)i};
    }
    if (count > 1) {
        qsort(pairs, count, sizeof *pairs, compare_pairs);
    }
    for (uint32_t e = 0; e < rig->edge_count; e++) {
        const RigEdge *edge = &rig->edges[e];
        if (edge->kind == RIG_TERMINATOR || builder->in_tree[e] ||
            rig->points[edge->a].net == ID_NONE) {
            continue;
        }
        /* From both ends up the tree, as far as a point in reach. */
        uint32_t *passed = NULL;
        size_t passed_count = 0;
        size_t passed_capacity = 0;
        *ARENA_PUSH(&builder->scratch, passed, passed_count, passed_capacity) = e;
        RigPointId a = rig->points[edge->a].reachable
                           ? edge->a
                           : climb(builder, &builder->scratch, edge->a, &passed, &passed_count,
                                   &passed_capacity);
        RigPointId b = rig->points[edge->b].reachable
                           ? edge->b
                           : climb(builder, &builder->scratch, edge->b, &passed, &passed_count,
                                   &passed_capacity);
        if (a == ID_NONE || b == ID_NONE || a == b) {
            continue;
        }
        uint32_t there = find_pair(pairs, count, pair_key(a, b));
        RingStep *step = there != UINT32_MAX ? &builder->ringout->steps[there]
                                             : add_step(builder, RING_PARALLEL, a, b);
        step->kind = RING_PARALLEL;
        size_t edge_count = step->edge_count;
        size_t capacity = edge_count;
        for (size_t i = 0; i < passed_count; i++) {
            *ARENA_PUSH(builder->out, step->edges, edge_count, capacity) = passed[i];
        }
        step->edge_count = (uint32_t)edge_count;
        limit_parallel(builder, step, e);
    }
}

/* --- isolation ----------------------------------------------------------------------------------
 */

typedef struct Near {
    uint32_t a;
    uint32_t b;
} Near;

static int compare_near(const void *left, const void *right) {
    const Near *x = left;
    const Near *y = right;
    if (x->a != y->a) {
        return x->a < y->a ? -1 : 1;
    }
    return x->b < y->b ? -1 : x->b > y->b ? 1 : 0;
}

/* Nets beside each other: in neighbouring cavities, or centre and body of one coax. */
static void list_near(Arena *out, const Rig *rig, RingNets *nets) {
    Arena scratch = {0};
    Near *near = NULL;
    size_t count = 0;
    size_t capacity = 0;
    for (uint32_t i = 0; i < rig->plug_count; i++) {
        const RigPlug *plug = &rig->plugs[i];
        for (uint32_t k = 0; k < plug->face->ways; k++) {
            for (uint32_t e = plug->face->near_first[k]; e < plug->face->near_first[k + 1]; e++) {
                uint32_t a = rig->points[plug->point_first + k].net;
                uint32_t b = rig->points[plug->point_first + plug->face->near[e]].net;
                a = a == ID_NONE ? ID_NONE : nets->of_net[a];
                b = b == ID_NONE ? ID_NONE : nets->of_net[b];
                if (a != b && a != ID_NONE && b != ID_NONE) {
                    *ARENA_PUSH(&scratch, near, count, capacity) = (Near){a, b};
                }
            }
        }
    }
    for (uint32_t i = 1; i < rig->edge_count; i++) {
        if (rig->edges[i].kind != RIG_SCREEN || !rig->edges[i].coax) {
            continue;
        }
        uint32_t a = nets->of_net[rig->points[rig->edges[i].a].net];
        uint32_t b = nets->of_net[rig->points[rig->edges[i - 1].a].net];
        if (a != b && a != ID_NONE && b != ID_NONE) {
            *ARENA_PUSH(&scratch, near, count, capacity) = (Near){a, b};
            *ARENA_PUSH(&scratch, near, count, capacity) = (Near){b, a};
        }
    }
    if (count > 1) {
        qsort(near, count, sizeof *near, compare_near);
    }
    uint32_t *first = ARENA_ARRAY(out, uint32_t, (size_t)nets->count + 1);
    uint32_t *list = ARENA_ARRAY(out, uint32_t, count);
    uint32_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        if (i == 0 || compare_near(&near[i - 1], &near[i]) != 0) {
            list[kept++] = near[i].b;
            first[near[i].a + 1]++;
        }
    }
    for (uint32_t i = 0; i < nets->count; i++) {
        first[i + 1] += first[i];
    }
    nets->input.near_first = first;
    nets->input.near = list;
    arena_free(&scratch);
}

/* The first point in reach of a net, ID_NONE. */
static RigPointId net_point(const Rig *rig, uint32_t net) {
    for (uint32_t i = rig->net_point_first[net]; i < rig->net_point_first[net + 1]; i++) {
        if (rig->points[rig->net_points[i]].reachable) {
            return rig->net_points[i];
        }
    }
    return ID_NONE;
}

static void list_tied(Arena *out, const Rig *rig, RingNets *nets) {
    Arena scratch = {0};
    nets->tied_first = ARENA_ARRAY(out, uint32_t, (size_t)nets->count + 1);
    nets->tied = ARENA_ARRAY(out, RigPointId, rig->net_count);
    uint32_t *at = ARENA_ARRAY(&scratch, uint32_t, (size_t)nets->count + 1);
    for (int sweep = 0; sweep < 2; sweep++) {
        for (uint32_t i = 0; i < rig->net_count; i++) {
            RigPointId point = net_point(rig, i);
            uint32_t net = nets->of_net[rig->net_group[i]];
            if (point == ID_NONE || net == ID_NONE) {
                continue;
            }
            if (sweep == 0) {
                nets->tied_first[net + 1]++;
            } else {
                nets->tied[at[net]++] = point;
            }
        }
        for (uint32_t i = 0; i < nets->count && sweep == 0; i++) {
            nets->tied_first[i + 1] += nets->tied_first[i];
            at[i + 1] = nets->tied_first[i + 1];
        }
    }
    arena_free(&scratch);
}

void ringout_nets(Arena *out, const Rig *rig, RingNets *nets) {
    *nets = (RingNets){0};
    nets->at = ARENA_ARRAY(out, RigPointId, rig->net_count);
    nets->net = ARENA_ARRAY(out, uint32_t, rig->net_count);
    nets->of_net = ARENA_ARRAY(out, uint32_t, rig->net_count);
    uint32_t *lead = ARENA_ARRAY(out, uint32_t, rig->net_count);
    for (uint32_t i = 0; i < rig->net_count; i++) {
        nets->of_net[i] = ID_NONE;
    }
    /* Points in order: so each net is taken at the plug with the most wires, and nets that are
     * reached by one lead follow each other. */
    uint32_t clips = rig->plug_count;
    for (RigPointId i = 0; i < rig->point_count; i++) {
        const RigPoint *point = &rig->points[i];
        if (!point->reachable || point->net == ID_NONE) {
            continue;
        }
        uint32_t group = rig->net_group[point->net];
        if (nets->of_net[group] == ID_NONE) {
            nets->of_net[group] = nets->count;
            nets->at[nets->count] = i;
            nets->net[nets->count] = group;
            lead[nets->count] = point->plug == ID_NONE ? clips++ : point->plug;
            nets->count++;
        }
        nets->of_net[point->net] = nets->of_net[group];
    }
    nets->input = (IsolationInput){.net_count = nets->count, .lead = lead};
    list_tied(out, rig, nets);
    list_near(out, rig, nets);
}

/* "1 net", "12 nets". */
static const char *nets_text(Arena *out, uint32_t count) {
    return arena_format(out, "%u net%s", count, count == 1 ? "" : "s");
}

static void isolate(Builder *builder) {
    Ringout *ringout = builder->ringout;
    const TableSet *set = builder->rig->model->set;
    ringout_nets(builder->out, builder->rig, &ringout->nets);
    ringout->tester = set->tester.count > 0 ? 0 : ID_NONE;
    for (uint32_t i = 0; i < set->tester.count; i++) {
        ringout->tester = set->tester.rows[i].usual == 1 ? i : ringout->tester;
    }
    if (ringout->tester == ID_NONE) {
        return;
    }
    const TesterRow *tester = &set->tester.rows[ringout->tester];
    ringout->listed = isolation_plan(
        builder->out, &ringout->nets.input, tester->points < 2 ? 2 : (uint32_t)tester->points,
        tester->leads < 2 ? 2 : (uint32_t)tester->leads, RINGOUT_SESSIONS_MAX, &ringout->plan);
    for (uint32_t s = 0; s < ringout->plan.session_count; s++) {
        const IsolationSession *session = &ringout->plan.sessions[s];
        for (uint32_t k = 0; k < session->readings; k++) {
            uint32_t sides[2] = {0, 0};
            for (uint32_t m = session->first; m < session->first + session->count; m++) {
                sides[0] += (ringout->plan.members[m].side_a >> k & 1) != 0 ? 1U : 0U;
                sides[1] += (ringout->plan.members[m].side_b >> k & 1) != 0 ? 1U : 0U;
            }
            RingStep *step = add_step(builder, RING_ISOLATION, ID_NONE, ID_NONE);
            step->session = s;
            step->reading = k;
            step->low_ohm = builder->isolation_ohm;
            step->a_name =
                arena_format(builder->out, "side A: %s", nets_text(builder->out, sides[0]));
            step->b_name =
                arena_format(builder->out, "side B: %s", nets_text(builder->out, sides[1]));
            step->note = arena_format(builder->out, "session %u, column %u of the list of sides",
                                      s + 1, k + 1);
        }
    }
}

/* --- coax, chains, bonds ------------------------------------------------------------------------
 */

static void read_coax(Builder *builder) {
    const Rig *rig = builder->rig;
    bool *done = ARENA_ARRAY(&builder->scratch, bool, rig->net_count);
    for (uint32_t i = 1; i < rig->edge_count; i++) {
        const RigEdge *centre = &rig->edges[i - 1];
        if (rig->edges[i].kind != RIG_SCREEN || !rig->edges[i].coax ||
            done[rig->points[centre->a].net]) {
            continue;
        }
        done[rig->points[centre->a].net] = true;
        RigPointId a = net_point(rig, rig->points[centre->a].net);
        RigPointId b = net_point(rig, rig->points[rig->edges[i].a].net);
        if (a != ID_NONE && b != ID_NONE && rig->points[a].net != rig->points[b].net) {
            RingStep *step = add_step(builder, RING_COAX, a, b);
            step->low_ohm = builder->isolation_ohm;
            step->note = "centre against body";
        }
    }
}

/* What a terminated chain shows: `count` terminators of `ohm` each in parallel. */
static void limit_chain(Builder *builder, RingStep *step, double ohm, uint32_t count, bool boxes) {
    double share = 0.01 * model_limit(builder->rig->model, RINGOUT_LIMIT_CHAIN);
    double n = count;
    step->expected_ohm = ohm / n;
    step->low_ohm = (1.0 - share) * ohm / n;
    step->high_ohm = (1.0 + share) * ohm / n;
    const char *fewer = count > 1 ? arena_format(builder->out,
                                                 "%.4g ohm: one is missing, or the chain is open "
                                                 "between here and it; ",
                                                 ohm / (n - 1.0))
                                  : "";
    step->note = arena_format(builder->out,
                              "%s%.4g ohm: %u terminator%s, as planned; %.4g ohm: one too many; "
                              "%sopen: none; near 0: the two cores touch",
                              boxes ? "boxes on, no power: " : "", ohm / n, count,
                              count == 1 ? "" : "s", ohm / (n + 1.0), fewer);
}

/* Terminators in plugs: between the two nets that they join. */
static void read_plug_chains(Builder *builder) {
    const Rig *rig = builder->rig;
    bool *done = ARENA_ARRAY(&builder->scratch, bool, rig->net_count);
    for (uint32_t i = 0; i < rig->edge_count; i++) {
        const RigEdge *edge = &rig->edges[i];
        uint32_t net = rig->points[edge->a].net;
        if (edge->kind != RIG_TERMINATOR || done[net]) {
            continue;
        }
        done[net] = true;
        uint32_t count = 0;
        for (uint32_t k = i; k < rig->edge_count; k++) {
            count +=
                rig->edges[k].kind == RIG_TERMINATOR && rig->points[rig->edges[k].a].net == net;
        }
        RigPointId a = net_point(rig, net);
        RigPointId b = net_point(rig, rig->points[edge->b].net);
        if (a != ID_NONE && b != ID_NONE) {
            limit_chain(builder, add_step(builder, RING_CHAIN, a, b), edge->ohm, count, false);
        }
    }
}

/* Terminators in boxes: a reading with the boxes on, at a port of the chain that has none. */
static void read_box_chains(Builder *builder) {
    const Model *model = builder->rig->model;
    const TableSet *set = model->set;
    for (size_t i = 0; i < set->terminator.count;) {
        const char *link = set->terminator.rows[i].link;
        uint32_t boxes = 0;
        uint32_t count = 0;
        double ohm = (double)NAN;
        size_t end = i;
        for (; end < set->terminator.count && strcmp(set->terminator.rows[end].link, link) == 0;
             end++) {
            const TerminatorRow *row = &set->terminator.rows[end];
            if (row->fitted != 0) {
                count++;
                boxes += strcmp(row->place, "connector") != 0;
                ohm = row->ohm;
            }
        }
        if (boxes > 0) {
            RingStep *step = add_step(builder, RING_CHAIN, ID_NONE, ID_NONE);
            step->a_name = arena_format(builder->out, "%s core 1", link);
            step->b_name = arena_format(builder->out, "%s core 2", link);
            limit_chain(builder, step, ohm, count, true);
        }
        i = end;
    }
}

static void read_bonds(Builder *builder) {
    const Model *model = builder->rig->model;
    const TableSet *set = model->set;
    double limit_ohm = 1e-3 * model_limit(model, RINGOUT_LIMIT_BOND);
    for (size_t i = 0; i < set->bond.count; i++) {
        const BondRow *row = &set->bond.rows[i];
        RingStep *step = add_step(builder, RING_BOND, ID_NONE, ID_NONE);
        OwnerId owner = model_owner(model, row->item);
        bool block = owner != ID_NONE && model->owners[owner].kind == OWNER_GROUND;
        step->a_name = block ? row->item : arena_format(builder->out, "%s.case", row->item);
        step->b_name = row->onto;
        step->expected_ohm = 1e-3 * row->mohm;
        step->high_ohm = limit_ohm;
        step->four_wire = true;
        if (step->expected_ohm > limit_ohm) {
            step->high_ohm = builder->wire_factor * step->expected_ohm;
            step->note = "stated beyond the limit for frames: not to be relied on";
        }
    }
}

/* --- bench order --------------------------------------------------------------------------------
 */

/* Probe A stays on the plug with more wires; from plug to plug, cavity by cavity. */
static void turn_step(RingStep *step) {
    if (step->a != ID_NONE && step->b != ID_NONE && step->b < step->a &&
        step->kind <= RING_PARALLEL) {
        RigPointId a = step->a;
        const char *name = step->a_name;
        step->a = step->b;
        step->a_name = step->b_name;
        step->b = a;
        step->b_name = name;
    }
}

/* Points are numbered plug by plug, cavity by cavity, so their order is the bench order; a plug at
 * probe A is done with one plug at probe B before the next. */
typedef struct Placed {
    const RingStep *step;
    uint32_t plug_a;
    uint32_t plug_b;
    uint32_t index;
} Placed;

static int compare_bench(const void *left, const void *right) {
    const Placed *x = left;
    const Placed *y = right;
    uint32_t kind_x = x->step->kind == RING_PARALLEL ? RING_CONTINUITY : (uint32_t)x->step->kind;
    uint32_t kind_y = y->step->kind == RING_PARALLEL ? RING_CONTINUITY : (uint32_t)y->step->kind;
    if (kind_x != kind_y) {
        return kind_x < kind_y ? -1 : 1;
    }
    if (kind_x == RING_CONTINUITY) {
        const uint32_t keys[4][2] = {{x->plug_a, y->plug_a},
                                     {x->plug_b, y->plug_b},
                                     {x->step->a, y->step->a},
                                     {x->step->b, y->step->b}};
        for (int i = 0; i < 4; i++) {
            if (keys[i][0] != keys[i][1]) {
                return keys[i][0] < keys[i][1] ? -1 : 1;
            }
        }
    }
    return x->index < y->index ? -1 : x->index > y->index ? 1 : 0;
}

/* Lugs count as a place each. */
static uint32_t place_of(const Rig *rig, RigPointId point) {
    return point == ID_NONE                     ? ID_NONE
           : rig->points[point].plug != ID_NONE ? rig->points[point].plug
                                                : rig->plug_count + point;
}

static uint32_t count_moves(const Rig *rig, const RingStep *steps, uint32_t count) {
    uint32_t moves = 0;
    for (uint32_t i = 1; i < count && steps[i].kind <= RING_PARALLEL; i++) {
        moves += place_of(rig, steps[i].a) != place_of(rig, steps[i - 1].a);
        moves += place_of(rig, steps[i].b) != place_of(rig, steps[i - 1].b);
    }
    return moves;
}

static int compare_by_wire(const void *left, const void *right) {
    const Placed *x = left;
    const Placed *y = right;
    if (x->plug_a != y->plug_a) { /* here: the first edge, in the order of wire keys */
        return x->plug_a < y->plug_a ? -1 : 1;
    }
    return x->index < y->index ? -1 : x->index > y->index ? 1 : 0;
}

static void take_order(Arena *out, const Placed *placed, uint32_t count, RingStep **steps) {
    RingStep *taken = ARENA_ARRAY(out, RingStep, count);
    for (uint32_t i = 0; i < count; i++) {
        taken[i] = *placed[i].step;
    }
    *steps = taken;
}

static void put_in_order(Builder *builder) {
    Ringout *ringout = builder->ringout;
    const Rig *rig = builder->rig;
    uint32_t count = (uint32_t)builder->step_count;
    Placed *placed = ARENA_ARRAY(&builder->scratch, Placed, count);
    uint32_t readings = 0;
    for (uint32_t i = 0; i < count; i++) {
        RingStep *step = &ringout->steps[i];
        readings += step->kind <= RING_PARALLEL;
        placed[i] = (Placed){
            .step = step, .plug_a = step->edge_count > 0 ? step->edges[0] : UINT32_MAX, .index = i};
    }
    RingStep *by_wire = NULL;
    if (count > 1) {
        qsort(placed, count, sizeof *placed, compare_by_wire);
    }
    take_order(&builder->scratch, placed, count, &by_wire);
    ringout->moves_by_wire = count_moves(rig, by_wire, readings);
    for (uint32_t i = 0; i < count; i++) {
        RingStep *step = &ringout->steps[i];
        turn_step(step);
        placed[i] = (Placed){.step = step,
                             .plug_a = place_of(rig, step->a),
                             .plug_b = place_of(rig, step->b),
                             .index = i};
    }
    if (count > 1) {
        qsort(placed, count, sizeof *placed, compare_bench);
    }
    take_order(builder->out, placed, count, &ringout->steps);
    ringout->step_count = count;
    ringout->continuity = readings;
    ringout->moves = count_moves(rig, ringout->steps, readings);
}

/* --- exported -----------------------------------------------------------------------------------
 */

void ringout_build(Arena *out, const Rig *rig, Ringout *ringout) {
    *ringout = (Ringout){.rig = rig, .tester = ID_NONE};
    const Model *model = rig->model;
    Builder builder = {
        .out = out,
        .rig = rig,
        .ringout = ringout,
        .wire_factor = model_limit(model, RINGOUT_LIMIT_WIRE),
        .contact_ohm = 1e-3 * model_limit(model, RINGOUT_LIMIT_CONTACT),
        .signal_ohm = model_limit(model, RINGOUT_LIMIT_SIGNAL),
        .isolation_ohm = 1e6 * model_limit(model, RINGOUT_LIMIT_ISOLATION),
    };
    builder.back = ARENA_ARRAY(&builder.scratch, uint32_t, rig->point_count);
    builder.parent = ARENA_ARRAY(&builder.scratch, RigPointId, rig->point_count);
    builder.in_tree = ARENA_ARRAY(&builder.scratch, bool, rig->edge_count);
    read_nets(&builder);
    read_loops(&builder);
    read_coax(&builder);
    read_plug_chains(&builder);
    if (rig->module == ID_NONE) {
        read_box_chains(&builder);
        read_bonds(&builder);
    }
    isolate(&builder);
    put_in_order(&builder);
    arena_free(&builder.scratch);
}
