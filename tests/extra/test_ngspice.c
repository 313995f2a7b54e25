/* Another solver agrees: the operating points of random networks and of a small aircraft, written
 * as circuits for libngspice with each state fixed as found (a diode that is on is a voltage and a
 * resistance, an alternator at its limit a current source, a power load a behavioural source).
 * Elements on dead nodes are left out, floating parts are tied to the reference at the node where
 * our voltages are told from. Tolerances of ngspice are tightened from
 * its coarse defaults, but not to the last digit, where its behavioural sources never settle. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdbool.h>
#include <time.h>

#include <ngspice/sharedspice.h>

#include "../support/network_grow.h"
#include "../support/network_oracle.h"

enum { ODD_SEEDS = 500, AIRCRAFT_SEEDS = 20 };

#define AGREE_RATIO 1e-6

/* ngspice talks through these; what it says is kept only to be shown when it fails. */
typedef struct Heard {
    char last[400];
    bool exited;
} Heard;

static int hear_text(char *text, int id, void *user) {
    (void)id;
    Heard *heard = user;
    snprintf(heard->last, sizeof heard->last, "%s", text);
    return 0;
}

static int hear_exit(int code, NG_BOOL unload, NG_BOOL quit, int id, void *user) {
    (void)unload;
    (void)quit;
    (void)id;
    Heard *heard = user;
    heard->exited = true;
    return code;
}

/* --- Writing a circuit ----------------------------------------------------------------------- */

typedef struct Deck {
    Arena *arena;
    char **lines;
    size_t count, capacity;
} Deck;

static void deck_add(Deck *deck, char *line) {
    *ARENA_PUSH(deck->arena, deck->lines, deck->count, deck->capacity) = line;
}

static void deck_load(Deck *deck, const char *name, const OracleBranch *branch) {
    const NetworkLoad *load = branch->load;
    double knee_v = 0.5 * load->nominal_v;
    double power_w = load->nominal_a * load->nominal_v;
    if (load->kind == NETWORK_LOAD_RESISTANCE) {
        deck_add(deck, arena_format(deck->arena, "R%s n%u n%u %.17g", name, branch->a, branch->b,
                                    load->nominal_v / load->nominal_a));
        return;
    }
    bool current = load->kind == NETWORK_LOAD_CURRENT;
    double low_s = current ? load->nominal_a / knee_v : power_w / (knee_v * knee_v);
    char *u = arena_format(deck->arena, "V(n%u,n%u)", branch->a, branch->b);
    char *high = current ? arena_format(deck->arena, "%.17g", load->nominal_a)
                         : arena_format(deck->arena, "%.17g/%s", power_w, u);
    deck_add(deck, arena_format(deck->arena, "B%s n%u n%u I = %s < %.17g ? %.17g*%s : %s", name,
                                branch->a, branch->b, u, knee_v, low_s, u, high));
}

static void deck_branch(Deck *deck, const char *name, const OracleBranch *branch) {
    if (branch->load != NULL) {
        deck_load(deck, name, branch);
    } else if (branch->conductance_s > 0 && branch->emf_v != 0) {
        deck_add(deck, arena_format(deck->arena, "R%s n%u m%s %.17g", name, branch->a, name,
                                    1 / branch->conductance_s));
        deck_add(deck, arena_format(deck->arena, "V%s m%s n%u DC %.17g", name, name, branch->b,
                                    branch->emf_v));
    } else if (branch->conductance_s > 0) {
        deck_add(deck, arena_format(deck->arena, "R%s n%u n%u %.17g", name, branch->a, branch->b,
                                    1 / branch->conductance_s));
    } else if (branch->current_a != 0) {
        deck_add(deck, arena_format(deck->arena, "I%s n%u n%u DC %.17g", name, branch->a, branch->b,
                                    branch->current_a));
    }
}

/* The circuit of `oracle`'s network; node 0 is n0, tied to SPICE's 0. */
static Deck deck_new(Arena *arena, const Oracle *oracle) {
    Deck deck = {.arena = arena};
    const Network *n = oracle->network;
    deck_add(&deck, arena_format(arena, "network"));
    deck_add(&deck, arena_format(arena, ".options reltol=1e-9 abstol=1e-10 vntol=1e-9 "
                                        "itl1=1000"));
    deck_add(&deck, arena_format(arena, "Vground n0 0 DC 0"));
    for (uint32_t i = 1; i < n->node_count; i++) {
        uint32_t root = oracle_find(oracle->root, i);
        if (oracle_node_state(oracle, i) == SOLVE_NODE_FLOATING && oracle->source[root] == i) {
            deck_add(&deck, arena_format(arena, "Vtie%u n%u 0 DC 0", i, i));
        }
    }
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = 0; i < network_kind_count(n, kind); i++) {
            OracleBranch branch = oracle_branch(oracle, kind, i);
            if (branch.a != branch.b && oracle_node_state(oracle, branch.a) != SOLVE_NODE_DEAD &&
                oracle_node_state(oracle, branch.b) != SOLVE_NODE_DEAD) {
                deck_branch(&deck, arena_format(arena, "%c%u", "rkcdbgl"[kind], i), &branch);
            }
        }
    }
    deck_add(&deck, arena_format(arena, ".op"));
    deck_add(&deck, arena_format(arena, ".end"));
    deck_add(&deck, NULL);
    return deck;
}

/* --- Comparing ------------------------------------------------------------------------------- */

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

typedef struct Compared {
    uint32_t agreed;
    uint32_t elsewhere; /* ngspice found another point, or none */
    double worst_v;
    double spice_s;
} Compared;

/* True if ngspice finds an operating point; *apart_v is the largest difference to ours. */
static bool spice_compare(Arena *arena, const Oracle *oracle, double *apart_v, double *spice_s) {
    Deck deck = deck_new(arena, oracle);
    if (ngSpice_Circ(deck.lines) != 0) {
        return false;
    }
    double begin_s = now_s();
    bool found = ngSpice_Command("run") == 0;
    *spice_s = now_s() - begin_s;
    *apart_v = 0;
    for (uint32_t i = 1; found && i < oracle->network->node_count; i++) {
        if (oracle_node_state(oracle, i) == SOLVE_NODE_DEAD) {
            continue;
        }
        char name[32];
        snprintf(name, sizeof name, "n%u", i);
        pvector_info vector = ngGet_Vec_Info(name);
        found = vector != NULL && vector->v_length == 1 && vector->v_realdata != NULL;
        if (found) {
            *apart_v = fmax(*apart_v, fabs(vector->v_realdata[0] - oracle->result->node_v[i]));
        }
    }
    ngSpice_Command("destroy all");
    ngSpice_Command("remcirc");
    return found;
}

static void compare_one(Arena *arena, uint64_t seed, const Network *n, const SolveResult *r,
                        const Heard *heard, Compared *compared) {
    Oracle oracle = oracle_new(arena, n, r);
    double apart_v = 0;
    double spice_s = 0;
    double allowed_v = AGREE_RATIO * n->loads[0].nominal_v;
    bool found = spice_compare(arena, &oracle, &apart_v, &spice_s);
    compared->spice_s += spice_s;
    assert_false(heard->exited);
    if (found && apart_v <= allowed_v) {
        compared->agreed++;
        compared->worst_v = fmax(compared->worst_v, apart_v);
    } else {
        compared->elsewhere++;
        print_message("seed %llu: %s, %g V apart (%s)\n", (unsigned long long)seed,
                      found ? "another point" : "no point", apart_v, heard->last);
    }
}

static void random_networks_agree(void **state) {
    const Heard *heard = *state;
    Compared compared = {0};
    double ours_s = 0;
    for (uint64_t seed = 1; seed <= ODD_SEEDS; seed++) {
        Arena arena = {0};
        Network n = grow_odd(&arena, seed);
        NetworkState start = grow_odd_state(&arena, &n, seed);
        SolveResult r;
        double begin_s = now_s();
        bool solved = solve_run(solve_analyse(&arena, &n), &start, NULL, &arena, &r);
        ours_s += now_s() - begin_s;
        if (solved && r.total_a > 0) {
            compare_one(&arena, seed, &n, &r, heard, &compared);
        }
        arena_free(&arena);
    }
    print_message("seeds 1..%d: %u agree, worst %.2g V; %u elsewhere; ngspice "
                  "%.1f ms for one point each, ours %.1f ms for all states\n",
                  ODD_SEEDS, compared.agreed, compared.worst_v, compared.elsewhere,
                  1e3 * compared.spice_s, 1e3 * ours_s);
    assert_true(compared.agreed >= 300);
    /* A network can have two operating points; ngspice has its own way to one of them. */
    assert_true(compared.elsewhere * 100 <= compared.agreed);
}

static void aircraft_agree(void **state) {
    const Heard *heard = *state;
    Compared compared = {0};
    for (uint64_t seed = 1; seed <= AIRCRAFT_SEEDS; seed++) {
        Arena arena = {0};
        Network n = grow_aircraft(&arena, seed, 200);
        NetworkState start = grow_aircraft_state(&arena, &n);
        SolveResult r;
        assert_true(solve_run(solve_analyse(&arena, &n), &start, NULL, &arena, &r));
        compare_one(&arena, seed, &n, &r, heard, &compared);
        arena_free(&arena);
    }
    assert_int_equal(compared.agreed, AIRCRAFT_SEEDS);
}

static int spice_begin(void **state) {
    static Heard heard;
    *state = &heard;
    return ngSpice_Init(hear_text, NULL, hear_exit, NULL, NULL, NULL, &heard);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_networks_agree),
        cmocka_unit_test(aircraft_agree),
    };
    return cmocka_run_group_tests(tests, spice_begin, NULL);
}
