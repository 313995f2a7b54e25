/* The ring-out script settles which points are one piece of metal: on random nets every pair is on
 * opposite sides in some isolation reading, in as few readings as any scheme needs; on the example,
 * module by module and mated, continuity readings are a tree over every net and pass every
 * conductor that two probes can reach. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "app/ring.h"
#include "shop/ohms.h"
#include "shop/ringout.h"

static const uint64_t SEED = 0x52494e47u;

static uint32_t draw(uint64_t *state, uint32_t below) {
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)(*state >> 33) % below;
}

/* --- isolation on random nets -------------------------------------------------------------------
 */

typedef struct Nets {
    IsolationInput input;
    uint32_t *lead;
    uint32_t *first;
    uint32_t *near;
} Nets;

/* Nets on leads of 1 to 20 nets, neighbours mostly within a lead. */
static void make_nets(Arena *arena, uint64_t *state, uint32_t count, Nets *nets) {
    nets->lead = ARENA_ARRAY(arena, uint32_t, count);
    nets->first = ARENA_ARRAY(arena, uint32_t, count + 1);
    for (uint32_t i = 0, lead = 0, left = 0; i < count; i++) {
        if (left == 0) {
            lead++;
            left = 1 + draw(state, 20);
        }
        left--;
        nets->lead[i] = lead;
    }
    bool *beside = ARENA_ARRAY(arena, bool, (size_t)count *count + 1);
    for (uint32_t k = 0; k < 2 * count && count > 1; k++) {
        uint32_t a = draw(state, count);
        uint32_t b = (a + 1 + draw(state, k % 10 == 0 ? count - 1 : 3)) % count;
        if (a != b) {
            beside[a * count + b] = beside[b * count + a] = true;
        }
    }
    for (uint32_t i = 0; i < count; i++) {
        for (uint32_t k = 0; k < count; k++) {
            nets->first[i + 1] += beside[i * count + k];
        }
        nets->first[i + 1] += nets->first[i];
    }
    nets->near = ARENA_ARRAY(arena, uint32_t, nets->first[count] + 1);
    uint32_t at = 0;
    for (uint32_t i = 0; i < count; i++) {
        for (uint32_t k = 0; k < count; k++) {
            if (beside[i * count + k]) {
                nets->near[at++] = k;
            }
        }
    }
    nets->input = (IsolationInput){count, nets->lead, nets->first, nets->near};
}

/* Bit 0 of the result: every pair is parted; neighbours by then are parted in *after readings. */
static bool all_parted(Arena *arena, const IsolationInput *input, const IsolationPlan *plan,
                       uint32_t *after) {
    uint32_t n = input->net_count;
    uint32_t *parted = ARENA_ARRAY(arena, uint32_t, (size_t)n * n + 1); /* reading + 1 */
    uint32_t before = 0;
    for (uint32_t s = 0; s < plan->session_count; s++) {
        const IsolationSession *session = &plan->sessions[s];
        for (uint32_t k = 0; k < session->readings; k++) {
            for (uint32_t x = session->first; x < session->first + session->count; x++) {
                for (uint32_t y = session->first; y < session->first + session->count; y++) {
                    const IsolationMember *a = &plan->members[x];
                    const IsolationMember *b = &plan->members[y];
                    uint32_t *pair = &parted[a->net * n + b->net];
                    assert_false(a->side_a >> k & b->side_b >> k & 1 && a->net == b->net);
                    if (a->side_a >> k & b->side_b >> k & 1 && *pair == 0) {
                        *pair = parted[b->net * n + a->net] = before + k + 1;
                    }
                }
            }
        }
        before += session->readings;
    }
    bool all = true;
    *after = 0;
    for (uint32_t i = 0; i < n; i++) {
        for (uint32_t k = 0; k < i; k++) {
            all = all && parted[i * n + k] > 0;
        }
        for (uint32_t e = input->near_first[i]; e < input->near_first[i + 1]; e++) {
            uint32_t when = parted[i * n + input->near[e]];
            *after = when > *after ? when : *after;
        }
    }
    assert_int_equal(before, plan->readings);
    return all;
}

static void every_pair_of_nets_is_parted(void **state) {
    (void)state;
    uint64_t random = SEED;
    print_message("seed %#llx\n", (unsigned long long)SEED);
    for (uint32_t round = 0; round < 300; round++) {
        Arena arena = {0};
        Nets nets;
        uint32_t count = round < 20 ? round : 1 + draw(&random, 150);
        make_nets(&arena, &random, count, &nets);
        uint32_t points = round % 3 == 0 ? 1000 : 2 + draw(&random, 60);
        uint32_t leads = round % 3 == 0 ? 1000 : 2 + draw(&random, 20);
        IsolationPlan plan;
        assert_true(isolation_plan(&arena, &nets.input, points, leads, UINT32_MAX, &plan));
        uint32_t after = 0;
        assert_true(all_parted(&arena, &nets.input, &plan, &after));
        assert_int_equal(after, plan.adjacent_after);
        IsolationCount counted = isolation_count(&nets.input, points, leads);
        assert_true(counted.readings == (double)plan.readings);
        assert_true(counted.sessions == (double)plan.session_count);
        assert_true(counted.readings >= counted.least);
        if (count <= points && points == 1000) {
            assert_true(counted.readings == counted.least);
            assert_int_equal(plan.readings, isolation_digits(count));
        }
        for (uint32_t s = 0; s < plan.session_count; s++) {
            uint32_t held = 0;
            for (uint32_t m = 0; m < plan.sessions[s].count; m++) {
                held += m == 0 || nets.lead[plan.members[plan.sessions[s].first + m].net] !=
                                      nets.lead[plan.members[plan.sessions[s].first + m - 1].net];
            }
            assert_true(plan.sessions[s].count <= points && held <= leads);
        }
        arena_free(&arena);
    }
}

/* A meter with two probes has no choice: every pair by itself. */
static void two_probes_take_every_pair(void **state) {
    (void)state;
    uint64_t random = SEED;
    Arena arena = {0};
    Nets nets;
    make_nets(&arena, &random, 57, &nets);
    IsolationCount counted = isolation_count(&nets.input, 2, 2);
    assert_true(counted.readings == 57.0 * 56.0 / 2.0);
    assert_true(counted.replugs == counted.readings + 1.0);
    arena_free(&arena);
}

/* Nets that lie in a row, as cavities do, are parted from their neighbours in the first reading. */
static void neighbours_come_first(void **state) {
    (void)state;
    enum { COUNT = 100 };
    uint32_t lead[COUNT] = {0};
    uint32_t first[COUNT + 1] = {0};
    uint32_t near[2 * COUNT] = {0};
    uint32_t at = 0;
    for (uint32_t i = 0; i < COUNT; i++) {
        if (i > 0) {
            near[at++] = i - 1;
        }
        if (i + 1 < COUNT) {
            near[at++] = i + 1;
        }
        first[i + 1] = at;
    }
    IsolationInput input = {COUNT, lead, first, near};
    Arena arena = {0};
    IsolationPlan plan;
    assert_true(isolation_plan(&arena, &input, 200, 8, 10, &plan));
    assert_int_equal(plan.readings, 7);
    assert_int_equal(plan.adjacent_after, 1);
    arena_free(&arena);
}

/* --- ohms ---------------------------------------------------------------------------------------
 */

/* A cube of 1 ohm resistors: 5/6 ohm from corner to corner, 7/12 along an edge (a textbook case).
 */
static void a_cube_of_resistors(void **state) {
    (void)state;
    OhmsEdge edges[12];
    uint32_t count = 0;
    for (uint32_t i = 0; i < 8; i++) {
        for (uint32_t bit = 1; bit < 8; bit <<= 1) {
            if ((i & bit) == 0) {
                edges[count++] = (OhmsEdge){i, i | bit, 1.0};
            }
        }
    }
    assert_int_equal(count, 12);
    assert_true(fabs(ohms_between(8, edges, 12, 0, 7) - 5.0 / 6.0) < 1e-9);
    assert_true(fabs(ohms_between(8, edges, 12, 0, 1) - 7.0 / 12.0) < 1e-9);
    assert_true(fabs(ohms_between(8, edges, 12, 0, 3) - 3.0 / 4.0) < 1e-9);
    assert_true(isinf(ohms_between(9, edges, 12, 0, 8)));
}

/* --- the example --------------------------------------------------------------------------------
 */

static uint32_t root(uint32_t *up, uint32_t i) {
    while (up[i] != i) {
        i = up[i] = up[up[i]];
    }
    return i;
}

/* Edges whose removal leaves two points in reach of the net apart, or that close a loop between
 * points in reach, must stand in a continuity step. */
static void check_script(const Rig *rig, const Ringout *ringout) {
    Arena arena = {0};
    uint32_t *up = ARENA_ARRAY(&arena, uint32_t, rig->point_count);
    bool *passed = ARENA_ARRAY(&arena, bool, rig->edge_count);
    for (uint32_t i = 0; i < rig->point_count; i++) {
        up[i] = i;
    }
    uint32_t trees = 0;
    for (uint32_t i = 0; i < ringout->step_count; i++) {
        const RingStep *step = &ringout->steps[i];
        if (step->kind > RING_PARALLEL) {
            continue;
        }
        assert_true(rig->points[step->a].reachable && rig->points[step->b].reachable);
        assert_int_equal(rig->points[step->a].net, rig->points[step->b].net);
        assert_true(isnan(step->expected_ohm) || step->expected_ohm <= step->high_ohm);
        trees += root(up, step->a) != root(up, step->b);
        up[root(up, step->a)] = root(up, step->b);
        for (uint32_t e = 0; e < step->edge_count; e++) {
            passed[step->edges[e]] = true;
        }
    }
    uint32_t needed = 0;
    for (uint32_t net = 0; net < rig->net_count; net++) {
        uint32_t in_reach = 0;
        RigPointId first = ID_NONE;
        for (uint32_t i = rig->net_point_first[net]; i < rig->net_point_first[net + 1]; i++) {
            RigPointId point = rig->net_points[i];
            if (rig->points[point].reachable) {
                in_reach++;
                first = first == ID_NONE ? point : first;
                assert_int_equal(root(up, point), root(up, first));
            }
        }
        needed += in_reach > 0 ? in_reach - 1 : 0;
    }
    assert_int_equal(trees, needed);
    uint32_t hidden = 0;
    for (uint32_t e = 0; e < rig->edge_count; e++) {
        const RigEdge *edge = &rig->edges[e];
        if ((edge->kind == RIG_WIRE || edge->kind == RIG_SCREEN) && !passed[e]) {
            /* No reading can pass it: one of its sides ends where no probe reaches. */
            bool cut = false;
            for (int side = 0; side < 2; side++) {
                RigPointId end = side == 0 ? edge->a : edge->b;
                uint32_t reachable = 0;
                for (uint32_t i = rig->net_point_first[rig->points[end].net];
                     i < rig->net_point_first[rig->points[end].net + 1]; i++) {
                    RigPointId point = rig->net_points[i];
                    reachable +=
                        rig->points[point].reachable && !isinf(ringout_ohm(rig, end, point, e));
                }
                cut = cut || reachable == 0;
            }
            assert_true(cut);
            hidden++;
        }
    }
    print_message("%s: %u points, %u nets, %u continuity readings, %u isolation readings, "
                  "neighbours after %u, %u pieces in no probe's reach\n",
                  rig->name, rig->point_count, ringout->nets.count, ringout->continuity,
                  ringout->plan.readings, ringout->plan.adjacent_after, hidden);
    uint32_t after = 0;
    assert_true(all_parted(&arena, &ringout->nets.input, &ringout->plan, &after));
    assert_int_equal(after, ringout->plan.adjacent_after);
    arena_free(&arena);
}

static void the_script_settles_every_net(void **state) {
    (void)state;
    static Proof proof;
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library", .no_faults = true};
    proof_run(MARLING_SOURCE_DIR "/examples/osier_mended", &options, &proof);
    assert_true(proof.complete);
    Arena arena = {0};
    RigInput input = ring_input(&arena, &proof);
    const Ends *ends = input.ends;
    size_t pieces = 0;
    for (uint32_t i = 0; i <= proof.set.module.count; i++) {
        Rig rig;
        Ringout ringout;
        rig_build(&arena, &input, i < proof.set.module.count ? i : ID_NONE, &rig);
        ringout_build(&arena, &rig, &ringout);
        check_script(&rig, &ringout);
        for (uint32_t e = 0; e < rig.edge_count && rig.module != ID_NONE; e++) {
            pieces += rig.edges[e].kind == RIG_WIRE;
        }
    }
    size_t conductors = 0;
    for (uint32_t i = 0; i < ends->piece_count; i++) {
        conductors += ends->pieces[i].conductor != ID_NONE;
    }
    assert_int_equal(pieces, conductors);
    arena_free(&arena);
    proof_free(&proof);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_pair_of_nets_is_parted),
        cmocka_unit_test(two_probes_take_every_pair),
        cmocka_unit_test(neighbours_come_first),
        cmocka_unit_test(a_cube_of_resistors),
        cmocka_unit_test(the_script_settles_every_net),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
