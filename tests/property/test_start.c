/* What holds for every start: volts fall as the starter draws more and as the battery gets colder;
 * keeping the moments changes nothing that is found; what is out is out between two moments of the
 * profile. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "app/prove.h"

static const char *const JOBS[] = {MARLING_SOURCE_DIR "/examples/osier",
                                   MARLING_SOURCE_DIR "/examples/osier_mended"};

static void prove(const char *job, double crank_degc, bool traced, Proof *proof) {
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library", .no_results = !traced};
    proof_run(job, &options, proof);
    assert_true(proof->complete);
    ((JobRow *)&proof->set.job.rows[0])->crank_degc = crank_degc;
    Findings unheard = {.arena = &proof->arena};
    dip_run(&proof->arena, &proof->model, &proof->supply, &proof->network, &proof->phases, traced,
            &proof->dip, &unheard);
    assert_true(proof->dip.done);
}

static void colder_is_never_better(void **state) {
    (void)state;
    static const double DEGC[] = {25.0, 20.0, 10.0, 0.0, -5.0};
    for (size_t job = 0; job < 2; job++) {
        double before_v[64];
        for (size_t k = 0; k < 5; k++) {
            Proof proof;
            prove(JOBS[job], DEGC[k], true, &proof);
            for (uint32_t i = 0; i < proof.dip.step_count; i++) {
                const DipStep *step = &proof.dip.steps[i];
                assert_true(step->solved);
                /* Boxes that go out give the starter a little more: a tenth of a volt at most. */
                assert_true(k == 0 || step->starter_v <= before_v[i] + 0.1);
                before_v[i] = step->starter_v;
                for (uint32_t j = 0; j < i; j++) {
                    const DipStep *other = &proof.dip.steps[j];
                    if (other->asked_a > step->asked_a * 1.2) {
                        assert_true(other->starter_v < step->starter_v);
                    }
                }
            }
            proof_free(&proof);
        }
    }
}

static void traced_and_untraced_agree(void **state) {
    (void)state;
    for (size_t job = 0; job < 2; job++) {
        Proof kept;
        Proof bare;
        prove(JOBS[job], -10.0, true, &kept);
        prove(JOBS[job], -10.0, false, &bare);
        assert_true(kept.dip.restart_count > 5);
        assert_int_equal(kept.dip.restart_count, bare.dip.restart_count);
        double last_s = kept.dip.steps[kept.dip.step_count - 1].second_s;
        for (uint32_t i = 0; i < kept.dip.restart_count; i++) {
            const DipRestart *a = &kept.dip.restarts[i];
            const DipRestart *b = &bare.dip.restarts[i];
            assert_int_equal(a->load, b->load);
            assert_int_equal(a->times, b->times);
            assert_memory_equal(&a->lowest_v, &b->lowest_v, sizeof a->lowest_v);
            assert_memory_equal(&a->out_s, &b->out_s, sizeof a->out_s);
            assert_true(a->out_s > 0.0 && a->out_s <= last_s + 1e-9);
            assert_true(a->times >= 1);
            assert_true(isnan(a->back_s) || a->back_s >= a->first_s + a->out_s - 1e-9);
        }
        proof_free(&kept);
        proof_free(&bare);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(colder_is_never_better),
        cmocka_unit_test(traced_and_untraced_agree),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
