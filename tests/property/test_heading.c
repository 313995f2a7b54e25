/* What holds for the heading errors of every job: circuits add up to the phase, the solution for
 * all circuits at once agrees with tracing each of them, currents close at every node, errors fall
 * off with distance, a map agrees with the sensor it is drawn around. Seeded, the seed printed. */
#include "support/headed.h"

#define SEED 20260420u
#define FIELD_UT 1e-7 /* rounding: tens of amperes through 1e5 S, in double */

static const char *const FOLDERS[] = {MARLING_SOURCE_DIR "/examples/osier",
                                      MARLING_SOURCE_DIR "/examples/osier_mended",
                                      MARLING_SOURCE_DIR "/examples/first"};
enum { FOLDER_COUNT = sizeof FOLDERS / sizeof *FOLDERS, PLACES = 6 };

static uint32_t seed;

static double draw(double from, double to) {
    seed = seed * 1664525u + 1013904223u;
    return from + (to - from) * ((double)(seed >> 8) / 16777216.0);
}

/* What one looks with. */
typedef struct Look {
    HeadingScene scene;
    HeadingSight sight;
    HeadingSystem system;
    HeadingPotential *potential[HEADING_SIDES];
} Look;

static void look_new(Arena *arena, const HeadingInput *input, Look *look) {
    heading_scene_build(arena, input, &look->scene);
    heading_sight_new(arena, &look->scene, &look->sight);
    heading_system_new(arena, &look->scene, &look->system);
    for (int side = 0; side < HEADING_SIDES; side++) {
        look->potential[side] =
            ARENA_ARRAY(arena, HeadingPotential, input->built->network.node_count);
    }
}

static void look_at(Look *look) {
    FieldVector at_m = {draw(-1.0, 6.0), draw(-5.0, 5.0), draw(-1.0, 1.5)};
    heading_sight_set(&look->scene, at_m, 0.002, &look->sight);
}

/* Current of an element from its first end to its second, as solved. */
static double element_a(const HeadingScene *scene, const SolveResult *result, uint32_t element) {
    NetworkKind kind = heading_kind(scene, element);
    uint32_t index = element - scene->first[kind];
    switch (kind) {
    case NETWORK_RESISTOR:
        return result->resistor_a[index];
    case NETWORK_CONTACT:
        return result->contact_a[index];
    case NETWORK_COIL:
        return result->coil_a[index];
    case NETWORK_DIODE:
        return result->diode_a[index];
    case NETWORK_BATTERY:
        return -result->battery_a[index];
    case NETWORK_ALTERNATOR:
        return -result->alternator_a[index];
    case NETWORK_LOAD:
    case NETWORK_KIND_COUNT:
    default:
        return result->load_a[index];
    }
}

static HeadingPotential plus(HeadingPotential sum, HeadingPotential more, double times) {
    return (HeadingPotential){heading_add(sum.wires_ut, more.wires_ut, times),
                              heading_add(sum.metal_ut, more.metal_ut, times)};
}

/* Field of one ampere in an element alone: its own way. */
static HeadingPotential own_field(const Look *look, uint32_t element) {
    HeadingPotential own = {.wires_ut = look->sight.element_ut[element]};
    for (size_t i = 0; i < look->scene.piece_count; i++) {
        const HeadingPiece *piece = &look->scene.pieces[i];
        if (piece->element == element && piece->metal) {
            own.metal_ut = heading_add(own.metal_ut, look->sight.piece_ut[i], 1.0);
        }
    }
    return own;
}

static void assert_none(HeadingPotential rest) {
    assert_true(field_size_ut(rest.wires_ut) < FIELD_UT);
    assert_true(field_size_ut(rest.metal_ut) < FIELD_UT);
}

/* --- superposition ------------------------------------------------------------------------------
 */

/* The field of a phase, current by current, less that of every load and coil alone and of what each
 * source pushes: nothing is left. */
static void check_phase(Look *look, const HeadingInput *input, uint32_t phase) {
    const HeadingScene *scene = &look->scene;
    const SolveResult *result = &input->phases->results[phase];
    heading_system_set(&look->system, phase);
    heading_potentials(&look->system, &look->sight, look->potential);
    const HeadingPotential *u = look->potential[HEADING_HOT];
    HeadingPotential rest = {0};
    for (uint32_t i = 0; i < scene->first[NETWORK_KIND_COUNT]; i++) {
        double amps_a = element_a(scene, result, i);
        double s = look->system.conductance_s[i];
        double apart_v = result->node_v[scene->a[i]] - result->node_v[scene->b[i]];
        /* What flows beyond s x voltage is pushed, from the second end to the first inside. */
        double pushed_a = amps_a - s * apart_v;
        if (s > 0.0 && i < scene->first[NETWORK_COIL]) {
            assert_near(pushed_a, 0.0, 1e-6 * fmax(1.0, fabs(amps_a)) + 1e-12 * s);
        }
        rest = plus(rest, own_field(look, i), amps_a);
        rest = plus(rest, own_field(look, i), -pushed_a);
        rest = plus(rest, u[scene->b[i]], -pushed_a);
        rest = plus(rest, u[scene->a[i]], pushed_a);
    }
    assert_none(rest);
}

static void circuits_add_up_to_the_phase(void **state) {
    (void)state;
    for (size_t i = 0; i < FOLDER_COUNT; i++) {
        Headed headed = {0};
        Look look = {0};
        job_read_folder(&headed.powered.job, FOLDERS[i]);
        headed_run(&headed);
        look_new(&headed.powered.job.arena, &headed.input, &look);
        for (int place = 0; place < PLACES; place++) {
            look_at(&look);
            for (uint32_t phase = 0; phase < headed.input.model->set->phase.count; phase++) {
                check_phase(&look, &headed.input, phase);
            }
        }
        factor_release(look.system.factor);
        arena_free(&headed.powered.job.arena);
    }
}

/* --- one solution for all against each traced ---------------------------------------------------
 */

static void check_traced(Look *look, const HeadingInput *input, const HeadingError *error,
                         double *amps_a, double *left_a) {
    const HeadingScene *scene = &look->scene;
    uint32_t nodes = input->built->network.node_count;
    heading_system_set(&look->system, error->phase);
    heading_trace(&look->system, error->index, amps_a);
    memset(left_a, 0, nodes * sizeof *left_a);
    HeadingPotential sum = {0};
    for (uint32_t i = 0; i < scene->first[NETWORK_KIND_COUNT]; i++) {
        if (amps_a[i] != 0.0) {
            sum = plus(sum, own_field(look, i), amps_a[i] * error->amps_a);
            left_a[scene->a[i]] -= amps_a[i];
            left_a[scene->b[i]] += amps_a[i];
        }
    }
    for (uint32_t node = 0; node < nodes; node++) {
        assert_near(left_a[node], 0.0, 1e-9);
    }
    FieldVector field =
        error->straight ? heading_add(sum.wires_ut, sum.metal_ut, 1.0) : sum.wires_ut;
    FieldVector apart = heading_add(field, error->field_ut, -1.0);
    assert_true(field_size_ut(apart) < FIELD_UT);
}

static void tracing_agrees(void **state) {
    (void)state;
    for (size_t i = 0; i < FOLDER_COUNT; i++) {
        Headed headed = {0};
        Look look = {0};
        Job *job = &headed.powered.job;
        job_read_folder(job, FOLDERS[i]);
        headed_run(&headed);
        look_new(&job->arena, &headed.input, &look);
        double *amps_a = ARENA_ARRAY(&job->arena, double, look.scene.first[NETWORK_KIND_COUNT]);
        double *left_a = ARENA_ARRAY(&job->arena, double, headed.powered.built.network.node_count);
        for (uint32_t s = 0; s < job->set.sensor.count; s++) {
            const SensorRow *row = &job->set.sensor.rows[s];
            heading_sight_set(&look.scene, heading_place_m(row), heading_pair_m(&job->model, row),
                              &look.sight);
            uint32_t tried = 0;
            for (uint32_t e = headed.heading.sensor_first[s];
                 e < headed.heading.sensor_first[s + 1]; e++) {
                if (headed.heading.errors[e].kind == HEADING_LOAD) {
                    check_traced(&look, &headed.input, &headed.heading.errors[e], amps_a, left_a);
                    tried++;
                }
            }
            assert_true(tried > 40);
        }
        factor_release(look.system.factor);
        arena_free(&job->arena);
    }
}

/* --- distance -----------------------------------------------------------------------------------
 */

/* Field of a traced circuit with its straight return, from far above the aircraft. */
static double far_ut(Look *look, const double *amps_a, double z_m) {
    HeadingPotential sum = {0};
    heading_sight_set(&look->scene, (FieldVector){2.0, 0.3, z_m}, 0.002, &look->sight);
    for (uint32_t i = 0; i < look->scene.first[NETWORK_KIND_COUNT]; i++) {
        if (amps_a[i] != 0.0) {
            sum = plus(sum, own_field(look, i), amps_a[i]);
        }
    }
    return field_size_ut(heading_add(sum.wires_ut, sum.metal_ut, 1.0));
}

/* With its return through the structure every circuit closes: from afar it is at most a dipole,
 * eight times less at twice the distance. A circuit with a gap would fall to a quarter. */
static void errors_fall_off(void **state) {
    (void)state;
    Headed headed = {0};
    Look look = {0};
    Job *job = &headed.powered.job;
    job_read_example(job);
    headed_run(&headed);
    look_new(&job->arena, &headed.input, &look);
    double *amps_a = ARENA_ARRAY(&job->arena, double, look.scene.first[NETWORK_KIND_COUNT]);
    uint32_t tried = 0;
    for (uint32_t e = headed.heading.sensor_first[0]; e < headed.heading.sensor_first[1]; e++) {
        const HeadingError *error = &headed.heading.errors[e];
        if (error->kind != HEADING_LOAD) {
            continue;
        }
        heading_system_set(&look.system, error->phase);
        heading_trace(&look.system, error->index, amps_a);
        double near_ut = far_ut(&look, amps_a, 200.0);
        double twice_ut = far_ut(&look, amps_a, 400.0);
        assert_true(near_ut > 0.0 && twice_ut < near_ut / 7.0);
        tried++;
    }
    assert_true(tried > 40);
    factor_release(look.system.factor);
    arena_free(&job->arena);
}

/* A pair does far less than its feed alone, and in proportion to its spacing. */
static void pairs_do_little(void **state) {
    (void)state;
    double before_deg = 0.0;
    for (int pair_mm = 1; pair_mm < 10; pair_mm *= 2) {
        Headed headed = {0};
        Job *job = &headed.powered.job;
        char text[32];
        job_read_example(job);
        snprintf(text, sizeof text, "%d", pair_mm);
        job_write(job, TABLE_sensor, "MAG", "pair_mm", text);
        headed_run(&headed);
        const HeadingError *error = headed_error(&headed, "MAG", "PTM.MOT", NULL);
        assert_true(error->worst_deg * 20.0 < error->alone_deg);
        if (before_deg > 0.0) {
            assert_near(error->worst_deg / before_deg, 2.0, 0.01);
        }
        before_deg = error->worst_deg;
        arena_free(&job->arena);
    }
}

/* --- map ----------------------------------------------------------------------------------------
 */

static void map_agrees_with_the_sensor(void **state) {
    (void)state;
    for (size_t i = 0; i < 2; i++) {
        Headed headed = {0};
        Job *job = &headed.powered.job;
        job_read_folder(job, FOLDERS[i]);
        headed_run(&headed);
        for (uint32_t s = 0; s < job->set.sensor.count; s++) {
            HeadingArea area;
            HeadingMap map;
            heading_area(&headed.input, s, 300.0, &area);
            area.step_mm = 500.0;
            heading_map(&job->arena, &headed.input, &headed.heading, s, &area, &map);
            assert_int_equal(map.circuits_left, 0);
            assert_near(map.x_mm + map.own_column * map.step_mm, job->set.sensor.rows[s].x_mm,
                        1e-6);
            assert_near(map.y_mm + map.own_row * map.step_mm, job->set.sensor.rows[s].y_mm, 1e-6);
            size_t own = (size_t)map.own_row * map.columns + map.own_column;
            double worst_deg = headed_worst_deg(&headed, job->set.sensor.rows[s].sensor);
            assert_near(map.worst_deg[own], worst_deg, 1e-6);
            assert_near(headed.heading.errors[map.error[own]].worst_deg, worst_deg, 1e-6);
        }
        arena_free(&job->arena);
    }
}

int main(void) {
    seed = SEED;
    print_message("seed %u\n", seed);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(circuits_add_up_to_the_phase),
        cmocka_unit_test(tracing_agrees),
        cmocka_unit_test(errors_fall_off),
        cmocka_unit_test(pairs_do_little),
        cmocka_unit_test(map_agrees_with_the_sensor),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
