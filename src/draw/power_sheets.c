/* Texts set the widths; widths set where bars stand and how many columns of loads a page has. What
 * is cut into sheets here is only drawn in power_line.c. */
#include "draw/power_sheets.h"

#include <math.h>
#include <string.h>

#include "base/text.h"

/* --- measuring ----------------------------------------------------------------------------------
 */

static double slot_text_mm(const SheetPlan *plan, const PowerSlot *slot) {
    return power_wider(power_text_mm(plan, POWER_VALUE, slot->tag),
                       power_text_mm(plan, POWER_NOTE, slot->note) +
                           power_mark_mm(plan, slot->mark));
}

static double slot_mm(const SheetPlan *plan, const PowerSlot *slot) {
    return power_narrower(power_wider(18.0, power_symbol_mm(slot) + slot_text_mm(plan, slot) + 3.7),
                          44.0);
}

#define STEPS_MOST 6 /* devices in line that are aligned; a longer way goes on unaligned */

/* Widths that all branches of a list share. */
typedef struct Steps {
    double step_mm[STEPS_MOST];
    double wire_mm; /* current and gauge */
    double tag_mm;  /* of loads */
} Steps;

static void widen_steps(const SheetPlan *plan, const PowerFacts *facts, const PowerBranch *branch,
                        Steps *steps) {
    uint32_t step = 0;
    if (*branch->giver != '\0') {
        steps->step_mm[0] = power_wider(
            steps->step_mm[0],
            power_narrower(power_text_mm(plan, POWER_VALUE, branch->giver), 30.0) + 8.0);
        step = 1;
    }
    for (uint32_t k = 0; k < branch->slot_count && step < STEPS_MOST; k++, step++) {
        steps->step_mm[step] =
            power_wider(steps->step_mm[step], slot_mm(plan, &facts->slots[branch->slot_first + k]));
    }
    double wire_mm = power_wider(power_text_mm(plan, POWER_VALUE, branch->amps),
                                 power_text_mm(plan, POWER_NOTE, branch->gauge));
    steps->wire_mm = power_wider(steps->wire_mm, power_narrower(wire_mm, 32.0));
    steps->tag_mm = power_wider(
        steps->tag_mm, power_narrower(power_text_mm(plan, POWER_STRONG, branch->tag), 45.0));
}

static void set_steps(const SheetPlan *plan, PowerFacts *facts, PowerBranch *branch,
                      const Steps *steps) {
    double at_mm = 2.5;
    uint32_t step = 0;
    if (*branch->giver != '\0') {
        at_mm += steps->step_mm[step++];
    }
    for (uint32_t k = 0; k < branch->slot_count; k++) {
        PowerSlot *slot = &facts->slots[branch->slot_first + k];
        slot->at_mm = at_mm;
        slot->width_mm = step < STEPS_MOST ? steps->step_mm[step++] : slot_mm(plan, slot);
        at_mm += slot->width_mm;
    }
    branch->width_mm =
        at_mm + steps->wire_mm + (branch->to == ID_NONE ? POWER_LOAD_ENDS_MM : POWER_BAR_ENDS_MM);
}

/* A second feed of a bus has far to go: it takes no more room than its own devices need. */
static bool is_second(const PowerFacts *facts, uint32_t row) {
    const PowerBranch *branch = &facts->branches[row];
    return branch->to != ID_NONE && branch->from != ID_NONE && facts->parent[branch->to] != row;
}

/* Devices at the same steps on all branches of a list, then current and gauge; loads in one line.
 */
static void measure_list(const SheetPlan *plan, PowerFacts *facts, const uint32_t *rows,
                         size_t count) {
    const Steps least = {.wire_mm = 12.0, .tag_mm = 12.0};
    Steps shared = least;
    for (size_t i = 0; i < count; i++) {
        if (!is_second(facts, rows[i])) {
            widen_steps(plan, facts, &facts->branches[rows[i]], &shared);
        }
    }
    double widest_mm = 0.0;
    for (size_t i = 0; i < count; i++) {
        PowerBranch *branch = &facts->branches[rows[i]];
        Steps own = least;
        widen_steps(plan, facts, branch, &own);
        set_steps(plan, facts, branch, is_second(facts, rows[i]) ? &own : &shared);
        widest_mm = power_wider(widest_mm, branch->width_mm);
    }
    for (size_t i = 0; i < count && facts->branches[rows[i]].to == ID_NONE; i++) {
        PowerBranch *branch = &facts->branches[rows[i]];
        branch->width_mm = widest_mm;
        branch->tag_mm = shared.tag_mm;
        branch->need_mm = shared.tag_mm + 4.0 + power_text_mm(plan, POWER_VALUE, branch->state) +
                          (*branch->mark == '\0' ? 0.0 : 2.0 + power_mark_mm(plan, branch->mark));
        branch->text_mm =
            power_wider(branch->need_mm, 2.0 + power_text_mm(plan, POWER_NOTE, branch->role));
    }
}

static void measure_branches(const SheetPlan *plan, PowerFacts *facts) {
    for (BusId bus = 0; bus <= facts->bus_count; bus++) {
        const PowerList *lists[] = {&facts->loads, &facts->onward, &facts->inward};
        for (size_t k = 0; k < 3; k++) {
            uint32_t first = lists[k]->first[bus];
            measure_list(plan, facts, lists[k]->rows + first, lists[k]->first[bus + 1] - first);
        }
    }
    for (size_t i = 0; i < facts->idle_count; i++) {
        facts->idle[i].slot.width_mm = 0.0;
        for (size_t j = 0; i == 0 && j < facts->idle_count; j++) {
            facts->idle[0].slot.width_mm =
                power_wider(facts->idle[0].slot.width_mm, slot_mm(plan, &facts->idle[j].slot));
        }
        facts->idle[i].slot.width_mm = facts->idle[0].slot.width_mm;
    }
}

/* Texts set the widths, up to what a sensible tag needs; longer ones are shortened. */
static void measure(const SheetPlan *plan, Power *power, DrawBox field) {
    const PowerFacts *facts = &power->facts;
    double source_mm = 20.0;
    double tail_mm = 30.0;
    measure_branches(plan, &power->facts);
    for (size_t i = 0; i < facts->source_count; i++) {
        const PowerSource *source = &facts->sources[i];
        double text = power_wider(power_text_mm(plan, POWER_NAME, source->tag),
                                  power_wider(power_text_mm(plan, POWER_VALUE, source->rating),
                                              power_text_mm(plan, POWER_NOTE, source->solved)));
        source_mm = power_wider(source_mm, text + symbol_width_mm(source->symbol) + 2.5);
    }
    for (BusId bus = 0; bus < facts->bus_count; bus++) {
        const PowerBus *at = &facts->buses[bus];
        double values = power_text_mm(plan, POWER_VALUE, at->volts) + 2.5 +
                        power_text_mm(plan, POWER_VALUE, at->amps);
        tail_mm = power_wider(tail_mm, 5.5 + power_text_mm(plan, POWER_NAME, at->name) + values);
    }
    double width_mm = field.right_mm - field.left_mm;
    power->measure = (PowerMeasure){
        .width_mm = width_mm,
        .source_mm = power_narrower(source_mm, 60.0),
        .tail_mm = power_narrower(tail_mm, 0.26 * width_mm),
    };
    double legend_mm =
        facts->situation_count == 0
            ? 0.0
            : 3.0 + POWER_LEGEND_MM *
                        (double)(1 + (facts->situation_count < 8 ? facts->situation_count : 8));
    power->legend_mm = legend_mm;
    double high_mm = field.bottom_mm - field.top_mm - POWER_HEAD_MM - legend_mm - 2.0;
    power->measure.page_rows = (uint32_t)power_wider(4.0, floor(high_mm / POWER_ROW_MM));
}

/* --- sheets of buses ----------------------------------------------------------------------------
 */

static double field_mm(const Power *power, DrawBox field, bool of_loads) {
    double legend_mm =
        of_loads && power->legend_mm > 0.0 ? POWER_LEGEND_MM + 2.0 : power->legend_mm;
    return field.bottom_mm - field.top_mm - POWER_HEAD_MM - legend_mm - 2.0;
}

static double spread_mm(double high, int32_t rows) {
    double row_mm = floor(2.0 * high / power_wider(1.0, (double)rows)) / 2.0;
    return power_narrower(POWER_ROW_MOST_MM, power_wider(POWER_ROW_MM, row_mm));
}

static PowerSheet *add_sheet(SheetPlan *plan, Power *power, const char *what) {
    PowerSheet *sheet =
        ARENA_PUSH(plan->arena, power->sheets, power->sheet_count, power->sheet_capacity);
    *sheet = (PowerSheet){0};
    uint32_t index = (uint32_t)power->sheet_count - 1;
    const char *name = arena_format(plan->arena, "power-%u", index + 1);
    const char *title = arena_format(plan->arena, "Power: %s", what);
    sheet->sheet = sheet_add(plan, SHEET_POWER, index, "Power diagram", name, title, "diagram");
    return sheet;
}

static void plan_block(SheetPlan *plan, Power *power, DrawBox field, uint32_t index, bool *idle) {
    const PowerBlock *block = &power->layout.blocks[index];
    int32_t page = (int32_t)power->measure.page_rows;
    bool cut = block->rows > page;
    int32_t step = cut ? page - 2 : block->rows;
    for (int32_t row = 0; row < block->rows; row += step) {
        PowerSheet *sheet = add_sheet(plan, power, "sources and buses");
        sheet->block = index;
        sheet->row_first = cut ? row - 1 : row; /* a row for the names of bars that go on */
        sheet->row_end = row + step < block->rows ? row + step : block->rows;
        int32_t rows = cut ? page : block->rows;
        if (!cut && *idle && block->rows + power_idle_rows(power) <= page) {
            sheet->idle = true;
            *idle = false;
            rows += power_idle_rows(power);
        }
        sheet->row_mm = spread_mm(field_mm(power, field, false), rows);
        for (size_t i = 0; i < block->line_count; i++) {
            const PowerLine *line = &block->lines[i];
            if (line->end == POWER_END_STUB && line->row >= row && line->row < row + step) {
                const PowerFacts *facts = &power->facts;
                const PowerBranch *branch = &facts->branches[line->branch];
                double x_mm = line->bar_from == ID_NONE ? 0.0 : block->bars[line->bar_from].x_mm;
                *ARENA_PUSH(plan->arena, power->stubs, power->stub_count, power->stub_capacity) =
                    (PowerStubPlace){
                        branch->to,
                        branch->from == ID_NONE ? facts->sources[branch->source].tag
                                                : facts->buses[branch->from].name,
                        {sheet->sheet,
                         {field.left_mm + x_mm, power_row_y_mm(sheet, field, line->row)}}};
            }
        }
        for (size_t i = 0; i < block->bar_count; i++) {
            const PowerBar *bar = &block->bars[i];
            if (bar->row_first >= row && bar->row_first < row + step) {
                power->bar_place[bar->bus] = (SheetPlace){
                    sheet->sheet,
                    {field.left_mm + bar->x_mm, power_row_y_mm(sheet, field, bar->row_first)}};
            }
        }
    }
}

/* By bus, stable. */
static void sort_stubs(const SheetPlan *plan, Power *power) {
    uint32_t *first = ARENA_ARRAY(plan->arena, uint32_t, power->facts.bus_count + 2);
    for (size_t i = 0; i < power->stub_count; i++) {
        first[power->stubs[i].to + 1]++;
    }
    for (BusId bus = 0; bus < power->facts.bus_count; bus++) {
        first[bus + 1] += first[bus];
    }
    PowerStubPlace *sorted = ARENA_ARRAY(plan->arena, PowerStubPlace, power->stub_count + 1);
    uint32_t *next = ARENA_ARRAY(plan->arena, uint32_t, power->facts.bus_count + 1);
    for (size_t i = 0; i < power->stub_count; i++) {
        BusId to = power->stubs[i].to;
        sorted[first[to] + next[to]++] = power->stubs[i];
    }
    power->stubs = sorted;
    power->stub_first = first;
}

/* --- sheets of loads ----------------------------------------------------------------------------
 */

/* How sheets of loads are filled. */
typedef struct Fill {
    double row_mm;
    double even_mm;      /* height of the columns of the later pages */
    uint32_t full_pages; /* pages before, filled to the foot */
} Fill;

#define FILL_PAGES 12 /* most pages that are filled with care */

typedef struct Pour {
    Power *power;
    SheetPlan *plan; /* NULL: only counting */
    DrawBox field;
    double row_mm;
    double even_mm; /* height of columns */
    double full_mm; /* of the page, and of columns on the first `full_pages` pages */
    uint32_t full_pages;
    double at_mm;
    double lowest_mm; /* where the columns of the page end */
    uint32_t column;
    uint32_t pages;
} Pour;

static void pour_page(Pour *pour) {
    pour->at_mm = 0.0;
    pour->lowest_mm = 0.0;
    pour->column = 0;
    pour->pages++;
    if (pour->plan != NULL) {
        PowerSheet *sheet = add_sheet(pour->plan, pour->power, "buses with their loads");
        sheet->of_loads = true;
        sheet->row_mm = pour->row_mm;
        sheet->segment_first = (uint32_t)pour->power->segment_count;
    }
}

static void pour_column(Pour *pour, bool wide) {
    if (wide || pour->pages == 0 || pour->column + 1 >= pour->power->columns) {
        pour_page(pour);
    } else {
        pour->column++;
        pour->at_mm = 0.0;
    }
}

static void keep_segment(Pour *pour, PowerSegment segment) {
    Power *power = pour->power;
    PowerSheet *sheet = &power->sheets[power->sheet_count - 1];
    *ARENA_PUSH(pour->plan->arena, power->segments, power->segment_count, power->segment_capacity) =
        segment;
    sheet->segment_count++;
    if (!segment.goes_on && segment.bus != ID_NONE) {
        double x_mm = pour->field.left_mm + segment.column * (power->column_mm + POWER_GAP_MM);
        power->load_place[segment.bus] =
            (SheetPlace){sheet->sheet, {x_mm, pour->field.top_mm + POWER_HEAD_MM + segment.top_mm}};
    }
}

static double column_high_mm(const Pour *pour, bool wide) {
    return wide || pour->pages <= pour->full_pages ? pour->full_mm : pour->even_mm;
}

/* A list goes into columns, or below them over the whole width. It is parted only where at least
 * three rows stay together. */
static void pour_list(Pour *pour, BusId bus, uint32_t first, uint32_t count, bool wide) {
    bool goes_on = false;
    if (wide && pour->pages > 0) {
        pour->at_mm = pour->lowest_mm;
        pour->column = 0;
    }
    while (count > 0) {
        uint32_t least = count < 3 ? count : 3;
        double left_mm = column_high_mm(pour, wide) - pour->at_mm - POWER_SEGMENT_MM;
        if (pour->pages == 0 || left_mm < (double)least * pour->row_mm) {
            pour_column(pour, wide);
            left_mm = column_high_mm(pour, wide) - POWER_SEGMENT_MM;
        }
        uint32_t room = (uint32_t)power_wider(1.0, floor(left_mm / pour->row_mm));
        uint32_t here = count < room ? count : room;
        if (pour->plan != NULL) {
            keep_segment(
                pour, (PowerSegment){bus, first, here, pour->column, pour->at_mm, wide, goes_on});
        }
        pour->at_mm += POWER_SEGMENT_MM + here * pour->row_mm + 2.0;
        pour->lowest_mm = power_wider(pour->lowest_mm, pour->at_mm);
        first += here;
        count -= here;
        goes_on = true;
    }
}

/* Room that the loads of a bus need. */
static double need_mm(const Power *power, BusId bus) {
    const PowerFacts *facts = &power->facts;
    double widest_mm = 0.0;
    for (uint32_t i = facts->loads.first[bus]; i < facts->loads.first[bus + 1]; i++) {
        const PowerBranch *branch = &facts->branches[facts->loads.rows[i]];
        widest_mm = power_wider(widest_mm, branch->width_mm + branch->need_mm);
    }
    return widest_mm + 2.0 * POWER_BAR_MM;
}

static double column_mm(const Power *power, uint32_t columns) {
    return (power->measure.width_mm + POWER_GAP_MM) / columns - POWER_GAP_MM;
}

/* All loads that stand apart: narrow ones in columns, wide ones below; then the devices that no
 * feed passes when `idle`. Returns the pages. */
static uint32_t pour_all(Power *power, SheetPlan *plan, DrawBox field, const Fill *fill,
                         bool idle) {
    Pour pour = {
        .power = power,
        .plan = plan,
        .field = field,
        .row_mm = fill->row_mm,
        .even_mm = fill->even_mm,
        .full_pages = fill->full_pages,
        .full_mm = field_mm(power, field, true),
    };
    const PowerList *loads = &power->facts.loads;
    for (int wide = 0; wide < 2; wide++) {
        for (BusId bus = 0; bus <= power->facts.bus_count; bus++) {
            if (power->layout.loads_apart[bus] && power->wide[bus] == (wide == 1)) {
                pour_list(&pour, bus, loads->first[bus], loads->first[bus + 1] - loads->first[bus],
                          wide == 1);
            }
        }
    }
    if (idle) {
        pour_list(&pour, ID_NONE, 0, (uint32_t)power_idle_rows(power) - 1, true);
    }
    return pour.pages;
}

/* The fewest pages, and of the ways to fill them the one whose last columns end at about the same
 * height. Of many pages the last one matters little. */
static uint32_t best_fill(Power *power, DrawBox field, bool idle, Fill *fill) {
    double high_mm = field_mm(power, field, true);
    fill->even_mm = high_mm;
    fill->full_pages = 0;
    uint32_t pages = pour_all(power, NULL, field, fill, idle);
    if (pages > FILL_PAGES) {
        return pages;
    }
    Fill best = *fill;
    uint32_t best_pages = pages;
    for (uint32_t full = pages; full-- > 0;) {
        for (int step = 0; high_mm - 2.0 * step > 30.0; step++) {
            double even_mm = high_mm - 2.0 * step;
            Fill now = {fill->row_mm, even_mm, full};
            pages = pour_all(power, NULL, field, &now, idle);
            if (pages < best_pages || (pages == best_pages && full == best.full_pages)) {
                best = now;
                best_pages = pages;
            } else if (pages == best_pages && full + 1 == best_pages &&
                       best.full_pages + 1 != best_pages) {
                best = now;
            }
        }
    }
    *fill = best;
    return best_pages;
}

/* The number of columns, of three at most, that takes the fewest pages; of equals the smallest. */
static void pick_columns(Power *power, DrawBox field, bool idle) {
    uint32_t buses = power->facts.bus_count;
    double *needs_mm = power->needs_mm;
    for (BusId bus = 0; bus <= buses; bus++) {
        needs_mm[bus] = need_mm(power, bus);
    }
    uint32_t best = 0;
    uint32_t best_pages = UINT32_MAX;
    for (uint32_t columns = 1; columns <= 4; columns++) {
        power->columns = columns <= 3 ? columns : best; /* the last round takes the best again */
        power->column_mm = column_mm(power, power->columns);
        for (BusId bus = 0; bus <= buses; bus++) {
            power->wide[bus] = power->columns > 1 && needs_mm[bus] > power->column_mm;
        }
        if (columns == 4 || power->column_mm < 90.0) {
            continue;
        }
        Fill fill = {.row_mm = POWER_ROW_LOADS_MM};
        uint32_t pages = best_fill(power, field, idle, &fill);
        if (pages < best_pages) {
            best = columns;
            best_pages = pages;
        }
    }
}

static void plan_loads(SheetPlan *plan, Power *power, DrawBox field, bool idle) {
    power->wide = ARENA_ARRAY(plan->arena, bool, power->facts.bus_count + 1);
    power->needs_mm = ARENA_ARRAY(plan->arena, double, power->facts.bus_count + 1);
    pick_columns(power, field, idle);
    Fill fill = {.row_mm = POWER_ROW_LOADS_MM};
    uint32_t pages = best_fill(power, field, idle, &fill);
    for (int step = 1; POWER_ROW_LOADS_MM + 0.5 * step <= POWER_ROW_LOADS_MOST_MM; step++) {
        Fill wider_rows = {.row_mm = POWER_ROW_LOADS_MM + 0.5 * step};
        if (best_fill(power, field, idle, &wider_rows) <= pages) {
            fill = wider_rows;
        }
    }
    if (pages > 0) {
        pour_all(power, plan, field, &fill, idle);
    }
}

/* What each sheet shows, so that bookmarks tell sheets apart. */
static void name_sheets(SheetPlan *plan, const Power *power) {
    size_t of_buses = 0;
    for (size_t i = 0; i < power->sheet_count; i++) {
        of_buses += power->sheets[i].of_loads ? 0 : 1;
    }
    for (size_t i = 0; i < power->sheet_count; i++) {
        const PowerSheet *sheet = &power->sheets[i];
        Sheet *named = &plan->sheets[sheet->sheet];
        if (!sheet->of_loads) {
            if (of_buses > 1) {
                named->title = arena_format(plan->arena, "Power: buses, sheet %zu", i + 1);
            }
            continue;
        }
        Buffer title = {.arena = plan->arena};
        for (uint32_t k = 0; k < sheet->segment_count; k++) {
            BusId bus = power->segments[sheet->segment_first + k].bus;
            if (bus >= power->facts.bus_count ||
                (k > 0 && power->segments[sheet->segment_first + k].goes_on)) {
                continue;
            }
            const char *name = power->facts.buses[bus].name;
            if (title.length + strlen(name) > 34) {
                buffer_text(&title, " ...");
                break;
            }
            buffer_format(&title, title.length == 0 ? "Power: loads of %s" : ", %s", name);
        }
        if (title.length > 0) {
            named->title = title.bytes;
            named->begins = title.bytes;
        }
    }
}

void power_plan(SheetPlan *plan) {
    Power *power = ARENA_NEW(plan->arena, Power);
    plan->kept[SHEET_POWER] = power;
    power_facts(plan->arena, plan->view, &power->facts);
    uint32_t buses = power->facts.bus_count;
    power->bar_place = ARENA_ARRAY(plan->arena, SheetPlace, buses + 1);
    power->load_place = ARENA_ARRAY(plan->arena, SheetPlace, buses + 1);
    for (BusId bus = 0; bus <= buses; bus++) {
        power->bar_place[bus].sheet = ID_NONE;
        power->load_place[bus].sheet = ID_NONE;
    }
    if (!power->facts.has_buses) {
        return;
    }
    DrawBox field = sheet_field(plan->view->paper);
    measure(plan, power, field);
    power_layout(plan->arena, &power->facts, &power->measure, &power->layout);
    bool idle = power->facts.idle_count + power->facts.loose_count > 0;
    for (uint32_t i = 0; i < power->layout.block_count; i++) {
        plan_block(plan, power, field, i, &idle);
    }
    sort_stubs(plan, power);
    plan_loads(plan, power, field, idle);
    name_sheets(plan, power);
}
