/* A trunk to and fro on the boards: where each half turn begins. A run goes on as far as the edge
 * or the first node that would lie on a seam allows; it turns there or a little before; when what
 * comes after fits nowhere, it turns sooner still. Depth first, with a bounded number of tries. */
#include <math.h>

#include "base/units.h"
#include "board/flat_inner.h"

#define TURNS_MOST 128u
#define STEP_MM 18.0
#define BACK_MM 700.0 /* a run turns at most so much before it must */
#define LINK_MM 220.0 /* and a link between two runs is at most so much longer than the pitch */
#define TRIES_MOST 4000u

typedef struct Runs {
    const FlatRoom *room;
    const FlatChain *chain;
    const FlatRuns *ask;
    double end_mm; /* depth of what is at the chain's end */
    double length_mm;
    FlatTurn turns[TURNS_MOST];
    uint32_t count;
    uint32_t tries;
} Runs;

/* Where a run or link is: so far along the chain, going that way. */
typedef struct Stand {
    double at_mm;
    FlatPoint point;
    double along_x; /* 1, 0 or -1 */
    double along_y;
} Stand;

static FlatPoint point_of(const Stand *stand, double at_mm) {
    double on_mm = at_mm - stand->at_mm;
    return (FlatPoint){stand->point.x_mm + stand->along_x * on_mm,
                       stand->point.y_mm + stand->along_y * on_mm};
}

static bool is_off(const Runs *runs, uint32_t arm, FlatPoint one, FlatPoint two, SampleKind kind,
                   double half_mm) {
    FlatSample sample = {.x1_mm = one.x_mm,
                         .y1_mm = one.y_mm,
                         .x2_mm = two.x_mm,
                         .y2_mm = two.y_mm,
                         .half_mm = half_mm,
                         .arm = arm,
                         .kind = kind};
    return flat_room_is_off(runs->room, &sample);
}

/* How far along the chain a straight part can go on: to its end (then *done), to where `limit_mm`
 * of it are used up, or to the last node before one that can't lie where it would. */
static double furthest(const Runs *runs, const Stand *stand, double limit_mm, bool *done) {
    const FlatChain *chain = runs->chain;
    const FlatTree *tree = runs->room->frame->tree;
    double to_mm = stand->at_mm + limit_mm;
    *done = false;
    for (uint32_t i = 1; i <= chain->count; i++) {
        if (chain->at_mm[i] <= stand->at_mm) {
            continue;
        }
        uint32_t arm = chain->arms[i - 1];
        FlatPoint at = point_of(stand, chain->at_mm[i]);
        if (chain->at_mm[i] > to_mm) {
            return to_mm;
        }
        if (is_off(runs, arm, at, at, SAMPLE_STRAIGHT, tree->arms[arm].od_mm / 2.0)) {
            return chain->at_mm[i] - FLAT_TURN_CLEAR_MM;
        }
    }
    const FlatEnd *end = &tree->ends[chain->nodes[chain->count]];
    FlatPoint at = point_of(stand, runs->length_mm);
    FlatPoint tip = point_of(stand, runs->length_mm + runs->end_mm);
    *done = !is_off(runs, chain->arms[chain->count - 1], at, tip, SAMPLE_END, end->width_mm / 2.0);
    return runs->length_mm;
}

/* The arm in which an arc of a right angle beginning there lies whole; FLAT_NONE. */
static uint32_t arm_for(const Runs *runs, double at_mm, double *radius_mm) {
    const FlatChain *chain = runs->chain;
    for (uint32_t i = 0; i < chain->count; i++) {
        if (chain->at_mm[i + 1] > at_mm) {
            *radius_mm = flat_radius_mm(runs->room->frame, chain->arms[i]);
            bool fits =
                at_mm >= chain->at_mm[i] + FLAT_TURN_CLEAR_MM &&
                at_mm + *radius_mm * UNITS_PI / 2.0 + FLAT_TURN_CLEAR_MM <= chain->at_mm[i + 1];
            return fits ? chain->arms[i] : FLAT_NONE;
        }
    }
    return FLAT_NONE;
}

/* A right angle from there to another way; false when it fits into no arm or on no board. */
static bool turn_to(Runs *runs, const Stand *stand, double at_mm, double along_x, double along_y,
                    bool folds, Stand *next) {
    double radius_mm;
    uint32_t arm = arm_for(runs, at_mm, &radius_mm);
    if (arm == FLAT_NONE || runs->count == TURNS_MOST) {
        return false;
    }
    runs->tries++;
    FlatPoint from = point_of(stand, at_mm);
    FlatPoint to = {from.x_mm + radius_mm * (stand->along_x + along_x),
                    from.y_mm + radius_mm * (stand->along_y + along_y)};
    if (is_off(runs, arm, from, to, SAMPLE_ARC, runs->room->frame->tree->arms[arm].od_mm / 2.0)) {
        return false;
    }
    double left = stand->along_x * along_y - stand->along_y * along_x;
    runs->turns[runs->count++] = (FlatTurn){at_mm, left * UNITS_PI / 2.0, folds};
    *next = (Stand){at_mm + radius_mm * UNITS_PI / 2.0, to, along_x, along_y};
    return true;
}

static bool fold_from(Runs *runs, const Stand *stand);

/* Down or up a link from a run at that height, then the run back. */
static bool link_from(Runs *runs, const Stand *stand, double run_mm, double back_x) {
    bool done;
    double to_mm = furthest(runs, stand, INFINITY, &done);
    if (done) {
        return true; /* what is left hangs across: no further run */
    }
    double short_mm = runs->ask->pitch_mm - fabs(stand->point.y_mm - run_mm) - FLAT_LEAST_RADIUS_MM;
    for (uint32_t i = 0; i * STEP_MM <= LINK_MM && runs->tries < TRIES_MOST; i++) {
        double more_mm = i * STEP_MM;
        uint32_t count = runs->count;
        double at_mm = stand->at_mm + fmax(0.0, short_mm) + more_mm;
        Stand next;
        if (at_mm <= to_mm && turn_to(runs, stand, at_mm, back_x, 0.0, true, &next) &&
            fold_from(runs, &next)) {
            return true;
        }
        runs->count = count;
    }
    return false;
}

static bool fold_from(Runs *runs, const Stand *stand) {
    bool done;
    double limit_mm = stand->along_x > 0.0 ? runs->ask->high_mm - stand->point.x_mm
                                           : stand->point.x_mm - runs->ask->low_mm;
    double to_mm = furthest(runs, stand, limit_mm, &done);
    if (done && runs->length_mm + runs->end_mm <= stand->at_mm + limit_mm) {
        return true;
    }
    double up = runs->ask->up ? 1.0 : -1.0;
    for (uint32_t i = 0; i * STEP_MM <= BACK_MM && runs->tries < TRIES_MOST; i++) {
        uint32_t count = runs->count;
        Stand link;
        double radius_mm;
        double at_mm = to_mm - i * STEP_MM;
        uint32_t arm = arm_for(runs, at_mm, &radius_mm);
        if (arm == FLAT_NONE || at_mm < stand->at_mm ||
            at_mm + radius_mm > stand->at_mm + limit_mm) {
            continue;
        }
        if (turn_to(runs, stand, at_mm, 0.0, up, false, &link) &&
            link_from(runs, &link, stand->point.y_mm, -stand->along_x)) {
            return true;
        }
        runs->count = count;
    }
    return false;
}

bool flat_runs_fold(Arena *out, const FlatRoom *room, const FlatChain *chain, FlatPoint from,
                    double end_mm, const FlatRuns *ask, FlatFolds *folds) {
    Runs runs = {.room = room,
                 .chain = chain,
                 .ask = ask,
                 .end_mm = end_mm,
                 .length_mm = chain->at_mm[chain->count]};
    const Stand start = {0.0, from, 1.0, 0.0};
    if (!fold_from(&runs, &start)) {
        return false;
    }
    FlatTurn *turns = ARENA_ARRAY(out, FlatTurn, runs.count + 1);
    for (uint32_t i = 0; i < runs.count; i++) {
        turns[i] = runs.turns[i];
    }
    *folds = (FlatFolds){.turns = turns, .turn_count = runs.count, .sign = 1.0};
    return true;
}
