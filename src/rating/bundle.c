#include "rating/bundle.h"

#include <stdbool.h>
#include <stdint.h>

#include "base/check.h"
#include "base/units.h"

/* Wires that are packed loosely for being few. */
enum { FEW = 6 };

/* --- rules
 * ---------------------------------------------------------------------------------------- */

double bundle_shop_mm(const double *diameters_mm, size_t count) {
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += diameters_mm[i] * diameters_mm[i];
    }
    return count == 1 ? diameters_mm[0] : BUNDLE_SHOP_FACTOR * sqrt(sum);
}

double bundle_least_mm(const double *diameters_mm, size_t count) {
    double thickest = 0.0;
    double second = 0.0;
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        double d = diameters_mm[i];
        sum += d * d;
        second = fmax(second, fmin(thickest, d));
        thickest = fmax(thickest, d);
    }
    return fmax(thickest + second, sqrt(sum));
}

/* Sum of the squares of the `FEW` thickest (of all when there are fewer). */
static double few_squares(const double *diameters_mm, size_t count) {
    double thick[FEW] = {0.0};
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        double d = diameters_mm[i];
        for (size_t k = 0; k < FEW && d > 0.0; k++) {
            double larger = fmax(thick[k], d);
            d = fmin(thick[k], d);
            thick[k] = larger;
        }
    }
    for (size_t k = 0; k < FEW; k++) {
        sum += thick[k] * thick[k];
    }
    return sum;
}

double bundle_mm(const double *diameters_mm, size_t count) {
    double least = bundle_least_mm(diameters_mm, count);
    if (count <= 2) {
        return least; /* side by side, exactly */
    }
    double few = BUNDLE_FEW_FACTOR * sqrt(few_squares(diameters_mm, count));
    return fmax(fmax(bundle_shop_mm(diameters_mm, count), few), least);
}

RatingValue bundle_equal_mm(const BundleEqual *rows, size_t count, unsigned wires,
                            double diameter_mm) {
    for (size_t i = 0; i < count; i++) {
        if (rows[i].wires == wires) {
            /* fmax passes over a blank column. */
            return rating_published(fmax(rows[i].packing, rows[i].catalogue) * diameter_mm);
        }
    }
    return rating_derived(BUNDLE_SHOP_FACTOR * sqrt(wires) * diameter_mm);
}

/* --- packing -------------------------------------------------------------------------------------
 * *
 *
 * Method. Circles lie in a round container that is made smaller step by step. At each step
 * overlapping circles are pushed apart and those that stick out are pulled in, again and again
 * (position-based relaxation). Whatever is left of overlaps is then removed by spreading the
 * centres from the middle, which gives a true packing; the best one of all steps is kept.
 * Ten fixed starts: a hexagonal lattice about its three kinds of middle, rings about an inner ring
 * of one to five, a sunflower, and corner by corner. Each is squeezed a little, the best two to the
 * end.
 */

enum { STARTS = 10, FINISHED = 2, QUICK_ROUNDS = 2, ROUNDS = 20, TURNS = 8, SWEEPS = 10 };

/* First and last relative step of the container, the factor after a step that was too large, and
 * after one that went half way. */
#define STEP_FIRST 0.06
#define STEP_LAST 0.002
#define STEP_TOO_LARGE 0.5
#define STEP_HALF_WAY 0.6

typedef struct Packing {
    size_t count;
    double pitch;               /* mean diameter */
    double r[BUNDLE_PACK_MOST]; /* radii, the thickest first */
    double x[BUNDLE_PACK_MOST];
    double y[BUNDLE_PACK_MOST];
} Packing;

/* Pairs near enough to touch within the next sweeps. */
typedef struct Neighbours {
    size_t count;
    uint16_t a[BUNDLE_PACK_MOST * (BUNDLE_PACK_MOST - 1) / 2];
    uint16_t b[BUNDLE_PACK_MOST * (BUNDLE_PACK_MOST - 1) / 2];
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

static void relax(Packing *p, Neighbours *near, double radius) {
    const double good_enough = 1e-5 * p->pitch; /* the rest is spread away afterwards */
    for (int turn = 0; turn < TURNS; turn++) {
        neighbours_find(p, 0.25 * p->pitch, near);
        for (int sweep = 0; sweep < SWEEPS; sweep++) {
            if (sweep_once(p, near, radius) < good_enough) {
                return;
            }
        }
    }
}

/* Radius of a circle round all of them, whose middle then is the origin. The middle walks towards
 * the circle that reaches furthest, by ever smaller steps. */
static double enclose(Packing *p) {
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
    return enclose(p);
}

/* Makes the container smaller as far as `rounds` allow; returns the radius reached. */
static double squeeze(Packing *p, Packing *trial, Neighbours *near, int rounds) {
    double best = legalise(p);
    double step = STEP_FIRST;
    for (int round = 0; round < rounds && step > STEP_LAST; round++) {
        *trial = *p;
        relax(trial, near, best * (1.0 - step));
        double reached = legalise(trial);
        if (reached >= best) {
            step *= STEP_TOO_LARGE;
            continue;
        }
        if (reached > best * (1.0 - 0.3 * step)) {
            step *= STEP_HALF_WAY;
        }
        best = reached;
        *p = *trial;
    }
    return best;
}

/* --- starts --------------------------------------------------------------------------------------
 */

/* Square of the distance from the middle (mx, my), in pitches, of the lattice place (u, v). */
static double lattice_square(int u, int v, double mx, double my, double *x, double *y) {
    *x = u + 0.5 * v - mx;
    *y = 0.5 * sqrt(3.0) * v - my;
    return *x * *x + *y * *y;
}

/* The places of a hexagonal lattice nearest to a wire, to a touching pair, or to a hollow between
 * three, the nearest first: the thickest circles lie inside. */
static void start_lattice(Packing *p, int kind) {
    const double mx = kind == 0 ? 0.0 : 0.5;
    const double my = kind == 2 ? 0.5 / sqrt(3.0) : 0.0;
    const int reach = (int)sqrt((double)p->count) + 2; /* a lattice disc this wide holds them all */
    double squares[BUNDLE_PACK_MOST];
    size_t held = 0;
    for (int v = -reach; v <= reach; v++) {
        for (int u = -2 * reach; u <= 2 * reach; u++) {
            double x = 0.0;
            double y = 0.0;
            double square = lattice_square(u, v, mx, my, &x, &y);
            /* Insert among the nearest so far; equal ones keep the order of the walk. */
            size_t at = held;
            while (at > 0 && squares[at - 1] > square + 1e-9) {
                at--;
            }
            if (at == p->count) {
                continue;
            }
            held = held < p->count ? held + 1 : held;
            for (size_t k = held - 1; k > at; k--) {
                squares[k] = squares[k - 1];
                p->x[k] = p->x[k - 1];
                p->y[k] = p->y[k - 1];
            }
            squares[at] = square;
            p->x[at] = x * p->pitch;
            p->y[at] = y * p->pitch;
        }
    }
}

/* Rings of inner, inner + 6, inner + 12 ..., in proportion so that the count comes out, each turned
 * a little against the one inside. */
static void start_rings(Packing *p, size_t inner) {
    size_t rings = 0;
    size_t full = 0;
    while (full < p->count) {
        size_t next = inner + 6 * rings;
        if (rings > 0 && full + next > p->count && 2 * (p->count - full) < next) {
            break; /* a few left over find room in the rings there are */
        }
        full += next;
        rings++;
    }
    size_t placed = 0;
    size_t due = 0;
    for (size_t k = 0; k < rings; k++) {
        due += inner + 6 * k;
        size_t here = due * p->count / full - placed;
        double chord = 0.5 * p->pitch / sin(UNITS_PI / fmax((double)here, 2.0));
        double radius = k == 0 && here <= 1 ? 0.0 : fmax(chord, 0.87 * p->pitch * (double)k);
        for (size_t q = 0; q < here; q++) {
            double angle = 2.0 * UNITS_PI * ((double)q + 0.25 * (double)(k * k)) / (double)here;
            p->x[placed + q] = radius * cos(angle);
            p->y[placed + q] = radius * sin(angle);
        }
        placed += here;
    }
}

/* Circle k at the radius that gives it its share of the area, turned by the golden angle. */
static void start_sunflower(Packing *p) {
    const double golden_rad = UNITS_PI * (3.0 - sqrt(5.0));
    double area = 0.0;
    for (size_t k = 0; k < p->count; k++) {
        double half = 0.5 * p->r[k] * p->r[k];
        double radius = sqrt((area + half) * 1.3);
        p->x[k] = radius * cos(golden_rad * (double)k);
        p->y[k] = radius * sin(golden_rad * (double)k);
        area += 2.0 * half;
    }
}

/* Whether a circle of radius r at (x, y) is free of the first `placed`. */
static bool is_free(const Packing *p, size_t placed, double r, double x, double y) {
    for (size_t i = 0; i < placed; i++) {
        double dx = p->x[i] - x;
        double dy = p->y[i] - y;
        double touch = (p->r[i] + r) * (1.0 - 1e-9); /* touching is free */
        if (dx * dx + dy * dy < touch * touch) {
            return false;
        }
    }
    return true;
}

/* Finds, for circle `k`, the place touching two of those placed before that reaches least far from
 * the origin. */
static void place_in_corner(Packing *p, size_t k) {
    double r = p->r[k];
    double best = (double)INFINITY;
    for (size_t i = 0; i < k; i++) {
        for (size_t j = i + 1; j < k; j++) {
            double dx = p->x[j] - p->x[i];
            double dy = p->y[j] - p->y[i];
            double apart = sqrt(dx * dx + dy * dy);
            double to_i = p->r[i] + r;
            double to_j = p->r[j] + r;
            if (apart >= to_i + to_j) {
                continue;
            }
            /* The two circles about i and j on which the new centre lies meet `along` from i. */
            double along = (apart * apart + to_i * to_i - to_j * to_j) / (2.0 * apart);
            double aside = sqrt(fmax(to_i * to_i - along * along, 0.0));
            for (int side = -1; side <= 1; side += 2) {
                double x = p->x[i] + (dx * along - side * dy * aside) / apart;
                double y = p->y[i] + (dy * along + side * dx * aside) / apart;
                double reach = x * x + y * y;
                /* a whisker nearer, so that mirror images don't depend on rounding */
                if (reach < best * (1.0 - 1e-9) && is_free(p, k, r, x, y)) {
                    best = reach;
                    p->x[k] = x;
                    p->y[k] = y;
                }
            }
        }
    }
}

/* The thickest side by side, then each next one in the corner nearest to the middle of the circle
 * round those placed: thin wires go into the hollows between thick ones. */
static void start_corners(Packing *p) {
    size_t count = p->count;
    p->x[0] = -p->r[1];
    p->x[1] = p->r[0];
    p->y[0] = p->y[1] = 0.0;
    for (size_t k = 2; k < count; k++) {
        place_in_corner(p, k);
        p->count = k + 1;
        enclose(p);
    }
    p->count = count;
}

static void start_place(Packing *p, int start) {
    if (start < 3) {
        start_lattice(p, start);
    } else if (start < 8) {
        start_rings(p, (size_t)start - 2);
    } else if (start == 8) {
        start_sunflower(p);
    } else {
        start_corners(p);
    }
}

/* Fills `order` with the circles from thick to thin, equal ones as given, and `p` with radii. */
static void sort_circles(const BundleCircle *circles, size_t count, uint16_t *order, Packing *p) {
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

double bundle_pack(BundleCircle *circles, size_t count) {
    CHECK(count <= BUNDLE_PACK_MOST);
    if (count == 0) {
        return 0.0;
    }
    if (count <= 2) { /* side by side, exactly */
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
    uint16_t order[BUNDLE_PACK_MOST];
    Packing tries[STARTS] = {0};
    Packing trial = {0};
    Neighbours near;
    double radius[STARTS];
    sort_circles(circles, count, order, &tries[0]);
    for (int i = 1; i < STARTS; i++) {
        tries[i] = tries[0];
    }
    for (int i = 0; i < STARTS; i++) {
        start_place(&tries[i], i);
        radius[i] = squeeze(&tries[i], &trial, &near, QUICK_ROUNDS);
    }
    int best = -1;
    bool finished[STARTS] = {false};
    for (int f = 0; f < FINISHED; f++) {
        int next = -1;
        for (int i = 0; i < STARTS; i++) {
            if (!finished[i] && (next < 0 || radius[i] < radius[next])) {
                next = i;
            }
        }
        finished[next] = true;
        radius[next] = squeeze(&tries[next], &trial, &near, ROUNDS);
        best = best < 0 || radius[next] < radius[best] ? next : best;
    }
    for (size_t k = 0; k < count; k++) {
        circles[order[k]].x_mm = tries[best].x[k];
        circles[order[k]].y_mm = tries[best].y[k];
    }
    return 2.0 * radius[best];
}
