/* Keys are ordered as people number things, and a slip of the hand finds the name that was meant.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "base/text.h"

static void keys_compare_by_number(void **state) {
    (void)state;
    assert_true(text_compare_keys("W9", "W10") < 0);
    assert_true(text_compare_keys("W010", "W10") != 0);
    assert_true(text_compare_keys("CB_A", "CB_B") < 0);
    assert_int_equal(text_compare_keys("E01-E03", "E01-E03"), 0);
    assert_true(text_compare_keys("E1", "E1a") < 0);
}

static void nearest_finds_slips(void **state) {
    (void)state;
    const char *names[] = {"unit", "node", "segment", "ground"};
    assert_string_equal(text_nearest("unti", names, 4), "unit");
    assert_string_equal(text_nearest("Segment", names, 4), "segment");
    assert_string_equal(text_nearest("grond", names, 4), "ground");
    assert_null(text_nearest("completely else", names, 4));
}

static void map_keeps_first(void **state) {
    (void)state;
    Arena arena = {0};
    NameMap map = {0};
    for (uint32_t i = 0; i < 1000; i++) {
        assert_int_equal(name_map_add(&map, &arena, arena_format(&arena, "n%u", i), i), NAME_NONE);
    }
    assert_int_equal(name_map_add(&map, &arena, "n7", 5), 7);
    assert_int_equal(name_map_find(&map, "n999"), 999);
    assert_int_equal(name_map_find(&map, "n1000"), NAME_NONE);
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_compare_by_number),
        cmocka_unit_test(nearest_finds_slips),
        cmocka_unit_test(map_keeps_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
