/* Method: a mixed-radix counter runs over the positions of the switches and sources that matter. In
 * each combination: what current reaches (over conducting edges, diodes forward), coils picked up
 * in turn from rest until nothing moves, which buses and ports closed feeds make live. What is
 * reached and not live is a sneak. Where only large resistances lead there, their sum bounds the
 * current; else the combination is solved, once for each state of what hangs together with the bus.
 */
#include "power/sneak.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"

enum { PATH_MAX = 64 };

/* Bounds on work, in edges walked and in nodes solved: a fraction of a second whatever the size.
 * Beyond the first the job's phases and what is near them are looked at, beyond the second ways are
 * counted as not solved; both are told. */
static const double WALK_MAX = 5e6;
static const double SOLVE_MAX = 3e5;

/* An edge that leads current only through so much can't carry more than a few milliamperes: it is
 * added up instead of solved. */
static const double LARGE_OHM = 1000.0;

/* Something that should be dead when no feed of its own leads to it. */
typedef struct Target {
    TerminalId port;
    BusId bus;     /* ID_NONE: a port */
    uint32_t feed; /* of a port: into SneakGraph.feeds */
    uint32_t node;
} Target;

/* One target from one feed, while combinations are looked at. */
typedef struct Group {
    Sneak sneak;
    uint32_t target;
    uint64_t *states; /* of what hangs together with the target: solved already, bit 0: live */
    size_t state_count;
    size_t state_capacity;
    bool begun;
} Group;

typedef struct Sneaker {
    Arena *out;
    Arena scratch;
    const Paths *paths;
    Sneaks *sneaks;
    const SneakGraph *graph;
    Target *targets;
    uint32_t target_count;
    Group *groups;
    size_t group_count;
    size_t group_capacity;
    uint8_t *choice; /* position of each switch, then each source: 0 off, 1 on */
    uint8_t *radix;
    uint32_t digits;
    bool *energised; /* by coil of the graph */
    bool *reached;   /* by node */
    bool *low;       /* by node: joined to ground by gates */
    bool *live;      /* by BusId */
    bool *port_live; /* by feed of the graph: its ports */
    uint32_t *queue;
    bool *given;         /* by node: a live bus, or a source that gives */
    bool *mark;          /* by node, for walks */
    uint32_t *from_edge; /* by node: edge towards the target that find_origin started from */
    uint32_t *large;     /* edges of large resistance it met; both ends may tell of one */
    uint32_t large_count;
    double walked; /* edges */
    double solved; /* nodes */
    double ceiling_v;
    double limit_v;
    double limit_a;
} Sneaker;

/* --- one combination ----------------------------------------------------------------------------
 */

static bool conducts(const Sneaker *sneaker, const SneakEdge *edge) {
    switch (edge->kind) {
    case SNEAK_SWITCH:
        return (edge->positions >> sneaker->choice[edge->item] & 1U) != 0;
    case SNEAK_CONTACT:
        return edge->item != ID_NONE && sneaker->energised[edge->item] == edge->energised;
    case SNEAK_METAL:
    case SNEAK_DIODE:
    case SNEAK_LOAD:
    default:
        return true;
    }
}

static bool source_on(const Sneaker *sneaker, uint32_t source) {
    return sneaker->choice[sneaker->graph->switch_count + source] != 0;
}

/* Ground, or as good as: current does not go on from there. */
static bool sinks(const SneakGraph *graph, uint32_t node) {
    return graph->grounded[node] || !isnan(graph->tied_v[node]);
}

/* Nodes that current from running sources reaches; without edges of LARGE_OHM when `firm`. */
static void reach(Sneaker *sneaker, bool firm) {
    const SneakGraph *graph = sneaker->graph;
    uint32_t count = 0;
    sneaker->walked += graph->edge_count;
    memset(sneaker->reached, 0, graph->node_count * sizeof *sneaker->reached);
    for (uint32_t i = 0; i < graph->source_count; i++) {
        uint32_t node = graph->sources[i].node;
        if (source_on(sneaker, i) && !sneaker->reached[node]) {
            sneaker->reached[node] = true;
            sneaker->queue[count++] = node;
        }
    }
    for (uint32_t head = 0; head < count; head++) {
        uint32_t node = sneaker->queue[head];
        for (uint32_t i = graph->edge_first[node]; i < graph->edge_first[node + 1]; i++) {
            const SneakEdge *edge = &graph->edges[graph->node_edges[i]];
            uint32_t other = edge->a == node ? edge->b : edge->a;
            bool barred = edge->kind == SNEAK_DIODE && edge->a != node;
            if (sneaker->reached[other] || barred || sinks(graph, other) ||
                (firm && edge->ohm >= LARGE_OHM) || !conducts(sneaker, edge)) {
                continue;
            }
            sneaker->reached[other] = true;
            sneaker->queue[count++] = other;
        }
    }
}

/* Nodes that gates join to ground. */
static void sink(Sneaker *sneaker) {
    const SneakGraph *graph = sneaker->graph;
    uint32_t count = 0;
    for (uint32_t node = 0; node < graph->node_count; node++) {
        sneaker->low[node] = graph->grounded[node];
        if (graph->grounded[node]) {
            sneaker->queue[count++] = node;
        }
    }
    for (uint32_t head = 0; head < count; head++) {
        uint32_t node = sneaker->queue[head];
        for (uint32_t i = graph->edge_first[node]; i < graph->edge_first[node + 1]; i++) {
            const SneakEdge *edge = &graph->edges[graph->node_edges[i]];
            uint32_t other = edge->a == node ? edge->b : edge->a;
            bool barred =
                edge->kind == SNEAK_LOAD || (edge->kind == SNEAK_DIODE && edge->b != node);
            if (!sneaker->low[other] && !barred && conducts(sneaker, edge)) {
                sneaker->low[other] = true;
                sneaker->queue[count++] = other;
            }
        }
    }
}

/* From rest: coils pick up, or let go, until nothing moves; a circle ends after as many rounds as
 * there are coils, and one more. */
static void settle_coils(Sneaker *sneaker) {
    const SneakGraph *graph = sneaker->graph;
    memset(sneaker->energised, 0, graph->coil_count * sizeof *sneaker->energised);
    reach(sneaker, false);
    for (uint32_t round = 0; round <= graph->coil_count; round++) {
        sink(sneaker);
        bool moved = false;
        for (uint32_t i = 0; i < graph->coil_count; i++) {
            uint32_t plus = graph->coils[i].plus;
            uint32_t minus = graph->coils[i].minus;
            bool now = (sneaker->reached[plus] && sneaker->low[minus]) ||
                       (sneaker->reached[minus] && sneaker->low[plus]);
            moved = moved || now != sneaker->energised[i];
            sneaker->energised[i] = now;
        }
        if (!moved) {
            return;
        }
        reach(sneaker, false);
    }
}

static bool feed_closed(const Sneaker *sneaker, const SneakFeed *feed) {
    const SneakGraph *graph = sneaker->graph;
    for (uint32_t i = feed->step_first; i < feed->step_first + feed->step_count; i++) {
        bool closed = false;
        for (uint32_t k = 0; k < graph->steps[i].edge_count; k++) {
            closed =
                closed ||
                conducts(sneaker, &graph->edges[graph->step_edges[graph->steps[i].edge_first + k]]);
        }
        if (!closed) {
            return false;
        }
    }
    return true;
}

/* A feed that starts at a port: live when a source that gives stands there, or when the box whose
 * port it is has a live supply. */
static bool start_live(const Sneaker *sneaker, const ModelFeed *row, const bool *box_live) {
    const Model *model = sneaker->paths->model;
    if (row->from_bus != ID_NONE) {
        return sneaker->live[row->from_bus];
    }
    OwnerId owner = model->terminals[row->start].owner;
    for (uint32_t i = 0; i < sneaker->graph->source_count; i++) {
        uint32_t source = sneaker->graph->sources[i].source;
        if (source_on(sneaker, i) &&
            model_owner(model, model->set->source.rows[source].unit) == owner) {
            return true;
        }
    }
    return box_live[owner];
}

/* Buses and boxes that closed feeds make live, upstream to a source that gives. */
static void follow_feeds(Sneaker *sneaker, bool *box_live) {
    const Model *model = sneaker->paths->model;
    const SneakGraph *graph = sneaker->graph;
    memset(sneaker->live, 0, model->set->bus.count * sizeof *sneaker->live);
    memset(sneaker->port_live, 0, graph->feed_count * sizeof *sneaker->port_live);
    memset(box_live, 0, model->owner_count * sizeof *box_live);
    for (bool moved = true; moved;) {
        moved = false;
        sneaker->walked += graph->feed_count;
        for (uint32_t i = 0; i < graph->feed_count; i++) {
            const ModelFeed *row = &model->feeds[graph->feeds[i].feed];
            bool known =
                row->to_bus != ID_NONE ? sneaker->live[row->to_bus] : sneaker->port_live[i];
            if (known || !start_live(sneaker, row, box_live) ||
                !feed_closed(sneaker, &graph->feeds[i])) {
                continue;
            }
            moved = true;
            if (row->to_bus != ID_NONE) {
                sneaker->live[row->to_bus] = true;
                continue;
            }
            sneaker->port_live[i] = true;
            for (uint32_t k = 0; k < row->target_count; k++) {
                box_live[model->terminals[model->targets[row->target_first + k]].owner] = true;
            }
        }
    }
}

/* --- targets ------------------------------------------------------------------------------------
 */

static uint32_t point_node(const Sneaker *sneaker, uint32_t point) {
    return sneaker->graph->spot_node[sneaker->paths->supply.spots.point_spot[point]];
}

/* Buses, and ports behind a switch of their own that lie on a way between sources and buses. */
static void list_targets(Sneaker *sneaker) {
    const Model *model = sneaker->paths->model;
    const SneakGraph *graph = sneaker->graph;
    sneaker->targets =
        ARENA_ARRAY(&sneaker->scratch, Target, model->set->bus.count + model->target_count);
    for (BusId bus = 0; bus < model->set->bus.count; bus++) {
        TerminalId stud = model->buses[bus].stud;
        if (stud == ID_NONE || model->terminals[stud].pin_count == 0) {
            continue;
        }
        uint32_t node = point_node(sneaker, model->terminals[stud].pin_first);
        if (node != ID_NONE) {
            sneaker->targets[sneaker->target_count++] = (Target){stud, bus, ID_NONE, node};
        }
    }
    for (uint32_t i = 0; i < graph->feed_count; i++) {
        const ModelFeed *row = &model->feeds[graph->feeds[i].feed];
        if (row->to_bus != ID_NONE || graph->feeds[i].step_count == 0) {
            continue; /* a feed whose steps are all out of the graph opens nowhere in it */
        }
        for (uint32_t k = 0; k < row->target_count; k++) {
            TerminalId port = model->targets[row->target_first + k];
            uint32_t node = point_node(sneaker, model->terminals[port].pin_first);
            if (node != ID_NONE && graph->bus[node] == ID_NONE) {
                sneaker->targets[sneaker->target_count++] = (Target){port, ID_NONE, i, node};
            }
        }
    }
}

/* True when a closed feed makes the target live, or joins it to a bus that is a target itself. */
static bool is_live(const Sneaker *sneaker, const Target *target) {
    const Model *model = sneaker->paths->model;
    if (target->bus != ID_NONE) {
        return sneaker->live[target->bus];
    }
    const SneakFeed *feed = &sneaker->graph->feeds[target->feed];
    return sneaker->port_live[target->feed] ||
           (model->feeds[feed->feed].from_bus != ID_NONE && feed_closed(sneaker, feed));
}

static void mark_given(Sneaker *sneaker) {
    const SneakGraph *graph = sneaker->graph;
    for (uint32_t node = 0; node < graph->node_count; node++) {
        BusId bus = graph->bus[node];
        sneaker->given[node] = bus != ID_NONE && sneaker->live[bus];
    }
    for (uint32_t i = 0; i < graph->source_count; i++) {
        uint32_t node = graph->sources[i].node;
        sneaker->given[node] = sneaker->given[node] || source_on(sneaker, i);
    }
}

/* --- where it comes from ------------------------------------------------------------------------
 */

/* Walks from a target against the current to the nearest live bus or source; *bound_a gets the
 * largest current that the large resistances at what hangs together with it let in, INFINITY when a
 * way without one leads there. Returns the node, ID_NONE. */
static uint32_t find_origin(Sneaker *sneaker, uint32_t target, bool firm, double *bound_a) {
    const SneakGraph *graph = sneaker->graph;
    uint32_t count = 0;
    uint32_t origin = ID_NONE;
    memset(sneaker->mark, 0, graph->node_count * sizeof *sneaker->mark);
    sneaker->walked += graph->node_count;
    sneaker->mark[target] = true;
    sneaker->from_edge[target] = ID_NONE;
    sneaker->queue[count++] = target;
    *bound_a = firm ? (double)INFINITY : 0.0;
    sneaker->large_count = 0;
    for (uint32_t head = 0; head < count; head++) {
        uint32_t node = sneaker->queue[head];
        if (sneaker->given[node]) {
            origin = origin == ID_NONE ? node : origin;
            continue;
        }
        for (uint32_t i = graph->edge_first[node]; i < graph->edge_first[node + 1]; i++) {
            uint32_t number = graph->node_edges[i];
            const SneakEdge *edge = &graph->edges[number];
            uint32_t other = edge->a == node ? edge->b : edge->a;
            if (sinks(graph, other) || !conducts(sneaker, edge)) {
                continue;
            }
            bool against = edge->kind == SNEAK_DIODE && edge->b != node;
            if (against || !sneaker->reached[other]) {
                continue;
            }
            if (edge->ohm >= LARGE_OHM) {
                *bound_a += sneaker->ceiling_v / edge->ohm;
                sneaker->large[sneaker->large_count++] = number;
            }
            if (sneaker->mark[other] || (firm && edge->ohm >= LARGE_OHM)) {
                continue;
            }
            sneaker->mark[other] = true;
            sneaker->from_edge[other] = number;
            sneaker->queue[count++] = other;
        }
    }
    return origin;
}

/* --- solving ------------------------------------------------------------------------------------
 */

/* The state of all that hangs together with the target: what conducts there, which sources give. */
static uint64_t state_hash(Sneaker *sneaker, uint32_t target) {
    const SneakGraph *graph = sneaker->graph;
    uint64_t hash = 1469598103934665603U; /* FNV-1a, 64 bit */
    uint32_t count = 0;
    memset(sneaker->mark, 0, graph->node_count * sizeof *sneaker->mark);
    sneaker->mark[target] = true;
    sneaker->queue[count++] = target;
    for (uint32_t head = 0; head < count; head++) {
        uint32_t node = sneaker->queue[head];
        for (uint32_t i = graph->edge_first[node]; i < graph->edge_first[node + 1]; i++) {
            uint32_t number = graph->node_edges[i];
            const SneakEdge *edge = &graph->edges[number];
            if (!conducts(sneaker, edge)) {
                continue;
            }
            uint32_t other = edge->a == node ? edge->b : edge->a;
            if (!graph->grounded[other] && !sneaker->mark[other]) {
                sneaker->mark[other] = true;
                sneaker->queue[count++] = other;
            }
        }
    }
    for (uint32_t i = 0; i < graph->edge_count; i++) {
        const SneakEdge *edge = &graph->edges[i];
        if (sneaker->mark[edge->a] || sneaker->mark[edge->b]) {
            hash = (hash ^ (2U * i + (conducts(sneaker, edge) ? 1U : 0U))) * 1099511628211U;
        }
    }
    for (uint32_t i = 0; i < graph->source_count; i++) {
        if (sneaker->mark[graph->sources[i].node]) {
            hash = (hash ^ (uint64_t)(source_on(sneaker, i) ? 7919U + i : 104729U + i)) *
                   1099511628211U;
        }
    }
    return hash;
}

/* Positions of everything: at rest but for what is chosen. */
static const char *const *positions_of(Sneaker *sneaker, Arena *scratch) {
    const Model *model = sneaker->paths->model;
    const SneakGraph *graph = sneaker->graph;
    const char **positions = ARENA_ARRAY(scratch, const char *, model->owner_count);
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        positions[owner] = row->kind == OWNER_PROTECTION ? "closed"
                           : row->kind == OWNER_SWITCHGEAR
                               ? model->set->switchgear.rows[row->row].rest
                               : "";
    }
    for (uint32_t i = 0; i < graph->switch_count; i++) {
        positions[graph->switches[i].owner] = graph->switches[i].words[sneaker->choice[i]];
    }
    for (uint32_t i = 0; i < graph->source_count; i++) {
        OwnerId owner = model_owner(model, model->set->source.rows[graph->sources[i].source].unit);
        positions[owner] = source_on(sneaker, i) ? "on" : "off";
    }
    return positions;
}

/* An engine speed at which the alternators give most. */
static const char *full_speed(const Model *model) {
    const TableSet *set = model->set;
    const char *best = "cruise";
    double most_a = -1.0;
    for (size_t i = 0; i < set->alternator_output.count; i++) {
        if (set->alternator_output.rows[i].output_a > most_a) {
            most_a = set->alternator_output.rows[i].output_a;
            best = set->alternator_output.rows[i].engine;
        }
    }
    return best;
}

/* Every box on at its usual current, never cutting out: what a bus that should be dead would see
 * first; short-time loads off. */
static void set_loads(Sneaker *sneaker, PowerNetwork *built) {
    const Supply *supply = &sneaker->paths->supply;
    for (uint32_t i = 0; i < supply->load_count; i++) {
        const SupplyLoad *load = &supply->loads[i];
        bool on = load->load_row != ID_NONE && !load->intermittent && !isnan(load->usual_a);
        if (load->load_row != ID_NONE) {
            build_set_load(built, supply, i, on ? load->usual_a : 0.0);
        }
    }
    for (uint32_t i = 0; i < built->network.load_count; i++) {
        built->network.loads[i].minimum_v = 0.0;
    }
}

/* The target's node in the network. */
static uint32_t network_node(const Sneaker *sneaker, const Target *target) {
    const Model *model = sneaker->paths->model;
    return sneaker->paths->built.point_node[model->terminals[target->port].pin_first];
}

/* Current into `node` over an edge or through a load of the solved network. */
static double into(const Network *network, const SolveResult *result, const PathsEdge *edge,
                   uint32_t node) {
    uint32_t ends[2];
    network_element_ends(network, edge->kind, edge->index, ends);
    double amps_a = edge->kind == NETWORK_RESISTOR  ? result->resistor_a[edge->index]
                    : edge->kind == NETWORK_CONTACT ? result->contact_a[edge->index]
                    : edge->kind == NETWORK_DIODE   ? result->diode_a[edge->index]
                    : edge->kind == NETWORK_LOAD    ? result->load_a[edge->index]
                    : edge->kind == NETWORK_COIL    ? result->coil_a[edge->index]
                                                    : 0.0;
    return ends[1] == node ? amps_a : -amps_a;
}

static double sum_into(const Sneaker *sneaker, const SolveResult *result, uint32_t node) {
    const Paths *paths = sneaker->paths;
    double sum_a = 0.0;
    for (uint32_t i = paths->edge_first[node]; i < paths->edge_first[node + 1]; i++) {
        sum_a += fmax(into(&paths->built.network, result, &paths->edges[i], node), 0.0);
    }
    for (uint32_t i = paths->draw_first[node]; i < paths->draw_first[node + 1]; i++) {
        sum_a += fmax(into(&paths->built.network, result, &paths->draws[i], node), 0.0);
    }
    return sum_a;
}

static double edge_a(const Sneaker *sneaker, const SolveResult *result, const SneakEdge *edge) {
    const PowerNetwork *built = &sneaker->paths->built;
    double sum_a = 0.0;
    if (edge->gate == ID_NONE) {
        uint32_t first = built->load_first[edge->load];
        for (uint32_t i = first; i < built->load_first[edge->load + 1]; i++) {
            sum_a += fabs(result->load_a[i]);
        }
        return sum_a;
    }
    BuildElement element = built->gate_element[edge->gate];
    return element.kind == NETWORK_RESISTOR  ? fabs(result->resistor_a[element.index])
           : element.kind == NETWORK_CONTACT ? fabs(result->contact_a[element.index])
           : element.kind == NETWORK_DIODE   ? fabs(result->diode_a[element.index])
                                             : (double)INFINITY;
}

/* What comes in over the large resistances that find_origin met. */
static double sum_large(const Sneaker *sneaker, const SolveResult *result) {
    double sum_a = 0.0;
    for (uint32_t i = 0; i < sneaker->large_count; i++) {
        sum_a += edge_a(sneaker, result, &sneaker->graph->edges[sneaker->large[i]]);
    }
    return sum_a;
}

/* What flows through all pieces of the way that find_origin walked. */
static double along_path(const Sneaker *sneaker, const SolveResult *result, uint32_t origin) {
    double least_a = (double)INFINITY;
    for (uint32_t node = origin; sneaker->from_edge[node] != ID_NONE;) {
        const SneakEdge *edge = &sneaker->graph->edges[sneaker->from_edge[node]];
        least_a = fmin(least_a, edge_a(sneaker, result, edge));
        node = edge->a == node ? edge->b : edge->a;
    }
    return isinf(least_a) ? 0.0 : least_a;
}

/* The net between two neighbouring pieces, when a wire is between them. */
static NetId net_between(const Sneaker *sneaker, const SneakEdge *edge, uint32_t node) {
    const Paths *paths = sneaker->paths;
    const Model *model = paths->model;
    uint32_t ends[2] = {ID_NONE, ID_NONE};
    if (edge->gate != ID_NONE) {
        ends[0] = paths->supply.gates.rows[edge->gate].a;
        ends[1] = paths->supply.gates.rows[edge->gate].b;
    } else {
        const SupplyLoad *load = &paths->supply.loads[edge->load];
        ends[0] = model->terminals[load->port].pin_first;
        ends[1] =
            load->return_port == ID_NONE ? ID_NONE : model->terminals[load->return_port].pin_first;
    }
    for (int i = 0; i < 2; i++) {
        if (ends[i] < model->pin_count && point_node(sneaker, ends[i]) == node) {
            return paths->wiring->pin_net[ends[i]];
        }
    }
    return ID_NONE;
}

/* The way that find_origin walked, from the origin to the target. */
static void keep_path(Sneaker *sneaker, uint32_t origin, Sneak *sneak) {
    const SneakGraph *graph = sneaker->graph;
    SneakPiece way[PATH_MAX] = {{SNEAK_BY_NET, 0}};
    uint32_t count = 0;
    NetId last = ID_NONE;
    for (uint32_t node = origin; sneaker->from_edge[node] != ID_NONE && count + 2 < PATH_MAX;) {
        const SneakEdge *edge = &graph->edges[sneaker->from_edge[node]];
        NetId net = count == 0 ? ID_NONE : net_between(sneaker, edge, node);
        if (net != ID_NONE && net != last) {
            way[count++] = (SneakPiece){SNEAK_BY_NET, net};
        }
        way[count++] = edge->gate != ID_NONE ? (SneakPiece){SNEAK_BY_GATE, edge->gate}
                                             : (SneakPiece){SNEAK_BY_LOAD, edge->load};
        node = edge->a == node ? edge->b : edge->a;
        last = net_between(sneaker, edge, node);
        if (last != ID_NONE && sneaker->from_edge[node] != ID_NONE) {
            way[count++] = (SneakPiece){SNEAK_BY_NET, last};
        }
    }
    sneak->path = ARENA_ARRAY(sneaker->out, SneakPiece, count);
    sneak->path_count = count;
    memcpy(sneak->path, way, count * sizeof *way);
}

/* Solves the combination for one group and keeps the worse of it and what was there. True when it
 * is more than a limit. */
static bool solve(Sneaker *sneaker, Group *group, const Target *target, uint32_t origin,
                  bool hard) {
    const Paths *paths = sneaker->paths;
    PowerNetwork built = paths->built;
    Arena scratch = {0};
    const char *const *positions = positions_of(sneaker, &scratch);
    NetworkState state = network_state_rest(&scratch, &built.network);
    set_loads(sneaker, &built);
    build_rest_loads(&built, &state);
    build_set_positions(&built, &paths->supply, positions, &state);
    build_set_sources(&built, paths->model, positions, full_speed(paths->model));
    for (uint32_t i = 0; i < built.network.battery_count; i++) {
        build_set_charge(&built, paths->model, i, 100.0, &state);
    }
    SolveResult result;
    bool good =
        phases_solve(paths->plan, &built, &paths->supply, &state, NULL, &scratch, &result, NULL);
    sneaker->sneaks->solved++;
    sneaker->solved += built.network.node_count;
    Sneak *sneak = &group->sneak;
    uint32_t node = network_node(sneaker, target);
    double volts_v = good ? fabs(result.node_v[node]) : 0.0;
    double amps_a =
        !good  ? 0.0
        : hard ? fmax(sum_into(sneaker, &result, node), along_path(sneaker, &result, origin))
               : sum_large(sneaker, &result);
    if (!good) {
        sneak->verdict = sneak->verdict == SNEAK_LIVE ? SNEAK_LIVE : SNEAK_NOT_SOLVED;
    }
    bool live = volts_v > sneaker->limit_v || amps_a > sneaker->limit_a;
    if (live) {
        sneak->verdict = SNEAK_LIVE;
    }
    if (sneak->choice == NULL || volts_v > sneak->volts_v) {
        sneak->volts_v = volts_v;
        sneak->amps_a = amps_a;
        sneak->choice = ARENA_ARRAY(sneaker->out, uint8_t, sneaker->digits);
        memcpy(sneak->choice, sneaker->choice, sneaker->digits);
    }
    arena_free(&scratch);
    return live;
}

/* --- groups -------------------------------------------------------------------------------------
 */

static Group *group_of(Sneaker *sneaker, uint32_t target, uint32_t origin) {
    const SneakGraph *graph = sneaker->graph;
    BusId from = graph->bus[origin];
    uint32_t source = ID_NONE;
    for (uint32_t i = 0; from == ID_NONE && i < graph->source_count; i++) {
        source = graph->sources[i].node == origin ? graph->sources[i].source : source;
    }
    for (size_t i = 0; i < sneaker->group_count; i++) {
        Group *group = &sneaker->groups[i];
        if (group->target == target && group->sneak.from == from && group->sneak.source == source) {
            return group;
        }
    }
    Group *group = ARENA_PUSH(&sneaker->scratch, sneaker->groups, sneaker->group_count,
                              sneaker->group_capacity);
    *group = (Group){
        .sneak = {.port = sneaker->targets[target].port,
                  .bus = sneaker->targets[target].bus,
                  .from = from,
                  .source = source,
                  .bound_a = 0.0},
        .target = target,
    };
    return group;
}

/* A combination in which current reaches a target that should be dead. */
static void meet(Sneaker *sneaker, uint32_t number, const bool *firm) {
    const Target *target = &sneaker->targets[number];
    bool hard = firm[target->node];
    double bound_a = 0.0;
    uint32_t origin = find_origin(sneaker, target->node, hard, &bound_a);
    if (origin == ID_NONE) {
        return;
    }
    Group *group = group_of(sneaker, number, origin);
    Sneak *sneak = &group->sneak;
    sneak->combinations++;
    bool small = bound_a <= sneaker->limit_a;
    if (hard || isnan(sneak->bound_a)) {
        sneak->bound_a = (double)NAN; /* one way without a large resistance is enough */
    } else {
        sneak->bound_a = fmax(sneak->bound_a, bound_a);
    }
    if (small && group->begun) {
        sneak->seen++;
        return;
    }
    group->begun = true;
    uint64_t state = state_hash(sneaker, target->node);
    for (size_t i = 0; i < group->state_count; i++) {
        if (group->states[i] >> 1 == state >> 1) {
            sneak->seen++;
            sneak->live += group->states[i] & 1U;
            return;
        }
    }
    if (sneaker->solved >= SOLVE_MAX) {
        return;
    }
    sneak->seen++;
    if (sneak->path == NULL) {
        find_origin(sneaker, target->node, hard, &bound_a);
        keep_path(sneaker, origin, sneak);
    }
    bool live = solve(sneaker, group, target, origin, hard);
    sneak->live += live ? 1U : 0U;
    *ARENA_PUSH(&sneaker->scratch, group->states, group->state_count, group->state_capacity) =
        (state & ~(uint64_t)1) | (live ? 1U : 0U);
}

/* --- all combinations ---------------------------------------------------------------------------
 */

static void look(Sneaker *sneaker, bool *box_live, bool *firm, bool *easy) {
    const SneakGraph *graph = sneaker->graph;
    sneaker->sneaks->looked++;
    settle_coils(sneaker);
    follow_feeds(sneaker, box_live);
    bool any = false;
    for (uint32_t i = 0; i < sneaker->target_count; i++) {
        any = any || (sneaker->reached[sneaker->targets[i].node] &&
                      !is_live(sneaker, &sneaker->targets[i]));
    }
    if (!any) {
        return;
    }
    sneaker->sneaks->with_sneaks++;
    memcpy(easy, sneaker->reached, graph->node_count * sizeof *easy);
    reach(sneaker, true);
    memcpy(firm, sneaker->reached, graph->node_count * sizeof *firm);
    memcpy(sneaker->reached, easy, graph->node_count * sizeof *easy);
    mark_given(sneaker);
    for (uint32_t i = 0; i < sneaker->target_count; i++) {
        if (sneaker->reached[sneaker->targets[i].node] && !is_live(sneaker, &sneaker->targets[i])) {
            meet(sneaker, i, firm);
        }
    }
}

/* Sets the digits to a phase's positions. */
static void choose_phase(Sneaker *sneaker, uint32_t phase) {
    const SneakGraph *graph = sneaker->graph;
    const Model *model = sneaker->paths->model;
    const char *const *positions = sneaker->paths->ordinary->positions[phase];
    memset(sneaker->choice, 0, sneaker->digits);
    for (uint32_t i = 0; i < graph->switch_count; i++) {
        for (uint32_t k = 0; k < graph->switches[i].count; k++) {
            if (strcmp(graph->switches[i].words[k], positions[graph->switches[i].owner]) == 0) {
                sneaker->choice[i] = (uint8_t)k;
            }
        }
    }
    for (uint32_t i = 0; i < graph->source_count; i++) {
        OwnerId owner = model_owner(model, model->set->source.rows[graph->sources[i].source].unit);
        sneaker->choice[graph->switch_count + i] = strcmp(positions[owner], "off") != 0;
    }
}

/* Too many combinations for one by one: every phase's own, and all that differ from it in one
 * thing; in two while there is room. */
static void look_near_phases(Sneaker *sneaker, bool *box_live, bool *firm, bool *easy) {
    size_t phases = sneaker->paths->model->set->phase.count;
    for (uint32_t phase = 0; phase < phases; phase++) {
        for (uint32_t a = 0; a < sneaker->digits; a++) {
            for (uint32_t b = a; b < sneaker->digits; b++) {
                if (sneaker->walked >= WALK_MAX) {
                    return;
                }
                choose_phase(sneaker, phase);
                sneaker->choice[a] = (uint8_t)((sneaker->choice[a] + 1) % sneaker->radix[a]);
                if (b != a) {
                    sneaker->choice[b] = (uint8_t)((sneaker->choice[b] + 1) % sneaker->radix[b]);
                }
                look(sneaker, box_live, firm, easy);
            }
        }
    }
}

static bool count_up(Sneaker *sneaker) {
    for (uint32_t i = sneaker->digits; i-- > 0;) {
        if (++sneaker->choice[i] < sneaker->radix[i]) {
            return true;
        }
        sneaker->choice[i] = 0;
    }
    return false;
}

static void look_at_all(Sneaker *sneaker) {
    const SneakGraph *graph = sneaker->graph;
    Sneaks *sneaks = sneaker->sneaks;
    double product = 1.0;
    for (uint32_t i = 0; i < sneaker->digits; i++) {
        sneaker->radix[i] = (uint8_t)(i < graph->switch_count ? graph->switches[i].count : 2);
        product *= sneaker->radix[i];
    }
    Arena *scratch = &sneaker->scratch;
    bool *box_live = ARENA_ARRAY(scratch, bool, sneaker->paths->model->owner_count);
    bool *firm = ARENA_ARRAY(scratch, bool, graph->node_count);
    bool *easy = ARENA_ARRAY(scratch, bool, graph->node_count);
    /* At least twice over the edges and once over the nodes for each. */
    if (product * (2.0 * graph->edge_count + graph->node_count) > WALK_MAX) {
        look_near_phases(sneaker, box_live, firm, easy);
    } else {
        do {
            look(sneaker, box_live, firm, easy);
        } while (count_up(sneaker));
    }
    sneaks->possible = graph->all_combinations;
    sneaks->alike = graph->all_combinations - product;
    sneaks->not_tried = product - (double)sneaks->looked;
    sneaks->not_tried = fmax(sneaks->not_tried, 0.0);
}

/* --- exported -----------------------------------------------------------------------------------
 */

static int compare_groups(const void *left, const void *right) {
    const Sneak *a = &((const Group *)left)->sneak;
    const Sneak *b = &((const Group *)right)->sneak;
    if (a->port != b->port) {
        return a->port < b->port ? -1 : 1;
    }
    if (a->from != b->from) {
        return a->from < b->from ? -1 : 1;
    }
    return a->source < b->source ? -1 : (a->source > b->source ? 1 : 0);
}

static double highest_v(const Model *model) {
    double ceiling_v = 0.0;
    for (size_t i = 0; i < model->set->source.count; i++) {
        OwnerId owner = model_owner(model, model->set->source.rows[i].unit);
        const char *part =
            owner == ID_NONE ? "" : model->set->unit.rows[model->owners[owner].row].part;
        uint32_t battery = model_row(model, TABLE_battery, part);
        uint32_t alternator = model_row(model, TABLE_alternator, part);
        if (battery != ID_NONE) {
            ceiling_v = fmax(ceiling_v, model->set->battery.rows[battery].open_circuit_v);
        }
        if (alternator != ID_NONE) {
            ceiling_v = fmax(ceiling_v, model->set->alternator.rows[alternator].regulated_v);
        }
    }
    return ceiling_v;
}

static void run(Arena *out, const Paths *paths, bool whole, Sneaks *sneaks, Findings *findings) {
    *sneaks = (Sneaks){0};
    const Model *model = paths->model;
    Sneaker *sneaker = ARENA_NEW(out, Sneaker);
    *sneaker = (Sneaker){
        .out = out,
        .paths = paths,
        .sneaks = sneaks,
        .graph = &sneaks->graph,
        .ceiling_v = highest_v(model),
        .limit_v = model_limit(model, SNEAK_LIMIT_V),
        .limit_a = model_limit(model, SNEAK_LIMIT_A),
    };
    sneak_graph_build(out, paths, sneaker->limit_v, whole, &sneaks->graph);
    const SneakGraph *graph = &sneaks->graph;
    Arena *scratch = &sneaker->scratch;
    sneaker->digits = graph->switch_count + graph->source_count;
    sneaker->choice = ARENA_ARRAY(scratch, uint8_t, sneaker->digits);
    sneaker->radix = ARENA_ARRAY(scratch, uint8_t, sneaker->digits);
    sneaker->energised = ARENA_ARRAY(scratch, bool, graph->coil_count);
    sneaker->reached = ARENA_ARRAY(scratch, bool, graph->node_count);
    sneaker->low = ARENA_ARRAY(scratch, bool, graph->node_count);
    sneaker->given = ARENA_ARRAY(scratch, bool, graph->node_count);
    sneaker->mark = ARENA_ARRAY(scratch, bool, graph->node_count);
    sneaker->queue = ARENA_ARRAY(scratch, uint32_t, graph->node_count);
    sneaker->from_edge = ARENA_ARRAY(scratch, uint32_t, graph->node_count);
    sneaker->large = ARENA_ARRAY(scratch, uint32_t, 2 * (size_t)graph->edge_count);
    sneaker->live = ARENA_ARRAY(scratch, bool, model->set->bus.count);
    sneaker->port_live = ARENA_ARRAY(scratch, bool, graph->feed_count);
    list_targets(sneaker);
    look_at_all(sneaker);
    if (sneaker->group_count > 1) {
        qsort(sneaker->groups, sneaker->group_count, sizeof *sneaker->groups, compare_groups);
    }
    sneaks->rows = ARENA_ARRAY(out, Sneak, sneaker->group_count);
    for (size_t i = 0; i < sneaker->group_count; i++) {
        sneaks->rows[sneaks->count++] = sneaker->groups[i].sneak;
    }
    sneak_shared_lines(out, paths, sneaks);
    sneak_report(paths, sneaks, findings);
    Arena left = sneaker->scratch;
    arena_free(&left);
}

void sneak_run(Arena *out, const Paths *paths, Sneaks *sneaks, Findings *findings) {
    run(out, paths, false, sneaks, findings);
}

void sneak_run_whole(Arena *out, const Paths *paths, Sneaks *sneaks, Findings *findings) {
    run(out, paths, true, sneaks, findings);
}
