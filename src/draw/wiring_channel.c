/* Method. Every line that is not straight needs a vertical in the channel. Two things order the
 * verticals of two lines: where the left end of one and the right end of the other are at the same
 * height, the first must stand further left, or they would lie on each other (must); and where two
 * lines that do not interleave overlap in height, one order saves two crossings (should). Lines are
 * taken in an order that obeys both, uppermost first (left edge), each to the first free track
 * right of all that must stand left of it. When only a circle of musts is left, one line steps
 * aside: two verticals with a short horizontal at a height that nobody uses. */
#include "draw/wiring_graph.h"

#include <math.h>

/* Heights are multiples of 2.5 mm; less than half of that apart is equal. */
#define SAME_MM 1.0
#define APART_MM 2.0 /* between two verticals on one track */

typedef struct Span {
    double top_mm;
    double bottom_mm;
    uint32_t next; /* on the same track, LAYOUT_NONE */
} Span;

typedef struct Channel {
    Arena *arena;
    ChannelLine *lines;
    size_t count;
    Span *spans;
    size_t span_count;
    size_t span_capacity;
    uint32_t *track_spans; /* first span of each track */
    uint32_t track_count;
    double *steps; /* heights taken by steps */
    size_t step_count;
    size_t step_capacity;
} Channel;

static bool same(double a_mm, double b_mm) {
    return fabs(a_mm - b_mm) < SAME_MM;
}

static double top(const ChannelLine *line) {
    return fmin(line->left_mm, line->right_mm);
}

static double bottom(const ChannelLine *line) {
    return fmax(line->left_mm, line->right_mm);
}

static bool is_straight(const ChannelLine *line) {
    return !line->turn && same(line->left_mm, line->right_mm);
}

/* a's left end at the height of b's right end: a's vertical must be further left. */
static bool must(const ChannelLine *a, const ChannelLine *b) {
    if (b->turn) {
        return false;
    }
    return same(a->left_mm, b->right_mm) || (a->turn && same(a->right_mm, b->right_mm));
}

static bool overlap(const ChannelLine *a, const ChannelLine *b) {
    return top(a) < bottom(b) + APART_MM && top(b) < bottom(a) + APART_MM;
}

/* a further left than b saves crossings. */
static bool should(const ChannelLine *a, const ChannelLine *b) {
    if (!overlap(a, b)) {
        return false;
    }
    if (a->turn && b->turn) {
        return top(a) > top(b) && bottom(a) < bottom(b);
    }
    if (a->turn || b->turn) {
        return a->turn;
    }
    bool a_down = a->right_mm > a->left_mm;
    bool b_down = b->right_mm > b->left_mm;
    if (a_down != b_down || (a->left_mm < b->left_mm) != (a->right_mm < b->right_mm)) {
        return false;
    }
    return a_down ? a->left_mm > b->left_mm : a->left_mm < b->left_mm;
}

/* --- tracks -------------------------------------------------------------------------------------
 */

static bool is_free(const Channel *channel, uint32_t track, double top_mm, double bottom_mm) {
    for (uint32_t i = channel->track_spans[track]; i != LAYOUT_NONE; i = channel->spans[i].next) {
        const Span *span = &channel->spans[i];
        if (top_mm < span->bottom_mm + APART_MM && span->top_mm < bottom_mm + APART_MM) {
            return false;
        }
    }
    return true;
}

static uint32_t take_track(Channel *channel, uint32_t first, double one_mm, double other_mm) {
    double top_mm = fmin(one_mm, other_mm);
    double bottom_mm = fmax(one_mm, other_mm);
    uint32_t track = first;
    while (track < channel->track_count && !is_free(channel, track, top_mm, bottom_mm)) {
        track++;
    }
    while (channel->track_count <= track) {
        channel->track_spans[channel->track_count++] = LAYOUT_NONE;
    }
    *ARENA_PUSH(channel->arena, channel->spans, channel->span_count, channel->span_capacity) =
        (Span){top_mm, bottom_mm, channel->track_spans[track]};
    channel->track_spans[track] = (uint32_t)channel->span_count - 1;
    return track;
}

/* --- stepping aside -----------------------------------------------------------------------------
 */

static bool is_used(const Channel *channel, double y_mm) {
    for (size_t i = 0; i < channel->count; i++) {
        if (same(channel->lines[i].left_mm, y_mm) || same(channel->lines[i].right_mm, y_mm)) {
            return true;
        }
    }
    for (size_t i = 0; i < channel->step_count; i++) {
        if (same(channel->steps[i], y_mm)) {
            return true;
        }
    }
    return false;
}

static double free_height(Channel *channel, const ChannelLine *line) {
    double middle_mm = LAYOUT_TRACK_MM * round((top(line) + bottom(line)) / 2.0 / LAYOUT_TRACK_MM);
    double found_mm = middle_mm;
    for (uint32_t i = 0; is_used(channel, found_mm); i++) {
        uint32_t tracks = i / 2 + 1;
        double away_mm = LAYOUT_TRACK_MM * tracks;
        found_mm = middle_mm + (i % 2 == 0 ? away_mm : -away_mm);
    }
    *ARENA_PUSH(channel->arena, channel->steps, channel->step_count, channel->step_capacity) =
        found_mm;
    return found_mm;
}

/* --- order --------------------------------------------------------------------------------------
 */

typedef struct Waiting {
    bool placed;
    bool begun; /* first of its two verticals stands */
    uint32_t musts;
    uint32_t shoulds;
    uint32_t after; /* tracks it must stay right of: below this are taken by others */
} Waiting;

/* The line to take next: fewest musts, then fewest shoulds, then uppermost. */
static size_t choose(const Channel *channel, const Waiting *waiting) {
    size_t best = SIZE_MAX;
    for (size_t i = 0; i < channel->count; i++) {
        const Waiting *w = &waiting[i];
        if (w->placed || (w->begun && w->musts > 0)) {
            continue;
        }
        const Waiting *b = &waiting[best == SIZE_MAX ? i : best];
        bool better = best == SIZE_MAX || w->musts < b->musts ||
                      (w->musts == b->musts &&
                       (w->shoulds < b->shoulds ||
                        (w->shoulds == b->shoulds &&
                         top(&channel->lines[i]) < top(&channel->lines[best]) - 0.01)));
        best = better ? i : best;
    }
    return best;
}

/* `line` now has a vertical on `track`: those it held up may come right of it. */
static void release(const Channel *channel, Waiting *waiting, size_t line, uint32_t track,
                    bool musts, bool shoulds, bool plain) {
    const ChannelLine *a = &channel->lines[line];
    for (size_t i = 0; i < channel->count; i++) {
        const ChannelLine *b = &channel->lines[i];
        if (i == line || waiting[i].placed) {
            continue;
        }
        bool right_of = false;
        if (musts && must(a, b)) {
            waiting[i].musts--;
            right_of = true;
        }
        if (shoulds && !plain && should(a, b)) {
            waiting[i].shoulds--;
            right_of = true;
        }
        if (right_of && waiting[i].after < track + 1) {
            waiting[i].after = track + 1;
        }
    }
}

uint32_t wiring_channel(Arena *arena, ChannelLine *lines, size_t count, bool plain) {
    Channel channel = {.arena = arena, .lines = lines, .count = count};
    channel.track_spans = ARENA_ARRAY(arena, uint32_t, 2 * count + 2);
    Waiting *waiting = ARENA_ARRAY(arena, Waiting, count);
    size_t left = 0;
    for (size_t i = 0; i < count; i++) {
        lines[i].track = LAYOUT_NONE;
        lines[i].track_end = LAYOUT_NONE;
        waiting[i].placed = is_straight(&lines[i]);
        left += waiting[i].placed ? 0 : 1;
        for (size_t k = 0; k < count && !waiting[i].placed; k++) {
            if (k != i && !is_straight(&lines[k])) {
                waiting[i].musts += must(&lines[k], &lines[i]) ? 1 : 0;
                waiting[i].shoulds += !plain && should(&lines[k], &lines[i]) ? 1 : 0;
            }
        }
    }
    while (left > 0) {
        size_t next = choose(&channel, waiting);
        ChannelLine *line = &lines[next];
        Waiting *w = &waiting[next];
        if (w->begun) {
            line->track_end =
                take_track(&channel, line->track + 1 > w->after ? line->track + 1 : w->after,
                           line->step_mm, line->right_mm);
            w->placed = true;
            release(&channel, waiting, next, line->track_end, false, true, plain);
            left--;
        } else if (w->musts > 0) {
            line->step_mm = free_height(&channel, line);
            line->track = take_track(&channel, 0, line->left_mm, line->step_mm);
            w->begun = true;
            release(&channel, waiting, next, line->track, true, false, plain);
        } else {
            line->track = take_track(&channel, w->after, line->left_mm, line->right_mm);
            w->placed = true;
            release(&channel, waiting, next, line->track, true, true, plain);
            left--;
        }
    }
    return channel.track_count;
}
