/* The wiring diagrams read back from their geometry alone: which lines touch which pins and
 * cavities gives the circuits again, and they are those of the net table. Keys of wires are not
 * used to join anything. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "base/text.h"
#include "draw/wiring.h"
#include "support/drawn.h"

#define TOUCH_MM 0.01
#define FEW_WIRES 8u /* of the 13 that stand on a sheet in the mean, fewer are too few */

static const char *const PAPERS[] = {"A4", "A3", "Letter", "Tabloid"};

/* --- joining ------------------------------------------------------------------------------------
 */

typedef struct Joiner {
    uint32_t *parent;
    size_t count;
    size_t capacity;
} Joiner;

static uint32_t joiner_add(Joiner *joiner, Arena *arena) {
    uint32_t id = (uint32_t)joiner->count;
    *ARENA_PUSH(arena, joiner->parent, joiner->count, joiner->capacity) = id;
    return id;
}

static uint32_t joiner_find(Joiner *joiner, uint32_t id) {
    while (joiner->parent[id] != id) {
        joiner->parent[id] = joiner->parent[joiner->parent[id]];
        id = joiner->parent[id];
    }
    return id;
}

static void joiner_join(Joiner *joiner, uint32_t a, uint32_t b) {
    joiner->parent[joiner_find(joiner, a)] = joiner_find(joiner, b);
}

/* The element of a name, made when new. */
static uint32_t named(Joiner *joiner, NameMap *names, Arena *arena, const char *name) {
    uint32_t id = name_map_find(names, name);
    if (id == NAME_NONE) {
        id = joiner_add(joiner, arena);
        name_map_add(names, arena, name, id);
    }
    return id;
}

static bool same_point(DrawPoint a, DrawPoint b) {
    return fabs(a.x_mm - b.x_mm) < TOUCH_MM && fabs(a.y_mm - b.y_mm) < TOUCH_MM;
}

static bool is_pin(const DrawItem *item) {
    return item->kind == DRAW_PATH && item->layer == LAYER_PIN && item->table != TABLE_COUNT;
}

static bool is_wire(const DrawItem *item) {
    return item->kind == DRAW_PATH && item->layer == LAYER_WIRE && item->table == TABLE_conductor;
}

/* Joins every piece of wire of a sheet to what its two ends touch; each must touch one thing. */
static void read_sheet(const DrawList *list, Joiner *joiner, NameMap *names, Arena *arena) {
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *wire = &list->items[i];
        if (!is_wire(wire)) {
            continue;
        }
        uint32_t piece = joiner_add(joiner, arena);
        for (int end = 0; end < 2; end++) {
            DrawPoint at = draw_points(list, wire)[end == 0 ? 0 : wire->point_count - 1];
            const char *touched = NULL;
            for (size_t j = 0; j < list->count; j++) {
                const DrawItem *pin = &list->items[j];
                for (uint32_t k = 0; is_pin(pin) && k < pin->point_count; k++) {
                    if (same_point(at, draw_points(list, pin)[k])) {
                        assert_true(touched == NULL || strcmp(touched, pin->key) == 0);
                        touched = pin->key;
                    }
                }
            }
            if (touched == NULL) {
                print_message("an end of %s touches nothing at %g, %g\n", wire->key, at.x_mm,
                              at.y_mm);
            }
            assert_non_null(touched);
            joiner_join(joiner, piece, named(joiner, names, arena, touched));
        }
    }
}

/* --- tests --------------------------------------------------------------------------------------
 */

static void circuits_read_back_are_the_net_table(void **state) {
    DrawnShop *shop = *state;
    for (size_t turn = 0; turn < 8; turn++) {
        Arena arena = {0};
        DrawView view;
        SheetPlan plan;
        Findings findings;
        drawn_plan(shop, turn % 2, &(DrawChoice){.paper = PAPERS[turn / 2]}, &arena, &view, &plan,
                   &findings);
        Joiner drawn = {0};
        NameMap names = {0};
        for (uint32_t i = 0; i < plan.count; i++) {
            if (plan.sheets[i].kind == SHEET_WIRING) {
                Arena page = {0};
                DrawList list;
                sheet_draw(&plan, i, &page, false, &list);
                /* keys outlive the page: copy what becomes a name */
                for (size_t k = 0; k < list.count; k++) {
                    list.items[k].key =
                        arena_text(&arena, list.items[k].key, strlen(list.items[k].key));
                }
                read_sheet(&list, &drawn, &names, &arena);
                arena_free(&page);
            }
        }
        /* What the net table says, pin by pin. */
        const Wiring *wiring = view.wiring;
        Joiner wanted = {0};
        for (PinId pin = 0; pin < view.model->pin_count; pin++) {
            joiner_add(&wanted, &arena);
        }
        for (ConductorId i = 0; i < wiring->conductor_count; i++) {
            joiner_join(&wanted, wiring->conductors[i].from, wiring->conductors[i].to);
        }
        uint32_t *to_drawn = ARENA_ARRAY(&arena, uint32_t, view.model->pin_count);
        uint32_t *to_wanted = ARENA_ARRAY(&arena, uint32_t, drawn.count);
        memset(to_drawn, 0xff, view.model->pin_count * sizeof *to_drawn);
        memset(to_wanted, 0xff, drawn.count * sizeof *to_wanted);
        for (ConductorId i = 0; i < wiring->conductor_count; i++) {
            PinId pins[2] = {wiring->conductors[i].from, wiring->conductors[i].to};
            for (int end = 0; end < 2; end++) {
                uint32_t id = name_map_find(&names, model_pin_text(view.model, &arena, pins[end]));
                assert_int_not_equal(id, NAME_NONE);
                uint32_t have = joiner_find(&drawn, id);
                uint32_t want = joiner_find(&wanted, pins[end]);
                assert_true(to_drawn[want] == UINT32_MAX || to_drawn[want] == have);
                assert_true(to_wanted[have] == UINT32_MAX || to_wanted[have] == want);
                to_drawn[want] = have;
                to_wanted[have] = want;
            }
        }
        arena_free(&arena);
    }
}

/* A conductor has a piece more than it passes disconnects, and its place is where it is drawn. */
static void every_piece_is_drawn_once(void **state) {
    DrawnShop *shop = *state;
    for (size_t job = 0; job < 2; job++) {
        Arena arena = {0};
        DrawView view;
        SheetPlan plan;
        Findings findings;
        drawn_plan(shop, job, &(DrawChoice){.paper = "A3"}, &arena, &view, &plan, &findings);
        const Wiring *wiring = view.wiring;
        uint32_t *pieces = ARENA_ARRAY(&arena, uint32_t, wiring->conductor_count);
        size_t cavities = 0;
        for (uint32_t i = 0; i < plan.count; i++) {
            if (plan.sheets[i].kind != SHEET_WIRING) {
                continue;
            }
            DrawList list;
            sheet_draw(&plan, i, &arena, false, &list);
            size_t wires = 0;
            for (size_t k = 0; k < list.count; k++) {
                const DrawItem *item = &list.items[k];
                if (is_wire(item)) {
                    uint32_t id = name_map_find(&wiring->conductor_by_key, item->key);
                    assert_int_not_equal(id, NAME_NONE);
                    assert_int_equal(wiring_place(&plan, id).sheet, i);
                    pieces[id]++;
                    wires++;
                }
                cavities += is_pin(item) && item->table == TABLE_cavity_use ? 1 : 0;
            }
            assert_true(wires > 0);
        }
        for (ConductorId i = 0; i < wiring->conductor_count; i++) {
            assert_int_equal(pieces[i],
                             view.disconnects->crossings[wiring->conductors[i].cable] + 1);
        }
        /* Two halves of each, shields too. */
        assert_int_equal(cavities, 2 * view.disconnects->use_count);
        arena_free(&arena);
    }
}

static bool lie_on_each_other(DrawPoint a, DrawPoint b, DrawPoint c, DrawPoint d) {
    bool level = fabs(a.y_mm - b.y_mm) < TOUCH_MM && fabs(c.y_mm - d.y_mm) < TOUCH_MM &&
                 fabs(a.y_mm - c.y_mm) < 1.0;
    bool upright = fabs(a.x_mm - b.x_mm) < TOUCH_MM && fabs(c.x_mm - d.x_mm) < TOUCH_MM &&
                   fabs(a.x_mm - c.x_mm) < 1.0;
    if (level) {
        return fmax(fmin(a.x_mm, b.x_mm), fmin(c.x_mm, d.x_mm)) <
               fmin(fmax(a.x_mm, b.x_mm), fmax(c.x_mm, d.x_mm)) - TOUCH_MM;
    }
    return upright && fmax(fmin(a.y_mm, b.y_mm), fmin(c.y_mm, d.y_mm)) <
                          fmin(fmax(a.y_mm, b.y_mm), fmax(c.y_mm, d.y_mm)) - TOUCH_MM;
}

static void no_two_wires_lie_on_each_other(void **state) {
    DrawnShop *shop = *state;
    for (size_t turn = 0; turn < 4; turn++) {
        Arena arena = {0};
        DrawView view;
        SheetPlan plan;
        Findings findings;
        drawn_plan(shop, turn % 2, &(DrawChoice){.paper = PAPERS[turn / 2]}, &arena, &view, &plan,
                   &findings);
        for (uint32_t i = 0; i < plan.count; i++) {
            if (plan.sheets[i].kind != SHEET_WIRING) {
                continue;
            }
            DrawList list;
            sheet_draw(&plan, i, &arena, false, &list);
            for (size_t m = 0; m < list.count; m++) {
                for (size_t n = m + 1; n < list.count; n++) {
                    const DrawItem *a = &list.items[m];
                    const DrawItem *b = &list.items[n];
                    if (!is_wire(a) || !is_wire(b)) {
                        continue;
                    }
                    const DrawPoint *p = draw_points(&list, a);
                    const DrawPoint *q = draw_points(&list, b);
                    for (uint32_t s = 0; s + 1 < a->point_count; s++) {
                        for (uint32_t t = 0; t + 1 < b->point_count; t++) {
                            if (lie_on_each_other(p[s], p[s + 1], q[t], q[t + 1])) {
                                print_message("%s: %s lies on %s\n", plan.sheets[i].name, a->key,
                                              b->key);
                                fail();
                            }
                        }
                    }
                }
            }
        }
        arena_free(&arena);
    }
}

/* A box is drawn once on a sheet, also where the sheet is laid out in bands; and on the large paper
 * no sheet of a whole aircraft holds only a few wires. */
static void sheets_are_filled_and_boxes_stand_once(void **state) {
    DrawnShop *shop = *state;
    for (size_t turn = 0; turn < 8; turn++) {
        Arena arena = {0};
        DrawView view;
        SheetPlan plan;
        Findings findings;
        drawn_plan(shop, turn % 2, &(DrawChoice){.paper = PAPERS[turn / 2]}, &arena, &view, &plan,
                   &findings);
        bool whole_aircraft = turn % 2 == 1 && strcmp(PAPERS[turn / 2], "A3") == 0;
        for (uint32_t i = 0; i < plan.count; i++) {
            if (plan.sheets[i].kind != SHEET_WIRING) {
                continue;
            }
            DrawList list;
            NameMap boxes = {0};
            NameMap wires = {0};
            sheet_draw(&plan, i, &arena, false, &list);
            for (size_t k = 0; k < list.count; k++) {
                const DrawItem *item = &list.items[k];
                if (item->layer == LAYER_BOX && item->table == TABLE_unit &&
                    name_map_add(&boxes, &arena, item->key, 0) != NAME_NONE) {
                    fail_msg("%s has %s twice", plan.sheets[i].name, item->key);
                }
                if (is_wire(item)) {
                    name_map_add(&wires, &arena, item->key, 0);
                }
            }
            if (whole_aircraft && wires.count < FEW_WIRES) {
                fail_msg("%s has only %zu wires", plan.sheets[i].name, (size_t)wires.count);
            }
        }
        arena_free(&arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(circuits_read_back_are_the_net_table),
        cmocka_unit_test(every_piece_is_drawn_once),
        cmocka_unit_test(no_two_wires_lie_on_each_other),
        cmocka_unit_test(sheets_are_filled_and_boxes_stand_once),
    };
    return cmocka_run_group_tests(tests, drawn_set_up, drawn_tear_down);
}
