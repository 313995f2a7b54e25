/* Drawing walks the rows of one sheet. Every row has the same build: devices at fixed steps after
 * the bar, then current over gauge, then the load or the next bar, so that a column of rows reads
 * as a table. */
#include "draw/power_line.h"

#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "draw/power_sheets.h"

SheetPlace power_bus_place(const SheetPlan *plan, BusId bus) {
    const Power *power = plan->kept[SHEET_POWER];
    CHECK(bus < power->facts.bus_count);
    return power->load_place[bus].sheet != ID_NONE ? power->load_place[bus] : power->bar_place[bus];
}
/* --- drawing a row ------------------------------------------------------------------------------
 */

typedef struct Pen {
    const SheetPlan *plan;
    const Power *power;
    DrawList *list;
    DrawBox field;
    double chain_x_mm; /* where the branch above leaves its devices */
    double chain_y_mm;
} Pen;

static void wire(const Pen *pen, double x1_mm, double x2_mm, double y_mm) {
    if (x2_mm > x1_mm) {
        draw_layer(pen->list, LAYER_WIRE);
        draw_line(pen->list, x1_mm, y_mm, x2_mm, y_mm, STYLE_MEDIUM_MM);
    }
}

/* Text that is left out where there is no room for any of it. */
static double fit(const Pen *pen, double x_mm, double y_mm, DrawTextStyle style, const char *text,
                  double room_mm) {
    return room_mm < 1.5 * style.height_mm
               ? 0.0
               : draw_text_fit(pen->list, x_mm, y_mm, style, text, room_mm);
}

/* A name in the large size; one that reaches further below its line than letters do stands as much
 * higher. */
static double draw_name(const Pen *pen, double x_mm, double y_mm, const char *name,
                        double room_mm) {
    double below_mm = fonts_shape(pen->list->fonts, name, true)->below_em *
                      fonts_size_mm(pen->list->fonts, STYLE_TAG_MM);
    return fit(pen, x_mm, y_mm - power_wider(0.0, below_mm - 0.9), POWER_NAME, name, room_mm);
}

static void mark(const Pen *pen, double x_mm, double base_mm, const char *text) {
    if (*text == '\0') {
        return;
    }
    double width_mm = power_text_mm(pen->plan, POWER_NOTE, text);
    draw_layer(pen->list, LAYER_NOTE);
    draw_rectangle(
        pen->list,
        (DrawBox){x_mm, base_mm - STYLE_NOTE_MM - 0.7, x_mm + width_mm + 1.8, base_mm + 0.7},
        STYLE_THIN_MM);
    draw_text(pen->list, x_mm + 0.9, base_mm, POWER_NOTE, text);
}

static void draw_slot(const Pen *pen, const PowerSlot *slot, double x_mm, double y_mm,
                      double width_mm) {
    DrawList *list = pen->list;
    TableId table = list->table;
    const char *key = list->key;
    double symbol = power_symbol_mm(slot);
    double text_x_mm = x_mm + symbol + 1.5;
    double room_mm = width_mm - symbol - 2.1;
    draw_row(list, slot->table, slot->key);
    if (slot->symbol == SYMBOL_COUNT) {
        draw_layer(list, LAYER_BOX);
        draw_rectangle(list, (DrawBox){x_mm, y_mm - 2.5, x_mm + symbol, y_mm + 2.5},
                       STYLE_THICK_MM);
    } else {
        symbol_draw(list, slot->symbol, x_mm, y_mm, false);
    }
    draw_layer(list, slot->again || slot->table == TABLE_unit ? LAYER_REFERENCE : LAYER_TAG);
    fit(pen, text_x_mm, y_mm - POWER_TAG_UP_MM, POWER_VALUE, slot->tag, room_mm);
    draw_layer(list, LAYER_NOTE);
    double note_mm = fit(pen, text_x_mm, y_mm + POWER_NOTE_DOWN_MM, POWER_NOTE, slot->note,
                         room_mm - power_mark_mm(pen->plan, slot->mark));
    mark(pen, text_x_mm + note_mm + (note_mm > 0.0 ? 1.4 : 0.0), y_mm + POWER_NOTE_DOWN_MM,
         slot->mark);
    draw_row(list, table, key);
}

/* Devices, current and gauge of a branch from x to x; they stand closer where that is less than the
 * branch asks for. */
static void draw_branch(Pen *pen, const PowerBranch *branch, double from_mm, double to_mm,
                        double y_mm) {
    DrawList *list = pen->list;
    const PowerFacts *facts = &pen->power->facts;
    double start_mm = from_mm;
    double squeeze = power_narrower(1.0, (to_mm - from_mm) / branch->width_mm);
    double x_mm = from_mm + 2.5;
    draw_row(list, branch->feed == ID_NONE ? branch->table : TABLE_feed,
             branch->feed == ID_NONE ? branch->key
                                     : pen->plan->view->set->feed.rows[branch->feed].feed);
    if (branch->follows) {
        x_mm = pen->chain_x_mm > 0.0 ? pen->chain_x_mm : x_mm;
        from_mm = x_mm;
        draw_layer(list, LAYER_WIRE);
        if (pen->chain_x_mm > 0.0) {
            draw_line(list, x_mm, pen->chain_y_mm, x_mm, y_mm, STYLE_MEDIUM_MM);
            draw_disc(list, x_mm, pen->chain_y_mm, STYLE_DOT_MM / 2.0);
        }
    }
    if (*branch->giver != '\0') {
        symbol_draw(list, SYMBOL_TERMINAL, x_mm, y_mm, false);
        draw_layer(list, LAYER_REFERENCE);
        fit(pen, x_mm + 4.0, y_mm - POWER_TAG_UP_MM, POWER_VALUE, branch->giver, 30.0);
        fit(pen, x_mm + 4.0, y_mm + POWER_NOTE_DOWN_MM, POWER_NOTE, "gives it", 30.0);
        from_mm = x_mm + 2.5;
    }
    for (uint32_t i = 0; i < branch->slot_count; i++) {
        const PowerSlot *slot = &facts->slots[branch->slot_first + i];
        x_mm = start_mm + slot->at_mm * squeeze;
        wire(pen, from_mm, x_mm, y_mm);
        draw_slot(pen, slot, x_mm, y_mm, slot->width_mm * squeeze);
        from_mm = x_mm + power_symbol_mm(slot);
        x_mm += slot->width_mm * squeeze;
    }
    wire(pen, from_mm, to_mm, y_mm);
    pen->chain_x_mm = x_mm;
    pen->chain_y_mm = y_mm;
    draw_layer(list, LAYER_WIRE_TEXT);
    double room_mm = power_narrower(32.0, to_mm - x_mm - 2.0);
    double end_mm = to_mm - (branch->to == ID_NONE ? 3.5 : 2.5);
    fit(pen, end_mm, y_mm - POWER_TAG_UP_MM, POWER_VALUE_RIGHT, branch->amps, room_mm);
    fit(pen, end_mm, y_mm + POWER_NOTE_DOWN_MM, POWER_NOTE_RIGHT, branch->gauge, room_mm);
}

static void draw_load(const Pen *pen, const PowerBranch *branch, double x_mm, double y_mm,
                      double right_mm) {
    DrawList *list = pen->list;
    draw_row(list, branch->table, branch->key);
    draw_layer(list, LAYER_SYMBOL);
    draw_fill(list,
              (DrawPoint[]){{x_mm - 2.5, y_mm - 1.25}, {x_mm - 2.5, y_mm + 1.25}, {x_mm, y_mm}}, 3);
    double text_x_mm = x_mm + 1.5;
    draw_layer(list, branch->again ? LAYER_REFERENCE : LAYER_TAG);
    fit(pen, text_x_mm, y_mm - 0.5, POWER_STRONG, branch->tag, branch->tag_mm);
    draw_layer(list, LAYER_NOTE);
    double state_x_mm = text_x_mm + branch->tag_mm + 2.5;
    double state_mm = fit(pen, state_x_mm, y_mm - 0.5, POWER_VALUE, branch->state, 40.0);
    mark(pen, state_x_mm + state_mm + 1.5, y_mm - 1.0, branch->mark);
    fit(pen, text_x_mm, y_mm + POWER_NOTE_DOWN_MM, POWER_NOTE, branch->role, right_mm - text_x_mm);
}

static void draw_bar(const Pen *pen, double x_mm, double top_mm, double bottom_mm) {
    draw_layer(pen->list, LAYER_BOX);
    draw_fill_rectangle(pen->list, (DrawBox){x_mm - POWER_BAR_MM / 2.0, top_mm,
                                             x_mm + POWER_BAR_MM / 2.0, bottom_mm});
}

/* "page 4 B3", clickable. */
static double draw_place(const Pen *pen, double x_mm, double base_mm, double room_mm,
                         const char *before, SheetPlace place) {
    if (place.sheet == ID_NONE) {
        return fit(pen, x_mm, base_mm, POWER_NOTE, before, room_mm);
    }
    const char *text = arena_format(pen->list->arena, "%s%s%s", before, *before == '\0' ? "" : " ",
                                    sheet_place_text(pen->plan, pen->list->arena, place));
    draw_layer(pen->list, LAYER_REFERENCE);
    double width_mm = fit(pen, x_mm, base_mm, POWER_NOTE, text, room_mm);
    draw_link(pen->list, (DrawBox){x_mm, base_mm - STYLE_NOTE_MM, x_mm + width_mm, base_mm},
              pen->plan->sheets[place.sheet].name);
    return width_mm;
}

/* --- drawing buses ------------------------------------------------------------------------------
 */

static const char *loads_words(const Pen *pen, BusId bus) {
    const PowerList *loads = &pen->power->facts.loads;
    uint32_t count = loads->first[bus + 1] - loads->first[bus];
    return arena_format(pen->list->arena, count == 1 ? "%u load:" : "%u loads:", count);
}

static double draw_values(const Pen *pen, const PowerBus *bus, double x_mm, double base_mm,
                          double room_mm, bool with_mark) {
    draw_layer(pen->list, LAYER_NOTE);
    const char *text = arena_format(pen->list->arena, "%s%s%s", bus->volts,
                                    *bus->amps == '\0' ? "" : ", ", bus->amps);
    double mark_room_mm = with_mark ? power_mark_mm(pen->plan, bus->mark) : 0.0;
    double width_mm = fit(pen, x_mm, base_mm, POWER_VALUE, text, room_mm - mark_room_mm);
    if (with_mark) {
        mark(pen, x_mm + width_mm + 1.6, base_mm - 0.5, bus->mark);
    }
    return width_mm + mark_room_mm + 1.6;
}

/* Feeds that end on other sheets, or elsewhere on this one. */
static void draw_stubs_of(const Pen *pen, BusId bus, double x_mm, double base_mm, double room_mm) {
    const Power *power = pen->power;
    for (uint32_t i = power->stub_first[bus]; i < power->stub_first[bus + 1] && room_mm > 24.0;
         i++) {
        const PowerStubPlace *stub = &power->stubs[i];
        double width_mm =
            draw_place(pen, x_mm, base_mm, room_mm,
                       arena_format(pen->list->arena, "from %s,", stub->from), stub->place);
        x_mm += width_mm + 3.0;
        room_mm -= width_mm + 3.0;
    }
}

/* How far right a name above a bar may go: to the next bar in that row. */
static double name_room_mm(const PowerBlock *block, const PowerBar *bar, double width_mm) {
    double next_mm = width_mm;
    for (size_t i = 0; i < block->bar_count; i++) {
        const PowerBar *other = &block->bars[i];
        int32_t top = bar->inner ? bar->row_name - 1 : bar->row_name;
        bool level =
            other->row_first - (bar->inner ? 1 : 0) <= bar->row_name && other->row_last >= top;
        if (other != bar && level && other->x_mm > bar->x_mm && other->x_mm < next_mm) {
            next_mm = other->x_mm;
        }
    }
    return next_mm - bar->x_mm - 4.0;
}

static void draw_bus_name(const Pen *pen, const PowerSheet *sheet, const PowerBlock *block,
                          const PowerBar *bar) {
    DrawList *list = pen->list;
    const PowerBus *bus = &pen->power->facts.buses[bar->bus];
    double x_mm = pen->field.left_mm + bar->x_mm;
    /* A bar that reaches up past its name has it at its right. */
    double name_x_mm = bar->row_first < bar->row_name ? x_mm + POWER_BAR_MM / 2.0 + 1.5
                                                      : x_mm - POWER_BAR_MM / 2.0;
    double y_mm = power_row_y_mm(sheet, pen->field, bar->row_name);
    draw_layer(list, LAYER_TAG);
    if (bar->inner) {
        double above_mm = y_mm - POWER_ROW_MM;
        double room_mm = name_room_mm(block, bar, pen->power->measure.width_mm);
        draw_name(pen, name_x_mm, above_mm - 0.3, bus->name, room_mm);
        double used_mm = draw_values(pen, bus, name_x_mm, above_mm + 4.6, room_mm, true);
        draw_stubs_of(pen, bar->bus, name_x_mm + used_mm + 2.0, above_mm + 4.6,
                      room_mm - used_mm - 2.0);
        return;
    }
    double room_mm = name_room_mm(block, bar, pen->power->measure.width_mm) + 0.5;
    double name_mm = draw_name(pen, x_mm + 2.5, y_mm - 0.5, bus->name,
                               power_narrower(room_mm, pen->power->measure.tail_mm * 0.6));
    draw_values(pen, bus, x_mm + 2.5 + name_mm + 2.5, y_mm - 0.5, room_mm - name_mm - 2.5, false);
    SheetPlace place = pen->power->load_place[bar->bus];
    double place_mm = 0.0;
    if (place.sheet != ID_NONE) {
        place_mm = draw_place(pen, x_mm + 2.5, y_mm + POWER_NOTE_DOWN_MM, room_mm,
                              loads_words(pen, bar->bus), place);
    }
    place_mm += place_mm > 0.0 ? 1.6 : 0.0;
    mark(pen, x_mm + 2.5 + place_mm, y_mm + POWER_NOTE_DOWN_MM, bus->mark);
    place_mm += power_mark_mm(pen->plan, bus->mark);
    draw_stubs_of(pen, bar->bus, x_mm + 2.5 + place_mm + 2.0, y_mm + POWER_NOTE_DOWN_MM,
                  room_mm - place_mm - 2.0);
}

static void draw_source(const Pen *pen, const PowerBranch *branch, double y_mm) {
    DrawList *list = pen->list;
    const PowerSource *source = &pen->power->facts.sources[branch->source];
    double end_mm = pen->field.left_mm + pen->power->measure.source_mm;
    double symbol = symbol_width_mm(source->symbol);
    double x_mm = pen->field.left_mm + 1.0;
    double room_mm = end_mm - symbol - x_mm - 1.4;
    draw_row(list, source->table, source->key);
    symbol_draw(list, source->symbol, end_mm - symbol, y_mm, false);
    draw_layer(list, branch->source_again ? LAYER_REFERENCE : LAYER_TAG);
    draw_name(pen, x_mm, y_mm - 0.9, source->tag, room_mm);
    draw_layer(list, LAYER_NOTE);
    fit(pen, x_mm, y_mm + 4.2, POWER_VALUE, source->rating, room_mm);
    fit(pen, x_mm, y_mm + 8.2, POWER_NOTE, source->solved, room_mm);
}

/* A piece of a bus that stands elsewhere. */
static void draw_stub(const Pen *pen, BusId bus, double x_mm, double y_mm) {
    DrawList *list = pen->list;
    double room_mm =
        power_narrower(pen->field.right_mm - x_mm - 3.0, pen->power->measure.tail_mm - 3.0);
    draw_row(list, TABLE_bus, pen->power->facts.buses[bus].name);
    draw_bar(pen, x_mm, y_mm - 4.0, y_mm + 4.0);
    draw_layer(list, LAYER_REFERENCE);
    fit(pen, x_mm + 2.5, y_mm - 0.5, POWER_VALUE,
        arena_format(list->arena, "to %s", pen->power->facts.buses[bus].name), room_mm);
    draw_place(pen, x_mm + 2.5, y_mm + POWER_NOTE_DOWN_MM, room_mm, "", pen->power->bar_place[bus]);
}

static void draw_line_row(Pen *pen, const PowerSheet *sheet, const PowerBlock *block,
                          const PowerLine *line) {
    const PowerMeasure *m = &pen->power->measure;
    double y_mm = power_row_y_mm(sheet, pen->field, line->row);
    double left_mm = pen->field.left_mm;
    double from_mm = left_mm + m->source_mm;
    if (line->bar_from != ID_NONE) {
        from_mm = left_mm + block->bars[line->bar_from].x_mm;
    }
    if (line->end == POWER_END_MORE) {
        BusId bus = block->bars[line->bar_from].bus;
        draw_row(pen->list, TABLE_bus, pen->power->facts.buses[bus].name);
        wire(pen, from_mm, from_mm + 6.0, y_mm);
        draw_place(pen, from_mm + 7.5, y_mm + STYLE_NOTE_MM / 2.0, m->tail_mm,
                   loads_words(pen, bus), pen->power->load_place[bus]);
        return;
    }
    const PowerBranch *branch = &pen->power->facts.branches[line->branch];
    /* A stub keeps room for its name. */
    double to_mm = power_narrower(from_mm + branch->width_mm, pen->field.right_mm - POWER_STUB_MM);
    if (line->end == POWER_END_BAR) {
        to_mm = left_mm + block->bars[line->bar_to].x_mm;
    }
    if (line->bar_from == ID_NONE) {
        draw_source(pen, branch, y_mm);
    }
    draw_branch(pen, branch, from_mm, to_mm, y_mm);
    if (line->end == POWER_END_LOAD) {
        draw_load(pen, branch, to_mm, y_mm, pen->field.right_mm);
    } else if (line->end == POWER_END_STUB) {
        draw_stub(pen, branch->to, to_mm, y_mm);
    }
}

/* Room of the words at a cut: to the next bar that is cut there as well. */
static double going_room_mm(const Pen *pen, const PowerBlock *block, const PowerBar *bar,
                            int32_t first, int32_t end) {
    double room_mm = pen->power->measure.width_mm - bar->x_mm - 2.0;
    for (size_t i = 0; i < block->bar_count; i++) {
        const PowerBar *other = &block->bars[i];
        bool cut = other->row_first < first || other->row_last >= end;
        if (cut && other->row_last >= first && other->row_first < end && other->x_mm > bar->x_mm &&
            other->x_mm - bar->x_mm - 2.0 < room_mm) {
            room_mm = other->x_mm - bar->x_mm - 2.0;
        }
    }
    return room_mm;
}

/* Bars of one sheet, with a word where they go on. */
static void draw_bars(const Pen *pen, const PowerSheet *sheet, const PowerBlock *block,
                      int32_t first) {
    const PowerSheet *sheets = pen->power->sheets;
    for (size_t i = 0; i < block->bar_count; i++) {
        const PowerBar *bar = &block->bars[i];
        if (bar->row_last < first || bar->row_first >= sheet->row_end) {
            continue;
        }
        bool before = bar->row_first < first;
        bool after = bar->row_last >= sheet->row_end;
        double x_mm = pen->field.left_mm + bar->x_mm;
        int32_t top = before ? first : bar->row_first;
        int32_t bottom = after ? sheet->row_end - 1 : bar->row_last;
        draw_row(pen->list, TABLE_bus, pen->power->facts.buses[bar->bus].name);
        draw_bar(pen, x_mm, power_row_y_mm(sheet, pen->field, top) - 4.5,
                 power_row_y_mm(sheet, pen->field, bottom) + 4.5);
        const char *name = pen->power->facts.buses[bar->bus].name;
        double room_mm = going_room_mm(pen, block, bar, first, sheet->row_end);
        if (before) {
            SheetPlace from = {sheets[sheet - sheets - 1].sheet, {x_mm, pen->field.bottom_mm}};
            draw_place(pen, x_mm - POWER_BAR_MM / 2.0, power_row_y_mm(sheet, pen->field, top) - 7.0,
                       room_mm, arena_format(pen->list->arena, "%s from", name), from);
        }
        if (after) {
            SheetPlace to = {sheets[sheet - sheets + 1].sheet, {x_mm, pen->field.top_mm}};
            draw_place(pen, x_mm - POWER_BAR_MM / 2.0,
                       power_row_y_mm(sheet, pen->field, bottom) + 9.0, room_mm,
                       arena_format(pen->list->arena, "%s to", name), to);
        }
        if (bar->row_name >= first && bar->row_name < sheet->row_end) {
            draw_bus_name(pen, sheet, block, bar);
        }
    }
}

static void draw_idle_item(const Pen *pen, uint32_t index, double x_mm, double y_mm,
                           double right_mm) {
    DrawList *list = pen->list;
    const PowerFacts *facts = &pen->power->facts;
    if (index >= facts->idle_count) {
        const PowerSource *source = &facts->sources[facts->loose[index - facts->idle_count]];
        draw_row(list, source->table, source->key);
        symbol_draw(list, SYMBOL_BATTERY, x_mm, y_mm, false);
        draw_layer(list, LAYER_TAG);
        fit(pen, x_mm + 12.0, y_mm - 0.5, POWER_VALUE, source->tag, right_mm - x_mm - 12.0);
        draw_layer(list, LAYER_NOTE);
        fit(pen, x_mm + 12.0, y_mm + POWER_NOTE_DOWN_MM, POWER_NOTE, "source that feeds no bus",
            right_mm - x_mm - 12.0);
        return;
    }
    const PowerIdle *idle = &facts->idle[index];
    draw_slot(pen, &idle->slot, x_mm, y_mm, idle->slot.width_mm);
    double what_x_mm = x_mm + idle->slot.width_mm + 1.5;
    draw_row(list, idle->slot.table, idle->slot.key);
    draw_layer(list, LAYER_NOTE);
    fit(pen, what_x_mm, y_mm + STYLE_NOTE_MM / 2.0, POWER_NOTE, idle->what, right_mm - what_x_mm);
}

/* A row of those, in as many columns as the page has room for. */
static void draw_idle_row(const Pen *pen, uint32_t row, double y_mm) {
    uint32_t columns = power_idle_columns(pen->power);
    uint32_t count = (uint32_t)(pen->power->facts.idle_count + pen->power->facts.loose_count);
    double step_mm = (pen->field.right_mm - pen->field.left_mm) / columns;
    for (uint32_t i = row * columns; i < count && i < (row + 1) * columns; i++) {
        double x_mm = pen->field.left_mm + 1.0 + (i % columns) * step_mm;
        draw_idle_item(pen, i, x_mm, y_mm, x_mm + step_mm - 4.0);
    }
}

static void draw_idle_below(const Pen *pen, const PowerSheet *sheet) {
    draw_row(pen->list, TABLE_COUNT, "");
    draw_layer(pen->list, LAYER_NOTE);
    draw_text(pen->list, pen->field.left_mm + 1.0,
              power_row_y_mm(sheet, pen->field, sheet->row_end) + 2.0, POWER_STRONG,
              "Not on the way of any supply");
    for (int32_t row = 0; row < power_idle_rows(pen->power) - 1; row++) {
        draw_idle_row(pen, (uint32_t)row,
                      power_row_y_mm(sheet, pen->field, sheet->row_end + 1 + row));
    }
}

static void draw_buses(Pen *pen, const PowerSheet *sheet) {
    const PowerBlock *block = &pen->power->layout.blocks[sheet->block];
    int32_t first = block->rows > (int32_t)pen->power->measure.page_rows ? sheet->row_first + 1
                                                                         : sheet->row_first;
    for (size_t i = 0; i < block->line_count; i++) {
        const PowerLine *line = &block->lines[i];
        if (line->row >= first && line->row < sheet->row_end) {
            draw_line_row(pen, sheet, block, line);
        } else {
            pen->chain_x_mm = 0.0;
        }
    }
    draw_bars(pen, sheet, block, first);
    if (sheet->idle) {
        draw_idle_below(pen, sheet);
    }
}

/* --- drawing loads ------------------------------------------------------------------------------
 */

static const char *fed_words(const Pen *pen, BusId bus) {
    const PowerFacts *facts = &pen->power->facts;
    if (facts->parent[bus] != ID_NONE) {
        BusId from = facts->branches[facts->parent[bus]].from;
        return arena_format(pen->list->arena, "fed from %s,", facts->buses[from].name);
    }
    return facts->inward.first[bus] < facts->inward.first[bus + 1] ? "fed from its sources,"
                                                                   : "bar on";
}

static void draw_segment_head(const Pen *pen, const PowerSegment *segment, double x_mm,
                              double top_mm, double room_mm) {
    DrawList *list = pen->list;
    const PowerFacts *facts = &pen->power->facts;
    draw_layer(list, LAYER_TAG);
    if (segment->bus >= facts->bus_count) {
        draw_row(list, TABLE_COUNT, "");
        fit(pen, x_mm, top_mm + 5.5, POWER_STRONG,
            segment->bus == ID_NONE ? "Not on the way of any supply" : "Loads that no bus reaches",
            room_mm);
        return;
    }
    const PowerBus *bus = &facts->buses[segment->bus];
    draw_row(list, TABLE_bus, bus->name);
    const char *name =
        segment->goes_on ? arena_format(list->arena, "%s, continued", bus->name) : bus->name;
    double name_mm = draw_name(pen, x_mm, top_mm + 6.0, name, room_mm * 0.5);
    draw_values(pen, bus, x_mm + name_mm + 3.0, top_mm + 6.0, room_mm - name_mm - 3.0, true);
    draw_place(pen, x_mm, top_mm + 10.5, room_mm, fed_words(pen, segment->bus),
               pen->power->bar_place[segment->bus]);
}

static void draw_segment(Pen *pen, const PowerSheet *sheet, const PowerSegment *segment) {
    const PowerFacts *facts = &pen->power->facts;
    double left_mm =
        pen->field.left_mm + 1.0 + segment->column * (pen->power->column_mm + POWER_GAP_MM);
    double room_mm = segment->wide ? pen->power->measure.width_mm - 1.0 : pen->power->column_mm;
    double right_mm = left_mm + room_mm - 1.0;
    double top_mm = pen->field.top_mm + POWER_HEAD_MM + segment->top_mm;
    double row_mm = sheet->row_mm;
    double x_mm = left_mm + POWER_BAR_MM / 2.0;
    draw_segment_head(pen, segment, left_mm, top_mm, room_mm);
    top_mm += POWER_SEGMENT_MM;
    if (segment->bus < facts->bus_count) {
        draw_bar(pen, x_mm, top_mm - 0.5, top_mm + segment->count * row_mm - 1.0);
    }
    pen->chain_x_mm = 0.0;
    for (uint32_t i = 0; i < segment->count; i++) {
        double y_mm = top_mm + (i + 0.5) * row_mm;
        if (segment->bus == ID_NONE) {
            draw_idle_row(pen, segment->first + i, y_mm);
            continue;
        }
        const PowerBranch *branch = &facts->branches[facts->loads.rows[segment->first + i]];
        double to_mm = power_narrower(x_mm + branch->width_mm, right_mm - branch->need_mm);
        draw_branch(pen, branch, x_mm, to_mm, y_mm);
        draw_load(pen, branch, to_mm, y_mm, right_mm);
    }
}

/* --- the whole sheet ----------------------------------------------------------------------------
 */

static void draw_head(const Pen *pen) {
    double width_mm = pen->power->measure.width_mm - 2.0;
    draw_row(pen->list, TABLE_COUNT, "");
    draw_layer(pen->list, LAYER_NOTE);
    fit(pen, pen->field.left_mm + 1.0, pen->field.top_mm + 5.0, POWER_STRONG,
        pen->power->facts.title, width_mm);
    draw_text_fit(
        pen->list, pen->field.left_mm + 1.0, pen->field.top_mm + 9.6, POWER_NOTE,
        "Figures, and the word beside a contact, are those of this phase; contacts are drawn "
        "at rest, breakers pulled. At a bus: its voltage and what leaves it.",
        width_mm);
}

static void draw_legend(const Pen *pen, bool of_loads) {
    const PowerFacts *facts = &pen->power->facts;
    if (facts->situation_count == 0) {
        return;
    }
    DrawList *list = pen->list;
    if (of_loads) {
        SheetPlace first = {pen->power->sheets[0].sheet,
                            {pen->field.left_mm, pen->field.bottom_mm}};
        draw_layer(list, LAYER_NOTE);
        draw_place(pen, pen->field.left_mm + 1.0, pen->field.bottom_mm - 2.0,
                   pen->power->measure.width_mm - 2.0,
                   "Letters in boxes are shed groups, explained on", first);
        return;
    }
    double y_mm = pen->field.bottom_mm - pen->power->legend_mm + POWER_LEGEND_MM;
    double left_mm = pen->field.left_mm + 1.0;
    draw_row(list, TABLE_COUNT, "");
    draw_layer(list, LAYER_NOTE);
    fit(pen, left_mm, y_mm, POWER_NOTE,
        "Shed groups: a letter in a box is put off or opened by the pilot in that "
        "situation (with \"on\": put on); at a bus: it loses its supply by that.",
        pen->power->measure.width_mm - 2.0);
    for (size_t i = 0; i < facts->situation_count; i++) {
        y_mm += POWER_LEGEND_MM;
        if (i == 7 && facts->situation_count > 8) {
            draw_text(list, left_mm, y_mm, POWER_NOTE,
                      arena_format(list->arena, "and %zu more situations of the job",
                                   facts->situation_count - 7));
            break;
        }
        const PowerSituation *situation = &facts->situations[i];
        draw_text(list, left_mm, y_mm, (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .bold = true},
                  situation->letter);
        fit(pen, left_mm + 8.0, y_mm, POWER_NOTE, situation->text,
            pen->power->measure.width_mm - 10.0);
    }
}

void power_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    const Power *power = plan->kept[SHEET_POWER];
    const PowerSheet *what = &power->sheets[sheet->index];
    Pen pen = {.plan = plan, .power = power, .list = list, .field = field};
    draw_head(&pen);
    draw_legend(&pen, what->of_loads);
    if (!what->of_loads) {
        draw_buses(&pen, what);
    } else {
        for (uint32_t i = 0; i < what->segment_count; i++) {
            draw_segment(&pen, what, &power->segments[what->segment_first + i]);
        }
    }
    draw_row(list, TABLE_COUNT, "");
}
