/* Shortest ways on graphs, against the plainest method there is: relaxing every segment until
 * nothing changes (Bellman and Ford). Random graphs, with loops, parallel segments, pieces that
 * hang apart, and grids full of ties. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

#include "route/graph.h"

#define NODES_MAX 60
#define SEGMENTS_MAX 140
#define SEED 20260117u

typedef struct Case {
    Arena arena;
    uint32_t nodes;
    uint32_t segments;
    uint32_t a[SEGMENTS_MAX];
    uint32_t b[SEGMENTS_MAX];
    double length_mm[SEGMENTS_MAX];
    bool closed[SEGMENTS_MAX];
    RouteGraph graph;
    RouteWeights weights;
    RouteRoom room;
} Case;

static uint32_t next_random(uint32_t *state) {
    *state = *state * 1664525u + 1013904223u;
    return *state >> 8;
}

static void case_build(Case *c) {
    graph_build(&c->arena, c->nodes, c->segments, c->a, c->b, &c->graph);
    graph_weigh(&c->arena, &c->graph, c->length_mm, c->closed, &c->weights);
    graph_room(&c->arena, &c->graph, &c->room);
}

static void case_random(Case *c, uint32_t *state, bool ties) {
    *c = (Case){0};
    c->nodes = 2 + next_random(state) % (NODES_MAX - 2);
    c->segments = next_random(state) % (2 * c->nodes);
    for (uint32_t i = 0; i < c->segments; i++) {
        c->a[i] = next_random(state) % c->nodes;
        c->b[i] = next_random(state) % c->nodes;
        c->length_mm[i] =
            ties ? 100.0 * (1 + next_random(state) % 3) : 1.0 + next_random(state) % 100000 / 7.0;
        c->closed[i] = next_random(state) % 8 == 0;
    }
    case_build(c);
}

static void relax_all(const Case *c, uint32_t start, double *reach_mm) {
    for (uint32_t i = 0; i < c->nodes; i++) {
        reach_mm[i] = i == start ? 0.0 : (double)INFINITY;
    }
    for (bool changed = true; changed;) {
        changed = false;
        for (uint32_t i = 0; i < c->segments; i++) {
            for (int turn = 0; turn < 2 && !c->closed[i]; turn++) {
                uint32_t from = turn == 0 ? c->a[i] : c->b[i];
                uint32_t to = turn == 0 ? c->b[i] : c->a[i];
                if (reach_mm[from] + c->length_mm[i] < reach_mm[to] - 1e-9) {
                    reach_mm[to] = reach_mm[from] + c->length_mm[i];
                    changed = true;
                }
            }
        }
    }
}

/* Walks the answer; checks that it hangs together and is as short as can be. */
static bool ask(Case *c, uint32_t from, uint32_t to, double expected_mm, SegmentList *list) {
    *list = (SegmentList){.arena = &c->arena};
    graph_climb(&c->graph, &c->weights, from, &c->room.from);
    graph_climb(&c->graph, &c->weights, to, &c->room.to);
    bool found = graph_way(&c->graph, &c->weights, &c->room, list);
    assert_int_equal(found, isfinite(expected_mm));
    if (!found) {
        assert_int_equal(list->count, 0);
        return false;
    }
    double length_mm = 0.0;
    uint32_t at = from;
    for (size_t i = 0; i < list->count; i++) {
        uint32_t segment = list->segments[i];
        assert_false(c->closed[segment]);
        assert_true(c->a[segment] == at || c->b[segment] == at);
        at = c->a[segment] == at ? c->b[segment] : c->a[segment];
        length_mm += c->length_mm[segment];
    }
    assert_int_equal(at, to);
    assert_true(fabs(length_mm - expected_mm) < 1e-2); /* weights are rounded to 1e-4 mm */
    return true;
}

static void ways_are_shortest(void **state) {
    (void)state;
    uint32_t random = SEED;
    printf("seed %u\n", SEED);
    for (int round = 0; round < 120; round++) {
        Case c;
        case_random(&c, &random, round % 2 == 0);
        double reach_mm[NODES_MAX];
        for (uint32_t from = 0; from < c.nodes; from++) {
            relax_all(&c, from, reach_mm);
            for (uint32_t to = 0; to < c.nodes; to++) {
                SegmentList there;
                SegmentList back;
                if (ask(&c, from, to, reach_mm[to], &there) &&
                    ask(&c, to, from, reach_mm[to], &back)) {
                    /* The same way in both directions, ties and all. */
                    assert_int_equal(there.count, back.count);
                    for (size_t i = 0; i < there.count; i++) {
                        assert_int_equal(there.segments[i], back.segments[there.count - 1 - i]);
                    }
                }
            }
        }
        arena_free(&c.arena);
    }
}

static void a_bad_segment_is_left_out(void **state) {
    (void)state;
    Case c = {.nodes = 3, .segments = 4};
    const uint32_t ends[4][2] = {{0, 1}, {1, 1}, {1, GRAPH_NONE}, {1, 2}};
    for (int i = 0; i < 4; i++) {
        c.a[i] = ends[i][0];
        c.b[i] = ends[i][1];
        c.length_mm[i] = 10.0;
    }
    c.length_mm[3] = (double)NAN;
    case_build(&c);
    SegmentList list;
    assert_true(ask(&c, 0, 1, 10.0, &list));
    assert_false(ask(&c, 0, 2, (double)INFINITY, &list));
    arena_free(&c.arena);
}

/* A lattice has very many ways of one length; the one taken must not depend on who asks. */
static void ties_are_settled_by_the_graph_alone(void **state) {
    (void)state;
    enum { SIDE = 8 };
    Case c = {.nodes = SIDE * SIDE};
    for (uint32_t y = 0; y < SIDE; y++) {
        for (uint32_t x = 0; x < SIDE; x++) {
            uint32_t node = y * SIDE + x;
            if (x + 1 < SIDE) {
                c.a[c.segments] = node;
                c.b[c.segments] = node + 1;
                c.length_mm[c.segments++] = 250.0;
            }
            if (y + 1 < SIDE) {
                c.a[c.segments] = node + SIDE;
                c.b[c.segments] = node;
                c.length_mm[c.segments++] = 250.0;
            }
        }
    }
    case_build(&c);
    SegmentList first;
    SegmentList again;
    assert_true(ask(&c, 0, SIDE * SIDE - 1, 250.0 * 2 * (SIDE - 1), &first));
    assert_true(ask(&c, SIDE * SIDE - 1, 0, 250.0 * 2 * (SIDE - 1), &again));
    for (size_t i = 0; i < first.count; i++) {
        assert_int_equal(first.segments[i], again.segments[first.count - 1 - i]);
    }
    arena_free(&c.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ways_are_shortest),
        cmocka_unit_test(a_bad_segment_is_left_out),
        cmocka_unit_test(ties_are_settled_by_the_graph_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
