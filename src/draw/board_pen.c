#include "draw/board_pen.h"

#include <math.h>

#include "base/units.h"

#define CLEAR_MM 0.8 /* between a note and anything */
#define CUT_MM 60.0  /* longest stroke that is remembered in one piece, on the board */
#define ARC_CUT_RAD 0.2
#define TIE_OVER_MM 2.5 /* a tie stands out on either side */
#define NAIL_MM 3.0     /* half its cross */
#define CLAMP_MM 9.0    /* along the arm */
#define NODE_OVER_MM 2.0
#define OWN_THING_MM 1.5 /* of a leader, over what it belongs to */
#define STROKE_CROSS_MM 7.0
#define ALONG_MM 0.7 /* nearer than that a leader runs along an arm and is not seen */
#define ALONG_COST_MM 12.0
#define FOREIGN_MM 2.5 /* between a note with a leader and what it does not belong to */
#define LOST_LINE_SHARE 1.6
#define LEADER_OFF_RAD 0.16 /* leaders do not run along arms, which lie square mostly */

/* --- places and remembering ---------------------------------------------------------------------
 */

DrawPoint board_pen_at(const BoardPen *pen, double x_mm, double y_mm) {
    return (DrawPoint){pen->zero.x_mm + pen->scale * x_mm, pen->zero.y_mm - pen->scale * y_mm};
}

double board_pen_width_mm(const BoardSet *set, const Board *board) {
    return board->flat.columns * (set->shop.board_length_mm + set->shop.gap_mm) - set->shop.gap_mm;
}

double board_pen_height_mm(const BoardSet *set, const Board *board) {
    return board->flat.rows * (set->shop.board_width_mm + set->shop.gap_mm) - set->shop.gap_mm;
}

void board_pen_cell(const BoardSet *set, const Board *board, FlatPoint at, uint32_t *column,
                    uint32_t *row) {
    double along = floor(at.x_mm / (set->shop.board_length_mm + set->shop.gap_mm));
    double across = floor(at.y_mm / (set->shop.board_width_mm + set->shop.gap_mm));
    *column = (uint32_t)fmin(fmax(along, 0.0), board->flat.columns - 1.0);
    *row = (uint32_t)fmin(fmax(across, 0.0), board->flat.rows - 1.0);
}

bool board_pen_shows(const BoardPen *pen, FlatPoint at) {
    uint32_t column;
    uint32_t row;
    board_pen_cell(pen->view->boards, pen->board, at, &column, &row);
    return !pen->alone || (column == pen->column && row == pen->row);
}

bool board_pen_cut(const BoardPen *pen, FlatPiece *piece) {
    const FlatShop *shop = &pen->view->boards->shop;
    if (!pen->alone) {
        return true;
    }
    if (piece->turn_per_mm != 0.0) {
        return board_pen_shows(pen, flat_piece_at(piece, piece->length_mm / 2.0, NULL));
    }
    double left_mm = pen->column * (shop->board_length_mm + shop->gap_mm);
    double low_mm = pen->row * (shop->board_width_mm + shop->gap_mm);
    double from_mm = 0.0;
    double to_mm = piece->length_mm;
    double dx = cos(piece->heading_rad);
    double dy = sin(piece->heading_rad);
    const double steps[4] = {-dx, dx, -dy, dy};
    const double rooms[4] = {piece->x_mm - left_mm, left_mm + shop->board_length_mm - piece->x_mm,
                             piece->y_mm - low_mm, low_mm + shop->board_width_mm - piece->y_mm};
    for (int side = 0; side < 4; side++) { /* Liang and Barsky */
        if (fabs(steps[side]) < 1e-12) {
            to_mm = rooms[side] < 0.0 ? -1.0 : to_mm;
        } else if (steps[side] < 0.0) {
            from_mm = fmax(from_mm, rooms[side] / steps[side]);
        } else {
            to_mm = fmin(to_mm, rooms[side] / steps[side]);
        }
    }
    piece->x_mm += from_mm * dx;
    piece->y_mm += from_mm * dy;
    piece->length_mm = to_mm - from_mm;
    return piece->length_mm > 1e-6;
}

void board_pen_keep_clear(BoardPen *pen, DrawPoint a, DrawPoint b, double half_mm) {
    *ARENA_PUSH(pen->list->arena, pen->strokes, pen->stroke_count, pen->stroke_capacity) =
        (PenStroke){a, b, half_mm};
}

void board_pen_line(BoardPen *pen, DrawPoint a, DrawPoint b, double weight_mm) {
    draw_line(pen->list, a.x_mm, a.y_mm, b.x_mm, b.y_mm, weight_mm);
    double length_mm = hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm);
    int parts = 1 + (int)(length_mm / CUT_MM);
    for (int i = 0; i < parts; i++) {
        double from = (double)i / parts;
        double to = (double)(i + 1) / parts;
        board_pen_keep_clear(
            pen, (DrawPoint){a.x_mm + from * (b.x_mm - a.x_mm), a.y_mm + from * (b.y_mm - a.y_mm)},
            (DrawPoint){a.x_mm + to * (b.x_mm - a.x_mm), a.y_mm + to * (b.y_mm - a.y_mm)}, 0.0);
    }
}

/* --- notes --------------------------------------------------------------------------------------
 */

static bool boxes_meet(DrawBox a, DrawBox b) {
    return a.left_mm < b.right_mm && b.left_mm < a.right_mm && a.top_mm < b.bottom_mm &&
           b.top_mm < a.bottom_mm;
}

static DrawBox grown(DrawBox box, double by_mm) {
    return (DrawBox){box.left_mm - by_mm, box.top_mm - by_mm, box.right_mm + by_mm,
                     box.bottom_mm + by_mm};
}

/* Whether a line meets a box (Liang and Barsky). */
static bool line_meets(DrawPoint a, DrawPoint b, DrawBox box) {
    double low = 0.0;
    double high = 1.0;
    double dx = b.x_mm - a.x_mm;
    double dy = b.y_mm - a.y_mm;
    const double steps[4] = {-dx, dx, -dy, dy};
    const double rooms[4] = {a.x_mm - box.left_mm, box.right_mm - a.x_mm, a.y_mm - box.top_mm,
                             box.bottom_mm - a.y_mm};
    for (int side = 0; side < 4; side++) {
        if (steps[side] == 0.0) {
            if (rooms[side] < 0.0) {
                return false;
            }
        } else if (steps[side] < 0.0) {
            low = fmax(low, rooms[side] / steps[side]);
        } else {
            high = fmin(high, rooms[side] / steps[side]);
        }
    }
    return low <= high;
}

static bool is_free(const BoardPen *pen, DrawBox box) {
    const DrawBox *limits = &pen->limits;
    if (box.left_mm < limits->left_mm || box.right_mm > limits->right_mm ||
        box.top_mm < limits->top_mm || box.bottom_mm > limits->bottom_mm) {
        return false;
    }
    for (size_t i = 0; i < pen->text_count; i++) {
        if (boxes_meet(box, pen->texts[i])) {
            return false;
        }
    }
    for (size_t i = 0; i < pen->stroke_count; i++) {
        const PenStroke *stroke = &pen->strokes[i];
        DrawBox wide = grown(box, stroke->half_mm);
        if (fmin(stroke->a.x_mm, stroke->b.x_mm) < wide.right_mm &&
            fmax(stroke->a.x_mm, stroke->b.x_mm) > wide.left_mm &&
            line_meets(stroke->a, stroke->b, wide)) {
            return false;
        }
    }
    return true;
}

static void keep_text(BoardPen *pen, DrawBox box) {
    *ARENA_PUSH(pen->list->arena, pen->texts, pen->text_count, pen->text_capacity) =
        grown(box, CLEAR_MM);
}

void board_pen_text(BoardPen *pen, DrawPoint at, DrawTextStyle style, const char *text) {
    if (*text == '\0') {
        return;
    }
    draw_text(pen->list, at.x_mm, at.y_mm, style, text);
    keep_text(pen, pen->list->items[pen->list->count - 1].box);
}

/* The point of a box nearest to another. */
static DrawPoint nearest_of(DrawBox box, DrawPoint to) {
    return (DrawPoint){fmin(box.right_mm, fmax(box.left_mm, to.x_mm)),
                       fmin(box.bottom_mm, fmax(box.top_mm, to.y_mm))};
}

static double side_of(DrawPoint a, DrawPoint b, DrawPoint p) {
    return (b.x_mm - a.x_mm) * (p.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (p.x_mm - a.x_mm);
}

static bool lines_cross(DrawPoint a, DrawPoint b, const PenStroke *stroke) {
    return (side_of(a, b, stroke->a) < 0.0) != (side_of(a, b, stroke->b) < 0.0) &&
           (side_of(stroke->a, stroke->b, a) < 0.0) != (side_of(stroke->a, stroke->b, b) < 0.0);
}

/* How much a leader would cost, in mm of distance: not at all through a text or another leader, and
 * rather around an arm than across it. Its first mm touch its own thing. */
static double leader_cost(const BoardPen *pen, DrawPoint a, DrawPoint b) {
    double length_mm = hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm);
    double off = fmin(0.5, OWN_THING_MM / fmax(length_mm, 1e-6));
    DrawPoint from = {a.x_mm + off * (b.x_mm - a.x_mm), a.y_mm + off * (b.y_mm - a.y_mm)};
    double cost = 0.0;
    for (size_t i = 0; i < pen->text_count; i++) {
        if (line_meets(a, b, pen->texts[i])) {
            return INFINITY;
        }
    }
    for (size_t i = 0; i < pen->leader_count; i++) {
        if (lines_cross(a, b, &pen->leaders[i])) {
            return INFINITY;
        }
    }
    const DrawPoint on[2] = {
        {a.x_mm + 0.4 * (b.x_mm - a.x_mm), a.y_mm + 0.4 * (b.y_mm - a.y_mm)},
        {a.x_mm + 0.75 * (b.x_mm - a.x_mm), a.y_mm + 0.75 * (b.y_mm - a.y_mm)}};
    for (size_t i = 0; i < pen->stroke_count; i++) {
        const PenStroke *stroke = &pen->strokes[i];
        cost += lines_cross(from, b, stroke) ? STROKE_CROSS_MM : 0.0;
        for (int k = 0; k < 2; k++) {
            cost += line_meets(stroke->a, stroke->b,
                               grown((DrawBox){on[k].x_mm, on[k].y_mm, on[k].x_mm, on[k].y_mm},
                                     ALONG_MM + stroke->half_mm))
                        ? ALONG_COST_MM
                        : 0.0;
        }
    }
    return cost;
}

/* Whether a line that is drawn lies between a thing and a note beside it, which then needs a
 * leader. At full scale notes stand beside what is much larger than they are, and need none for
 * that. */
static bool is_between(const BoardPen *pen, DrawPoint a, DrawPoint b) {
    double length_mm = hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm);
    double off = fmin(0.5, OWN_THING_MM / fmax(length_mm, 1e-6));
    DrawPoint from = {a.x_mm + off * (b.x_mm - a.x_mm), a.y_mm + off * (b.y_mm - a.y_mm)};
    for (size_t i = pen->edge_count; i < pen->stroke_count; i++) {
        if (lines_cross(from, b, &pen->strokes[i])) {
            return true;
        }
    }
    return false;
}

typedef struct NotePlace {
    DrawBox box;
    DrawPoint to; /* end of the leader */
    double cost;
    bool far; /* needs one */
} NotePlace;

/* The n-th of 16 directions: that way first and what is nearest to it, or (no way) right and left,
 * then above and below, then between. */
static double direction_rad(int n, double toward_rad) {
    static const int TURNS[16] = {0, 8, 4, 12, 2, 14, 6, 10, 1, 15, 7, 9, 3, 13, 5, 11};
    if (isnan(toward_rad)) {
        return UNITS_PI / 8.0 * TURNS[n];
    }
    int steps = (n + 1) / 2;
    return toward_rad + UNITS_PI / 8.0 * (n % 2 == 1 ? steps : -steps);
}

static void lose(BoardPen *pen, DrawPoint anchor, const char *text) {
    *ARENA_PUSH(pen->list->arena, pen->lost, pen->lost_count, pen->lost_capacity) = arena_format(
        pen->list->arena, "%s at %.0f, %.0f", text, (anchor.x_mm - pen->zero.x_mm) / pen->scale,
        (pen->zero.y_mm - anchor.y_mm) / pen->scale);
}

static double away_mm(DrawBox box, DrawPoint from) {
    DrawPoint nearest = nearest_of(box, from);
    return hypot(nearest.x_mm - from.x_mm, nearest.y_mm - from.y_mm);
}

/* Whether a note there would seem to belong to something else: nearer to that than to its own
 * thing, or, with a leader, right beside it. */
static bool seems_foreign(const BoardPen *pen, DrawBox box, DrawPoint anchor, bool far) {
    double own_mm = away_mm(box, anchor);
    for (size_t i = 0; i < pen->anchor_count; i++) {
        const DrawPoint *other = &pen->anchors[i];
        bool same = fabs(other->x_mm - anchor.x_mm) + fabs(other->y_mm - anchor.y_mm) < 1e-9;
        if (!same && away_mm(box, *other) < (far ? FOREIGN_MM : own_mm)) {
            return true;
        }
    }
    return false;
}

void board_pen_write_lost(BoardPen *pen, DrawPoint at, double height_mm, double width_mm,
                          uint32_t lines) {
    DrawTextStyle style = {.height_mm = height_mm};
    const char *line = "No room to letter (mm from the lower left corner of the first board):";
    draw_layer(pen->list, LAYER_NOTE);
    for (size_t i = 0; i < pen->lost_count; i++) {
        const char *longer = arena_format(pen->list->arena, "%s %s%s", line, pen->lost[i],
                                          i + 1 < pen->lost_count ? ";" : "");
        if (lines > 1 && draw_text_width(pen->list, style, longer) > width_mm) {
            draw_text(pen->list, at.x_mm, at.y_mm, style, line);
            at.y_mm += height_mm * LOST_LINE_SHARE;
            lines--;
            longer = arena_format(pen->list->arena, "%s%s", pen->lost[i],
                                  i + 1 < pen->lost_count ? ";" : "");
        }
        line = longer;
    }
    if (pen->lost_count > 0) {
        draw_text_fit(pen->list, at.x_mm, at.y_mm, style, line, width_mm);
    }
}

bool board_pen_note_beyond(BoardPen *pen, DrawPoint anchor, double toward_rad, double height_mm,
                           bool bold, const char *text, double near_mm, double far_mm) {
    DrawTextStyle style = {.height_mm = height_mm, .bold = bold};
    double half_w_mm = draw_text_width(pen->list, style, text) / 2.0 + CLEAR_MM;
    double half_h_mm = height_mm * 0.72 + CLEAR_MM; /* what hangs below the line included */
    double step_mm = fmax(1.0, height_mm * 0.6);
    int rings = far_mm < near_mm ? 0 : 1 + (int)((far_mm - near_mm) / step_mm);
    NotePlace best = {.cost = INFINITY};
    for (int ring = 0; ring < rings && near_mm + step_mm * ring < best.cost; ring++) {
        double r_mm = near_mm + step_mm * ring;
        bool off = ring > 2; /* too far to be seen as one */
        for (int i = 0; i < (off ? 32 : 16); i++) {
            double angle_rad = direction_rad(i % 16, toward_rad) + (off ? LEADER_OFF_RAD : 0.0) +
                               (i < 16 ? 0.0 : UNITS_PI / 16.0);
            double x_mm = anchor.x_mm + cos(angle_rad) * (r_mm + half_w_mm);
            double y_mm = anchor.y_mm + sin(angle_rad) * (r_mm + half_h_mm);
            DrawBox box = {x_mm - half_w_mm, y_mm - half_h_mm, x_mm + half_w_mm, y_mm + half_h_mm};
            if (!is_free(pen, box)) {
                continue;
            }
            DrawPoint to = nearest_of(box, anchor);
            bool far = off || (pen->anchor_count > 0 && is_between(pen, anchor, to));
            if (seems_foreign(pen, box, anchor, far)) {
                continue;
            }
            double cost = r_mm + (far ? leader_cost(pen, anchor, to) : 0.0);
            if (cost < best.cost) {
                best = (NotePlace){box, to, cost, far};
            }
        }
    }
    if (!isfinite(best.cost)) {
        lose(pen, anchor, text);
        return false;
    }
    if (best.far) {
        draw_layer(pen->list, LAYER_NOTE);
        draw_line(pen->list, anchor.x_mm, anchor.y_mm, best.to.x_mm, best.to.y_mm, STYLE_THIN_MM);
        board_pen_keep_clear(pen, anchor, best.to, 0.0);
        *ARENA_PUSH(pen->list->arena, pen->leaders, pen->leader_count, pen->leader_capacity) =
            (PenStroke){anchor, best.to, 0.0};
    }
    draw_layer(pen->list, LAYER_TAG);
    draw_text(pen->list, best.box.left_mm + CLEAR_MM,
              (best.box.top_mm + best.box.bottom_mm + height_mm) / 2.0, style, text);
    keep_text(pen, best.box);
    return true;
}

bool board_pen_note(BoardPen *pen, DrawPoint anchor, double height_mm, bool bold, const char *text,
                    double near_mm, double far_mm) {
    return board_pen_note_beyond(pen, anchor, (double)NAN, height_mm, bold, text, near_mm, far_mm);
}

/* --- boards -------------------------------------------------------------------------------------
 */

void board_pen_boards(BoardPen *pen) {
    const BoardSet *set = pen->view->boards;
    const FlatShop *shop = &set->shop;
    draw_layer(pen->list, LAYER_BOARD);
    draw_row(pen->list, TABLE_COUNT, BOARD_EDGE);
    for (uint32_t row = 0; row < pen->board->flat.rows; row++) {
        for (uint32_t column = 0; column < pen->board->flat.columns; column++) {
            double left_mm = column * (shop->board_length_mm + shop->gap_mm);
            double low_mm = row * (shop->board_width_mm + shop->gap_mm);
            if (pen->alone && (column != pen->column || row != pen->row)) {
                continue;
            }
            DrawPoint c[4] = {
                board_pen_at(pen, left_mm, low_mm),
                board_pen_at(pen, left_mm + shop->board_length_mm, low_mm),
                board_pen_at(pen, left_mm + shop->board_length_mm, low_mm + shop->board_width_mm),
                board_pen_at(pen, left_mm, low_mm + shop->board_width_mm)};
            for (int i = 0; i < 4; i++) {
                board_pen_line(pen, c[i], c[(i + 1) % 4], STYLE_MEDIUM_MM);
            }
        }
    }
    draw_row(pen->list, TABLE_COUNT, "");
    pen->edge_count = pen->stroke_count;
}

/* --- arms ---------------------------------------------------------------------------------------
 */

static double deg_of(double rad) {
    double deg = fmod(units_deg_from_rad(rad), 360.0);
    return deg < 0.0 ? deg + 360.0 : deg;
}

/* A line or arc beside a piece, `aside_mm` to its left on the board. */
static void draw_beside(BoardPen *pen, const FlatPiece *piece, double aside_mm, double weight_mm) {
    double nx = -sin(piece->heading_rad);
    double ny = cos(piece->heading_rad);
    if (piece->turn_per_mm == 0.0) {
        FlatPoint end = flat_piece_at(piece, piece->length_mm, NULL);
        DrawPoint a = board_pen_at(pen, piece->x_mm + aside_mm * nx, piece->y_mm + aside_mm * ny);
        DrawPoint b = board_pen_at(pen, end.x_mm + aside_mm * nx, end.y_mm + aside_mm * ny);
        draw_line(pen->list, a.x_mm, a.y_mm, b.x_mm, b.y_mm, weight_mm);
        return;
    }
    double radius_mm = 1.0 / piece->turn_per_mm; /* signed: the middle lies to the left */
    DrawPoint middle =
        board_pen_at(pen, piece->x_mm + radius_mm * nx, piece->y_mm + radius_mm * ny);
    double own_mm = pen->scale * fabs(radius_mm - aside_mm);
    double sweep_deg = units_deg_from_rad(fabs(piece->length_mm * piece->turn_per_mm));
    double start_rad = piece->heading_rad + (radius_mm > 0.0 ? -0.5 : 0.5) * UNITS_PI;
    double from_deg = deg_of(start_rad) - (radius_mm > 0.0 ? 0.0 : sweep_deg);
    if (own_mm > 1e-6) {
        draw_arc(pen->list, middle.x_mm, middle.y_mm, own_mm, from_deg, from_deg + sweep_deg,
                 weight_mm);
    }
}

static void keep_piece_clear(BoardPen *pen, const FlatPiece *piece, double half_mm) {
    double step_mm = CUT_MM;
    if (piece->turn_per_mm != 0.0) {
        step_mm = fmin(step_mm, ARC_CUT_RAD / fabs(piece->turn_per_mm));
    }
    int parts = (int)ceil(piece->length_mm / step_mm);
    FlatPoint last = {piece->x_mm, piece->y_mm};
    for (int i = 1; i <= parts; i++) {
        FlatPoint next = flat_piece_at(piece, piece->length_mm * i / parts, NULL);
        board_pen_keep_clear(pen, board_pen_at(pen, last.x_mm, last.y_mm),
                             board_pen_at(pen, next.x_mm, next.y_mm), pen->scale * half_mm);
        last = next;
    }
}

/* A line across an arm at `s_mm` from its node a. */
static void draw_across(BoardPen *pen, uint32_t arm, double s_mm, double over_mm,
                        double weight_mm) {
    double heading_rad;
    FlatPoint at = flat_arm_at(&pen->board->flat, arm, s_mm, &heading_rad);
    double half_mm = pen->board->tree.arms[arm].od_mm / 2.0 + over_mm;
    double nx = -sin(heading_rad) * half_mm;
    double ny = cos(heading_rad) * half_mm;
    board_pen_line(pen, board_pen_at(pen, at.x_mm - nx, at.y_mm - ny),
                   board_pen_at(pen, at.x_mm + nx, at.y_mm + ny), weight_mm);
}

/* Ties at the table's distance, evenly, none nearer than half of it to a node. */
static void draw_ties(BoardPen *pen, uint32_t arm) {
    double length_mm = pen->board->tree.arms[arm].length_mm;
    uint32_t count = (uint32_t)ceil(length_mm / pen->view->boards->tie_mm);
    draw_layer(pen->list, LAYER_NAIL);
    for (uint32_t i = 0; i < count && length_mm > 40.0; i++) {
        draw_across(pen, arm, length_mm * (i + 0.5) / count, TIE_OVER_MM, STYLE_MEDIUM_MM);
    }
}

/* A clamp of the aircraft: two lines across, joined. */
static void draw_clamps(BoardPen *pen, uint32_t arm) {
    double length_mm = pen->board->tree.arms[arm].length_mm;
    uint32_t count = (uint32_t)floor(length_mm / pen->view->boards->clamp_mm);
    draw_layer(pen->list, LAYER_SYMBOL);
    for (uint32_t i = 1; i <= count; i++) {
        double s_mm = length_mm * i / (count + 1);
        double heading_rad;
        FlatPoint at = flat_arm_at(&pen->board->flat, arm, s_mm, &heading_rad);
        FlatEnd end = {pen->board->tree.arms[arm].od_mm + 8.0, CLAMP_MM};
        FlatPoint c[4];
        flat_end_corners(&end,
                         (FlatPoint){at.x_mm - 0.5 * CLAMP_MM * cos(heading_rad),
                                     at.y_mm - 0.5 * CLAMP_MM * sin(heading_rad)},
                         heading_rad, c);
        for (int k = 0; k < 4; k++) {
            board_pen_line(pen, board_pen_at(pen, c[k].x_mm, c[k].y_mm),
                           board_pen_at(pen, c[(k + 1) % 4].x_mm, c[(k + 1) % 4].y_mm),
                           STYLE_THIN_MM);
        }
    }
}

static const char *module_of(const BoardPen *pen) {
    const DrawView *view = pen->view;
    return view->set->module.rows[view->harness->harnesses[pen->board->harness].module].module;
}

void board_pen_arms(BoardPen *pen, bool full) {
    const Board *board = pen->board;
    for (uint32_t arm = 0; arm < board->tree.arm_count; arm++) {
        double half_mm = board->tree.arms[arm].od_mm / 2.0;
        bool thick = pen->scale * half_mm > 0.35;
        const char *key = arena_format(pen->list->arena, "%s %s", module_of(pen),
                                       board_arm_name(pen->view->boards, board, arm));
        for (uint32_t i = board->flat.arm_first[arm]; i < board->flat.arm_first[arm + 1]; i++) {
            FlatPiece own = board->flat.pieces[i];
            const FlatPiece *piece = &own;
            if (!board_pen_cut(pen, &own)) {
                continue;
            }
            draw_row(pen->list, TABLE_board_branch, key);
            draw_layer(pen->list, LAYER_MIDDLE);
            draw_dash(pen->list, full ? DASH_AXIS : DASH_NONE);
            draw_beside(pen, piece, 0.0, full || thick ? STYLE_THIN_MM : STYLE_MEDIUM_MM);
            draw_dash(pen->list, DASH_NONE);
            draw_layer(pen->list, LAYER_BUNDLE);
            for (int side = -1; side <= 1 && thick; side += 2) {
                draw_beside(pen, piece, side * half_mm, full ? STYLE_MEDIUM_MM : STYLE_THIN_MM);
            }
            draw_row(pen->list, TABLE_COUNT, "");
            keep_piece_clear(pen, piece, half_mm);
        }
        if (full) {
            draw_ties(pen, arm);
            if (arm < board->arm_count) {
                draw_clamps(pen, arm);
            }
        }
    }
}

/* --- ends and nodes -----------------------------------------------------------------------------
 */

/* Key of a node's row. */
static const char *place_key(const BoardPen *pen, uint32_t node) {
    return arena_format(pen->list->arena, "%s %s", module_of(pen),
                        board_node_name(pen->view->boards, pen->board, node));
}

static void draw_end(BoardPen *pen, uint32_t arm, uint32_t node) {
    const Board *board = pen->board;
    FlatPoint at = {board->flat.nodes[node].x_mm, board->flat.nodes[node].y_mm};
    FlatPoint c[4];
    flat_end_corners(&board->tree.ends[node], at,
                     flat_leaving_rad(&board->tree, &board->flat, arm, node) + UNITS_PI, c);
    DrawPoint corners[4];
    for (int k = 0; k < 4; k++) {
        corners[k] = board_pen_at(pen, c[k].x_mm, c[k].y_mm);
    }
    draw_layer(pen->list, LAYER_BOX);
    draw_row(pen->list, TABLE_board_node, place_key(pen, node));
    draw_path(pen->list, corners, 4, true, pen->scale < 0.5 ? STYLE_THIN_MM : STYLE_THICK_MM);
    draw_row(pen->list, TABLE_COUNT, "");
    for (int k = 0; k < 4; k++) {
        board_pen_keep_clear(pen, corners[k], corners[(k + 1) % 4], 0.0);
    }
    board_pen_keep_clear(pen, corners[0], corners[2], 0.0);
    board_pen_keep_clear(pen, corners[1], corners[3], 0.0);
}

void board_pen_ends(BoardPen *pen) {
    const FlatTree *tree = &pen->board->tree;
    for (uint32_t arm = 0; arm < tree->arm_count; arm++) {
        const uint32_t nodes[2] = {tree->arms[arm].a, tree->arms[arm].b};
        for (int i = 0; i < 2; i++) {
            const FlatNode *at = &pen->board->flat.nodes[nodes[i]];
            if (tree->ends[nodes[i]].depth_mm > 0.0 &&
                board_pen_shows(pen, (FlatPoint){at->x_mm, at->y_mm})) {
                draw_end(pen, arm, nodes[i]);
            }
        }
    }
}

static void draw_nail(BoardPen *pen, FlatPoint at) {
    DrawPoint c = board_pen_at(pen, at.x_mm, at.y_mm);
    draw_layer(pen->list, LAYER_NAIL);
    board_pen_line(pen, (DrawPoint){c.x_mm - NAIL_MM, c.y_mm - NAIL_MM},
                   (DrawPoint){c.x_mm + NAIL_MM, c.y_mm + NAIL_MM}, STYLE_MEDIUM_MM);
    board_pen_line(pen, (DrawPoint){c.x_mm - NAIL_MM, c.y_mm + NAIL_MM},
                   (DrawPoint){c.x_mm + NAIL_MM, c.y_mm - NAIL_MM}, STYLE_MEDIUM_MM);
}

/* Nails stand inside every bend: at its middle, on the side it turns to. */
static void draw_bend_nails(BoardPen *pen) {
    const Flat *flat = &pen->board->flat;
    for (uint32_t i = 0; i < flat->piece_count; i++) {
        const FlatPiece *piece = &flat->pieces[i];
        if (piece->turn_per_mm == 0.0) {
            continue;
        }
        double heading_rad;
        FlatPoint at = flat_piece_at(piece, piece->length_mm / 2.0, &heading_rad);
        double half_mm = pen->board->tree.arms[piece->arm].od_mm / 2.0 + NAIL_MM + 1.0;
        double side = piece->turn_per_mm > 0.0 ? half_mm : -half_mm;
        draw_nail(
            pen, (FlatPoint){at.x_mm - side * sin(heading_rad), at.y_mm + side * cos(heading_rad)});
    }
}

void board_pen_nodes(BoardPen *pen, bool full) {
    const Board *board = pen->board;
    for (uint32_t node = 0; node < board->tree.node_count; node++) {
        const FlatNode *place = &board->flat.nodes[node];
        if (!board_pen_shows(pen, (FlatPoint){place->x_mm, place->y_mm})) {
            continue;
        }
        double half_mm = 0.0;
        for (uint32_t arm = 0; arm < board->tree.arm_count; arm++) {
            if (board->tree.arms[arm].a == node || board->tree.arms[arm].b == node) {
                half_mm = fmax(half_mm, board->tree.arms[arm].od_mm / 2.0);
            }
        }
        DrawPoint at =
            board_pen_at(pen, board->flat.nodes[node].x_mm, board->flat.nodes[node].y_mm);
        if (node < board->node_count) {
            double radius_mm =
                full ? half_mm + NODE_OVER_MM : fmax(0.9, pen->scale * (half_mm + NODE_OVER_MM));
            draw_layer(pen->list, LAYER_SYMBOL);
            draw_row(pen->list, TABLE_board_node, place_key(pen, node));
            draw_disc_outlined(pen->list, at.x_mm, at.y_mm, radius_mm, STYLE_PAPER,
                               full ? STYLE_MEDIUM_MM : STYLE_THIN_MM);
            draw_row(pen->list, TABLE_COUNT, "");
            board_pen_keep_clear(pen, at, at, radius_mm);
        }
        if (full) {
            draw_nail(pen, (FlatPoint){board->flat.nodes[node].x_mm, board->flat.nodes[node].y_mm});
        }
    }
    if (full) {
        draw_bend_nails(pen);
    }
}

/* --- folds and openings -------------------------------------------------------------------------
 */

/* Where two turns to the same side make half a circle: a line from the one to the other. */
void board_pen_folds(BoardPen *pen) {
    const Flat *flat = &pen->board->flat;
    uint32_t number = 0;
    for (uint32_t arm = 0; arm < pen->board->tree.arm_count; arm++) {
        const FlatPiece *last = NULL;
        for (uint32_t i = flat->arm_first[arm]; i < flat->arm_first[arm + 1]; i++) {
            const FlatPiece *piece = &flat->pieces[i];
            if (piece->turn_per_mm == 0.0) {
                continue;
            }
            if (last != NULL && (last->turn_per_mm > 0.0) == (piece->turn_per_mm > 0.0)) {
                FlatPoint end = flat_piece_at(piece, piece->length_mm, NULL);
                DrawPoint a = board_pen_at(pen, last->x_mm, last->y_mm);
                DrawPoint b = board_pen_at(pen, end.x_mm, end.y_mm);
                draw_layer(pen->list, LAYER_NOTE);
                draw_dash(pen->list, DASH_HIDDEN);
                board_pen_line(pen, a, b, STYLE_THIN_MM);
                draw_dash(pen->list, DASH_NONE);
                board_pen_note(pen, (DrawPoint){(a.x_mm + b.x_mm) / 2.0, (a.y_mm + b.y_mm) / 2.0},
                               pen->scale < 0.5 ? STYLE_NOTE_MM : STYLE_VALUE_MM, false,
                               arena_format(pen->list->arena, "fold %u", ++number), 1.0, 60.0);
                last = NULL;
                continue;
            }
            last = piece;
        }
    }
}

void board_pen_openings(BoardPen *pen, double height_mm) {
    const HarnessSet *harness = pen->view->harness;
    const Harness *own = &harness->harnesses[pen->board->harness];
    for (uint32_t i = 0; i < own->opening_count; i++) {
        const HarnessOpening *opening = &harness->openings[own->opening_first + i];
        const FlatNode *node = &pen->board->flat.nodes[opening->open - own->node_first];
        board_pen_note(pen, board_pen_at(pen, node->x_mm, node->y_mm), height_mm, true,
                       arena_format(pen->list->arena, "close on aircraft at %s", opening->name),
                       pen->scale < 0.5 ? 1.5 : 12.0, 160.0);
    }
}
