/* Method: parts in an order (by height, width, area, rim, each decreasing) take one after the other
 * the lowest place that is free on the first sheet that has one, leftmost among the lowest; both
 * ways round where they may turn. Places tried are those where a box touches the box of another
 * part or the edge; from there a part sinks, then moves left, as far as the true outlines let it,
 * which is where it can enter the corner another one leaves. The best of the orders is kept: fewest
 * sheets, then the least height on the last one. Below: sum of areas over what a sheet offers; and
 * parts of which any two have more area than a sheet need one each. */
#include "panel/nest.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"

/* Arcs are taken as chords no farther from them; the gap is widened by twice as much. */
#define NEST_TOLERANCE_MM 0.05
/* Smallest step of sinking and moving. */
#define NEST_STEP_MM 0.25

typedef enum NestOrder { BY_HEIGHT, BY_WIDTH, BY_AREA, BY_RIM, NEST_ORDERS } NestOrder;

typedef struct Shape { /* a part one way round, its box at the origin */
    Contour straight;
    ContourMove move; /* from the outline as given */
    double width_mm;
    double height_mm;
    bool fits;
} Shape;

typedef struct Item {
    Shape ways[2];
    double area_mm2;
    double height_mm; /* the lower way round is the first one */
    double width_mm;
    const char *key;
    uint32_t part;
    bool turns;
} Item;

typedef struct Stand { /* where an item stands */
    const Shape *shape;
    double x_mm;
    double y_mm;
    uint32_t sheet;
} Stand;

typedef struct Nester {
    Arena *arena;
    const NestSheet *sheet;
    const Item *items; /* by part */
    size_t count;
    uint32_t *order;
    Stand *stands; /* by part */
    size_t placed; /* of `order` */
    size_t sheets;
} Nester;

/* --- distances ----------------------------------------------------------------------------------
 */

static double point_to_segment(const ContourPoint *p, const ContourPoint *a,
                               const ContourPoint *b) {
    double dx = b->x_mm - a->x_mm;
    double dy = b->y_mm - a->y_mm;
    double square = dx * dx + dy * dy;
    double t = square == 0.0 ? 0.0 : ((p->x_mm - a->x_mm) * dx + (p->y_mm - a->y_mm) * dy) / square;
    t = fmin(1.0, fmax(0.0, t));
    return hypot(p->x_mm - a->x_mm - t * dx, p->y_mm - a->y_mm - t * dy);
}

static double side(const ContourPoint *a, const ContourPoint *b, const ContourPoint *p) {
    return (b->x_mm - a->x_mm) * (p->y_mm - a->y_mm) - (b->y_mm - a->y_mm) * (p->x_mm - a->x_mm);
}

static bool cross(const ContourPoint *a, const ContourPoint *b, const ContourPoint *c,
                  const ContourPoint *d) {
    return side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0;
}

static bool is_inside(const ContourPoint *p, const Contour *contour) {
    bool inside = false;
    for (size_t i = 0; i < contour->count; i++) {
        const ContourPoint *a = &contour->points[i];
        const ContourPoint *b = &contour->points[(i + 1) % contour->count];
        if ((a->y_mm > p->y_mm) != (b->y_mm > p->y_mm) &&
            p->x_mm < a->x_mm + (p->y_mm - a->y_mm) / (b->y_mm - a->y_mm) * (b->x_mm - a->x_mm)) {
            inside = !inside;
        }
    }
    return inside;
}

/* Of the rims alone. */
static double rim_distance(const Contour *left, double dx_mm, double dy_mm, const Contour *right) {
    double least = INFINITY;
    for (size_t i = 0; i < left->count; i++) {
        ContourPoint a = left->points[i];
        ContourPoint b = left->points[(i + 1) % left->count];
        a.x_mm += dx_mm;
        b.x_mm += dx_mm;
        a.y_mm += dy_mm;
        b.y_mm += dy_mm;
        for (size_t j = 0; j < right->count; j++) {
            const ContourPoint *c = &right->points[j];
            const ContourPoint *d = &right->points[(j + 1) % right->count];
            if (cross(&a, &b, c, d)) {
                return 0.0;
            }
            least =
                fmin(least, fmin(fmin(point_to_segment(&a, c, d), point_to_segment(&b, c, d)),
                                 fmin(point_to_segment(c, &a, &b), point_to_segment(d, &a, &b))));
        }
    }
    return least;
}

static double distance(const Contour *left, double dx_mm, double dy_mm, const Contour *right) {
    double least = rim_distance(left, dx_mm, dy_mm, right);
    ContourPoint first = left->points[0];
    first.x_mm += dx_mm;
    first.y_mm += dy_mm;
    ContourPoint other = right->points[0];
    other.x_mm -= dx_mm;
    other.y_mm -= dy_mm;
    return is_inside(&first, right) || is_inside(&other, left) ? 0.0 : least;
}

double nest_distance_mm(const Contour *left, const Contour *right) {
    return distance(left, 0.0, 0.0, right);
}

/* --- places -------------------------------------------------------------------------------------
 */

static bool in_sheet(const Nester *nester, const Shape *shape, double x_mm, double y_mm) {
    const NestSheet *sheet = nester->sheet;
    const double SLACK_MM = 1e-6;
    return x_mm >= sheet->edge_mm - SLACK_MM && y_mm >= sheet->edge_mm - SLACK_MM &&
           x_mm + shape->width_mm <= sheet->width_mm - sheet->edge_mm + SLACK_MM &&
           y_mm + shape->height_mm <= sheet->height_mm - sheet->edge_mm + SLACK_MM;
}

static bool is_free(const Nester *nester, const Shape *shape, uint32_t sheet, double x_mm,
                    double y_mm) {
    if (!in_sheet(nester, shape, x_mm, y_mm)) {
        return false;
    }
    double gap_mm = nester->sheet->gap_mm;
    for (size_t i = 0; i < nester->placed; i++) {
        const Stand *other = &nester->stands[nester->order[i]];
        if (other->sheet != sheet) {
            continue;
        }
        bool apart = x_mm >= other->x_mm + other->shape->width_mm + gap_mm ||
                     other->x_mm >= x_mm + shape->width_mm + gap_mm ||
                     y_mm >= other->y_mm + other->shape->height_mm + gap_mm ||
                     other->y_mm >= y_mm + shape->height_mm + gap_mm;
        if (!apart && distance(&shape->straight, x_mm - other->x_mm, y_mm - other->y_mm,
                               &other->shape->straight) < gap_mm + 2.0 * NEST_TOLERANCE_MM) {
            return false;
        }
    }
    return true;
}

/* Sinks and moves left in steps that are halved until they are small; never through a part, for a
 * step is no longer than the part is wide. */
static void settle(const Nester *nester, const Shape *shape, uint32_t sheet, double *x_mm,
                   double *y_mm) {
    double step = fmin(shape->width_mm, shape->height_mm) / 2.0;
    while (step >= NEST_STEP_MM) {
        bool moved = true;
        while (moved) {
            moved = false;
            if (is_free(nester, shape, sheet, *x_mm, *y_mm - step)) {
                *y_mm -= step;
                moved = true;
            } else if (is_free(nester, shape, sheet, *x_mm - step, *y_mm)) {
                *x_mm -= step;
                moved = true;
            }
        }
        step /= 2.0;
    }
}

static bool lower(double x_mm, double y_mm, const Shape *shape, const Stand *best) {
    if (best->shape == NULL) {
        return true;
    }
    double top = y_mm + shape->height_mm;
    double best_top = best->y_mm + best->shape->height_mm;
    if (fabs(top - best_top) > 1e-6) {
        return top < best_top;
    }
    return x_mm < best->x_mm - 1e-6;
}

static void try_place(const Nester *nester, const Shape *shape, uint32_t sheet, double x_mm,
                      double y_mm, Stand *best) {
    if (!is_free(nester, shape, sheet, x_mm, y_mm)) {
        return;
    }
    settle(nester, shape, sheet, &x_mm, &y_mm);
    if (lower(x_mm, y_mm, shape, best)) {
        *best = (Stand){shape, x_mm, y_mm, sheet};
    }
}

/* x at which the box touches the edge (at both ends) or what stands to its left: try 0, 1 ... in
 * order; NAN for one that stands on another sheet. The same upwards. */
static double start_x(const Nester *nester, const Shape *shape, uint32_t sheet, size_t index) {
    const NestSheet *stock = nester->sheet;
    if (index < 2) {
        return index == 0 ? stock->edge_mm : stock->width_mm - stock->edge_mm - shape->width_mm;
    }
    const Stand *left = &nester->stands[nester->order[index - 2]];
    double right_mm = left->shape == NULL ? 0.0 : left->x_mm + left->shape->width_mm;
    return left->sheet != sheet ? (double)NAN : right_mm + stock->gap_mm;
}

static double start_y(const Nester *nester, const Shape *shape, uint32_t sheet, size_t index) {
    const NestSheet *stock = nester->sheet;
    if (index < 2) {
        return index == 0 ? stock->edge_mm : stock->height_mm - stock->edge_mm - shape->height_mm;
    }
    const Stand *below = &nester->stands[nester->order[index - 2]];
    double top_mm = below->shape == NULL ? 0.0 : below->y_mm + below->shape->height_mm;
    return below->sheet != sheet ? (double)NAN : top_mm + stock->gap_mm;
}

static void try_sheet(const Nester *nester, const Shape *shape, uint32_t sheet, Stand *best) {
    for (size_t i = 0; i < nester->placed + 2; i++) {
        double x_mm = start_x(nester, shape, sheet, i);
        for (size_t j = 0; j < nester->placed + 2 && !isnan(x_mm); j++) {
            double y_mm = start_y(nester, shape, sheet, j);
            if (!isnan(y_mm)) {
                try_place(nester, shape, sheet, x_mm, y_mm, best);
            }
        }
    }
}

static void run_order(Nester *nester) {
    nester->sheets = 0;
    for (nester->placed = 0; nester->placed < nester->count; nester->placed++) {
        uint32_t part = nester->order[nester->placed];
        const Item *item = &nester->items[part];
        Stand best = {.sheet = NEST_NONE};
        for (uint32_t sheet = 0; sheet <= nester->sheets && best.shape == NULL; sheet++) {
            for (int way = 0; way < (item->turns ? 2 : 1); way++) {
                if (item->ways[way].fits) {
                    try_sheet(nester, &item->ways[way], sheet, &best);
                }
            }
        }
        if (best.shape != NULL && best.sheet == nester->sheets) {
            nester->sheets++;
        }
        nester->stands[part] = best;
    }
}

/* Height that the parts take on the last sheet. */
static double last_height(const Nester *nester) {
    double high = 0.0;
    for (size_t i = 0; i < nester->count; i++) {
        const Stand *stand = &nester->stands[i];
        if (stand->shape != NULL && stand->sheet + 1 == nester->sheets) {
            high = fmax(high, stand->y_mm + stand->shape->height_mm);
        }
    }
    return high;
}

/* --- parts --------------------------------------------------------------------------------------
 */

static Shape shape_of(Arena *arena, const NestPart *part, const NestSheet *sheet, bool turned) {
    ContourMove move = {.turn_deg = turned ? 90.0 : 0.0};
    Contour moved = contour_moved(arena, part->outline, &move);
    ContourBox box = contour_box(&moved);
    move.x_mm = -box.left_mm;
    move.y_mm = -box.bottom_mm;
    moved = contour_moved(arena, part->outline, &move);
    Shape shape = {
        .straight = contour_straightened(arena, &moved, NEST_TOLERANCE_MM),
        .move = move,
        .width_mm = box.right_mm - box.left_mm,
        .height_mm = box.top_mm - box.bottom_mm,
    };
    shape.fits = shape.width_mm <= sheet->width_mm - 2.0 * sheet->edge_mm + 1e-6 &&
                 shape.height_mm <= sheet->height_mm - 2.0 * sheet->edge_mm + 1e-6;
    return shape;
}

static double size_by(const Item *item, NestOrder order) {
    switch (order) {
    case BY_HEIGHT:
        return item->height_mm;
    case BY_WIDTH:
        return item->width_mm;
    case BY_AREA:
        return item->area_mm2;
    case BY_RIM:
    case NEST_ORDERS:
        break;
    }
    return item->width_mm + item->height_mm;
}

/* Insertion: few parts. */
static void sort_order(Nester *nester, NestOrder order) {
    for (size_t i = 0; i < nester->count; i++) {
        uint32_t part = (uint32_t)i;
        double size = size_by(&nester->items[part], order);
        size_t at = i;
        while (at > 0) {
            const Item *before = &nester->items[nester->order[at - 1]];
            double other = size_by(before, order);
            if (other > size ||
                (other == size && text_compare_keys(before->key, nester->items[part].key) < 0)) {
                break;
            }
            nester->order[at] = nester->order[at - 1];
            at--;
        }
        nester->order[at] = part;
    }
}

/* True when no sheet takes both. Boxes don't say, for outlines enter each other's corners; kept to
 * what is certain: areas that together pass a sheet's. */
static bool never_together(const Item *left, const Item *right, double room_mm2) {
    return left->area_mm2 + right->area_mm2 > room_mm2;
}

static size_t least_sheets(Arena *arena, const Item *items, size_t count, const NestSheet *sheet) {
    double room_mm2 =
        (sheet->width_mm - 2.0 * sheet->edge_mm) * (sheet->height_mm - 2.0 * sheet->edge_mm);
    double sum_mm2 = 0.0;
    uint32_t *alone = ARENA_ARRAY(arena, uint32_t, count + 1);
    size_t alone_count = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (!items[i].ways[0].fits && !(items[i].turns && items[i].ways[1].fits)) {
            continue;
        }
        sum_mm2 += items[i].area_mm2;
        bool from_all = true;
        for (size_t j = 0; j < alone_count; j++) {
            from_all = from_all && never_together(&items[i], &items[alone[j]], room_mm2);
        }
        if (from_all) {
            alone[alone_count++] = i;
        }
    }
    size_t by_area = (size_t)ceil(sum_mm2 / room_mm2 - 1e-9);
    return by_area > alone_count ? by_area : alone_count;
}

void nest_plan(Arena *arena, const NestPart *parts, size_t count, const NestSheet *sheet,
               NestPlan *plan) {
    CHECK(sheet->width_mm > 2.0 * sheet->edge_mm && sheet->height_mm > 2.0 * sheet->edge_mm);
    Item *items = ARENA_ARRAY(arena, Item, count + 1);
    for (size_t i = 0; i < count; i++) {
        Item *item = &items[i];
        item->ways[0] = shape_of(arena, &parts[i], sheet, false);
        item->ways[1] = shape_of(arena, &parts[i], sheet, true);
        item->turns = !parts[i].grain;
        item->area_mm2 = fabs(contour_area_mm2(parts[i].outline));
        item->height_mm = item->ways[0].height_mm;
        item->width_mm = item->ways[0].width_mm;
        item->key = parts[i].key;
        item->part = (uint32_t)i;
    }
    Nester nester = {
        .arena = arena,
        .sheet = sheet,
        .items = items,
        .count = count,
        .order = ARENA_ARRAY(arena, uint32_t, count + 1),
        .stands = ARENA_ARRAY(arena, Stand, count + 1),
    };
    Stand *best = ARENA_ARRAY(arena, Stand, count + 1);
    size_t best_sheets = SIZE_MAX;
    double best_height = INFINITY;
    for (int order = 0; order < NEST_ORDERS; order++) {
        sort_order(&nester, (NestOrder)order);
        run_order(&nester);
        double height = last_height(&nester);
        if (nester.sheets < best_sheets ||
            (nester.sheets == best_sheets && height < best_height - 1e-6)) {
            memcpy(best, nester.stands, count * sizeof *best);
            best_sheets = nester.sheets;
            best_height = height;
        }
    }
    *plan = (NestPlan){
        .places = ARENA_ARRAY(arena, NestPlace, count + 1),
        .sheet_count = best_sheets,
        .least_sheets = least_sheets(arena, items, count, sheet),
    };
    double used_mm2 = 0.0;
    for (uint32_t i = 0; i < count; i++) {
        NestPlace *place = &plan->places[i];
        *place = (NestPlace){.part = i, .sheet = NEST_NONE};
        if (best[i].shape == NULL) {
            plan->unplaced++;
            continue;
        }
        place->sheet = best[i].sheet;
        place->turned = best[i].shape == &items[i].ways[1];
        place->move = best[i].shape->move;
        place->move.x_mm += best[i].x_mm;
        place->move.y_mm += best[i].y_mm;
        used_mm2 += items[i].area_mm2;
    }
    plan->used_share = best_sheets == 0
                           ? 0.0
                           : used_mm2 / ((double)best_sheets * sheet->width_mm * sheet->height_mm);
}
