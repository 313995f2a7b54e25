/* Lengths, bundles and disconnects of the example aircraft against figures worked out apart from
 * the program (tests/reference/README.md says how), with the gauges of the list of nets imposed. */
#include <stdlib.h>

#include "support/job.h"

#include "base/file.h"
#include "base/units.h"
#include "near.h"
#include "route/result.h"
#include "table/csv.h"

#define CELLS_MAX 32

/* A reference table: rows of cells, the header first. */
typedef struct Reference {
    char *cells[400][CELLS_MAX];
    size_t columns;
    size_t rows; /* without the header */
} Reference;

typedef struct Example {
    Job job;
    Wiring wiring;
    Routing routing;
    Disconnects disconnects;
    int32_t *awg;
    Bundle *bundles;
    Runs runs;
    TableSet result;
} Example;

static void reference_read(Example *example, const char *name, Reference *reference) {
    *reference = (Reference){0};
    char *text = NULL;
    size_t length = 0;
    const char *path =
        arena_format(&example->job.arena, "%s/tests/reference/%s", MARLING_SOURCE_DIR, name);
    Status status = file_read(&example->job.arena, path, &text, &length);
    if (status.failed) {
        fail_msg("%s", status.text);
    }
    Csv csv;
    csv_open(&csv, text, length, ',');
    CsvRecord record = {.cells = reference->cells[0], .room = CELLS_MAX};
    size_t count = 0;
    while (csv_next(&csv, &record)) {
        if (count == 0) {
            reference->columns = record.count;
        }
        count++;
        assert_true(count < 400);
        record.cells = reference->cells[count];
    }
    reference->rows = count - 1;
}

static const char *cell(const Reference *reference, size_t row, const char *column) {
    for (size_t i = 0; i < reference->columns; i++) {
        if (strcmp(reference->cells[0][i], column) == 0) {
            return reference->cells[row + 1][i];
        }
    }
    fail_msg("no column %s", column);
    return "";
}

static double number(const Reference *reference, size_t row, const char *column) {
    return strtod(cell(reference, row, column), NULL);
}

/* "A.B > C.D" of a net, as nets.csv writes it. */
static const char *net_text(Example *example, const Net *net) {
    Buffer text = {.arena = &example->job.arena};
    for (uint32_t i = 0; i < net->end_count; i++) {
        buffer_format(&text, i == 0 ? "%s" : " > %s",
                      example->job.model.terminals[example->wiring.ends[net->end_first + i]].end);
    }
    return text.bytes;
}

/* Gauges by net name of the list, handed over to our nets by their ends. */
static void impose_gauges(Example *example) {
    static Reference nets;
    static Reference gauges;
    reference_read(example, "nets.csv", &nets);
    reference_read(example, "net_gauges.csv", &gauges);
    NameMap by_name = {0};
    NameMap by_ends = {0};
    for (uint32_t i = 0; i < gauges.rows; i++) {
        name_map_add(&by_name, &example->job.arena, cell(&gauges, i, "net"), i);
    }
    for (uint32_t i = 0; i < nets.rows; i++) {
        uint32_t row = name_map_find(&by_name, cell(&nets, i, "net"));
        assert_int_not_equal(row, NAME_NONE);
        name_map_add(&by_ends, &example->job.arena, cell(&nets, i, "ends_in_order"), row);
    }
    const Wiring *wiring = &example->wiring;
    example->awg = ARENA_ARRAY(&example->job.arena, int32_t, wiring->conductor_count);
    for (uint32_t i = 0; i < wiring->conductor_count; i++) {
        const Net *net = &wiring->nets[wiring->cables[wiring->conductors[i].cable].net];
        uint32_t row = name_map_find(&by_ends, net_text(example, net));
        assert_int_not_equal(row, NAME_NONE);
        int awg = 0;
        example->awg[i] =
            units_awg_parse(cell(&gauges, row, "awg"), &awg) ? awg : INT_BLANK; /* coax */
    }
}

static int setup(void **state) {
    Example *example = calloc(1, sizeof *example);
    Job *job = &example->job;
    job_read_example(job);
    job_plain_lengths(job);
    job_build(job);
    assert_true(wiring_derive(&job->arena, &job->model, &example->wiring, &job->findings));
    impose_gauges(example);
    assert_true(
        route_find(&job->arena, &job->model, &example->wiring, &example->routing, &job->findings));
    assert_true(disconnects_allot(&job->arena, &job->model, &example->wiring, &example->routing,
                                  example->awg, &example->disconnects, &job->findings));
    example->bundles = ARENA_ARRAY(&job->arena, Bundle, job->set.segment.count);
    route_bundles(&job->model, &example->wiring, &example->routing, example->awg, example->bundles);
    assert_true(runs_measure(&job->arena, &job->model, &example->wiring, &example->routing,
                             &example->disconnects, example->awg, &example->runs, &job->findings));
    RouteView view = {
        .model = &job->model,
        .wiring = &example->wiring,
        .routing = &example->routing,
        .disconnects = &example->disconnects,
        .bundles = example->bundles,
        .runs = &example->runs,
        .awg = example->awg,
    };
    result_route_rows(&job->arena, &view, NULL, NULL, &example->result);
    *state = example;
    return 0;
}

static int teardown(void **state) {
    Example *example = *state;
    arena_free(&example->job.arena);
    free(example);
    return 0;
}

static double total(const Reference *totals, const char *quantity) {
    for (size_t i = 0; i < totals->rows; i++) {
        if (strcmp(cell(totals, i, "quantity"), quantity) == 0) {
            return number(totals, i, "value");
        }
    }
    fail_msg("no total %s", quantity);
    return 0.0;
}

/* Pieces, conductors, metres and kilograms, heavy ones apart. */
static void totals_agree(void **state) {
    Example *example = *state;
    static Reference totals;
    reference_read(example, "totals.csv", &totals);
    const Wiring *wiring = &example->wiring;
    double cables = 0;
    double conductors = 0;
    double cable_m = 0;
    double conductor_m = 0;
    double mass_kg = 0;
    double heavy_m = 0;
    double heavy_kg = 0;
    for (CableId i = 0; i < wiring->cable_count; i++) {
        const Cable *cable = &wiring->cables[i];
        double length_m = example->routing.length_mm[i] / 1000.0;
        double kg = length_m * route_cable_kg_per_m(&example->job.model, wiring, i, example->awg);
        if (cable->heavy) {
            heavy_m += length_m;
            heavy_kg += kg;
            continue;
        }
        cables++;
        conductors += cable->conductor_count;
        cable_m += length_m;
        conductor_m += length_m * cable->conductor_count;
        mass_kg += kg;
    }
    assert_near(cables, total(&totals, "cables"), 0);
    assert_near(conductors, total(&totals, "conductors"), 0);
    assert_near(cable_m, total(&totals, "cable_length"), 0.0006);
    assert_near(conductor_m, total(&totals, "conductor_length"), 0.0006);
    assert_near(mass_kg, total(&totals, "harness_mass"), 0.0006);
    assert_near(heavy_m, total(&totals, "heavy_length"), 0.0006);
    assert_near(heavy_kg, total(&totals, "heavy_mass"), 0.0006);
}

static void trunk_agrees(void **state) {
    Example *example = *state;
    static Reference totals;
    reference_read(example, "totals.csv", &totals);
    double trunk_m = 0;
    for (size_t i = 0; i < example->job.set.segment.count; i++) {
        trunk_m += example->job.model.segment_length_mm[i] / 1000.0;
    }
    assert_near(trunk_m, total(&totals, "trunk_length"), 0.0006);
}

static void bundles_agree(void **state) {
    Example *example = *state;
    static Reference bundles;
    reference_read(example, "bundles.csv", &bundles);
    assert_int_equal(bundles.rows, example->job.set.segment.count);
    for (size_t i = 0; i < bundles.rows; i++) {
        uint32_t segment =
            model_row(&example->job.model, TABLE_segment, cell(&bundles, i, "segment"));
        assert_int_not_equal(segment, ID_NONE);
        const Bundle *bundle = &example->bundles[segment];
        assert_near(bundle->cables, number(&bundles, i, "cables"), 0);
        assert_near(bundle->conductors, number(&bundles, i, "conductors"), 0);
        assert_near(bundle->diameter_mm, number(&bundles, i, "diameter_mm"), 0.0501);
    }
}

static void shells_agree(void **state) {
    Example *example = *state;
    static Reference shells;
    reference_read(example, "shells.csv", &shells);
    assert_int_equal(shells.rows, example->job.set.disconnect_shell.count);
    for (size_t i = 0; i < shells.rows; i++) {
        uint32_t shell =
            model_row(&example->job.model, TABLE_disconnect_shell, cell(&shells, i, "shell"));
        assert_int_not_equal(shell, ID_NONE);
        if (example->disconnects.shell_used[shell] != number(&shells, i, "used")) {
            fail_msg("%s: %u contacts, expected %s", cell(&shells, i, "shell"),
                     example->disconnects.shell_used[shell], cell(&shells, i, "used"));
        }
    }
}

/* Contacts, coax and heavy crossings of each disconnect. */
static void disconnects_agree(void **state) {
    Example *example = *state;
    static Reference reference;
    reference_read(example, "disconnects.csv", &reference);
    const Model *model = &example->job.model;
    const TableSet *set = &example->job.set;
    for (size_t i = 0; i < reference.rows; i++) {
        const char *name = cell(&reference, i, "disconnect");
        double contacts = 0;
        double coax = 0;
        double heavy = 0;
        bool *cut = ARENA_ARRAY(&example->job.arena, bool, set->segment.count);
        for (uint32_t k = 0; k < set->disconnect_shell.count; k++) {
            if (strcmp(set->disconnect_shell.rows[k].disconnect, name) == 0) {
                contacts += example->disconnects.shell_used[k];
                cut[model_row(model, TABLE_segment, set->disconnect_shell.rows[k].segment)] = true;
            }
        }
        for (CableId k = 0; k < example->wiring.cable_count; k++) {
            const Cable *cable = &example->wiring.cables[k];
            for (uint32_t hop = example->routing.cable_first[k];
                 hop < example->routing.cable_first[k + 1]; hop++) {
                bool here = cut[example->routing.hops[hop].segment];
                coax += here && cable->coax;
                heavy += here && cable->heavy;
            }
        }
        assert_near(contacts, number(&reference, i, "contacts"), 0);
        assert_near(coax, number(&reference, i, "coax"), 0);
        assert_near(heavy, number(&reference, i, "heavy"), 0);
    }
}

/* Lengths of battery, starter and alternator leads, and their ways. */
static void heavy_leads_agree(void **state) {
    Example *example = *state;
    static Reference leads;
    reference_read(example, "heavy_cables.csv", &leads);
    const Model *model = &example->job.model;
    size_t found = 0;
    for (CableId i = 0; i < example->wiring.cable_count; i++) {
        const Cable *cable = &example->wiring.cables[i];
        for (size_t k = 0; k < leads.rows && cable->heavy; k++) {
            if (strcmp(cell(&leads, k, "from_end"), model->terminals[cable->from].end) == 0 &&
                strcmp(cell(&leads, k, "to_end"), model->terminals[cable->to].end) == 0) {
                found++;
                assert_near(example->routing.length_mm[i], number(&leads, k, "length_mm"), 0.501);
                assert_string_equal(
                    route_text(&example->job.arena, model, &example->wiring, &example->routing, i),
                    cell(&leads, k, "route"));
            }
        }
    }
    assert_int_equal(found, leads.rows);
}

/* Metres of each wire and cable of the library. */
static void metres_agree(void **state) {
    Example *example = *state;
    static Reference totals;
    reference_read(example, "totals.csv", &totals);
    size_t parts = 0;
    for (size_t i = 0; i < totals.rows; i++) {
        const char *part = cell(&totals, i, "quantity");
        if (model_row(&example->job.model, TABLE_wire, part) == ID_NONE &&
            model_row(&example->job.model, TABLE_cable, part) == ID_NONE) {
            continue; /* another quantity */
        }
        /* Single wires by the wire, cables by the cable. */
        double length_m = 0.0;
        bool cable = model_row(&example->job.model, TABLE_cable, part) != ID_NONE;
        for (size_t k = 0; k < example->result.cable_run.count; k++) {
            const CableRunRow *row = &example->result.cable_run.rows[k];
            if (strcmp(row->part, part) == 0) {
                length_m += row->length_mm / 1000.0 * (cable ? 1 : row->conductors);
            }
        }
        parts++;
        assert_near(length_m, number(&totals, i, "value"), 0.0501);
    }
    assert_int_equal(parts, 17);
}

static void unit_mass_agrees(void **state) {
    Example *example = *state;
    static Reference totals;
    reference_read(example, "totals.csv", &totals);
    assert_near(example->runs.masses.units.mass_kg, total(&totals, "unit_mass"), 0.0051);
}

static void feeders_agree(void **state) {
    Example *example = *state;
    static Reference coax;
    reference_read(example, "coax.csv", &coax);
    assert_int_equal(coax.rows, example->result.coax_run.count);
    for (size_t i = 0; i < coax.rows; i++) {
        const CoaxRunRow *row = NULL;
        for (size_t k = 0; k < example->result.coax_run.count; k++) {
            if (strcmp(example->result.coax_run.rows[k].net, cell(&coax, i, "net")) == 0) {
                row = &example->result.coax_run.rows[k];
            }
        }
        assert_non_null(row);
        assert_string_equal(row->antenna, cell(&coax, i, "antenna"));
        assert_near(row->length_mm, number(&coax, i, "length_mm"), 0.501);
        assert_near(row->joints, number(&coax, i, "joints"), 0);
        assert_near(row->loss_db, number(&coax, i, "loss_db"), 0.00501);
        assert_near(row->limit_db, number(&coax, i, "limit_db"), 0);
        assert_string_equal(row->route, cell(&coax, i, "route"));
    }
}

static void chains_agree(void **state) {
    Example *example = *state;
    static Reference chains;
    reference_read(example, "chains.csv", &chains);
    assert_int_equal(chains.rows, example->result.chain_run.count);
    for (size_t i = 0; i < chains.rows; i++) {
        const ChainRunRow *row = &example->result.chain_run.rows[i];
        assert_string_equal(row->net, cell(&chains, i, "net"));
        assert_string_equal(row->order, cell(&chains, i, "order"));
        assert_string_equal(row->terminated_at, cell(&chains, i, "terminated_at"));
        assert_near(row->length_mm / 1000.0, number(&chains, i, "length_m"), 0.00501);
        assert_near(row->unpowered_ohm, number(&chains, i, "unpowered_ohm"), 0.0501);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(totals_agree),      cmocka_unit_test(trunk_agrees),
        cmocka_unit_test(bundles_agree),     cmocka_unit_test(shells_agree),
        cmocka_unit_test(disconnects_agree), cmocka_unit_test(heavy_leads_agree),
        cmocka_unit_test(metres_agree),      cmocka_unit_test(unit_mass_agrees),
        cmocka_unit_test(feeders_agree),     cmocka_unit_test(chains_agree),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
