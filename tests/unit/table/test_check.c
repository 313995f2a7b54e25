/* Keys that stand twice, references that lead nowhere, the schema itself, and the order of rows. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <stdlib.h>
#include <cmocka.h>

#include "reading.h"
#include "table/value.h"
#include "../../near.h"

static const char NODES[] = "node,x_mm,y_mm,z_mm,zone,module\n";
static const char ZONES[] =
    "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture\nNOSE,a,70,-40,0,dry\n";
static const char MODULES[] = "module,name\nPANEL,a\n";

static void check(Desk *desk) {
    table_check(&desk->arena, &desk->set, &desk->findings);
}

static void keys_stand_once(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_module, "module,name\nM2,b\nM1,a\nM2,c\nM10,d\n");
    check(desk);
    const Finding *finding = desk_only(desk, RULE_READ_DUPLICATE, 4, "");
    assert_string_equal(finding->key, "M2");
    assert_says(finding->message, "line 2");
    assert_int_equal(desk->set.module.count, 3);
    assert_string_equal(desk->set.module.rows[0].module, "M1");
    assert_string_equal(desk->set.module.rows[1].module, "M2");
    assert_string_equal(desk->set.module.rows[1].name, "b");
    assert_string_equal(desk->set.module.rows[2].module, "M10");
    desk_close(desk);

    desk = desk_open(); /* all key columns count, and numbers by value */
    desk_read(desk, TABLE_cable,
              "part,name,cores,twisted,shielded,od_mm,mass_kg_per_km,rated_degc,source,status\n"
              "C,c,1,no,yes,5,40,200,s,memory\n");
    desk_read(desk, TABLE_coax_loss,
              "cable,frequency_mhz,loss_db_per_m,source,status\n"
              "C,100,0.1,s,memory\nC,1 GHz,0.4,s,memory\nC,1000,0.5,s,memory\n");
    check(desk);
    finding = desk_only(desk, RULE_READ_DUPLICATE, 4, "");
    assert_string_equal(finding->key, "C 1000");
    assert_near(desk->set.coax_loss.rows[1].loss_db_per_m, 0.4, 0.0);
    desk_close(desk);
}

static void references_lead_somewhere(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_zone, ZONES);
    desk_read(desk, TABLE_module, MODULES);
    desk_read(desk, TABLE_node,
              arena_format(&desk->arena, "%sN1,0,0,0,NOSE,PANEL\nN2,0,0,0,NOES,PANEL\n", NODES));
    check(desk);
    const Finding *finding = desk_only(desk, RULE_READ_REFERENCE, 3, "zone");
    assert_string_equal(finding->key, "N2");
    assert_says(finding->message, "NOES");
    assert_says(finding->hint, "NOSE");
    assert_int_equal(desk->set.node.count, 2); /* the row stays for later checks */
    desk_close(desk);

    desk = desk_open(); /* a blank reference is none */
    desk_read(desk, TABLE_option, "option,name,gate\nO1,jack,\n");
    check(desk);
    desk_clean(desk);
    desk_close(desk);
}

static void one_finding_for_a_table_that_is_not_there(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_module, MODULES);
    desk_read(desk, TABLE_node,
              arena_format(&desk->arena, "%sN1,0,0,0,NOSE,PANEL\nN2,0,0,0,NOSE,PANEL\n", NODES));
    check(desk);
    assert_says(desk_only(desk, RULE_READ_REFERENCE, 2, "zone")->hint, "zone.csv");
    desk_close(desk);
}

static void a_fault_is_told_once_not_at_every_reference(void **state) {
    (void)state;
    const char *zones[] = {
        /* left out for its own fault */
        "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture\nNOSE,a,70,-40,0,"
        "wte\n",
        /* the file breaks off before it */
        "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture\nTAIL,\"a,70,-40,0,"
        "dry\n"
        "NOSE,a,70,-40,0,dry\n",
        "", /* nothing there */
        "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m\nNOSE,a,70,-40,0\n",
    };
    for (size_t i = 0; i < sizeof zones / sizeof *zones; i++) {
        Desk *desk = desk_open();
        desk_read(desk, TABLE_zone, zones[i]);
        desk_read(desk, TABLE_module, MODULES);
        desk_read(desk, TABLE_node, arena_format(&desk->arena, "%sN1,0,0,0,NOSE,PANEL\n", NODES));
        check(desk);
        assert_int_equal(desk->findings.count, 1);
        assert_string_equal(desk->findings.rows[0].table, "zone");
        desk_close(desk);
    }
}

/* 100,000 rows that all refer to a name that is not there, next to 100,000 that are: a search for
 * the nearest name at each would take minutes. */
static void a_flood_of_wrong_references_ends_soon(void **state) {
    (void)state;
    Desk *desk = desk_open();
    Buffer units = {.arena = &desk->arena};
    Buffer keyings = {.arena = &desk->arena};
    buffer_text(&units, "tag,part,node,stub_mm,module\n");
    buffer_text(&keyings, "unit,connector,keying\n");
    for (int i = 0; i < 100000; i++) {
        buffer_format(&units, "UNIT%d,P,N,0,M\n", i);
        buffer_format(&keyings, "UNTI%d,J1,N\n", i);
    }
    desk_read_bytes(desk, TABLE_unit, units.bytes, units.length);
    desk_read_bytes(desk, TABLE_keying, keyings.bytes, keyings.length);
    check(desk);
    size_t listed = 0;
    size_t hinted = 0;
    size_t counted = 0;
    for (size_t i = 0; i < desk->findings.count; i++) {
        const Finding *finding = &desk->findings.rows[i];
        if (strcmp(finding->table, "keying") != 0) {
            continue;
        }
        listed += finding->rule == RULE_READ_REFERENCE;
        hinted += *finding->hint != '\0';
        counted += finding->rule == RULE_READ_MANY;
    }
    assert_int_equal(listed, FINDINGS_PER_FILE_MAX);
    assert_int_equal(counted, 1);
    assert_true(hinted >= 1 && hinted < FINDINGS_PER_FILE_MAX);
    desk_close(desk);
}

static void the_schema_is_sound(void **state) {
    (void)state;
    for (int table = 0; table < TABLE_COUNT; table++) {
        const TableSchema *schema = table_schema((TableId)table);
        assert_int_equal(table_find(schema->name), table);
        assert_true(table_key_columns((TableId)table) >= 1);
        assert_true(schema->columns[0].flag == FLAG_KEY);
        bool key_ended = false;
        for (size_t c = 0; c < schema->column_count; c++) {
            const ColumnSchema *column = &schema->columns[c];
            key_ended = key_ended || column->flag != FLAG_KEY;
            if (key_ended && column->flag == FLAG_KEY) {
                fail_msg("%s.%s: key columns stand in front", schema->name, column->name);
            }
            for (size_t other = 0; other < c; other++) {
                assert_string_not_equal(column->name, schema->columns[other].name);
            }
            if (column->kind == COLUMN_REF) {
                TableId into = table_find(column->extra);
                if (into == TABLE_COUNT || table_key_columns(into) != 1) {
                    fail_msg("%s.%s refers to no table with one key column", schema->name,
                             column->name);
                }
            }
            assert_int_equal(column->kind == COLUMN_WORD || column->kind == COLUMN_REF,
                             *column->extra != '\0');
        }
    }
    assert_int_equal(table_find("no_such_table"), TABLE_COUNT);
    assert_int_equal(table_find("UNIT"), TABLE_COUNT);
}

static void a_new_row_is_blank(void **state) {
    (void)state;
    Desk *desk = desk_open();
    for (int table = 0; table < TABLE_COUNT; table++) {
        const TableSchema *schema = table_schema((TableId)table);
        for (int i = 0; i < 20; i++) { /* through several sizes of the list */
            const char *row = table_append(&desk->set, &desk->arena, (TableId)table);
            for (size_t c = 0; c < schema->column_count; c++) {
                const ColumnSchema *column = &schema->columns[c];
                assert_string_equal(value_text(&desk->arena, column, row + column->offset), "");
            }
        }
        assert_int_equal(desk->set.any[table].count, 20);
    }
    assert_string_equal(desk->set.files[desk->set.unit.rows[0].row_at.file], "");
    desk_close(desk);
}

/* The order that sorting gives, by bytes made from the keys, is that of table_row_compare. */
static void sorting_agrees_with_comparing(void **state) {
    (void)state;
    static const char *const keys[] = {"W10",
                                       "W9",
                                       "W09",
                                       "W009",
                                       "W",
                                       "W1A",
                                       "W01A",
                                       "w1",
                                       "1",
                                       "01",
                                       "001",
                                       "10",
                                       "2",
                                       "A-1",
                                       "A1",
                                       "A 1",
                                       "0",
                                       "00",
                                       "000",
                                       "0A",
                                       "00A",
                                       "0-",
                                       "00-",
                                       "E1-01",
                                       "E01-1",
                                       "E01-01",
                                       "E1-1",
                                       "\u00fc",
                                       "z",
                                       "!",
                                       "W1.5",
                                       "W1.10",
                                       "W1-5",
                                       "W1:5",
                                       "W1/5",
                                       "0:0",
                                       "0:00",
                                       "00:0",
                                       "a0",
                                       "a00",
                                       "1111111111111111111111111111111111111111",
                                       "999999999999999999999999999999999999999",
                                       "0000000000000000000000000000000000000000"};
    enum { COUNT = sizeof keys / sizeof *keys };
    Desk *desk = desk_open();
    uint64_t random = 12345;
    for (size_t i = 0; i < 40 * COUNT; i++) {
        random = random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        table_append(&desk->set, &desk->arena, TABLE_need);
        NeedRow *need = &desk->set.need.rows[i];
        need->need = keys[(random >> 20) % COUNT];
        need->clause = keys[(random >> 30) % COUNT];
        need->way = keys[(random >> 40) % 3];
        need->port = "P";
        need->row_at.line = (uint32_t)i;
        table_append(&desk->set, &desk->arena, TABLE_coax_loss);
        CoaxLossRow *loss = &desk->set.coax_loss.rows[i];
        loss->cable = keys[(random >> 20) % 5];
        loss->frequency_mhz = random % 7 == 0 ? (double)NAN : (double)((random >> 50) % 40) - 20.0;
        loss->row_at.line = (uint32_t)i;
    }
    table_set_sort(&desk->set);
    for (size_t i = 1; i < 40 * COUNT; i++) {
        const NeedRow *need = &desk->set.need.rows[i];
        int order = table_row_compare(TABLE_need, need - 1, need);
        if (order > 0 || (order == 0 && need[-1].row_at.line > need->row_at.line)) {
            fail_msg("\"%s %s %s\" stands before \"%s %s %s\"", need[-1].need, need[-1].clause,
                     need[-1].way, need->need, need->clause, need->way);
        }
        const CoaxLossRow *loss = &desk->set.coax_loss.rows[i];
        order = table_row_compare(TABLE_coax_loss, loss - 1, loss);
        assert_true(order < 0 || (order == 0 && loss[-1].row_at.line < loss->row_at.line));
    }
    desk_close(desk);
}

static void very_long_digit_runs_sort_too(void **state) {
    (void)state;
    Desk *desk = desk_open();
    const int lengths[] = {300, 254, 255, 256, 1, 70000, 253};
    enum { COUNT = sizeof lengths / sizeof *lengths };
    for (size_t i = 0; i < COUNT; i++) {
        table_append(&desk->set, &desk->arena, TABLE_module);
        char *key = arena_take(&desk->arena, (size_t)lengths[i] + 1, 1);
        memset(key, '7', (size_t)lengths[i]);
        desk->set.module.rows[i].module = key;
    }
    table_set_sort(&desk->set);
    for (size_t i = 1; i < COUNT; i++) {
        const ModuleRow *row = &desk->set.module.rows[i];
        assert_true(strlen(row[-1].module) < strlen(row->module));
    }
    desk_close(desk);
}

static void keys_as_one_text(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_bundle_factor,
              "wires,load_pct,factor,source,status\n33,20 %,0.5,s,memory\n");
    desk_read(desk, TABLE_module, MODULES);
    desk_clean(desk);
    assert_string_equal(
        table_row_key(&desk->arena, TABLE_bundle_factor, &desk->set.bundle_factor.rows[0]),
        "33 20");
    assert_string_equal(table_row_key(&desk->arena, TABLE_module, &desk->set.module.rows[0]),
                        "PANEL");
    desk_close(desk);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_stand_once),
        cmocka_unit_test(references_lead_somewhere),
        cmocka_unit_test(one_finding_for_a_table_that_is_not_there),
        cmocka_unit_test(a_fault_is_told_once_not_at_every_reference),
        cmocka_unit_test(a_flood_of_wrong_references_ends_soon),
        cmocka_unit_test(the_schema_is_sound),
        cmocka_unit_test(a_new_row_is_blank),
        cmocka_unit_test(sorting_agrees_with_comparing),
        cmocka_unit_test(very_long_digit_runs_sort_too),
        cmocka_unit_test(keys_as_one_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
