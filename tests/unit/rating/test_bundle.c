/* The rules for the diameter of a bundle at their edges. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>

#include "rating/bundle.h"
#include "../../near.h"

static void rules_of_one_pass(void **state) {
    (void)state;
    const double d[] = {1, 2, 3};
    assert_near(bundle_least_mm(d, 3), 5, 0.0);
    assert_near(bundle_shop_mm(d, 3), 1.2 * sqrt(14), 1e-12);
    assert_near(bundle_mm(d, 3), 5, 1e-12);
    assert_near(bundle_mm(d, 1), 1, 0.0);
    assert_near(bundle_mm(d, 2), 3, 0.0);
    assert_near(bundle_mm(d, 0), 0, 0.0);
    assert_near(bundle_shop_mm(d, 1), 1, 0.0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rules_of_one_pass),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
