/* The room in which a harness is laid: a grid of cells with short straight samples in them. Two
 * samples are too near when the distance of their middle lines is less than half of both diameters
 * and the spacing, unless both lie in the zone of one breakout. */
#include "board/flat_inner.h"

#include <math.h>
#include <string.h>

#include "base/check.h"

/* Chords of arcs lie inside them by at most this much for the arcs we cut; added to what is asked,
 * so that what fits here fits when it is measured exactly. */
#define CHORD_SLACK_MM 0.5
/* An arm may bend back on itself: its own parts count as neighbours only when they are further
 * apart along the arm than this many times the distance asked for. */
#define OWN_FREE 3.0

/* --- frame --------------------------------------------------------------------------------------
 */

static void build_incident(Arena *out, const FlatTree *tree, FlatFrame *frame) {
    frame->incident_first = ARENA_ARRAY(out, uint32_t, tree->node_count + 2);
    frame->incident = ARENA_ARRAY(out, uint32_t, 2 * (size_t)tree->arm_count + 1);
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        CHECK(tree->arms[i].a < tree->node_count && tree->arms[i].b < tree->node_count);
        CHECK(tree->arms[i].a != tree->arms[i].b && tree->arms[i].length_mm > 0.0);
        frame->incident_first[tree->arms[i].a + 2]++;
        frame->incident_first[tree->arms[i].b + 2]++;
    }
    for (uint32_t i = 0; i < tree->node_count; i++) {
        frame->incident_first[i + 2] += frame->incident_first[i + 1];
    }
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        frame->incident[frame->incident_first[tree->arms[i].a + 1]++] = i;
        frame->incident[frame->incident_first[tree->arms[i].b + 1]++] = i;
    }
}

/* Where many arms leave, they need a larger circle to part: at 70 degrees and more to the trunk on
 * either side each needs its own diameter and the spacing on the circle. */
static double zone_of(const FlatFrame *frame, uint32_t node) {
    const double BOTH_SIDES_RAD = 4.0;
    double sum_mm = 0.0;
    for (uint32_t i = frame->incident_first[node]; i < frame->incident_first[node + 1]; i++) {
        sum_mm += frame->tree->arms[frame->incident[i]].od_mm + frame->shop->spacing_mm;
    }
    return fmax(frame->shop->zone_mm, sum_mm / BOTH_SIDES_RAD);
}

typedef struct Reach {
    uint32_t node;
    uint32_t from_arm;
    double at_mm;
} Reach;

/* Parts of arms in the zone of a node, by walking outwards. */
static void cover_from(const FlatFrame *frame, uint32_t node, Arena *scratch, FlatCover **lists,
                       size_t *counts, size_t *capacities) {
    Reach *stack = NULL;
    size_t count = 0;
    size_t capacity = 0;
    double zone_mm = frame->zone_mm[node];
    *ARENA_PUSH(scratch, stack, count, capacity) = (Reach){node, FLAT_NONE, 0.0};
    while (count > 0) {
        Reach at = stack[--count];
        for (uint32_t i = frame->incident_first[at.node]; i < frame->incident_first[at.node + 1];
             i++) {
            uint32_t arm = frame->incident[i];
            if (arm == at.from_arm) {
                continue;
            }
            const FlatArm *row = &frame->tree->arms[arm];
            double room_mm = fmin(zone_mm - at.at_mm, row->length_mm);
            FlatCover cover = row->a == at.node
                                  ? (FlatCover){node, 0.0, room_mm}
                                  : (FlatCover){node, row->length_mm - room_mm, row->length_mm};
            *ARENA_PUSH(scratch, lists[arm], counts[arm], capacities[arm]) = cover;
            if (at.at_mm + row->length_mm < zone_mm) {
                *ARENA_PUSH(scratch, stack, count, capacity) =
                    (Reach){flat_other(frame->tree, arm, at.node), arm, at.at_mm + row->length_mm};
            }
        }
    }
}

void flat_frame_build(Arena *out, const FlatTree *tree, const FlatShop *shop, FlatFrame *frame) {
    *frame = (FlatFrame){.tree = tree, .shop = shop};
    build_incident(out, tree, frame);
    frame->zone_mm = ARENA_ARRAY(out, double, tree->node_count + 1);
    for (uint32_t i = 0; i < tree->node_count; i++) {
        frame->zone_mm[i] = zone_of(frame, i);
    }
    Arena scratch = {0};
    FlatCover **lists = ARENA_ARRAY(&scratch, FlatCover *, tree->arm_count + 1);
    size_t *counts = ARENA_ARRAY(&scratch, size_t, tree->arm_count + 1);
    size_t *capacities = ARENA_ARRAY(&scratch, size_t, tree->arm_count + 1);
    for (uint32_t i = 0; i < tree->node_count; i++) {
        cover_from(frame, i, &scratch, lists, counts, capacities);
    }
    size_t total = 0;
    frame->cover_first = ARENA_ARRAY(out, uint32_t, tree->arm_count + 1);
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        total += counts[i];
        frame->cover_first[i + 1] = (uint32_t)total;
    }
    frame->covers = ARENA_ARRAY(out, FlatCover, total + 1);
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        for (size_t k = 0; k < counts[i]; k++) {
            frame->covers[frame->cover_first[i] + k] = lists[i][k];
        }
    }
    arena_free(&scratch);
}

/* --- pairs --------------------------------------------------------------------------------------
 */

static double dot_distance2(double px, double py, const FlatSample *s) {
    double dx = s->x2_mm - s->x1_mm;
    double dy = s->y2_mm - s->y1_mm;
    double length2 = dx * dx + dy * dy;
    double t = length2 > 0.0 ? ((px - s->x1_mm) * dx + (py - s->y1_mm) * dy) / length2 : 0.0;
    t = t < 0.0 ? 0.0 : t > 1.0 ? 1.0 : t;
    double ex = px - s->x1_mm - t * dx;
    double ey = py - s->y1_mm - t * dy;
    return ex * ex + ey * ey;
}

static double side_of(double ax, double ay, double bx, double by, double px, double py) {
    return (bx - ax) * (py - ay) - (by - ay) * (px - ax);
}

static bool is_nearer(const FlatSample *p, const FlatSample *q, double need_mm) {
    double need2 = need_mm * need_mm;
    if (fmin(p->x1_mm, p->x2_mm) - need_mm > fmax(q->x1_mm, q->x2_mm) ||
        fmin(q->x1_mm, q->x2_mm) - need_mm > fmax(p->x1_mm, p->x2_mm) ||
        fmin(p->y1_mm, p->y2_mm) - need_mm > fmax(q->y1_mm, q->y2_mm) ||
        fmin(q->y1_mm, q->y2_mm) - need_mm > fmax(p->y1_mm, p->y2_mm)) {
        return false;
    }
    if (dot_distance2(p->x1_mm, p->y1_mm, q) < need2 ||
        dot_distance2(p->x2_mm, p->y2_mm, q) < need2 ||
        dot_distance2(q->x1_mm, q->y1_mm, p) < need2 ||
        dot_distance2(q->x2_mm, q->y2_mm, p) < need2) {
        return true;
    }
    double a = side_of(p->x1_mm, p->y1_mm, p->x2_mm, p->y2_mm, q->x1_mm, q->y1_mm);
    double b = side_of(p->x1_mm, p->y1_mm, p->x2_mm, p->y2_mm, q->x2_mm, q->y2_mm);
    double c = side_of(q->x1_mm, q->y1_mm, q->x2_mm, q->y2_mm, p->x1_mm, p->y1_mm);
    double d = side_of(q->x1_mm, q->y1_mm, q->x2_mm, q->y2_mm, p->x2_mm, p->y2_mm);
    return ((a < 0.0 && b > 0.0) || (a > 0.0 && b < 0.0)) &&
           ((c < 0.0 && d > 0.0) || (c > 0.0 && d < 0.0));
}

/* Both in the zone of one breakout. */
static bool is_excused(const FlatFrame *frame, const FlatSample *p, const FlatSample *q) {
    const double SLACK_MM = 1e-6;
    for (uint32_t i = frame->cover_first[p->arm]; i < frame->cover_first[p->arm + 1]; i++) {
        const FlatCover *own = &frame->covers[i];
        if (p->low_mm < own->low_mm - SLACK_MM || p->high_mm > own->high_mm + SLACK_MM) {
            continue;
        }
        for (uint32_t k = frame->cover_first[q->arm]; k < frame->cover_first[q->arm + 1]; k++) {
            const FlatCover *other = &frame->covers[k];
            if (other->node == own->node && q->low_mm >= other->low_mm - SLACK_MM &&
                q->high_mm <= other->high_mm + SLACK_MM) {
                return true;
            }
        }
    }
    return false;
}

/* Whether two middle lines that may be close in a breakout's zone meet there all the same, away
 * from their common node. */
static bool is_crossing(const FlatFrame *frame, const FlatSample *p, const FlatSample *q) {
    double touch_mm = 0.5;
    const FlatArm *a = &frame->tree->arms[p->arm];
    const FlatArm *b = &frame->tree->arms[q->arm];
    double p_end_mm = fmin(p->low_mm, a->length_mm - p->high_mm);
    double q_end_mm = fmin(q->low_mm, b->length_mm - q->high_mm);
    bool common = a->a == b->a || a->a == b->b || a->b == b->a || a->b == b->b;
    if (common && p_end_mm < touch_mm && q_end_mm < touch_mm) {
        return false; /* both begin at the node; straight from it, so they do not meet again */
    }
    if (!common) {
        touch_mm += p->half_mm + q->half_mm; /* one does not lie on the other even here */
    }
    return is_nearer(p, q, touch_mm);
}

static bool is_bad_pair(const FlatRoom *room, const FlatSample *p, const FlatSample *q) {
    const FlatShop *shop = room->frame->shop;
    bool p_end = p->kind == SAMPLE_END;
    bool q_end = q->kind == SAMPLE_END;
    if (p->arm == q->arm && (p_end || q_end)) {
        return false;
    }
    double need_mm = (p_end || q_end ? shop->hand_mm : shop->spacing_mm) + p->half_mm + q->half_mm +
                     CHORD_SLACK_MM;
    if (!is_nearer(p, q, need_mm)) {
        return false;
    }
    if (p_end || q_end) {
        return true;
    }
    if (p->arm == q->arm) {
        double apart_mm = fmax(p->low_mm, q->low_mm) - fmin(p->high_mm, q->high_mm);
        return apart_mm > OWN_FREE * need_mm;
    }
    return !is_excused(room->frame, p, q) || is_crossing(room->frame, p, q);
}

/* --- edges of the boards ------------------------------------------------------------------------
 */

/* Whether a stretch along one axis reaches into the seam between two boards. */
static bool is_in_seam(double low_mm, double high_mm, double board_mm, uint32_t count,
                       const FlatShop *shop) {
    double pitch_mm = board_mm + shop->gap_mm;
    if (count < 2) {
        return false;
    }
    double k = floor(low_mm / pitch_mm) - 1.0;
    for (int i = 0; i < 3; i++, k += 1.0) {
        double from_mm = k * pitch_mm + board_mm - shop->seam_mm;
        double to_mm = (k + 1.0) * pitch_mm + shop->seam_mm;
        if (k >= 0.0 && k + 1.0 < (double)count && low_mm < to_mm && high_mm > from_mm) {
            return true;
        }
    }
    return false;
}

/* Straight parts may lie on a seam, their nodes may not; nothing else may. */
static bool is_on_seam(const FlatRoom *room, const FlatSample *sample, double one_mm, double two_mm,
                       double board_mm, uint32_t count) {
    const FlatShop *shop = room->frame->shop;
    double length_mm = room->frame->tree->arms[sample->arm].length_mm;
    if (sample->kind != SAMPLE_STRAIGHT) {
        double wide_mm = sample->half_mm + CHORD_SLACK_MM;
        return is_in_seam(fmin(one_mm, two_mm) - wide_mm, fmax(one_mm, two_mm) + wide_mm, board_mm,
                          count, shop);
    }
    return (sample->low_mm <= 0.0 && is_in_seam(one_mm, one_mm, board_mm, count, shop)) ||
           (sample->high_mm >= length_mm && is_in_seam(two_mm, two_mm, board_mm, count, shop));
}

bool flat_room_is_off(const FlatRoom *room, const FlatSample *sample) {
    const FlatShop *shop = room->frame->shop;
    double low_x_mm = fmin(sample->x1_mm, sample->x2_mm) - sample->half_mm - CHORD_SLACK_MM;
    double high_x_mm = fmax(sample->x1_mm, sample->x2_mm) + sample->half_mm + CHORD_SLACK_MM;
    double low_y_mm = fmin(sample->y1_mm, sample->y2_mm) - sample->half_mm - CHORD_SLACK_MM;
    double high_y_mm = fmax(sample->y1_mm, sample->y2_mm) + sample->half_mm + CHORD_SLACK_MM;
    double width_mm = room->columns * (shop->board_length_mm + shop->gap_mm) - shop->gap_mm;
    double height_mm = room->rows * (shop->board_width_mm + shop->gap_mm) - shop->gap_mm;
    if (low_x_mm < shop->margin_mm || low_y_mm < shop->margin_mm ||
        high_x_mm > width_mm - shop->margin_mm || high_y_mm > height_mm - shop->margin_mm) {
        return true;
    }
    return is_on_seam(room, sample, sample->x1_mm, sample->x2_mm, shop->board_length_mm,
                      room->columns) ||
           is_on_seam(room, sample, sample->y1_mm, sample->y2_mm, shop->board_width_mm, room->rows);
}

/* --- grid ---------------------------------------------------------------------------------------
 */

static uint32_t cell_of(double at_mm) {
    double cell = floor(at_mm / ROOM_CELL_MM) + ROOM_SIDE / 4.0;
    return cell < 0.0 ? 0u : cell > ROOM_SIDE - 1.0 ? ROOM_SIDE - 1u : (uint32_t)cell;
}

typedef struct Cells {
    uint32_t left;
    uint32_t right;
    uint32_t low;
    uint32_t high;
} Cells;

static Cells cells_of(const FlatSample *sample, double around_mm) {
    return (Cells){
        cell_of(fmin(sample->x1_mm, sample->x2_mm) - around_mm),
        cell_of(fmax(sample->x1_mm, sample->x2_mm) + around_mm),
        cell_of(fmin(sample->y1_mm, sample->y2_mm) - around_mm),
        cell_of(fmax(sample->y1_mm, sample->y2_mm) + around_mm),
    };
}

void flat_room_start(Arena *arena, const FlatFrame *frame, FlatRoom *room) {
    *room = (FlatRoom){.arena = arena, .frame = frame, .owner = FLAT_NONE};
    room->heads = ARENA_ARRAY(arena, uint32_t, (size_t)ROOM_SIDE * ROOM_SIDE);
    double thickest_mm = 0.0;
    for (uint32_t i = 0; i < frame->tree->arm_count; i++) {
        thickest_mm = fmax(thickest_mm, frame->tree->arms[i].od_mm);
    }
    room->reach_mm =
        fmax(frame->shop->spacing_mm, frame->shop->hand_mm) + thickest_mm + CHORD_SLACK_MM;
}

void flat_room_cut(FlatRoom *room, size_t count) {
    while (room->entry_count > 0 && room->entries[room->entry_count - 1].sample >= count) {
        const RoomEntry *entry = &room->entries[--room->entry_count];
        room->heads[entry->cell] = entry->next;
    }
    room->samples.count = count;
}

void flat_room_add(FlatRoom *room, const FlatSample *sample) {
    uint32_t index = (uint32_t)room->samples.count;
    *ARENA_PUSH(room->arena, room->samples.rows, room->samples.count, room->samples.capacity) =
        *sample;
    room->samples.rows[index].owner = room->owner;
    room->samples.rows[index].gone = false;
    Cells cells = cells_of(sample, 0.0);
    for (uint32_t y = cells.low; y <= cells.high; y++) {
        for (uint32_t x = cells.left; x <= cells.right; x++) {
            uint32_t cell = y * ROOM_SIDE + x;
            *ARENA_PUSH(room->arena, room->entries, room->entry_count, room->entry_capacity) =
                (RoomEntry){index, room->heads[cell], cell};
            room->heads[cell] = (uint32_t)room->entry_count;
        }
    }
}

bool flat_room_hits(const FlatRoom *room, const FlatSample *sample) {
    if (room->bounded && flat_room_is_off(room, sample)) {
        return true;
    }
    Cells cells = cells_of(sample, room->reach_mm);
    for (uint32_t y = cells.low; y <= cells.high; y++) {
        for (uint32_t x = cells.left; x <= cells.right; x++) {
            for (uint32_t at = room->heads[y * ROOM_SIDE + x]; at != 0;
                 at = room->entries[at - 1].next) {
                const FlatSample *other = &room->samples.rows[room->entries[at - 1].sample];
                if (!other->gone && is_bad_pair(room, sample, other)) {
                    return true;
                }
            }
        }
    }
    return false;
}

static bool note_owner(uint32_t owner, uint32_t *owners, uint32_t *count, uint32_t most) {
    for (uint32_t i = 0; i < *count; i++) {
        if (owners[i] == owner) {
            return true;
        }
    }
    if (*count == most) {
        return false;
    }
    owners[(*count)++] = owner;
    return true;
}

bool flat_room_blockers(const FlatRoom *room, const FlatSample *sample, uint32_t *owners,
                        uint32_t *count, uint32_t most) {
    if (room->bounded && flat_room_is_off(room, sample)) {
        return false;
    }
    Cells cells = cells_of(sample, room->reach_mm);
    for (uint32_t y = cells.low; y <= cells.high; y++) {
        for (uint32_t x = cells.left; x <= cells.right; x++) {
            for (uint32_t at = room->heads[y * ROOM_SIDE + x]; at != 0;
                 at = room->entries[at - 1].next) {
                const FlatSample *other = &room->samples.rows[room->entries[at - 1].sample];
                if (!other->gone && is_bad_pair(room, sample, other) &&
                    (other->owner == FLAT_NONE || !note_owner(other->owner, owners, count, most))) {
                    return false;
                }
            }
        }
    }
    return true;
}

void flat_room_remove(FlatRoom *room, size_t mark, uint32_t owner) {
    for (size_t i = mark; i < room->samples.count; i++) {
        if (room->samples.rows[i].owner == owner) {
            room->samples.rows[i].gone = true;
        }
    }
}

FlatSample flat_sample_moved(const FlatSample *sample, FlatPoint to, double cosine, double sine) {
    FlatSample moved = *sample;
    moved.x1_mm = to.x_mm + sample->x1_mm * cosine - sample->y1_mm * sine;
    moved.y1_mm = to.y_mm + sample->x1_mm * sine + sample->y1_mm * cosine;
    moved.x2_mm = to.x_mm + sample->x2_mm * cosine - sample->y2_mm * sine;
    moved.y2_mm = to.y_mm + sample->x2_mm * sine + sample->y2_mm * cosine;
    return moved;
}
