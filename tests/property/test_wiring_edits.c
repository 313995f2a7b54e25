/* Wiring diagrams after an edit, laid out with what is remembered of those before it, are those
 * laid out anew, to the last byte; and most layouts are there. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "app/draw.h"
#include "draw/sheets.h"
#include "draw/wiring_memory.h"
#include "out/svg.h"

#define EXAMPLE MARLING_SOURCE_DIR "/examples/osier_mended"
#define LIBRARY MARLING_SOURCE_DIR "/library"

static void leave_as_it_is(TableSet *set) {
    (void)set;
}

static void rename_a_role(TableSet *set) {
    set->unit.rows[set->unit.count / 2].role = "as somebody else would call it";
}

static void lengthen_a_stub(TableSet *set) {
    set->unit.rows[3].stub_mm += 400.0;
}

static void drop_a_link(TableSet *set) {
    set->link.count--;
}

static void turn_rows_round(TableSet *set) {
    for (size_t i = 0; i < set->link.count / 2; i++) {
        LinkRow row = set->link.rows[i];
        set->link.rows[i] = set->link.rows[set->link.count - 1 - i];
        set->link.rows[set->link.count - 1 - i] = row;
    }
}

typedef struct Edit {
    void (*make)(TableSet *set);
    const char *name;
} Edit;

static const Edit EDITS[] = {
    {leave_as_it_is, "nothing"},  {rename_a_role, "a role"},        {lengthen_a_stub, "a stub"},
    {drop_a_link, "a link less"}, {turn_rows_round, "rows turned"}, {leave_as_it_is, "all back"},
};

/* All wiring diagrams, one after the other. */
static const char *diagrams(Arena *arena, DrawFonts *fonts, const DrawView *view,
                            WiringMemory *memory, size_t *sheets) {
    Findings findings = {.arena = arena};
    SheetPlan plan;
    sheets_start(arena, fonts, view, &plan, &findings);
    plan.memory = memory;
    sheets_plan_to(&plan, SHEET_LAST_LIVE);
    plan.memory = NULL;
    Buffer text = {.arena = arena};
    *sheets = 0;
    for (uint32_t i = 0; i < plan.count; i++) {
        if (plan.sheets[i].kind == SHEET_WIRING) {
            DrawList list;
            sheet_draw(&plan, i, arena, true, &list);
            svg_write(&text, &list, plan.sheets[i].title);
            (*sheets)++;
        }
    }
    for (size_t i = 0; i < findings.count; i++) {
        buffer_format(&text, "%s %s\n", rule_name(findings.rows[i].rule), findings.rows[i].key);
    }
    return text.bytes;
}

static void edited_diagrams_are_those_laid_out_anew(void **state) {
    (void)state;
    WiringMemory *memory = wiring_memory_open();
    DrawFonts *fonts = fonts_open();
    size_t found = 0;
    size_t made = 0;
    for (size_t i = 0; i < sizeof EDITS / sizeof *EDITS; i++) {
        Proof proof = {0};
        Arena arena = {0};
        proof.findings.arena = &proof.arena;
        assert_false(
            table_read_folder(&proof.arena, LIBRARY, GROUP_LIBRARY, &proof.set, &proof.findings)
                .failed);
        assert_false(
            table_read_folder(&proof.arena, EXAMPLE, GROUP_JOB, &proof.set, &proof.findings)
                .failed);
        EDITS[i].make(&proof.set);
        ProofOptions options = {.no_faults = true, .no_card = true};
        proof_run_set(&options, &proof);
        assert_true(proof.complete);
        DrawView view;
        DrawChoice choice = {0};
        const char *problem;
        assert_true(draw_view_live(&arena, &proof, &choice, &view, &problem));
        size_t sheets;
        const char *anew = diagrams(&arena, fonts, &view, NULL, &sheets);
        wiring_memory_turn(memory);
        const char *known = diagrams(&arena, fonts, &view, memory, &sheets);
        assert_true(sheets > 10);
        assert_int_equal(strlen(anew), strlen(known));
        assert_memory_equal(anew, known, strlen(anew));
        size_t found_before = found;
        size_t made_before = made;
        wiring_memory_count(memory, &found, &made);
        printf("%s: %zu layouts remembered, %zu made\n", EDITS[i].name, found - found_before,
               made - made_before);
        if (i > 0) {
            assert_true(found - found_before > 2 * (made - made_before));
        }
        arena_free(&arena);
        proof_free(&proof);
    }
    fonts_close(fonts);
    wiring_memory_close(memory);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(edited_diagrams_are_those_laid_out_anew),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
