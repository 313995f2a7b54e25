/* Method. The layout says where everything stands; here it is drawn, each thing on its layer and
 * with the key of its row. A wire ends exactly where a pin's or a cavity's own line begins, so that
 * circuits can be read back from the geometry. Boxes and devices: wiring_nodes.c. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "draw/wiring_pen.h"

#define TICK_MM 1.5        /* a cavity's line inside its shell */
#define OVAL_HALF_MM 1.75  /* half the width of a shield's oval */
#define OVAL_OVER_MM 2.0   /* it reaches over the outer cores */
#define TEXT_UNDER_MM 3.75 /* number below its line */

/* --- wires --------------------------------------------------------------------------------------
 */

/* Insulation beside the line, its code over it; `from` to `to` along x. */
static void draw_stripe(const Drawer *drawer, const char *colour, double from_mm, double toward,
                        double y_mm, const char *key) {
    if (*colour == '\0') {
        return;
    }
    DrawList *list = drawer->list;
    uint32_t base_rgb;
    uint32_t tracer_rgb;
    bool known = style_insulation_rgb(colour, &base_rgb, &tracer_rgb);
    char code[STYLE_CODE_TEXT];
    style_insulation_code(colour, code);
    double to_mm = from_mm + toward * WIRING_STRIPE_LONG_MM;
    double left_mm = fmin(from_mm, to_mm);
    double right_mm = fmax(from_mm, to_mm);
    double top_mm = y_mm + STYLE_MEDIUM_MM / 2.0;
    draw_row(list, TABLE_conductor, key);
    if (known) {
        draw_layer(list, LAYER_INSULATION);
        DrawPoint corners[] = {{left_mm, top_mm},
                               {right_mm, top_mm},
                               {right_mm, top_mm + STYLE_STRIPE_MM},
                               {left_mm, top_mm + STYLE_STRIPE_MM}};
        draw_fill_outlined(list, corners, 4, base_rgb, STYLE_THIN_MM);
        if (tracer_rgb != base_rgb) {
            draw_rgb(list, tracer_rgb);
            draw_fill_rectangle(list, (DrawBox){left_mm + 0.12, top_mm + 0.5, right_mm - 0.12,
                                                top_mm + STYLE_STRIPE_MM - 0.5});
            draw_rgb(list, STYLE_INK);
        }
    }
    draw_layer(list, LAYER_WIRE_TEXT);
    draw_text(list, from_mm, y_mm - PEN_TEXT_OVER_MM,
              aligned(PEN_NOTE, toward > 0.0 ? ALIGN_LEFT : ALIGN_RIGHT),
              arena_text(drawer->arena, code, strlen(code)));
    no_row(drawer);
}

/* A closed oval round rows from `top` to `bottom`. */
static void draw_oval(DrawList *list, double x_mm, double top_mm, double bottom_mm) {
    DrawPoint points[24];
    for (int i = 0; i < 24; i++) {
        double angle_rad = UNITS_PI * ((double)(i % 12) / 11.0) + (i < 12 ? UNITS_PI : 0.0);
        double end_mm =
            i < 12 ? top_mm - OVAL_OVER_MM + OVAL_HALF_MM : bottom_mm + OVAL_OVER_MM - OVAL_HALF_MM;
        points[i] = (DrawPoint){x_mm + OVAL_HALF_MM * cos(angle_rad),
                                end_mm + OVAL_HALF_MM * sin(angle_rad)};
    }
    draw_path(list, points, 24, true, STYLE_THIN_MM);
}

/* Two strands that cross between the outer rows. */
static void draw_twist(DrawList *list, double x_mm, double top_mm, double bottom_mm) {
    enum { STEPS = 12 };
    for (int strand = 0; strand < 2; strand++) {
        DrawPoint points[STEPS + 1];
        for (int i = 0; i <= STEPS; i++) {
            double share = (double)i / STEPS;
            double swing_mm = 1.0 * sin(2.0 * UNITS_PI * share);
            points[i] = (DrawPoint){x_mm + (strand == 0 ? swing_mm : -swing_mm),
                                    top_mm + (bottom_mm - top_mm) * share};
        }
        draw_path(list, points, STEPS + 1, false, STYLE_THIN_MM);
    }
}

/* Where a cable's shield ends on one side of a piece. */
typedef enum ShieldEnd { SHIELD_OPEN, SHIELD_JOINED } ShieldEnd;

static void draw_shield_end(const Drawer *drawer, double edge_mm, double toward, double first_mm,
                            double step_mm, uint32_t cores, ShieldEnd how) {
    DrawList *list = drawer->list;
    double x_mm = edge_mm + toward * (WIRING_LEAD_MM + WIRING_SIGN_MM / 2.0);
    double last_mm = first_mm + step_mm * (double)(cores - 1);
    double shield_mm = first_mm + step_mm * (double)cores;
    double down = step_mm > 0.0 ? 1.0 : -1.0;
    double foot_mm = last_mm + down * OVAL_OVER_MM;
    draw_oval(list, x_mm, fmin(first_mm, last_mm), fmax(first_mm, last_mm));
    if (how == SHIELD_JOINED) {
        DrawPoint drain[] = {{x_mm, foot_mm}, {x_mm, shield_mm}, {edge_mm, shield_mm}};
        draw_path(list, drain, 3, false, STYLE_THIN_MM);
    } else {
        draw_line(list, x_mm, foot_mm, x_mm, foot_mm + down * 1.5, STYLE_THIN_MM);
        draw_circle(list, x_mm, foot_mm + down * 2.0, 0.5, STYLE_THIN_MM);
    }
}

/* Signs, stripes and shield at an end of a cable that is on a pin. */
static void draw_cable_end(const Drawer *drawer, uint32_t id, uint32_t e) {
    const LayoutLink *link = &drawer->scene->layout.links[id];
    const LayoutEnd *end = &link->end[e];
    const Wiring *wiring = drawer->plan->view->wiring;
    const Cable *cable = &wiring->cables[drawer->scene->strands[id].cable];
    DrawList *list = drawer->list;
    double edge_mm = end_edge_mm(drawer, end);
    double toward = end->right ? 1.0 : -1.0;
    double step_mm = end_row_mm(drawer, end, 1) - end->y_mm;
    double signs_mm = WIRING_LEAD_MM;
    draw_layer(list, LAYER_SHIELD);
    draw_row(list, TABLE_cable_run, wiring->conductors[cable->conductor_first].key);
    if (cable->coax) {
        draw_circle(list, edge_mm + toward * (signs_mm + WIRING_SIGN_MM / 2.0), end->y_mm, 1.75,
                    STYLE_THIN_MM);
    } else if (wiring_has_shield(cable)) {
        bool grounded = e == 0 ? cable->shield_from : cable->shield_to;
        draw_shield_end(drawer, edge_mm, toward, end->y_mm, step_mm, cable->conductor_count,
                        grounded ? SHIELD_JOINED : SHIELD_OPEN);
        double shield_mm = end->y_mm + step_mm * (double)cable->conductor_count;
        if (grounded) {
            draw_text(list, edge_mm - toward * PEN_PIN_TEXT_MM, shield_mm + STYLE_NOTE_MM / 2.0,
                      aligned(PEN_NOTE, end->right ? ALIGN_RIGHT : ALIGN_LEFT), "shield");
        }
    }
    if (wiring_is_twisted(drawer->plan, cable)) {
        double last_mm = end->y_mm + step_mm * (double)(cable->conductor_count - 1);
        draw_twist(list, edge_mm + toward * (signs_mm + WIRING_SIGN_MM / 2.0),
                   fmin(end->y_mm, last_mm), fmax(end->y_mm, last_mm));
    }
    bool sign = cable->coax || wiring_has_shield(cable) || wiring_is_twisted(drawer->plan, cable);
    signs_mm += sign ? WIRING_SIGN_MM : 0.0;
    for (uint32_t k = 0; k < cable->conductor_count; k++) {
        ConductorId conductor = cable->conductor_first + k;
        draw_stripe(drawer, wiring_colour(drawer->plan, drawer->kept, conductor),
                    edge_mm + toward * signs_mm, toward, end_row_mm(drawer, end, k),
                    wiring->conductors[conductor].key);
    }
    no_row(drawer);
}

static void draw_piece_text(const Drawer *drawer, ConductorId conductor, uint32_t piece,
                            double x_mm, double y_mm) {
    DrawList *list = drawer->list;
    draw_layer(list, LAYER_WIRE_TEXT);
    draw_text(list, x_mm, y_mm - PEN_TEXT_OVER_MM, PEN_VALUE,
              drawer->plan->view->wiring->conductors[conductor].key);
    draw_text(list, x_mm, y_mm + TEXT_UNDER_MM, PEN_NOTE,
              wiring_number_text(drawer->arena, drawer->plan, drawer->kept, conductor, piece));
}

static void draw_cable(const Drawer *drawer, uint32_t id) {
    const LayoutProblem *layout = &drawer->scene->layout;
    const LayoutLink *link = &layout->links[id];
    const Wiring *wiring = drawer->plan->view->wiring;
    const Cable *cable = &wiring->cables[drawer->scene->strands[id].cable];
    DrawList *list = drawer->list;
    for (uint32_t k = 0; k < cable->conductor_count; k++) {
        ConductorId conductor = cable->conductor_first + k;
        draw_row(list, TABLE_conductor, wiring->conductors[conductor].key);
        for (uint32_t i = 0; i <= link->gate_count; i++) {
            const LayoutPiece *piece = &layout->pieces[link->piece_first + i];
            const LayoutLine *line = &layout->lines[piece->line_first + k];
            const DrawPoint *points = &layout->points[line->point_first];
            draw_layer(list, LAYER_WIRE);
            draw_path(list, points, line->point_count, false, STYLE_MEDIUM_MM);
            double y_mm = points[piece->label_at_end ? line->point_count - 1 : 0].y_mm;
            draw_piece_text(drawer, conductor, i, piece->label_mm, y_mm);
            if (i == 0) {
                draw_anchor(list, wiring_anchor(drawer->arena, drawer->plan, conductor),
                            piece->label_mm, y_mm);
            }
        }
    }
    no_row(drawer);
    draw_cable_end(drawer, id, 0);
    draw_cable_end(drawer, id, 1);
}

/* --- disconnects --------------------------------------------------------------------------------
 */

static void draw_shell(const Drawer *drawer, const LayoutGate *stand) {
    const TableSet *set = drawer->plan->view->set;
    DrawList *list = drawer->list;
    bool shell = stand->gate < set->disconnect_shell.count;
    const char *name = wiring_gate_name(drawer->plan, stand->gate);
    DrawBox box = stand->box;
    double middle_mm = (box.left_mm + box.right_mm) / 2.0;
    draw_row(list, shell ? TABLE_disconnect_shell : TABLE_disconnect, name);
    draw_layer(list, LAYER_TAG);
    draw_text_fit(list, middle_mm, box.top_mm + 4.5, aligned(PEN_VALUE, ALIGN_MIDDLE), name,
                  box.right_mm - box.left_mm);
    draw_layer(list, LAYER_DISCONNECT);
    box.top_mm += drawer->scene->layout.gate_head_mm - 1.0;
    double half_mm = (box.right_mm - box.left_mm) / 2.0 - 1.25;
    for (int i = 0; i < 2; i++) {
        DrawBox outer = box;
        outer.left_mm = i == 0 ? box.left_mm : box.right_mm - half_mm;
        outer.right_mm = i == 0 ? box.left_mm + half_mm : box.right_mm;
        draw_rectangle(list, outer, STYLE_MEDIUM_MM);
        DrawBox inner = {outer.left_mm + 0.8, outer.top_mm + 0.8, outer.right_mm - 0.8,
                         outer.bottom_mm - 0.8};
        draw_rectangle(list, inner, STYLE_THIN_MM);
    }
    no_row(drawer);
}

/* Both halves of a cavity: the line from one edge of the shells to the other is one thing. */
static void draw_cavity(const Drawer *drawer, double left_mm, double right_mm, double y_mm,
                        bool shell, const char *key, const char *number) {
    DrawList *list = drawer->list;
    double half_mm = (right_mm - left_mm) / 2.0 - 1.25;
    double middle_mm = (left_mm + right_mm) / 2.0;
    draw_row(list, shell ? TABLE_cavity_use : TABLE_disconnect, key);
    draw_layer(list, LAYER_PIN);
    draw_line(list, left_mm, y_mm, left_mm + TICK_MM, y_mm, STYLE_MEDIUM_MM);
    draw_line(list, right_mm - TICK_MM, y_mm, right_mm, y_mm, STYLE_MEDIUM_MM);
    DrawTextStyle style = aligned(PEN_VALUE, ALIGN_MIDDLE);
    double room_mm = half_mm - 2.9;
    draw_text_fit(list, left_mm + half_mm / 2.0 + 0.35, y_mm + STYLE_VALUE_MM / 2.0, style, number,
                  room_mm);
    draw_text_fit(list, right_mm - half_mm / 2.0 - 0.35, y_mm + STYLE_VALUE_MM / 2.0, style, number,
                  room_mm);
    draw_layer(list, LAYER_DISCONNECT);
    DrawPoint pin[] = {
        {middle_mm - 0.7, y_mm - 1.1}, {middle_mm + 0.7, y_mm}, {middle_mm - 0.7, y_mm + 1.1}};
    draw_path(list, pin, 3, false, STYLE_MEDIUM_MM);
    no_row(drawer);
}

static const char *cavity_key(const Drawer *drawer, const CavityUse *use) {
    return arena_format(drawer->arena, "%s %s", wiring_gate_name(drawer->plan, use->shell),
                        disconnect_cavity_text(drawer->arena, model_of(drawer), use));
}

/* What a cable passes, row by row. */
static void draw_passing(const Drawer *drawer, uint32_t id) {
    const LayoutProblem *layout = &drawer->scene->layout;
    const LayoutLink *link = &layout->links[id];
    const Wiring *wiring = drawer->plan->view->wiring;
    CableId cable_id = drawer->scene->strands[id].cable;
    const Cable *cable = &wiring->cables[cable_id];
    for (uint32_t g = 0; g < link->gate_count; g++) {
        const LayoutPiece *before = &layout->pieces[link->piece_first + g];
        const LayoutPiece *after = &layout->pieces[link->piece_first + g + 1];
        double left_mm = 0.0;
        double right_mm = 0.0;
        double first_mm = 0.0;
        for (uint32_t k = 0; k < cable->conductor_count; k++) {
            const LayoutLine *in = &layout->lines[before->line_first + k];
            const LayoutLine *out = &layout->lines[after->line_first + k];
            DrawPoint a = layout->points[in->point_first + in->point_count - 1];
            DrawPoint b = layout->points[out->point_first];
            left_mm = fmin(a.x_mm, b.x_mm);
            right_mm = fmax(a.x_mm, b.x_mm);
            first_mm = k == 0 ? a.y_mm : first_mm;
            const CavityUse *use =
                wiring_cavity(drawer->plan, cable_id, g, cable->conductor_first + k);
            const char *key =
                use != NULL ? cavity_key(drawer, use)
                            : arena_format(drawer->arena, "%s %s",
                                           wiring_gate_name(drawer->plan,
                                                            layout->gates[link->gate_first + g]),
                                           wiring->conductors[cable->conductor_first + k].key);
            const char *number =
                use == NULL ? "" : disconnect_cavity_text(drawer->arena, model_of(drawer), use);
            draw_cavity(drawer, left_mm, right_mm, a.y_mm, use != NULL, key, number);
        }
        if (!wiring_has_shield(cable)) {
            continue;
        }
        const CavityUse *use = wiring_cavity(drawer->plan, cable_id, g, ID_NONE);
        double shield_mm = first_mm + LAYOUT_ROW_MM * (double)cable->conductor_count;
        draw_layer(drawer->list, LAYER_SHIELD);
        draw_row(drawer->list, TABLE_cable_run, wiring->conductors[cable->conductor_first].key);
        ShieldEnd how = use != NULL ? SHIELD_JOINED : SHIELD_OPEN;
        draw_shield_end(drawer, left_mm, -1.0, first_mm, LAYOUT_ROW_MM, cable->conductor_count,
                        how);
        draw_shield_end(drawer, right_mm, 1.0, first_mm, LAYOUT_ROW_MM, cable->conductor_count,
                        how);
        if (use != NULL) {
            draw_cavity(drawer, left_mm, right_mm, shield_mm, true, cavity_key(drawer, use),
                        disconnect_cavity_text(drawer->arena, model_of(drawer), use));
        }
    }
    no_row(drawer);
}

/* --- exported -----------------------------------------------------------------------------------
 */

/* What of ours a sheet uses. */
typedef struct Signs {
    bool stubs;
    bool shields;
    bool shells;
} Signs;

static void add_signs(const Drawer *drawer, Signs *signs) {
    const WiringScene *scene = drawer->scene;
    const Wiring *wiring = drawer->plan->view->wiring;
    signs->shells = signs->shells || scene->layout.stand_count > 0;
    for (size_t i = 0; i < scene->strand_count; i++) {
        const Strand *strand = &scene->strands[i];
        signs->stubs = signs->stubs || strand->stub;
        signs->shields =
            signs->shields || (!strand->stub && wiring_has_shield(&wiring->cables[strand->cable]));
    }
}

static void draw_legend(DrawList *list, Signs signs, DrawBox field) {
    const char *text = arena_format(
        list->arena, "%s%s%sUnder a wire: its significant number and AWG gauge.",
        signs.shells ? "Double outline: shells of a disconnect with the cavity in both. " : "",
        signs.shields ? "Oval: shield, with a drain where it is grounded or goes through. " : "",
        signs.stubs ? "Arrow: goes on with that wire. " : "");
    const char **lines;
    size_t count = fonts_wrap(list->fonts, list->arena, text, STYLE_NOTE_MM, false,
                              field.right_mm - field.left_mm - 5.0, &lines);
    for (size_t i = 0; i < count; i++) {
        draw_text(list, field.left_mm + 2.5, field.bottom_mm - 1.5 - 3.75 * (double)(count - 1 - i),
                  PEN_NOTE, lines[i]);
    }
}

static void draw_band(const SheetPlan *plan, WiringLookup *lookup, const WiringSheet *sheet,
                      const WiringBand *band, DrawList *list, bool plain, Signs *signs) {
    const WiringKept *kept = plan->kept[SHEET_WIRING];
    WiringScene scene;
    wiring_scene_build(list->arena, plan, kept, lookup, band->cables, band->cable_count,
                       band->field, &scene);
    scene.layout.plain = plain;
    wiring_layout(list->arena, &scene.layout);
    Drawer drawer = {plan, kept, &scene, sheet, list, list->arena};
    for (size_t i = 0; i < scene.layout.stand_count; i++) {
        draw_shell(&drawer, &scene.layout.stands[i]);
    }
    for (uint32_t i = 0; i < scene.layout.link_count; i++) {
        if (scene.strands[i].stub) {
            wiring_draw_stub(&drawer, i);
        } else {
            draw_cable(&drawer, i);
            draw_passing(&drawer, i);
        }
    }
    for (uint32_t i = 0; i < scene.layout.node_count; i++) {
        wiring_draw_node(&drawer, i);
    }
    no_row(&drawer);
    add_signs(&drawer, signs);
}

static void draw_sheet(const SheetPlan *plan, const Sheet *page, DrawBox field, DrawList *list,
                       bool plain) {
    const WiringKept *kept = plan->kept[SHEET_WIRING];
    const WiringSheet *sheet = &kept->sheets[page->index];
    WiringLookup lookup;
    Signs signs = {false, false, false};
    wiring_lookup_start(list->arena, plan, &lookup);
    for (uint32_t i = 0; i < sheet->band_count; i++) {
        draw_band(plan, &lookup, sheet, &sheet->bands[i], list, plain, &signs);
    }
    draw_layer(list, LAYER_NOTE);
    draw_legend(list, signs, field);
}

void wiring_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    draw_sheet(plan, sheet, field, list, false);
}

void wiring_draw_plain(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    draw_sheet(plan, sheet, field, list, true);
}
