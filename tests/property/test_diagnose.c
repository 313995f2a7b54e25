/* Planted wiring errors: what the script detects, and whether the diagnosis finds what was planted.
 * Every single error of every module of the example and of the mated harness; pairs of errors drawn
 * with a fixed seed. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/ring.h"
#include "shop/diagnose.h"

static const uint64_t SEED = 0x44494147u;
static const double BAD_OHM = 5.0;

static uint32_t draw(uint64_t *state, uint32_t below) {
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)(*state >> 33) % below;
}

static Proof proof;
static Arena arena;
static RigInput input;

static int set_up(void **state) {
    (void)state;
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library", .no_faults = true};
    proof_run(MARLING_SOURCE_DIR "/examples/osier_mended", &options, &proof);
    assert_true(proof.complete);
    input = ring_input(&arena, &proof);
    return 0;
}

static int tear_down(void **state) {
    (void)state;
    arena_free(&arena);
    proof_free(&proof);
    return 0;
}

/* A harness with its script. */
typedef struct TestBench {
    Arena arena;
    Rig rig;
    Ringout ringout;
    WrongRig state;
    WrongList list;
    BenchReading *script; /* points only */
    uint32_t *step;       /* of the script, by reading */
    uint32_t count;
} TestBench;

static void bench_open(TestBench *bench, ModuleId module) {
    *bench = (TestBench){0};
    rig_build(&bench->arena, &input, module, &bench->rig);
    ringout_build(&bench->arena, &bench->rig, &bench->ringout);
    wrong_start(&bench->arena, &bench->rig, &bench->state);
    wrong_list(&bench->arena, &bench->rig, &bench->list);
    bench->script = ARENA_ARRAY(&bench->arena, BenchReading, bench->ringout.step_count);
    bench->step = ARENA_ARRAY(&bench->arena, uint32_t, bench->ringout.step_count);
    for (uint32_t i = 0; i < bench->ringout.step_count; i++) {
        bench->step[bench->count] = i;
        bench->count +=
            diagnose_step_points(&bench->arena, &bench->ringout, i, &bench->script[bench->count]);
    }
}

enum { ASKED_MAX = 40 };

/* The sanitizers look for slips, not for causes: a few of everything are enough for them. */
#ifdef MARLING_SANITIZED
enum { SANITIZED = 1, EVERY = 25, DIAGNOSED = 6, PAIRS = 2 };
#else
enum { SANITIZED = 0, EVERY = 1, DIAGNOSED = 150, PAIRS = 40 };
#endif

/* All modules, and all of them mated; the sanitizers leave the mated one out. */
static uint32_t rig_count(void) {
    return (uint32_t)proof.set.module.count + !SANITIZED;
}

/* Readings of the harness as it is now: the script, with room for more. */
static BenchReading *read_script(TestBench *bench, Arena *scratch) {
    BenchReading *readings = ARENA_ARRAY(scratch, BenchReading, bench->count + ASKED_MAX);
    for (uint32_t i = 0; i < bench->count; i++) {
        const BenchReading *step = &bench->script[i];
        diagnose_simulate(&bench->state, step->a, step->a_count, step->b, step->b_count, BAD_OHM,
                          &readings[i]);
    }
    return readings;
}

static bool out_of_limits(const RingStep *step, const BenchReading *reading) {
    double ohm = reading->open ? (double)INFINITY : reading->ohm;
    return (!isnan(step->low_ohm) && ohm < step->low_ohm) ||
           (!isnan(step->high_ohm) && ohm > step->high_ohm);
}

/* True when a reading of the script is out of its limits: what the person at the bench sees. */
static bool script_detects(const TestBench *bench, const BenchReading *readings) {
    for (uint32_t i = 0; i < bench->count; i++) {
        if (out_of_limits(&bench->ringout.steps[bench->step[i]], &readings[i])) {
            return true;
        }
    }
    return false;
}

/* The same, what is cheap first: tied sides that touch, points that are apart, then ohms. */
static bool script_sees(TestBench *bench) {
    for (int ohms = 0; ohms < 2; ohms++) {
        for (uint32_t i = 0; i < bench->count; i++) {
            const BenchReading *step = &bench->script[i];
            const RingStep *row = &bench->ringout.steps[bench->step[i]];
            bool group = step->a_count != 1 || step->b_count != 1;
            bool apart = !group && !wrong_joined(&bench->state, step->a[0], step->b[0]);
            if (row->kind <= RING_PARALLEL && apart) {
                return true;
            }
            bool concerned = group || row->kind == RING_CHAIN ||
                             wrong_concerns(&bench->state, step->a[0]) ||
                             wrong_concerns(&bench->state, step->b[0]);
            BenchReading reading;
            if (!concerned || (ohms == 0) != group) {
                continue;
            }
            diagnose_simulate(&bench->state, step->a, step->a_count, step->b, step->b_count,
                              BAD_OHM, &reading);
            if (out_of_limits(row, &reading)) {
                return true;
            }
        }
    }
    return false;
}

typedef struct Score {
    uint32_t tried;
    uint32_t visible;
    uint32_t detected;
    uint32_t by_ohms; /* seen at best by the ohms of a loop: not counted as visible */
    uint32_t first_at_once;
    uint32_t first;
    uint32_t asked;
    uint32_t most_asked;
    uint32_t simpler; /* one error explains what two were planted for */
} Score;

static void print_score(const char *name, const char *what, const Score *score) {
    print_message("%-9s %s: %u tried, %u visible, %u detected; ranked first after the script %u, "
                  "after more readings %u (mean %.2f, most %u); by ohms of a loop %u; one error "
                  "does %u\n",
                  name, what, score->tried, score->visible, score->detected, score->first_at_once,
                  score->first, score->visible == 0 ? 0.0 : 1.0 * score->asked / score->visible,
                  score->most_asked, score->by_ohms, score->simpler);
}

/* What was asked for is not asked for again. */
static bool tells_something_new(const BenchReading *asked, uint32_t count,
                                const BenchReading *reading) {
    for (uint32_t i = 0; i < count; i++) {
        if (asked[i].a_count == reading->a_count && asked[i].b_count == reading->b_count &&
            memcmp(asked[i].a, reading->a, reading->a_count * sizeof *reading->a) == 0 &&
            memcmp(asked[i].b, reading->b, reading->b_count * sizeof *reading->b) == 0) {
            return false;
        }
    }
    return true;
}

/* The planted errors are in bench->state. */
static void diagnose_planted(TestBench *bench, Score *score, bool thorough, bool loud) {
    score->tried++;
    wrong_parts(&bench->state);
    WrongSign truth = wrong_sign(&bench->state);
    wrong_parts(&bench->state);
    if (!truth.seen) {
        score->by_ohms += truth.by_ohms;
        return;
    }
    Arena scratch = {0};
    BenchReading *readings = read_script(bench, &scratch);
    score->visible++;
    bool detected = script_detects(bench, readings);
    score->detected += detected;
    uint32_t count = bench->count;
    uint32_t asked = 0;
    Diagnosis diagnosis;
    for (;;) {
        diagnose_run(&scratch, &bench->rig, &bench->ringout, readings, count, thorough, &diagnosis);
        if (asked == 0 && diagnosis.class_count > 0 &&
            wrong_sign_equal(diagnosis.classes[0].sign, truth)) {
            score->first_at_once++;
        }
        if (diagnosis.next_count[0] == 0 || asked == ASKED_MAX) {
            break;
        }
        wrong_parts(&bench->state);
        diagnose_simulate(&bench->state, diagnosis.next_a, diagnosis.next_count[0],
                          diagnosis.next_b, diagnosis.next_count[1], BAD_OHM, &readings[count++]);
        assert_true(tells_something_new(&readings[bench->count], asked, &readings[count - 1]));
        asked++;
    }
    bool first = diagnosis.class_count > 0 && wrong_sign_equal(diagnosis.classes[0].sign, truth);
    score->first += first;
    score->asked += asked;
    score->most_asked = asked > score->most_asked ? asked : score->most_asked;
    score->simpler += diagnosis.errors < bench->state.count;
    if (loud && (!first || !detected)) {
        Arena words = {0};
        for (uint32_t i = 0; i < bench->state.count; i++) {
            print_message("  planted: %s\n",
                          wrong_text(&words, &bench->rig, bench->state.wrongs[i]));
        }
        print_message(
            "  %s; %u classes of %u errors, asked %u; first: %s\n",
            detected ? "detected" : "NOT DETECTED", diagnosis.class_count, diagnosis.errors, asked,
            diagnosis.class_count == 0
                ? "none"
                : wrong_text(&words, &bench->rig, diagnosis.classes[0].members[0].wrongs[0]));
        arena_free(&words);
    }
    arena_free(&scratch);
}

/* Every error is held against the script. Diagnosed are all of a small harness and every so many
 * of a large one; MARLING_ALL=1 in the environment: all (minutes). */
static void every_single_error(void **state) {
    (void)state;
    uint32_t visible = 0;
    for (uint32_t m = 0; m < rig_count(); m++) {
        TestBench bench;
        bench_open(&bench, m < proof.set.module.count ? m : ID_NONE);
        bool all = bench.list.count < 3 * DIAGNOSED || getenv("MARLING_ALL") != NULL;
        uint32_t stride = all ? 1 : bench.list.count / DIAGNOSED;
        Score score = {0};
        uint32_t seen = 0;
        uint32_t detected = 0;
        for (uint32_t i = 0; i < bench.list.count; i += EVERY) {
            wrong_add(&bench.state, bench.list.wrongs[i]);
            wrong_parts(&bench.state);
            if (wrong_sign(&bench.state).seen) {
                seen++;
                detected += script_sees(&bench);
            }
            if (i % stride < EVERY) {
                diagnose_planted(&bench, &score, false, true);
            }
            wrong_undo(&bench.state);
        }
        print_message("%-9s %u single errors: %u that a reading can show, %u detected\n",
                      bench.rig.name, bench.list.count, seen, detected);
        print_score(bench.rig.name, "diagnosed", &score);
        assert_int_equal(detected, seen);
        assert_int_equal(score.first, score.visible);
        visible += seen;
        arena_free(&bench.arena);
    }
    assert_true(visible > 1000 / EVERY);
}

/* --- pairs --------------------------------------------------------------------------------------
 */

typedef enum Sampling { SAMPLE_ALL, SAMPLE_KINDS, SAMPLE_PLUG, SAMPLING_COUNT } Sampling;

static const char *const SAMPLING_NAMES[SAMPLING_COUNT] = {"pairs, any", "pairs, kinds evenly",
                                                           "pairs, one plug"};

static Wrong draw_kind(const TestBench *bench, uint64_t *random) {
    for (;;) {
        WrongKind kind = (WrongKind)draw(random, WRONG_KIND_COUNT);
        uint32_t start = draw(random, bench->list.count);
        for (uint32_t i = 0; i < bench->list.count; i++) {
            Wrong wrong = bench->list.wrongs[(start + i * 7919u) % bench->list.count];
            if (wrong.kind == kind) {
                return wrong;
            }
        }
    }
}

static uint32_t plug_of(const TestBench *bench, Wrong wrong) {
    bool edge = wrong.kind == WRONG_OPEN || wrong.kind == WRONG_HIGH || wrong.kind == WRONG_ABSENT;
    uint32_t point = edge ? bench->rig.edges[wrong.a].a : wrong.a;
    return bench->rig.points[point].plug;
}

/* The second error of a pair. */
static Wrong draw_second(const TestBench *bench, uint64_t *random, Sampling sampling, Wrong first) {
    if (sampling == SAMPLE_ALL) {
        return bench->list.wrongs[draw(random, bench->list.count)];
    }
    for (uint32_t i = 0; i < 20000; i++) {
        Wrong wrong = draw_kind(bench, random);
        if (sampling == SAMPLE_KINDS || plug_of(bench, wrong) == plug_of(bench, first)) {
            return wrong;
        }
    }
    return first;
}

static void some_pairs_of_errors(void **state) {
    (void)state;
    const char *asked = getenv("MARLING_PAIRS");
    uint32_t each = asked == NULL ? PAIRS : (uint32_t)atoi(asked);
    uint64_t random = SEED;
    print_message("seed %#llx, %u pairs each\n", (unsigned long long)SEED, each);
    Score sum[SAMPLING_COUNT] = {0};
    for (uint32_t m = 0; m < rig_count(); m++) {
        TestBench bench;
        bench_open(&bench, m < proof.set.module.count ? m : ID_NONE);
        for (int sampling = 0; sampling < SAMPLING_COUNT; sampling++) {
            Score score = {0};
            /* Mated, each takes seconds. */
            uint32_t wanted = bench.rig.module == ID_NONE && asked == NULL ? each / 4 : each;
            for (uint32_t i = 0; i < wanted; i++) {
                Wrong first = sampling == SAMPLE_ALL
                                  ? bench.list.wrongs[draw(&random, bench.list.count)]
                                  : draw_kind(&bench, &random);
                Wrong second = draw_second(&bench, &random, (Sampling)sampling, first);
                if (memcmp(&first, &second, sizeof first) == 0) {
                    continue;
                }
                wrong_add(&bench.state, first);
                wrong_add(&bench.state, second);
                diagnose_planted(&bench, &score, true, getenv("MARLING_LOUD") != NULL);
                wrong_undo(&bench.state);
                wrong_undo(&bench.state);
            }
            print_score(bench.rig.name, SAMPLING_NAMES[sampling], &score);
            /* Of the few that are tried mated, one may be missed. */
            uint32_t missed = score.visible - score.first;
            assert_true(SANITIZED || missed <= 1 || score.first >= 0.95 * score.visible);
            sum[sampling].visible += score.visible;
            sum[sampling].detected += score.detected;
            sum[sampling].first += score.first;
        }
        arena_free(&bench.arena);
    }
    for (int sampling = 0; sampling < SAMPLING_COUNT; sampling++) {
        assert_int_equal(sum[sampling].detected, sum[sampling].visible);
        assert_true(SANITIZED || sum[sampling].first >= 0.95 * sum[sampling].visible);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_single_error),
        cmocka_unit_test(some_pairs_of_errors),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
