#include "draw/board_plot.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"

#define RIM_LEFT_MM 40.0 /* around the boards, for scale bars and words */
#define RIM_RIGHT_MM 25.0
#define RIM_TOP_MM 45.0
#define RIM_BOTTOM_MM 40.0
#define BAR_MM 1000.0
#define BAR_STEP_MM 100.0

const char *board_module(const DrawView *view, const Board *board) {
    return view->set->module.rows[view->harness->harnesses[board->harness].module].module;
}

/* --- words around the boards --------------------------------------------------------------------
 */

static void draw_bar(BoardPen *pen, DrawPoint from, bool up, double length_mm) {
    DrawPoint to = {from.x_mm + (up ? 0.0 : length_mm), from.y_mm - (up ? length_mm : 0.0)};
    draw_layer(pen->list, LAYER_BOARD);
    board_pen_line(pen, from, to, STYLE_MEDIUM_MM);
    for (int i = 0; i * BAR_STEP_MM <= length_mm + 0.001; i++) {
        double at_mm = i * BAR_STEP_MM;
        double tick_mm = i % 10 == 0 || i * BAR_STEP_MM + 0.001 > length_mm ? 6.0 : 3.0;
        DrawPoint a = {from.x_mm + (up ? 0.0 : at_mm), from.y_mm - (up ? at_mm : 0.0)};
        DrawPoint b = {a.x_mm - (up ? tick_mm : 0.0), a.y_mm + (up ? 0.0 : tick_mm)};
        board_pen_line(pen, a, b, STYLE_MEDIUM_MM);
    }
    const char *text =
        arena_format(pen->list->arena, "scale bar %.0f mm: measure it on the paper, %.0f +/- 1",
                     length_mm, length_mm);
    DrawTextStyle style = {.height_mm = STYLE_VALUE_MM, .turned = up};
    DrawPoint at = up ? (DrawPoint){from.x_mm - 9.0, from.y_mm - 30.0}
                      : (DrawPoint){from.x_mm + 30.0, from.y_mm + 12.5};
    board_pen_text(pen, at, style, text);
}

static void draw_datum(BoardPen *pen) {
    DrawPoint zero = board_pen_at(pen, 0.0, 0.0);
    draw_layer(pen->list, LAYER_BOARD);
    draw_circle(pen->list, zero.x_mm, zero.y_mm, 5.0, STYLE_MEDIUM_MM);
    board_pen_line(pen, (DrawPoint){zero.x_mm - 8.0, zero.y_mm},
                   (DrawPoint){zero.x_mm + 8.0, zero.y_mm}, STYLE_THIN_MM);
    board_pen_line(pen, (DrawPoint){zero.x_mm, zero.y_mm - 8.0},
                   (DrawPoint){zero.x_mm, zero.y_mm + 8.0}, STYLE_THIN_MM);
    draw_layer(pen->list, LAYER_TAG);
    board_pen_text(pen, (DrawPoint){zero.x_mm - 34.0, zero.y_mm + 16.0},
                   (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true}, "datum");
}

static void draw_heading(BoardPen *pen) {
    const DrawView *view = pen->view;
    const JobRow *job = &view->set->job.rows[0];
    const FlatShop *shop = &view->boards->shop;
    Arena *arena = pen->list->arena;
    draw_layer(pen->list, LAYER_TAG);
    board_pen_text(
        pen, (DrawPoint){RIM_LEFT_MM, 14.0},
        (DrawTextStyle){.height_mm = STYLE_TITLE_MM, .bold = true},
        arena_format(arena,
                     "%s harness %s: board 1:1, %s. Do not mirror: if this reads backwards, "
                     "do not build on it",
                     job->job, board_module(view, pen->board),
                     board_sight_words(pen->board->sight)));
    board_pen_text(
        pen, (DrawPoint){RIM_LEFT_MM, 23.0}, (DrawTextStyle){.height_mm = STYLE_VALUE_MM},
        arena_format(
            arena,
            "%s, revision %s (%.8s), marling %s. %u board%s of %.0f x %.0f mm, gap %.0f. "
            "Cross: nail. Stroke across: tie, at most %.0f mm apart. Small frame: clamp of "
            "the aircraft.",
            job->title, *job->revision == '\0' ? "-" : job->revision, view->hash, view->version,
            pen->board->flat.columns * pen->board->flat.rows,
            pen->board->flat.columns * pen->board->flat.rows == 1 ? "" : "s", shop->board_length_mm,
            shop->board_width_mm, shop->gap_mm, view->boards->tie_mm));
    board_pen_text(
        pen, (DrawPoint){RIM_LEFT_MM, 30.0}, (DrawTextStyle){.height_mm = STYLE_VALUE_MM},
        arena_format(arena,
                     "Connectors: mating face away from the branch, wire side towards it; %.0f mm "
                     "kept free around them. Lengths in mm along the middle line; behind + the way "
                     "from the trunk's beginning.",
                     shop->hand_mm));
    board_pen_text(pen, (DrawPoint){RIM_LEFT_MM, 37.0}, (DrawTextStyle){.height_mm = STYLE_NOTE_MM},
                   sheet_caution());
}

/* --- notes on arms ------------------------------------------------------------------------------
 */

static DrawPoint arm_middle(const BoardPen *pen, uint32_t arm) {
    FlatPoint at =
        flat_arm_at(&pen->board->flat, arm, pen->board->tree.arms[arm].length_mm / 2.0, NULL);
    return board_pen_at(pen, at.x_mm, at.y_mm);
}

static const char *sleeve_words(const BoardPen *pen, uint32_t arm) {
    const DrawView *view = pen->view;
    const Harness *own = &view->harness->harnesses[pen->board->harness];
    if (arm >= pen->board->arm_count || view->fits == NULL) {
        return "";
    }
    SegmentId segment = view->harness->arms[own->arm_first + arm].segment;
    const BundleFit *fit = &view->fits->bundles[segment];
    if (fit->wire_count == 0 || fit->shrink == ID_NONE) {
        return "";
    }
    return arena_format(pen->list->arena, ", %s", view->set->sleeve.rows[fit->shrink].sleeve);
}

static void note_names(BoardPen *pen) {
    const Board *board = pen->board;
    for (uint32_t node = 0; node < board->node_count; node++) {
        const FlatNode *at = &board->flat.nodes[node];
        board_pen_note(pen, board_pen_at(pen, at->x_mm, at->y_mm), STYLE_TAG_MM, true,
                       board_node_name(pen->view->boards, board, node), 8.0, 200.0);
    }
    for (uint32_t i = 0; i < board->stub_count; i++) {
        const FlatNode *at = &board->flat.nodes[board->node_count + i];
        const FlatEnd *end = &board->tree.ends[board->node_count + i];
        double heading_rad = flat_leaving_rad(&board->tree, &board->flat, board->arm_count + i,
                                              board->node_count + i) +
                             UNITS_PI;
        DrawPoint middle = board_pen_at(pen, at->x_mm + 0.5 * end->depth_mm * cos(heading_rad),
                                        at->y_mm + 0.5 * end->depth_mm * sin(heading_rad));
        board_pen_note(pen, middle, STYLE_TAG_MM, true, board->stubs[i].name,
                       0.5 * fmin(end->depth_mm, end->width_mm) + 1.0, 260.0);
    }
}

/* Length and diameter of every arm; on the trunk the way from its beginning. */
static void note_lengths(BoardPen *pen) {
    const Board *board = pen->board;
    Arena *arena = pen->list->arena;
    for (uint32_t arm = 0; arm < board->tree.arm_count; arm++) {
        const FlatArm *row = &board->tree.arms[arm];
        const char *name =
            arm < board->arm_count ? board_arm_name(pen->view->boards, board, arm) : "";
        board_pen_note(pen, arm_middle(pen, arm), STYLE_VALUE_MM, false,
                       arena_format(arena, "%s%s%.0f mm, dia. %.1f%s%s", name,
                                    *name == '\0' ? "" : ": ", row->length_mm, row->od_mm,
                                    sleeve_words(pen, arm),
                                    board->flat.leans[arm] == FLAT_TURNED ? ", TURNED" : ""),
                       row->od_mm / 2.0 + 1.5, 200.0);
    }
}

/* Ways along the trunk, at its nodes, from the end that its first arm begins at. */
static void note_chain(BoardPen *pen) {
    const Board *board = pen->board;
    uint32_t arm = FLAT_NONE;
    uint32_t node = FLAT_NONE;
    for (uint32_t i = 0; i < board->tree.arm_count && arm == FLAT_NONE; i++) {
        for (int end = 0; end < 2 && board->flat.trunk[i]; end++) {
            uint32_t at = end == 0 ? board->tree.arms[i].a : board->tree.arms[i].b;
            uint32_t trunks = 0;
            for (uint32_t k = 0; k < board->tree.arm_count; k++) {
                trunks += board->flat.trunk[k] &&
                                  (board->tree.arms[k].a == at || board->tree.arms[k].b == at)
                              ? 1
                              : 0;
            }
            if (trunks == 1) {
                arm = i;
                node = at;
                break;
            }
        }
    }
    double way_mm = 0.0;
    while (arm != FLAT_NONE) {
        uint32_t next =
            board->tree.arms[arm].a == node ? board->tree.arms[arm].b : board->tree.arms[arm].a;
        way_mm += board->tree.arms[arm].length_mm;
        const FlatNode *at = &board->flat.nodes[next];
        board_pen_note(pen, board_pen_at(pen, at->x_mm, at->y_mm), STYLE_VALUE_MM, false,
                       arena_format(pen->list->arena, "+ %.0f", way_mm), 9.0, 200.0);
        uint32_t on = FLAT_NONE;
        for (uint32_t k = 0; k < board->tree.arm_count; k++) {
            bool here = board->tree.arms[k].a == next || board->tree.arms[k].b == next;
            on = k != arm && board->flat.trunk[k] && here ? k : on;
        }
        node = next;
        arm = on;
    }
}

static void note_bends(BoardPen *pen) {
    const Flat *flat = &pen->board->flat;
    for (uint32_t i = 0; i < flat->piece_count; i++) {
        const FlatPiece *piece = &flat->pieces[i];
        if (piece->turn_per_mm != 0.0) {
            FlatPoint at = flat_piece_at(piece, piece->length_mm / 2.0, NULL);
            board_pen_note(pen, board_pen_at(pen, at.x_mm, at.y_mm), STYLE_VALUE_MM, false,
                           arena_format(pen->list->arena, "R %.0f", 1.0 / fabs(piece->turn_per_mm)),
                           pen->board->tree.arms[piece->arm].od_mm / 2.0 + 2.0, 120.0);
        }
    }
}

void board_plot_draw(Arena *arena, DrawFonts *fonts, const DrawView *view, const Board *board,
                     DrawList *list) {
    double width_mm = board_pen_width_mm(view->boards, board);
    double height_mm = board_pen_height_mm(view->boards, board);
    draw_start(list, arena, fonts, RIM_LEFT_MM + width_mm + RIM_RIGHT_MM,
               RIM_TOP_MM + height_mm + RIM_BOTTOM_MM);
    BoardPen pen = {
        .list = list,
        .view = view,
        .board = board,
        .scale = 1.0,
        .zero = {RIM_LEFT_MM, RIM_TOP_MM + height_mm},
        .limits = {RIM_LEFT_MM, RIM_TOP_MM, RIM_LEFT_MM + width_mm, RIM_TOP_MM + height_mm}};
    draw_heading(&pen);
    board_pen_boards(&pen);
    draw_datum(&pen);
    double bar_mm = BAR_MM;
    draw_bar(&pen, (DrawPoint){RIM_LEFT_MM, RIM_TOP_MM + height_mm + 14.0}, false,
             fmin(bar_mm, BAR_STEP_MM * floor(width_mm / BAR_STEP_MM)));
    draw_bar(&pen, (DrawPoint){RIM_LEFT_MM - 14.0, RIM_TOP_MM + height_mm}, true,
             fmin(bar_mm, BAR_STEP_MM * floor(height_mm / BAR_STEP_MM)));
    board_pen_arms(&pen, true);
    board_pen_ends(&pen);
    board_pen_nodes(&pen, true);
    note_names(&pen);
    board_pen_openings(&pen, STYLE_TAG_MM);
    board_pen_folds(&pen);
    note_chain(&pen);
    note_lengths(&pen);
    note_bends(&pen);
    board_pen_write_lost(&pen, (DrawPoint){RIM_LEFT_MM, list->height_mm - 8.0}, STYLE_VALUE_MM,
                         width_mm, 2);
}

DrawPoint board_plot_zero(const DrawList *whole) {
    return (DrawPoint){RIM_LEFT_MM, whole->height_mm - RIM_BOTTOM_MM};
}
