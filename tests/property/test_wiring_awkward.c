/* Wiring diagrams of a job that nobody would choose: two boxes with 300 pins wired crosswise, a box
 * with a tag of 200 characters, one in another script. Everything is drawn, once, and nothing runs
 * into anything. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "app/draw.h"
#include "draw/measure.h"
#include "draw/sheets.h"
#include "draw/wiring.h"

enum { PINS = 300 };

static const char LONG_TAG[] =
    "A_box_with_a_very_long_name_A_box_with_a_very_long_name_A_box_with_a_very_long_name_"
    "A_box_with_a_very_long_name_A_box_with_a_very_long_name_A_box_with_a_very_long_name_"
    "A_box_with_a_very_long_name_1234";
static const char OTHER_TAG[] =
    "\xd0\x9a\xd0\xbe\xd1\x80\xd0\xbe\xd0\xb1\xd0\xba\xd0\xb0_\xe7\xae\xb1";

static void add_part(Arena *arena, TableSet *set) {
    PartRow *part = table_append(set, arena, TABLE_part);
    part->part = "zz-big";
    part->name = "box of many pins";
    part->supply = "passive";
    part->letter = "E";
    part->source = "made for a test";
    part->status = "invented";
    for (int i = 0; i < 4; i++) {
        PartConnectorRow *row = table_append(set, arena, TABLE_part_connector);
        row->part = "zz-big";
        row->connector = arena_format(arena, "J%d", i + 1);
        row->shell = "hd-78";
    }
    for (int i = 0; i < PINS; i++) {
        PortRow *port = table_append(set, arena, TABLE_port);
        port->part = "zz-big";
        port->port = arena_format(arena, "D%d", i);
        port->class = "X";
        port->direction = "bi";
        port->level = "analogue";
        PortPinRow *pin = table_append(set, arena, TABLE_port_pin);
        pin->part = "zz-big";
        pin->port = port->port;
        pin->core = 1;
        pin->connector = arena_format(arena, "J%d", 1 + i / 75);
        pin->cavity = arena_format(arena, "%d", 1 + i % 75);
    }
}

static void add_unit(Arena *arena, TableSet *set, const char *tag, const char *node) {
    UnitRow *row = table_append(set, arena, TABLE_unit);
    row->tag = tag;
    row->part = "zz-big";
    row->role =
        "a role that is told at such length that no line of any box could ever hold all of it";
    row->node = node;
    row->stub_mm = 200.0;
    row->module = "PNL";
}

static void add_link(Arena *arena, TableSet *set, const char *name, const char *ends) {
    LinkRow *row = table_append(set, arena, TABLE_link);
    row->link = name;
    row->ends = ends;
}

static void prove(Proof *proof) {
    *proof = (Proof){0};
    Arena *arena = &proof->arena;
    TableSet *set = &proof->set;
    proof->findings.arena = arena;
    assert_false(table_read_folder(arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY, set,
                                   &proof->findings)
                     .failed);
    assert_false(table_read_folder(arena, MARLING_SOURCE_DIR "/examples/first", GROUP_JOB, set,
                                   &proof->findings)
                     .failed);
    add_part(arena, set);
    add_unit(arena, set, "BIGA", "P1");
    add_unit(arena, set, "BIGB", "P2");
    add_unit(arena, set, LONG_TAG, "P1");
    add_unit(arena, set, OTHER_TAG, "E1");
    for (int i = 0; i < PINS - 5; i++) {
        add_link(arena, set, arena_format(arena, "BIG%d", i),
                 arena_format(arena, "BIGA.D%d BIGB.D%d", i, i * 7 % (PINS - 5)));
    }
    add_link(arena, set, "LONG", arena_format(arena, "%s.D1 BIGA.D299", LONG_TAG));
    add_link(arena, set, "OTHER", arena_format(arena, "%s.D1 BIGB.D299", OTHER_TAG));
    add_link(arena, set, "BOTH", arena_format(arena, "%s.D2 %s.D2", OTHER_TAG, LONG_TAG));
    table_check(arena, set, &proof->findings);
    assert_int_equal(proof->findings.count, 0);
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
    proof_run_set(&options, proof);
    assert_true(proof->complete);
}

static void awkward_jobs_are_drawn(void **state) {
    (void)state;
    static Proof proof;
    prove(&proof);
    DrawFonts *fonts = fonts_open();
    static const char *const PAPERS[] = {"A4", "A3", "Letter", "Tabloid"};
    for (size_t paper = 0; paper < sizeof PAPERS / sizeof *PAPERS; paper++) {
        Arena arena = {0};
        DrawView view;
        const char *problem;
        DrawChoice choice = {.paper = PAPERS[paper]};
        assert_true(draw_view_build(&arena, &proof, &choice, &view, &problem));
        Findings findings = {.arena = &arena};
        SheetPlan plan;
        sheets_plan(&arena, fonts, &view, &plan, &findings);
        uint32_t *drawn = ARENA_ARRAY(&arena, uint32_t, view.wiring->conductor_count);
        size_t marks = 0;
        for (uint32_t i = 0; i < plan.count; i++) {
            if (plan.sheets[i].kind != SHEET_WIRING) {
                continue;
            }
            Arena page = {0};
            DrawList list;
            Measure measure;
            sheet_draw(&plan, i, &page, false, &list);
            draw_measure(&page, &list, sheet_field(view.paper), &measure);
            for (size_t k = 0; k < measure.mark_count; k++) {
                print_message("%s on %s: %s\n", plan.sheets[i].name, PAPERS[paper],
                              draw_mark_text(&page, &list, &measure.marks[k]));
            }
            marks += measure.mark_count;
            for (size_t k = 0; k < list.count; k++) {
                const DrawItem *item = &list.items[k];
                if (item->layer == LAYER_WIRE && item->kind == DRAW_PATH) {
                    uint32_t id = name_map_find(&view.wiring->conductor_by_key, item->key);
                    assert_int_not_equal(id, NAME_NONE);
                    assert_int_equal(wiring_place(&plan, id).sheet, i);
                    drawn[id]++;
                }
            }
            arena_free(&page);
        }
        assert_int_equal(marks, 0);
        for (ConductorId i = 0; i < view.wiring->conductor_count; i++) {
            assert_int_equal(drawn[i],
                             view.disconnects->crossings[view.wiring->conductors[i].cable] + 1);
        }
        arena_free(&arena);
    }
    fonts_close(fonts);
    proof_free(&proof);
}

/* No circuits at all: no wiring sheets, and nothing breaks. */
static void a_job_without_wires_has_no_wiring_sheets(void **state) {
    (void)state;
    Proof proof = {0};
    proof.findings.arena = &proof.arena;
    assert_false(table_read_folder(&proof.arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY,
                                   &proof.set, &proof.findings)
                     .failed);
    assert_false(table_read_folder(&proof.arena, MARLING_SOURCE_DIR "/examples/first", GROUP_JOB,
                                   &proof.set, &proof.findings)
                     .failed);
    proof.set.feed.count = 0;
    proof.set.link.count = 0;
    proof.set.ground.count = 0;
    proof.set.pin_net.count = 0;
    table_check(&proof.arena, &proof.set, &proof.findings);
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
    proof_run_set(&options, &proof);
    Arena arena = {0};
    DrawView view;
    const char *problem;
    assert_true(draw_view_build(&arena, &proof, &(DrawChoice){0}, &view, &problem));
    assert_int_equal(view.wiring->conductor_count, 0);
    DrawFonts *fonts = fonts_open();
    Findings findings = {.arena = &arena};
    SheetPlan plan = {.arena = &arena, .fonts = fonts, .view = &view, .findings = &findings};
    wiring_plan(&plan);
    assert_int_equal(plan.count, 0);
    assert_int_equal(wiring_place(&plan, 0).sheet, ID_NONE);
    fonts_close(fonts);
    arena_free(&arena);
    proof_free(&proof);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(awkward_jobs_are_drawn),
        cmocka_unit_test(a_job_without_wires_has_no_wiring_sheets),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
