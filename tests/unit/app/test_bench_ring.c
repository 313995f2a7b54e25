/* Which readings count: by what they measured, not by their number or their words. A design is
 * changed so that steps keep number and words, and other metal is on their sides. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "app/bench_items.h"
#include "shop/ringout.h"

typedef struct Job {
    Proof proof;
    Arena arena;
    TableSet kept;
} Job;

static void read_job(Proof *proof) {
    *proof = (Proof){0};
    proof->findings.arena = &proof->arena;
    Status status = table_read_folder(&proof->arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY,
                                      &proof->set, &proof->findings);
    assert_false(status.failed);
    status = table_read_folder(&proof->arena, MARLING_SOURCE_DIR "/examples/first", GROUP_JOB,
                               &proof->set, &proof->findings);
    assert_false(status.failed);
}

static void prove(Proof *proof) {
    ProofOptions options = {.no_faults = true};
    proof_run_set(&options, proof);
    assert_true(proof->complete);
}

static LinkRow *link_of(Proof *proof, const char *name) {
    for (size_t i = 0; i < proof->set.link.count; i++) {
        if (strcmp(proof->set.link.rows[i].link, name) == 0) {
            return &proof->set.link.rows[i];
        }
    }
    fail_msg("the example has no link %s", name);
    return NULL;
}

static BenchReadingRow *add(Job *job, const char *module, const RingoutRow *step) {
    BenchReadingRow *row = table_append(&job->kept, &job->arena, TABLE_bench_reading);
    *row = (BenchReadingRow){.reading =
                                 arena_format(&job->arena, "r%zu", job->kept.bench_reading.count),
                             .module = module,
                             .step = step->step,
                             .point_a = step->point_a,
                             .point_b = step->point_b,
                             .ohm = isnan(step->expected_ohm) ? (double)NAN : step->expected_ohm,
                             .open = isnan(step->expected_ohm) ? 1 : 0,
                             .undoes = "",
                             .person = "Bo",
                             .time = arena_format(&job->arena, "2026-05-11T08:%02zu:00Z",
                                                  job->kept.bench_reading.count % 60),
                             .kept = "",
                             .tool = "",
                             .measured = step->measured};
    if (isnan(step->high_ohm) == 0 && row->open == 1) {
        row->open = 0;
        row->ohm = step->high_ohm;
    }
    return row;
}

/* Every step of a module read as it should be. */
static void read_all(Job *job, const char *module, const char *kept_as, BenchRing *ring) {
    bench_ring(&job->arena, &job->proof, module, &job->kept, ring);
    assert_true(ring->steps > 10);
    assert_int_equal(ring->good + ring->bad + ring->earlier, 0);
    for (size_t i = 0; i < ring->steps; i++) {
        add(job, kept_as, &ring->script[i]);
    }
    bench_ring(&job->arena, &job->proof, module, &job->kept, ring);
    assert_int_equal(ring->bad, 0);
    assert_int_equal(ring->good, ring->steps);
    assert_int_equal(ring->earlier, 0);
}

static void open_job(Job *job) {
    *job = (Job){0};
    read_job(&job->proof);
    prove(&job->proof);
}

static void close_job(Job *job) {
    proof_free(&job->proof);
    arena_free(&job->arena);
}

static void steps_with_the_same_words_are_told_apart(void **state) {
    (void)state;
    Job job;
    BenchRing ring;
    open_job(&job);
    bench_ring(&job.arena, &job.proof, "PNL", &job.kept, &ring);
    size_t pairs = 0;
    for (size_t i = 1; i < ring.steps; i++) {
        const RingoutRow *one = &ring.script[i - 1];
        const RingoutRow *other = &ring.script[i];
        if (strcmp(one->kind, "isolation") == 0 && strcmp(one->point_a, other->point_a) == 0 &&
            strcmp(one->point_b, other->point_b) == 0) {
            assert_string_not_equal(one->measured, other->measured);
            pairs++;
        }
    }
    assert_true(pairs >= 2);
    /* Under another number it is still a reading of what it measured. */
    const RingoutRow *last = &ring.script[ring.steps - 1];
    size_t at = ring.steps - 1;
    add(&job, "PNL", last)->step = 1;
    bench_ring(&job.arena, &job.proof, "PNL", &job.kept, &ring);
    assert_int_equal(ring.good, 1);
    assert_non_null(ring.of[at]);
    assert_null(ring.of[0]);
    close_job(&job);
}

/* The two microphones go to each other's pins. */
static void exchange(Proof *proof) {
    const char *left = link_of(proof, "MIC_L")->ends;
    link_of(proof, "MIC_L")->ends = "JK1.MK COM.MK2";
    assert_string_equal(left, "JK1.MK COM.MK1");
    link_of(proof, "MIC_R")->ends = "JK2.MK COM.MK1";
}

static void of_an_earlier_design_never_counts(void **state) {
    (void)state;
    Job job;
    BenchRing ring;
    open_job(&job);
    read_all(&job, "PNL", "PNL", &ring);
    BenchRing before = ring;
    Proof after;
    read_job(&after);
    exchange(&after);
    prove(&after);
    BenchRing now;
    bench_ring(&job.arena, &after, "PNL", &job.kept, &now);
    assert_int_equal(now.steps, before.steps);
    size_t alike = 0;
    for (size_t i = 0; i < now.steps; i++) {
        const RingoutRow *old = &before.script[i];
        const RingoutRow *new = &now.script[i];
        if (strcmp(old->kind, "isolation") != 0) {
            continue;
        }
        /* Number and words say nothing of the change: only the hash does. */
        assert_string_equal(old->point_a, new->point_a);
        assert_string_equal(old->point_b, new->point_b);
        assert_int_equal(old->step, new->step);
        assert_string_not_equal(old->measured, new->measured);
        assert_null(now.of[i]);
        alike++;
    }
    assert_true(alike >= 4);
    assert_true(now.good >= 20); /* wires that nobody touched */
    assert_true(now.earlier >= alike + 2);
    assert_int_equal(now.good + now.earlier, before.steps);
    /* The exchange taken back, all count again. */
    bench_ring(&job.arena, &job.proof, "PNL", &job.kept, &ring);
    assert_int_equal(ring.good, ring.steps);
    assert_int_equal(ring.earlier, 0);
    proof_free(&after);
    close_job(&job);
}

/* A limit is part of what was shown. */
static void another_limit_is_another_measurement(void **state) {
    (void)state;
    Job job;
    BenchRing ring;
    open_job(&job);
    read_all(&job, "PNL", "PNL", &ring);
    Proof after;
    read_job(&after);
    bool found = false;
    for (size_t i = 0; i < after.set.limit.count; i++) {
        if (strcmp(after.set.limit.rows[i].limit, RINGOUT_LIMIT_ISOLATION) == 0) {
            after.set.limit.rows[i].value *= 2.0;
            found = true;
        }
    }
    assert_true(found);
    prove(&after);
    bench_ring(&job.arena, &after, "PNL", &job.kept, &ring);
    assert_true(ring.earlier >= 6);
    for (size_t i = 0; i < ring.steps; i++) {
        bool isolation = strcmp(ring.script[i].kind, "isolation") == 0 ||
                         strcmp(ring.script[i].kind, "coax") == 0;
        assert_int_equal(ring.of[i] == NULL, isolation);
    }
    proof_free(&after);
    close_job(&job);
}

/* As rows were before they had a hash. */
static void without_a_hash_it_is_of_an_earlier_design(void **state) {
    (void)state;
    Job job;
    BenchRing ring;
    open_job(&job);
    read_all(&job, "PNL", "PNL", &ring);
    for (size_t i = 0; i < job.kept.bench_reading.count; i++) {
        job.kept.bench_reading.rows[i].measured = "";
    }
    bench_ring(&job.arena, &job.proof, "PNL", &job.kept, &ring);
    assert_int_equal(ring.good + ring.bad, 0);
    assert_int_equal(ring.earlier, ring.steps);
    assert_int_equal(ring.beside_count, 0);
    close_job(&job);
}

static void the_mated_aircraft_has_readings_of_its_own(void **state) {
    (void)state;
    Job job;
    BenchRing ring;
    open_job(&job);
    read_all(&job, RIG_INSTALLED, "", &ring);
    BenchRing module;
    bench_ring(&job.arena, &job.proof, "PNL", &job.kept, &module);
    assert_int_equal(module.good + module.bad + module.earlier, 0);
    /* One out of its limits, then taken again. */
    BenchReadingRow *bad = add(&job, "", &ring.script[0]);
    bad->ohm = 1e6;
    bad->time = "2026-05-12T08:00:00Z";
    bench_ring(&job.arena, &job.proof, RIG_INSTALLED, &job.kept, &ring);
    assert_int_equal(ring.bad, 1);
    add(&job, "", &ring.script[0])->time = "2026-05-12T09:00:00Z";
    bench_ring(&job.arena, &job.proof, RIG_INSTALLED, &job.kept, &ring);
    assert_int_equal(ring.bad, 0);
    close_job(&job);
}

/* Readings to tell causes apart count as long as nothing of the script changed. */
static void readings_beside_the_script_end_with_it(void **state) {
    (void)state;
    Job job;
    BenchRing ring;
    open_job(&job);
    bench_ring(&job.arena, &job.proof, "PNL", &job.kept, &ring);
    BenchReadingRow *row = add(&job, "PNL", &ring.script[0]);
    row->step = INT_BLANK;
    row->point_a = "COM.J1-1";
    row->point_b = "XPD.J1-1";
    row->measured = ring.design;
    bench_ring(&job.arena, &job.proof, "PNL", &job.kept, &ring);
    assert_int_equal(ring.beside_count, 1);
    assert_int_equal(ring.earlier, 0);
    Proof after;
    read_job(&after);
    exchange(&after);
    prove(&after);
    bench_ring(&job.arena, &after, "PNL", &job.kept, &ring);
    assert_int_equal(ring.beside_count, 0);
    assert_int_equal(ring.earlier, 1);
    proof_free(&after);
    close_job(&job);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steps_with_the_same_words_are_told_apart),
        cmocka_unit_test(of_an_earlier_design_never_counts),
        cmocka_unit_test(another_limit_is_another_measurement),
        cmocka_unit_test(without_a_hash_it_is_of_an_earlier_design),
        cmocka_unit_test(the_mated_aircraft_has_readings_of_its_own),
        cmocka_unit_test(readings_beside_the_script_end_with_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
