/* The example aircraft with the gauges of the net list it was first written as: plain drops of its
 * feeders, feeders of buses and heavy cables must be the reference figures to the printed digit
 * (tests/reference: feeders.csv, bus_feeders.csv, heavy_cables.csv; worked out apart by Ohm's law).
 * Then what the tool itself chooses: every gauge that differs from that list stands in
 * tests/reference/gauge_changes.csv with the limit that governs it, as a person has read it. */
#include "support/sized.h"

#include <ctype.h>
#include <stdlib.h>

#include "base/file.h"

#define REFERENCE MARLING_SOURCE_DIR "/tests/reference/"

/* Half of the last printed digit, with room for decimal figures that doubles can't hold. */
static double half_digit(int decimals) {
    return 0.5 * pow(10.0, -decimals) + 1e-9;
}

/* --- small comma files --------------------------------------------------------------------------
 */

typedef struct Lines {
    char ***cells; /* by line, the first one the header */
    size_t count;
    size_t width;
} Lines;

/* Splits a file without quotes; width is that of the header. */
static Lines read_lines(Arena *arena, const char *name) {
    char *text = NULL;
    size_t length = 0;
    const char *path = arena_format(arena, REFERENCE "%s", name);
    Status status = file_read(arena, path, &text, &length);
    assert_false(status.failed);
    char *bytes = arena_text(arena, text, length);
    Lines lines = {0};
    size_t capacity = 0;
    for (char *line = bytes; *line != '\0';) {
        char *end = line + strcspn(line, "\n");
        bool last = *end == '\0';
        *end = '\0';
        char **cells = ARENA_ARRAY(arena, char *, 16);
        size_t count = 0;
        for (char *cell = line; count < 16;) {
            cells[count++] = cell;
            cell += strcspn(cell, ",");
            if (*cell == '\0') {
                break;
            }
            *cell++ = '\0';
        }
        lines.width = lines.count == 0 ? count : lines.width;
        *ARENA_PUSH(arena, lines.cells, lines.count, capacity) = cells;
        line = last ? end : end + 1;
    }
    return lines;
}

static const char *cell(const Lines *lines, size_t line, const char *column) {
    for (size_t i = 0; i < lines->width; i++) {
        if (strcmp(lines->cells[0][i], column) == 0) {
            return lines->cells[line][i];
        }
    }
    fail_msg("no column %s", column);
    return "";
}

static double number(const Lines *lines, size_t line, const char *column) {
    return strtod(cell(lines, line, column), NULL);
}

/* --- the reference gauges -----------------------------------------------------------------------
 */

/* Our circuit with the ends of a reference net; NULL when there is none. */
static const Net *same_ends(const Sized *sized, const char *ends_in_order) {
    for (NetId n = 0; n < sized->wiring.net_count; n++) {
        const Net *net = &sized->wiring.nets[n];
        const char *rest = ends_in_order;
        bool same = true;
        for (uint32_t i = 0; i < net->end_count && same; i++) {
            const char *end =
                sized->job.model.terminals[sized->wiring.ends[net->end_first + i]].end;
            size_t length = strlen(end);
            same = strncmp(rest, end, length) == 0 && (rest[length] == '\0' || rest[length] == ' ');
            rest += same ? length : 0;
            rest += same && strncmp(rest, " > ", 3) == 0 ? 3 : 0;
        }
        if (same && *rest == '\0') {
            return net;
        }
    }
    return NULL;
}

/* Reference gauge of each of our circuits, INT_BLANK where it gives none (coax). */
static int32_t *reference_gauges(Sized *sized) {
    Arena *arena = &sized->job.arena;
    Lines nets = read_lines(arena, "nets.csv");
    Lines gauges = read_lines(arena, "net_gauges.csv");
    assert_int_equal(nets.count, gauges.count);
    int32_t *awg = ARENA_ARRAY(arena, int32_t, sized->wiring.net_count);
    for (NetId n = 0; n < sized->wiring.net_count; n++) {
        awg[n] = INT_BLANK;
    }
    for (size_t i = 1; i < nets.count; i++) {
        const Net *net = same_ends(sized, cell(&nets, i, "ends_in_order"));
        if (net == NULL) {
            fail_msg("no circuit with the ends of %s", cell(&nets, i, "net"));
        }
        assert_string_equal(cell(&nets, i, "net"), cell(&gauges, i, "net"));
        const char *text = cell(&gauges, i, "awg");
        if (isdigit((unsigned char)text[0])) {
            awg[net - sized->wiring.nets] = atoi(text);
        }
    }
    return awg;
}

static void run_with_reference_gauges(Sized *sized) {
    job_read_example(&sized->job);
    job_plain_lengths(&sized->job);
    sized_run(sized);
    const int32_t *awg = reference_gauges(sized);
    uint32_t imposed = 0;
    for (NetId n = 0; n < sized->wiring.net_count; n++) {
        const Net *net = &sized->wiring.nets[n];
        if (net->cable_count == 0 || awg[n] == INT_BLANK ||
            sized->wiring.cables[net->cable_first].part != ID_NONE) {
            continue;
        }
        sized_override(sized, net->name, arena_format(&sized->job.arena, "%d", awg[n]));
        imposed++;
    }
    assert_true(imposed > 180);
    sized_run(sized);
    assert_int_equal(job_count(&sized->job, RULE_SIZE_OVERRIDE_ROW), 0);
}

/* --- feeders ------------------------------------------------------------------------------------
 */

static void test_port_feeders(void **state) {
    (void)state;
    Sized sized = {0};
    run_with_reference_gauges(&sized);
    Lines lines = read_lines(&sized.job.arena, "feeders.csv");
    assert_true(lines.count > 50);
    for (size_t i = 1; i < lines.count; i++) {
        const FeederRow *row = sized_feeder(&sized, cell(&lines, i, "port"));
        print_message("%s\n", row->port);
        assert_string_equal(row->device, cell(&lines, i, "device"));
        assert_near(row->rating_a, number(&lines, i, "rating_a"), 1e-9);
        assert_near(row->design_a, number(&lines, i, "design_a"), 1e-9);
        assert_near(row->feed_mm, number(&lines, i, "feed_mm"), half_digit(0));
        assert_near(row->loop_mm, number(&lines, i, "loop_mm"), half_digit(0));
        assert_string_equal(row->awg, cell(&lines, i, "awg"));
        assert_near(row->plain_drop_v, number(&lines, i, "plain_drop_v"), half_digit(3));
        assert_near(row->limit_v, number(&lines, i, "limit_v"), 1e-9);
        /* The duty of relay coils: the list calls those intermittent that hold in no phase. */
        assert_string_equal(row->duty, cell(&lines, i, "duty"));
        assert_true(row->solved_drop_v >= row->plain_drop_v);
    }
    arena_free(&sized.job.arena);
}

/* One leg each; the limit is for the whole way, so legs are added up to be held against it. The
 * breakers' bus carries intermittent loads too and may lose twice as much (docs/theory/size.md). */
static void test_bus_feeders(void **state) {
    (void)state;
    Sized sized = {0};
    run_with_reference_gauges(&sized);
    const Model *model = &sized.job.model;
    Lines lines = read_lines(&sized.job.arena, "bus_feeders.csv");
    for (size_t i = 1; i < lines.count; i++) {
        print_message("%s\n", cell(&lines, i, "net"));
        ConductorId wire =
            sized_between(&sized, cell(&lines, i, "from_end"), cell(&lines, i, "to_end"));
        CableId cable = sized.wiring.conductors[wire].cable;
        assert_near(sized.sizing.design_a[wire], number(&lines, i, "design_a"), 1e-9);
        assert_near(sized.routing.length_mm[cable], number(&lines, i, "length_mm"), half_digit(0));
        assert_int_equal(sized.sizing.awg[wire], atoi(cell(&lines, i, "awg")));
        assert_near(sized_plain_v(&sized, wire), number(&lines, i, "plain_drop_v"), half_digit(3));
        if (*cell(&lines, i, "device") != '\0') {
            const ModelOwner *device = &model->owners[sized.sizing.device[wire]];
            assert_string_equal(device->tag, cell(&lines, i, "device"));
            assert_near(sized.sizing.rating_a[device->row], number(&lines, i, "rating_a"), 1e-9);
        }
        bool breakers = strcmp(cell(&lines, i, "net"), "MAINP_FEED") == 0;
        const Net *net = &sized.wiring.nets[sized.wiring.cables[cable].net];
        for (uint32_t f = 0; f < sized.sizing.feeder_count; f++) {
            const Feeder *feeder = &sized.sizing.feeders[f];
            if (feeder->load == ID_NONE && feeder->feed == net->from_row) {
                assert_near(feeder->limit_v, number(&lines, i, "limit_v") * (breakers ? 2.0 : 1.0),
                            1e-9);
                assert_true(feeder->plain_drop_v <= number(&lines, i, "limit_v"));
            }
        }
    }
    arena_free(&sized.job.arena);
}

/* Lengths and copper agree everywhere. Design currents agree where they follow from the aircraft:
 * the starter, the alternators, what returns to them. The others are the first designer's own round
 * figures; what follows from the tables stands beside them. */
static void test_heavy_cables(void **state) {
    (void)state;
    static const struct {
        const char *net;
        double listed_a;
        double found_a;
    } DIFFER[] = {
        {"MAINF", 60.0, 81.28},     /* 32.28 A in landing_night and 38, 7, 4 A of motors */
        {"MAINF2", 60.0, 81.28},    /* listed: the alternator's rating */
        {"MAIN_FEED", 40.0, 81.28}, /* listed: without motors ("plus 38 A for up to 25 s") */
        {"PDM_STUD", 21.0, 19.9},   /* landing_night: 19.6 A of channels and 0.3 A of the module */
        {"BTB_POS", 30.0, 39.88},   /* ENB 6.9 A, tie coil 0.7 A, tie 32.28 A */
        {"BTB_NEG", 30.0, 39.88},   {"TIE_IN", 30.0, 32.28}, /* MAIN in landing_night */
        {"TIE", 30.0, 32.28},       {"TIE_BAR", 30.0, 32.28},
    };
    Sized sized = {0};
    run_with_reference_gauges(&sized);
    Lines lines = read_lines(&sized.job.arena, "heavy_cables.csv");
    assert_int_equal(lines.count, 22);
    for (size_t i = 1; i < lines.count; i++) {
        const char *net = cell(&lines, i, "net");
        ConductorId wire =
            sized_between(&sized, cell(&lines, i, "from_end"), cell(&lines, i, "to_end"));
        double design_a = sized.sizing.design_a[wire];
        double ohm = sized_plain_v(&sized, wire) / design_a;
        print_message("%s %.2f\n", net, design_a);
        assert_int_equal(sized.sizing.awg[wire], atoi(cell(&lines, i, "awg")));
        assert_near(sized.routing.length_mm[sized.wiring.conductors[wire].cable],
                    number(&lines, i, "length_mm"), half_digit(0));
        assert_near(ohm * 1000.0, number(&lines, i, "plain_mohm"), half_digit(3));
        double listed_a = number(&lines, i, "design_a");
        assert_near(ohm * listed_a, number(&lines, i, "plain_drop_v"), half_digit(3));
        double expected_a = listed_a;
        for (size_t k = 0; k < sizeof DIFFER / sizeof *DIFFER; k++) {
            if (strcmp(DIFFER[k].net, net) == 0) {
                assert_near(listed_a, DIFFER[k].listed_a, 1e-9);
                expected_a = DIFFER[k].found_a;
            }
        }
        assert_near(design_a, expected_a, 1e-9);
    }
    arena_free(&sized.job.arena);
}

/* --- two wires a person would argue about -------------------------------------------------------
 */

static const Finding *find(const Sized *sized, RuleId rule, const char *word) {
    for (size_t i = 0; i < sized->job.findings.count; i++) {
        const Finding *finding = &sized->job.findings.rows[i];
        if (finding->rule == rule && strstr(finding->message, word) != NULL) {
            return finding;
        }
    }
    return NULL;
}

static void override_all(Sized *sized, const char *const *nets, size_t count, const char *awg) {
    job_read_example(&sized->job);
    job_plain_lengths(&sized->job);
    for (size_t i = 0; i < count; i++) {
        sized_override(sized, nets[i], awg);
    }
    sized_run(sized);
}

/* The heater of the angle-of-attack vane: plain drop 0.423 V in AWG 16, 0.548 V in AWG 18, which is
 * refused. AC 43.13-1B Table 11-6 (0.5 V), resistance Table 11-9. */
static void test_vane_heater(void **state) {
    (void)state;
    static const char *const NETS[] = {"AOA_PWR", "AOA_GND"};
    Sized sized = {0};
    override_all(&sized, NETS, 2, "16");
    assert_near(sized_feeder(&sized, "AOA.PWR")->plain_drop_v, 0.423, half_digit(3));
    assert_null(find(&sized, RULE_SIZE_OVERRIDE, "plain drop"));
    arena_free(&sized.job.arena);
    sized = (Sized){0};
    override_all(&sized, NETS, 2, "18");
    assert_near(sized_feeder(&sized, "AOA.PWR")->plain_drop_v, 0.548, half_digit(3));
    const Finding *finding = find(&sized, RULE_SIZE_OVERRIDE, "plain drop");
    assert_non_null(finding);
    assert_int_equal(finding->severity, SEVERITY_ERROR);
    assert_near(finding->value, 0.548, half_digit(3));
    assert_near(finding->limit, 0.5, 1e-9);
    /* As plain figures go AWG 16 is the answer, and the drop is what asks for it. */
    const GaugeChoice *choice = sized_choice(&sized, "AOA_PWR");
    assert_int_equal(choice->smallest_awg[SIZE_PLAIN_DROP], 16);
    assert_int_equal(choice->smallest_awg[SIZE_PROTECTION], 22);
    arena_free(&sized.job.arena);
}

/* The flap breaker of 15 A: AWG 16 may stand behind it, AWG 18 only behind 10 A.
 * AC 43.13-1B Table 11-3. */
static void test_flap_breaker(void **state) {
    (void)state;
    static const char *const NETS[] = {"FLAP", "FLAP.2", "FLAP_SGND"};
    Sized sized = {0};
    override_all(&sized, NETS, 3, "16");
    assert_null(find(&sized, RULE_SIZE_DEVICE_LARGE, "CB_FLAP"));
    arena_free(&sized.job.arena);
    sized = (Sized){0};
    override_all(&sized, NETS, 3, "18");
    const Finding *finding = find(&sized, RULE_SIZE_DEVICE_LARGE, "CB_FLAP");
    assert_non_null(finding);
    assert_int_equal(finding->severity, SEVERITY_ERROR);
    assert_near(finding->value, 15.0, 1e-9);
    assert_near(finding->limit, 10.0, 1e-9);
    assert_string_equal(finding->source, "AC 43.13-1B Table 11-3");
    arena_free(&sized.job.arena);
}

/* --- what the tool chooses otherwise ------------------------------------------------------------
 */

static const char *awg_text(Arena *arena, int32_t awg) {
    return awg == INT_BLANK ? "" : value_awg_text(arena, awg);
}

static void test_gauge_changes(void **state) {
    (void)state;
    Sized sized = {0};
    job_read_example(&sized.job);
    job_plain_lengths(&sized.job);
    sized_run(&sized);
    Arena *arena = &sized.job.arena;
    const int32_t *listed = reference_gauges(&sized);
    Buffer found = {.arena = arena};
    buffer_text(&found, "net,listed_awg,awg,governing,value,limit,unit,runner_up,runner_up_awg\n");
    for (CableId c = 0; c < sized.wiring.cable_count; c++) {
        const Cable *cable = &sized.wiring.cables[c];
        const GaugeChoice *choice = &sized.sizing.choices[cable->conductor_first];
        const Net *net = &sized.wiring.nets[cable->net];
        if (listed[cable->net] == INT_BLANK || choice->awg == listed[cable->net]) {
            continue;
        }
        bool second = choice->runner_up != SIZE_LIMIT_COUNT;
        buffer_format(&found, "%s,%s,%s,%s,%.3f,%.3f,%s,%s,%s\n", net->name,
                      awg_text(arena, listed[cable->net]), awg_text(arena, choice->awg),
                      size_limit_name(choice->governing), choice->value[choice->governing],
                      choice->limit[choice->governing], sizing_unit(choice->governing),
                      second ? size_limit_name(choice->runner_up) : "",
                      second ? awg_text(arena, choice->smallest_awg[choice->runner_up]) : "");
    }
    char *expected = NULL;
    size_t length = 0;
    Status status = file_read(arena, REFERENCE "gauge_changes.csv", &expected, &length);
    assert_false(status.failed);
    if (length != found.length || memcmp(expected, found.bytes, length) != 0) {
        status = file_write("gauge_changes.csv", found.bytes, found.length);
        assert_false(status.failed);
        fail_msg("the list has changed; the new one is gauge_changes.csv, here: read it, keep it");
    }
    arena_free(&sized.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_port_feeders), cmocka_unit_test(test_bus_feeders),
        cmocka_unit_test(test_heavy_cables), cmocka_unit_test(test_vane_heater),
        cmocka_unit_test(test_flap_breaker), cmocka_unit_test(test_gauge_changes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
