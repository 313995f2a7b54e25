#include "draw/cutfile.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "draw/engrave.h"

/* --- layers -------------------------------------------------------------------------------------
 */

static const struct {
    const char *name;
    const char *what;
    int colour;
} LAYERS[] = {
#define CUT_LAYER_ROW(id, name, colour, what) {name, what, colour},
    CUT_LAYERS(CUT_LAYER_ROW)
#undef CUT_LAYER_ROW
};

const char *cut_layer_name(CutLayer layer) {
    CHECK(layer < CUT_LAYER_COUNT);
    return LAYERS[layer].name;
}

const char *cut_layer_what(CutLayer layer) {
    CHECK(layer < CUT_LAYER_COUNT);
    return LAYERS[layer].what;
}

int cut_layer_colour(CutLayer layer) {
    CHECK(layer < CUT_LAYER_COUNT);
    return LAYERS[layer].colour;
}

/* --- adding -------------------------------------------------------------------------------------
 */

static CutEntity *add(CutFile *file, CutLayer layer, const char *key, Contour contour) {
    CHECK(contour.count >= 2);
    CutEntity *entity = ARENA_PUSH(file->arena, file->items, file->count, file->capacity);
    *entity = (CutEntity){.layer = layer, .key = key, .contour = contour};
    return entity;
}

void cut_add(CutFile *file, CutLayer layer, const char *key, Contour contour) {
    add(file, layer, key, contour);
}

void cut_add_outline(CutFile *file, const char *key, Contour contour) {
    add(file, CUT_LAYER_CUT, key, contour)->outline = true;
}

void cut_add_line(CutFile *file, CutLayer layer, const char *key, double x1_mm, double y1_mm,
                  double x2_mm, double y2_mm) {
    Contour contour = {ARENA_ARRAY(file->arena, ContourPoint, 2), 2};
    contour.points[0] = (ContourPoint){x1_mm, y1_mm, 0.0};
    contour.points[1] = (ContourPoint){x2_mm, y2_mm, 0.0};
    add(file, layer, key, contour)->line = true;
}

void cut_add_text(CutFile *file, DrawFonts *fonts, CutLayer layer, const char *key,
                  const char *text, double x_mm, double y_mm, double height_mm) {
    ContourList letters = {0};
    EngraveStyle style = {.height_mm = height_mm, .mirrored = layer == CUT_LAYER_MARK_REAR};
    engrave_text(file->arena, fonts, text, &style, x_mm, y_mm, &letters);
    for (size_t i = 0; i < letters.count; i++) {
        cut_add(file, layer, key, letters.items[i]);
    }
}

void cut_add_moved(CutFile *file, const CutFile *part, const ContourMove *move) {
    for (size_t i = 0; i < part->count; i++) {
        CutEntity entity = part->items[i];
        entity.contour = contour_moved(file->arena, &entity.contour, move);
        *ARENA_PUSH(file->arena, file->items, file->count, file->capacity) = entity;
    }
}

void cut_add_proof(CutFile *file, DrawFonts *fonts, double x_mm, double y_mm) {
    double half_mm = CUT_PROOF_MM / 2.0;
    cut_add(file, CUT_LAYER_NOTE, "proof",
            contour_rectangle(file->arena, x_mm + half_mm, y_mm + half_mm, CUT_PROOF_MM,
                              CUT_PROOF_MM, 0.0));
    cut_add_text(file, fonts, CUT_LAYER_NOTE, "proof", "PROOF: SIDES", x_mm + 8.0, y_mm + 56.0,
                 7.0);
    cut_add_text(file, fonts, CUT_LAYER_NOTE, "proof", "100.000 mm", x_mm + 8.0, y_mm + 44.0, 7.0);
    cut_add_text(file, fonts, CUT_LAYER_NOTE, "proof", "NOT MADE", x_mm + 8.0, y_mm + 32.0, 7.0);
}

/* --- order --------------------------------------------------------------------------------------
 */

/* What two entities that lie on each other have in common, in whole thousandths of a mm. */
typedef struct SortRow {
    const CutEntity *entity;
    long long area_um2; /* the way round left out */
    long long left_um;
    long long bottom_um;
    long long right_um;
    long long top_um;
} SortRow;

static long long order_of(long long left, long long right) {
    return left < right ? -1 : left > right ? 1 : 0;
}

static int compare_rows(const void *left_row, const void *right_row) {
    const SortRow *left = left_row;
    const SortRow *right = right_row;
    long long order = order_of((long long)left->entity->layer, (long long)right->entity->layer);
    if (order == 0) {
        order = order_of(left->entity->outline, right->entity->outline);
    }
    if (order == 0) {
        order = order_of(left->area_um2, right->area_um2);
    }
    if (order == 0) {
        order = order_of(left->bottom_um, right->bottom_um);
    }
    if (order == 0) {
        order = order_of(left->left_um, right->left_um);
    }
    if (order == 0) {
        order = order_of(left->top_um, right->top_um);
    }
    if (order == 0) {
        order = order_of(left->right_um, right->right_um);
    }
    if (order == 0) {
        order = strcmp(left->entity->key, right->entity->key);
    }
    return (int)order;
}

static long long um(double mm) {
    return llround(mm * 1000.0);
}

static ContourBox box_of(const CutEntity *entity) {
    if (!entity->line) {
        return contour_box(&entity->contour);
    }
    const ContourPoint *p = entity->contour.points;
    return (ContourBox){fmin(p[0].x_mm, p[1].x_mm), fmin(p[0].y_mm, p[1].y_mm),
                        fmax(p[0].x_mm, p[1].x_mm), fmax(p[0].y_mm, p[1].y_mm)};
}

/* Equal area and box within 1 um, and the same points in some order: lies on it. */
static bool lies_on(const SortRow *a, const SortRow *b) {
    const Contour *left = &a->entity->contour;
    const Contour *right = &b->entity->contour;
    if (a->entity->layer != b->entity->layer || a->entity->line != b->entity->line ||
        left->count != right->count || llabs(a->left_um - b->left_um) > 1 ||
        llabs(a->bottom_um - b->bottom_um) > 1 || llabs(a->right_um - b->right_um) > 1 ||
        llabs(a->top_um - b->top_um) > 1 || llabs(a->area_um2 - b->area_um2) > 10) {
        return false;
    }
    double x;
    double y;
    double r;
    if (contour_is_circle(left, &x, &y, &r) && contour_is_circle(right, &x, &y, &r)) {
        return true;
    }
    for (size_t i = 0; i < left->count; i++) {
        bool found = false;
        for (size_t j = 0; j < right->count && !found; j++) {
            found = hypot(left->points[i].x_mm - right->points[j].x_mm,
                          left->points[i].y_mm - right->points[j].y_mm) <= 0.001;
        }
        if (!found) {
            return false;
        }
    }
    return true;
}

size_t cut_sort(CutFile *file) {
    SortRow *rows = ARENA_ARRAY(file->arena, SortRow, file->count + 1);
    for (size_t i = 0; i < file->count; i++) {
        const CutEntity *entity = &file->items[i];
        ContourBox box = box_of(entity);
        double area = entity->line ? 0.0 : fabs(contour_area_mm2(&entity->contour));
        rows[i] = (SortRow){entity,           um(area),      um(box.left_mm), um(box.bottom_mm),
                            um(box.right_mm), um(box.top_mm)};
    }
    qsort(rows, file->count, sizeof *rows, compare_rows);
    CutEntity *sorted = ARENA_ARRAY(file->arena, CutEntity, file->count + 1);
    size_t kept = 0;
    SortRow *last = NULL;
    for (size_t i = 0; i < file->count; i++) {
        if (last != NULL && lies_on(last, &rows[i])) {
            continue;
        }
        last = &rows[i];
        sorted[kept++] = *rows[i].entity;
    }
    size_t dropped = file->count - kept;
    file->items = sorted;
    file->capacity = file->count + 1;
    file->count = kept;
    return dropped;
}

ContourBox cut_box(const CutFile *file) {
    ContourBox all = {INFINITY, INFINITY, -INFINITY, -INFINITY};
    for (size_t i = 0; i < file->count; i++) {
        ContourBox box = box_of(&file->items[i]);
        all.left_mm = fmin(all.left_mm, box.left_mm);
        all.bottom_mm = fmin(all.bottom_mm, box.bottom_mm);
        all.right_mm = fmax(all.right_mm, box.right_mm);
        all.top_mm = fmax(all.top_mm, box.top_mm);
    }
    if (file->count == 0) {
        all = (ContourBox){0};
    }
    return all;
}
