/* Method. The layout says where everything stands; here it is drawn, each thing on its layer and
 * with the key of its row. A wire ends exactly where a pin's or a cavity's own line begins, so that
 * circuits can be read back from the geometry. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"
#include "draw/wiring_sheets.h"

#define TICK_MM 2.0       /* a pin's line inside its box */
#define PIN_TEXT_MM 3.0   /* its texts begin behind that */
#define OVAL_HALF_MM 1.75 /* half the width of a shield's oval */
#define OVAL_OVER_MM 2.0  /* it reaches over the outer cores */
#define TEXT_OVER_MM 0.9  /* key above its line */
#define TEXT_UNDER_MM 3.75

static const DrawTextStyle TAG = {.height_mm = STYLE_TAG_MM, .bold = true};
static const DrawTextStyle VALUE = {.height_mm = STYLE_VALUE_MM};
static const DrawTextStyle NOTE = {.height_mm = STYLE_NOTE_MM};

typedef struct Drawer {
    const SheetPlan *plan;
    const WiringKept *kept;
    const WiringScene *scene;
    const WiringSheet *sheet;
    DrawList *list;
    Arena *arena;
} Drawer;

static const Model *model_of(const Drawer *drawer) {
    return drawer->plan->view->model;
}

static DrawTextStyle aligned(DrawTextStyle style, DrawAlign align) {
    style.align = align;
    return style;
}

static void row_of_owner(const Drawer *drawer, OwnerId owner) {
    draw_row(drawer->list, wiring_owner_table(drawer->plan, owner),
             model_of(drawer)->owners[owner].tag);
}

static void row_of_pin(const Drawer *drawer, PinId pin) {
    const Model *model = model_of(drawer);
    OwnerId owner = model->terminals[model->pins[pin].terminal].owner;
    draw_row(drawer->list, wiring_owner_table(drawer->plan, owner),
             model_pin_text(model, drawer->arena, pin));
}

static void no_row(const Drawer *drawer) {
    draw_row(drawer->list, TABLE_COUNT, "");
}

/* A symbol turned round its vertical axis: drawn, then its points are mirrored. */
static void draw_mirrored(DrawList *list, DrawSymbol symbol, double x_mm, double y_mm) {
    size_t first = list->count;
    size_t first_point = list->point_count;
    double sum_mm = 2.0 * x_mm + symbol_width_mm(symbol);
    symbol_draw(list, symbol, x_mm, y_mm, false);
    for (size_t i = first_point; i < list->point_count; i++) {
        list->points[i].x_mm = sum_mm - list->points[i].x_mm;
    }
    for (size_t i = first; i < list->count; i++) {
        DrawItem *item = &list->items[i];
        DrawBox box = item->box;
        item->box.left_mm = sum_mm - box.right_mm;
        item->box.right_mm = sum_mm - box.left_mm;
        if (item->kind == DRAW_ARC && item->to_deg - item->from_deg < 360.0) {
            double from_deg = item->from_deg;
            item->from_deg = 180.0 - item->to_deg;
            item->to_deg = 180.0 - from_deg;
        }
        if (item->kind == DRAW_TEXT) {
            double width_mm = box.right_mm - box.left_mm;
            item->origin.x_mm = sum_mm - item->origin.x_mm - width_mm;
        }
    }
}

/* The symbol of a device, SYMBOL_COUNT when it has none. */
static DrawSymbol device_symbol(const Drawer *drawer, OwnerId id) {
    const Model *model = model_of(drawer);
    const ModelOwner *owner = &model->owners[id];
    if (owner->part == ID_NONE) {
        return SYMBOL_COUNT;
    }
    if (owner->kind == OWNER_PROTECTION) {
        return symbol_of_device(model->set->device.rows[owner->part].kind);
    }
    if (owner->kind == OWNER_SWITCHGEAR) {
        return symbol_of_switch(model->set->switch_part.rows[owner->part].kind,
                                model->set->switchgear.rows[owner->row].rest);
    }
    return SYMBOL_COUNT;
}

/* y of a row of a link at one of its ends. */
static double end_row_mm(const Drawer *drawer, const LayoutEnd *end, uint32_t row) {
    double step_mm = drawer->scene->layout.nodes[end->node].row_mm;
    return end->y_mm + (end->reversed ? -step_mm : step_mm) * (double)row;
}

static double end_edge_mm(const Drawer *drawer, const LayoutEnd *end) {
    const DrawBox *box = &drawer->scene->layout.nodes[end->node].box;
    return end->right ? box->right_mm : box->left_mm;
}

/* --- references ---------------------------------------------------------------------------------
 */

/* A link over a text that ends at `y_mm` and to the conductor it names. */
static void link_to(const Drawer *drawer, ConductorId conductor, double left_mm, double right_mm,
                    double top_mm, double bottom_mm) {
    draw_link(drawer->list, (DrawBox){left_mm, top_mm, right_mm, bottom_mm},
              wiring_anchor(drawer->arena, drawer->plan, conductor));
}

/* "W0412 page 5 B3" in one line that must fit `room_mm`. */
static void draw_reference(const Drawer *drawer, double x_mm, double y_mm, DrawAlign align,
                           CableId cable, double room_mm) {
    DrawList *list = drawer->list;
    const Wiring *wiring = drawer->plan->view->wiring;
    ConductorId conductor = wiring->cables[cable].conductor_first;
    const char *key = wiring->conductors[conductor].key;
    const char *text = arena_format(
        drawer->arena, "%s %s", key,
        sheet_place_text(drawer->plan, drawer->arena, wiring_place(drawer->plan, conductor)));
    draw_layer(list, LAYER_REFERENCE);
    draw_row(list, TABLE_conductor, key);
    double width_mm = draw_text_fit(list, x_mm, y_mm, aligned(NOTE, align), text, room_mm);
    double left_mm = align == ALIGN_RIGHT    ? x_mm - width_mm
                     : align == ALIGN_MIDDLE ? x_mm - width_mm / 2.0
                                             : x_mm;
    link_to(drawer, conductor, left_mm, left_mm + width_mm, y_mm - STYLE_NOTE_MM - 0.5, y_mm + 0.5);
    no_row(drawer);
}

/* The wire over, page and zone under the height of an arrow. */
static void draw_reference_pair(const Drawer *drawer, double x_mm, double y_mm, DrawAlign align,
                                const Strand *strand) {
    DrawList *list = drawer->list;
    const Wiring *wiring = drawer->plan->view->wiring;
    ConductorId conductor = wiring->cables[strand->cable].conductor_first;
    const char *key = wiring->conductors[conductor].key;
    const char *place =
        sheet_place_text(drawer->plan, drawer->arena, wiring_place(drawer->plan, conductor));
    const char *first =
        strand->more > 0 ? arena_format(drawer->arena, "%s +%u", key, strand->more) : key;
    DrawTextStyle style = aligned(NOTE, align);
    double width_mm = draw_text(list, x_mm, y_mm - 0.4, style, first);
    width_mm = fmax(width_mm, draw_text(list, x_mm, y_mm + 3.3, style, place));
    double left_mm = align == ALIGN_RIGHT ? x_mm - width_mm : x_mm;
    link_to(drawer, conductor, left_mm, left_mm + width_mm, y_mm - 3.4, y_mm + 3.8);
}

static void draw_stub(const Drawer *drawer, uint32_t id) {
    const LayoutLink *link = &drawer->scene->layout.links[id];
    const Strand *strand = &drawer->scene->strands[id];
    const LayoutPiece *piece = &drawer->scene->layout.pieces[link->piece_first];
    const LayoutEnd *end = &link->end[0];
    DrawList *list = drawer->list;
    const Wiring *wiring = drawer->plan->view->wiring;
    double edge_mm = end_edge_mm(drawer, end);
    double toward = end->right ? 1.0 : -1.0;
    double near_mm = end->right ? piece->label_mm : piece->label_mm + link->label_mm;
    double y_mm = end->y_mm;
    draw_layer(list, LAYER_REFERENCE);
    draw_row(list, TABLE_conductor,
             wiring->conductors[wiring->cables[strand->cable].conductor_first].key);
    draw_line(list, edge_mm, y_mm, near_mm, y_mm, STYLE_THIN_MM);
    DrawPoint arrow[] = {{near_mm, y_mm - 1.0}, {near_mm + toward * 2.5, y_mm}, {near_mm, y_mm + 1.0}};
    draw_fill(list, arrow, 3);
    draw_reference_pair(drawer, near_mm + toward * 3.5, y_mm, end->right ? ALIGN_LEFT : ALIGN_RIGHT,
                        strand);
    no_row(drawer);
}

/* Where else an owner stands: "also page 4 B2, 7 C1 +2", as many as fit `room_mm`. */
static const char *also_text(const Drawer *drawer, OwnerId owner, double room_mm) {
    const char *text = "";
    const char *shown = "";
    uint32_t more = 0;
    uint32_t last = drawer->sheet->page;
    for (uint32_t nth = 0;; nth++) {
        SheetPlace place = wiring_owner_place(drawer->plan, owner, nth);
        if (place.sheet == ID_NONE) {
            break;
        }
        if (place.sheet == drawer->sheet->page || place.sheet == last) {
            continue;
        }
        last = place.sheet;
        const char *where = sheet_place_text(drawer->plan, drawer->arena, place);
        text = *shown == '\0' ? arena_format(drawer->arena, "also %s", where)
                              : arena_format(drawer->arena, "%s, %s", shown, where + strlen("page "));
        double width_mm = draw_text_width(drawer->list, NOTE, text);
        if (more == 0 && (*shown == '\0' || width_mm + 7.0 < room_mm)) {
            shown = text;
        } else {
            more++;
        }
    }
    return more > 0 ? arena_format(drawer->arena, "%s +%u", shown, more) : shown;
}

/* --- boxes --------------------------------------------------------------------------------------
 */

/* The pin at a row of a link's end. */
static PinId end_pin(const Drawer *drawer, uint32_t link, uint32_t end, uint32_t row) {
    const Wiring *wiring = drawer->plan->view->wiring;
    const Strand *strand = &drawer->scene->strands[link];
    if (strand->stub) {
        return model_of(drawer)->terminals[strand->terminal].pin_first;
    }
    const Conductor *conductor =
        &wiring->conductors[wiring->cables[strand->cable].conductor_first + row];
    return end == 0 ? conductor->from : conductor->to;
}

/* Texts of a pin inside its box, from the edge inwards. */
static void draw_pin_text(const Drawer *drawer, PinId pin, double edge_mm, double y_mm, bool right,
                          double room_mm, bool port_only) {
    DrawList *list = drawer->list;
    double toward = right ? -1.0 : 1.0;
    double x_mm = edge_mm + toward * PIN_TEXT_MM;
    DrawAlign align = right ? ALIGN_RIGHT : ALIGN_LEFT;
    const char *name = wiring_short_pin(drawer->arena, drawer->plan, pin);
    const char *port =
        port_only ? model_of(drawer)->terminals[model_of(drawer)->pins[pin].terminal].name
                  : wiring_port_text(drawer->arena, drawer->plan, pin);
    draw_layer(list, LAYER_PIN);
    row_of_pin(drawer, pin);
    bool two = !port_only && *port != '\0';
    if (!port_only) {
        draw_text_fit(list, x_mm, y_mm + (two ? -0.4 : STYLE_VALUE_MM / 2.0), aligned(VALUE, align),
                      name, room_mm - PIN_TEXT_MM - 1.5);
    }
    draw_text_fit(list, x_mm, y_mm + (two ? 3.4 : STYLE_NOTE_MM / 2.0), aligned(NOTE, align), port,
                  room_mm - PIN_TEXT_MM - 1.5);
    no_row(drawer);
}

/* The resistor at the end of a chain, between the first two rows of a terminal. */
static void draw_terminator(const Drawer *drawer, const LayoutEnd *end, uint32_t row) {
    DrawList *list = drawer->list;
    const TerminatorRow *terminator = &drawer->plan->view->set->terminator.rows[row];
    const LayoutNode *node = &drawer->scene->layout.nodes[end->node];
    double toward = end->right ? -1.0 : 1.0;
    double x_mm = end_edge_mm(drawer, end) + toward * (node->inset_mm[end->right ? 1 : 0] - WIRING_TERMINATOR_MM + 4.0);
    double y0_mm = end_row_mm(drawer, end, 0);
    double y1_mm = end_row_mm(drawer, end, 1);
    double top_mm = fmin(y0_mm, y1_mm);
    double lead_mm = (fabs(y1_mm - y0_mm) - symbol_width_mm(SYMBOL_TERMINATOR)) / 2.0;
    draw_layer(list, LAYER_SYMBOL);
    draw_row(list, TABLE_terminator, table_row_key(drawer->arena, TABLE_terminator, terminator));
    draw_dash(list, terminator->fitted == 0 ? DASH_HIDDEN : DASH_NONE);
    for (int i = 0; i < 2; i++) {
        double y_mm = i == 0 ? y0_mm : y1_mm;
        double in_mm = y_mm < top_mm + 1.0 ? lead_mm : -lead_mm;
        DrawPoint lead[] = {{x_mm - toward * 3.0, y_mm}, {x_mm, y_mm}, {x_mm, y_mm + in_mm}};
        draw_path(list, lead, 3, false, STYLE_MEDIUM_MM);
    }
    symbol_draw(list, SYMBOL_TERMINATOR, x_mm, top_mm + lead_mm, true);
    draw_dash(list, DASH_NONE);
    draw_layer(list, LAYER_NOTE);
    DrawTextStyle turned = aligned(NOTE, ALIGN_MIDDLE);
    turned.turned = true;
    draw_text(list, end->right ? x_mm - 2.4 - 0.8 : x_mm + 2.4 + STYLE_NOTE_MM,
              top_mm + fabs(y1_mm - y0_mm) / 2.0, turned,
              arena_format(drawer->arena, "%g \xce\xa9", terminator->ohm));
    no_row(drawer);
}

typedef struct PinRow {
    PinId pin;
    bool right;
    double y_mm;
    double edge_mm;
    bool stub;
    uint32_t link;
    uint32_t end;
    bool first; /* row of its end */
} PinRow;

/* --- contacts inside devices --------------------------------------------------------------------
 */

/* The first row of a terminal ("M", "M/2") of an owner among the rows drawn. */
static const PinRow *find_row(const Drawer *drawer, OwnerId owner, const char *name,
                              const PinRow *rows, size_t count) {
    const Model *model = model_of(drawer);
    for (size_t i = 0; i < count; i++) {
        const ModelPin *pin = &model->pins[rows[i].pin];
        const ModelTerminal *terminal = &model->terminals[pin->terminal];
        const char *own = pin->core == 0 ? terminal->name
                                         : arena_format(drawer->arena, "%s/%d", terminal->name,
                                                        pin->core + 1);
        if (terminal->owner == owner && strcmp(own, name) == 0) {
            return &rows[i];
        }
    }
    return NULL;
}

/* Draws a symbol between two rows where they lie so that it can be drawn: beside each other on one
 * side, or across the box at one height. */
static void draw_between(const Drawer *drawer, uint32_t node, DrawSymbol symbol, const PinRow *a,
                         const PinRow *b) {
    const LayoutNode *row = &drawer->scene->layout.nodes[node];
    DrawList *list = drawer->list;
    double width_mm = symbol_width_mm(symbol);
    double left_mm = row->box.left_mm + row->inset_mm[0];
    double right_mm = row->box.right_mm - row->inset_mm[1];
    draw_layer(list, LAYER_SYMBOL);
    if (a->right != b->right && fabs(a->y_mm - b->y_mm) < 0.01 && right_mm - left_mm >= width_mm) {
        double x_mm = (left_mm + right_mm - width_mm) / 2.0;
        symbol_draw(list, symbol, x_mm, a->y_mm, false);
        draw_line(list, left_mm, a->y_mm, x_mm, a->y_mm, STYLE_MEDIUM_MM);
        draw_line(list, x_mm + width_mm, a->y_mm, right_mm, a->y_mm, STYLE_MEDIUM_MM);
        return;
    }
    double span_mm = fabs(a->y_mm - b->y_mm);
    if (a->right != b->right || span_mm < width_mm - 0.01 || span_mm > 1.5 * LAYOUT_ROW_MM) {
        return;
    }
    double from_mm = a->right ? right_mm : left_mm;
    double x_mm = from_mm + (a->right ? -4.0 : 4.0);
    double top_mm = fmin(a->y_mm, b->y_mm);
    double lead_mm = (span_mm - width_mm) / 2.0;
    symbol_draw(list, symbol, x_mm, top_mm + lead_mm, true);
    for (int i = 0; i < 2; i++) {
        double y_mm = i == 0 ? top_mm : top_mm + span_mm;
        DrawPoint lead[] = {{from_mm, y_mm}, {x_mm, y_mm}, {x_mm, i == 0 ? y_mm + lead_mm : y_mm - lead_mm}};
        draw_path(list, lead, lead_mm > 0.01 ? 3 : 2, false, STYLE_MEDIUM_MM);
    }
}

/* Contacts of a switch as they are at rest, the coil of a relay, the element of a protective
 * device: of those whose terminals lie so that one can see what they join. */
static void draw_contacts(const Drawer *drawer, uint32_t node, const PinRow *rows, size_t count) {
    const Model *model = model_of(drawer);
    OwnerId id = drawer->scene->spots[drawer->scene->layout.nodes[node].copy_of].owner;
    const ModelOwner *owner = &model->owners[id];
    if (owner->part == ID_NONE || owner->kind == OWNER_UNIT) {
        return;
    }
    row_of_owner(drawer, id);
    if (owner->kind == OWNER_PROTECTION) {
        const DeviceRow *part = &model->set->device.rows[owner->part];
        const PinRow *in = find_row(drawer, id, part->in_terminal, rows, count);
        const PinRow *out = find_row(drawer, id, part->out_terminal, rows, count);
        if (in != NULL && out != NULL && device_symbol(drawer, id) != SYMBOL_COUNT) {
            draw_between(drawer, node, device_symbol(drawer, id), in, out);
        }
        no_row(drawer);
        return;
    }
    const SwitchPartRow *part = &model->set->switch_part.rows[owner->part];
    const char *rest = model->set->switchgear.rows[owner->row].rest;
    uint32_t poles = 0;
    uint32_t first = model_rows_of(model, TABLE_switch_pole, part->part, &poles);
    const PinRow *used[16] = {NULL};
    size_t used_count = 0;
    for (uint32_t i = first; i < first + poles && used_count + 2 <= 16; i++) {
        const SwitchPoleRow *pole = &model->set->switch_pole.rows[i];
        const PinRow *from = find_row(drawer, id, pole->from_terminal, rows, count);
        const PinRow *to = find_row(drawer, id, pole->to_terminal, rows, count);
        bool free = from != NULL && to != NULL;
        for (size_t k = 0; k < used_count; k++) {
            free = free && used[k] != from && used[k] != to;
        }
        if (!free) {
            continue;
        }
        bool closed = text_has_word(pole->closed_in, rest);
        bool plain = strcmp(part->kind, "switch") == 0;
        bool contactor = strcmp(part->kind, "relay") == 0 || strcmp(part->kind, "contactor") == 0;
        DrawSymbol symbol = plain      ? (closed ? SYMBOL_SWITCH_CLOSED : SYMBOL_SWITCH_OPEN)
                            : contactor ? (symbol_of_switch(part->kind, closed ? "closed" : "open"))
                                        : symbol_of_switch(part->kind, rest);
        if (symbol != SYMBOL_COUNT) {
            draw_between(drawer, node, symbol, from, to);
            used[used_count++] = from;
            used[used_count++] = to;
        }
    }
    const PinRow *plus = find_row(drawer, id, "C+", rows, count);
    const PinRow *minus = find_row(drawer, id, "C-", rows, count);
    if (plus != NULL && minus != NULL) {
        draw_between(drawer, node, SYMBOL_COIL, plus, minus);
    }
    no_row(drawer);
}

/* --- pins ---------------------------------------------------------------------------------------
 */

static int compare_rows(const void *left, const void *right) {
    const PinRow *a = left;
    const PinRow *b = right;
    if (a->right != b->right) {
        return a->right ? 1 : -1;
    }
    return a->y_mm < b->y_mm ? -1 : a->y_mm > b->y_mm;
}

/* Rows of a node, each side from the top. */
static size_t list_rows(const Drawer *drawer, uint32_t node, PinRow **rows) {
    const LayoutProblem *layout = &drawer->scene->layout;
    size_t count = 0;
    size_t capacity = 0;
    *rows = NULL;
    for (uint32_t i = 0; i < layout->link_count; i++) {
        const LayoutLink *link = &layout->links[i];
        for (uint32_t e = 0; e < 2; e++) {
            const LayoutEnd *end = &link->end[e];
            for (uint32_t row = 0; end->node == node && row < link->rows - link->quiet_rows;
                 row++) {
                *ARENA_PUSH(drawer->arena, *rows, count, capacity) =
                    (PinRow){end_pin(drawer, i, e, row),
                             end->right,
                             end_row_mm(drawer, end, row),
                             end_edge_mm(drawer, end),
                             drawer->scene->strands[i].stub,
                             i,
                             e,
                             row == 0};
            }
        }
    }
    if (count > 1) {
        qsort(*rows, count, sizeof **rows, compare_rows);
    }
    return count;
}

/* Ticks, texts and, where several wires are in one pin, the bracket that joins their rows. */
static void draw_pins(const Drawer *drawer, uint32_t node) {
    const LayoutProblem *layout = &drawer->scene->layout;
    const Model *model = model_of(drawer);
    DrawList *list = drawer->list;
    PinRow *rows;
    size_t count = list_rows(drawer, node, &rows);
    for (size_t i = 0; i < count; i++) {
        const PinRow *now = &rows[i];
        const ModelPin *pin = &model->pins[now->pin];
        /* A stub of a port with several cores stands for all of them. */
        bool whole = now->stub && model->terminals[pin->terminal].pin_count > 1;
        const PinRow *before = NULL;
        for (size_t k = 0; k < i && !whole; k++) {
            bool same = rows[k].pin == now->pin && rows[k].right == now->right;
            bool other = rows[k].stub && model->terminals[pin->terminal].pin_count > 1;
            before = same && !other ? &rows[k] : before;
        }
        double toward = now->right ? -1.0 : 1.0;
        draw_layer(list, LAYER_PIN);
        row_of_pin(drawer, now->pin);
        if (before != NULL) {
            double x_mm = now->edge_mm + toward * (1.0 + 0.5 * (double)(pin->core % 3));
            DrawPoint bracket[] = {
                {x_mm, before->y_mm}, {x_mm, now->y_mm}, {now->edge_mm, now->y_mm}};
            draw_path(list, bracket, 3, false, STYLE_MEDIUM_MM);
            draw_disc(list, x_mm, before->y_mm, STYLE_DOT_MM / 2.0);
        } else {
            draw_line(list, now->edge_mm, now->y_mm, now->edge_mm + toward * TICK_MM, now->y_mm,
                      STYLE_MEDIUM_MM);
            draw_pin_text(drawer, now->pin, now->edge_mm, now->y_mm, now->right,
                          layout->nodes[node].inset_mm[now->right ? 1 : 0], whole);
        }
        const LayoutLink *link = &layout->links[now->link];
        const LayoutEnd *end = &link->end[now->end];
        uint32_t terminator = now->stub || !now->first ? ID_NONE : drawer->kept->terminator[end->port];
        if (terminator != ID_NONE && link->rows - link->quiet_rows > 1) {
            draw_terminator(drawer, end, terminator);
        }
    }
    no_row(drawer);
    draw_contacts(drawer, node, rows, count);
}

static void draw_box_of(const Drawer *drawer, uint32_t id) {
    const LayoutNode *node = &drawer->scene->layout.nodes[id];
    const Spot *spot = &drawer->scene->spots[node->copy_of];
    const Model *model = model_of(drawer);
    const ModelOwner *owner = &model->owners[spot->owner];
    DrawList *list = drawer->list;
    double room_mm = node->box.right_mm - node->box.left_mm - 3.0;
    double x_mm = node->box.left_mm + 1.5;
    bool unit = owner->kind == OWNER_UNIT;
    draw_layer(list, LAYER_BOX);
    row_of_owner(drawer, spot->owner);
    draw_rectangle(list, node->box, unit ? STYLE_THICK_MM : STYLE_MEDIUM_MM);
    draw_layer(list, LAYER_TAG);
    draw_text_fit(list, x_mm, node->box.top_mm + 6.25, TAG, owner->tag, room_mm);
    const char **lines;
    size_t count = wiring_role(drawer->arena, drawer->plan, spot->owner, &lines);
    double y_mm = node->box.top_mm + 7.25;
    draw_layer(list, LAYER_NOTE);
    for (size_t i = 0; i < count; i++) {
        y_mm += 3.75;
        draw_text_fit(list, x_mm, y_mm, NOTE, lines[i], room_mm);
    }
    draw_layer(list, LAYER_REFERENCE);
    draw_text_fit(list, x_mm, y_mm + 3.75, NOTE, also_text(drawer, spot->owner, room_mm),
                  room_mm);
    no_row(drawer);
    draw_pins(drawer, id);
}

/* --- devices ------------------------------------------------------------------------------------
 */

/* A symbol in a cell, its leads to both sides of the cell, its tag and rating above or below. */
static void draw_device(const Drawer *drawer, OwnerId owner, double left_mm, double right_mm,
                        double y_mm, bool mirrored, double *lead_left_mm, double *lead_right_mm) {
    DrawList *list = drawer->list;
    DrawSymbol symbol = device_symbol(drawer, owner);
    double width_mm = symbol == SYMBOL_COUNT ? 10.0 : symbol_width_mm(symbol);
    double x_mm = (left_mm + right_mm - width_mm) / 2.0;
    row_of_owner(drawer, owner);
    draw_layer(list, LAYER_SYMBOL);
    if (symbol == SYMBOL_COUNT) {
        draw_rectangle(list, (DrawBox){x_mm, y_mm - 2.5, x_mm + width_mm, y_mm + 2.5},
                       STYLE_MEDIUM_MM);
    } else if (mirrored) {
        draw_mirrored(list, symbol, x_mm, y_mm);
    } else {
        symbol_draw(list, symbol, x_mm, y_mm, false);
    }
    *lead_left_mm = x_mm;
    *lead_right_mm = x_mm + width_mm;
    no_row(drawer);
}

static void draw_lead(const Drawer *drawer, DrawLayer layer, double from_mm, double to_mm,
                      double y_mm) {
    if (fabs(from_mm - to_mm) > 0.01) {
        draw_layer(drawer->list, layer);
        draw_line(drawer->list, from_mm, y_mm, to_mm, y_mm, STYLE_MEDIUM_MM);
    }
}

static void draw_through(const Drawer *drawer, uint32_t id) {
    const LayoutProblem *layout = &drawer->scene->layout;
    const LayoutNode *node = &layout->nodes[id];
    const Spot *spot = &drawer->scene->spots[node->copy_of];
    const ModelOwner *owner = &model_of(drawer)->owners[spot->owner];
    DrawList *list = drawer->list;
    double room_mm = node->box.right_mm - node->box.left_mm - 0.5;
    double middle_mm = (node->box.left_mm + node->box.right_mm) / 2.0;
    row_of_owner(drawer, spot->owner);
    draw_layer(list, LAYER_TAG);
    if (!node->through) { /* both wires on one side: a small box */
        draw_layer(list, LAYER_BOX);
        draw_rectangle(list, node->box, STYLE_MEDIUM_MM);
        draw_layer(list, LAYER_TAG);
        draw_text_fit(list, middle_mm, node->box.top_mm + 4.6, aligned(VALUE, ALIGN_MIDDLE),
                      owner->tag, room_mm - 1.5);
        draw_pins(drawer, id);
        return;
    }
    double y_mm = node->box.top_mm + node->head_mm + node->row_mm / 2.0;
    draw_text_fit(list, middle_mm, y_mm - 5.4, aligned(VALUE, ALIGN_MIDDLE), owner->tag, room_mm);
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(list, middle_mm, y_mm + 7.6, aligned(NOTE, ALIGN_MIDDLE),
                  wiring_rating_text(drawer->arena, drawer->plan, spot->owner), room_mm);
    PinId pins[2] = {ID_NONE, ID_NONE};
    TerminalId entered = ID_NONE; /* terminal at the left */
    for (uint32_t i = 0; i < layout->link_count; i++) {
        for (uint32_t e = 0; e < 2; e++) {
            const LayoutEnd *end = &layout->links[i].end[e];
            if (end->node == id) {
                pins[end->right ? 1 : 0] = end_pin(drawer, i, e, 0);
                entered = end->right ? entered : end->port;
            }
        }
    }
    const Model *model = model_of(drawer);
    const char *in = owner->part == ID_NONE ? ""
                     : owner->kind == OWNER_PROTECTION
                         ? model->set->device.rows[owner->part].in_terminal
                         : model->set->switch_part.rows[owner->part].in_terminal;
    bool mirrored = entered != ID_NONE && strcmp(model->terminals[entered].name, in) != 0;
    double lead_mm[2];
    draw_device(drawer, spot->owner, node->box.left_mm, node->box.right_mm, y_mm, mirrored,
                &lead_mm[0], &lead_mm[1]);
    for (uint32_t side = 0; side < 2; side++) {
        if (pins[side] == ID_NONE) {
            continue;
        }
        double edge_mm = side == 1 ? node->box.right_mm : node->box.left_mm;
        row_of_pin(drawer, pins[side]);
        /* Never of no length: a wire ends where it begins. */
        draw_layer(list, LAYER_PIN);
        draw_line(list, edge_mm, y_mm, lead_mm[side], y_mm, STYLE_MEDIUM_MM);
        const char *name = wiring_short_pin(drawer->arena, drawer->plan, pins[side]);
        double name_mm = draw_text_width(list, NOTE, name);
        if (name_mm + 0.6 < fabs(lead_mm[side] - edge_mm)) {
            draw_text(list, (edge_mm + lead_mm[side]) / 2.0, y_mm - TEXT_OVER_MM,
                      aligned(NOTE, ALIGN_MIDDLE), name);
        }
    }
    no_row(drawer);
}

/* Tag and rating over a device of a bank. */
static void draw_bank_text(const Drawer *drawer, OwnerId owner, double left_mm, double right_mm,
                           double y_mm) {
    DrawList *list = drawer->list;
    const char *tag = model_of(drawer)->owners[owner].tag;
    const char *rating = wiring_rating_text(drawer->arena, drawer->plan, owner);
    double rating_mm = *rating == '\0' ? 0.0 : 1.5 + draw_text_width(list, NOTE, rating);
    double room_mm = right_mm - left_mm - 2.0;
    double tag_mm = fmin(draw_text_width(list, VALUE, tag), room_mm - rating_mm);
    double x_mm = left_mm + 1.0 + (room_mm - tag_mm - rating_mm) / 2.0;
    row_of_owner(drawer, owner);
    draw_layer(list, LAYER_TAG);
    double width_mm = draw_text_fit(list, x_mm, y_mm - 5.2, VALUE, tag, room_mm - rating_mm);
    draw_layer(list, LAYER_NOTE);
    draw_text(list, x_mm + width_mm + 1.5, y_mm - 5.2, NOTE, rating);
    no_row(drawer);
}

static double bank_cell_mm(const Drawer *drawer, OwnerId owner) {
    const char *rating = wiring_rating_text(drawer->arena, drawer->plan, owner);
    double text_mm =
        draw_text_width(drawer->list, VALUE, model_of(drawer)->owners[owner].tag) +
        (*rating == '\0' ? 0.0 : 1.5 + draw_text_width(drawer->list, NOTE, rating));
    return fmax(15.0, 2.5 * ceil((fmin(text_mm, 60.0) + 2.0) / 2.5));
}

static void draw_bank_row(const Drawer *drawer, uint32_t link, uint32_t e, double bar_mm) {
    const LayoutEnd *end = &drawer->scene->layout.links[link].end[e];
    double edge_mm = end_edge_mm(drawer, end);
    double toward = end->right ? -1.0 : 1.0; /* from the edge to the bar */
    OwnerId owner = model_of(drawer)->terminals[end->port].owner;
    const OwnerRole *role = &drawer->kept->roles[owner];
    double x_mm = edge_mm;
    bool first = true;
    double y_mm = end->y_mm;
    for (OwnerId id = role->bar ? ID_NONE : owner; id != ID_NONE; id = drawer->kept->roles[id].next) {
        double cell_mm = bank_cell_mm(drawer, id);
        double left_mm = end->right ? x_mm - cell_mm : x_mm;
        double lead_mm[2];
        draw_device(drawer, id, left_mm, left_mm + cell_mm, y_mm,
                    role->toward_bus == end->right, &lead_mm[0], &lead_mm[1]);
        draw_bank_text(drawer, id, left_mm, left_mm + cell_mm, y_mm);
        if (first) {
            row_of_pin(drawer, end_pin(drawer, link, e, 0));
        } else {
            row_of_owner(drawer, id);
        }
        draw_lead(drawer, first ? LAYER_PIN : LAYER_SYMBOL, x_mm, lead_mm[end->right ? 1 : 0], y_mm);
        row_of_owner(drawer, id);
        x_mm += toward * cell_mm;
        draw_lead(drawer, LAYER_SYMBOL, lead_mm[end->right ? 0 : 1], x_mm, y_mm);
        first = false;
        if (drawer->kept->roles[id].next == id) {
            break;
        }
    }
    if (first) {
        row_of_pin(drawer, end_pin(drawer, link, e, 0));
    } else {
        no_row(drawer);
    }
    draw_lead(drawer, first ? LAYER_PIN : LAYER_SYMBOL, x_mm, bar_mm, y_mm);
    no_row(drawer);
}

static void draw_bank(const Drawer *drawer, uint32_t id) {
    const LayoutProblem *layout = &drawer->scene->layout;
    const LayoutNode *node = &layout->nodes[id];
    const Spot *spot = &drawer->scene->spots[node->copy_of];
    const Model *model = model_of(drawer);
    DrawList *list = drawer->list;
    bool left = node->inset_mm[0] > 0.0;
    double bar_mm = left ? node->box.left_mm + node->inset_mm[0] + 1.25
                         : node->box.right_mm - node->inset_mm[1] - 1.25;
    double top_mm = node->box.bottom_mm;
    double bottom_mm = node->box.top_mm;
    bool bare = true;
    for (uint32_t i = 0; i < layout->link_count; i++) {
        for (uint32_t e = 0; e < 2; e++) {
            if (layout->links[i].end[e].node == id) {
                draw_bank_row(drawer, i, e, bar_mm);
                OwnerId owner = model->terminals[layout->links[i].end[e].port].owner;
                bare = bare && drawer->kept->roles[owner].bar;
                top_mm = fmin(top_mm, layout->links[i].end[e].y_mm - 2.5);
                bottom_mm = fmax(bottom_mm, layout->links[i].end[e].y_mm + 2.5);
            }
        }
    }
    const char *bus = model->set->bus.rows[spot->bus].bus;
    double room_mm = node->box.right_mm - node->box.left_mm;
    double middle_mm = (node->box.left_mm + node->box.right_mm) / 2.0;
    /* Over the texts of the first devices; close to the bar where there are none. */
    double name_mm = bare ? top_mm - 5.5 : node->box.top_mm + 6.0;
    draw_row(list, TABLE_bus, bus);
    draw_layer(list, LAYER_BOX);
    draw_line(list, bar_mm, top_mm, bar_mm, bottom_mm, STYLE_THICK_MM);
    draw_layer(list, LAYER_TAG);
    draw_text_fit(list, middle_mm, name_mm, aligned(TAG, ALIGN_MIDDLE), bus, room_mm);
    no_row(drawer);
    /* Where the bus is fed, when that is not here. */
    TerminalId stud = model->buses[spot->bus].stud;
    if (stud == ID_NONE) {
        return;
    }
    CableId feeder = ID_NONE;
    for (uint32_t i = drawer->kept->landing_first[stud]; i < drawer->kept->landing_first[stud + 1];
         i++) {
        CableId cable = drawer->kept->landings[i];
        ConductorId conductor = drawer->plan->view->wiring->cables[cable].conductor_first;
        if (wiring_place(drawer->plan, conductor).sheet == drawer->sheet->page) {
            return;
        }
        feeder = feeder == ID_NONE ? cable : feeder;
    }
    if (feeder != ID_NONE) {
        draw_reference(drawer, middle_mm, name_mm + 3.8, ALIGN_MIDDLE, feeder, room_mm);
    }
}

/* --- grounds and antennas -----------------------------------------------------------------------
 */

static void draw_leaf(const Drawer *drawer, uint32_t id) {
    const LayoutProblem *layout = &drawer->scene->layout;
    const LayoutNode *node = &layout->nodes[id];
    const Spot *spot = &drawer->scene->spots[node->copy_of];
    const Model *model = model_of(drawer);
    DrawList *list = drawer->list;
    for (uint32_t i = 0; i < layout->link_count; i++) {
        for (uint32_t e = 0; e < 2; e++) {
            const LayoutEnd *end = &layout->links[i].end[e];
            if (end->node != id) {
                continue;
            }
            double edge_mm = end_edge_mm(drawer, end);
            double toward = end->right ? -1.0 : 1.0;
            double x_mm = edge_mm + toward * 2.5;
            DrawAlign align = end->right ? ALIGN_RIGHT : ALIGN_LEFT;
            row_of_pin(drawer, end_pin(drawer, i, e, 0));
            draw_layer(list, LAYER_PIN);
            draw_line(list, edge_mm, end->y_mm, x_mm, end->y_mm, STYLE_MEDIUM_MM);
            row_of_owner(drawer, spot->owner);
            bool ground = spot->kind == SPOT_GROUND;
            draw_layer(list, LAYER_SYMBOL);
            symbol_draw(list, ground ? SYMBOL_GROUND : SYMBOL_ANTENNA, x_mm, end->y_mm, false);
            double text_mm = x_mm + toward * (ground ? 4.0 : 5.0);
            double room_mm = node->inset_mm[end->right ? 1 : 0] - 6.5;
            draw_layer(list, LAYER_TAG);
            draw_text_fit(list, text_mm, end->y_mm + STYLE_VALUE_MM / 2.0, aligned(VALUE, align),
                          ground ? model->terminals[spot->terminal].end
                                 : model->owners[spot->owner].tag,
                          room_mm);
            /* Another wire on the same tab, drawn elsewhere. */
            CableId own = drawer->scene->strands[i].cable;
            for (uint32_t k = drawer->kept->landing_first[spot->terminal];
                 k < drawer->kept->landing_first[spot->terminal + 1]; k++) {
                CableId other = drawer->kept->landings[k];
                ConductorId conductor = drawer->plan->view->wiring->cables[other].conductor_first;
                if (other != own &&
                    wiring_place(drawer->plan, conductor).sheet != drawer->sheet->page) {
                    draw_reference(drawer, text_mm, end->y_mm + 5.6, align, other, room_mm);
                    break;
                }
            }
            no_row(drawer);
        }
    }
}

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
    draw_text(list, from_mm, y_mm - TEXT_OVER_MM,
              aligned(NOTE, toward > 0.0 ? ALIGN_LEFT : ALIGN_RIGHT),
              arena_text(drawer->arena, code, strlen(code)));
    no_row(drawer);
}

/* A closed oval round rows from `top` to `bottom`. */
static void draw_oval(DrawList *list, double x_mm, double top_mm, double bottom_mm) {
    DrawPoint points[24];
    for (int i = 0; i < 24; i++) {
        double angle_rad = UNITS_PI * ((double)(i % 12) / 11.0) + (i < 12 ? UNITS_PI : 0.0);
        double end_mm = i < 12 ? top_mm - OVAL_OVER_MM + OVAL_HALF_MM
                               : bottom_mm + OVAL_OVER_MM - OVAL_HALF_MM;
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
            draw_text(list, edge_mm - toward * PIN_TEXT_MM, shield_mm + STYLE_NOTE_MM / 2.0,
                      aligned(NOTE, end->right ? ALIGN_RIGHT : ALIGN_LEFT), "shield");
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
    draw_text(list, x_mm, y_mm - TEXT_OVER_MM, VALUE,
              drawer->plan->view->wiring->conductors[conductor].key);
    draw_text(list, x_mm, y_mm + TEXT_UNDER_MM, NOTE,
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
    draw_text_fit(list, middle_mm, box.top_mm + 4.5, aligned(VALUE, ALIGN_MIDDLE), name,
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
    DrawTextStyle style = aligned(VALUE, ALIGN_MIDDLE);
    double room_mm = half_mm - 2.9;
    draw_text_fit(list, left_mm + half_mm / 2.0 + 0.35, y_mm + STYLE_VALUE_MM / 2.0, style, number,
                  room_mm);
    draw_text_fit(list, right_mm - half_mm / 2.0 - 0.35, y_mm + STYLE_VALUE_MM / 2.0, style, number,
                  room_mm);
    draw_layer(list, LAYER_DISCONNECT);
    DrawPoint pin[] = {{middle_mm - 0.7, y_mm - 1.1}, {middle_mm + 0.7, y_mm}, {middle_mm - 0.7, y_mm + 1.1}};
    draw_path(list, pin, 3, false, STYLE_MEDIUM_MM);
    no_row(drawer);
}

static const char *cavity_key(const Drawer *drawer, const CavityUse *use) {
    return arena_format(drawer->arena, "%s %s",
                        wiring_gate_name(drawer->plan, use->shell),
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
            const char *key = use != NULL ? cavity_key(drawer, use)
                                          : arena_format(drawer->arena, "%s %s",
                                                         wiring_gate_name(drawer->plan, layout->gates[link->gate_first + g]),
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
        draw_shield_end(drawer, left_mm, -1.0, first_mm, LAYOUT_ROW_MM, cable->conductor_count, how);
        draw_shield_end(drawer, right_mm, 1.0, first_mm, LAYOUT_ROW_MM, cable->conductor_count, how);
        if (use != NULL) {
            draw_cavity(drawer, left_mm, right_mm, shield_mm, true, cavity_key(drawer, use),
                        disconnect_cavity_text(drawer->arena, model_of(drawer), use));
        }
    }
    no_row(drawer);
}

/* --- exported -----------------------------------------------------------------------------------
 */

/* Explains what of ours this sheet uses. */
static void draw_legend(const Drawer *drawer, DrawBox field) {
    const WiringScene *scene = drawer->scene;
    const Wiring *wiring = drawer->plan->view->wiring;
    bool stubs = false;
    bool shields = false;
    for (size_t i = 0; i < scene->strand_count; i++) {
        stubs = stubs || scene->strands[i].stub;
        shields = shields || (!scene->strands[i].stub &&
                              wiring_has_shield(&wiring->cables[scene->strands[i].cable]));
    }
    const char *text = arena_format(
        drawer->arena, "%s%s%sUnder a wire: its significant number and AWG gauge.",
        scene->layout.stand_count > 0
            ? "Double outline: shells of a disconnect with the cavity in both. "
            : "",
        shields ? "Oval: shield, with a drain where it is grounded or goes through. " : "",
        stubs ? "Arrow: goes on with that wire. " : "");
    const char **lines;
    size_t count = fonts_wrap(drawer->list->fonts, drawer->arena, text, STYLE_NOTE_MM, false,
                              field.right_mm - field.left_mm - 5.0, &lines);
    for (size_t i = 0; i < count; i++) {
        draw_text(drawer->list, field.left_mm + 2.5,
                  field.bottom_mm - 1.5 - 3.75 * (double)(count - 1 - i), NOTE, lines[i]);
    }
}

static void draw_sheet(const SheetPlan *plan, const Sheet *page, DrawBox field, DrawList *list,
                       bool plain) {
    const WiringKept *kept = plan->kept[SHEET_WIRING];
    const WiringSheet *sheet = &kept->sheets[page->index];
    WiringLookup lookup;
    WiringScene scene;
    wiring_lookup_start(list->arena, plan, &lookup);
    wiring_scene_build(list->arena, plan, kept, &lookup, sheet->cables, sheet->cable_count,
                       wiring_field(field), &scene);
    scene.layout.plain = plain;
    wiring_layout(list->arena, &scene.layout);
    Drawer drawer = {plan, kept, &scene, sheet, list, list->arena};
    for (size_t i = 0; i < scene.layout.stand_count; i++) {
        draw_shell(&drawer, &scene.layout.stands[i]);
    }
    for (uint32_t i = 0; i < scene.layout.link_count; i++) {
        if (scene.strands[i].stub) {
            draw_stub(&drawer, i);
        } else {
            draw_cable(&drawer, i);
            draw_passing(&drawer, i);
        }
    }
    for (uint32_t i = 0; i < scene.layout.node_count; i++) {
        switch (scene.spots[scene.layout.nodes[i].copy_of].kind) {
        case SPOT_BOX:
            draw_box_of(&drawer, i);
            break;
        case SPOT_THROUGH:
            draw_through(&drawer, i);
            break;
        case SPOT_BANK:
            draw_bank(&drawer, i);
            break;
        case SPOT_GROUND:
        case SPOT_ANTENNA:
            draw_leaf(&drawer, i);
            break;
        }
    }
    no_row(&drawer);
    draw_layer(list, LAYER_NOTE);
    draw_legend(&drawer, field);
}

void wiring_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    draw_sheet(plan, sheet, field, list, false);
}

void wiring_draw_plain(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    draw_sheet(plan, sheet, field, list, true);
}
