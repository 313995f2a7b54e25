/* Pages that cover a drawing: all of it, with the overlap, and not one page too many. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "near.h"
#include "out/tiles.h"

static void what_fits_takes_one_page(void **state) {
    (void)state;
    TileGrid grid = tiles_grid(277.0, 190.0, 297.0, 210.0);
    assert_int_equal(grid.columns * grid.rows, 1);
    grid = tiles_grid(277.1, 190.0, 297.0, 210.0);
    assert_int_equal(grid.columns, 2);
    assert_int_equal(grid.rows, 1);
}

static void pages_cover_everything_and_none_is_idle(void **state) {
    (void)state;
    for (double width_mm = 50.0; width_mm < 3000.0; width_mm += 17.3) {
        TileGrid grid = tiles_grid(width_mm, 100.0, 420.0, 297.0);
        double reach_mm = (double)(grid.columns - 1) * grid.step_x_mm + grid.inner_w_mm;
        assert_true(reach_mm >= width_mm - 1e-6);
        assert_true(grid.columns == 1 || reach_mm - grid.step_x_mm < width_mm);
        assert_near(grid.inner_w_mm - grid.step_x_mm, TILE_OVERLAP_MM, 1e-12);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_fits_takes_one_page),
        cmocka_unit_test(pages_cover_everything_and_none_is_idle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
