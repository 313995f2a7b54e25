/* The work list of the small example with operations of a few round minutes: what waits for what,
 * and the longest chain by hand. */
#include "shop/work.h"
#include "support/wired.h"

#include "near.h"

typedef struct Bench {
    Wired wired;
    Ends ends;
    HarnessSet harness;
    PrepSet prep;
    WorkList list;
} Bench;

/* `rows`: labour as CSV. */
static void make(Bench *bench, const char *rows) {
    *bench = (Bench){0};
    Wired *wired = &bench->wired;
    job_read_folder(&wired->job, MARLING_SOURCE_DIR "/examples/first");
    wired->job.set.labour.count = 0;
    job_add(&wired->job, TABLE_labour, rows);
    wired_run(wired, NULL);
    ends_build(&wired->job.arena, &wired->job.model, &wired->wiring, &wired->routing,
               &wired->disconnects, wired->awg, &bench->ends);
    wired->job.findings.count = 0;
    assert_true(
        harness_build(&wired->job.arena, &bench->ends, &bench->harness, &wired->job.findings));
    assert_true(prep_build(&wired->job.arena, &bench->harness, &bench->prep, &wired->job.findings));
    assert_true(work_build(&wired->job.arena, &bench->prep, &bench->list, &wired->job.findings));
}

#define HEAD "operation,name,rank,scope,per,minutes_min,who,after,only,source,status\n"
#define ROW(start, after, only) start "," after "," only ",test,shop\n"

static const WorkModule *module_of(const Bench *bench, const char *name) {
    return &bench->list.modules[model_row(&bench->wired.job.model, TABLE_module, name)];
}

static const WorkItem *item_of(const Bench *bench, const char *module, const char *operation,
                               const char *leaf) {
    const WorkModule *list = module_of(bench, module);
    for (uint32_t i = list->item_first; i < list->item_first + list->item_count; i++) {
        const WorkItem *item = &bench->list.items[i];
        const char *name = bench->wired.job.set.labour.rows[item->labour].operation;
        bool about = item->scope != WORK_LEAF ||
                     strcmp(bench->harness.leaves[item->object].label, leaf) == 0;
        if (strcmp(name, operation) == 0 && about) {
            return item;
        }
    }
    return NULL;
}

static bool waits_for(const Bench *bench, const WorkItem *item, const WorkItem *before) {
    for (uint32_t i = 0; i < item->after_count; i++) {
        if (&bench->list.items[bench->list.after[item->after_first + i]] == before) {
            return true;
        }
    }
    return false;
}

/* 30 to set up, 2 a piece, 10 an end, then 1 an inserted contact, 5 at the end: the plug with most
 * contacts makes the chain. */
static void the_longest_chain(void **state) {
    (void)state;
    Bench bench;
    make(&bench, HEAD ROW("board,board,1,module,module,30,builder", "", "")
                     ROW("crimp,crimp,3,leaf,end,10,builder", "board", "")
                         ROW("insert,insert,4,leaf,insert,1,builder", "crimp", "")
                             ROW("look,look,5,module,module,5,inspector", "insert", ""));
    const WorkModule *engine = module_of(&bench, "ENG");
    const WorkItem *plug = item_of(&bench, "ENG", "crimp", "FW1.P");
    const WorkItem *insert = item_of(&bench, "ENG", "insert", "FW1.P");
    const WorkItem *look = item_of(&bench, "ENG", "look", "");
    const WorkItem *lugs = item_of(&bench, "ENG", "crimp", "MC");
    assert_non_null(plug);
    assert_non_null(insert);
    assert_non_null(look);
    assert_non_null(lugs);
    assert_null(item_of(&bench, "ENG", "insert", "MC")); /* nothing is inserted at studs */
    assert_near(plug->quantity, 8.0, 1e-12);             /* seven wires, one shield */
    assert_near(engine->longest_min, 30.0 + 80.0 + 8.0 + 5.0, 1e-9);
    assert_near(engine->inspector_min, 5.0, 1e-12);
    assert_near(plug->float_min, 0.0, 1e-12);
    assert_near(insert->early_min, 110.0, 1e-9);
    /* Lugs are crimped any time before the look: 30 + 30 against 118. */
    assert_near(lugs->minutes, 30.0, 1e-12);
    assert_near(lugs->float_min, 118.0 - 60.0, 1e-9);
    assert_true(waits_for(&bench, look, insert));
    assert_true(waits_for(&bench, look, lugs)); /* for want of inserting there */
    assert_false(waits_for(&bench, look, plug));
    assert_int_equal(engine->chain_count, 4);
    assert_int_equal(bench.wired.job.findings.count, 0);
    arena_free(&bench.wired.job.arena);
}

static void sealed_modules_only(void **state) {
    (void)state;
    Bench bench;
    make(&bench, HEAD ROW("press,press,1,module,module,30,builder", "", "sealed")
                     ROW("look,look,2,module,module,5,inspector", "press", ""));
    assert_null(item_of(&bench, "ENG", "press", ""));
    assert_near(module_of(&bench, "ENG")->longest_min, 5.0, 1e-12);
    arena_free(&bench.wired.job.arena);
    job_start(&bench.wired.job);
}

static void a_circle_gives_no_list(void **state) {
    (void)state;
    Bench bench;
    make(&bench, HEAD ROW("a,a,1,module,module,1,builder", "c", "")
                     ROW("b,b,2,module,module,1,builder", "a", "")
                         ROW("c,c,3,module,module,1,builder", "b nothing", ""));
    assert_int_equal(bench.list.item_count, 0);
    assert_int_equal(job_count(&bench.wired.job, RULE_WORK_CIRCLE), 1);
    assert_int_equal(job_count(&bench.wired.job, RULE_WORK_AFTER), 1);
    arena_free(&bench.wired.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_longest_chain),
        cmocka_unit_test(sealed_modules_only),
        cmocka_unit_test(a_circle_gives_no_list),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
