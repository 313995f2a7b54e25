/* Chains: arms end to end with their folds. A turn is an arc inside one arm, clear of its nodes; it
 * is taken at the first place at or after the one wanted, or at the last before it, where an arm is
 * long enough. Lengths are kept by construction: the parts of an arm are cut from its length. */
#include "board/flat_inner.h"

#include <math.h>

#include "base/check.h"
#include "base/units.h"

#define SAGITTA_MM 0.4 /* of the chords an arc is cut into; below what flat_room.c allows for */

/* --- pieces -------------------------------------------------------------------------------------
 */

FlatPoint flat_piece_at(const FlatPiece *piece, double s_mm, double *heading_rad) {
    double turn_rad = s_mm * piece->turn_per_mm;
    if (heading_rad != NULL) {
        *heading_rad = piece->heading_rad + turn_rad;
    }
    if (piece->turn_per_mm == 0.0) {
        return (FlatPoint){piece->x_mm + s_mm * cos(piece->heading_rad),
                           piece->y_mm + s_mm * sin(piece->heading_rad)};
    }
    double radius_mm = 1.0 / piece->turn_per_mm;
    return (FlatPoint){
        piece->x_mm + radius_mm * (sin(piece->heading_rad + turn_rad) - sin(piece->heading_rad)),
        piece->y_mm - radius_mm * (cos(piece->heading_rad + turn_rad) - cos(piece->heading_rad))};
}

double flat_radius_mm(const FlatFrame *frame, uint32_t arm) {
    const FlatArm *row = &frame->tree->arms[arm];
    double own_mm = 0.5 * (row->od_mm + frame->shop->spacing_mm) + 1.0;
    return fmax(fmax(row->bend_mm, own_mm), FLAT_LEAST_RADIUS_MM);
}

/* --- laying -------------------------------------------------------------------------------------
 */

typedef struct Walk {
    Arena *out;
    const FlatFrame *frame;
    const FlatChain *chain;
    FlatPath *path;
    uint32_t index; /* of the arm walked */
    double at_mm;   /* along the chain */
    FlatPoint point;
    double heading_rad;
} Walk;

static void put_piece(Walk *walk, double length_mm, double turn_per_mm) {
    FlatPath *path = walk->path;
    if (length_mm <= 0.0) {
        return;
    }
    if (path->count == path->capacity) {
        size_t capacity = path->capacity;
        path->pieces = arena_grow(walk->out, path->pieces, path->count, sizeof *path->pieces,
                                  (size_t)path->count + 1, &capacity);
        path->capacity = (uint32_t)capacity;
    }
    FlatPiece *piece = &path->pieces[path->count++];
    *piece = (FlatPiece){.arm = walk->chain->arms[walk->index],
                         .x_mm = walk->point.x_mm,
                         .y_mm = walk->point.y_mm,
                         .heading_rad = walk->heading_rad,
                         .length_mm = length_mm,
                         .turn_per_mm = turn_per_mm};
    walk->point = flat_piece_at(piece, length_mm, &walk->heading_rad);
    walk->at_mm += length_mm;
}

static void reach_node(Walk *walk) {
    walk->index++;
    walk->at_mm = walk->chain->at_mm[walk->index]; /* no sum of roundings */
    walk->path->points[walk->index] = walk->point;
    walk->path->headings_rad[walk->index] = walk->heading_rad;
}

/* Straight on to a place along the chain. */
static void walk_to(Walk *walk, double to_mm) {
    const FlatChain *chain = walk->chain;
    while (walk->index < chain->count && chain->at_mm[walk->index + 1] <= to_mm) {
        put_piece(walk, chain->at_mm[walk->index + 1] - walk->at_mm, 0.0);
        reach_node(walk);
    }
    if (walk->index < chain->count) {
        put_piece(walk, to_mm - walk->at_mm, 0.0);
    }
}

static double arc_length_mm(const Walk *walk, uint32_t index, double turn_rad) {
    return flat_radius_mm(walk->frame, walk->chain->arms[index]) * fabs(turn_rad);
}

/* First place at or after `from_mm` where the arc fits; NAN. */
static double fit_after(const Walk *walk, double from_mm, double turn_rad) {
    const FlatChain *chain = walk->chain;
    for (uint32_t i = walk->index; i < chain->count; i++) {
        double start_mm = fmax(from_mm, chain->at_mm[i] + FLAT_TURN_CLEAR_MM);
        if (start_mm + arc_length_mm(walk, i, turn_rad) + FLAT_TURN_CLEAR_MM <=
            chain->at_mm[i + 1]) {
            return start_mm;
        }
    }
    return NAN;
}

/* Last place at or before `from_mm`, but not before where the walk is; NAN. */
static double fit_before(const Walk *walk, double from_mm, double turn_rad) {
    const FlatChain *chain = walk->chain;
    double best_mm = NAN;
    for (uint32_t i = walk->index; i < chain->count && chain->at_mm[i] <= from_mm; i++) {
        double last_mm =
            chain->at_mm[i + 1] - FLAT_TURN_CLEAR_MM - arc_length_mm(walk, i, turn_rad);
        double start_mm = fmin(from_mm, last_mm);
        if (start_mm >= fmax(walk->at_mm, chain->at_mm[i] + FLAT_TURN_CLEAR_MM)) {
            best_mm = start_mm;
        }
    }
    return best_mm;
}

static void turn_at(Walk *walk, double start_mm, double turn_rad) {
    walk_to(walk, start_mm);
    double radius_mm = flat_radius_mm(walk->frame, walk->chain->arms[walk->index]);
    double before_rad = walk->heading_rad;
    put_piece(walk, radius_mm * fabs(turn_rad), (turn_rad < 0.0 ? -1.0 : 1.0) / radius_mm);
    walk->heading_rad = before_rad + turn_rad; /* no rounding of a right angle */
    walk->path->bends++;
    walk->path->end_at_mm = walk->at_mm;
}

/* Two right angles, `pitch_mm` from run to run at least. */
static bool half_turn(Walk *walk, double start_mm, double turn_rad, double pitch_mm) {
    turn_at(walk, start_mm, turn_rad);
    double first_mm = flat_radius_mm(walk->frame, walk->chain->arms[walk->index]);
    double next_mm = fit_after(walk, walk->at_mm, turn_rad);
    if (isnan(next_mm)) {
        return false;
    }
    double wanted_mm = walk->at_mm + fmax(0.0, pitch_mm - 2.0 * first_mm);
    next_mm = fit_after(walk, wanted_mm, turn_rad);
    if (isnan(next_mm)) {
        return false;
    }
    turn_at(walk, next_mm, turn_rad);
    walk->path->folds++;
    return true;
}

bool flat_chain_lay(Arena *out, const FlatFrame *frame, const FlatChain *chain,
                    const FlatFolds *folds, FlatPoint from, double heading_rad, FlatPath *path) {
    *path = (FlatPath){.points = ARENA_ARRAY(out, FlatPoint, chain->count + 1),
                       .headings_rad = ARENA_ARRAY(out, double, chain->count + 1)};
    Walk walk = {.out = out,
                 .frame = frame,
                 .chain = chain,
                 .path = path,
                 .point = from,
                 .heading_rad = heading_rad};
    double end_mm = chain->at_mm[chain->count];
    path->points[0] = from;
    path->headings_rad[0] = heading_rad;
    for (uint32_t i = 0; folds->turns != NULL && i < folds->turn_count; i++) {
        turn_at(&walk, folds->turns[i].at_mm, folds->turns[i].turn_rad);
        path->folds += folds->turns[i].folds ? 1 : 0;
    }
    if (folds->first_deg != 0.0) {
        double turn_rad = units_rad_from_deg(folds->first_deg);
        double start_mm = fit_after(&walk, folds->first_at_mm, turn_rad);
        if (isnan(start_mm)) {
            return false;
        }
        turn_at(&walk, start_mm, turn_rad);
    }
    double run_mm = folds->turns != NULL ? (double)INFINITY : folds->first_run_mm;
    double sign = folds->sign;
    while (end_mm - walk.at_mm > run_mm) {
        double turn_rad = sign * UNITS_PI / 2.0;
        double start_mm = fit_before(&walk, walk.at_mm + run_mm, turn_rad);
        if (isnan(start_mm) || !half_turn(&walk, start_mm, turn_rad, folds->pitch_mm)) {
            return false;
        }
        sign = -sign;
        run_mm = folds->run_mm;
    }
    walk_to(&walk, end_mm);
    CHECK(walk.index == chain->count);
    return true;
}

/* --- samples ------------------------------------------------------------------------------------
 */

static void put_sample(Arena *out, FlatSamples *samples, FlatSample sample) {
    *ARENA_PUSH(out, samples->rows, samples->count, samples->capacity) = sample;
}

/* One piece from `from_mm` along its arm (as walked), cut where a zone ends. */
static void cut_piece(Arena *out, const FlatFrame *frame, const FlatPiece *piece, bool backward,
                      double from_mm, FlatSamples *samples) {
    const FlatArm *arm = &frame->tree->arms[piece->arm];
    double first_mm = frame->zone_mm[backward ? arm->b : arm->a];
    double last_mm = arm->length_mm - frame->zone_mm[backward ? arm->a : arm->b];
    double step_mm = ROOM_SAMPLE_MM;
    if (piece->turn_per_mm != 0.0) {
        step_mm = fmin(step_mm, sqrt(8.0 * SAGITTA_MM / fabs(piece->turn_per_mm)));
    }
    FlatPoint a = {piece->x_mm, piece->y_mm};
    double s_mm = 0.0;
    while (s_mm < piece->length_mm) {
        double to_mm = fmin(s_mm + step_mm, piece->length_mm);
        for (int i = 0; i < 2; i++) {
            double cut_mm = (i == 0 ? first_mm : last_mm) - from_mm;
            if (cut_mm > s_mm + 1e-9 && cut_mm < to_mm) {
                to_mm = cut_mm;
            }
        }
        FlatPoint b = flat_piece_at(piece, to_mm, NULL);
        double low_mm = from_mm + s_mm;
        double high_mm = from_mm + to_mm;
        FlatPoint low = backward ? b : a;
        FlatPoint high = backward ? a : b;
        put_sample(out, samples,
                   (FlatSample){low.x_mm, low.y_mm, high.x_mm, high.y_mm, arm->od_mm / 2.0,
                                backward ? arm->length_mm - high_mm : low_mm,
                                backward ? arm->length_mm - low_mm : high_mm, piece->arm,
                                piece->turn_per_mm == 0.0 ? SAMPLE_STRAIGHT : SAMPLE_ARC, FLAT_NONE,
                                false});
        a = b;
        s_mm = to_mm;
    }
}

void flat_end_corners(const FlatEnd *end, FlatPoint at, double heading_rad, FlatPoint corners[4]) {
    double along_x = cos(heading_rad);
    double along_y = sin(heading_rad);
    double half_mm = end->width_mm / 2.0;
    for (int i = 0; i < 4; i++) {
        double across_mm = i == 0 || i == 3 ? half_mm : -half_mm;
        double depth_mm = i < 2 ? 0.0 : end->depth_mm;
        corners[i] = (FlatPoint){at.x_mm + depth_mm * along_x - across_mm * along_y,
                                 at.y_mm + depth_mm * along_y + across_mm * along_x};
    }
}

/* Outline and both diagonals, so that whatever lies inside is met too. */
static void end_samples(Arena *out, const FlatFrame *frame, uint32_t node, uint32_t arm,
                        FlatPoint at, double heading_rad, FlatSamples *samples) {
    const FlatEnd *end = &frame->tree->ends[node];
    if (end->depth_mm <= 0.0) {
        return;
    }
    FlatPoint c[4];
    flat_end_corners(end, at, heading_rad, c);
    static const int PAIRS[6][2] = {{0, 1}, {1, 2}, {2, 3}, {3, 0}, {0, 2}, {1, 3}};
    for (int i = 0; i < 6; i++) {
        FlatPoint a = c[PAIRS[i][0]];
        FlatPoint b = c[PAIRS[i][1]];
        put_sample(out, samples,
                   (FlatSample){a.x_mm, a.y_mm, b.x_mm, b.y_mm, 0.0, 0.0, 0.0, arm, SAMPLE_END,
                                FLAT_NONE, false});
    }
}

void flat_chain_samples(Arena *out, const FlatFrame *frame, const FlatChain *chain,
                        const FlatPath *path, bool root, FlatSamples *samples) {
    uint32_t index = 0;
    double from_mm = 0.0;
    for (uint32_t i = 0; i < path->count; i++) {
        while (path->pieces[i].arm != chain->arms[index]) {
            index++;
            from_mm = 0.0;
        }
        bool backward = frame->tree->arms[chain->arms[index]].a != chain->nodes[index];
        cut_piece(out, frame, &path->pieces[i], backward, from_mm, samples);
        from_mm += path->pieces[i].length_mm;
    }
    end_samples(out, frame, chain->nodes[chain->count], chain->arms[chain->count - 1],
                path->points[chain->count], path->headings_rad[chain->count], samples);
    if (root) {
        end_samples(out, frame, chain->nodes[0], chain->arms[0], path->points[0],
                    path->headings_rad[0] + UNITS_PI, samples);
    }
}
