/* Layout of wiring diagrams as geometry alone: random nodes, links and gates from printed seeds. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "draw/wiring_memory.h"

#define NEAR_MM 0.01

static LayoutNode make_node(bool fill) {
    return (LayoutNode){.width_mm = fill ? 40.0 : 15.0,
                        .middle_mm = 2.5,
                        .head_mm = fill ? 15.0 : 0.0,
                        .foot_mm = 0.0,
                        .row_mm = LAYOUT_ROW_MM,
                        .fill = fill};
}

static void add_node(Arena *arena, LayoutProblem *problem, LayoutNode node) {
    *ARENA_PUSH(arena, problem->nodes, problem->node_count, problem->node_capacity) = node;
}

static LayoutLink *add_link(Arena *arena, LayoutProblem *problem, uint32_t a, uint32_t b,
                            uint32_t rows) {
    LayoutLink *link =
        ARENA_PUSH(arena, problem->links, problem->link_count, problem->link_capacity);
    uint32_t port = (uint32_t)problem->link_count * 2;
    *link = (LayoutLink){
        .end = {{.node = a, .port = port, .mark_mm = 5.0, .inset_mm = 10.0},
                {.node = b, .port = port + 1, .mark_mm = 5.0, .inset_mm = 10.0}},
        .rows = rows,
        .label_mm = 20.0,
        .gate_mark_mm = 2.5,
        .gate_first = (uint32_t)problem->gate_count,
    };
    return link;
}

static void add_gate(Arena *arena, LayoutProblem *problem, LayoutLink *link, uint32_t gate) {
    *ARENA_PUSH(arena, problem->gates, problem->gate_count, problem->gate_capacity) = gate;
    link->gate_count++;
}

static void start(LayoutProblem *problem, double width_mm, double height_mm) {
    *problem = (LayoutProblem){.gate_width_mm = 20.0, .gate_head_mm = 7.5};
    problem->field = (DrawBox){10.0, 20.0, 10.0 + width_mm, 20.0 + height_mm};
}

/* Boxes with links between them, a few through gates, some to leaves of their own, and a stub. */
static void make_random(Arena *arena, LayoutProblem *problem, uint32_t seed) {
    uint32_t state = seed * 2654435761u + 1u;
#define NEXT(limit) (state = state * 1664525u + 1013904223u, (state >> 8) % (limit))
    start(problem, 1000.0, 1000.0);
    uint32_t boxes = 3 + NEXT(6);
    for (uint32_t i = 0; i < boxes; i++) {
        add_node(arena, problem, make_node(true));
    }
    uint32_t links = 6 + NEXT(30);
    for (uint32_t i = 0; i < links; i++) {
        uint32_t a = NEXT(boxes);
        uint32_t b = NEXT(boxes + 2);
        if (b >= boxes || b == a) {
            add_node(arena, problem, make_node(false));
            b = (uint32_t)problem->node_count - 1;
        }
        LayoutLink *link = add_link(arena, problem, a, b, 1 + NEXT(3));
        uint32_t gates = NEXT(3);
        uint32_t first = NEXT(4);
        for (uint32_t k = 0; k < gates; k++) {
            add_gate(arena, problem, link, first + k);
        }
    }
    LayoutLink *stub = add_link(arena, problem, 0, LAYOUT_NONE, 1);
    stub->end[1].node = LAYOUT_NONE;
#undef NEXT
}

static void near(double have_mm, double want_mm) {
    assert_true(fabs(have_mm - want_mm) < NEAR_MM);
}

static bool apart(DrawBox a, DrawBox b) {
    return a.right_mm <= b.left_mm + NEAR_MM || b.right_mm <= a.left_mm + NEAR_MM ||
           a.bottom_mm <= b.top_mm + NEAR_MM || b.bottom_mm <= a.top_mm + NEAR_MM;
}

static void nothing_overlaps(const LayoutProblem *problem) {
    size_t count = problem->node_count + problem->stand_count;
    for (size_t i = 0; i < count; i++) {
        for (size_t k = i + 1; k < count; k++) {
            DrawBox a = i < problem->node_count ? problem->nodes[i].box
                                                : problem->stands[i - problem->node_count].box;
            DrawBox b = k < problem->node_count ? problem->nodes[k].box
                                                : problem->stands[k - problem->node_count].box;
            assert_true(apart(a, b));
        }
    }
}

/* Pieces run on from end 0 over the gates to end 1, square all the way. */
static void lines_join(const LayoutProblem *problem) {
    for (size_t i = 0; i < problem->link_count; i++) {
        const LayoutLink *link = &problem->links[i];
        if (link->end[1].node == LAYOUT_NONE) {
            continue;
        }
        for (uint32_t row = 0; row < link->rows; row++) {
            for (uint32_t piece = 0; piece <= link->gate_count; piece++) {
                const LayoutLine *line =
                    &problem->lines[problem->pieces[link->piece_first + piece].line_first + row];
                const DrawPoint *points = &problem->points[line->point_first];
                assert_true(line->point_count >= 2);
                for (uint32_t k = 0; k + 1 < line->point_count; k++) {
                    assert_true(fabs(points[k].x_mm - points[k + 1].x_mm) < NEAR_MM ||
                                fabs(points[k].y_mm - points[k + 1].y_mm) < NEAR_MM);
                }
                for (uint32_t e = 0; e < 2; e++) {
                    if ((e == 0 && piece > 0) || (e == 1 && piece < link->gate_count)) {
                        continue;
                    }
                    const LayoutEnd *end = &link->end[e];
                    const LayoutNode *node = &problem->nodes[end->node];
                    DrawPoint at = points[e == 0 ? 0 : line->point_count - 1];
                    double step_mm = end->reversed ? -node->row_mm : node->row_mm;
                    near(at.y_mm, end->y_mm + step_mm * (double)row);
                    near(at.x_mm, end->right ? node->box.right_mm : node->box.left_mm);
                    assert_true(at.y_mm > node->box.top_mm && at.y_mm < node->box.bottom_mm);
                }
                if (piece > 0) {
                    const LayoutLine *before =
                        &problem->lines[problem->pieces[link->piece_first + piece - 1].line_first +
                                        row];
                    DrawPoint left = problem->points[before->point_first + before->point_count - 1];
                    near(left.y_mm, points[0].y_mm);
                    near(fabs(left.x_mm - points[0].x_mm), problem->gate_width_mm);
                }
            }
        }
    }
}

static bool on_each_other(DrawPoint a, DrawPoint b, DrawPoint c, DrawPoint d) {
    bool level = fabs(a.y_mm - b.y_mm) < NEAR_MM && fabs(c.y_mm - d.y_mm) < NEAR_MM &&
                 fabs(a.y_mm - c.y_mm) < 1.0;
    bool upright = fabs(a.x_mm - b.x_mm) < NEAR_MM && fabs(c.x_mm - d.x_mm) < NEAR_MM &&
                   fabs(a.x_mm - c.x_mm) < 1.0;
    if (level) {
        return fmax(fmin(a.x_mm, b.x_mm), fmin(c.x_mm, d.x_mm)) <
               fmin(fmax(a.x_mm, b.x_mm), fmax(c.x_mm, d.x_mm)) - NEAR_MM;
    }
    return upright && fmax(fmin(a.y_mm, b.y_mm), fmin(c.y_mm, d.y_mm)) <
                          fmin(fmax(a.y_mm, b.y_mm), fmax(c.y_mm, d.y_mm)) - NEAR_MM;
}

static void no_lines_on_each_other(const LayoutProblem *problem) {
    for (size_t i = 0; i < problem->line_count; i++) {
        for (size_t k = i + 1; k < problem->line_count; k++) {
            const DrawPoint *p = &problem->points[problem->lines[i].point_first];
            const DrawPoint *q = &problem->points[problem->lines[k].point_first];
            for (uint32_t s = 0; s + 1 < problem->lines[i].point_count; s++) {
                for (uint32_t t = 0; t + 1 < problem->lines[k].point_count; t++) {
                    assert_false(on_each_other(p[s], p[s + 1], q[t], q[t + 1]));
                }
            }
        }
    }
}

static void geometry_of_random_sheets_holds(void **state) {
    (void)state;
    for (uint32_t seed = 1; seed <= 150; seed++) {
        Arena arena = {0};
        LayoutProblem problem;
        make_random(&arena, &problem, seed);
        problem.plain = seed % 5 == 0;
        if (!wiring_layout(&arena, &problem)) {
            print_message("seed %u does not fit\n", seed);
        }
        nothing_overlaps(&problem);
        lines_join(&problem);
        no_lines_on_each_other(&problem);
        arena_free(&arena);
    }
}

static void fewer_crossings_than_plain(void **state) {
    (void)state;
    size_t ours = 0;
    size_t plain = 0;
    for (uint32_t seed = 1; seed <= 60; seed++) {
        Arena arena = {0};
        LayoutProblem problem;
        make_random(&arena, &problem, seed);
        wiring_layout(&arena, &problem);
        ours += problem.crossings;
        make_random(&arena, &problem, seed);
        problem.plain = true;
        wiring_layout(&arena, &problem);
        plain += problem.crossings;
        arena_free(&arena);
    }
    print_message("crossings of 60 random sheets: %zu, plain %zu\n", ours, plain);
    assert_true(ours * 10 < plain * 9);
}

/* Two boxes, links in opposite orders, one of two cores: can be drawn without any crossing. */
static void what_can_be_plane_is_plane(void **state) {
    (void)state;
    Arena arena = {0};
    LayoutProblem problem;
    start(&problem, 400.0, 300.0);
    for (uint32_t i = 0; i < 4; i++) {
        add_node(&arena, &problem, make_node(true));
    }
    static const uint32_t PAIRS[][2] = {{0, 3}, {1, 2}, {0, 1}, {2, 3}, {0, 2}, {3, 0}};
    for (size_t i = 0; i < sizeof PAIRS / sizeof *PAIRS; i++) {
        add_link(&arena, &problem, PAIRS[i][0], PAIRS[i][1], 1 + (uint32_t)(i % 2));
    }
    assert_true(wiring_layout(&arena, &problem));
    assert_int_equal(problem.crossings, 0);
    assert_int_equal(problem.copies, 0);
    arena_free(&arena);
}

static void what_does_not_fit_is_said(void **state) {
    (void)state;
    Arena arena = {0};
    LayoutProblem problem;
    start(&problem, 400.0, 60.0);
    add_node(&arena, &problem, make_node(true));
    add_node(&arena, &problem, make_node(true));
    for (int i = 0; i < 20; i++) {
        add_link(&arena, &problem, 0, 1, 1);
    }
    assert_false(wiring_layout(&arena, &problem));
    assert_int_equal(problem.line_count, 20);
    lines_join(&problem);
    arena_free(&arena);
}

/* More gates than columns fit the field, and both ends in one box. */
static void odd_links_are_drawn(void **state) {
    (void)state;
    Arena arena = {0};
    LayoutProblem problem;
    start(&problem, 200.0, 200.0);
    add_node(&arena, &problem, make_node(true));
    add_node(&arena, &problem, make_node(true));
    LayoutLink *link = add_link(&arena, &problem, 0, 1, 1);
    for (uint32_t i = 0; i < 30; i++) {
        add_gate(&arena, &problem, link, i);
    }
    add_link(&arena, &problem, 0, 0, 2);
    assert_false(wiring_layout(&arena, &problem));
    assert_int_equal(problem.stand_count, 30);
    assert_true(problem.copies > 0);
    lines_join(&problem);
    no_lines_on_each_other(&problem);
    arena_free(&arena);
}

/* --- memory -------------------------------------------------------------------------------------
 */

#define SAME(a, b, items, count)                                                                   \
    do {                                                                                           \
        assert_int_equal((a)->count, (b)->count);                                                  \
        if ((a)->count > 0) {                                                                      \
            assert_memory_equal((a)->items, (b)->items, (a)->count * sizeof *(a)->items);          \
        }                                                                                          \
    } while (0)

static void same_layout(const LayoutProblem *a, const LayoutProblem *b) {
    assert_int_equal(a->node_count, b->node_count);
    for (size_t i = 0; i < a->node_count; i++) {
        const LayoutNode *one = &a->nodes[i];
        const LayoutNode *other = &b->nodes[i];
        assert_memory_equal(&one->box, &other->box, sizeof one->box);
        assert_memory_equal(one->inset_mm, other->inset_mm, sizeof one->inset_mm);
        assert_int_equal(one->copy_of, other->copy_of);
        assert_int_equal(one->column, other->column);
        assert_int_equal(one->through, other->through);
    }
    assert_int_equal(a->link_count, b->link_count);
    for (size_t i = 0; i < a->link_count; i++) {
        for (int end = 0; end < 2; end++) {
            const LayoutEnd *one = &a->links[i].end[end];
            const LayoutEnd *other = &b->links[i].end[end];
            assert_int_equal(one->node, other->node);
            assert_int_equal(one->right, other->right);
            assert_int_equal(one->reversed, other->reversed);
            assert_true(one->y_mm == other->y_mm);
        }
        assert_int_equal(a->links[i].piece_first, b->links[i].piece_first);
    }
    assert_int_equal(a->piece_count, b->piece_count);
    for (size_t i = 0; i < a->piece_count; i++) {
        assert_int_equal(a->pieces[i].line_first, b->pieces[i].line_first);
        assert_true(a->pieces[i].label_mm == b->pieces[i].label_mm);
        assert_int_equal(a->pieces[i].label_at_end, b->pieces[i].label_at_end);
    }
    SAME(a, b, lines, line_count);
    SAME(a, b, points, point_count);
    assert_int_equal(a->stand_count, b->stand_count);
    for (size_t i = 0; i < a->stand_count; i++) {
        assert_int_equal(a->stands[i].gate, b->stands[i].gate);
        assert_memory_equal(&a->stands[i].box, &b->stands[i].box, sizeof a->stands[i].box);
    }
    assert_true(a->width_mm == b->width_mm && a->height_mm == b->height_mm);
    assert_int_equal(a->columns, b->columns);
    assert_int_equal(a->copies, b->copies);
    assert_int_equal(a->crossings, b->crossings);
}

/* Small enough that some do not fit and nodes are copied. */
static void make_tight(Arena *arena, LayoutProblem *problem, uint32_t seed) {
    make_random(arena, problem, seed);
    if (seed % 3 == 0) {
        problem->field.right_mm = problem->field.left_mm + 180.0;
    }
}

static void what_is_remembered_is_what_is_made(void **state) {
    (void)state;
    WiringMemory *memory = wiring_memory_open();
    size_t copied = 0;
    size_t over = 0;
    for (int round = 0; round < 3; round++) {
        wiring_memory_turn(memory);
        for (uint32_t seed = 0; seed < 60; seed++) {
            Arena arena = {0};
            LayoutProblem plain;
            LayoutProblem known;
            make_tight(&arena, &plain, seed);
            make_tight(&arena, &known, seed);
            bool good = wiring_layout(&arena, &plain);
            assert_int_equal(wiring_memory_layout(memory, &arena, &known), good);
            same_layout(&plain, &known);
            copied += plain.copies;
            over += good ? 0 : 1;
            arena_free(&arena);
        }
        size_t found;
        size_t made;
        wiring_memory_count(memory, &found, &made);
        assert_int_equal(made, 60);
        assert_int_equal(found, 60 * round);
    }
    assert_true(copied > 0 && over > 0);
    wiring_memory_close(memory);
}

/* Each input by itself, the smallest change of it. */
static void every_input_counts(void **state) {
    (void)state;
    enum { INPUTS = 25 };
    WiringMemory *memory = wiring_memory_open();
    Arena arena = {0};
    for (int changed = -1; changed < INPUTS; changed++) {
        LayoutProblem problem;
        make_random(&arena, &problem, 7);
        LayoutNode *node = &problem.nodes[1];
        LayoutLink *link = &problem.links[2];
        double *const lengths_mm[] = {
            &node->width_mm,         &node->middle_mm,        &node->head_mm,
            &node->foot_mm,          &node->row_mm,           &link->end[0].mark_mm,
            &link->end[1].mark_mm,   &link->end[0].inset_mm,  &link->end[1].inset_mm,
            &link->label_mm,         &link->gate_mark_mm,     &problem.gate_width_mm,
            &problem.gate_head_mm,   &problem.field.left_mm,  &problem.field.top_mm,
            &problem.field.right_mm, &problem.field.bottom_mm};
        enum { LENGTHS = sizeof lengths_mm / sizeof *lengths_mm };
        bool *const flags[] = {&node->fill, &node->through, &problem.plain, &problem.quick,
                               &problem.narrow};
        if (changed >= 0 && changed < LENGTHS) {
            *lengths_mm[changed] = nextafter(*lengths_mm[changed], 1e9);
        } else if (changed >= LENGTHS && changed < LENGTHS + 5) {
            *flags[changed - LENGTHS] = !*flags[changed - LENGTHS];
        } else if (changed == LENGTHS + 5) {
            node->lean = 1;
        } else if (changed == LENGTHS + 6) {
            link->rows++;
        } else if (changed == LENGTHS + 7) {
            problem.gates[0] += 1;
        }
        wiring_memory_layout(memory, &arena, &problem);
        size_t found;
        size_t made;
        wiring_memory_count(memory, &found, &made);
        assert_int_equal(made, changed + 2);
        assert_int_equal(found, 0);
    }
    arena_free(&arena);
    wiring_memory_close(memory);
}

static void what_nobody_needs_is_forgotten(void **state) {
    (void)state;
    WiringMemory *memory = wiring_memory_open();
    size_t found;
    size_t made;
    for (int turn = 0; turn < 12; turn++) {
        Arena arena = {0};
        LayoutProblem used;
        wiring_memory_turn(memory);
        make_random(&arena, &used, 1);
        wiring_memory_layout(memory, &arena, &used);
        if (turn == 0 || turn == 9) {
            LayoutProblem once;
            make_random(&arena, &once, 2);
            wiring_memory_layout(memory, &arena, &once);
        }
        arena_free(&arena);
    }
    wiring_memory_count(memory, &found, &made);
    assert_int_equal(made, 3); /* one was asked for at every turn, the other twice, long after */
    assert_int_equal(found, 11);
    wiring_memory_close(memory);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(geometry_of_random_sheets_holds),
        cmocka_unit_test(fewer_crossings_than_plain),
        cmocka_unit_test(what_can_be_plane_is_plane),
        cmocka_unit_test(what_does_not_fit_is_said),
        cmocka_unit_test(odd_links_are_drawn),
        cmocka_unit_test(what_is_remembered_is_what_is_made),
        cmocka_unit_test(every_input_counts),
        cmocka_unit_test(what_nobody_needs_is_forgotten),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
