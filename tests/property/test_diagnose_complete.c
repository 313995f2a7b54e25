/* The diagnosis is complete: on small harnesses drawn with a fixed seed every set of up to two
 * errors is tried by force, in a model of its own that shares no code with the search (places,
 * contacts, union-find, nodal equations), and the sets that give all readings are held against the
 * answer: the same least number of errors, every set in a class, no set that does not fit, and no
 * two sets in one class that some reading would part. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/bench.h"
#include "shop/diagnose.h"

static const uint64_t SEED = 0x434f4d50u;
static const double HIGH_OHM = 10.0; /* what the diagnosis takes for a bad joint */
static const double BAD_OHM = 5.0;   /* what is planted */

#ifdef MARLING_SANITIZED
enum { RIGS = 4 };
#else
enum { RIGS = 120 };
#endif

enum {
    POINTS_MAX = 40,
    EDGES_MAX = 40,
    NODES_MAX = 2 * POINTS_MAX,
    PLANTED = 12,
    MORE = 4,
    HIDDEN_EVERY = 4
};

static uint32_t draw(uint64_t *state, uint32_t below) {
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)(*state >> 33) % below;
}

static Proof proof; /* limits of the library */

static int set_up(void **state) {
    (void)state;
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library", .no_faults = true};
    proof_run(MARLING_SOURCE_DIR "/examples/first", &options, &proof);
    assert_true(proof.complete);
    return 0;
}

static int tear_down(void **state) {
    (void)state;
    proof_free(&proof);
    return 0;
}

/* --- harnesses ----------------------------------------------------------------------------------
 */

typedef struct Drawn {
    Arena arena;
    Rig rig;
    Ringout ringout;
    WrongList list;
} Drawn;

static RigPointId put_point(Drawn *harness, RigPointKind kind, const char *name, uint32_t plug,
                            uint32_t cavity) {
    Rig *rig = &harness->rig;
    RigPointId id = rig->point_count++;
    assert_true(id < POINTS_MAX);
    rig->points[id] = (RigPoint){.kind = kind,
                                 .name = name,
                                 .plug = plug,
                                 .cavity = cavity,
                                 .reachable = kind != RIG_CUT,
                                 .filled = kind != RIG_CAVITY,
                                 .net = ID_NONE};
    name_map_add(&rig->point_by_name, &harness->arena, name, id);
    return id;
}

static const Face *make_face(Arena *arena, uint32_t ways) {
    Face *face = ARENA_NEW(arena, Face);
    face->ways = ways;
    face->names = ARENA_ARRAY(arena, const char *, ways);
    face->near_first = ARENA_ARRAY(arena, uint32_t, (size_t)ways + 1);
    face->near = ARENA_ARRAY(arena, uint32_t, 2 * (size_t)ways);
    uint32_t at = 0;
    for (uint32_t i = 0; i < ways; i++) { /* a row: the next and the one before */
        face->names[i] = arena_format(arena, "%u", i + 1);
        if (i > 0) {
            face->near[at++] = i - 1;
        }
        if (i + 1 < ways) {
            face->near[at++] = i + 1;
        }
        face->near_first[i + 1] = at;
    }
    return face;
}

static void put_plug(Drawn *harness, const char *name, uint32_t ways, bool metal) {
    Rig *rig = &harness->rig;
    uint32_t id = rig->plug_count++;
    RigPlug *plug = &rig->plugs[id];
    *plug = (RigPlug){.name = name, .face = make_face(&harness->arena, ways), .mate = ID_NONE};
    plug->cavities = true;
    plug->point_first = rig->point_count;
    for (uint32_t k = 0; k < ways; k++) {
        put_point(harness, RIG_CAVITY, arena_format(&harness->arena, "%s-%u", name, k + 1), id, k);
    }
    plug->shell = metal ? put_point(harness, RIG_SHELL,
                                    arena_format(&harness->arena, "%s.shell", name), id, ID_NONE)
                        : ID_NONE;
}

static void put_edge(Drawn *harness, RigEdgeKind kind, RigPointId a, RigPointId b, double ohm,
                     bool power) {
    Rig *rig = &harness->rig;
    assert_true(rig->edge_count < EDGES_MAX);
    rig->edges[rig->edge_count] =
        (RigEdge){.kind = kind,
                  .key = arena_format(&harness->arena, "W%02u", rig->edge_count + 1),
                  .a = a,
                  .b = b,
                  .ohm = ohm,
                  .power = power};
    rig->edge_count++;
    if (kind == RIG_WIRE || kind == RIG_SCREEN) {
        rig->points[a].filled = true;
        rig->points[b].filled = true;
    }
}

static double draw_bond_ohm(uint64_t *random) {
    return 1e-3 * (1.0 + 0.001 * draw(random, 2000));
}

/* A short wire, or one so long that it shows which way a current goes. */
static double draw_ohm(uint64_t *random) {
    double ohm = draw_bond_ohm(random);
    return draw(random, 4) == 0 ? 80.0 * ohm : ohm;
}

/* A free cavity of the plug, or now and then one that has a wire already. */
static RigPointId draw_cavity(Drawn *harness, uint64_t *random, uint32_t plug) {
    const RigPlug *row = &harness->rig.plugs[plug];
    RigPointId point = row->point_first + draw(random, row->face->ways);
    for (uint32_t k = 0; k < row->face->ways && harness->rig.points[point].filled; k++) {
        if (draw(random, 4) == 0) {
            break;
        }
        point = row->point_first + draw(random, row->face->ways);
    }
    return point;
}

/* Two plugs, in between a mated pair or none, a free lug, blocks on structure, shields, wires, and
 * a terminator or two: each there or not. */
static void draw_harness(Drawn *harness, uint64_t *random) {
    *harness = (Drawn){0};
    Rig *rig = &harness->rig;
    Arena *arena = &harness->arena;
    rig->model = &proof.model;
    rig->name = "drawn";
    rig->module = 0;
    rig->points = ARENA_ARRAY(arena, RigPoint, POINTS_MAX);
    rig->plugs = ARENA_ARRAY(arena, RigPlug, 4);
    rig->edges = ARENA_ARRAY(arena, RigEdge, EDGES_MAX);
    bool mated = draw(random, 2) == 0;
    bool metal = draw(random, 2) == 0;
    bool power = draw(random, 3) == 0;
    put_plug(harness, "A", 3 + draw(random, 3), metal);
    put_plug(harness, "B", 3 + draw(random, 2), draw(random, 2) == 0);
    if (mated) {
        uint32_t ways = 3 + draw(random, 2);
        put_plug(harness, "C", ways, metal);
        put_plug(harness, "D", ways, metal);
    }
    RigPointId lug = put_point(harness, RIG_LUG, "L", ID_NONE, ID_NONE);
    RigPointId cut = put_point(harness, RIG_CUT, "cut", ID_NONE, ID_NONE);
    RigPointId block = ID_NONE;
    if (draw(random, 2) == 0) {
        block = put_point(harness, RIG_BLOCK, "block", ID_NONE, ID_NONE);
        RigPointId structure = put_point(harness, RIG_STRUCTURE, "structure", ID_NONE, ID_NONE);
        put_edge(harness, RIG_BOND, block, structure, draw_bond_ohm(random), true);
    }
    uint32_t wires = 2 + draw(random, 4);
    for (uint32_t i = 0; i < wires; i++) {
        if (mated && draw(random, 3) > 0) { /* through the pair: two wires in one row */
            uint32_t way = draw(random, rig->plugs[2].face->ways);
            put_edge(harness, RIG_WIRE, draw_cavity(harness, random, 0),
                     rig->plugs[2].point_first + way, draw_ohm(random), power);
            put_edge(harness, draw(random, 4) == 0 ? RIG_SCREEN : RIG_WIRE,
                     rig->plugs[3].point_first + way,
                     draw(random, 4) == 0 ? cut : draw_cavity(harness, random, 1), draw_ohm(random),
                     power);
        } else {
            RigPointId b = draw(random, 3) > 0                   ? draw_cavity(harness, random, 1)
                           : block != ID_NONE && draw(random, 2) ? block
                                                                 : lug;
            put_edge(harness, RIG_WIRE, draw_cavity(harness, random, 0), b, draw_ohm(random),
                     power);
        }
    }
    if (rig->plugs[0].shell != ID_NONE && draw(random, 2) == 0) {
        put_edge(harness, RIG_SCREEN, rig->plugs[0].shell, draw_cavity(harness, random, 1),
                 draw_ohm(random), false);
    }
    for (uint32_t k = 0; mated && k < rig->plugs[2].face->ways + metal; k++) {
        RigPointId a = rig->plugs[2].point_first + k;
        RigPointId b = rig->plugs[3].point_first + k;
        put_edge(harness, RIG_MATE, a, b, 1e-3, false);
        rig->points[a].reachable = rig->points[a].kind == RIG_SHELL;
        rig->points[b].reachable = rig->points[b].kind == RIG_SHELL;
    }
    RigPointId taken = 0; /* terminators of one contact are no chain that anybody builds */
    for (uint32_t i = draw(random, 3); i > 0; i--) {
        RigPointId a = taken + draw(random, 2);
        RigPointId b = a + 1 + draw(random, 2);
        if (b < rig->plugs[0].face->ways && rig->points[a].filled && rig->points[b].filled) {
            put_edge(harness, RIG_TERMINATOR, a, b, 120.0, false);
            taken = b + 1;
        }
    }
    rig_index(arena, rig);
    ringout_build(arena, rig, &harness->ringout);
    wrong_list(arena, rig, &harness->list);
}

/* --- the model of force -------------------------------------------------------------------------
 */

/* Nodes: places, and behind them a hook for each contact that is out of its cavity. */
typedef struct Forced {
    const Rig *rig;
    uint32_t node_of[POINTS_MAX];   /* by contact: where it is */
    uint32_t contact_in[NODES_MAX]; /* by node; ID_NONE */
    bool open[EDGES_MAX];
    bool high[EDGES_MAX];
    uint32_t touch[2][2]; /* pairs of places */
    uint32_t touch_count;
    uint32_t metal[NODES_MAX]; /* by node: root of what metal joins */
    uint32_t sound[NODES_MAX]; /* the same without edges of too many ohms */
} Forced;

static void place_contact(Forced *forced, uint32_t contact, uint32_t node) {
    forced->contact_in[node] = contact;
    if (contact != ID_NONE) {
        forced->node_of[contact] = node;
    }
}

static void force_error(Forced *forced, Wrong wrong) {
    uint32_t other = ID_NONE;
    switch (wrong.kind) {
    case WRONG_OPEN:
    case WRONG_ABSENT:
        forced->open[wrong.a] = true;
        break;
    case WRONG_HIGH:
        forced->high[wrong.a] = true;
        break;
    case WRONG_SHORT:
        forced->touch[forced->touch_count][0] = wrong.a;
        forced->touch[forced->touch_count++][1] = wrong.b;
        break;
    case WRONG_OUT:
        if (forced->node_of[wrong.a] < forced->rig->point_count) {
            forced->contact_in[forced->node_of[wrong.a]] = ID_NONE;
            place_contact(forced, wrong.a, forced->rig->point_count + wrong.a);
        }
        break;
    case WRONG_MOVE:
        other = forced->contact_in[wrong.b];
        place_contact(forced, forced->contact_in[wrong.a], wrong.b);
        place_contact(forced, other, wrong.a);
        break;
    case WRONG_KIND_COUNT:
        break;
    }
}

static uint32_t root_of(const uint32_t *up, uint32_t node) {
    while (up[node] != node) {
        node = up[node];
    }
    return node;
}

static void join(uint32_t *up, uint32_t a, uint32_t b) {
    uint32_t one = root_of(up, a);
    uint32_t two = root_of(up, b);
    up[one < two ? two : one] = one < two ? one : two;
}

/* The nodes an edge is between now: wires go with their contacts, mates and bonds stay. */
static void ends_of(const Forced *forced, uint32_t edge, uint32_t *a, uint32_t *b) {
    const RigEdge *row = &forced->rig->edges[edge];
    bool fixed = row->kind == RIG_MATE || row->kind == RIG_BOND;
    *a = fixed ? row->a : forced->node_of[row->a];
    *b = fixed ? row->b : forced->node_of[row->b];
}

static void force(const Rig *rig, const Wrong *wrongs, uint32_t count, Forced *forced) {
    *forced = (Forced){.rig = rig};
    for (uint32_t i = 0; i < 2 * rig->point_count; i++) {
        bool there = i < rig->point_count && rig->points[i].filled;
        forced->contact_in[i] = there ? i : ID_NONE;
        forced->metal[i] = i;
        forced->sound[i] = i;
        if (i < rig->point_count) {
            forced->node_of[i] = i;
        }
    }
    for (uint32_t i = 0; i < count; i++) {
        force_error(forced, wrongs[i]);
    }
    for (uint32_t e = 0; e < rig->edge_count; e++) {
        if (rig->edges[e].kind != RIG_TERMINATOR && !forced->open[e]) {
            uint32_t a = 0;
            uint32_t b = 0;
            ends_of(forced, e, &a, &b);
            join(forced->metal, a, b);
            if (!forced->high[e]) {
                join(forced->sound, a, b);
            }
        }
    }
    for (uint32_t i = 0; i < forced->touch_count; i++) {
        join(forced->metal, forced->touch[i][0], forced->touch[i][1]);
        join(forced->sound, forced->touch[i][0], forced->touch[i][1]);
    }
}

static bool metal_joins(const Forced *forced, uint32_t a, uint32_t b) {
    return root_of(forced->metal, a) == root_of(forced->metal, b);
}

/* Nodal equations over all nodes, by elimination; b is held at nought. Infinite: no way. */
static double force_ohm(const Forced *forced, uint32_t a, uint32_t b, double high_ohm) {
    const Rig *rig = forced->rig;
    static double g[NODES_MAX][NODES_MAX + 1];
    uint32_t up[NODES_MAX];
    uint32_t nodes = 2 * rig->point_count;
    for (uint32_t i = 0; i < nodes; i++) {
        memset(g[i], 0, sizeof g[i]);
        up[i] = i;
    }
    for (uint32_t e = 0; e < rig->edge_count + forced->touch_count; e++) {
        bool edge = e < rig->edge_count;
        uint32_t ends[2] = {0, 0};
        double ohm = 1e-7;
        if (edge && forced->open[e]) {
            continue;
        }
        if (edge) {
            ends_of(forced, e, &ends[0], &ends[1]);
            ohm = rig->edges[e].ohm + (forced->high[e] ? high_ohm : 0.0);
        } else {
            memcpy(ends, forced->touch[e - rig->edge_count], sizeof ends);
        }
        join(up, ends[0], ends[1]);
        if (ends[0] != ends[1]) {
            g[ends[0]][ends[0]] += 1.0 / ohm;
            g[ends[1]][ends[1]] += 1.0 / ohm;
            g[ends[0]][ends[1]] -= 1.0 / ohm;
            g[ends[1]][ends[0]] -= 1.0 / ohm;
        }
    }
    if (root_of(up, a) != root_of(up, b)) {
        return (double)INFINITY;
    }
    for (uint32_t i = 0; i < nodes; i++) { /* b, and what hangs apart, at nought */
        if (i == b || root_of(up, i) != root_of(up, a)) {
            memset(g[i], 0, sizeof g[i]);
            g[i][i] = 1.0;
        }
        g[i][nodes] = i == a && a != b ? 1.0 : 0.0;
    }
    for (uint32_t i = 0; i < nodes; i++) {
        for (uint32_t k = i + 1; k < nodes; k++) {
            double factor = g[k][i] / g[i][i];
            for (uint32_t c = i; c <= nodes && factor != 0.0; c++) {
                g[k][c] -= factor * g[i][c];
            }
        }
    }
    for (uint32_t i = nodes; i-- > 0;) {
        for (uint32_t c = i + 1; c < nodes; c++) {
            g[i][nodes] -= g[i][c] * g[c][nodes];
        }
        g[i][nodes] /= g[i][i];
    }
    return g[a][nodes];
}

/* Sound wires show a tenth more or less than they have, and four contacts of 20 milliohms. */
static double most_ohm(double ohm) {
    return 1.1 * ohm + 4 * 0.020;
}

static double least_ohm(double ohm) {
    return ohm / 1.1 - 4 * 0.020;
}

/* What the meter shows, as the diagnosis documents it: open, through, too high, a resistor. */
typedef enum Shown { SHOWN_OPEN, SHOWN_THROUGH, SHOWN_HIGH, SHOWN_RESISTOR } Shown;

typedef struct Look {
    bool chain;       /* held against ohms */
    bool by_ohms;     /* a loop is watched there */
    double limit_ohm; /* of a pair that is one net */
    bool one_net;
} Look;

static Look look_at(const Drawn *harness, const BenchReading *reading) {
    const Rig *rig = &harness->rig;
    uint32_t net_a = rig->points[reading->a[0]].net;
    uint32_t net_b = rig->points[reading->b[0]].net;
    Look look = {.one_net = net_a != ID_NONE && net_a == net_b,
                 .chain = net_a != net_b && net_a != ID_NONE && net_b != ID_NONE &&
                          rig->net_group[net_a] == rig->net_group[net_b],
                 .limit_ohm = (double)INFINITY};
    if (look.one_net) {
        Forced planned;
        force(rig, NULL, 0, &planned);
        look.limit_ohm = most_ohm(force_ohm(&planned, reading->a[0], reading->b[0], 0.0));
    }
    bool stepped = false;
    for (uint32_t i = 0; i < harness->ringout.step_count; i++) {
        const RingStep *step = &harness->ringout.steps[i];
        bool same = (step->a == reading->a[0] && step->b == reading->b[0]) ||
                    (step->a == reading->b[0] && step->b == reading->a[0]);
        if (same && look.one_net && !isnan(step->high_ohm) &&
            (!stepped || step->high_ohm < look.limit_ohm)) {
            look.limit_ohm = step->high_ohm;
            look.by_ohms = step->kind == RING_PARALLEL;
            stepped = true;
        }
    }
    return look;
}

static bool has_terminator(const Rig *rig) {
    for (uint32_t i = 0; i < rig->edge_count; i++) {
        if (rig->edges[i].kind == RIG_TERMINATOR) {
            return true;
        }
    }
    return false;
}

static Shown shown(const Forced *forced, const Look *look, RigPointId a, RigPointId b,
                   double high_ohm) {
    if (!metal_joins(forced, a, b)) {
        bool resistor = has_terminator(forced->rig) && !isinf(force_ohm(forced, a, b, high_ohm));
        return resistor ? SHOWN_RESISTOR : SHOWN_OPEN;
    }
    if (!look->one_net) {
        return SHOWN_THROUGH;
    }
    return force_ohm(forced, a, b, high_ohm) > look->limit_ohm ? SHOWN_HIGH : SHOWN_THROUGH;
}

static bool sides_touch(const Forced *forced, const BenchReading *reading) {
    for (uint32_t i = 0; i < reading->a_count; i++) {
        for (uint32_t k = 0; k < reading->b_count; k++) {
            uint32_t a = reading->a[i];
            uint32_t b = reading->b[k];
            if (metal_joins(forced, a, b)) {
                return true;
            }
            /* One terminator between what the sides hang on conducts as well. */
            for (uint32_t e = 0; e < forced->rig->edge_count; e++) {
                uint32_t ends[2] = {0, 0};
                if (forced->rig->edges[e].kind != RIG_TERMINATOR || forced->open[e]) {
                    continue;
                }
                ends_of(forced, e, &ends[0], &ends[1]);
                if ((metal_joins(forced, a, ends[0]) && metal_joins(forced, b, ends[1])) ||
                    (metal_joins(forced, a, ends[1]) && metal_joins(forced, b, ends[0]))) {
                    return true;
                }
            }
        }
    }
    return false;
}

/* Where more was read than sound wires show there is a bad joint in that piece of metal, or, where
 * it was read between two nets, a touch; where less was read between two nets, sound metal joins
 * them. */
static bool accounts_for(const Forced *forced, const Look *look, uint32_t a, uint32_t b,
                         double read_ohm) {
    if (read_ohm <= most_ohm(force_ohm(forced, a, b, 0.0))) {
        return look->one_net || root_of(forced->sound, a) == root_of(forced->sound, b);
    }
    for (uint32_t i = 0; i < forced->touch_count && !look->one_net; i++) {
        if (metal_joins(forced, a, forced->touch[i][0])) {
            return true;
        }
    }
    for (uint32_t e = 0; e < forced->rig->edge_count; e++) {
        uint32_t ends[2] = {0, 0};
        ends_of(forced, e, &ends[0], &ends[1]);
        if (forced->high[e] &&
            (metal_joins(forced, a, ends[0]) || metal_joins(forced, a, ends[1]))) {
            return true;
        }
    }
    return false;
}

static bool gives(const Drawn *harness, const Forced *forced, const BenchReading *reading) {
    if (reading->a_count != 1 || reading->b_count != 1) {
        return sides_touch(forced, reading) == !reading->open;
    }
    RigPointId a = reading->a[0];
    RigPointId b = reading->b[0];
    Look look = look_at(harness, reading);
    double read_ohm = reading->open ? (double)INFINITY : reading->ohm;
    if (look.chain) {
        double ohm = force_ohm(forced, a, b, HIGH_OHM);
        return isinf(ohm) || isinf(read_ohm) ? isinf(ohm) && isinf(read_ohm)
                                             : fabs(ohm - read_ohm) <= 0.1 * ohm + 2.0;
    }
    bool resistor = has_terminator(&harness->rig) && read_ohm > DIAGNOSE_TERMINATOR_OHM;
    Shown read = SHOWN_THROUGH;
    if (read_ohm > (look.one_net ? DIAGNOSE_OPEN_OHM : 20e6)) {
        read = SHOWN_OPEN;
    } else if (resistor) {
        read = SHOWN_RESISTOR;
    } else if (look.one_net && read_ohm > look.limit_ohm) {
        read = SHOWN_HIGH;
    }
    bool sound = root_of(forced->sound, a) == root_of(forced->sound, b);
    double ohm = force_ohm(forced, a, b, 0.0);
    bool short_enough = ohm <= look.limit_ohm || read_ohm >= least_ohm(ohm);
    if (read == SHOWN_THROUGH && look.one_net && !look.by_ohms) {
        return metal_joins(forced, a, b) && sound && short_enough;
    }
    bool loose = look.one_net ? read == SHOWN_HIGH : read == SHOWN_THROUGH;
    return shown(forced, &look, a, b, HIGH_OHM) == read &&
           (!loose || accounts_for(forced, &look, a, b, read_ohm));
}

static bool explains(const Drawn *harness, const BenchReading *readings, uint32_t count,
                     const Wrong *wrongs, uint32_t wrong_count) {
    Forced forced;
    force(&harness->rig, wrongs, wrong_count, &forced);
    for (uint32_t i = 0; i < count; i++) {
        if (!gives(harness, &forced, &readings[i])) {
            return false;
        }
    }
    return true;
}

/* All that any pair of points in reach can show: equal if no reading parts two sets of errors. */
static bool shows_the_same(const Rig *rig, const DiagnosisMember *one, uint32_t one_errors,
                           const DiagnosisMember *two, uint32_t two_errors) {
    Forced a;
    Forced b;
    force(rig, one->wrongs, one_errors, &a);
    force(rig, two->wrongs, two_errors, &b);
    for (RigPointId i = 0; i < rig->point_count; i++) {
        for (RigPointId k = 0; k < i; k++) {
            if (!rig->points[i].reachable || !rig->points[k].reachable) {
                continue;
            }
            bool joined = metal_joins(&a, i, k);
            bool sound = root_of(a.sound, i) == root_of(a.sound, k);
            if (joined != metal_joins(&b, i, k) ||
                sound != (root_of(b.sound, i) == root_of(b.sound, k))) {
                return false;
            }
            double ohm_a = joined ? 0.0 : force_ohm(&a, i, k, 0.0);
            double ohm_b = joined ? 0.0 : force_ohm(&b, i, k, 0.0);
            if (isinf(ohm_a) != isinf(ohm_b) ||
                (!isinf(ohm_a) && fabs(ohm_a - ohm_b) > 0.1 * ohm_a + 2.0)) {
                return false;
            }
        }
    }
    return true;
}

/* --- comparing ----------------------------------------------------------------------------------
 */

typedef struct Tally {
    uint32_t readings_off; /* harnesses whose script shows something */
    uint32_t sets;         /* that explain, by force */
    uint32_t classes;
    uint32_t pairs_needed; /* two errors are the least */
    uint32_t hidden;       /* sets of two where one alone explains all */
} Tally;

static bool same_set(const Wrong *one, const Wrong *two, uint32_t count) {
    return memcmp(one, two, count * sizeof *one) == 0;
}

/* The class that a set of errors is told in; ID_NONE: none. */
static uint32_t class_with(const Drawn *harness, const Diagnosis *diagnosis,
                           const DiagnosisMember *set, uint32_t errors) {
    DiagnosisMember turned = {{set->wrongs[errors - 1], set->wrongs[0]}};
    for (uint32_t i = 0; i < diagnosis->class_count; i++) {
        const DiagnosisClass *class = &diagnosis->classes[i];
        for (uint32_t k = 0; k < class->member_count && class->errors == errors; k++) {
            if (same_set(class->members[k].wrongs, set->wrongs, errors) ||
                same_set(class->members[k].wrongs, turned.wrongs, errors)) {
                return i;
            }
        }
    }
    /* Not listed by name: members beyond 24, or pairs that come to the same in another order. */
    for (uint32_t i = 0; i < diagnosis->class_count; i++) {
        const DiagnosisClass *class = &diagnosis->classes[i];
        if (class->errors == errors &&
            shows_the_same(&harness->rig, &class->members[0], errors, set, errors)) {
            return i;
        }
    }
    return ID_NONE;
}

static void print_set(const Drawn *harness, const char *what, const Wrong *wrongs, uint32_t count) {
    Arena words = {0};
    for (uint32_t i = 0; i < count; i++) {
        print_message("  %s: %s\n", what, wrong_text(&words, &harness->rig, wrongs[i]));
    }
    arena_free(&words);
}

/* What is needed to follow a failure by hand. */
static void print_case(const Drawn *harness, const BenchReading *readings, uint32_t count,
                       const Diagnosis *diagnosis) {
    static const char *const KINDS[] = {"wire", "screen", "mate", "bond", "terminator"};
    const Rig *rig = &harness->rig;
    for (uint32_t i = 0; i < rig->edge_count; i++) {
        print_message("  %s %s: %s to %s, %g ohm\n", KINDS[rig->edges[i].kind], rig->edges[i].key,
                      rig->points[rig->edges[i].a].name, rig->points[rig->edges[i].b].name,
                      rig->edges[i].ohm);
    }
    Forced forced;
    force(rig, NULL, 0, &forced);
    for (uint32_t i = 0; i < count; i++) {
        const BenchReading *reading = &readings[i];
        print_message("  %s:", gives(harness, &forced, reading) ? "as planned" : "OFF");
        for (uint32_t k = 0; k < reading->a_count; k++) {
            print_message(" %s", rig->points[reading->a[k]].name);
        }
        print_message(" against");
        for (uint32_t k = 0; k < reading->b_count; k++) {
            print_message(" %s", rig->points[reading->b[k]].name);
        }
        bool pair = reading->a_count == 1 && reading->b_count == 1;
        print_message(": %g ohm, at most %g\n", reading->open ? (double)INFINITY : reading->ohm,
                      pair ? look_at(harness, reading).limit_ohm : (double)INFINITY);
    }
    for (uint32_t i = 0; i < diagnosis->class_count && i < 3; i++) {
        print_set(harness, "told", diagnosis->classes[i].members[0].wrongs,
                  diagnosis->classes[i].errors);
    }
}

/* Holds one set against the answer. */
static void hold_set(const Drawn *harness, const BenchReading *readings, uint32_t count,
                     const Diagnosis *diagnosis, const DiagnosisMember *set, uint32_t errors,
                     Tally *tally) {
    tally->sets++;
    if (diagnosis->errors != errors || class_with(harness, diagnosis, set, errors) == ID_NONE) {
        print_set(harness, "explains, but was not found", set->wrongs, errors);
        print_message("  told: %u classes of %u errors\n", diagnosis->class_count,
                      diagnosis->errors);
        print_case(harness, readings, count, diagnosis);
        fail();
    }
}

static uint32_t try_all(const Drawn *harness, const BenchReading *readings, uint32_t count,
                        const Diagnosis *diagnosis, Tally *tally) {
    const WrongList *list = &harness->list;
    uint32_t found = 0;
    for (uint32_t i = 0; i < list->count; i++) {
        DiagnosisMember set = {{list->wrongs[i]}};
        if (explains(harness, readings, count, set.wrongs, 1)) {
            hold_set(harness, readings, count, diagnosis, &set, 1, tally);
            found++;
        }
    }
    if (found > 0) {
        return 1;
    }
    for (uint32_t i = 0; i < list->count; i++) {
        for (uint32_t k = 0; k < list->count; k++) {
            DiagnosisMember set = {{list->wrongs[i], list->wrongs[k]}};
            if (i != k && explains(harness, readings, count, set.wrongs, 2)) {
                hold_set(harness, readings, count, diagnosis, &set, 2, tally);
                found++;
            }
        }
    }
    return found > 0 ? 2 : 0;
}

/* What is told must explain, and members of a class must look alike. */
static void hold_answer(const Drawn *harness, const BenchReading *readings, uint32_t count,
                        const Diagnosis *diagnosis) {
    for (uint32_t i = 0; i < diagnosis->class_count; i++) {
        const DiagnosisClass *class = &diagnosis->classes[i];
        for (uint32_t k = 0; k < class->member_count; k++) {
            const DiagnosisMember *member = &class->members[k];
            if (!explains(harness, readings, count, member->wrongs, class->errors)) {
                print_set(harness, "told, but does not explain", member->wrongs, class->errors);
                print_case(harness, readings, count, diagnosis);
                fail();
            }
            if (!shows_the_same(&harness->rig, &class->members[0], class->errors, member,
                                class->errors)) {
                print_set(harness, "one of a class", class->members[0].wrongs, class->errors);
                print_set(harness, "parted by a reading", member->wrongs, class->errors);
                fail();
            }
        }
        for (uint32_t k = 0; k < i; k++) {
            const DiagnosisClass *other = &diagnosis->classes[k];
            if (class->errors == other->errors && !class->sign.by_ohms && !other->sign.by_ohms &&
                shows_the_same(&harness->rig, &class->members[0], class->errors, &other->members[0],
                               class->errors)) {
                print_set(harness, "one class", class->members[0].wrongs, class->errors);
                print_set(harness, "another, though no reading parts them",
                          other->members[0].wrongs, class->errors);
                fail();
            }
        }
    }
}

/* Where one error explains all readings, and few do: the sets of two that explain them too are told
 * behind it, unless they look like it. */
static void hold_hidden(const Drawn *harness, const BenchReading *readings, uint32_t count,
                        Tally *tally) {
    Arena arena = {0};
    Diagnosis diagnosis;
    diagnose_run(&arena, &harness->rig, &harness->ringout, readings, count, true, &diagnosis);
    const WrongList *list = &harness->list;
    uint32_t singles = 0;
    for (uint32_t i = 0; i < diagnosis.class_count; i++) {
        singles += diagnosis.classes[i].errors == 1;
    }
    assert_true(singles > 0);
    for (uint32_t i = 0; i < list->count && singles <= DIAGNOSE_HIDING_MAX; i++) {
        for (uint32_t k = 0; k < list->count; k++) {
            DiagnosisMember set = {{list->wrongs[i], list->wrongs[k]}};
            if (i == k || !explains(harness, readings, count, set.wrongs, 2)) {
                continue;
            }
            bool told = false;
            for (uint32_t c = 0; c < diagnosis.class_count && !told; c++) {
                const DiagnosisClass *class = &diagnosis.classes[c];
                told = shows_the_same(&harness->rig, &class->members[0], class->errors, &set, 2);
            }
            tally->hidden++;
            if (!told) {
                print_set(harness, "explains, but is not told behind one", set.wrongs, 2);
                print_case(harness, readings, count, &diagnosis);
                fail();
            }
        }
    }
    arena_free(&arena);
}

/* Any two points in reach: what a person may measure beyond the script. */
static bool draw_pair(const Drawn *harness, uint64_t *random, Arena *arena, BenchReading *reading) {
    const Rig *rig = &harness->rig;
    RigPointId *ends = ARENA_ARRAY(arena, RigPointId, 2);
    ends[0] = draw(random, rig->point_count);
    ends[1] = draw(random, rig->point_count);
    *reading = (BenchReading){.a = &ends[0], .a_count = 1, .b = &ends[1], .b_count = 1};
    return ends[0] != ends[1] && rig->points[ends[0]].reachable && rig->points[ends[1]].reachable;
}

/* Readings of a harness with the planted errors, by the model of force: the script, and some more.
 */
static uint32_t take_readings(const Drawn *harness, const Wrong *planted, uint32_t errors,
                              uint64_t *random, Arena *arena, BenchReading *readings) {
    Forced forced;
    force(&harness->rig, planted, errors, &forced);
    uint32_t count = 0;
    for (uint32_t i = 0; i < harness->ringout.step_count + MORE; i++) {
        BenchReading *reading = &readings[count];
        bool more = i >= harness->ringout.step_count;
        if (more ? !draw_pair(harness, random, arena, reading)
                 : !diagnose_step_points(arena, &harness->ringout, i, reading)) {
            continue;
        }
        bool pair = reading->a_count == 1 && reading->b_count == 1;
        double ohm = pair ? force_ohm(&forced, reading->a[0], reading->b[0], BAD_OHM)
                     : sides_touch(&forced, reading) ? 1.0
                                                     : (double)INFINITY;
        reading->open = isinf(ohm);
        reading->ohm = isinf(ohm) ? (double)NAN : ohm;
        count++;
    }
    return count;
}

static void try_planted(const Drawn *harness, const Wrong *planted, uint32_t errors,
                        uint64_t *random, Tally *tally) {
    Arena arena = {0};
    BenchReading *readings = ARENA_ARRAY(&arena, BenchReading, harness->ringout.step_count + MORE);
    uint32_t count = take_readings(harness, planted, errors, random, &arena, readings);
    Diagnosis diagnosis;
    diagnose_run(&arena, &harness->rig, &harness->ringout, readings, count, false, &diagnosis);
    bool as_planned = explains(harness, readings, count, NULL, 0);
    if (diagnosis.good != as_planned) {
        print_set(harness, "planted", planted, errors);
        print_case(harness, readings, count, &diagnosis);
    }
    assert_int_equal(diagnosis.good, as_planned);
    if (!as_planned) {
        tally->readings_off++;
        assert_false(diagnosis.cut_off);
        uint32_t least = try_all(harness, readings, count, &diagnosis, tally);
        if (least != diagnosis.errors) {
            print_set(harness, "planted", planted, errors);
        }
        assert_int_equal(diagnosis.errors, least);
        hold_answer(harness, readings, count, &diagnosis);
        tally->classes += diagnosis.class_count;
        tally->pairs_needed += least == 2;
        if (least == 1 && tally->readings_off % HIDDEN_EVERY == 0) {
            hold_hidden(harness, readings, count, tally);
        }
    }
    arena_free(&arena);
}

/* A terminator with metal around it is no chain that anybody builds. */
static bool is_bypassed(const Rig *rig) {
    for (uint32_t i = 0; i < rig->edge_count; i++) {
        const RigEdge *edge = &rig->edges[i];
        if (edge->kind == RIG_TERMINATOR && rig->points[edge->a].net == rig->points[edge->b].net) {
            return true;
        }
    }
    return false;
}

static void nothing_is_missed(void **state) {
    (void)state;
    const char *asked = getenv("MARLING_RIGS");
    uint32_t rigs = asked == NULL ? RIGS : (uint32_t)atoi(asked);
    uint64_t random = SEED;
    Tally tally = {0};
    print_message("seed %#llx, %u harnesses\n", (unsigned long long)SEED, rigs);
    for (uint32_t i = 0; i < rigs; i++) {
        Drawn harness;
        draw_harness(&harness, &random);
        if (is_bypassed(&harness.rig)) {
            arena_free(&harness.arena);
            continue;
        }
        for (uint32_t k = 0; k < PLANTED; k++) {
            Wrong planted[2];
            uint32_t errors = 1 + draw(&random, 2);
            for (uint32_t e = 0; e < errors; e++) {
                planted[e] = harness.list.wrongs[draw(&random, harness.list.count)];
            }
            try_planted(&harness, planted, errors, &random, &tally);
        }
        arena_free(&harness.arena);
    }
    print_message("%u cases with something to see: %u sets of errors explain them by force, %u "
                  "classes; two errors are the least in %u; %u sets of two behind one\n",
                  tally.readings_off, tally.sets, tally.classes, tally.pairs_needed, tally.hidden);
    assert_true(tally.readings_off > rigs);
    assert_true(tally.pairs_needed > rigs / 2);
    assert_true(tally.hidden > rigs);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_missed),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
