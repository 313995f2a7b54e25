/* Ten fixed starts of a packing: a hexagonal lattice about its three kinds of middle, rings about
 * an inner ring of one to five, a sunflower, and corner by corner. */
#include <math.h>
#include <stdint.h>

#include "base/units.h"
#include "board/packing_inner.h"

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
    double squares[PACKING_MOST];
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
        packing_enclose(p);
    }
    p->count = count;
}

void packing_start(Packing *p, int start) {
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
