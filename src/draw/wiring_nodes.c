/* Method. Boxes, devices, buses, grounds and antennas of a wiring diagram, where the layout put
 * them. Every pin has a line of its own from the edge of its node inwards, where its wires end; a
 * contact is drawn between two pins where these lie so that one can see what it joins. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "draw/wiring_pen.h"

#define TICK_MM 2.0      /* a pin's line inside its box */
#define NOTE_STEP_MM 3.6 /* between the lines of a box's role */

/* --- rows and symbols ---------------------------------------------------------------------------
 */

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

/* --- references ---------------------------------------------------------------------------------
 */

/* A link over a text that ends at `y_mm` and to the conductor it names. */
static void link_to(const Drawer *drawer, ConductorId conductor, double left_mm, double right_mm,
                    double top_mm, double bottom_mm) {
    draw_link(drawer->list, (DrawBox){left_mm, top_mm, right_mm, bottom_mm},
              wiring_anchor(drawer->arena, drawer->plan, conductor));
}

/* "W0412 page 5 B3" in one line, or only "page 5 B3" where that does not fit `room_mm`. */
static void draw_reference(const Drawer *drawer, double x_mm, double y_mm, DrawAlign align,
                           CableId cable, double room_mm) {
    DrawList *list = drawer->list;
    const Wiring *wiring = drawer->plan->view->wiring;
    ConductorId conductor = wiring->cables[cable].conductor_first;
    const char *key = wiring->conductors[conductor].key;
    const char *place =
        sheet_place_text(drawer->plan, drawer->arena, wiring_place(drawer->plan, conductor));
    const char *text = arena_format(drawer->arena, "%s %s", key, place);
    text = draw_text_width(list, PEN_NOTE, text) > room_mm ? place : text;
    draw_layer(list, LAYER_REFERENCE);
    draw_row(list, TABLE_conductor, key);
    double width_mm = draw_text_fit(list, x_mm, y_mm, aligned(PEN_NOTE, align), text, room_mm);
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
    DrawTextStyle style = aligned(PEN_NOTE, align);
    double width_mm = draw_text(list, x_mm, y_mm - 0.4, style, first);
    width_mm = fmax(width_mm, draw_text(list, x_mm, y_mm + 3.3, style, place));
    double left_mm = align == ALIGN_RIGHT ? x_mm - width_mm : x_mm;
    link_to(drawer, conductor, left_mm, left_mm + width_mm, y_mm - 3.4, y_mm + 3.8);
}

/* Where else an owner stands: "also page 4 B2, 7 C1 +2", as many as fit `room_mm`, and without
 * "also" where not even one fits with it. */
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
        const char *also = arena_format(drawer->arena, "also %s", where);
        also = draw_text_width(drawer->list, PEN_NOTE, also) > room_mm ? where : also;
        text = *shown == '\0'
                   ? also
                   : arena_format(drawer->arena, "%s, %s", shown, where + strlen("page "));
        double width_mm = draw_text_width(drawer->list, PEN_NOTE, text);
        if (more == 0 && (*shown == '\0' || width_mm + 7.0 < room_mm)) {
            shown = text;
        } else {
            more++;
        }
    }
    const char *all = more > 0 ? arena_format(drawer->arena, "%s +%u", shown, more) : shown;
    return draw_text_width(drawer->list, PEN_NOTE, all) > room_mm ? shown : all;
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
    TerminalId terminal = model_of(drawer)->pins[pin].terminal;
    double in_mm = PEN_PIN_TEXT_MM + wiring_brackets_mm(drawer->plan, drawer->kept, terminal);
    double x_mm = edge_mm + toward * in_mm;
    DrawAlign align = right ? ALIGN_RIGHT : ALIGN_LEFT;
    const char *name = wiring_short_pin(drawer->arena, drawer->plan, pin);
    const char *port = port_only ? model_of(drawer)->terminals[terminal].name
                                 : wiring_port_text(drawer->arena, drawer->plan, pin);
    draw_layer(list, LAYER_PIN);
    row_of_pin(drawer, pin);
    bool two = !port_only && *port != '\0';
    if (!port_only) {
        draw_text_fit(list, x_mm, y_mm + (two ? -0.4 : STYLE_VALUE_MM / 2.0),
                      aligned(PEN_VALUE, align), name, room_mm - in_mm - 1.5);
    }
    /* Terminals of devices are large also where one row stands for all their cores. */
    bool device =
        model_of(drawer)->owners[model_of(drawer)->terminals[terminal].owner].kind != OWNER_UNIT;
    DrawTextStyle style = port_only && device ? PEN_VALUE : PEN_NOTE;
    draw_text_fit(list, x_mm, y_mm + (two ? 3.4 : style.height_mm / 2.0), aligned(style, align),
                  port, room_mm - in_mm - 1.5);
    no_row(drawer);
}

/* The resistor at the end of a chain, between the first two rows of a terminal. */
static void draw_terminator(const Drawer *drawer, const LayoutEnd *end, uint32_t row) {
    DrawList *list = drawer->list;
    const TerminatorRow *terminator = &drawer->plan->view->set->terminator.rows[row];
    const LayoutNode *node = &drawer->scene->layout.nodes[end->node];
    double toward = end->right ? -1.0 : 1.0;
    double x_mm = end_edge_mm(drawer, end) +
                  toward * (node->inset_mm[end->right ? 1 : 0] - WIRING_TERMINATOR_MM + 4.0);
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
    DrawTextStyle turned = aligned(PEN_NOTE, ALIGN_MIDDLE);
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
        const char *own = pin->core == 0
                              ? terminal->name
                              : arena_format(drawer->arena, "%s/%d", terminal->name, pin->core + 1);
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
        DrawPoint lead[] = {
            {from_mm, y_mm}, {x_mm, y_mm}, {x_mm, i == 0 ? y_mm + lead_mm : y_mm - lead_mm}};
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
        DrawSymbol symbol = plain       ? (closed ? SYMBOL_SWITCH_CLOSED : SYMBOL_SWITCH_OPEN)
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
            double in_mm = 1.0 + WIRING_BRACKET_MM * (double)(pin->core % 3);
            double x_mm = now->edge_mm + toward * in_mm;
            DrawPoint bracket[] = {
                {x_mm, before->y_mm}, {x_mm, now->y_mm}, {now->edge_mm, now->y_mm}};
            draw_path(list, bracket, 3, false, STYLE_MEDIUM_MM);
            draw_disc(list, x_mm, before->y_mm, STYLE_DOT_MM / 2.0);
        } else {
            double tick_mm =
                TICK_MM + wiring_brackets_mm(drawer->plan, drawer->kept, pin->terminal);
            draw_line(list, now->edge_mm, now->y_mm, now->edge_mm + toward * tick_mm, now->y_mm,
                      STYLE_MEDIUM_MM);
            draw_pin_text(drawer, now->pin, now->edge_mm, now->y_mm, now->right,
                          layout->nodes[node].inset_mm[now->right ? 1 : 0], whole);
        }
        const LayoutLink *link = &layout->links[now->link];
        const LayoutEnd *end = &link->end[now->end];
        uint32_t terminator =
            now->stub || !now->first ? ID_NONE : drawer->kept->terminator[end->port];
        if (terminator != ID_NONE && link->rows - link->quiet_rows > 1) {
            draw_terminator(drawer, end, terminator);
        }
    }
    no_row(drawer);
    draw_contacts(drawer, node, rows, count);
}

/* The style of a tag, in a smaller size where it would be cut otherwise. */
static DrawTextStyle tag_style(const Drawer *drawer, DrawTextStyle style, const char *tag,
                               double room_mm) {
    static const double SIZES_MM[] = {STYLE_VALUE_MM, STYLE_NOTE_MM};
    for (size_t i = 0; i < sizeof SIZES_MM / sizeof *SIZES_MM; i++) {
        if (draw_text_width(drawer->list, style, tag) > room_mm) {
            style.height_mm = fmin(style.height_mm, SIZES_MM[i]);
        }
    }
    return style;
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
    draw_text_fit(list, x_mm, node->box.top_mm + 6.0,
                  tag_style(drawer, PEN_TAG, owner->tag, room_mm), owner->tag, room_mm);
    const RoleText *role = &drawer->kept->role_texts[spot->owner];
    double y_mm = node->box.top_mm + 6.9;
    draw_layer(list, LAYER_NOTE);
    for (size_t i = 0; i < role->count; i++) {
        y_mm += NOTE_STEP_MM;
        draw_text_fit(list, x_mm, y_mm, PEN_NOTE, role->lines[i], room_mm);
    }
    draw_layer(list, LAYER_REFERENCE);
    draw_text_fit(list, x_mm, y_mm + NOTE_STEP_MM, PEN_NOTE,
                  also_text(drawer, spot->owner, room_mm), room_mm);
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
        DrawTextStyle style =
            tag_style(drawer, aligned(PEN_VALUE, ALIGN_MIDDLE), owner->tag, room_mm - 1.5);
        draw_text_fit(list, middle_mm, node->box.top_mm + 4.6, style, owner->tag, room_mm - 1.5);
        draw_pins(drawer, id);
        return;
    }
    double y_mm = node->box.top_mm + node->head_mm + node->row_mm / 2.0;
    draw_text_fit(list, middle_mm, y_mm - 5.4, aligned(PEN_VALUE, ALIGN_MIDDLE), owner->tag,
                  room_mm);
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(list, middle_mm, y_mm + 7.6, aligned(PEN_NOTE, ALIGN_MIDDLE),
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
        double name_mm = draw_text_width(list, PEN_NOTE, name);
        if (name_mm + 0.6 < fabs(lead_mm[side] - edge_mm)) {
            draw_text(list, (edge_mm + lead_mm[side]) / 2.0, y_mm - PEN_TEXT_OVER_MM,
                      aligned(PEN_NOTE, ALIGN_MIDDLE), name);
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
    double rating_mm = *rating == '\0' ? 0.0 : 1.5 + draw_text_width(list, PEN_NOTE, rating);
    double room_mm = right_mm - left_mm - 2.0;
    double tag_mm = fmin(draw_text_width(list, PEN_VALUE, tag), room_mm - rating_mm);
    double x_mm = left_mm + 1.0 + (room_mm - tag_mm - rating_mm) / 2.0;
    row_of_owner(drawer, owner);
    draw_layer(list, LAYER_TAG);
    double width_mm = draw_text_fit(list, x_mm, y_mm - 5.2, PEN_VALUE, tag, room_mm - rating_mm);
    draw_layer(list, LAYER_NOTE);
    draw_text(list, x_mm + width_mm + 1.5, y_mm - 5.2, PEN_NOTE, rating);
    no_row(drawer);
}

static double bank_cell_mm(const Drawer *drawer, OwnerId owner) {
    const char *rating = wiring_rating_text(drawer->arena, drawer->plan, owner);
    double text_mm =
        draw_text_width(drawer->list, PEN_VALUE, model_of(drawer)->owners[owner].tag) +
        (*rating == '\0' ? 0.0 : 1.5 + draw_text_width(drawer->list, PEN_NOTE, rating));
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
    for (OwnerId id = role->bar ? ID_NONE : owner; id != ID_NONE;
         id = drawer->kept->roles[id].next) {
        double cell_mm = bank_cell_mm(drawer, id);
        double left_mm = end->right ? x_mm - cell_mm : x_mm;
        double lead_mm[2];
        draw_device(drawer, id, left_mm, left_mm + cell_mm, y_mm, role->toward_bus == end->right,
                    &lead_mm[0], &lead_mm[1]);
        draw_bank_text(drawer, id, left_mm, left_mm + cell_mm, y_mm);
        if (first) {
            row_of_pin(drawer, end_pin(drawer, link, e, 0));
        } else {
            row_of_owner(drawer, id);
        }
        draw_lead(drawer, first ? LAYER_PIN : LAYER_SYMBOL, x_mm, lead_mm[end->right ? 1 : 0],
                  y_mm);
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
    double name_mm = bare ? top_mm - 5.75 : node->box.top_mm + 6.25;
    draw_row(list, TABLE_bus, bus);
    draw_layer(list, LAYER_BOX);
    draw_line(list, bar_mm, top_mm, bar_mm, bottom_mm, STYLE_THICK_MM);
    draw_layer(list, LAYER_TAG);
    draw_text_fit(list, middle_mm, name_mm, aligned(PEN_TAG, ALIGN_MIDDLE), bus, room_mm);
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
    if (feeder == ID_NONE) {
        feeder = drawer->kept->bus_feeder[spot->bus];
        bool here =
            feeder != ID_NONE &&
            wiring_place(drawer->plan, drawer->plan->view->wiring->cables[feeder].conductor_first)
                    .sheet == drawer->sheet->page;
        feeder = here ? ID_NONE : feeder;
    }
    if (feeder != ID_NONE) {
        draw_reference(drawer, middle_mm, name_mm + 4.4, ALIGN_MIDDLE, feeder, room_mm);
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
            draw_text_fit(
                list, text_mm, end->y_mm + STYLE_VALUE_MM / 2.0, aligned(PEN_VALUE, align),
                ground ? model->terminals[spot->terminal].end : model->owners[spot->owner].tag,
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

/* --- exported -----------------------------------------------------------------------------------
 */

void wiring_draw_node(const Drawer *drawer, uint32_t node) {
    switch (drawer->scene->spots[drawer->scene->layout.nodes[node].copy_of].kind) {
    case SPOT_BOX:
        draw_box_of(drawer, node);
        break;
    case SPOT_THROUGH:
        draw_through(drawer, node);
        break;
    case SPOT_BANK:
        draw_bank(drawer, node);
        break;
    case SPOT_GROUND:
    case SPOT_ANTENNA:
        draw_leaf(drawer, node);
        break;
    }
}

void wiring_draw_stub(const Drawer *drawer, uint32_t id) {
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
    if (strand->cable == ID_NONE) { /* metal on metal, no wire */
        DrawTextStyle style = aligned(PEN_NOTE, end->right ? ALIGN_LEFT : ALIGN_RIGHT);
        double x_mm = near_mm + toward * 3.5;
        draw_line(list, edge_mm, y_mm, near_mm, y_mm, STYLE_MEDIUM_MM);
        symbol_draw(list, SYMBOL_TERMINAL, end->right ? near_mm : near_mm - 2.5, y_mm, false);
        draw_text_fit(list, x_mm, y_mm - 0.4, style, "joined to", link->label_mm - 3.5);
        draw_text_fit(list, x_mm, y_mm + 3.3, style, drawer->kept->bolted[strand->terminal],
                      link->label_mm - 3.5);
        return;
    }
    draw_row(list, TABLE_conductor,
             wiring->conductors[wiring->cables[strand->cable].conductor_first].key);
    draw_line(list, edge_mm, y_mm, near_mm, y_mm, STYLE_THIN_MM);
    DrawPoint arrow[] = {
        {near_mm, y_mm - 1.0}, {near_mm + toward * 2.5, y_mm}, {near_mm, y_mm + 1.0}};
    draw_fill(list, arrow, 3);
    draw_reference_pair(drawer, near_mm + toward * 3.5, y_mm, end->right ? ALIGN_LEFT : ALIGN_RIGHT,
                        strand);
    no_row(drawer);
}
