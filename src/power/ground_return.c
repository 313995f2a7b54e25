/* Method: with the structure as reference the ground metal falls apart into islands that share
 * nothing but the structure. One ampere into a point raises every point x of its island by G(x):
 * the resistance between two points of an island is G(g,g) + G(s,s) - 2 G(s,g), between points of
 * two islands G(g,g) + G(s,s). One solution serves one point of every island at once, so there are
 * no more solutions than the largest island has points. */
#include "power/ground_return.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "power/merge.h"
#include "model/report.h"
#include "power/solve.h"

/* A ground point at which boxes return, or the ground of a source. */
typedef struct Spot {
    uint32_t island;
    uint32_t node;   /* in the metal */
    OwnerId point;   /* ID_NONE: of a source */
    uint32_t source; /* ID_NONE: a ground point's */
    double own_ohm;  /* G of itself */
} Spot;

typedef struct Metal {
    Network network;
    uint32_t *node;   /* by node of the whole network: node here, NETWORK_NONE */
    uint32_t *island; /* by node here */
    bool *bonded;     /* by island: joined to the structure */
    Spot *spots;      /* by island, ground points before sources */
    uint32_t spot_count;
} Metal;

/* --- which points -------------------------------------------------------------------------------
 */

/* Whole-network node of a ground point, NETWORK_NONE. */
static uint32_t point_of(const Model *model, const PowerNetwork *built, OwnerId owner) {
    const ModelOwner *row = &model->owners[owner];
    return row->terminal_count == 0
               ? NETWORK_NONE
               : built->point_node[model->terminals[row->terminal_first].pin_first];
}

/* Whole-network node where a source is grounded, NETWORK_NONE. */
static uint32_t source_ground(const Model *model, const Wiring *wiring, const PowerNetwork *built,
                              uint32_t source) {
    const SourceRow *row = &model->set->source.rows[source];
    OwnerId owner = model_owner(model, row->unit);
    if (owner == ID_NONE) {
        return NETWORK_NONE;
    }
    if (*row->minus == '\0') {
        return built->point_node[gates_case_point(model, owner)];
    }
    uint32_t pin = gates_owner_point(model, owner, row->minus);
    NetId net = pin >= model->pin_count ? ID_NONE : wiring->pin_net[pin];
    for (uint32_t i = 0; net != ID_NONE && i < wiring->nets[net].end_count; i++) {
        TerminalId end = wiring->ends[wiring->nets[net].end_first + i];
        OwnerId at = model->terminals[end].owner;
        if (model->owners[at].kind == OWNER_GROUND) {
            return point_of(model, built, at);
        }
    }
    return NETWORK_NONE;
}

/* Marks the ground points at which a box or switch returns. */
static void mark_used(const Model *model, const Wiring *wiring, bool *used) {
    for (NetId net = 0; net < wiring->net_count; net++) {
        const Net *row = &wiring->nets[net];
        OwnerId ground = ID_NONE;
        bool box = false;
        for (uint32_t i = 0; i < row->end_count; i++) {
            OwnerId owner = model->terminals[wiring->ends[row->end_first + i]].owner;
            OwnerKind kind = model->owners[owner].kind;
            ground = kind == OWNER_GROUND && ground == ID_NONE ? owner : ground;
            box = box || kind == OWNER_SWITCHGEAR ||
                  (kind == OWNER_UNIT &&
                   model_row(model, TABLE_source, model->owners[owner].tag) == ID_NONE);
        }
        if (box && ground != ID_NONE) {
            used[ground] = true;
        }
    }
}

/* --- the metal ----------------------------------------------------------------------------------
 */

static uint32_t metal_node(Metal *metal, uint32_t whole) {
    if (metal->node[whole] == NETWORK_NONE) {
        metal->node[whole] = metal->network.node_count++;
    }
    return metal->node[whole];
}

/* Nodes of ground points and of everything bonded. */
static void mark_metal(const Model *model, const PowerNetwork *built, Metal *metal) {
    metal->network.node_count = 1;
    metal->node[0] = 0;
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        uint32_t node = model->owners[owner].kind == OWNER_GROUND ? point_of(model, built, owner)
                                                                  : NETWORK_NONE;
        if (node != NETWORK_NONE) {
            metal_node(metal, node);
        }
    }
    for (uint32_t i = 0; i < built->network.resistor_count; i++) {
        if (built->resistor_source[i].kind == BUILD_BOND) {
            metal_node(metal, built->network.resistors[i].a);
            metal_node(metal, built->network.resistors[i].b);
        }
    }
}

static void add_metal(Arena *arena, const PowerNetwork *built, Metal *metal) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < built->network.resistor_count; i++) {
        const NetworkResistor *row = &built->network.resistors[i];
        count += metal->node[row->a] != NETWORK_NONE && metal->node[row->b] != NETWORK_NONE;
    }
    metal->network.resistors = ARENA_ARRAY(arena, NetworkResistor, count);
    for (uint32_t i = 0; i < built->network.resistor_count; i++) {
        const NetworkResistor *row = &built->network.resistors[i];
        if (metal->node[row->a] != NETWORK_NONE && metal->node[row->b] != NETWORK_NONE) {
            metal->network.resistors[metal->network.resistor_count++] =
                (NetworkResistor){metal->node[row->a], metal->node[row->b], row->ohm};
        }
    }
}

/* Islands are named by their first node. One that does not reach the structure is tied to it at
 * that node: a single tie carries nothing, but gives the island a reference. */
static void find_islands(Arena *arena, Metal *metal) {
    Network *network = &metal->network;
    metal->island = ARENA_ARRAY(arena, uint32_t, network->node_count);
    metal->bonded = ARENA_ARRAY(arena, bool, network->node_count);
    merge_start(metal->island, network->node_count);
    for (uint32_t i = 0; i < network->resistor_count; i++) {
        const NetworkResistor *row = &network->resistors[i];
        if (row->a != 0 && row->b != 0) {
            merge_join(metal->island, row->a, row->b);
        }
    }
    for (uint32_t node = 0; node < network->node_count; node++) {
        metal->island[node] = merge_root(metal->island, node);
    }
    for (uint32_t i = 0; i < network->resistor_count; i++) {
        const NetworkResistor *row = &network->resistors[i];
        if (row->a == 0 || row->b == 0) {
            metal->bonded[metal->island[row->a == 0 ? row->b : row->a]] = true;
        }
    }
    for (uint32_t i = 0; i < network->resistor_count; i++) {
        NetworkResistor *row = &network->resistors[i];
        row->a = metal->island[row->a] == row->a && !metal->bonded[row->a] ? 0 : row->a;
        row->b = metal->island[row->b] == row->b && !metal->bonded[row->b] ? 0 : row->b;
    }
}

static void add_spot(Metal *metal, uint32_t whole, OwnerId point, uint32_t source) {
    uint32_t node = metal->node[whole];
    uint32_t island = metal->island[node];
    bool tied = island == node && !metal->bonded[island];
    metal->spots[metal->spot_count++] = (Spot){
        .island = island,
        .node = tied ? 0 : node,
        .point = point,
        .source = source,
    };
}

static int compare_spots(const void *left, const void *right) {
    const Spot *a = left;
    const Spot *b = right;
    if (a->island != b->island) {
        return a->island < b->island ? -1 : 1;
    }
    /* ID_NONE is the largest: ground points come first, each kind in its own order. */
    if (a->point != b->point) {
        return a->point < b->point ? -1 : 1;
    }
    return a->source < b->source ? -1 : (a->source > b->source ? 1 : 0);
}

static void list_spots(Arena *arena, const Model *model, const Wiring *wiring,
                       const PowerNetwork *built, Metal *metal) {
    bool *used = ARENA_ARRAY(arena, bool, model->owner_count);
    mark_used(model, wiring, used);
    metal->spots = ARENA_ARRAY(arena, Spot, (size_t)model->owner_count + model->set->source.count);
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        uint32_t node = used[owner] ? point_of(model, built, owner) : NETWORK_NONE;
        if (node != NETWORK_NONE) {
            add_spot(metal, node, owner, ID_NONE);
        }
    }
    for (uint32_t source = 0; source < model->set->source.count; source++) {
        uint32_t node = source_ground(model, wiring, built, source);
        if (node != NETWORK_NONE && metal->node[node] != NETWORK_NONE) {
            add_spot(metal, node, ID_NONE, source);
        }
    }
    if (metal->spot_count > 1) {
        qsort(metal->spots, metal->spot_count, sizeof *metal->spots, compare_spots);
    }
    /* A source of one volt behind one ohm for each, switched on in turn. */
    Network *network = &metal->network;
    network->batteries = ARENA_ARRAY(arena, NetworkBattery, metal->spot_count);
    network->battery_count = metal->spot_count;
    for (uint32_t i = 0; i < metal->spot_count; i++) {
        network->batteries[i] = (NetworkBattery){metal->spots[i].node, 0, 1.0, (double)INFINITY};
    }
}

/* --- resistances --------------------------------------------------------------------------------
 */

typedef struct Island {
    uint32_t first; /* spots */
    uint32_t end;
} Island;

/* Ohms between the spots `from` and `to` of one island, when `from` is the one switched on. */
static double between(const Metal *metal, const SolveResult *result, uint32_t from, uint32_t to) {
    double amps_a = result->battery_a[from];
    double raised_v = result->node_v[metal->spots[to].node];
    return amps_a > 0.0 ? raised_v / amps_a : 0.0;
}

/* Keeps the worse of two. */
static void offer(GroundReturn *worst, uint32_t source, double ohm) {
    if (worst->source == ID_NONE || ohm > worst->ohm) {
        worst->source = source;
        worst->ohm = fmax(ohm, 0.0);
    }
}

/* Largest G of a source's ground in any other bonded island. */
typedef struct Farthest {
    uint32_t spot[2]; /* the two worst, of different islands; NETWORK_NONE */
} Farthest;

static Farthest find_farthest(const Metal *metal) {
    Farthest farthest = {{NETWORK_NONE, NETWORK_NONE}};
    for (uint32_t i = 0; i < metal->spot_count; i++) {
        const Spot *spot = &metal->spots[i];
        if (spot->source == ID_NONE || !metal->bonded[spot->island]) {
            continue;
        }
        for (int rank = 0; rank < 2; rank++) {
            uint32_t held = farthest.spot[rank];
            if (held == NETWORK_NONE || spot->own_ohm > metal->spots[held].own_ohm) {
                bool same = held != NETWORK_NONE && metal->spots[held].island == spot->island;
                if (rank == 0 && !same) {
                    farthest.spot[1] = held;
                }
                farthest.spot[rank] = i;
                break;
            }
            if (metal->spots[held].island == spot->island) {
                break;
            }
        }
    }
    return farthest;
}

/* Solves with the k-th spot of every island switched on, for every k: fills own_ohm, and
 * share[from][i]: G of the i-th spot of the island for one ampere into `from`. */
static void solve_islands(Arena *arena, Metal *metal, const Island *islands, uint32_t island_count,
                          double **share) {
    uint32_t most = 0;
    for (uint32_t i = 0; i < island_count; i++) {
        uint32_t size = islands[i].end - islands[i].first;
        most = size > most ? size : most;
    }
    SolvePlan *plan = solve_analyse(arena, &metal->network);
    NetworkState state = network_state_rest(arena, &metal->network);
    for (uint32_t k = 0; k < most; k++) {
        for (uint32_t i = 0; i < island_count; i++) {
            if (islands[i].first + k < islands[i].end) {
                metal->network.batteries[islands[i].first + k].ohm = 1.0;
            }
        }
        SolveResult result;
        bool found = solve_run(plan, &state, NULL, NULL, &result);
        for (uint32_t i = 0; i < island_count; i++) {
            uint32_t from = islands[i].first + k;
            if (from >= islands[i].end) {
                continue;
            }
            metal->network.batteries[from].ohm = (double)INFINITY;
            for (uint32_t to = islands[i].first; found && to < islands[i].end; to++) {
                double ohm = metal->spots[from].node == 0 ? 0.0 : between(metal, &result, from, to);
                share[from][to - islands[i].first] = ohm;
                if (to == from) {
                    metal->spots[from].own_ohm = ohm;
                }
            }
        }
    }
}

static uint32_t list_islands(Arena *arena, const Metal *metal, Island **islands, double ***share) {
    uint32_t count = 0;
    *islands = ARENA_ARRAY(arena, Island, metal->spot_count);
    *share = ARENA_ARRAY(arena, double *, metal->spot_count);
    for (uint32_t first = 0; first < metal->spot_count;) {
        uint32_t end = first;
        while (end < metal->spot_count && metal->spots[end].island == metal->spots[first].island) {
            end++;
        }
        for (uint32_t i = first; i < end; i++) {
            (*share)[i] = ARENA_ARRAY(arena, double, end - first);
        }
        (*islands)[count++] = (Island){first, end};
        first = end;
    }
    return count;
}

/* --- exported -----------------------------------------------------------------------------------
 */

static int compare_points(const void *left, const void *right) {
    OwnerId a = ((const GroundReturn *)left)->point;
    OwnerId b = ((const GroundReturn *)right)->point;
    return a < b ? -1 : (a > b ? 1 : 0);
}

uint32_t ground_return_list(Arena *out, const Model *model, const Wiring *wiring,
                            const PowerNetwork *built, GroundReturn **rows) {
    Metal metal = {.node = ARENA_ARRAY(out, uint32_t, built->network.node_count)};
    memset(metal.node, 0xff, built->network.node_count * sizeof *metal.node);
    mark_metal(model, built, &metal);
    add_metal(out, built, &metal);
    find_islands(out, &metal);
    list_spots(out, model, wiring, built, &metal);
    Island *islands = NULL;
    double **share = NULL;
    uint32_t island_count = list_islands(out, &metal, &islands, &share);
    solve_islands(out, &metal, islands, island_count, share);
    Farthest farthest = find_farthest(&metal);
    *rows = ARENA_ARRAY(out, GroundReturn, metal.spot_count);
    uint32_t count = 0;
    for (uint32_t i = 0; i < island_count; i++) {
        for (uint32_t g = islands[i].first; g < islands[i].end; g++) {
            const Spot *spot = &metal.spots[g];
            if (spot->point == ID_NONE) {
                continue;
            }
            GroundReturn worst = {spot->point, ID_NONE, 0.0};
            for (uint32_t s = islands[i].first; s < islands[i].end; s++) {
                if (metal.spots[s].source != ID_NONE) {
                    offer(&worst, metal.spots[s].source,
                          spot->own_ohm + metal.spots[s].own_ohm -
                              2.0 * share[g][s - islands[i].first]);
                }
            }
            for (int rank = 0; rank < 2 && metal.bonded[spot->island]; rank++) {
                uint32_t s = farthest.spot[rank];
                if (s != NETWORK_NONE && metal.spots[s].island != spot->island) {
                    offer(&worst, metal.spots[s].source, spot->own_ohm + metal.spots[s].own_ohm);
                    break;
                }
            }
            if (worst.source != ID_NONE) {
                (*rows)[count++] = worst;
            }
        }
    }
    if (count > 1) {
        qsort(*rows, count, sizeof **rows, compare_points);
    }
    return count;
}

void ground_return_check(const Model *model, const Wiring *wiring, const PowerNetwork *built,
                         Findings *findings) {
    Arena scratch = {0};
    GroundReturn *rows = NULL;
    uint32_t count = ground_return_list(&scratch, model, wiring, built, &rows);
    double limit_mohm = model_limit(model, "return_path");
    for (uint32_t i = 0; i < count; i++) {
        double mohm = 1000.0 * rows[i].ohm;
        if (mohm <= limit_mohm) {
            continue;
        }
        const char *source = model->set->source.rows[rows[i].source].unit;
        Finding *finding =
            report_owner(findings, model, RULE_SOLVE_GROUND_RETURN, rows[i].point,
                         "%s is %.1f mohm from the ground of %s; %.0f mohm are allowed",
                         model->owners[rows[i].point].tag, mohm, source, limit_mohm);
        finding->value = mohm;
        finding->limit = limit_mohm;
        finding->unit = "mohm";
        finding->source = model_limit_row(model, "return_path")->source;
        finding->rows = source;
        finding->hint = "better bonds, or a cable between the two ground points";
    }
    arena_free(&scratch);
}
