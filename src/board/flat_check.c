/* A checker that knows nothing of how a layout came about: it looks at the pieces alone. Arms are
 * cut into chords (arcs finely, and where a breakout's zone ends), swept in the order of x, and all
 * pairs that come near are measured. The zones are worked out anew, by distance along the arms. */
#include "board/flat.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"

#define CUT_SAGITTA_MM 0.01
#define CUT_MM 60.0
#define ROUND_MM 0.02 /* chords and sums: less than this below the spacing is no fault */
#define MEET_MM 1e-6
#define LENGTH_MM 1e-6
#define ANGLE_DEG 0.5 /* directions nearer than this have no order */

typedef struct Chord {
    double x1_mm;
    double y1_mm;
    double x2_mm;
    double y2_mm;
    double half_mm;
    double low_mm; /* along the arm */
    double high_mm;
    uint32_t arm;
    bool shell;
} Chord;

/* By arm: nodes near enough for their zone to reach it, with the distance of both ends to them. */
typedef struct Near {
    uint32_t node;
    double from_a_mm; /* along the harness; the arm's own length added on the far side */
    double from_b_mm;
} Near;

typedef struct Sweep {
    Arena *arena;
    const FlatTree *tree;
    const FlatShop *shop;
    const Flat *flat;
    Chord *chords;
    size_t chord_count;
    size_t chord_capacity;
    Near **near;
    size_t *near_counts;
    size_t *near_capacities;
    uint32_t **around; /* by node: its arms */
    uint32_t *degree;
    FlatReport *report;
} Sweep;

static void fault(Sweep *sweep, uint32_t arm, uint32_t other) {
    if (sweep->report->first_arm == FLAT_NONE) {
        sweep->report->first_arm = arm;
        sweep->report->second_arm = other;
    }
}

FlatPoint flat_arm_at(const Flat *flat, uint32_t arm, double s_mm, double *heading_rad) {
    uint32_t last = flat->arm_first[arm + 1] - 1;
    for (uint32_t i = flat->arm_first[arm]; i < last; i++) {
        if (s_mm <= flat->pieces[i].length_mm) {
            return flat_piece_at(&flat->pieces[i], s_mm, heading_rad);
        }
        s_mm -= flat->pieces[i].length_mm;
    }
    return flat_piece_at(&flat->pieces[last], s_mm, heading_rad);
}

double flat_leaving_rad(const FlatTree *tree, const Flat *flat, uint32_t arm, uint32_t node) {
    const FlatPiece *first = &flat->pieces[flat->arm_first[arm]];
    const FlatPiece *last = &flat->pieces[flat->arm_first[arm + 1] - 1];
    if (tree->arms[arm].a == node) {
        return first->heading_rad;
    }
    return last->heading_rad + last->length_mm * last->turn_per_mm + UNITS_PI;
}

/* --- one arm ------------------------------------------------------------------------------------
 */

static bool is_apart(double x1_mm, double y1_mm, double x2_mm, double y2_mm) {
    return hypot(x1_mm - x2_mm, y1_mm - y2_mm) > MEET_MM * fmax(1.0, fabs(x1_mm) + fabs(y1_mm));
}

static void check_arm(Sweep *sweep, uint32_t arm) {
    const Flat *flat = sweep->flat;
    const FlatArm *row = &sweep->tree->arms[arm];
    FlatReport *report = sweep->report;
    uint32_t first = flat->arm_first[arm];
    uint32_t end = flat->arm_first[arm + 1];
    if (first == end) {
        report->broken++;
        fault(sweep, arm, FLAT_NONE);
        return;
    }
    double sum_mm = 0.0;
    bool broken = is_apart(flat->pieces[first].x_mm, flat->pieces[first].y_mm,
                           flat->nodes[row->a].x_mm, flat->nodes[row->a].y_mm);
    bool tight = false;
    for (uint32_t i = first; i < end; i++) {
        const FlatPiece *piece = &flat->pieces[i];
        double heading_rad;
        FlatPoint at = flat_piece_at(piece, piece->length_mm, &heading_rad);
        sum_mm += piece->length_mm;
        if (i + 1 < end) {
            const FlatPiece *next = &flat->pieces[i + 1];
            broken = broken || is_apart(at.x_mm, at.y_mm, next->x_mm, next->y_mm) ||
                     fabs(remainder(heading_rad - next->heading_rad, 2.0 * UNITS_PI)) > 1e-9;
        } else {
            broken = broken ||
                     is_apart(at.x_mm, at.y_mm, flat->nodes[row->b].x_mm, flat->nodes[row->b].y_mm);
        }
        tight = tight || fabs(piece->turn_per_mm) * row->bend_mm > 1.0 + 1e-9;
        broken = broken || piece->arm != arm || !(piece->length_mm > 0.0);
    }
    report->length_off_mm = fmax(report->length_off_mm, fabs(sum_mm - row->length_mm));
    report->broken += broken ? 1 : 0;
    report->tight += tight ? 1 : 0;
    if (broken || tight || fabs(sum_mm - row->length_mm) > LENGTH_MM * row->length_mm / 1000.0) {
        fault(sweep, arm, FLAT_NONE);
    }
}

/* --- zones --------------------------------------------------------------------------------------
 */

typedef struct Step {
    uint32_t node;
    uint32_t by_arm;
    double at_mm;
} Step;

static void find_near(Sweep *sweep, uint32_t centre) {
    Step *steps = NULL;
    size_t count = 0;
    size_t capacity = 0;
    double zone_mm = sweep->flat->nodes[centre].zone_mm;
    *ARENA_PUSH(sweep->arena, steps, count, capacity) = (Step){centre, FLAT_NONE, 0.0};
    for (size_t i = 0; i < count; i++) {
        Step step = steps[i];
        for (uint32_t k = 0; k < sweep->degree[step.node]; k++) {
            uint32_t arm = sweep->around[step.node][k];
            const FlatArm *row = &sweep->tree->arms[arm];
            if (arm == step.by_arm) {
                continue;
            }
            bool forward = row->a == step.node;
            double far_mm = step.at_mm + row->length_mm;
            *ARENA_PUSH(sweep->arena, sweep->near[arm], sweep->near_counts[arm],
                        sweep->near_capacities[arm]) =
                (Near){centre, forward ? step.at_mm : far_mm, forward ? far_mm : step.at_mm};
            if (far_mm < zone_mm) {
                *ARENA_PUSH(sweep->arena, steps, count, capacity) =
                    (Step){forward ? row->b : row->a, arm, far_mm};
            }
        }
    }
}

/* Distance along the harness from a node to the farther end of a chord of that arm. */
static double reach_mm(const Sweep *sweep, const Near *near, const Chord *chord) {
    double length_mm = sweep->tree->arms[chord->arm].length_mm;
    return near->from_a_mm < near->from_b_mm ? near->from_a_mm + chord->high_mm
                                             : near->from_b_mm + length_mm - chord->low_mm;
}

static bool in_one_zone(const Sweep *sweep, const Chord *p, const Chord *q) {
    for (size_t i = 0; i < sweep->near_counts[p->arm]; i++) {
        const Near *own = &sweep->near[p->arm][i];
        double zone_mm = sweep->flat->nodes[own->node].zone_mm + MEET_MM;
        if (reach_mm(sweep, own, p) > zone_mm) {
            continue;
        }
        for (size_t k = 0; k < sweep->near_counts[q->arm]; k++) {
            const Near *other = &sweep->near[q->arm][k];
            if (other->node == own->node && reach_mm(sweep, other, q) <= zone_mm) {
                return true;
            }
        }
    }
    return false;
}

/* --- chords -------------------------------------------------------------------------------------
 */

static int by_number(const void *a, const void *b) {
    double x = *(const double *)a;
    double y = *(const double *)b;
    return x < y ? -1 : x > y;
}

static void cut_arm(Sweep *sweep, uint32_t arm) {
    const Flat *flat = sweep->flat;
    const FlatArm *row = &sweep->tree->arms[arm];
    double *cuts = NULL;
    size_t count = 0;
    size_t capacity = 0;
    for (size_t i = 0; i < sweep->near_counts[arm]; i++) {
        const Near *near = &sweep->near[arm][i];
        double zone_mm = flat->nodes[near->node].zone_mm;
        double at_mm = near->from_a_mm < near->from_b_mm
                           ? zone_mm - near->from_a_mm
                           : row->length_mm - (zone_mm - near->from_b_mm);
        if (at_mm > 0.0 && at_mm < row->length_mm) {
            *ARENA_PUSH(sweep->arena, cuts, count, capacity) = at_mm;
        }
    }
    double from_mm = 0.0;
    for (uint32_t i = flat->arm_first[arm]; i < flat->arm_first[arm + 1]; i++) {
        const FlatPiece *piece = &flat->pieces[i];
        double step_mm = CUT_MM;
        if (piece->turn_per_mm != 0.0) {
            step_mm = fmin(step_mm, sqrt(8.0 * CUT_SAGITTA_MM / fabs(piece->turn_per_mm)));
        }
        uint32_t parts = (uint32_t)ceil(piece->length_mm / step_mm);
        for (uint32_t k = 1; k <= parts; k++) {
            *ARENA_PUSH(sweep->arena, cuts, count, capacity) =
                from_mm + piece->length_mm * k / parts;
        }
        from_mm += piece->length_mm;
    }
    if (count > 1) {
        qsort(cuts, count, sizeof *cuts, by_number);
    }
    FlatPoint at = flat_arm_at(flat, arm, 0.0, NULL);
    double low_mm = 0.0;
    for (size_t i = 0; i < count; i++) {
        FlatPoint next = flat_arm_at(flat, arm, cuts[i], NULL);
        if (cuts[i] > low_mm) {
            *ARENA_PUSH(sweep->arena, sweep->chords, sweep->chord_count, sweep->chord_capacity) =
                (Chord){at.x_mm, at.y_mm, next.x_mm, next.y_mm, row->od_mm / 2.0,
                        low_mm,  cuts[i], arm,       false};
        }
        at = next;
        low_mm = cuts[i];
    }
}

static void cut_shell(Sweep *sweep, uint32_t arm, uint32_t node) {
    const FlatEnd *end = &sweep->tree->ends[node];
    if (end->depth_mm <= 0.0 || sweep->degree[node] != 1) {
        return;
    }
    FlatPoint c[5];
    FlatPoint at = {sweep->flat->nodes[node].x_mm, sweep->flat->nodes[node].y_mm};
    flat_end_corners(end, at, flat_leaving_rad(sweep->tree, sweep->flat, arm, node) + UNITS_PI, c);
    c[4] = c[0];
    for (int i = 0; i < 4; i++) {
        *ARENA_PUSH(sweep->arena, sweep->chords, sweep->chord_count, sweep->chord_capacity) =
            (Chord){c[i].x_mm, c[i].y_mm, c[i + 1].x_mm, c[i + 1].y_mm, 0.0, 0.0, 0.0, arm, true};
    }
}

/* --- boards -------------------------------------------------------------------------------------
 */

static bool is_seam_hit(double low_mm, double high_mm, double board_mm, double gap_mm,
                        double seam_mm, uint32_t count) {
    for (uint32_t i = 1; i < count; i++) {
        double gap_from_mm = i * (board_mm + gap_mm) - gap_mm;
        if (low_mm < gap_from_mm + gap_mm + seam_mm && high_mm > gap_from_mm - seam_mm) {
            return true;
        }
    }
    return false;
}

static void check_boards(Sweep *sweep) {
    const FlatShop *shop = sweep->shop;
    const Flat *flat = sweep->flat;
    double width_mm = flat->columns * (shop->board_length_mm + shop->gap_mm) - shop->gap_mm;
    double height_mm = flat->rows * (shop->board_width_mm + shop->gap_mm) - shop->gap_mm;
    bool *off = ARENA_ARRAY(sweep->arena, bool, sweep->tree->arm_count + 1);
    for (size_t i = 0; i < sweep->chord_count; i++) {
        const Chord *chord = &sweep->chords[i];
        double length_mm = sweep->tree->arms[chord->arm].length_mm;
        double low_x = fmin(chord->x1_mm, chord->x2_mm) - chord->half_mm;
        double high_x = fmax(chord->x1_mm, chord->x2_mm) + chord->half_mm;
        double low_y = fmin(chord->y1_mm, chord->y2_mm) - chord->half_mm;
        double high_y = fmax(chord->y1_mm, chord->y2_mm) + chord->half_mm;
        bool out = low_x < shop->margin_mm - ROUND_MM || low_y < shop->margin_mm - ROUND_MM ||
                   high_x > width_mm - shop->margin_mm + ROUND_MM ||
                   high_y > height_mm - shop->margin_mm + ROUND_MM;
        double from_mm = 0.0;
        bool curved = false;
        for (uint32_t k = flat->arm_first[chord->arm]; k < flat->arm_first[chord->arm + 1]; k++) {
            const FlatPiece *piece = &flat->pieces[k];
            curved = curved || (piece->turn_per_mm != 0.0 && chord->low_mm >= from_mm - MEET_MM &&
                                chord->high_mm <= from_mm + piece->length_mm + MEET_MM);
            from_mm += piece->length_mm;
        }
        if (chord->shell || curved) {
            out = out ||
                  is_seam_hit(low_x, high_x, shop->board_length_mm, shop->gap_mm,
                              shop->seam_mm - ROUND_MM, flat->columns) ||
                  is_seam_hit(low_y, high_y, shop->board_width_mm, shop->gap_mm,
                              shop->seam_mm - ROUND_MM, flat->rows);
        }
        for (int end = 0; end < 2; end++) { /* nodes */
            if (!chord->shell && (end == 0 ? chord->low_mm <= 0.0 : chord->high_mm >= length_mm)) {
                double x = end == 0 ? chord->x1_mm : chord->x2_mm;
                double y = end == 0 ? chord->y1_mm : chord->y2_mm;
                out = out ||
                      is_seam_hit(x, x, shop->board_length_mm, shop->gap_mm,
                                  shop->seam_mm - ROUND_MM, flat->columns) ||
                      is_seam_hit(y, y, shop->board_width_mm, shop->gap_mm,
                                  shop->seam_mm - ROUND_MM, flat->rows);
            }
        }
        off[chord->arm] = off[chord->arm] || out;
    }
    for (uint32_t i = 0; i < sweep->tree->arm_count; i++) {
        if (off[i]) {
            sweep->report->off_board++;
            fault(sweep, i, FLAT_NONE);
        }
    }
}

/* --- pairs --------------------------------------------------------------------------------------
 */

static double point_mm(double px, double py, const Chord *c) {
    double dx = c->x2_mm - c->x1_mm;
    double dy = c->y2_mm - c->y1_mm;
    double square = dx * dx + dy * dy;
    double t = square > 0.0 ? ((px - c->x1_mm) * dx + (py - c->y1_mm) * dy) / square : 0.0;
    t = fmin(1.0, fmax(0.0, t));
    return hypot(px - c->x1_mm - t * dx, py - c->y1_mm - t * dy);
}

static double turn_of(const Chord *c, double x, double y) {
    return (c->x2_mm - c->x1_mm) * (y - c->y1_mm) - (c->y2_mm - c->y1_mm) * (x - c->x1_mm);
}

static double apart_mm(const Chord *p, const Chord *q) {
    double p1 = turn_of(q, p->x1_mm, p->y1_mm);
    double p2 = turn_of(q, p->x2_mm, p->y2_mm);
    double q1 = turn_of(p, q->x1_mm, q->y1_mm);
    double q2 = turn_of(p, q->x2_mm, q->y2_mm);
    if (p1 * p2 < 0.0 && q1 * q2 < 0.0) {
        return 0.0;
    }
    return fmin(fmin(point_mm(p->x1_mm, p->y1_mm, q), point_mm(p->x2_mm, p->y2_mm, q)),
                fmin(point_mm(q->x1_mm, q->y1_mm, p), point_mm(q->x2_mm, q->y2_mm, p)));
}

static uint32_t common_node(const FlatTree *tree, uint32_t one, uint32_t two) {
    const FlatArm *a = &tree->arms[one];
    const FlatArm *b = &tree->arms[two];
    return a->a == b->a || a->a == b->b ? a->a : a->b == b->a || a->b == b->b ? a->b : FLAT_NONE;
}

enum { PAIR_CLOSE = 1, PAIR_CROSSES = 2, PAIR_HAND = 4 };

static int check_pair(Sweep *sweep, const Chord *p, const Chord *q) {
    FlatReport *report = sweep->report;
    double middle_mm = apart_mm(p, q);
    double outside_mm = middle_mm - p->half_mm - q->half_mm;
    if (p->shell || q->shell) {
        if (p->arm == q->arm) {
            return 0;
        }
        report->closest_hand_mm = fmin(report->closest_hand_mm, outside_mm);
        return outside_mm < sweep->shop->hand_mm - ROUND_MM ? PAIR_HAND : 0;
    }
    if (p->arm == q->arm) {
        double need_mm = sweep->shop->spacing_mm + p->half_mm + q->half_mm;
        double along_mm = fmax(p->low_mm, q->low_mm) - fmin(p->high_mm, q->high_mm);
        bool close = along_mm > 4.0 * need_mm && middle_mm < need_mm - ROUND_MM;
        return close ? PAIR_CLOSE | (middle_mm == 0.0 ? PAIR_CROSSES : 0) : 0;
    }
    uint32_t node = common_node(sweep->tree, p->arm, q->arm);
    int found = 0;
    if (middle_mm == 0.0) {
        double p_mm = node == FLAT_NONE ? 1.0
                      : node == sweep->tree->arms[p->arm].a
                          ? p->low_mm
                          : sweep->tree->arms[p->arm].length_mm - p->high_mm;
        double q_mm = node == FLAT_NONE ? 1.0
                      : node == sweep->tree->arms[q->arm].a
                          ? q->low_mm
                          : sweep->tree->arms[q->arm].length_mm - q->high_mm;
        found |= p_mm > MEET_MM || q_mm > MEET_MM ? PAIR_CROSSES : 0;
    }
    if (!in_one_zone(sweep, p, q)) {
        report->closest_mm = fmin(report->closest_mm, outside_mm);
        found |= outside_mm < sweep->shop->spacing_mm - ROUND_MM ? PAIR_CLOSE : 0;
    }
    return found;
}

static int by_left(const void *a, const void *b) {
    const Chord *x = a;
    const Chord *y = b;
    double x_left = fmin(x->x1_mm, x->x2_mm);
    double y_left = fmin(y->x1_mm, y->x2_mm);
    if (x_left != y_left) {
        return x_left < y_left ? -1 : 1;
    }
    if (x->arm != y->arm) {
        return x->arm < y->arm ? -1 : 1;
    }
    return x->low_mm < y->low_mm ? -1 : x->low_mm > y->low_mm;
}

typedef struct PairKey {
    uint32_t one;
    uint32_t two;
    int what;
} PairKey;

static int by_pair(const void *a, const void *b) {
    const PairKey *x = a;
    const PairKey *y = b;
    if (x->what != y->what) {
        return x->what < y->what ? -1 : 1;
    }
    if (x->one != y->one) {
        return x->one < y->one ? -1 : 1;
    }
    return x->two < y->two ? -1 : x->two > y->two;
}

static void check_pairs(Sweep *sweep) {
    double thickest_mm = 0.0;
    for (uint32_t i = 0; i < sweep->tree->arm_count; i++) {
        thickest_mm = fmax(thickest_mm, sweep->tree->arms[i].od_mm);
    }
    double around_mm = fmax(sweep->shop->spacing_mm, sweep->shop->hand_mm) + thickest_mm;
    if (sweep->chord_count > 1) {
        qsort(sweep->chords, sweep->chord_count, sizeof *sweep->chords, by_left);
    }
    PairKey *pairs = NULL;
    size_t count = 0;
    size_t capacity = 0;
    for (size_t i = 0; i < sweep->chord_count; i++) {
        const Chord *p = &sweep->chords[i];
        double right_mm = fmax(p->x1_mm, p->x2_mm) + around_mm;
        double low_mm = fmin(p->y1_mm, p->y2_mm) - around_mm;
        double high_mm = fmax(p->y1_mm, p->y2_mm) + around_mm;
        for (size_t k = i + 1; k < sweep->chord_count; k++) {
            const Chord *q = &sweep->chords[k];
            if (fmin(q->x1_mm, q->x2_mm) > right_mm) {
                break;
            }
            if (fmin(q->y1_mm, q->y2_mm) > high_mm || fmax(q->y1_mm, q->y2_mm) < low_mm) {
                continue;
            }
            int found = check_pair(sweep, p, q);
            uint32_t one = p->arm < q->arm ? p->arm : q->arm;
            uint32_t two = p->arm < q->arm ? q->arm : p->arm;
            for (int what = PAIR_CLOSE; what <= PAIR_HAND; what *= 2) {
                if ((found & what) != 0) {
                    *ARENA_PUSH(sweep->arena, pairs, count, capacity) = (PairKey){one, two, what};
                }
            }
        }
    }
    if (count > 0) {
        qsort(pairs, count, sizeof *pairs, by_pair);
    }
    for (size_t i = 0; i < count; i++) {
        if (i > 0 && by_pair(&pairs[i], &pairs[i - 1]) == 0) {
            continue;
        }
        fault(sweep, pairs[i].one, pairs[i].two);
        uint32_t *counter = pairs[i].what == PAIR_CLOSE     ? &sweep->report->close
                            : pairs[i].what == PAIR_CROSSES ? &sweep->report->crossings
                                                            : &sweep->report->hands;
        (*counter)++;
    }
}

/* --- left and right -----------------------------------------------------------------------------
 */

typedef struct Leaving {
    double board_deg;
    double aircraft_deg;
    uint32_t arm;
} Leaving;

static int by_board(const void *a, const void *b) {
    const Leaving *x = a;
    const Leaving *y = b;
    return x->board_deg < y->board_deg ? -1 : x->board_deg > y->board_deg;
}

static double round_deg(double deg) {
    double wrapped = fmod(deg, 360.0);
    return wrapped < 0.0 ? wrapped + 360.0 : wrapped;
}

/* Going once around a node on the board, the aircraft's directions must also go around once: their
 * steps add up to one turn. Turned arms are left out. */
static void check_order(Sweep *sweep, uint32_t node) {
    const FlatTree *tree = sweep->tree;
    Leaving *rows = ARENA_ARRAY(sweep->arena, Leaving, sweep->degree[node] + 1);
    size_t count = 0;
    for (uint32_t i = 0; i < sweep->degree[node]; i++) {
        uint32_t arm = sweep->around[node][i];
        const FlatArm *row = &tree->arms[arm];
        double deg = row->a == node ? row->bearing_a_deg : row->bearing_b_deg;
        if (!isnan(deg) && sweep->flat->leans[arm] != FLAT_TURNED) {
            rows[count++] = (Leaving){
                round_deg(units_deg_from_rad(flat_leaving_rad(tree, sweep->flat, arm, node))),
                round_deg(deg), arm};
        }
    }
    if (count < 3) {
        return;
    }
    qsort(rows, count, sizeof *rows, by_board);
    double around_deg = 0.0;
    for (size_t i = 0; i < count; i++) {
        double step_deg = round_deg(rows[(i + 1) % count].aircraft_deg - rows[i].aircraft_deg);
        around_deg += step_deg > 360.0 - ANGLE_DEG ? step_deg - 360.0 : step_deg;
    }
    if (around_deg > 360.0 + 1e-6) {
        sweep->report->swapped++;
        fault(sweep, rows[0].arm, FLAT_NONE);
    }
}

/* --- all ----------------------------------------------------------------------------------------
 */

void flat_check(Arena *scratch, const FlatTree *tree, const FlatShop *shop, const Flat *flat,
                FlatReport *report) {
    *report = (FlatReport){.closest_mm = INFINITY,
                           .closest_hand_mm = INFINITY,
                           .first_arm = FLAT_NONE,
                           .second_arm = FLAT_NONE};
    Sweep sweep = {.arena = scratch, .tree = tree, .shop = shop, .flat = flat, .report = report};
    sweep.near = ARENA_ARRAY(scratch, Near *, tree->arm_count + 1);
    sweep.near_counts = ARENA_ARRAY(scratch, size_t, tree->arm_count + 1);
    sweep.near_capacities = ARENA_ARRAY(scratch, size_t, tree->arm_count + 1);
    sweep.around = ARENA_ARRAY(scratch, uint32_t *, tree->node_count + 1);
    sweep.degree = ARENA_ARRAY(scratch, uint32_t, tree->node_count + 1);
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        sweep.degree[tree->arms[i].a]++;
        sweep.degree[tree->arms[i].b]++;
    }
    for (uint32_t i = 0; i < tree->node_count; i++) {
        sweep.around[i] = ARENA_ARRAY(scratch, uint32_t, sweep.degree[i] + 1);
        sweep.degree[i] = 0;
    }
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        sweep.around[tree->arms[i].a][sweep.degree[tree->arms[i].a]++] = i;
        sweep.around[tree->arms[i].b][sweep.degree[tree->arms[i].b]++] = i;
        check_arm(&sweep, i);
    }
    if (report->broken > 0) {
        return; /* what has no path can't be measured */
    }
    for (uint32_t i = 0; i < tree->node_count; i++) {
        find_near(&sweep, i);
        check_order(&sweep, i);
    }
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        cut_arm(&sweep, i);
        cut_shell(&sweep, i, tree->arms[i].a);
        cut_shell(&sweep, i, tree->arms[i].b);
    }
    check_boards(&sweep);
    check_pairs(&sweep);
}

bool flat_is_clean(const FlatReport *report) {
    return report->crossings == 0 && report->close == 0 && report->hands == 0 &&
           report->off_board == 0 && report->tight == 0 && report->broken == 0 &&
           report->swapped == 0 && report->length_off_mm <= LENGTH_MM;
}
