/* Switching on, against a device whose band is three gates and a contact of 20 A. */
#include "support/mini.h"

#include <stdlib.h>

#include "power/inrush.h"

typedef struct Case {
    const char *inrush_a;
    const char *inrush_s;
    InrushVerdict device; /* of the 5 A breaker CB */
} Case;

static void read_job(Job *job) {
    mini_read(job, (MiniJob){"14", "structure", MINI_BONDS});
    job_add(job, TABLE_curve,
            "part,from_a,to_a,load_pct,t_min_s,t_max_s,source,status\n"
            "cb,1,50,115,3600,,test,shop\ncb,1,50,200,10,60,test,shop\n"
            "cb,1,50,600,0.02,1,test,shop\n");
}

static const InrushItem *item_of(const Powered *powered, const Inrush *inrush, const char *tag) {
    for (uint32_t i = 0; i < inrush->count; i++) {
        if (strcmp(powered->job.model.owners[inrush->items[i].owner].tag, tag) == 0) {
            return &inrush->items[i];
        }
    }
    fail_msg("no item %s", tag);
    return NULL;
}

static void run(Powered *powered, Inrush *inrush) {
    Job *job = &powered->job;
    powered_load(powered);
    Findings unheard = {.arena = &job->arena};
    assert_true(size_run(&job->arena, &job->model, &powered->wiring, &powered->routing,
                         &powered->supply, NULL, &powered->sizing, &unheard));
    job->findings.count = 0;
    assert_true(inrush_run(&job->arena, &job->model, &powered->supply, &powered->sizing, inrush,
                           &job->findings));
}

static void device_by_its_band(void **state) {
    (void)state;
    static const Case CASES[] = {
        {"4", "", INRUSH_HOLDS},           /* within its rating, however long */
        {"5.5", "", INRUSH_HOLDS},         /* 110 %: held for an hour at 115 */
        {"10", "5", INRUSH_HOLDS},         /* the earliest opens after 10 s */
        {"10", "30", INRUSH_MAY_OPEN},     /* between 10 and 60 s */
        {"10", "90", INRUSH_OPENS},        /* the latest opens after 60 s */
        {"30", "0.01", INRUSH_HOLDS},      /* 600 %: 20 ms */
        {"30", "2", INRUSH_OPENS},         /* 600 %: 1 s */
        {"10", "", INRUSH_UNDECIDED},      /* how long? */
        {"50", "0.001", INRUSH_UNDECIDED}, /* 1000 %: beyond every gate */
        {"", "", INRUSH_UNDECIDED},        /* nothing is known */
    };
    for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
        Powered powered = {0};
        read_job(&powered.job);
        job_write(&powered.job, TABLE_load, "box PWR", "inrush_a", CASES[i].inrush_a);
        job_write(&powered.job, TABLE_load, "box PWR", "inrush_s", CASES[i].inrush_s);
        Inrush inrush;
        run(&powered, &inrush);
        const InrushItem *item = item_of(&powered, &inrush, "CB");
        assert_int_equal(item->verdict, CASES[i].device);
        bool told = CASES[i].device == INRUSH_MAY_OPEN || CASES[i].device == INRUSH_OPENS;
        assert_true((job_finding(&powered.job, RULE_TIME_INRUSH, "CB") != NULL) == told);
        /* The field's own breaker has no first current: always among what is not decided. */
        assert_non_null(job_finding(&powered.job, RULE_TIME_UNKNOWN, "mini"));
        arena_free(&powered.job.arena);
    }
}

/* 1,000 uF on 14 V through the wires' R: 0.098 / R A2s. A fuse that holds 30 A for 20 ms takes 18.
 */
static void capacitors(void **state) {
    (void)state;
    static const struct {
        const char *family;
        const char *input_uf;
        InrushVerdict verdict;
    } CASES[] = {
        {"fuse", "1000", INRUSH_HOLDS},
        {"fuse", "100000", INRUSH_UNDECIDED},
        {"breaker", "1000", INRUSH_UNDECIDED},
    };
    for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
        Powered powered = {0};
        read_job(&powered.job);
        job_write(&powered.job, TABLE_device, "cb", "family", CASES[i].family);
        job_write(&powered.job, TABLE_load, "box PWR", "inrush_a", "4");
        job_write(&powered.job, TABLE_load, "box PWR", "input_uf", CASES[i].input_uf);
        Inrush inrush;
        run(&powered, &inrush);
        const InrushItem *item = item_of(&powered, &inrush, "CB");
        assert_int_equal(item->verdict, CASES[i].verdict);
        const Feeder *feeder = &powered.sizing.feeders[0];
        for (uint32_t k = 0; k < powered.sizing.feeder_count; k++) {
            if (powered.sizing.feeders[k].load == powered_load_of(&powered, "BOX.PWR")) {
                feeder = &powered.sizing.feeders[k];
            }
        }
        double ohm = feeder->plain_drop_v / feeder->design_a;
        double farad = strtod(CASES[i].input_uf, NULL) * 1e-6;
        assert_near(item->charge_a2s, farad * 14.0 * 14.0 / (2.0 * ohm), 1e-9 * item->charge_a2s);
        arena_free(&powered.job.arena);
    }
}

/* A toggle of 20 A in the feed of the box. */
static void contact_by_what_it_may_close_on(void **state) {
    (void)state;
    static const struct {
        const char *inrush_a;
        const char *makes_a;
        const char *kind;
        InrushVerdict verdict;
    } CASES[] = {
        {"20", "", "electronic", INRUSH_ENOUGH},   {"21", "", "electronic", INRUSH_TOO_SMALL},
        {"21", "30", "electronic", INRUSH_ENOUGH}, {"31", "30", "electronic", INRUSH_TOO_SMALL},
        {"21", "", "motor", INRUSH_ENOUGH}, /* the table: twice 2 A */
        {"", "", "motor", INRUSH_ENOUGH},          {"", "", "electronic", INRUSH_UNDECIDED},
    };
    for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
        Powered powered = {0};
        read_job(&powered.job);
        job_add(&powered.job, TABLE_switch_factor,
                "nominal_v,load,factor,source,status\n12,motor,2,test,shop\n");
        job_add(&powered.job, TABLE_switchgear, "tag,part,node,stub_mm,rest\nTG,tog,N1,0,off\n");
        job_write(&powered.job, TABLE_feed, "BOX_PWR", "through", "CB TG");
        job_write(&powered.job, TABLE_switch_part, "tog", "makes_a", CASES[i].makes_a);
        job_write(&powered.job, TABLE_load, "box PWR", "kind", CASES[i].kind);
        job_write(&powered.job, TABLE_load, "box PWR", "inrush_a", CASES[i].inrush_a);
        Inrush inrush;
        run(&powered, &inrush);
        assert_int_equal(item_of(&powered, &inrush, "TG")->verdict, CASES[i].verdict);
        arena_free(&powered.job.arena);
    }
}

/* A lamp that is a resistance draws the published factor times its current; one that is not draws
 * what the library says. */
static void cold_filament(void **state) {
    (void)state;
    Powered powered = {0};
    read_job(&powered.job);
    job_add(&powered.job, TABLE_switch_factor,
            "nominal_v,load,factor,source,status\n12,lamp,5,test,shop\n");
    job_write(&powered.job, TABLE_load, "box PWR", "kind", "lamp");
    job_write(&powered.job, TABLE_load, "box PWR", "inrush_s", "0.1");
    Inrush inrush;
    run(&powered, &inrush);
    const InrushItem *item = item_of(&powered, &inrush, "CB");
    assert_near(item->inrush_a, 10.0, 1e-12);
    assert_int_equal(item->verdict, INRUSH_HOLDS); /* 200 % for 0.1 s */
    /* The contactor before the bus is counted in a phase: the box and the field together. */
    const InrushItem *contactor = item_of(&powered, &inrush, "MC");
    assert_int_equal(contactor->load_count, 2);
    assert_int_not_equal(contactor->phase, ID_NONE);
    arena_free(&powered.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(device_by_its_band),
        cmocka_unit_test(capacitors),
        cmocka_unit_test(contact_by_what_it_may_close_on),
        cmocka_unit_test(cold_filament),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
