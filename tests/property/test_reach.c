/* What `reach` says without a source has no voltage when the same things are opened in the network
 * and it is solved from nothing; what it says has one, has: every place of two aircraft, every
 * port.
 */
#include "power/common.h"
#include "power/fail.h"
#include "support/powered.h"

enum { EDITS_MAX = 4096 };

typedef struct Bench {
    Powered powered;
    Disconnects disconnects;
    Places places;
    Reach *reach;
    ReachRun *run;
    uint32_t phase;
} Bench;

static void bench_open(Bench *bench, const char *example, const char *phase) {
    *bench = (Bench){0};
    Powered *powered = &bench->powered;
    Job *job = &powered->job;
    job_read_folder(job, example);
    powered_load(powered);
    powered_solve(powered);
    Findings unheard = {.arena = &job->arena};
    disconnects_allot(&job->arena, &job->model, &powered->wiring, &powered->routing, powered->awg,
                      &bench->disconnects, &unheard);
    bench->phase = powered_phase(powered, phase);
    assert_true(powered->phases.solved[bench->phase]);
}

/* All elements that end at a node, and those of the place itself. */
static uint32_t list_edits(const Bench *bench, uint32_t place, bool *done, FailEdit *edits) {
    const Network *network = &bench->powered.built.network;
    const Places *places = &bench->places;
    uint32_t count = 0;
    memset(done, 0, reach_element_count(bench->reach));
    for (uint32_t i = places->elements.first[place]; i < places->elements.first[place + 1]; i++) {
        done[places->elements.items[i]] = true;
    }
    for (int kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = 0; i < network_kind_count(network, (NetworkKind)kind); i++) {
            uint32_t ends[2];
            network_element_ends(network, (NetworkKind)kind, i, ends);
            for (uint32_t n = places->nodes.first[place]; n < places->nodes.first[place + 1]; n++) {
                uint32_t node = places->nodes.items[n];
                if (ends[0] == node || ends[1] == node) {
                    done[reach_element(bench->reach, (NetworkKind)kind, i)] = true;
                }
            }
            bool can_open = kind != NETWORK_LOAD && kind != NETWORK_COIL;
            if (can_open && done[reach_element(bench->reach, (NetworkKind)kind, i)]) {
                assert_true(count < EDITS_MAX);
                edits[count++] = fail_open((NetworkKind)kind, i);
            }
        }
    }
    return count;
}

/* A port that draws nothing in the phase has no say, and one at a node that is gone has none left.
 */
static bool at_gone_node(const Bench *bench, uint32_t place, const NetworkLoad *load) {
    for (uint32_t n = bench->places.nodes.first[place]; n < bench->places.nodes.first[place + 1];
         n++) {
        uint32_t node = bench->places.nodes.items[n];
        if (load->plus == node || load->minus == node) {
            return true;
        }
    }
    return false;
}

/* Applies, and stops alternators whose field has no voltage, until none is left. */
static bool settle(const Powered *powered, FailRun *run, const FailEdit *edits, uint32_t count) {
    SolveStatus status = fail_apply(run, edits, count);
    for (uint32_t i = 0; status == SOLVE_OK && i < powered->built.network.alternator_count; i++) {
        const BuildAlternator *alternator = &powered->built.alternators[i];
        if (alternator->field != NETWORK_NONE && powered->built.network.alternators[i].running &&
            fail_load_v(run, alternator->field) < alternator->field_v &&
            fail_element_a(run, NETWORK_ALTERNATOR, i) != 0.0) {
            FailEdit stop = fail_open(NETWORK_ALTERNATOR, i);
            status = fail_apply(run, &stop, 1);
            i = UINT32_MAX; /* from the first again */
        }
    }
    return status == SOLVE_OK;
}

static void compare(const char *example, const char *phase) {
    static FailEdit edits[EDITS_MAX];
    Bench bench;
    bench_open(&bench, example, phase);
    Powered *powered = &bench.powered;
    Arena *arena = &powered->job.arena;
    Network *network = &powered->built.network;
    NetworkState state =
        network_state_copy(arena, network, &powered->phases.results[bench.phase].state);
    phases_set(&powered->built, &powered->job.model, &powered->supply, bench.phase,
               powered->supply.positions[bench.phase], &state);
    bench.reach = reach_build(arena, network, powered->built.alternators, &state);
    places_build(arena, &powered->job.model, &powered->wiring, &powered->routing,
                 &bench.disconnects, &powered->supply, &powered->built, bench.reach, &bench.places);
    bench.run = reach_run_new(arena, bench.reach);
    bool *done = ARENA_ARRAY(arena, bool, reach_element_count(bench.reach));
    FailBase *base = fail_base_new(arena, powered->phases.plan, network, &state);
    FailRun *run = fail_run_new(arena, base);
    uint32_t gone = 0;
    uint32_t there = 0;
    for (uint32_t place = 0; place < bench.places.count; place++) {
        uint32_t count = list_edits(&bench, place, done, edits);
        fail_begin(run);
        if (!settle(powered, run, edits, count)) {
            continue;
        }
        reach_begin(bench.run);
        for (uint32_t i = bench.places.elements.first[place];
             i < bench.places.elements.first[place + 1]; i++) {
            reach_block_element(bench.run, bench.places.elements.items[i]);
        }
        for (uint32_t i = bench.places.nodes.first[place]; i < bench.places.nodes.first[place + 1];
             i++) {
            reach_block_node(bench.run, bench.places.nodes.items[i]);
        }
        for (uint32_t i = 0; i < network->load_count; i++) {
            const NetworkLoad *load = &network->loads[i];
            if (load->nominal_a <= 0.0 || at_gone_node(&bench, place, load)) {
                continue;
            }
            bool has = reach_load(bench.run, i);
            bool live = fail_load_v(run, i) > 1.0;
            if (has != live) {
                fail_msg("%s: %s %s out: load %u has %d, %.3f V", example,
                         place_kind_name(bench.places.places[place].kind),
                         bench.places.places[place].name, i, has, fail_load_v(run, i));
            }
            gone += has ? 0 : 1;
            there += has ? 1 : 0;
        }
    }
    assert_true(gone > 10 && there > 20);
    fail_run_free(run);
    arena_free(arena);
}

static void places_of_the_example(void **state) {
    (void)state;
    compare(MARLING_SOURCE_DIR "/examples/osier_mended", "survey_day");
    compare(MARLING_SOURCE_DIR "/examples/osier", "emergency");
}

static void places_of_the_first_job(void **state) {
    (void)state;
    compare(MARLING_SOURCE_DIR "/examples/first", "cruise");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(places_of_the_example),
        cmocka_unit_test(places_of_the_first_job),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
