/* Minutes of a battery from the whole chain against published worked examples of Peukert's law:
 * two printed times of the one-amp form t = Cp / I^k and one of the form with a rated time,
 * t = H (C / (I H))^k, as battery pages print them. The one-amp form is the other with H = C: a
 * battery that is rated at one ampere. */
#include "support/mini.h"

typedef struct Example {
    const char *capacity_ah;
    const char *rated_h;
    const char *peukert;
    const char *current_a;
    double hours; /* printed */
    double off;   /* of its last digit */
} Example;

static const Example EXAMPLES[] = {
    {"100", "100", "1.2", "5", 14.5, 0.05},         /* one-amp form, printed 14.5 */
    {"250", "250", "1.3", "20", 5.088631644, 5e-7}, /* one-amp form, printed with nine digits */
    {"100", "20", "1.2", "10", 8.7055, 5e-5},       /* rated form, worked out from the formula */
    {"100", "20", "1.2", "5", 20.0, 1e-4},          /* at its rated current: the rated time */
};

static void published_examples(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof EXAMPLES / sizeof *EXAMPLES; i++) {
        const Example *example = &EXAMPLES[i];
        Powered powered = {0};
        mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
        job_write(&powered.job, TABLE_battery, "bat", "capacity_ah", example->capacity_ah);
        job_write(&powered.job, TABLE_battery, "bat", "rated_h", example->rated_h);
        job_write(&powered.job, TABLE_battery, "bat", "peukert", example->peukert);
        job_write(&powered.job, TABLE_battery, "bat", "usable_new_pct", "100");
        job_write(&powered.job, TABLE_wire, "W20", "r20_ohm_per_km", "0.01");
        job_write(&powered.job, TABLE_switch_part, "con", "coil_a", "0.000000001");
        job_write(&powered.job, TABLE_load, "box PWR", "law", "constant current");
        job_write(&powered.job, TABLE_load, "box PWR", "volts_min_v", "");
        job_write(&powered.job, TABLE_load, "box PWR", "usual_a", example->current_a);
        job_add(&powered.job, TABLE_situation,
                "situation,name,phase,lost,battery\nalone,battery alone,ground,ALT,BAT\n");
        mini_solve(&powered);
        double hours = powered.endurance.solved[0].minutes_min / 60.0;
        assert_near(hours, example->hours, example->off);
        arena_free(&powered.job.arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(published_examples)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
