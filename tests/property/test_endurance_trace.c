/* The moments that endurance keeps: charge only falls, what is gone is what the amps took, one of
 * them is that of the endurance row, and the last one that of an empty battery. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "app/prove.h"

/* The stepper takes the mean of the currents at both ends of a step, and so does this test. */
#define CHARGE_TOLERANCE 1e-3

static const BatteryRow *row_of(const Proof *proof, const char *battery) {
    for (size_t i = 0; i < proof->set.unit.count; i++) {
        const UnitRow *unit = &proof->set.unit.rows[i];
        for (size_t j = 0; j < proof->set.battery.count && strcmp(unit->tag, battery) == 0; j++) {
            const BatteryRow *row = &proof->set.battery.rows[j];
            if (strcmp(row->part, unit->part) == 0) {
                return row;
            }
        }
    }
    fail_msg("no battery %s", battery);
    return NULL;
}

static void traces_agree_with_the_rows(void **state) {
    (void)state;
    static const char *const JOBS[] = {MARLING_SOURCE_DIR "/examples/first",
                                       MARLING_SOURCE_DIR "/examples/osier_mended"};
    size_t series = 0;
    size_t events = 0;
    for (size_t job = 0; job < 2; job++) {
        Proof proof;
        proof_run(JOBS[job], &(ProofOptions){.library = MARLING_SOURCE_DIR "/library"}, &proof);
        assert_true(proof.complete);
        for (uint32_t i = 0; i < proof.endurance.count; i++) {
            const EnduranceTrace *trace = &proof.endurance.traces[i];
            const LoadsEndurance *row = &proof.loads.endurances[i];
            const char *battery = proof.set.situation.rows[row->situation].battery;
            /* A battery that gives nothing has one moment. */
            bool gives = !isinf(proof.endurance.solved[i].minutes_min);
            assert_true(trace->count > (gives ? 1 : 0));
            double took_ah = 0.0;
            for (size_t j = 0; j < trace->count; j++) {
                const EndurancePoint *now = &trace->points[j];
                events += *now->event != '\0';
                if (j == 0) {
                    continue;
                }
                const EndurancePoint *before = &trace->points[j - 1];
                assert_true(now->minute_min >= before->minute_min);
                assert_true(now->charge_pct <= before->charge_pct + 1e-9);
                took_ah += (now->amps_a + before->amps_a) / 2.0 *
                           (now->minute_min - before->minute_min) / 60.0;
            }
            const BatteryRow *cells = row_of(&proof, battery);
            double age = row->aged ? cells->usable_aged_pct / cells->usable_new_pct : 1.0;
            double used_pct =
                trace->points[0].charge_pct - trace->points[trace->count - 1].charge_pct;
            double used_ah = used_pct / 100.0 * cells->capacity_ah * age;
            if (!gives) {
                continue;
            }
            if (isnan(cells->peukert) || cells->peukert <= 1.0) {
                assert_true(fabs(took_ah - used_ah) <= CHARGE_TOLERANCE * used_ah);
            } else { /* a fast discharge takes more than the amps, never less */
                assert_true(used_ah >= took_ah * (1.0 - CHARGE_TOLERANCE));
            }
            series++;
        }
        /* One moment is the battery's own end; what comes after it is told until it is empty. */
        for (size_t i = 0; i < proof.set.endurance.count; i++) {
            const EnduranceRow *row = &proof.set.endurance.rows[i];
            bool found = strcmp(row->state, "aged, cold") == 0 || isinf(row->solved_min);
            const char *last = "usable share drawn";
            for (size_t j = 0; j < proof.set.endurance_step.count; j++) {
                const EnduranceStepRow *step = &proof.set.endurance_step.rows[j];
                if (strcmp(step->situation, row->situation) == 0 &&
                    strcmp(step->state, row->state) == 0) {
                    found =
                        found || fabs(step->minute_min - row->solved_min) <= 1e-6 * row->solved_min;
                    last = step->event;
                }
            }
            assert_true(found);
            assert_true(isinf(row->solved_min) || strstr(last, "usable share drawn") != NULL);
        }
        proof_free(&proof);
    }
    assert_true(series > 8);
    assert_true(events > series);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(traces_agree_with_the_rows)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
