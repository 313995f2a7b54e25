/* Every laid piece finds its way, bundles add up, and every rule of the route pass fires on the
 * fault it is for. */
#include "support/job.h"

#include "near.h"
#include "route/route.h"

typedef struct Routed {
    Job job;
    Wiring wiring;
    Routing routing;
    int32_t *awg;
    Bundle *bundles;
} Routed;

/* All wires 22 AWG, heavy ones 4. */
static void routed_run(Routed *routed) {
    Job *job = &routed->job;
    table_set_sort(&job->set);
    job_build(job);
    assert_true(wiring_derive(&job->arena, &job->model, &routed->wiring, &job->findings));
    assert_true(
        route_find(&job->arena, &job->model, &routed->wiring, &routed->routing, &job->findings));
    routed->awg = ARENA_ARRAY(&job->arena, int32_t, routed->wiring.conductor_count);
    for (uint32_t i = 0; i < routed->wiring.conductor_count; i++) {
        const Cable *cable = &routed->wiring.cables[routed->wiring.conductors[i].cable];
        routed->awg[i] = cable->heavy ? 4 : 22;
    }
    routed->bundles = ARENA_ARRAY(&job->arena, Bundle, job->set.segment.count);
    route_bundles(&job->model, &routed->wiring, &routed->routing, routed->awg, routed->bundles);
    route_check(&job->model, &routed->wiring, &routed->routing, routed->bundles, &job->findings);
}

static CableId first_cable(const Routed *routed, const char *net) {
    NetId id = name_map_find(&routed->wiring.net_by_name, net);
    assert_int_not_equal(id, NAME_NONE);
    return routed->wiring.nets[id].cable_first;
}

static double length_mm(const Routed *routed, const char *net, uint32_t place) {
    return routed->routing.length_mm[first_cable(routed, net) + place];
}

static void lengths_are_those_a_person_finds(void **state) {
    (void)state;
    Routed routed;
    job_read_example(&routed.job);
    job_plain_lengths(&routed.job);
    routed_run(&routed);
    assert_near(length_mm(&routed, "PTT_L", 0), 1816.0, 0.5);
    assert_near(length_mm(&routed, "TRIM_UP", 0), 1575.0, 0.5);
    assert_near(length_mm(&routed, "CAM_MARK", 0), 852.0, 0.5);
    assert_near(length_mm(&routed, "RF_NAV", 0), 7122.0, 0.5);
    /* Both ends at one node: the two stubs. */
    assert_near(length_mm(&routed, "ALM_OUT.2", 0), 240.0, 1e-9);
    assert_string_equal(route_text(&routed.job.arena, &routed.job.model, &routed.wiring,
                                   &routed.routing, first_cable(&routed, "PTT_L")),
                        "C06>C01>S02>P03");
    arena_free(&routed.job.arena);
}

static void handling_is_added_to_every_piece(void **state) {
    (void)state;
    Routed routed;
    job_read_example(&routed.job);
    job_plain_lengths(&routed.job);
    routed.job.set.job.rows[0].handling_mm = 100.0;
    routed_run(&routed);
    assert_near(length_mm(&routed, "PTT_L", 0), 1916.0, 0.5);
    assert_near(length_mm(&routed, "ALM_OUT.2", 0), 340.0, 1e-9);
    arena_free(&routed.job.arena);
}

static void a_kept_segment_is_left_to_its_classes(void **state) {
    (void)state;
    Routed routed;
    job_read_example(&routed.job);
    job_write(&routed.job, TABLE_segment, "S02-C01", "classes", "G P");
    routed_run(&routed);
    assert_int_equal(job_count(&routed.job, RULE_ROUTE_NONE), 0);
    /* The grip's line is a discrete: it goes round by the sill, where there is a way. */
    assert_true(length_mm(&routed, "PTT_L", 0) > 2000.0);
    arena_free(&routed.job.arena);
}

static void no_way_is_told_with_both_nodes(void **state) {
    (void)state;
    Routed routed;
    job_read_example(&routed.job);
    job_drop(&routed.job, TABLE_segment, "A06-A07");
    routed_run(&routed);
    const Finding *finding = job_finding(&routed.job, RULE_ROUTE_NONE, "RF_NAV");
    assert_non_null(finding);
    assert_non_null(strstr(finding->message, "A07"));
    assert_non_null(strstr(finding->message, "P03"));
    assert_true(isnan(length_mm(&routed, "RF_NAV", 0)));
    /* The node itself is told once. */
    assert_non_null(job_finding(&routed.job, RULE_ROUTE_LOOSE, "A07"));
    arena_free(&routed.job.arena);

    job_read_example(&routed.job);
    job_write(&routed.job, TABLE_segment, "A06-A07", "classes", "P G D");
    routed_run(&routed);
    finding = job_finding(&routed.job, RULE_ROUTE_NONE, "RF_NAV");
    assert_non_null(finding);
    assert_non_null(strstr(finding->message, "kept for other classes than Z"));
    arena_free(&routed.job.arena);
}

static void a_segment_that_goes_nowhere_is_told(void **state) {
    (void)state;
    Routed routed;
    job_read_example(&routed.job);
    routed_run(&routed);
    size_t before = job_count(&routed.job, RULE_ROUTE_DEAD_END);
    arena_free(&routed.job.arena);

    job_read_example(&routed.job);
    job_add(&routed.job, TABLE_node,
            "node,x_mm,y_mm,z_mm,zone,module\nQ1,9000,0,0,AFT,AFT\nQ2,9100,0,0,AFT,AFT\n");
    job_add(&routed.job, TABLE_segment, "segment,node_a,node_b,zone\nA07-Q1,A07,Q1,AFT\n");
    job_write(&routed.job, TABLE_segment, "E01-E02", "classes", "P NONSENSE");
    routed_run(&routed);
    assert_int_equal(job_count(&routed.job, RULE_ROUTE_DEAD_END), before + 1);
    assert_non_null(job_finding(&routed.job, RULE_ROUTE_DEAD_END, "A07-Q1"));
    assert_non_null(job_finding(&routed.job, RULE_ROUTE_LOOSE, "Q2"));
    assert_non_null(job_finding(&routed.job, RULE_ROUTE_CLASS, "E01-E02"));
    arena_free(&routed.job.arena);
}

static void classes_to_be_kept_apart_are_watched(void **state) {
    (void)state;
    Routed routed;
    job_read_example(&routed.job);
    routed_run(&routed);
    /* The third jack's microphone runs beside the tie cable. */
    const Finding *finding = job_finding(&routed.job, RULE_ROUTE_APART, "M E");
    assert_non_null(finding);
    assert_string_equal(finding->rows, "MIC_3");
    assert_int_equal(job_count(&routed.job, RULE_ROUTE_APART), 1);
    arena_free(&routed.job.arena);

    job_read_example(&routed.job);
    job_write(&routed.job, TABLE_apart, "M E", "together_mm", "2000");
    routed_run(&routed);
    assert_int_equal(job_count(&routed.job, RULE_ROUTE_APART), 0);
    arena_free(&routed.job.arena);
}

static void bundles_over_a_limit_are_told(void **state) {
    (void)state;
    Routed routed;
    job_read_example(&routed.job);
    routed_run(&routed);
    assert_int_equal(job_count(&routed.job, RULE_ROUTE_BUNDLE), 0);
    assert_int_equal(job_count(&routed.job, RULE_ROUTE_DIAMETER), 0);
    assert_int_equal(job_count(&routed.job, RULE_ROUTE_FILL), 0);
    arena_free(&routed.job.arena);

    job_read_example(&routed.job);
    job_add(&routed.job, TABLE_rule_limit,
            "limit,value,reason,who\nbundle_cables,50,test,me\nbundle_diameter,15,test,me\n");
    job_write(&routed.job, TABLE_segment, "R05-L01", "inner_mm", "6");
    routed_run(&routed);
    assert_non_null(job_finding(&routed.job, RULE_ROUTE_BUNDLE, "S02-C01"));
    assert_non_null(job_finding(&routed.job, RULE_ROUTE_DIAMETER, "S02-C01"));
    const Finding *finding = job_finding(&routed.job, RULE_ROUTE_FILL, "R05-L01");
    assert_non_null(finding);
    assert_true(finding->value > finding->limit);
    arena_free(&routed.job.arena);
}

static void bend_and_clamps_follow_the_thickest_thing(void **state) {
    (void)state;
    Routed routed;
    job_read_example(&routed.job);
    routed_run(&routed);
    /* A03-A04 holds coax of 4.95 mm (6 times) and CAN pairs of 3.15 mm (10 times). */
    uint32_t segment = model_row(&routed.job.model, TABLE_segment, "A03-A04");
    const Bundle *bundle = &routed.bundles[segment];
    assert_near(bundle->bend_mm, 36.1, 0.01); /* a three-core shielded line of 3.61 mm */
    assert_near(routed.job.model.segment_length_mm[segment], 805.0, 1.0);
    assert_int_equal(bundle->clamps, 2);
    arena_free(&routed.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lengths_are_those_a_person_finds),
        cmocka_unit_test(handling_is_added_to_every_piece),
        cmocka_unit_test(a_kept_segment_is_left_to_its_classes),
        cmocka_unit_test(no_way_is_told_with_both_nodes),
        cmocka_unit_test(a_segment_that_goes_nowhere_is_told),
        cmocka_unit_test(classes_to_be_kept_apart_are_watched),
        cmocka_unit_test(bundles_over_a_limit_are_told),
        cmocka_unit_test(bend_and_clamps_follow_the_thickest_thing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
