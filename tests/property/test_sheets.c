/* Every sheet of two aircraft on every paper, looked at by the checker with the pencil: no text on
 * text, no line through text, nothing outside its field; and every conductor drawn exactly once. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "base/text.h"
#include "draw/measure.h"
#include "draw/panel_sheet.h"
#include "support/drawn.h"

/* Marks on all sheets; the first ones are printed. */
static size_t marks_of(DrawnShop *shop, size_t job, const DrawChoice *choice) {
    Arena arena = {0};
    DrawView view;
    SheetPlan plan;
    Findings findings;
    drawn_plan(shop, job, choice, &arena, &view, &plan, &findings);
    assert_true(plan.count > 5);
    size_t marks = 0;
    for (uint32_t i = 0; i < plan.count; i++) {
        Arena page = {0};
        DrawList list;
        Measure measure;
        sheet_draw(&plan, i, &page, false, &list);
        draw_measure(&page, &list, sheet_field(view.paper), &measure);
        for (size_t j = 0; j < measure.mark_count && j < 5; j++) {
            print_message("%s on %s: %s\n", plan.sheets[i].name, choice->paper,
                          draw_mark_text(&page, &list, &measure.marks[j]));
        }
        marks += measure.mark_count;
        arena_free(&page);
    }
    arena_free(&arena);
    return marks;
}

static void no_sheet_has_a_mark(DrawnShop *shop, const char *paper) {
    for (size_t job = 0; job < 2; job++) {
        DrawChoice choice = {.paper = paper, .units = "both"};
        assert_int_equal(marks_of(shop, job, &choice), 0);
    }
}

static void a3_sheets_are_clean(void **state) {
    no_sheet_has_a_mark(*state, "A3");
}

static void a4_sheets_are_clean(void **state) {
    no_sheet_has_a_mark(*state, "A4");
}

static void letter_sheets_are_clean(void **state) {
    no_sheet_has_a_mark(*state, "Letter");
}

static void tabloid_sheets_are_clean(void **state) {
    no_sheet_has_a_mark(*state, "Tabloid");
}

/* What lies behind, which goes with that page: nothing on anything, its pictures clear of words,
 * and the tightest box told. */
static void the_page_of_what_lies_behind_is_clean(void **state) {
    DrawnShop *shop = *state;
    static const char *const PAPERS[] = {"A4", "Letter", "A3", "Tabloid"};
    static const char *const CAPTIONS[PANEL_BEHIND_SECTIONS] = {"cut at u = -462 mm, nose left",
                                                                "cut at u = 0 mm, nose left",
                                                                "cut at u = 265 mm, nose left"};
    for (size_t i = 0; i < sizeof PAPERS / sizeof *PAPERS; i++) {
        Arena arena = {0};
        DrawChoice choice = {.paper = PAPERS[i]};
        DrawView view;
        const char *problem;
        assert_true(draw_view_build(&arena, &shop->proofs[1], &choice, &view, &problem));
        DrawList list;
        PanelBehindSheet sheet;
        Measure measure;
        panel_behind_draw(&arena, shop->fonts, &view, &shop->proofs[1].panel, 0, "01234567", "2",
                          CAPTIONS, &list, &sheet);
        draw_measure(&arena, &list, sheet_field(view.paper), &measure);
        for (size_t j = 0; j < measure.mark_count; j++) {
            print_message("behind on %s: %s\n", PAPERS[i],
                          draw_mark_text(&arena, &list, &measure.marks[j]));
        }
        assert_int_equal(measure.mark_count, 0);
        bool tightest = false;
        bool hash = false;
        for (size_t j = 0; j < list.count; j++) {
            if (list.items[j].kind != DRAW_TEXT || list.items[j].layer == LAYER_FRAME) {
                continue;
            }
            const char *text = list.items[j].text;
            const DrawBox *box = &list.items[j].box;
            hash = hash || strstr(text, "01234567") != NULL;
            tightest = tightest || strstr(text, "PD2  130 of 138 mm") != NULL ||
                       strstr(text, "PD2 130 of 138 mm") != NULL;
            if (strstr(text, " more: table ") != NULL) {
                fail_msg("on %s: %s", PAPERS[i], text);
            }
            assert_true(box->top_mm > sheet.rear.bottom_mm);
            for (int k = 0; k < PANEL_BEHIND_SECTIONS; k++) {
                const DrawBox *room = &sheet.sections[k];
                assert_true(box->right_mm <= room->left_mm || box->left_mm >= room->right_mm ||
                            box->bottom_mm <= room->top_mm || box->top_mm >= room->bottom_mm);
            }
        }
        assert_true(hash && tightest);
        arena_free(&arena);
    }
}

/* The page a customer signs: nothing on anything, all of its hash, and nothing left out for want of
 * room. */
static void the_page_for_signature_is_clean(void **state) {
    DrawnShop *shop = *state;
    static const char *const PAPERS[] = {"A4", "Letter", "A3", "Tabloid"};
    static const char HASH[] = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";
    for (size_t i = 0; i < sizeof PAPERS / sizeof *PAPERS; i++) {
        Arena arena = {0};
        DrawChoice choice = {.paper = PAPERS[i]};
        DrawView view;
        const char *problem;
        assert_true(draw_view_build(&arena, &shop->proofs[1], &choice, &view, &problem));
        DrawList list;
        PanelSheet sheet;
        Measure measure;
        panel_sheet_draw(&arena, shop->fonts, &view, &shop->proofs[1].panel, 0, HASH, "1", &list,
                         &sheet);
        draw_measure(&arena, &list, sheet_field(view.paper), &measure);
        for (size_t j = 0; j < measure.mark_count; j++) {
            print_message("signature on %s: %s\n", PAPERS[i],
                          draw_mark_text(&arena, &list, &measure.marks[j]));
        }
        assert_int_equal(measure.mark_count, 0);
        bool hash = false;
        bool covers = false;
        for (size_t j = 0; j < list.count; j++) {
            if (list.items[j].kind == DRAW_TEXT) {
                const char *text = list.items[j].text;
                hash = hash || strstr(text, HASH) != NULL;
                covers = covers || strstr(text, "no other hash") != NULL;
                if (strstr(text, " more: table ") != NULL) {
                    fail_msg("on %s: %s", PAPERS[i], text);
                }
                /* Pictures lie clear of words. */
                assert_true(list.items[j].box.top_mm > sheet.front.bottom_mm ||
                            list.items[j].layer == LAYER_FRAME);
            }
        }
        assert_true(hash && covers);
        assert_true(sheet.front.right_mm - sheet.front.left_mm >
                    0.6 * (sheet_field(view.paper).right_mm - sheet_field(view.paper).left_mm));
        arena_free(&arena);
    }
}

/* Counted on the layer wire alone, over all sheets. */
static void every_conductor_is_drawn_on_one_sheet(void **state) {
    DrawnShop *shop = *state;
    for (size_t job = 0; job < 2; job++) {
        Arena arena = {0};
        DrawView view;
        SheetPlan plan;
        Findings findings;
        drawn_plan(shop, job, &(DrawChoice){0}, &arena, &view, &plan, &findings);
        NameMap seen = {0}; /* wire key -> sheet */
        for (uint32_t i = 0; i < plan.count; i++) {
            DrawList list;
            sheet_draw(&plan, i, &arena, false, &list);
            for (size_t j = 0; j < list.count; j++) {
                const DrawItem *item = &list.items[j];
                if (item->layer == LAYER_WIRE && item->table == TABLE_conductor) {
                    assert_int_equal(name_map_add(&seen, &arena, item->key, i) == NAME_NONE ||
                                         name_map_find(&seen, item->key) == i,
                                     1);
                }
            }
        }
        const Wiring *wiring = &shop->proofs[job].wiring;
        assert_int_equal(seen.count, wiring->conductor_count);
        for (uint32_t i = 0; i < wiring->conductor_count; i++) {
            assert_int_not_equal(name_map_find(&seen, wiring->conductors[i].key), NAME_NONE);
        }
        arena_free(&arena);
    }
}

/* A cut, a reel, an operation and a reading: each row on paper has one square box of its own,
 * within its row's rules, large enough for a pencil held in a glove. */
static void what_is_ticked_has_a_box(void **state) {
    DrawnShop *shop = *state;
    static const TableId TICKED[] = {TABLE_cut, TABLE_reel_plan, TABLE_work, TABLE_ringout,
                                     TABLE_pull_test};
    Arena arena = {0};
    DrawView view;
    SheetPlan plan;
    Findings findings;
    drawn_plan(shop, 1, &(DrawChoice){0}, &arena, &view, &plan, &findings);
    size_t boxes[sizeof TICKED / sizeof *TICKED] = {0};
    for (uint32_t i = 0; i < plan.count; i++) {
        Arena page = {0};
        DrawList list;
        NameMap own = {0};
        sheet_draw(&plan, i, &page, false, &list);
        for (size_t j = 0; j < list.count; j++) {
            const DrawItem *item = &list.items[j];
            for (size_t k = 0; k < sizeof TICKED / sizeof *TICKED; k++) {
                double width_mm = item->box.right_mm - item->box.left_mm;
                if (item->table != TICKED[k] || item->layer != LAYER_RULE || !item->closed) {
                    continue;
                }
                assert_true(width_mm > 4.5 && width_mm < 6.0);
                assert_true(fabs(item->box.bottom_mm - item->box.top_mm - width_mm) < 1e-9);
                const char *key = arena_format(&page, "%zu %s", k, item->key);
                assert_int_equal(name_map_add(&own, &page, key, 0), NAME_NONE);
                boxes[k]++;
            }
        }
        arena_free(&page);
    }
    for (size_t k = 0; k < sizeof TICKED / sizeof *TICKED; k++) {
        assert_true(boxes[k] > 10);
        assert_int_equal(boxes[k], view.set->any[TICKED[k]].count);
    }
    arena_free(&arena);
}

/* Every link of a page leads to an anchor of some page. */
static void every_link_leads_somewhere(void **state) {
    DrawnShop *shop = *state;
    Arena arena = {0};
    DrawView view;
    SheetPlan plan;
    Findings findings;
    drawn_plan(shop, 1, &(DrawChoice){0}, &arena, &view, &plan, &findings);
    NameMap anchors = {0};
    size_t links = 0;
    for (int round = 0; round < 2; round++) {
        for (uint32_t i = 0; i < plan.count; i++) {
            DrawList list;
            sheet_draw(&plan, i, &arena, false, &list);
            for (size_t j = 0; j < list.count; j++) {
                const DrawItem *item = &list.items[j];
                if (round == 0 && item->kind == DRAW_ANCHOR) {
                    assert_int_equal(name_map_add(&anchors, &arena, item->text, i), NAME_NONE);
                } else if (round == 1 && item->kind == DRAW_LINK) {
                    if (name_map_find(&anchors, item->text) == NAME_NONE) {
                        fail_msg("%s: link to %s leads nowhere", plan.sheets[i].name, item->text);
                    }
                    links++;
                }
            }
        }
    }
    assert_true(links > plan.count);
    arena_free(&arena);
}

/* Same input, same list: drawn twice, in two plans. */
static void sheets_do_not_change_by_themselves(void **state) {
    DrawnShop *shop = *state;
    Arena arena = {0};
    DrawView view;
    SheetPlan plans[2];
    Findings findings;
    drawn_plan(shop, 1, &(DrawChoice){0}, &arena, &view, &plans[0], &findings);
    drawn_plan(shop, 1, &(DrawChoice){0}, &arena, &view, &plans[1], &findings);
    assert_int_equal(plans[0].count, plans[1].count);
    for (uint32_t i = 0; i < plans[0].count; i++) {
        DrawList lists[2];
        sheet_draw(&plans[0], i, &arena, false, &lists[0]);
        sheet_draw(&plans[1], i, &arena, false, &lists[1]);
        assert_int_equal(lists[0].count, lists[1].count);
        assert_int_equal(lists[0].point_count, lists[1].point_count);
        for (size_t j = 0; j < lists[0].count; j++) {
            const DrawItem *left = &lists[0].items[j];
            const DrawItem *right = &lists[1].items[j];
            assert_memory_equal(&left->box, &right->box, sizeof left->box);
            assert_string_equal(left->text, right->text);
            assert_string_equal(left->key, right->key);
        }
    }
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a3_sheets_are_clean),
        cmocka_unit_test(a4_sheets_are_clean),
        cmocka_unit_test(letter_sheets_are_clean),
        cmocka_unit_test(tabloid_sheets_are_clean),
        cmocka_unit_test(the_page_for_signature_is_clean),
        cmocka_unit_test(the_page_of_what_lies_behind_is_clean),
        cmocka_unit_test(every_conductor_is_drawn_on_one_sheet),
        cmocka_unit_test(what_is_ticked_has_a_box),
        cmocka_unit_test(every_link_leads_somewhere),
        cmocka_unit_test(sheets_do_not_change_by_themselves),
    };
    return cmocka_run_group_tests(tests, drawn_set_up, drawn_tear_down);
}
