/* The rear as it is seen from behind the panel, and the section from the left side of the aircraft:
 * bodies, connectors, the way of the wires to where the panel parts from the airframe, and what
 * stands in the way. Both come from the boxes that the panel's depth is checked with. */
#include "out/portrait_inner.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"

#define SMALL_BODY_MM 25.0 /* bodies behind a guard */
#define CABLE_RGB 0x1B1C1Eu
#define BODY_RGB 0x6F767Cu
#define CONNECTOR_RGB 0x2E3236u
#define SIDE_WORD_MM 30.0 /* least room for a word */
#define OBSTACLE_RGB 0x8A4B00u

typedef struct Block {
    uint32_t item;
    PanelBox box; /* as seen */
    double deep_mm;
    bool round;
} Block;

static int compare_blocks(const void *left, const void *right) {
    const Block *l = left;
    const Block *r = right;
    if (l->deep_mm != r->deep_mm) {
        return l->deep_mm < r->deep_mm ? -1 : 1;
    }
    return l->item < r->item ? -1 : l->item > r->item;
}

static bool is_round_kind(const char *kind) {
    static const char *const ROUND[] = {"switch", "breaker", "jack", "lamp", "knob"};
    for (size_t i = 0; i < sizeof ROUND / sizeof *ROUND; i++) {
        if (strcmp(kind, ROUND[i]) == 0) {
            return true;
        }
    }
    return false;
}

/* --- rear ---------------------------------------------------------------------------------------
 */

/* A cable from one place to another that leaves downwards; three strokes make it round. */
static void cable(const Brush *brush, double x1, double y1, double x2, double y2, double width_mm) {
    cairo_t *cairo = brush->cairo;
    cairo_new_path(cairo);
    cairo_move_to(cairo, x1, y1);
    double drop = fmax(12.0, 0.55 * fabs(y1 - y2));
    cairo_curve_to(cairo, x1, y1 - drop, x1 + 0.25 * (x2 - x1), y2, x2, y2);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_ROUND);
    cairo_save(cairo);
    cairo_translate(cairo, 1.2, -2.0);
    brush_stroke(brush, 0x000000u, 0.18, width_mm * 1.5);
    cairo_restore(cairo);
    brush_stroke(brush, CABLE_RGB, 1.0, width_mm);
    brush_stroke(brush, 0x4A4E53u, 0.8, width_mm * 0.55);
    brush_stroke(brush, 0x7C8288u, 0.5, width_mm * 0.18);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
    cairo_new_path(cairo);
}

/* Where the wires leave: between the nodes of the segment that a disconnect of the panel's module
 * cuts, in the face's axes seen from behind; false when no row says. */
static bool entry_of(const Portrait *portrait, double *x_mm, double *y_mm, const char **name) {
    const Model *model = portrait->panel->model;
    const TableSet *set = model->set;
    const PanelFace *plate = &portrait->panel->faces[portrait->face];
    for (size_t i = 0; i < set->disconnect.count; i++) {
        const DisconnectRow *disconnect = &set->disconnect.rows[i];
        bool ours = false;
        for (uint32_t j = 0; j < portrait->panel->owner_count && !ours; j++) {
            const ModelOwner *owner = &model->owners[portrait->panel->owners[j]];
            ours = owner->kind == OWNER_UNIT &&
                   strcmp(set->unit.rows[owner->row].module, disconnect->module) == 0;
        }
        for (size_t j = 0; j < set->disconnect_shell.count && ours; j++) {
            const DisconnectShellRow *shell = &set->disconnect_shell.rows[j];
            uint32_t segment = model_row(model, TABLE_segment, shell->segment);
            if (strcmp(shell->disconnect, disconnect->disconnect) != 0 || segment == ID_NONE) {
                continue;
            }
            const SegmentRow *row = &set->segment.rows[segment];
            uint32_t a = model_row(model, TABLE_node, row->node_a);
            uint32_t b = model_row(model, TABLE_node, row->node_b);
            if (a != ID_NONE && b != ID_NONE) {
                const NodeRow *from = &set->node.rows[a];
                const NodeRow *to = &set->node.rows[b];
                *x_mm = -((from->y_mm + to->y_mm) / 2.0 - plate->origin.y_mm);
                *y_mm = (from->z_mm + to->z_mm) / 2.0 - plate->origin.z_mm;
                *name = disconnect->disconnect;
                return true;
            }
        }
    }
    return false;
}

static void body(const Brush *brush, const Block *block) {
    double x = (block->box.u0_mm + block->box.u1_mm) / 2.0;
    double y = (block->box.v0_mm + block->box.v1_mm) / 2.0;
    double w = block->box.u1_mm - block->box.u0_mm;
    double h = block->box.v1_mm - block->box.v0_mm;
    double high = fmin(14.0, 0.045 * block->deep_mm + 1.0);
    if (block->round) {
        double r = fmin(w, h) / 2.0;
        brush_circle(brush, x, y, r);
        brush_shadow(brush, high, 0.5);
        brush_circle(brush, x, y, r);
        brush_fill_along(brush, x - r, y + r, x + r, y - r, 0x4A4E52u, 0x17191Bu);
        brush_stroke(brush, 0x000000u, 0.6, 0.2);
        for (int side = -1; side <= 1; side += 2) { /* terminals */
            brush_box(brush, x + side * r * 0.38, y, r * 0.24, r * 0.62, r * 0.06);
            brush_fill_along(brush, x, y + r * 0.3, x, y - r * 0.3, 0xF0E4C2u, 0xA88B4Au);
        }
        cairo_new_path(brush->cairo);
        return;
    }
    brush_box(brush, x, y, w, h, 2.5);
    brush_shadow(brush, high, 0.55);
    brush_box(brush, x, y, w, h, 2.5);
    brush_fill_along_3(brush, x - 0.3 * w, y + h / 2.0, x + 0.3 * w, y - h / 2.0,
                       brush_shade(BODY_RGB, 0.34), BODY_RGB, brush_shade(BODY_RGB, -0.35));
    brush_stroke(brush, 0x101214u, 0.6, 0.25);
    int fins = (int)(h / 9.0);
    for (int i = 1; i < fins && fins > 4; i++) {
        double at = y - h / 2.0 + h * i / fins;
        cairo_new_path(brush->cairo);
        cairo_move_to(brush->cairo, x - 0.44 * w, at);
        cairo_line_to(brush->cairo, x + 0.44 * w, at);
        brush_stroke(brush, 0x000000u, 0.22, 0.9);
        cairo_save(brush->cairo);
        cairo_translate(brush->cairo, 0.0, -0.7);
        cairo_restore(brush->cairo);
        brush_stroke(brush, 0xFFFFFFu, 0.06, 0.3);
    }
    cairo_new_path(brush->cairo);
}

/* The connector on the back of a body: shell with two screws. */
static void connector(const Brush *brush, double x, double y, double width_mm) {
    double w = width_mm;
    double h = fmax(7.0, 0.22 * w);
    brush_box(brush, x, y, w, h, h * 0.3);
    brush_shadow(brush, 3.0, 0.5);
    brush_box(brush, x, y, w, h, h * 0.3);
    brush_fill_along_3(brush, x, y + h / 2.0, x, y - h / 2.0, 0xD9CDA8u, 0xB39C62u, 0x77653Au);
    brush_stroke(brush, 0x201A0Cu, 0.7, 0.2);
    brush_box(brush, x, y, w * 0.68, h * 0.62, h * 0.2);
    brush_fill_along(brush, x, y + h / 2.0, x, y - h / 2.0, brush_shade(CONNECTOR_RGB, 0.15),
                     brush_shade(CONNECTOR_RGB, -0.4));
    for (int side = -1; side <= 1; side += 2) {
        brush_circle(brush, x + side * w * 0.42, y, h * 0.17);
        brush_fill_ball(brush, x + side * w * 0.42, y, h * 0.17, METAL_RGB);
    }
    cairo_new_path(brush->cairo);
}

static void tag(const Brush *brush, double x, double y, double width_mm, const char *text) {
    double letter = 4.2;
    double room = fonts_width_mm(brush->fonts, text, letter, true) + 4.0;
    if (room > width_mm) {
        letter *= width_mm / room;
        room = width_mm;
    }
    if (letter < 1.6) {
        return;
    }
    brush_box(brush, x, y, room, letter * 1.8, letter * 0.4);
    brush_fill(brush, 0xF6F4EEu, 0.92);
    cairo_new_path(brush->cairo);
    brush_text(brush, x, y - letter / 2.0, letter, true, ALIGN_MIDDLE, WORDS_RGB, 1.0, text);
}

void portrait_rear(const Portrait *portrait) {
    const Brush *brush = &portrait->brush;
    const Panel *panel = portrait->panel;
    const PanelFace *plate = &panel->faces[portrait->face];
    portrait_plate(portrait, true);
    Block *blocks = ARENA_ARRAY(brush->arena, Block, (size_t)panel->body_count + 1);
    size_t count = 0;
    for (uint32_t i = 0; i < panel->body_count; i++) {
        const PanelBody *part = &panel->bodies[i];
        const PanelItem *item = &panel->items[part->item];
        if (part->kind != PANEL_BODY || item->face != portrait->face ||
            !panel_look_shows(panel, portrait->look, part->item)) {
            continue;
        }
        PanelBox seen = {-part->box.u1_mm, -part->box.u0_mm, part->box.v0_mm, part->box.v1_mm};
        bool round = is_round_kind(panel_cutout(panel, part->item)->kind) &&
                     (panel_contour_diameter_mm(&item->bezel) > 0.0 ||
                      seen.u1_mm - seen.u0_mm < SMALL_BODY_MM);
        blocks[count++] = (Block){part->item, seen, part->to_mm, round};
    }
    qsort(blocks, count, sizeof *blocks, compare_blocks);
    for (size_t i = 0; i < count; i++) {
        body(brush, &blocks[i]);
    }
    double bottom = plate->outline.box.v0_mm;
    double high = plate->outline.box.v1_mm - bottom;
    double exit_x = 0.0;
    double exit_y = bottom;
    const char *name = "";
    bool known = entry_of(portrait, &exit_x, &exit_y, &name);
    double right = -plate->outline.box.u0_mm;
    double left = -plate->outline.box.u1_mm;
    exit_x = fmin(right - 20.0, fmax(left + 20.0, exit_x));
    exit_y = fmin(plate->outline.box.v1_mm, fmax(bottom - 2.0, exit_y));
    double trunk_y = bottom + 0.34 * high;
    size_t wired = 0;
    for (size_t i = 0; i < count; i++) {
        const Block *block = &blocks[i];
        double x = (block->box.u0_mm + block->box.u1_mm) / 2.0;
        double y = (block->box.v0_mm + block->box.v1_mm) / 2.0;
        double w = block->box.u1_mm - block->box.u0_mm;
        if (!block->round && w >= 20.0) {
            double to_x = x + 0.35 * (exit_x - x);
            cable(brush, x, y, to_x, trunk_y, fmin(9.0, 2.5 + 0.02 * w));
            wired++;
        }
    }
    if (wired > 0) {
        double width = fmin(26.0, 8.0 + 1.4 * (double)wired);
        cairo_t *cairo = brush->cairo;
        for (int pass = 0; pass < 4; pass++) {
            static const struct {
                uint32_t rgb;
                double alpha;
                double share;
            } COATS[] = {{0x000000u, 0.22, 1.35},
                         {CABLE_RGB, 1.0, 1.0},
                         {0x3C4044u, 0.9, 0.62},
                         {0x6B7177u, 0.5, 0.2}};
            cairo_new_path(cairo);
            double shift = pass == 0 ? 2.5 : 0.0;
            cairo_move_to(cairo, left + 0.16 * (right - left), trunk_y - shift);
            cairo_line_to(cairo, right - 0.16 * (right - left), trunk_y - shift);
            cairo_move_to(cairo, exit_x + 0.12 * (exit_x > 0.0 ? -1.0 : 1.0) * (right - left),
                          trunk_y - shift);
            cairo_curve_to(cairo, exit_x, trunk_y - shift, exit_x, trunk_y - shift, exit_x,
                           exit_y - shift);
            cairo_set_line_cap(cairo, CAIRO_LINE_CAP_ROUND);
            brush_stroke(brush, COATS[pass].rgb, COATS[pass].alpha, width * COATS[pass].share);
        }
        cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
        int ties = (int)(0.63 * (right - left) / 42.0) + 1;
        for (int i = 0; i < ties; i++) {
            brush_box(brush, left + 0.2 * (right - left) + 42.0 * i, trunk_y, 1.8, width * 1.04,
                      0.8);
            brush_fill(brush, 0xE9E4D4u, 0.9);
        }
        cairo_new_path(cairo);
    }
    for (size_t i = 0; i < count; i++) {
        const Block *block = &blocks[i];
        double x = (block->box.u0_mm + block->box.u1_mm) / 2.0;
        double y = (block->box.v0_mm + block->box.v1_mm) / 2.0;
        double w = block->box.u1_mm - block->box.u0_mm;
        double h = block->box.v1_mm - block->box.v0_mm;
        if (!block->round && w >= 20.0) {
            connector(brush, x, y, fmin(44.0, w * 0.55));
            double tag_y = h > 24.0 ? y + fmin(16.0, h * 0.30) : block->box.v1_mm + 4.5;
            tag(brush, x, tag_y, fmax(w, 18.0), panel->items[block->item].key);
        }
    }
    const char *words = known ? arena_format(brush->arena, "%s: bundle enters here", name)
                              : "BUNDLE ENTRY: NOT STATED";
    double room = fonts_width_mm(brush->fonts, words, 4.2, true) + 4.0;
    tag(brush, exit_x + 18.0 + room / 2.0, exit_y, 200.0, words);
    brush_circle(brush, exit_x, exit_y, 15.0);
    brush_stroke(brush, 0xF6F4EEu, 0.95, 1.4);
    cairo_new_path(brush->cairo);
}

/* --- side ---------------------------------------------------------------------------------------
 */

/* What begins behind, from there on: hatched, with its name. */
static void obstacle(const Brush *brush, const BehindRow *row, double end_mm) {
    cairo_t *cairo = brush->cairo;
    double from = -row->depth_mm;
    double to = isnan(row->until_mm) ? end_mm : -row->until_mm;
    double w = fmax(1.0, from - to);
    double h = row->to_v_mm - row->from_v_mm;
    double x = (from + to) / 2.0;
    double y = (row->from_v_mm + row->to_v_mm) / 2.0;
    cairo_save(cairo);
    brush_box(brush, x, y, w, h, 0.0);
    brush_fill(brush, OBSTACLE_RGB, 0.08);
    cairo_clip(cairo);
    int strokes = (int)((2.0 * w + h) / 9.0) + 1;
    for (int i = 0; i < strokes; i++) {
        double at = x - w - h + 9.0 * i;
        cairo_new_path(cairo);
        cairo_move_to(cairo, at, row->from_v_mm);
        cairo_line_to(cairo, at + h, row->to_v_mm);
        brush_stroke(brush, OBSTACLE_RGB, 0.28, 0.4);
    }
    cairo_restore(cairo);
    cairo_new_path(cairo);
    cairo_move_to(cairo, from, row->from_v_mm);
    cairo_line_to(cairo, from, row->to_v_mm);
    brush_stroke(brush, OBSTACLE_RGB, 0.9, 0.6);
    cairo_new_path(cairo);
}

/* One box behind the face in the section. */
static void side_box(const Brush *brush, const PanelBody *part) {
    static const double DASH[] = {2.5, 1.5};
    double w = part->to_mm - part->from_mm;
    double h = part->box.v1_mm - part->box.v0_mm;
    double x = -(part->from_mm + part->to_mm) / 2.0;
    double y = (part->box.v0_mm + part->box.v1_mm) / 2.0;
    if (w <= 0.0 || h <= 0.0) {
        return;
    }
    cairo_t *cairo = brush->cairo;
    switch (part->kind) {
    case PANEL_BODY:
        brush_box(brush, x, y, w, h, 1.2);
        brush_shadow(brush, 2.0, 0.4);
        brush_box(brush, x, y, w, h, 1.2);
        brush_fill_along_3(brush, x, y + h / 2.0, x, y - h / 2.0, brush_shade(BODY_RGB, 0.25),
                           BODY_RGB, brush_shade(BODY_RGB, -0.30));
        brush_stroke(brush, 0x101214u, 0.75, 0.3);
        break;
    case PANEL_CONNECTOR:
        brush_box(brush, x, y, w, h, 1.0);
        brush_fill(brush, 0xB39C62u, 0.22);
        brush_stroke(brush, 0x77653Au, 0.9, 0.4);
        break;
    case PANEL_NUTPLATE:
        brush_box(brush, x, y, w, h, 0.3);
        brush_fill(brush, METAL_RGB, 1.0);
        brush_stroke(brush, 0x101214u, 0.75, 0.2);
        break;
    case PANEL_TOOL:
        brush_box(brush, x, y, w, h, 1.0);
        cairo_set_dash(cairo, DASH, 2, 0.0);
        brush_stroke(brush, FAINT_RGB, 0.8, 0.35);
        cairo_set_dash(cairo, NULL, 0, 0.0);
        break;
    }
    cairo_new_path(cairo);
}

/* Bezel and controls in the section, in front of the face. */
static void side_front(const Portrait *portrait, const PanelItem *item, double u_mm) {
    const Brush *brush = &portrait->brush;
    PortraitBox bezel = portrait_box(&item->bezel);
    double high = fmax(0.8, isnan(item->bezel_high_mm) ? 0.0 : item->bezel_high_mm);
    brush_box(brush, high / 2.0, bezel.v_mm, high, bezel.height_mm, 0.4);
    brush_fill(brush, BEZEL_RGB, 1.0);
    for (uint32_t j = 0; j < item->front_count; j++) {
        const PanelFront *front = &portrait->panel->fronts[item->front_first + j];
        PortraitBox part = portrait_box(&front->contour);
        bool near = fabs(part.u_mm - u_mm) <= 2.0 + bezel.width_mm / 2.0;
        if (near && front->high_mm > 0.0 && part.height_mm > 0.0) {
            brush_box(brush, front->high_mm / 2.0, part.v_mm, front->high_mm, part.height_mm, 1.0);
            brush_fill_along_3(brush, 0.0, part.v_mm + part.height_mm / 2.0, 0.0,
                               part.v_mm - part.height_mm / 2.0, 0xB9BDC1u, 0x7C8186u, 0x45494Du);
            brush_stroke(brush, 0x17191Bu, 0.5, 0.15);
        }
    }
    cairo_new_path(brush->cairo);
}

static void side_word(const Brush *brush, double x, double y, DrawAlign align, const char *text,
                      uint32_t rgb, double letter_mm) {
    brush_text(brush, x, y - letter_mm / 2.0, letter_mm, true, align, rgb, 1.0, text);
}

static bool holds(const PanelBox *box, double u_mm) {
    return box->u0_mm <= u_mm && u_mm <= box->u1_mm;
}

/* The name of a body on it, and below it how deep it is with all its things, of how much. */
static void side_name(const Portrait *portrait, const PanelBody *part) {
    const double FIGURES_MM = 8.0;
    const double TWO_LINES_MM = 24.0;
    const double LEAST_MM = 3.5;
    const Brush *brush = &portrait->brush;
    const PanelItem *item = &portrait->panel->items[part->item];
    double high_mm = part->box.v1_mm - part->box.v0_mm;
    double y_mm = (part->box.v0_mm + part->box.v1_mm) / 2.0;
    double letter_mm = fmin(10.0, 0.42 * high_mm);
    double room_mm = part->to_mm - part->from_mm - 6.0;
    uint32_t behind = panel_behind(portrait->panel, part->item);
    const char *figures =
        behind == ID_NONE ? ""
                          : arena_format(brush->arena, "%.0f of %.0f", item->depth_mm,
                                         portrait->panel->model->set->behind.rows[behind].depth_mm);
    bool two = *figures != '\0' && high_mm >= TWO_LINES_MM &&
               fonts_width_mm(brush->fonts, figures, FIGURES_MM, true) <= room_mm;
    letter_mm *=
        fmin(1.0, room_mm / fmax(fonts_width_mm(brush->fonts, item->key, letter_mm, true), 1.0));
    if (letter_mm >= LEAST_MM) {
        side_word(brush, -part->to_mm + 4.0, y_mm + (two ? 0.75 * letter_mm : 0.0), ALIGN_LEFT,
                  item->key, 0xFFFFFFu, letter_mm);
    }
    if (two) {
        side_word(brush, -part->to_mm + 4.0, y_mm - 0.75 * letter_mm, ALIGN_LEFT, figures,
                  0xFFFFFFu, FIGURES_MM);
    }
}

/* x: to the right towards the pilot, nought at the front of the face; the nose is at the left. */
void portrait_side(const Portrait *portrait, double u_mm) {
    const Brush *brush = &portrait->brush;
    const Panel *panel = portrait->panel;
    const PanelFace *plate = &panel->faces[portrait->face];
    const TableSet *set = panel->model->set;
    cairo_t *cairo = brush->cairo;
    PanelBox box = plate->outline.box;
    PanelBox all = portrait_extent(panel, portrait->face, PORTRAIT_SIDE);
    cairo_save(cairo);
    cairo_translate(cairo, 0.0, box.v0_mm);
    cairo_rotate(cairo, plate->tilt_rad);
    cairo_translate(cairo, 0.0, -box.v0_mm);
    for (size_t i = 0; i < set->behind.count; i++) {
        const BehindRow *row = &set->behind.rows[i];
        if (strcmp(row->face, plate->key) == 0 && row->from_u_mm <= u_mm && u_mm <= row->to_u_mm) {
            obstacle(brush, row, all.u0_mm);
            double room_mm = -row->depth_mm - all.u0_mm - 4.0;
            const char *what = fonts_fit(brush->fonts, brush->arena, row->what, 9.0, true, room_mm);
            if (room_mm > SIDE_WORD_MM) { /* three dots alone tell nothing */
                side_word(brush, all.u0_mm + 3.0, row->to_v_mm - 9.0, ALIGN_LEFT, what,
                          OBSTACLE_RGB, 9.0);
            }
        }
    }
    static const PanelBoxKind ORDER[] = {PANEL_TOOL, PANEL_CONNECTOR, PANEL_BODY, PANEL_NUTPLATE};
    for (size_t pass = 0; pass < sizeof ORDER / sizeof *ORDER; pass++) {
        PanelBoxKind kind = ORDER[pass];
        for (uint32_t i = 0; i < panel->body_count; i++) {
            const PanelBody *part = &panel->bodies[i];
            if (part->kind != kind || !holds(&part->box, u_mm) ||
                panel->items[part->item].face != portrait->face ||
                !panel_look_shows(panel, portrait->look, part->item)) {
                continue;
            }
            side_box(brush, part);
            if (kind == PANEL_BODY) {
                side_name(portrait, part);
            }
        }
    }
    for (uint32_t i = 0; i < plate->item_count; i++) {
        const PanelItem *item = &panel->items[plate->item_first + i];
        if (panel_look_shows(panel, portrait->look, plate->item_first + i) &&
            holds(&item->bezel.box, u_mm)) {
            side_front(portrait, item, u_mm);
        }
    }
    brush_box(brush, -plate->thickness_mm / 2.0, (box.v0_mm + box.v1_mm) / 2.0, plate->thickness_mm,
              box.v1_mm - box.v0_mm, 0.0);
    brush_fill(brush, brush_shade(portrait->look->rgb, -0.1), 1.0);
    brush_stroke(brush, 0x000000u, 0.7, 0.2);
    cairo_new_path(cairo);
    cairo_restore(cairo);
}
