/* Networks of the reliability literature, written as needs of a job and searched through the
 * product's own service and cut-set search: nothing of them is typed into the test but their paths
 * and what is published about them.
 *
 * The bridge of five components (1 top left, 2 top right, 3 across, 4 bottom left, 5 bottom right):
 * paths {1 2} {4 5} {1 3 5} {2 3 4}, minimal cuts {1 4} {2 5} {1 3 5} {2 3 4}, as the worked
 * example of reliability textbooks prints them (read on a page; the cuts recomputed by
 * enumeration). k out of n: its minimal cuts are all sets of n - k + 1 (the same texts; closed
 * form). */
#include "power/cutset.h"
#include "power/service.h"
#include "support/mini.h"

enum { COMPONENTS_MAX = 6 };

typedef struct Bridge {
    Powered powered;
    Service *service;
    ServiceRun *run;
    OwnerId owner[COMPONENTS_MAX]; /* by component, from 0 */
    uint32_t count;
} Bridge;

static void ask(void *trier, const uint32_t *failures, uint32_t count, uint64_t *lost) {
    Bridge *net = trier;
    OwnerId owners[COMPONENTS_MAX];
    for (uint32_t i = 0; i < count; i++) {
        owners[i] = net->owner[failures[i]];
    }
    ServiceAnswer answer =
        service_ask(net->run, &(ServiceLoss){.owners = owners, .owner_count = count});
    lost[0] |= answer.need_count > 0 ? 1 : 0;
}

/* `paths`: a digit for each component, paths separated by blanks. */
static void build(Bridge *net, uint32_t count, const char *paths) {
    *net = (Bridge){.count = count};
    Job *job = &net->powered.job;
    mini_read(job, (MiniJob){"14", "structure", MINI_BONDS});
    job_add(job, TABLE_part,
            "part,name,supply,source,status\nlink,a component,passive,test,shop\n");
    for (uint32_t i = 1; i <= count; i++) {
        job_add(job, TABLE_unit,
                arena_format(&job->arena, "tag,part,node,stub_mm,module\nX%u,link,N1,0,M\n", i));
    }
    char **words = NULL;
    size_t found = text_split(&job->arena, paths, &words);
    for (size_t w = 0; w < found; w++) {
        for (const char *digit = words[w]; *digit != '\0'; digit++) {
            job_add(job, TABLE_need,
                    arena_format(&job->arena,
                                 "need,clause,way,port,name,scope\nB,path,%u,X%c,bridge,unit\n",
                                 (unsigned)w, *digit));
        }
    }
    job_check(job);
    powered_load(&net->powered);
    net->service = service_build(&job->arena, &job->model, &net->powered.wiring,
                                 &net->powered.supply, &job->findings);
    assert_int_equal(job->findings.count, 0);
    net->run = service_run_new(&job->arena, net->service);
    for (uint32_t i = 0; i < count; i++) {
        net->owner[i] = model_owner(&job->model, arena_format(&job->arena, "X%u", i + 1));
        assert_int_not_equal(net->owner[i], ID_NONE);
    }
}

/* The minimal cuts of order 1 and 2 as text, "1 23". */
static const char *cuts_of(Bridge *net) {
    Arena *arena = &net->powered.job.arena;
    uint32_t each[COMPONENTS_MAX] = {0, 1, 2, 3, 4, 5};
    void *triers[1] = {net};
    CutSearch search = {
        .failure_count = net->count,
        .top_count = 1,
        .component = each,
        .class_of = each,
        .class_count = net->count,
        .ask = ask,
        .triers = triers,
        .threads = 1,
    };
    CutResult result;
    cutset_search(arena, &search, &result);
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < net->count; i++) {
        if (result.single[i] != 0) {
            buffer_format(&text, "%s%u", text.length == 0 ? "" : " ", i + 1);
        }
    }
    for (uint32_t i = 0; i < result.pair_count; i++) {
        buffer_format(&text, "%s%u%u", text.length == 0 ? "" : " ", result.pairs[i].a + 1,
                      result.pairs[i].b + 1);
    }
    return text.length == 0 ? "" : text.bytes;
}

/* Whether the set (digits) loses the need, and no smaller part of it does. */
static bool is_minimal_cut(Bridge *net, const char *set) {
    uint32_t members[COMPONENTS_MAX];
    uint32_t count = (uint32_t)strlen(set);
    for (uint32_t skip = 0; skip <= count; skip++) {
        uint32_t used = 0;
        for (uint32_t i = 0; i < count; i++) {
            if (i != skip) {
                members[used++] = (uint32_t)(set[i] - '1');
            }
        }
        uint64_t lost = 0;
        ask(net, members, used, &lost);
        if ((lost != 0) != (skip == count)) {
            return false;
        }
    }
    return true;
}

static void bridge(void **state) {
    (void)state;
    Bridge net;
    build(&net, 5, "12 45 135 234");
    assert_string_equal(cuts_of(&net), "14 25");
    /* The two of order 3 that are published: through the service, beyond the search's order. */
    assert_true(is_minimal_cut(&net, "135"));
    assert_true(is_minimal_cut(&net, "234"));
    assert_false(is_minimal_cut(&net, "123"));
    assert_false(is_minimal_cut(&net, "145"));
    arena_free(&net.powered.job.arena);
}

static void k_out_of_n(void **state) {
    (void)state;
    const struct {
        uint32_t n;
        const char *paths;
        const char *cuts; /* of order 1 and 2 */
    } cases[] = {
        {2, "1 2", "12"},                                                 /* 1 of 2 */
        {2, "12", "1 2"},                                                 /* 2 of 2 */
        {3, "1 2 3", ""},                                                 /* 1 of 3: order 3 */
        {3, "12 13 23", "12 13 23"},                                      /* 2 of 3 */
        {3, "123", "1 2 3"},                                              /* 3 of 3 */
        {4, "123 124 134 234", "12 13 14 23 24 34"},                      /* 3 of 4 */
        {5, "123 124 125 134 135 145 234 235 245 345", ""},               /* 3 of 5: order 3 */
        {5, "1234 1235 1245 1345 2345", "12 13 14 15 23 24 25 34 35 45"}, /* 4 of 5 */
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Bridge net;
        build(&net, cases[i].n, cases[i].paths);
        assert_string_equal(cuts_of(&net), cases[i].cuts);
        arena_free(&net.powered.job.arena);
    }
    Bridge net;
    build(&net, 5, "123 124 125 134 135 145 234 235 245 345");
    assert_true(is_minimal_cut(&net, "123"));
    assert_true(is_minimal_cut(&net, "245"));
    arena_free(&net.powered.job.arena);
}

/* Series of parallel groups: each group is one cut. */
static void series_parallel(void **state) {
    (void)state;
    Bridge net;
    build(&net, 5, "135 145 235 245");
    assert_string_equal(cuts_of(&net), "5 12 34");
    arena_free(&net.powered.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bridge),
        cmocka_unit_test(k_out_of_n),
        cmocka_unit_test(series_parallel),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
