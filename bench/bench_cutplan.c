/* The cut plan beside first fit by falling length, on the same problems in the same run: wire for
 * aircraft of growing size from a store of reels, too little wire, reels of one length (published
 * instances among them), and pieces that only fit one way. Gap: reels above what is proved to be
 * needed; of too little wire, metres that are left above what is proved. `looked` is the work done,
 * which is what is gated; milliseconds are told. Then packings of bundles. */
#include <math.h>
#include <stdio.h>
#include <time.h>

#include "board/packing.h"
#include "rating/bundle.h"
#include "shop/cutplan.h"

enum { MOST = 100000 };

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

typedef struct Problem {
    int64_t pieces[MOST];
    int64_t reels[MOST];
    uint32_t first_fit[MOST];
    uint32_t piece_count;
    uint32_t reel_count;
    uint64_t chance;
} Problem;

static uint32_t below(Problem *p, uint32_t count) {
    p->chance = p->chance * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)((p->chance >> 33) % count);
}

static void add(Problem *p, int64_t length, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        p->pieces[p->piece_count++] = length;
    }
}

static void reels_alike(Problem *p, int64_t length) {
    p->reel_count = p->piece_count;
    for (uint32_t j = 0; j < p->reel_count; j++) {
        p->reels[j] = length;
    }
}

static void run(const char *name, Problem *p, int64_t useful_mm) {
    Arena arena = {0};
    CutProblem problem = {p->pieces, p->piece_count, p->reels, p->reel_count, useful_mm};
    double start_s = now_s();
    CutScore plain = cutplan_first_fit(&problem, p->first_fit);
    double plain_s = now_s() - start_s;
    CutPlan plan;
    start_s = now_s();
    cutplan_find(&arena, &problem, &plan);
    double plan_s = now_s() - start_s;
    char bound[24] = "-";
    if (plan.score.left_mm == 0) {
        snprintf(bound, sizeof bound, "%u", plan.bound_reels);
    }
    printf("%-26s %6u %6u | %5u %10.2f %6u %8.2f | %5u %5s %10.2f %10.2f %6u %8.2f %10llu\n", name,
           p->piece_count, p->reel_count, plain.reels, (double)plain.left_mm / 1000.0, plain.shorts,
           plain_s * 1e3, plan.score.reels, bound, (double)plan.score.left_mm / 1000.0,
           (double)plan.bound_left_mm / 1000.0, plan.score.shorts, plan_s * 1e3,
           (unsigned long long)plan.looked);
    arena_free(&arena);
    p->piece_count = p->reel_count = 0;
}

/* One kind of wire of an aircraft: pieces of 0.3 to 9.3 m, short ones more often, from reels of 20
 * to 300 m that hold `stock_pct` of what is needed. */
static void store(Problem *p, uint32_t pieces, uint32_t stock_pct) {
    int64_t sum = 0;
    for (uint32_t i = 0; i < pieces; i++) {
        int64_t length = 300 + (int64_t)below(p, 3000) * (1 + below(p, 3)) + 5;
        add(p, length, 1);
        sum += length;
    }
    for (sum = sum * stock_pct / 100; sum > 0; sum -= p->reels[p->reel_count++]) {
        p->reels[p->reel_count] = 20000 + (int64_t)below(p, 280000);
    }
}

static void published(Problem *p) {
    static const uint32_t A[][2] = {{1380, 22}, {1520, 25}, {1560, 12}, {1710, 14}, {1820, 18},
                                    {1880, 18}, {1930, 20}, {2000, 10}, {2050, 12}, {2100, 14},
                                    {2140, 16}, {2150, 18}, {2200, 20}};
    static const uint32_t B[][2] = {{14, 211}, {31, 395}, {36, 610}, {45, 97}};
    for (size_t i = 0; i < sizeof A / sizeof *A; i++) {
        add(p, A[i][0], A[i][1]);
    }
    reels_alike(p, 5600);
    run("textbook A, optimum 73", p, 0);
    for (size_t i = 0; i < sizeof B / sizeof *B; i++) {
        add(p, B[i][0], B[i][1]);
    }
    reels_alike(p, 100);
    run("textbook B, optimum 453", p, 0);
    add(p, 51, 60);
    add(p, 27, 60);
    add(p, 26, 60);
    add(p, 23, 120);
    reels_alike(p, 100);
    run("first fit's worst, 90", p, 0);
}

/* Reels of 1000 cut in three without waste. */
static void thirds(Problem *p, uint32_t reels) {
    for (uint32_t j = 0; j < reels; j++) {
        int64_t a = 380 + below(p, 110);
        int64_t b = 250 + below(p, (uint32_t)((1000 - a) / 2 - 250) + 1);
        add(p, a, 1);
        add(p, b, 1);
        add(p, 1000 - a - b, 1);
    }
    reels_alike(p, 1000);
}

static void pack(uint32_t wires) {
    static PackingCircle circles[PACKING_MOST];
    static double d[PACKING_MOST];
    for (uint32_t i = 0; i < wires; i++) {
        circles[i].diameter_mm = i % 9 == 0 ? 3.6 : i % 4 == 0 ? 1.4 : 1.1;
        d[i] = circles[i].diameter_mm;
    }
    double start_s = now_s();
    double outer_mm = packing_round(circles, wires);
    double pack_s = now_s() - start_s;
    PackingCheck check = packing_check(circles, wires, outer_mm);
    printf("%6u %12.3f %12.3f %12.3f %12.1e %10.1f\n", wires, outer_mm, bundle_shop_mm(d, wires),
           bundle_least_mm(d, wires), fmax(check.overlap_mm, check.outside_mm), pack_s * 1e3);
}

int main(void) {
    static Problem p = {.chance = 1};
    printf("cut plan                   pieces  reels |      first fit by falling length |"
           "                                  ours\n");
    printf("                                         | reels     left m shorts       ms |"
           " reels bound     left m    bound m shorts       ms     looked\n");
    static const uint32_t SIZES[] = {12, 120, 1200, 12000, 100000};
    for (size_t i = 0; i < sizeof SIZES / sizeof *SIZES; i++) {
        store(&p, SIZES[i], 150);
        run("half more than needed", &p, 1000);
        store(&p, SIZES[i], 60);
        run("too little", &p, 1000);
    }
    published(&p);
    static const uint32_t THIRDS[] = {20, 40, 80};
    for (size_t i = 0; i < sizeof THIRDS / sizeof *THIRDS; i++) {
        thirds(&p, THIRDS[i]);
        run("thirds, no waste", &p, 0);
    }
    printf("\npacking\n wires    packing mm      rule mm     least mm       off mm         ms\n");
    static const uint32_t WIRES[] = {3, 7, 19, 37, 61, 91, 150};
    for (size_t i = 0; i < sizeof WIRES / sizeof *WIRES; i++) {
        pack(WIRES[i]);
    }
    return 0;
}
