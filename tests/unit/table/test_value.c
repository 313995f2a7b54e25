/* Cells to values and back: units, decimal commas, gauges, words, dates, and what is refused. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <stdlib.h>
#include <locale.h>
#include <cmocka.h>

#include "reading.h"
#include "table/value.h"
#include "../../near.h"

static const ColumnSchema *column_of(TableId table, const char *name) {
    const TableSchema *schema = table_schema(table);
    for (size_t c = 0; c < schema->column_count; c++) {
        if (strcmp(schema->columns[c].name, name) == 0) {
            return &schema->columns[c];
        }
    }
    fail_msg("no column %s in %s", name, schema->name);
    return NULL;
}

static ValueFault parse_real(const ColumnSchema *column, const char *text, bool comma,
                             double *value) {
    Arena arena = {0};
    const char *expected = NULL;
    ValueFault fault = value_parse(&arena, column, text, comma, value, &expected);
    assert_non_null(expected);
    assert_int_equal(fault == VALUE_OK, *expected == '\0');
    if (fault != VALUE_OK) {
        assert_true(isnan(*value));
    }
    arena_free(&arena);
    return fault;
}

static void units_become_the_columns_own(void **state) {
    (void)state;
    const struct {
        TableId table;
        const char *column;
        const char *text;
        double value; /* exact: what a person would write for the bare number */
    } cases[] = {
        {TABLE_unit, "stub_mm", "950", 950},
        {TABLE_unit, "stub_mm", "950 mm", 950},
        {TABLE_unit, "stub_mm", "950mm", 950},
        {TABLE_unit, "stub_mm", "0.95 m", 950},
        {TABLE_unit, "stub_mm", "0.57m", 570},
        {TABLE_unit, "stub_mm", "1.001 m", 1001},
        {TABLE_unit, "stub_mm", "95 cm", 950},
        {TABLE_unit, "stub_mm", "0.001 km", 1000},
        {TABLE_unit, "stub_mm", "38 in", 965.2},
        {TABLE_unit, "stub_mm", "38\"", 965.2},
        {TABLE_unit, "stub_mm", "3 ft 2 in", 965.2},
        {TABLE_unit, "stub_mm", "3ft2in", 965.2},
        {TABLE_unit, "stub_mm", "3'2\"", 965.2},
        {TABLE_unit, "stub_mm", "3' 2\"", 965.2},
        {TABLE_unit, "stub_mm", "3\u2032 2\u2033", 965.2},
        {TABLE_unit, "stub_mm", "3 FT 2 IN", 965.2},
        {TABLE_unit, "stub_mm", "3 feet 2.5 inches", 977.9},
        {TABLE_unit, "stub_mm", "950\u00a0mm", 950},
        {TABLE_node, "x_mm", "-3 ft 2 in", -965.2},
        {TABLE_node, "x_mm",
         "\u2212"
         "12",
         -12},
        {TABLE_node, "x_mm", "+12.50", 12.5},
        {TABLE_node, "x_mm", "-.5", -0.5},
        {TABLE_node, "x_mm", "1e3", 1000},
        {TABLE_node, "x_mm", "1.5E-3 m", 1.5},
        {TABLE_zone, "altitude_max_m", "10000 ft", 3048},
        {TABLE_altitude_factor, "altitude_ft", "3048 m", 10000},
        {TABLE_protection, "rating_a", "5 A", 5},
        {TABLE_protection, "rating_a", "5a", 5},
        {TABLE_protection, "rating_a", "350 mA", 0.35},
        {TABLE_job, "nominal_v", "14 V", 14},
        {TABLE_drop_limit, "continuous_v", "500 mV", 0.5},
        {TABLE_terminator, "ohm", "120", 120},
        {TABLE_terminator, "ohm", "120 \u03a9", 120},
        {TABLE_terminator, "ohm", "0.12 kohm", 120},
        {TABLE_terminator, "ohm", "120 Ohm", 120},
        {TABLE_bond, "mohm", "2.5", 2.5},
        {TABLE_bond, "mohm", "2.5 mohm", 2.5},
        {TABLE_bond, "mohm", "0.0025 ohm", 2.5},
        {TABLE_bond, "mohm", "2.5 m\u2126", 2.5},
        {TABLE_part, "mass_kg", "350 g", 0.35},
        {TABLE_part, "mass_kg", "1 lb", 0.45359237},
        {TABLE_part, "mass_kg", "16 oz", 0.45359237},
        {TABLE_part, "mass_kg", "2 lb 3 oz", 0.992233309375},
        {TABLE_zone, "ambient_max_degc", "70 degC", 70},
        {TABLE_zone, "ambient_max_degc", "158 \u00b0F", 70},
        {TABLE_zone, "ambient_max_degc", "300.15 K", 27},
        {TABLE_zone, "ambient_min_degc", "-40 degF", -40},
        {TABLE_zone, "ambient_min_degc", "-20 C", -20},
        {TABLE_source, "charge_pct", "80 %", 80},
        {TABLE_source, "charge_pct", "80%", 80},
        {TABLE_phase, "minutes_min", "90 s", 1.5},
        {TABLE_phase, "minutes_min", "1 h 30 min", 90},
        {TABLE_job, "parked_day", "504 h", 21},
        {TABLE_action, "delay_s", "2 min", 120},
        {TABLE_action, "delay_s", "250 ms", 0.25},
        {TABLE_pull_force, "force_n", "8 lbf", 35.585772922084},
        {TABLE_antenna, "loss_limit_db", "3 dB", 3},
        {TABLE_antenna, "frequency_mhz", "1.09 GHz", 1090},
        {TABLE_antenna, "frequency_mhz", "406025 kHz", 406.025},
        {TABLE_battery, "capacity_ah", "800 mAh", 0.8},
        {TABLE_wire, "r20_ohm_per_km", "53.1 ohm/km", 53.1},
        {TABLE_wire, "r20_ohm_per_km", "53.1 mohm/m", 53.1},
        {TABLE_wire, "mass_kg_per_km", "4.2 g/m", 4.2},
        {TABLE_wire, "cmil", "640 cmil", 640},
        {TABLE_coax_loss, "loss_db_per_m", "30.48 dB/100ft", 1},
        {TABLE_free_air, "m", "0.488", 0.488},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double value = 0.0;
        const ColumnSchema *column = column_of(cases[i].table, cases[i].column);
        if (parse_real(column, cases[i].text, false, &value) != VALUE_OK ||
            value != cases[i].value) {
            fail_msg("%s \"%s\" is %.17g", column->name, cases[i].text, value);
        }
    }
    /* NIST SP 811, B.8: 1 ft is 0.3048 m; 1 lb/ft is 1.488164 kg/m. */
    double value = 0.0;
    parse_real(column_of(TABLE_wire, "r20_ohm_per_km"), "1.26 ohm/kft", false, &value);
    assert_near(value, 4.13385826771654, 1e-13);
    parse_real(column_of(TABLE_wire, "mass_kg_per_km"), "2.80 lb/kft", false, &value);
    assert_near(value, 2.80 * 1.488164, 1e-6);
}

static void what_is_no_number_or_has_the_wrong_unit_is_refused(void **state) {
    (void)state;
    const struct {
        const char *text;
        ValueFault fault;
    } cases[] = {
        {"abc", VALUE_NOT_A_NUMBER},
        {"-", VALUE_NOT_A_NUMBER},
        {".", VALUE_NOT_A_NUMBER},
        {"mm", VALUE_NOT_A_NUMBER},
        {"nan", VALUE_NOT_A_NUMBER},
        {"inf", VALUE_NOT_A_NUMBER},
        {"0x10", VALUE_WRONG_UNIT},
        {"5 kg", VALUE_WRONG_UNIT},
        {"5 A", VALUE_WRONG_UNIT},
        {"5 furlong", VALUE_WRONG_UNIT},
        {"5 Mm", VALUE_WRONG_UNIT},
        {"5 mm mm", VALUE_WRONG_UNIT},
        {"2 in 3 ft", VALUE_WRONG_UNIT},
        {"3 ft 2", VALUE_WRONG_UNIT},
        {"3'2", VALUE_WRONG_UNIT},
        {"3 ft -2 in", VALUE_WRONG_UNIT},
        {"1'234", VALUE_WRONG_UNIT},
        {"3 ft 2 in 1 mm 1 mm", VALUE_WRONG_UNIT},
        {"1 234", VALUE_WRONG_UNIT},
        {"1/2", VALUE_WRONG_UNIT},
        {"1,5", VALUE_NOT_A_NUMBER},
        {"1,234", VALUE_NOT_A_NUMBER},
        {"1,234.5", VALUE_NOT_A_NUMBER},
        {"1.234.567", VALUE_NOT_A_NUMBER},
        {"1e10", VALUE_OUT_OF_RANGE},
        {"-1e10", VALUE_OUT_OF_RANGE},
        {"1e999", VALUE_OUT_OF_RANGE},
        {"1e99999999999999999999", VALUE_OUT_OF_RANGE},
        {"1e6 km", VALUE_OUT_OF_RANGE},
        {"3-Apr", VALUE_LOOKS_LIKE_DATE},
        {"03.04.2026", VALUE_LOOKS_LIKE_DATE},
    };
    const ColumnSchema *column = column_of(TABLE_node, "x_mm");
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double value = 0.0;
        ValueFault fault = parse_real(column, cases[i].text, false, &value);
        if (fault != cases[i].fault) {
            fail_msg("\"%s\" gives fault %d, not %d", cases[i].text, fault, cases[i].fault);
        }
    }
    double value = 0.0;
    assert_int_equal(parse_real(column, "1e9", false, &value), VALUE_OK);
    assert_int_equal(parse_real(column_of(TABLE_job, "nominal_v"), "14 MV", false, &value),
                     VALUE_WRONG_UNIT);
    assert_int_equal(parse_real(column_of(TABLE_limit, "value"), "80 %", false, &value),
                     VALUE_WRONG_UNIT);
    assert_int_equal(parse_real(column_of(TABLE_free_air, "m"), "0.5 m", false, &value),
                     VALUE_WRONG_UNIT);
}

static void decimal_commas_only_where_they_belong(void **state) {
    (void)state;
    const ColumnSchema *column = column_of(TABLE_node, "x_mm");
    const struct {
        const char *text;
        double value; /* NAN: refused */
    } cases[] = {
        {"1,5", 1.5},       {"1.5", 1.5},       {"0.951", 0.951}, {"1,234", 1.234},
        {"1.234", NAN},     {"12.345", NAN},    {"123.456", NAN}, {"1234.567", 1234.567},
        {"1.234,5", NAN},   {"1,234.5", NAN},   {"1,5 m", 1500},  {"3 ft 2,5 in", 977.9},
        {"-1,25e1", -12.5}, {"1.234.567", NAN}, {",5", 0.5},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double value = 0.0;
        ValueFault fault = parse_real(column, cases[i].text, true, &value);
        bool same = isnan(cases[i].value) ? fault == VALUE_NOT_A_NUMBER
                                          : fault == VALUE_OK && value == cases[i].value;
        if (!same) {
            fail_msg("\"%s\" is %.17g, fault %d", cases[i].text, value, fault);
        }
    }
}

static void numbers_are_read_exactly(void **state) {
    (void)state;
    const ColumnSchema *column = column_of(TABLE_limit, "value");
    const char *texts[] = {"0.1",
                           "0.30000000000000004",
                           "123456.789",
                           "9007199254740993e-10",
                           "1.7976931348623157e-300",
                           "5e-324",
                           "0.000000000000000000000000000000000000000000000000001",
                           "179769313486231570000000000000000000000000000000000e-50",
                           "0.1000000000000000055511151231257827021181583404541015625",
                           "999999999.99999999"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        double value = 0.0;
        assert_int_equal(parse_real(column, texts[i], false, &value), VALUE_OK);
        if (value != strtod(texts[i], NULL)) {
            fail_msg("%s is %.17g", texts[i], value);
        }
    }
    double value = 0.0;
    assert_int_equal(parse_real(column,
                                "1000000000000000000000000000000000000000000000000000000000000000",
                                false, &value),
                     VALUE_NOT_A_NUMBER); /* longer than any number a person means */
}

static void numbers_are_written_as_short_as_they_read_back(void **state) {
    (void)state;
    const ColumnSchema *column = column_of(TABLE_limit, "value");
    const struct {
        double value;
        const char *text;
    } cases[] = {
        {0.0, "0"},
        {-0.0, "0"},
        {950.0, "950"},
        {0.1, "0.1"},
        {-12.05, "-12.05"},
        {965.2, "965.2"},
        {0.1 + 0.2, "0.30000000000000004"},
        {1e9, "1000000000"},
        {1e-5, "0.00001"},
        {1e-7, "1e-07"},
        {1.0 / 3.0, "0.3333333333333333"},
        {0.000001, "0.000001"},
        {123456789.123456, "123456789.123456"},
        {(double)NAN, ""},
        {(double)INFINITY, ""},
    };
    Arena arena = {0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        assert_string_equal(value_text(&arena, column, &cases[i].value), cases[i].text);
    }
    arena_free(&arena);
}

static void the_locale_changes_nothing(void **state) {
    (void)state;
    const char *names[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "de_DE", "nl_NL.UTF-8"};
    bool set = false;
    for (size_t i = 0; i < sizeof names / sizeof *names && !set; i++) {
        set = setlocale(LC_ALL, names[i]) != NULL;
    }
    if (!set) {
        print_message("no locale with a decimal comma is installed here\n");
        skip();
    }
    const ColumnSchema *column = column_of(TABLE_limit, "value");
    Arena arena = {0};
    double value = 0.0;
    assert_int_equal(parse_real(column, "0.30000000000000004", false, &value), VALUE_OK);
    assert_string_equal(value_text(&arena, column, &value), "0.30000000000000004");
    assert_string_equal(value_short_text(&arena, column, &value), "0.3");
    assert_int_equal(parse_real(column_of(TABLE_unit, "stub_mm"), "3 ft 2 in", false, &value),
                     VALUE_OK);
    assert_true(value == 965.2);
    setlocale(LC_ALL, "C");
    arena_free(&arena);
}

static void short_numbers_keep_four_digits_and_the_whole_part(void **state) {
    (void)state;
    const ColumnSchema *column = column_of(TABLE_limit, "value");
    const struct {
        double value;
        const char *text;
    } cases[] = {{1816.4, "1816"},     {0.42312, "0.4231"}, {12.3456, "12.35"},
                 {626123.4, "626123"}, {20.94, "20.94"},    {-0.5, "-0.5"},
                 {999.96, "1000"},     {3.0, "3"},          {0.000123456, "0.0001235"}};
    Arena arena = {0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        assert_string_equal(value_short_text(&arena, column, &cases[i].value), cases[i].text);
    }
    arena_free(&arena);
}

static ValueFault parse_whole(TableId table, const char *name, const char *text, int32_t *value) {
    Arena arena = {0};
    const char *expected = NULL;
    ValueFault fault = value_parse(&arena, column_of(table, name), text, false, value, &expected);
    arena_free(&arena);
    return fault;
}

static void whole_numbers_gauges_and_flags(void **state) {
    (void)state;
    const struct {
        TableId table;
        const char *column;
        const char *text;
        ValueFault fault;
        int32_t value;
    } cases[] = {
        {TABLE_shell, "ways", "25", VALUE_OK, 25},
        {TABLE_shell, "ways", "25.0", VALUE_OK, 25},
        {TABLE_shell, "ways", "25.5", VALUE_NOT_WHOLE, INT_BLANK},
        {TABLE_shell, "ways", "25 A", VALUE_NOT_A_NUMBER, INT_BLANK},
        {TABLE_shell, "ways", "many", VALUE_NOT_A_NUMBER, INT_BLANK},
        {TABLE_shell, "ways", "3000000000", VALUE_OUT_OF_RANGE, INT_BLANK},
        {TABLE_shell, "ways", "3-Apr", VALUE_LOOKS_LIKE_DATE, INT_BLANK},
        {TABLE_shell, "ways", "", VALUE_OK, INT_BLANK},
        {TABLE_wire, "awg", "22", VALUE_OK, 22},
        {TABLE_wire, "awg", "AWG 22", VALUE_OK, 22},
        {TABLE_wire, "awg", "awg22", VALUE_OK, 22},
        {TABLE_wire, "awg", "14 AWG", VALUE_OK, 14},
        {TABLE_wire, "awg", "1/0", VALUE_OK, 0},
        {TABLE_wire, "awg", "2/0", VALUE_OK, -1},
        {TABLE_wire, "awg", "00", VALUE_OK, -1},
        {TABLE_wire, "awg", "0000", VALUE_OK, -3},
        {TABLE_wire, "awg", "22.5", VALUE_NOT_A_GAUGE, INT_BLANK},
        {TABLE_wire, "awg", "60", VALUE_NOT_A_GAUGE, INT_BLANK},
        {TABLE_wire, "awg", "22 mm", VALUE_NOT_A_GAUGE, INT_BLANK},
        {TABLE_wire, "awg", "2-Jan", VALUE_LOOKS_LIKE_DATE, INT_BLANK},
        {TABLE_shell, "sealed", "yes", VALUE_OK, 1},
        {TABLE_shell, "sealed", "No", VALUE_OK, 0},
        {TABLE_shell, "sealed", "TRUE", VALUE_OK, 1},
        {TABLE_shell, "sealed", "0", VALUE_OK, 0},
        {TABLE_shell, "sealed", "y", VALUE_OK, 1},
        {TABLE_shell, "sealed", "perhaps", VALUE_NOT_YES_NO, INT_BLANK},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        int32_t value = 77;
        ValueFault fault = parse_whole(cases[i].table, cases[i].column, cases[i].text, &value);
        if (fault != cases[i].fault || value != cases[i].value) {
            fail_msg("%s \"%s\": fault %d, value %d", cases[i].column, cases[i].text, fault, value);
        }
    }
    Arena arena = {0};
    int32_t awg = -1;
    assert_string_equal(value_text(&arena, column_of(TABLE_wire, "awg"), &awg), "2/0");
    assert_string_equal(value_awg_text(&arena, 0), "1/0");
    assert_string_equal(value_awg_text(&arena, 22), "22");
    arena_free(&arena);
}

static ValueFault parse_text(Arena *arena, TableId table, const char *name, const char *text,
                             const char **value) {
    const char *expected = NULL;
    return value_parse(arena, column_of(table, name), text, false, value, &expected);
}

static void words_lists_and_texts(void **state) {
    (void)state;
    Arena arena = {0};
    const char *value = NULL;
    assert_int_equal(parse_text(&arena, TABLE_zone, "moisture", "wet", &value), VALUE_OK);
    assert_string_equal(value, "wet");
    assert_int_equal(parse_text(&arena, TABLE_zone, "moisture", "Wet", &value), VALUE_OK);
    assert_string_equal(value, "wet");
    assert_int_equal(parse_text(&arena, TABLE_part, "supply", "powered, own battery", &value),
                     VALUE_OK);
    assert_string_equal(value, "powered, own battery");
    assert_int_equal(parse_text(&arena, TABLE_zone, "moisture", "we", &value), VALUE_NOT_A_WORD);
    assert_string_equal(value, "");
    assert_int_equal(parse_text(&arena, TABLE_zone, "moisture", "dry|damp", &value),
                     VALUE_NOT_A_WORD);
    assert_int_equal(parse_text(&arena, TABLE_link, "ends", "A.B  C.D\nE.F", &value), VALUE_OK);
    assert_string_equal(value, "A.B C.D E.F");
    assert_int_equal(parse_text(&arena, TABLE_unit, "tag", "NAV1", &value), VALUE_OK);
    assert_string_equal(value, "NAV1");
    assert_int_equal(parse_text(&arena, TABLE_unit, "role", "", &value), VALUE_OK);
    assert_string_equal(value, "");
    arena_free(&arena);
}

static void dates_are_found_out(void **state) {
    (void)state;
    Arena arena = {0};
    const char *value = NULL;
    const char *dates[] = {"3-Apr",
                           "03-Apr",
                           "03. Apr",
                           "3-Apr-26",
                           "3-Apr-2026",
                           "3. M\u00e4r",
                           "Apr-22",
                           "Okt 22",
                           "2026-04-03",
                           "2026-04-03T00:00:00",
                           "2026-04-03 00:00",
                           "03.04.2026",
                           "03.04.26",
                           "4/3/2026",
                           "4/3/26",
                           "2026/04/03",
                           "03-04-2026",
                           "Dez. 24"};
    for (size_t i = 0; i < sizeof dates / sizeof *dates; i++) {
        if (parse_text(&arena, TABLE_unit, "tag", dates[i], &value) != VALUE_LOOKS_LIKE_DATE) {
            fail_msg("\"%s\" was taken", dates[i]);
        }
    }
    const char *tags[] = {"DEC-10",    "MAR-1",    "3-4",        "E01-03", "1.2.10",     "11.68",
                          "3-App",     "2026",     "2026-13-01", "4/3",    "40.40.2026", "Apr",
                          "April-22x", "1-2-33",   "May 1 am",   "5-Jane", "12-AWG",     "4.3.26",
                          "32-Jan",    "Sepia-22", "1/0"};
    for (size_t i = 0; i < sizeof tags / sizeof *tags; i++) {
        if (parse_text(&arena, TABLE_unit, "tag", tags[i], &value) != VALUE_OK) {
            fail_msg("\"%s\" was refused", tags[i]);
        }
        assert_string_equal(value, tags[i]);
    }
    assert_int_equal(parse_text(&arena, TABLE_passed, "date", "2026-04-03", &value), VALUE_OK);
    assert_int_equal(parse_text(&arena, TABLE_passed, "date", "2024-02-29", &value), VALUE_OK);
    const char *no_days[] = {"2026-02-29", "2026-04-31", "03.04.2026",
                             "soon",       "2026-4-3",   "2026-04-03 00:00"};
    for (size_t i = 0; i < sizeof no_days / sizeof *no_days; i++) {
        assert_int_equal(parse_text(&arena, TABLE_passed, "date", no_days[i], &value),
                         VALUE_NOT_A_DATE);
    }
    assert_int_equal(parse_text(&arena, TABLE_brief, "answer", "2026-09-01", &value), VALUE_OK);
    assert_int_equal(parse_text(&arena, TABLE_passed, "evidence", "3-Apr", &value), VALUE_OK);
    arena_free(&arena);
}

static void every_column_knows_its_unit(void **state) {
    (void)state;
    assert_string_equal(value_unit(column_of(TABLE_unit, "stub_mm")), "mm");
    assert_string_equal(value_unit(column_of(TABLE_wire, "r20_ohm_per_km")), "ohm/km");
    assert_string_equal(value_unit(column_of(TABLE_wire, "mass_kg_per_km")), "kg/km");
    assert_string_equal(value_unit(column_of(TABLE_coax_loss, "loss_db_per_m")), "dB/m");
    assert_string_equal(value_unit(column_of(TABLE_bond, "mohm")), "mohm");
    assert_string_equal(value_unit(column_of(TABLE_terminator, "ohm")), "ohm");
    assert_string_equal(value_unit(column_of(TABLE_free_air, "m")), "");
    assert_string_equal(value_unit(column_of(TABLE_limit, "value")), "");
    assert_string_equal(value_unit(column_of(TABLE_mass, "moment_kgm")), "kg m");
    assert_string_equal(value_unit(column_of(TABLE_apart, "class_a")), "");
    /* A column with a new unit must not slip through as a plain number: these are all of them. */
    const char *plain[] = {"value",   "limit",   "b",      "m",        "factor", "peukert",
                           "airflow", "density", "margin", "quantity", "arc",    "arc_least",
                           "area",    "weight",  "score",  "differs"};
    for (int table = 0; table < TABLE_COUNT; table++) {
        const TableSchema *schema = table_schema((TableId)table);
        for (size_t c = 0; c < schema->column_count; c++) {
            bool known =
                schema->columns[c].kind != COLUMN_REAL || *value_unit(&schema->columns[c]) != '\0';
            for (size_t i = 0; i < sizeof plain / sizeof *plain; i++) {
                known = known || strcmp(schema->columns[c].name, plain[i]) == 0;
            }
            if (!known) {
                fail_msg("%s.%s has no unit", schema->name, schema->columns[c].name);
            }
        }
    }
}

static void equal_values_are_equal(void **state) {
    (void)state;
    const ColumnSchema *real = column_of(TABLE_node, "x_mm");
    double nought = 0.0;
    double minus_nought = -0.0;
    double blank = (double)NAN;
    double other_blank = -(double)NAN;
    double one = 1.0;
    assert_true(value_equal(real, &nought, &minus_nought));
    assert_true(value_equal(real, &blank, &other_blank));
    assert_false(value_equal(real, &blank, &nought));
    assert_false(value_equal(real, &one, &nought));
    const char *text = "A";
    const char *same = &"xA"[1];
    const char *other = "B";
    assert_true(value_equal(column_of(TABLE_unit, "tag"), &text, &same));
    assert_false(value_equal(column_of(TABLE_unit, "tag"), &text, &other));
    int32_t yes = 1;
    int32_t no = 0;
    assert_true(value_equal(column_of(TABLE_shell, "sealed"), &yes, &yes));
    assert_false(value_equal(column_of(TABLE_shell, "sealed"), &yes, &no));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(units_become_the_columns_own),
        cmocka_unit_test(what_is_no_number_or_has_the_wrong_unit_is_refused),
        cmocka_unit_test(decimal_commas_only_where_they_belong),
        cmocka_unit_test(numbers_are_read_exactly),
        cmocka_unit_test(numbers_are_written_as_short_as_they_read_back),
        cmocka_unit_test(the_locale_changes_nothing),
        cmocka_unit_test(short_numbers_keep_four_digits_and_the_whole_part),
        cmocka_unit_test(whole_numbers_gauges_and_flags),
        cmocka_unit_test(words_lists_and_texts),
        cmocka_unit_test(dates_are_found_out),
        cmocka_unit_test(every_column_knows_its_unit),
        cmocka_unit_test(equal_values_are_equal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
