/* Two aircraft proved once, and a plan of all their sheets on any paper: what the tests that look
 * at drawn sheets begin with. Give drawn_set_up and drawn_tear_down to cmocka_run_group_tests; the
 * state of a test is a DrawnShop. */
#ifndef SUPPORT_DRAWN_H
#define SUPPORT_DRAWN_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "app/draw.h"
#include "draw/sheets.h"

enum { DRAWN_JOBS = 2 };

typedef struct DrawnShop {
    Proof proofs[DRAWN_JOBS];
    DrawFonts *fonts;
} DrawnShop;

static inline int drawn_set_up(void **state) {
    static DrawnShop shop;
    static const char *const JOBS[DRAWN_JOBS] = {MARLING_SOURCE_DIR "/examples/first",
                                                 MARLING_SOURCE_DIR "/examples/osier_mended"};
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
    for (size_t i = 0; i < DRAWN_JOBS; i++) {
        proof_run(JOBS[i], &options, &shop.proofs[i]);
        if (!shop.proofs[i].complete) {
            return -1;
        }
    }
    shop.fonts = fonts_open();
    *state = &shop;
    return 0;
}

static inline int drawn_tear_down(void **state) {
    DrawnShop *shop = *state;
    for (size_t i = 0; i < DRAWN_JOBS; i++) {
        proof_free(&shop->proofs[i]);
    }
    fonts_close(shop->fonts);
    return 0;
}

/* A plan of all sheets of one of them, on the choice's paper; all from `arena`. */
static inline void drawn_plan(DrawnShop *shop, size_t job, const DrawChoice *choice, Arena *arena,
                              DrawView *view, SheetPlan *plan, Findings *findings) {
    const char *problem;
    assert_true(draw_view_build(arena, &shop->proofs[job], choice, view, &problem));
    *findings = (Findings){.arena = arena};
    sheets_plan(arena, shop->fonts, view, plan, findings);
}

#endif
