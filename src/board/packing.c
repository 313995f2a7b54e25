/* Method. Circles lie in a round container that is made smaller step by step. At each step
 * overlapping circles are pushed apart and those that stick out are pulled in, again and again
 * (position-based relaxation: it lowers the sum of squared overlaps). Whatever is left of overlaps
 * is then removed by spreading the centres from the middle, which gives a true packing; the best
 * one of all steps is kept. Ten fixed starts (packing_start.c) are squeezed a little, the best
 * two to the end. Then the best is shaken, as long as the allowance of work lasts: a circle jumps
 * into a hole, two of different size change places, or all of one side are stirred; it is squeezed
 * again, and what is better is kept. The chance in it is a fixed sequence, the allowance counts
 * pairs looked at, not time: the same circles always end in the same places.
 */
#include "board/packing.h"

#include <math.h>
#include <stdint.h>

#include "base/check.h"
#include "base/units.h"
#include "board/packing_inner.h"

enum { FINISHED = 2, QUICK_ROUNDS = 2, ROUNDS = 40, TURNS = 8, SWEEPS = 10 };

/* First and last relative step of the container, the factor after a step that was too large, and
 * after one that went half way. */
#define STEP_FIRST 0.06
#define STEP_LAST 0.0003
#define STEP_TOO_LARGE 0.5
#define STEP_HALF_WAY 0.6

/* Shaking: how much smaller than the best one the container is that is tried, the first step and
 * the rounds of squeezing after it, how much larger the walk may become, and after how many turns
 * without gain it goes back to the best. PLACES are tried for a jump. */
#define SHAKE_TIGHTER 0.01
#define SHAKE_STEP 0.01
#define SHAKE_WORSE 0.002
enum { SHAKE_ROUNDS = 10, SHAKE_PATIENCE = 12, SHAKE_TURNS = 12, PLACES = 100 };

/* Pairs looked at for one bundle: some 10 ms. */
#define ALLOWANCE 2000000u

/* --- relaxation ------------------------------------------------------------------------------- */

/* Pairs near enough to touch within the next sweeps. */
typedef struct Neighbours {
    size_t count;
    uint16_t a[PACKING_MOST * (PACKING_MOST - 1) / 2];
    uint16_t b[PACKING_MOST * (PACKING_MOST - 1) / 2];
} Neighbours;

static void neighbours_find(const Packing *p, double reach, Neighbours *near) {
    near->count = 0;
    for (size_t i = 0; i < p->count; i++) {
        for (size_t j = i + 1; j < p->count; j++) {
            double dx = p->x[j] - p->x[i];
            double dy = p->y[j] - p->y[i];
            double away = p->r[i] + p->r[j] + reach;
            if (dx * dx + dy * dy < away * away) {
                near->a[near->count] = (uint16_t)i;
                near->b[near->count] = (uint16_t)j;
                near->count++;
            }
        }
    }
}

/* Parts two circles if they overlap, the lighter moving more; returns the overlap. */
static double part_pair(Packing *p, size_t i, size_t j) {
    double dx = p->x[j] - p->x[i];
    double dy = p->y[j] - p->y[i];
    double touch = p->r[i] + p->r[j];
    double square = dx * dx + dy * dy;
    if (square >= touch * touch) {
        return 0.0;
    }
    double distance = sqrt(square);
    if (distance < 1e-12 * touch) { /* one upon the other: part them along x */
        dx = distance = 1e-12 * touch;
        dy = 0.0;
    }
    double overlap = touch - distance;
    double push = overlap / distance;
    double weight_i = p->r[i] * p->r[i];
    double weight_j = p->r[j] * p->r[j];
    double share_i = weight_j / (weight_i + weight_j);
    p->x[i] -= dx * push * share_i;
    p->y[i] -= dy * push * share_i;
    p->x[j] += dx * push * (1.0 - share_i);
    p->y[j] += dy * push * (1.0 - share_i);
    return overlap;
}

/* One sweep: pairs are parted, what sticks out of `radius` is pulled in. Returns the largest
 * overlap met. */
static double sweep_once(Packing *p, const Neighbours *near, double radius) {
    double worst = 0.0;
    for (size_t k = 0; k < near->count; k++) {
        worst = fmax(worst, part_pair(p, near->a[k], near->b[k]));
    }
    for (size_t i = 0; i < p->count; i++) {
        double square = p->x[i] * p->x[i] + p->y[i] * p->y[i];
        double most = fmax(radius - p->r[i], 0.0);
        if (square > most * most) {
            double distance = sqrt(square);
            p->x[i] *= most / distance;
            p->y[i] *= most / distance;
            worst = fmax(worst, distance - most);
        }
    }
    return worst;
}

/* A search: what it may still do, its chance, its scratch. */
typedef struct Search {
    uint64_t work;   /* pairs looked at so far */
    uint64_t chance; /* state of the fixed sequence */
    Packing trial;
    Neighbours near;
} Search;

static void relax(Search *search, Packing *p, double radius) {
    const double good_enough = 1e-6 * p->pitch; /* the rest is spread away afterwards */
    for (int turn = 0; turn < TURNS; turn++) {
        neighbours_find(p, 0.25 * p->pitch, &search->near);
        search->work += p->count * p->count / 2;
        for (int sweep = 0; sweep < SWEEPS; sweep++) {
            search->work += search->near.count + p->count;
            if (sweep_once(p, &search->near, radius) < good_enough) {
                return;
            }
        }
    }
}

/* --- true packings ---------------------------------------------------------------------------- */

double packing_enclose(Packing *p) {
    double cx = 0.0;
    double cy = 0.0;
    double best = (double)INFINITY;
    double best_x = 0.0;
    double best_y = 0.0;
    for (int step = 1; step <= 60; step++) {
        double furthest = 0.0;
        size_t which = 0;
        for (size_t i = 0; i < p->count; i++) {
            double dx = p->x[i] - cx;
            double dy = p->y[i] - cy;
            double reach = sqrt(dx * dx + dy * dy) + p->r[i];
            if (reach > furthest) {
                furthest = reach;
                which = i;
            }
        }
        if (furthest < best) {
            best = furthest;
            best_x = cx;
            best_y = cy;
        }
        double part = 0.2 / (step + 1.0);
        cx += (p->x[which] - cx) * part;
        cy += (p->y[which] - cy) * part;
    }
    for (size_t i = 0; i < p->count; i++) {
        p->x[i] -= best_x;
        p->y[i] -= best_y;
    }
    return best;
}

/* Spreads the centres until nothing overlaps; returns the radius round all. */
static double legalise(Packing *p) {
    double spread = 1.0;
    for (size_t i = 0; i < p->count; i++) {
        for (size_t j = i + 1; j < p->count; j++) {
            double dx = p->x[j] - p->x[i];
            double dy = p->y[j] - p->y[i];
            double touch = p->r[i] + p->r[j];
            double square = dx * dx + dy * dy;
            if (square * spread * spread < touch * touch) {
                spread = touch / fmax(sqrt(square), 1e-12 * touch);
            }
        }
    }
    for (size_t i = 0; i < p->count; i++) {
        p->x[i] *= spread;
        p->y[i] *= spread;
    }
    return packing_enclose(p);
}

/* Makes the container smaller as far as `rounds` allow, by `step` at first; returns the radius
 * reached. `p` is a true packing of that radius afterwards. */
static double squeeze(Search *search, Packing *p, double step, int rounds) {
    double best = legalise(p);
    for (int round = 0; round < rounds && step > STEP_LAST; round++) {
        search->trial = *p;
        relax(search, &search->trial, best * (1.0 - step));
        double reached = legalise(&search->trial);
        if (reached >= best) {
            step *= STEP_TOO_LARGE;
            continue;
        }
        if (reached > best * (1.0 - 0.3 * step)) {
            step *= STEP_HALF_WAY;
        }
        best = reached;
        *p = search->trial;
    }
    return best;
}

/* --- shaking ---------------------------------------------------------------------------------- */

/* The next number of the fixed sequence, from 0 up to but not including 1. */
static double chance_next(Search *search) {
    search->chance = search->chance * 6364136223846793005u + 1442695040888963407u;
    return (double)(search->chance >> 40) / 16777216.0;
}

static size_t chance_below(Search *search, size_t count) {
    return (size_t)(chance_next(search) * (double)count);
}

/* A circle jumps into the largest hole among places tried by chance, where it will have to make
 * room for itself. */
static void shake_jump(Search *search, Packing *p, double radius) {
    size_t moved = chance_below(search, p->count);
    double best = -(double)INFINITY;
    double best_x = 0.0;
    double best_y = 0.0;
    for (int place = 0; place < PLACES; place++) {
        double reach = (radius - p->r[moved]) * sqrt(chance_next(search));
        double angle = 2.0 * UNITS_PI * chance_next(search);
        double x = reach * cos(angle);
        double y = reach * sin(angle);
        double room = radius - reach;
        for (size_t i = 0; i < p->count; i++) {
            if (i != moved) {
                double dx = p->x[i] - x;
                double dy = p->y[i] - y;
                room = fmin(room, sqrt(dx * dx + dy * dy) - p->r[i]);
            }
        }
        if (room > best) {
            best = room;
            best_x = x;
            best_y = y;
        }
    }
    search->work += PLACES * p->count;
    p->x[moved] = best_x;
    p->y[moved] = best_y;
}

/* Two circles of different size change places; false when chance found no such pair. */
static bool shake_swap(Search *search, Packing *p) {
    for (int attempt = 0; attempt < 8; attempt++) {
        size_t i = chance_below(search, p->count);
        size_t j = chance_below(search, p->count);
        if (fabs(p->r[i] - p->r[j]) > 1e-3 * p->pitch) {
            double x = p->x[i];
            double y = p->y[i];
            p->x[i] = p->x[j];
            p->y[i] = p->y[j];
            p->x[j] = x;
            p->y[j] = y;
            return true;
        }
    }
    return false;
}

/* Circles on one side of a line are stirred by up to half a pitch. */
static void shake_stir(Search *search, Packing *p, double radius) {
    double angle = 2.0 * UNITS_PI * chance_next(search);
    double nx = cos(angle);
    double ny = sin(angle);
    double beyond = radius * (1.4 * chance_next(search) - 0.7);
    double most = p->pitch * (0.2 + 0.6 * chance_next(search));
    for (size_t i = 0; i < p->count; i++) {
        double dx = most * (2.0 * chance_next(search) - 1.0);
        double dy = most * (2.0 * chance_next(search) - 1.0);
        if (p->x[i] * nx + p->y[i] * ny > beyond) {
            p->x[i] += dx;
            p->y[i] += dy;
        }
    }
}

/* Shakes and squeezes until the allowance is used up; returns the radius of the best, which is in
 * `best`. The walk may go on from a packing that is a little larger, for a few steps. */
static double shake(Search *search, Packing *best, double radius, Packing *walk, Packing *next) {
    *walk = *best;
    double walk_radius = radius;
    double best_radius = radius;
    unsigned failed = 0;
    const unsigned turns = SHAKE_TURNS * (unsigned)best->count;
    for (unsigned turn = 0; turn < turns && search->work < ALLOWANCE; turn++) {
        *next = *walk;
        if (turn % 3 == 0 || (turn % 3 == 1 && !shake_swap(search, next))) {
            shake_jump(search, next, walk_radius);
        } else if (turn % 3 == 2) {
            shake_stir(search, next, walk_radius);
        }
        relax(search, next, best_radius * (1.0 - SHAKE_TIGHTER));
        double reached = squeeze(search, next, SHAKE_STEP, SHAKE_ROUNDS);
        if (reached < best_radius * (1.0 - 1e-12)) {
            best_radius = reached;
            *best = *next;
            failed = 0;
        } else {
            failed++;
        }
        if (reached < walk_radius * (1.0 + SHAKE_WORSE)) {
            *walk = *next;
            walk_radius = reached;
        }
        if (failed % SHAKE_PATIENCE == SHAKE_PATIENCE - 1) {
            *walk = *best;
            walk_radius = best_radius;
        }
    }
    return best_radius;
}

/* --- packing ---------------------------------------------------------------------------------- */

/* Fills `order` with the circles from thick to thin, equal ones as given, and `p` with radii. */
static void sort_circles(const PackingCircle *circles, size_t count, uint16_t *order, Packing *p) {
    p->count = count;
    for (size_t i = 0; i < count; i++) {
        size_t at = i;
        CHECK(circles[i].diameter_mm > 0.0 && isfinite(circles[i].diameter_mm));
        while (at > 0 && circles[order[at - 1]].diameter_mm < circles[i].diameter_mm) {
            order[at] = order[at - 1];
            at--;
        }
        order[at] = (uint16_t)i;
        p->pitch += circles[i].diameter_mm / (double)count;
    }
    for (size_t k = 0; k < count; k++) {
        p->r[k] = 0.5 * circles[order[k]].diameter_mm;
    }
}

static double pack_side_by_side(PackingCircle *circles, size_t count) {
    double d0 = circles[0].diameter_mm;
    double d1 = count == 2 ? circles[1].diameter_mm : 0.0;
    circles[0].x_mm = -0.5 * d1;
    circles[0].y_mm = 0.0;
    if (count == 2) {
        circles[1].x_mm = 0.5 * d0;
        circles[1].y_mm = 0.0;
    }
    return d0 + d1;
}

/* The best of all starts, squeezed to the end; it is left in tries[0]. */
static double pack_starts(Search *search, Packing *tries) {
    double radius[PACKING_STARTS];
    bool finished[PACKING_STARTS] = {false};
    for (int i = 0; i < PACKING_STARTS; i++) {
        packing_start(&tries[i], i);
        radius[i] = squeeze(search, &tries[i], STEP_FIRST, QUICK_ROUNDS);
    }
    int best = -1;
    for (int f = 0; f < FINISHED; f++) {
        int next = -1;
        for (int i = 0; i < PACKING_STARTS; i++) {
            if (!finished[i] && (next < 0 || radius[i] < radius[next])) {
                next = i;
            }
        }
        finished[next] = true;
        radius[next] = squeeze(search, &tries[next], STEP_FIRST, ROUNDS);
        best = best < 0 || radius[next] < radius[best] ? next : best;
    }
    if (best != 0) {
        tries[0] = tries[best];
    }
    return radius[best];
}

double packing_round(PackingCircle *circles, size_t count) {
    CHECK(count <= PACKING_MOST);
    if (count <= 2) { /* side by side, exactly */
        return count == 0 ? 0.0 : pack_side_by_side(circles, count);
    }
    uint16_t order[PACKING_MOST];
    Packing tries[PACKING_STARTS] = {0};
    Search search = {.chance = 20250711};
    sort_circles(circles, count, order, &tries[0]);
    for (int i = 1; i < PACKING_STARTS; i++) {
        tries[i] = tries[0];
    }
    double radius = pack_starts(&search, tries);
    radius = shake(&search, &tries[0], radius, &tries[1], &tries[2]);
    for (size_t k = 0; k < count; k++) {
        circles[order[k]].x_mm = tries[0].x[k];
        circles[order[k]].y_mm = tries[0].y[k];
    }
    return 2.0 * radius;
}

PackingCheck packing_check(const PackingCircle *circles, size_t count, double container_mm) {
    PackingCheck check = {0.0, 0.0};
    for (size_t i = 0; i < count; i++) {
        const PackingCircle *a = &circles[i];
        double reach_mm = sqrt(a->x_mm * a->x_mm + a->y_mm * a->y_mm) + 0.5 * a->diameter_mm;
        check.outside_mm = fmax(check.outside_mm, reach_mm - 0.5 * container_mm);
        for (size_t j = i + 1; j < count; j++) {
            double dx = circles[j].x_mm - a->x_mm;
            double dy = circles[j].y_mm - a->y_mm;
            double touch_mm = 0.5 * (a->diameter_mm + circles[j].diameter_mm);
            check.overlap_mm = fmax(check.overlap_mm, touch_mm - sqrt(dx * dx + dy * dy));
        }
    }
    return check;
}
