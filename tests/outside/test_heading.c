/* Heading errors of whole jobs against closed forms of the law of Biot and Savart: an endless wire
 * and a pair of them, a square loop on its axis (recomputed), the deviation of a compass (published
 * wording: atan(B/H)), and the trim motor of the example worked by hand. */
#include "support/headed.h"

#define MAG_FEED_DEG 3.31 /* one wire with 1.3 A under the magnetometer, H = 18 uT, by hand */
#define MAG_PAIR_DEG 0.01

/* A figure that is printed with two places. */
#define TWO_PLACES 0.005

/* --- the example --------------------------------------------------------------------------------
 */

static void trim_motor_as_pair_and_alone(void **state) {
    (void)state;
    Headed headed = {0};
    job_read_example(&headed.powered.job);
    headed_run(&headed);
    const HeadingError *error = headed_error(&headed, "MAG", "PTM.MOT", NULL);
    assert_near(error->amps_a, 1.3, 1e-12);
    assert_near(error->alone_deg, MAG_FEED_DEG, TWO_PLACES);
    assert_near(error->level_deg, MAG_PAIR_DEG, TWO_PLACES);
    assert_true(error->level_deg > 0.0);
    assert_int_equal(error->verdict, HEADING_WITHIN);
    arena_free(&headed.powered.job.arena);
}

/* With one core instead of the pair the return is nowhere, and the feed stands alone. */
static void trim_motor_without_its_return(void **state) {
    (void)state;
    Headed headed = {0};
    Job *job = &headed.powered.job;
    job_read_example(job);
    job_write(job, TABLE_link, "TRIM_M", "class", "X");
    headed_run(&headed);
    const HeadingError *error = headed_error(&headed, "MAG", "PTM.MOT", NULL);
    assert_near(error->level_deg, MAG_FEED_DEG, TWO_PLACES);
    assert_int_equal(error->verdict, HEADING_OVER);
    assert_non_null(job_finding(job, RULE_FIELD_HEADING, "MAG PTM.MOT"));
    arena_free(&job->arena);
}

/* The tail light returns through the fin: its feed runs past the magnetometer alone. Mended by a
 * wire beside it. */
static void tail_light(void **state) {
    (void)state;
    Headed headed = {0};
    job_read_example(&headed.powered.job);
    headed_run(&headed);
    const HeadingError *error = headed_error(&headed, "MAG", "TNS.PWR", NULL);
    assert_true(error->worst_deg > 1.3 && error->worst_deg < 1.5);
    assert_int_equal(error->verdict, HEADING_OVER);
    arena_free(&headed.powered.job.arena);
    headed = (Headed){0};
    job_read_folder(&headed.powered.job, MARLING_SOURCE_DIR "/examples/osier_mended");
    headed_run(&headed);
    error = headed_error(&headed, "MAG", "TNS.PWR", NULL);
    assert_true(error->worst_deg < 0.01);
    assert_true(error->alone_deg > 1.3);
    assert_int_equal(error->verdict, HEADING_WITHIN);
    arena_free(&headed.powered.job.arena);
}

/* --- endless wires ------------------------------------------------------------------------------
 */

/* The trim motor's pair laid straight over 40 m, the sensor in its middle: seen from 0.1 m that is
 * endless within 2e-5. */
static void lay_straight(Headed *headed, const char *y_mm, const char *z_mm) {
    static const char *const WAY[] = {"S02", "C01", "C02", "C03", "C04", "C05",
                                      "A01", "A02", "A03", "A04", "A05"};
    Job *job = &headed->powered.job;
    job_read_example(job);
    for (size_t i = 0; i < sizeof WAY / sizeof *WAY; i++) {
        char x_mm[16];
        snprintf(x_mm, sizeof x_mm, "%d", -20000 + 4000 * (int)i);
        job_write(job, TABLE_node, WAY[i], "x_mm", x_mm);
        job_write(job, TABLE_node, WAY[i], "y_mm", "0");
        job_write(job, TABLE_node, WAY[i], "z_mm", "0");
    }
    for (size_t i = 0; i < job->set.segment.count; i++) {
        job->set.segment.rows[i].length_mm = (double)NAN;
        job->set.segment.rows[i].classes = "";
    }
    job_write(job, TABLE_driven, "trim-motor MOT", "amps_a", "10");
    job_write(job, TABLE_sensor, "MAG", "x_mm", "0");
    job_write(job, TABLE_sensor, "MAG", "y_mm", y_mm);
    job_write(job, TABLE_sensor, "MAG", "z_mm", z_mm);
    job_write(job, TABLE_sensor, "MAG", "horizontal_ut", "20");
    headed_run(headed);
}

/* C41: 10 A at 0.1 m make 20 uT; across H = 20 uT that is 45 degrees. */
static void c41_endless_feed(void **state) {
    (void)state;
    Headed headed = {0};
    lay_straight(&headed, "0", "100");
    const HeadingError *error = headed_error(&headed, "MAG", "PTM.MOT", NULL);
    assert_near(error->alone_deg, 45.0, 0.001);
    arena_free(&headed.powered.job.arena);
}

/* Two such wires 2 mm apart, seen in their plane from 0.1 m: 0.4000 uT by the exact difference
 * 2 x (1/0.099 - 1/0.101). */
static void endless_pair(void **state) {
    (void)state;
    Headed headed = {0};
    lay_straight(&headed, "100", "0");
    const HeadingError *error = headed_error(&headed, "MAG", "PTM.MOT", NULL);
    assert_near(field_size_ut(error->field_ut), 0.4000, 0.0001);
    assert_near(fabs(error->field_ut.z), 2.0 * (1.0 / 0.099 - 1.0 / 0.101), 1e-4);
    arena_free(&headed.powered.job.arena);
}

/* --- square loop --------------------------------------------------------------------------------
 */

/* All of the first job in one corner of a square of 0.1 m, its radio in the opposite one: the feed
 * goes round one side, the return round the other. */
static void lay_loop(Headed *headed, const char *z_mm) {
    Job *job = &headed->powered.job;
    job_read_folder(job, MARLING_SOURCE_DIR "/examples/first");
    for (size_t i = 0; i < job->set.node.count; i++) {
        NodeRow *node = &job->set.node.rows[i];
        bool radio = strcmp(node->node, "P1") == 0;
        node->x_mm = node->y_mm = radio ? 100.0 : 0.0;
        node->z_mm = 0.0;
    }
    job_drop(job, TABLE_segment, "F1-P1");
    job_drop(job, TABLE_segment, "P1-P2");
    job_add(job, TABLE_node,
            "node,x_mm,y_mm,z_mm,zone,module\nK1,100,0,0,CAB,FUS\nK3,0,100,0,CAB,FUS\n");
    job_add(job, TABLE_segment,
            "segment,node_a,node_b,zone,classes\n"
            "F1-P2,F1,P2,CAB,\n"
            "P2-K1,P2,K1,CAB,P D R A M X V Z S C E H\n"
            "K1-P1,K1,P1,CAB,P D R A M X V Z S C E H\n"
            "P1-K3,P1,K3,CAB,G\n"
            "K3-F1,K3,F1,CAB,G\n");
    Buffer text = {.arena = &job->arena};
    buffer_format(
        &text, "sensor,kind,x_mm,y_mm,z_mm,horizontal_ut\nFLUX,magnetometer,50,50,%s,20\n", z_mm);
    job_add(job, TABLE_sensor, text.bytes);
    headed_run(headed);
}

static void check_loop(const char *z_mm, double ten_amps_ut) {
    Headed headed = {0};
    lay_loop(&headed, z_mm);
    const HeadingError *error = headed_error(&headed, "FLUX", "COM.PWR", NULL);
    assert_near(10.0 * field_size_ut(error->field_ut) / error->amps_a, ten_amps_ut, 0.001);
    assert_near(10.0 * fabs(error->field_ut.z) / error->amps_a, ten_amps_ut, 0.001);
    assert_false(error->straight);
    arena_free(&headed.powered.job.arena);
}

/* C129: middle of a square of 0.1 m with 10 A: 113.1371 uT = 2 sqrt(2) mu0 I/(pi a). */
static void c129_square_middle(void **state) {
    (void)state;
    check_loop("0", 113.1371);
}

/* C130: 0.1 m above it: 13.0639 uT. */
static void c130_square_axis(void **state) {
    (void)state;
    check_loop("100", 13.0639);
}

/* --- degrees ------------------------------------------------------------------------------------
 */

/* 1 uT across 20 uT deflects 2.8624 degrees; 0.349 uT 0.9997, as near to 1 as one comes. */
static void deflections(void **state) {
    (void)state;
    assert_near(heading_level_deg((FieldVector){0.6, 0.8, 5.0}, 20.0), 2.8624, 0.0001);
    assert_near(heading_level_deg((FieldVector){0.349, 0.0, 0.0}, 20.0), 0.9997, 0.0001);
    /* The worst heading of a full turn, searched: the field turns with the aircraft. */
    double largest_deg = 0.0;
    for (int i = 0; i < 36000; i++) {
        double heading_rad = i * 3.14159265358979 / 18000.0;
        double north_ut = 20.0 + 6.0 * cos(heading_rad);
        double east_ut = 6.0 * sin(heading_rad);
        largest_deg = fmax(largest_deg, atan2(east_ut, north_ut) * 180.0 / 3.14159265358979);
    }
    assert_near(heading_worst_deg(6.0, 20.0), largest_deg, 1e-5);
    assert_near(heading_worst_deg(20.0, 20.0), 180.0, 0.0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(trim_motor_as_pair_and_alone),
        cmocka_unit_test(trim_motor_without_its_return),
        cmocka_unit_test(tail_light),
        cmocka_unit_test(c41_endless_feed),
        cmocka_unit_test(endless_pair),
        cmocka_unit_test(c129_square_middle),
        cmocka_unit_test(c130_square_axis),
        cmocka_unit_test(deflections),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
