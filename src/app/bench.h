/* The bench: passes beside the live chain, which say how the harness is built. They run on a
 * finished proof when a table, a sheet or a reason asks for them, so `prove` takes no longer for
 * them. What they give hangs on proof->bench and lives in the proof's arena.
 *
 * To add a pass: a STEP line, a member of Bench, a BENCH_TABLES line for each table it fills, and
 * in bench.c its function `make_ID`, which first asks bench_step for the steps it rests on. Its
 * rules go into BENCH_RULES (base/rules.h), its findings to bench->findings. */
#ifndef APP_BENCH_H
#define APP_BENCH_H

#include "app/prove.h"
#include "board/board.h"
#include "board/fit.h"
#include "board/harness.h"
#include "shop/cutlist.h"
#include "shop/work.h"

/* STEP(identifier, name, function's name) */
#define BENCH_STEPS(STEP)                                                                          \
    STEP(ENDS, "ends", ends)                                                                       \
    STEP(HARNESS, "harness", harness)                                                              \
    STEP(FIT, "room of bundles", fit)                                                              \
    STEP(CUTLIST, "cut list", cutlist)                                                             \
    STEP(PREP, "end preparation", prep)                                                            \
    STEP(WORK, "work list", work)                                                                  \
    STEP(BOARD, "board", board)                                                                    \
    STEP(RINGOUT, "ring-out", ringout)                                                             \
    STEP(RECORD, "record", record)

/* TABLE(table, step that fills it) */
#define BENCH_TABLES(TABLE)                                                                        \
    TABLE(harness, HARNESS)                                                                        \
    TABLE(piece, HARNESS)                                                                          \
    TABLE(bundle_fit, FIT)                                                                         \
    TABLE(cut, CUTLIST)                                                                            \
    TABLE(reel_plan, CUTLIST)                                                                      \
    TABLE(cut_plan, CUTLIST)                                                                       \
    TABLE(offcut, CUTLIST)                                                                         \
    TABLE(end_prep, PREP)                                                                          \
    TABLE(bench_code, PREP)                                                                        \
    TABLE(pull_test, PREP)                                                                         \
    TABLE(work, WORK)                                                                              \
    TABLE(work_total, WORK)                                                                        \
    TABLE(board, BOARD)                                                                            \
    TABLE(board_branch, BOARD)                                                                     \
    TABLE(board_node, BOARD)                                                                       \
    TABLE(ringout, RINGOUT)                                                                        \
    TABLE(ringout_tie, RINGOUT)                                                                    \
    TABLE(ringout_count, RINGOUT)                                                                  \
    TABLE(bench_record, RECORD)

typedef enum BenchStep {
#define BENCH_STEP_ID(id, name, function) BENCH_##id,
    BENCH_STEPS(BENCH_STEP_ID)
#undef BENCH_STEP_ID
        BENCH_STEP_COUNT
} BenchStep;

struct Bench {
    bool done[BENCH_STEP_COUNT];
    double step_s[BENCH_STEP_COUNT]; /* wall time of each, with the steps it asked for itself */
    bool all;                        /* all ran, and their findings are judged and in rows */
    Findings findings;
    Ends ends;
    HarnessSet harness;
    Fits fits;
    CutList cutlist;
    PrepSet prep;
    WorkList work;
    BoardSet boards;
};

/* Runs a step unless it ran; its result tables are filled. The proof must be complete and hold its
 * result tables. */
void bench_step(Proof *proof, BenchStep step);

/* Runs what a table needs; bench_finding needs all. False: no table of the bench. */
bool bench_table(Proof *proof, TableId table);

/* Runs every step; accept rows are held against the findings, which fill bench_finding. */
void bench_all(Proof *proof);

#endif
