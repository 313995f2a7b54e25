/* The book of a job of 5,000 conductors: every page is drawn and every fourth written, none is
 * larger than those of a small job, and it takes as much memory at its end as in its middle; and
 * although its contents take more than one page, every wire stands on the page that is told for it.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "app/draw.h"
#include "draw/sheets.h"
#include "draw/wiring.h"
#include "out/pdf.h"
#include "support/job_grow.h"

#define CONDUCTORS 5000u
#define WRITE_EACH 4u /* drawn pages are written; all of them are in bench/bench_book.c */
#define PAGE_BYTES_MOST                                                                            \
    ((size_t)3 << 20) /* of a page's list; the example's largest takes 1.3 MB                      \
                       */
#define GROWTH_BYTES_MOST ((size_t)8 << 20) /* of the process, in half a book */

#ifdef MARLING_SANITIZED
#define SANITIZED true /* keeps what is freed: what the process takes says nothing */
#else
#define SANITIZED false
#endif

static void grow_and_prove(Arena *template, Proof *proof) {
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
    TableSet set = {0};
    Findings findings = {.arena = template};
    Status library = table_read_folder(template, options.library, GROUP_LIBRARY, &set, &findings);
    assert_false(library.failed);
    Status job = table_read_folder(template, MARLING_SOURCE_DIR "/examples/osier", GROUP_JOB, &set,
                                   &findings);
    assert_false(job.failed);
    table_check(template, &set, &findings);
    job_grow(&proof->arena, &set, CONDUCTORS, 1, &proof->set);
    proof_run_set(&options, proof);
    assert_true(proof->complete);
}

static size_t peak_bytes(void) {
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return (size_t)usage.ru_maxrss * 1024;
}

/* Counts the wires of a page, and looks whether each is told to stand there. */
static size_t count_wires(const SheetPlan *plan, uint32_t page, const DrawList *list, bool *seen) {
    const NameMap *by_key = &plan->view->wiring->conductor_by_key;
    size_t fresh = 0;
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        if (item->layer != LAYER_WIRE || item->table != TABLE_conductor) {
            continue;
        }
        ConductorId id = name_map_find(by_key, item->key);
        assert_int_not_equal(id, NAME_NONE);
        assert_int_equal(wiring_place(plan, id).sheet, page);
        fresh += seen[id] ? 0 : 1;
        seen[id] = true;
    }
    return fresh;
}

static void a_large_book_is_finished_in_flat_memory(void **state) {
    (void)state;
    Arena template = {0};
    Proof proof = {0};
    grow_and_prove(&template, &proof);
    Arena arena = {0};
    DrawView view;
    const char *problem;
    assert_true(draw_view_build(&arena, &proof, &(DrawChoice){0}, &view, &problem));
    Findings findings = {.arena = &arena};
    DrawFonts *fonts = fonts_open();
    SheetPlan plan;
    sheets_plan(&arena, fonts, &view, &plan, &findings);
    assert_true(plan.count > 1000);
    assert_true(plan.front > 2);
    for (OwnerId owner = 0; owner < view.model->owner_count; owner++) {
        SheetPlace place = wiring_owner_place(&plan, owner, 0);
        assert_true(place.sheet == ID_NONE || plan.sheets[place.sheet].kind == SHEET_WIRING);
    }
    char path[] = "large-book-XXXXXX";
    int file = mkstemp(path);
    assert_true(file >= 0);
    close(file);
    Pdf *pdf = pdf_open(&arena, path, &(PdfMeta){"test", "test", "", "test"});
    bool *seen = ARENA_ARRAY(&arena, bool, view.wiring->conductor_count);
    size_t wires = 0;
    size_t half_bytes = 0;
    for (uint32_t i = 0; i < plan.count; i++) {
        Arena page = {0};
        DrawList list;
        sheet_draw(&plan, i, &page, false, &list);
        if (i % WRITE_EACH == 0) {
            pdf_page(pdf, &list, plan.sheets[i].part, plan.sheets[i].title);
        }
        wires += count_wires(&plan, i, &list, seen);
        if (page.used_bytes > PAGE_BYTES_MOST) {
            fail_msg("%s takes %zu bytes", plan.sheets[i].name, page.used_bytes);
        }
        arena_free(&page);
        fonts_trim(fonts, (size_t)16 << 20); /* as app/book.c does */
        half_bytes = i == plan.count / 2 ? peak_bytes() : half_bytes;
    }
    Status status = pdf_close(pdf, NULL);
    assert_false(status.failed);
    assert_int_equal(wires, view.wiring->conductor_count);
    size_t grown_bytes = peak_bytes() - half_bytes;
    struct stat written;
    assert_int_equal(stat(path, &written), 0);
    print_message("%u conductors, %zu pages, %lld bytes; second half: %zu bytes more\n",
                  view.wiring->conductor_count, plan.count, (long long)written.st_size,
                  grown_bytes);
    assert_true(SANITIZED || grown_bytes < GROWTH_BYTES_MOST);
    assert_true((size_t)written.st_size > plan.count / WRITE_EACH * 2000);
    unlink(path);
    fonts_close(fonts);
    arena_free(&arena);
    proof_free(&proof);
    arena_free(&template);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_large_book_is_finished_in_flat_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
