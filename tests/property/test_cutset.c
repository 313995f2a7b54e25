/* The search with classes, touches and what it leaves out, against asking about every pair; and the
 * same bytes on one thread, two, five. The oracle is a table of random answers, not a network: what
 * loses what need not make sense, so nothing but the rules of the contract can help the search. */
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "power/cutset.h"

enum { FAILURES_MAX = 40, CLASSES_MAX = 12, TOPS_MAX = 70, ROUNDS = 400 };

static uint64_t mix(uint64_t x) {
    x += UINT64_C(0x9e3779b97f4a7c15);
    x = (x ^ (x >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    x = (x ^ (x >> 27)) * UINT64_C(0x94d049bb133111eb);
    return x ^ (x >> 31);
}

typedef struct World {
    uint64_t seed;
    CutSearch search;
    uint32_t component[FAILURES_MAX];
    uint32_t class_of[FAILURES_MAX];
    bool touches[CLASSES_MAX][CLASSES_MAX]; /* all members of the first touch the second */
    uint32_t touch_first[FAILURES_MAX + 1];
    uint32_t touch[FAILURES_MAX * CLASSES_MAX];
    bool alone[CLASSES_MAX];
    uint32_t thin; /* one answer in `thin` has a top in it */
    bool everything;
} World;

static uint32_t draw(uint64_t *state, uint32_t below) {
    *state = mix(*state);
    return (uint32_t)(*state % below);
}

static void add_answer(const World *world, uint64_t key, uint64_t *lost) {
    uint32_t words = cut_words(world->search.top_count);
    uint64_t hash = mix(world->seed ^ mix(key));
    if (hash % world->thin != 0) {
        return;
    }
    for (uint32_t i = 0; i < words; i++) {
        hash = mix(hash);
        lost[i] |= world->everything && hash % 3 == 0 ? UINT64_MAX : hash & mix(hash) & mix(~hash);
    }
    if (world->search.top_count % 64 != 0) {
        lost[words - 1] &= (UINT64_C(1) << (world->search.top_count % 64)) - 1;
    }
}

/* What stands for a failure in the presence of another: itself when it is touched, else its
 * class. */
static uint64_t face(const World *world, uint32_t failure, uint32_t other) {
    uint32_t class = world->class_of[failure];
    return world->touches[world->class_of[other]][class] ? 1000 + failure : class;
}

static void ask(void *trier, const uint32_t *failures, uint32_t count, uint64_t *lost) {
    const World *world = trier;
    add_answer(world, 1, lost);
    for (uint32_t i = 0; i < count; i++) {
        add_answer(world, 10 + world->class_of[failures[i]], lost);
    }
    if (count == 2) {
        uint64_t a = face(world, failures[0], failures[1]);
        uint64_t b = face(world, failures[1], failures[0]);
        add_answer(world, 1000000 + (a < b ? a * 4096 + b : b * 4096 + a), lost);
    }
}

static void make_world(World *world, uint64_t seed) {
    memset(world, 0, sizeof *world);
    world->seed = seed;
    uint64_t state = seed;
    uint32_t count = draw(&state, FAILURES_MAX);
    uint32_t classes = 1 + draw(&state, CLASSES_MAX);
    uint32_t components = 1 + draw(&state, FAILURES_MAX);
    uint32_t number[CLASSES_MAX];
    memset(number, 0xff, sizeof number);
    uint32_t class_count = 0;
    for (uint32_t i = 0; i < count; i++) {
        uint32_t class = draw(&state, classes);
        number[class] = number[class] == UINT32_MAX ? class_count++ : number[class];
        world->class_of[i] = number[class];
        world->component[i] = draw(&state, components);
    }
    uint32_t rarely = 1 + draw(&state, 30);
    for (uint32_t a = 0; a < class_count; a++) {
        for (uint32_t b = 0; b < class_count; b++) {
            world->touches[a][b] = draw(&state, rarely) == 0 && rarely < 29;
        }
    }
    uint32_t touches = 0;
    for (uint32_t i = 0; i < count; i++) {
        for (uint32_t b = 0; b < class_count; b++) {
            if (world->touches[world->class_of[i]][b]) {
                world->touch[touches++] = b;
            }
        }
        world->touch_first[i + 1] = touches;
    }
    for (uint32_t i = 0; i < class_count; i++) {
        world->alone[i] = draw(&state, 8) == 0;
    }
    world->thin = 1 + draw(&state, 12);
    world->everything = draw(&state, 2) == 0;
    world->search = (CutSearch){
        .failure_count = count,
        .top_count = 1 + draw(&state, TOPS_MAX),
        .component = world->component,
        .class_of = world->class_of,
        .class_count = class_count,
        .touch_first = world->touch_first,
        .touch = world->touch,
        .alone = draw(&state, 2) == 0 ? world->alone : NULL,
        .ask = ask,
    };
}

typedef struct Found {
    uint64_t lost[FAILURES_MAX][FAILURES_MAX][2];
    uint32_t count;
    const uint64_t *now;
    uint32_t words;
} Found;

static void note(void *context, uint32_t a, uint32_t b) {
    Found *found = context;
    assert_true(a < b);
    for (uint32_t i = 0; i < found->words; i++) {
        assert_int_equal(found->lost[a][b][i], 0);
        found->lost[a][b][i] = found->now[i];
    }
    found->count++;
}

/* Every pair asked about, nothing left out. */
static uint32_t check_pairs(const World *world, const CutResult *result, const Found *found) {
    uint32_t count = world->search.failure_count;
    uint32_t words = cut_words(world->search.top_count);
    uint32_t sets = 0;
    uint64_t none[2] = {0};
    ask((void *)world, NULL, 0, none);
    for (uint32_t a = 0; a < count; a++) {
        uint64_t alone_a[2] = {0};
        ask((void *)world, &a, 1, alone_a);
        for (uint32_t i = 0; i < words; i++) {
            assert_int_equal(result->none[i], none[i]);
            assert_int_equal(result->single[a * words + i], alone_a[i] & ~none[i]);
        }
        for (uint32_t b = a + 1; b < count; b++) {
            uint64_t alone_b[2] = {0};
            uint64_t both[2] = {0};
            ask((void *)world, &b, 1, alone_b);
            ask((void *)world, (uint32_t[]){a, b}, 2, both);
            bool pair = world->component[a] != world->component[b] &&
                        (world->search.alone == NULL ||
                         (!world->alone[world->class_of[a]] && !world->alone[world->class_of[b]]));
            bool any = false;
            for (uint32_t i = 0; i < words; i++) {
                uint64_t fresh = pair ? both[i] & ~(alone_a[i] | alone_b[i] | none[i]) : 0;
                assert_int_equal(found->lost[a][b][i], fresh);
                any = any || fresh != 0;
            }
            sets += any ? 1 : 0;
        }
    }
    return sets;
}

static void same_result(const World *world, const CutResult *a, const CutResult *b) {
    uint32_t words = cut_words(world->search.top_count);
    assert_memory_equal(&a->counts, &b->counts, sizeof a->counts);
    assert_int_equal(a->pair_count, b->pair_count);
    for (uint32_t i = 0; i < a->pair_count; i++) {
        assert_int_equal(a->pairs[i].a, b->pairs[i].a);
        assert_int_equal(a->pairs[i].b, b->pairs[i].b);
        assert_int_equal(a->pairs[i].sets, b->pairs[i].sets);
        assert_memory_equal(a->pairs[i].lost, b->pairs[i].lost, words * sizeof(uint64_t));
    }
}

static void run(Arena *arena, World *world, unsigned threads, CutResult *result) {
    void *triers[8];
    for (unsigned i = 0; i < threads; i++) {
        triers[i] = world;
    }
    world->search.triers = triers;
    world->search.threads = threads;
    cutset_search(arena, &world->search, result);
    world->search.triers = NULL;
}

static void search_equals_brute_force(void **state) {
    (void)state;
    static World world;
    static Found found;
    uint64_t seed = 20260401;
    const char *given = getenv("MARLING_SEED");
    seed = given == NULL ? seed : strtoull(given, NULL, 10);
    printf("seed %llu\n", (unsigned long long)seed);
    uint64_t saved = 0;
    uint64_t sets = 0;
    uint64_t left_out = 0;
    for (uint32_t round = 0; round < ROUNDS; round++) {
        Arena arena = {0};
        make_world(&world, mix(seed + round));
        CutResult result;
        run(&arena, &world, 1, &result);
        memset(&found, 0, sizeof found);
        found.words = cut_words(world.search.top_count);
        for (uint32_t i = 0; i < result.pair_count; i++) {
            found.now = result.pairs[i].lost;
            assert_int_equal(cutset_expand(&world.search, &result.pairs[i], note, &found),
                             result.pairs[i].sets);
        }
        assert_int_equal(found.count, result.counts.pairs_found);
        assert_int_equal(check_pairs(&world, &result, &found), found.count);
        saved += result.counts.stood_for;
        left_out += result.counts.contains_all;
        sets += found.count;
        CutResult again;
        run(&arena, &world, 2, &again);
        same_result(&world, &result, &again);
        run(&arena, &world, 5, &again);
        same_result(&world, &result, &again);
        arena_free(&arena);
    }
    /* The worlds were such that there was something to leave out and something to find. */
    assert_true(saved > 1000 && sets > 1000 && left_out > 100);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(search_equals_brute_force),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
