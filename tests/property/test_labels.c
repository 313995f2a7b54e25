/* Labels of whole jobs: both ends of every piece have one, each stands inside its own label on
 * every stock of the library, nothing overlaps, no name is cut where it could have been left out.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "app/draw.h"
#include "app/prove.h"
#include "draw/label.h"
#include "draw/measure.h"
#include "route/ends.h"

typedef struct Bench {
    Proof proof;
    Arena arena;
    DrawView view;
    DrawFonts *fonts;
} Bench;

static int set_up(void **state) {
    static Bench bench;
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
    proof_run(MARLING_SOURCE_DIR "/examples/osier_mended", &options, &bench.proof);
    const char *problem;
    if (!bench.proof.complete ||
        !draw_view_build(&bench.arena, &bench.proof, &(DrawChoice){0}, &bench.view, &problem)) {
        return -1;
    }
    bench.fonts = fonts_open();
    *state = &bench;
    return 0;
}

static int tear_down(void **state) {
    Bench *bench = *state;
    fonts_close(bench->fonts);
    arena_free(&bench->arena);
    proof_free(&bench->proof);
    return 0;
}

/* --- rows ---------------------------------------------------------------------------------------
 */

/* A conductor that passes n cavities is n + 1 pieces with 2n + 2 ends. */
static void both_ends_of_every_piece_are_labelled(void **state) {
    Bench *bench = *state;
    const TableSet *set = &bench->proof.set;
    NameMap seen = {0};
    size_t ends = 0;
    for (size_t i = 0; i < set->label.count; i++) {
        const LabelRow *row = &set->label.rows[i];
        const char *key = table_row_key(&bench->arena, TABLE_label, row);
        assert_int_equal(name_map_add(&seen, &bench->arena, key, (uint32_t)i), NAME_NONE);
        ends += strcmp(row->kind, "wire") == 0;
    }
    size_t expected = 0;
    for (size_t i = 0; i < set->conductor.count; i++) {
        const ConductorRow *row = &set->conductor.rows[i];
        const char *at = row->cavities;
        const char *word;
        size_t length;
        size_t numbers = 0;
        for (const char *place = row->number; text_next_word(&place, &word, &length);) {
            numbers++; /* each piece has its own wire number */
        }
        expected += 2 * numbers;
        /* The cavities of the table are the labels' ends, on both halves. */
        for (size_t passed = 0; text_next_word(&at, &word, &length); passed++) {
            size_t found = 0;
            for (uint32_t place = 1; place <= 2 * numbers; place++) {
                const char *key = arena_format(&bench->arena, "%s %u", row->wire, place);
                uint32_t label = name_map_find(&seen, key);
                assert_int_not_equal(label, NAME_NONE);
                const char *end = set->label.rows[label].at; /* BK1L.P-14 for BK1L-14 */
                const char *dash = strrchr(end, '-');
                if (dash == NULL || dash - end < 2) {
                    continue;
                }
                const char *plain =
                    arena_format(&bench->arena, "%.*s%s", (int)(dash - end - 2), end, dash);
                found += strlen(plain) == length && memcmp(plain, word, length) == 0;
            }
            assert_int_equal(found, 2);
        }
    }
    assert_true(expected > 700);
    assert_int_equal(ends, expected);
}

/* What the label of one end calls the far end is where the label of the other end is. */
static void ends_name_each_other(void **state) {
    Bench *bench = *state;
    const TableSet *set = &bench->proof.set;
    NameMap labels = {0};
    for (size_t i = 0; i < set->label.count; i++) {
        name_map_add(&labels, &bench->arena,
                     table_row_key(&bench->arena, TABLE_label, &set->label.rows[i]), (uint32_t)i);
    }
    for (size_t i = 0; i < set->label.count; i++) {
        const LabelRow *row = &set->label.rows[i];
        if (strcmp(row->kind, "connector") == 0) {
            continue;
        }
        int other = row->place % 2 == 1 ? row->place + 1 : row->place - 1;
        const char *key = arena_format(&bench->arena, "%s %d", row->item, other);
        uint32_t far = name_map_find(&labels, key);
        assert_int_not_equal(far, NAME_NONE);
        assert_string_equal(row->far_end, set->label.rows[far].at);
        assert_string_equal(row->code,
                            arena_format(&bench->arena, "%s:%s:%s:%s", set->job.rows[0].job,
                                         set->job.rows[0].revision, row->item, row->at));
    }
}

/* A tube slides over what it is put on and grips it once shrunk. */
static void tubes_slide_on_and_grip(void **state) {
    Bench *bench = *state;
    const TableSet *set = &bench->proof.set;
    size_t tubes = 0;
    for (size_t i = 0; i < set->label.count; i++) {
        const LabelRow *row = &set->label.rows[i];
        if (*row->sleeve == '\0') {
            assert_true(strcmp(row->kind, "connector") == 0 || *row->note != '\0');
            continue;
        }
        const SleeveRow *sleeve =
            &set->sleeve.rows[model_row(&bench->proof.model, TABLE_sleeve, row->sleeve)];
        assert_true(sleeve->supplied_mm > row->diameter_mm);
        assert_true(sleeve->recovered_mm <= row->diameter_mm);
        tubes++;
    }
    assert_true(tubes > 700);
    /* The bounds themselves: 1.2 mm is the recovered size of tube-2.4; nothing grips 0.1 mm. */
    const Model *model = &bench->proof.model;
    assert_string_equal(set->sleeve.rows[ends_sleeve(model, "tube", 2.3, 1.2)].sleeve, "tube-2.4");
    assert_string_equal(set->sleeve.rows[ends_sleeve(model, "tube", 0.0, 1.2)].sleeve, "tube-1.6");
    assert_int_equal(ends_sleeve(model, "tube", 2.3, 1.19), ID_NONE);
    assert_int_equal(ends_sleeve(model, "tube", 0.0, 0.1), ID_NONE);
    assert_int_equal(ends_sleeve(model, "tube", 0.0, 500.0), ID_NONE);
    assert_string_equal(set->sleeve.rows[ends_sleeve(model, "shield", 0.0, 4.0)].sleeve,
                        "shield-4.3");
}

/* --- pages --------------------------------------------------------------------------------------
 */

static DrawBox label_box(const LabelPlan *plan, uint32_t slot) {
    const LabelStockRow *stock = plan->stock;
    bool sheet = strcmp(stock->kind, "sheet") == 0;
    uint32_t columns = sheet ? (uint32_t)stock->columns : 1;
    double left =
        sheet ? stock->left_mm + (slot % columns) * (stock->label_width_mm + stock->gap_x_mm)
              : stock->gap_x_mm / 2.0;
    double top =
        sheet ? stock->top_mm + (slot / columns) * (stock->label_height_mm + stock->gap_y_mm) : 0.0;
    return (DrawBox){left, top, left + stock->label_width_mm, top + stock->label_height_mm};
}

/* Every item of a label lies inside the label's own box; every label has text. */
static void check_page(const LabelPlan *plan, uint32_t page, size_t *labels, size_t *codes) {
    Arena arena = {0};
    DrawList list;
    Measure measure;
    label_draw(plan, page, &arena, &list);
    draw_measure(&arena, &list, (DrawBox){0.0, 0.0, list.width_mm, list.height_mm}, &measure);
    for (size_t i = 0; i < measure.mark_count && i < 5; i++) {
        fprintf(stderr, "%s: %s\n", plan->stock->stock,
                draw_mark_text(&arena, &list, &measure.marks[i]));
    }
    assert_int_equal(measure.mark_count, 0);
    for (uint32_t slot = 0; slot < plan->per_page; slot++) {
        size_t number = (size_t)page * plan->per_page + slot;
        if (number >= plan->label_count) {
            break;
        }
        const char *key = table_row_key(&arena, TABLE_label, plan->labels[number]);
        DrawBox box = label_box(plan, slot);
        size_t texts = 0;
        bool code = false;
        for (size_t i = 0; i < list.count; i++) {
            const DrawItem *item = &list.items[i];
            if (item->table != TABLE_label || strcmp(item->key, key) != 0) {
                continue;
            }
            assert_true(item->box.left_mm >= box.left_mm && item->box.right_mm <= box.right_mm);
            assert_true(item->box.top_mm >= box.top_mm && item->box.bottom_mm <= box.bottom_mm);
            texts += item->kind == DRAW_TEXT;
            code = code || item->layer == LAYER_CODE;
        }
        assert_true(texts > 0);
        *labels += 1;
        *codes += code;
    }
    arena_free(&arena);
}

static void every_stock_holds_its_labels(void **state) {
    Bench *bench = *state;
    const TableSet *set = &bench->proof.set;
    assert_true(set->label_stock.count > 5);
    for (size_t i = 0; i < set->label_stock.count; i++) {
        const LabelStockRow *stock = &set->label_stock.rows[i];
        LabelPlan plan;
        const char *problem = NULL;
        assert_true(
            label_plan(&bench->arena, bench->fonts, &bench->view, stock->stock, &plan, &problem));
        size_t labels = 0;
        size_t codes = 0;
        uint32_t step = plan.page_count > 60 ? plan.page_count / 30 : 1;
        for (uint32_t page = 0; page < plan.page_count; page += step) {
            check_page(&plan, page, &labels, &codes);
        }
        printf("%s: %zu labels on %u pages, %zu codes on %zu looked at\n", stock->stock,
               plan.label_count, plan.page_count, codes, labels);
        if (*stock->sleeve == '\0') {
            assert_int_equal(plan.label_count, set->label.count);
        }
        assert_true(step > 1 || labels == plan.label_count);
        if (stock->label_height_mm >= 12.0) {
            assert_true(codes <= labels && codes + labels / 50 >= labels);
        }
    }
}

/* Wire number and the end it is put on stand whole on every label of the usual sheet. */
static void number_and_end_are_never_cut(void **state) {
    Bench *bench = *state;
    LabelPlan plan;
    const char *problem = NULL;
    assert_true(
        label_plan(&bench->arena, bench->fonts, &bench->view, "sheet-a4-65", &plan, &problem));
    for (uint32_t page = 0; page < plan.page_count; page++) {
        Arena arena = {0};
        DrawList list;
        label_draw(&plan, page, &arena, &list);
        for (size_t i = 0; i < list.count; i++) {
            const DrawItem *item = &list.items[i];
            if (item->kind == DRAW_TEXT && item->table == TABLE_label) {
                if (strstr(item->text, "...") != NULL) {
                    fail_msg("label %s is cut: %s", item->key, item->text);
                }
            }
        }
        arena_free(&arena);
    }
}

static void what_is_wrong_with_a_stock_is_said(void **state) {
    Bench *bench = *state;
    LabelPlan plan;
    const char *problem = NULL;
    assert_false(label_plan(&bench->arena, bench->fonts, &bench->view, "roll-13", &plan, &problem));
    assert_non_null(strstr(problem, "did you mean roll-12"));
    assert_true(label_plan(&bench->arena, bench->fonts, &bench->view, NULL, &plan, &problem));
    assert_string_equal(plan.stock->kind, "sheet");
    LabelStockRow *row =
        &bench->proof.set.label_stock.rows[plan.stock - bench->proof.set.label_stock.rows];
    int32_t columns = row->columns;
    row->columns = INT_BLANK;
    assert_false(label_plan(&bench->arena, bench->fonts, &bench->view, NULL, &plan, &problem));
    assert_non_null(strstr(problem, "lacks sizes"));
    row->columns = columns;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(both_ends_of_every_piece_are_labelled),
        cmocka_unit_test(ends_name_each_other),
        cmocka_unit_test(tubes_slide_on_and_grip),
        cmocka_unit_test(every_stock_holds_its_labels),
        cmocka_unit_test(number_and_end_are_never_cut),
        cmocka_unit_test(what_is_wrong_with_a_stock_is_said),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
