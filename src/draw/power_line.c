/* Planning makes facts and layout and cuts both into sheets; drawing walks the rows of one sheet.
 * Every row has the same build: devices at fixed steps after the bar, then current over gauge, then
 * the load or the next bar, so that a column of rows reads as a table. */
#include "draw/power_line.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "draw/power_facts.h"
#include "draw/power_layout.h"

/* Heights, mm. A row: tag above the line, note below it, and air. */
#define ROW_MM 11.5
#define ROW_MOST_MM 17.5
#define ROW_LOADS_MM 11.0 /* the same on sheets of loads, where marks are rare */
#define ROW_LOADS_MOST_MM 14.5
#define TAG_UP_MM 2.0 /* clear of the foot of an underscore */
#define NOTE_DOWN_MM 3.8
#define HEAD_MM 13.0    /* phase and how to read it, at the top of every sheet */
#define SEGMENT_MM 13.0 /* name of a bus above its loads */
#define LEGEND_MM 4.4   /* a line of the legend */
#define BAR_MM 1.5
#define STUB_MM 22.0 /* from a stub to the edge */
#define GAP_MM 7.5   /* between columns of loads */
/* Bare wire beside current and gauge: before a bar; before a load, with a chain's tap and an arrow.
 */
#define BAR_ENDS_MM 4.0
#define LOAD_ENDS_MM 6.5

static const DrawTextStyle VALUE = {.height_mm = STYLE_VALUE_MM};
static const DrawTextStyle VALUE_RIGHT = {.height_mm = STYLE_VALUE_MM, .align = ALIGN_RIGHT};
static const DrawTextStyle STRONG = {.height_mm = STYLE_VALUE_MM, .bold = true};
static const DrawTextStyle NOTE = {.height_mm = STYLE_NOTE_MM};
static const DrawTextStyle NOTE_RIGHT = {.height_mm = STYLE_NOTE_MM, .align = ALIGN_RIGHT};
static const DrawTextStyle NAME = {.height_mm = STYLE_TAG_MM, .bold = true};

/* Loads of one bus in one column, or a list of devices. */
typedef struct Segment {
    BusId bus;      /* bus_count: loads without a bus; ID_NONE: devices no feed passes */
    uint32_t first; /* into facts.loads.rows, or into facts.idle */
    uint32_t count;
    uint32_t column;
    double top_mm; /* in the field, below the head */
    bool wide;     /* takes all columns */
    bool goes_on;  /* it began in a column before */
} Segment;

typedef struct PowerSheet {
    uint32_t sheet; /* into plan->sheets */
    bool of_loads;
    uint32_t block; /* of buses: which rows of which drawing */
    int32_t row_first;
    int32_t row_end;
    bool idle;              /* devices no feed passes stand below it */
    uint32_t segment_first; /* of loads */
    uint32_t segment_count;
    double row_mm;
} PowerSheet;

/* Where a feed of a bus ends that could not be joined to its bar. */
typedef struct StubPlace {
    BusId to;
    const char *from;
    SheetPlace place;
} StubPlace;

typedef struct Power {
    PowerFacts facts;
    PowerMeasure measure;
    PowerLayout layout;
    PowerSheet *sheets;
    size_t sheet_count;
    size_t sheet_capacity;
    Segment *segments;
    size_t segment_count;
    size_t segment_capacity;
    uint32_t columns;
    double column_mm;
    double *needs_mm; /* by bus, and one more: room its loads need */
    bool *wide;       /* by bus, and one more: they take all columns */
    double legend_mm;
    StubPlace *stubs; /* by bus after sorting: stub_first[bus] .. stub_first[bus + 1] - 1 */
    size_t stub_count;
    size_t stub_capacity;
    uint32_t *stub_first;
    SheetPlace *bar_place;  /* by bus */
    SheetPlace *load_place; /* by bus, and one more: where its loads stand apart */
} Power;

/* --- measuring ----------------------------------------------------------------------------------
 */

static double wider(double a_mm, double b_mm) {
    return a_mm > b_mm ? a_mm : b_mm;
}

static double narrower(double a_mm, double b_mm) {
    return a_mm < b_mm ? a_mm : b_mm;
}

static double text_mm(const SheetPlan *plan, DrawTextStyle style, const char *text) {
    return fonts_width_mm(plan->fonts, text, style.height_mm, style.bold);
}

static double mark_mm(const SheetPlan *plan, const char *mark) {
    return *mark == '\0' ? 0.0 : text_mm(plan, NOTE, mark) + 3.4;
}

static double symbol_mm(const PowerSlot *slot) {
    return slot->symbol == SYMBOL_COUNT ? 10.0 : symbol_width_mm(slot->symbol);
}

static double slot_text_mm(const SheetPlan *plan, const PowerSlot *slot) {
    return wider(text_mm(plan, VALUE, slot->tag),
                 text_mm(plan, NOTE, slot->note) + mark_mm(plan, slot->mark));
}

static double slot_mm(const SheetPlan *plan, const PowerSlot *slot) {
    return narrower(wider(18.0, symbol_mm(slot) + slot_text_mm(plan, slot) + 3.7), 44.0);
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
        steps->step_mm[0] =
            wider(steps->step_mm[0], narrower(text_mm(plan, VALUE, branch->giver), 30.0) + 8.0);
        step = 1;
    }
    for (uint32_t k = 0; k < branch->slot_count && step < STEPS_MOST; k++, step++) {
        steps->step_mm[step] =
            wider(steps->step_mm[step], slot_mm(plan, &facts->slots[branch->slot_first + k]));
    }
    double wire_mm = wider(text_mm(plan, VALUE, branch->amps), text_mm(plan, NOTE, branch->gauge));
    steps->wire_mm = wider(steps->wire_mm, narrower(wire_mm, 32.0));
    steps->tag_mm = wider(steps->tag_mm, narrower(text_mm(plan, STRONG, branch->tag), 45.0));
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
        at_mm + steps->wire_mm + (branch->to == ID_NONE ? LOAD_ENDS_MM : BAR_ENDS_MM);
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
        widest_mm = wider(widest_mm, branch->width_mm);
    }
    for (size_t i = 0; i < count && facts->branches[rows[i]].to == ID_NONE; i++) {
        PowerBranch *branch = &facts->branches[rows[i]];
        branch->width_mm = widest_mm;
        branch->tag_mm = shared.tag_mm;
        branch->need_mm = shared.tag_mm + 4.0 + text_mm(plan, VALUE, branch->state) +
                          (*branch->mark == '\0' ? 0.0 : 2.0 + mark_mm(plan, branch->mark));
        branch->text_mm = wider(branch->need_mm, 2.0 + text_mm(plan, NOTE, branch->role));
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
                wider(facts->idle[0].slot.width_mm, slot_mm(plan, &facts->idle[j].slot));
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
        double text =
            wider(text_mm(plan, NAME, source->tag),
                  wider(text_mm(plan, VALUE, source->rating), text_mm(plan, NOTE, source->solved)));
        source_mm = wider(source_mm, text + symbol_width_mm(source->symbol) + 3.0);
    }
    for (BusId bus = 0; bus < facts->bus_count; bus++) {
        const PowerBus *at = &facts->buses[bus];
        double values = text_mm(plan, VALUE, at->volts) + 2.5 + text_mm(plan, VALUE, at->amps);
        tail_mm = wider(tail_mm, 5.5 + text_mm(plan, NAME, at->name) + values);
    }
    double width_mm = field.right_mm - field.left_mm;
    power->measure = (PowerMeasure){
        .width_mm = width_mm,
        .source_mm = narrower(source_mm, 60.0),
        .tail_mm = narrower(tail_mm, 0.26 * width_mm),
    };
    double legend_mm =
        facts->situation_count == 0
            ? 0.0
            : 3.0 + LEGEND_MM *
                        (double)(1 + (facts->situation_count < 8 ? facts->situation_count : 8));
    power->legend_mm = legend_mm;
    double high_mm = field.bottom_mm - field.top_mm - HEAD_MM - legend_mm - 2.0;
    power->measure.page_rows = (uint32_t)wider(4.0, floor(high_mm / ROW_MM));
}

/* --- sheets of buses ----------------------------------------------------------------------------
 */

static double field_mm(const Power *power, DrawBox field, bool of_loads) {
    double legend_mm = of_loads && power->legend_mm > 0.0 ? LEGEND_MM + 2.0 : power->legend_mm;
    return field.bottom_mm - field.top_mm - HEAD_MM - legend_mm - 2.0;
}

static double spread_mm(double high, int32_t rows) {
    double row_mm = floor(2.0 * high / wider(1.0, (double)rows)) / 2.0;
    return narrower(ROW_MOST_MM, wider(ROW_MM, row_mm));
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

static uint32_t idle_columns(const Power *power) {
    return (uint32_t)wider(1.0, floor(power->measure.width_mm / 115.0));
}

static int32_t idle_rows(const Power *power) {
    uint32_t columns = idle_columns(power);
    uint32_t count = (uint32_t)(power->facts.idle_count + power->facts.loose_count);
    return count == 0 ? 0 : 1 + (int32_t)((count + columns - 1) / columns);
}

static double row_y_mm(const PowerSheet *sheet, DrawBox field, int32_t row) {
    return field.top_mm + HEAD_MM + ((double)(row - sheet->row_first) + 0.5) * sheet->row_mm;
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
        if (!cut && *idle && block->rows + idle_rows(power) <= page) {
            sheet->idle = true;
            *idle = false;
            rows += idle_rows(power);
        }
        sheet->row_mm = spread_mm(field_mm(power, field, false), rows);
        for (size_t i = 0; i < block->line_count; i++) {
            const PowerLine *line = &block->lines[i];
            if (line->end == POWER_END_STUB && line->row >= row && line->row < row + step) {
                const PowerFacts *facts = &power->facts;
                const PowerBranch *branch = &facts->branches[line->branch];
                double x_mm = line->bar_from == ID_NONE ? 0.0 : block->bars[line->bar_from].x_mm;
                *ARENA_PUSH(plan->arena, power->stubs, power->stub_count, power->stub_capacity) =
                    (StubPlace){
                        branch->to,
                        branch->from == ID_NONE ? facts->sources[branch->source].tag
                                                : facts->buses[branch->from].name,
                        {sheet->sheet, {field.left_mm + x_mm, row_y_mm(sheet, field, line->row)}}};
            }
        }
        for (size_t i = 0; i < block->bar_count; i++) {
            const PowerBar *bar = &block->bars[i];
            if (bar->row_first >= row && bar->row_first < row + step) {
                power->bar_place[bar->bus] = (SheetPlace){
                    sheet->sheet,
                    {field.left_mm + bar->x_mm, row_y_mm(sheet, field, bar->row_first)}};
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
    StubPlace *sorted = ARENA_ARRAY(plan->arena, StubPlace, power->stub_count + 1);
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

static void keep_segment(Pour *pour, Segment segment) {
    Power *power = pour->power;
    PowerSheet *sheet = &power->sheets[power->sheet_count - 1];
    *ARENA_PUSH(pour->plan->arena, power->segments, power->segment_count, power->segment_capacity) =
        segment;
    sheet->segment_count++;
    if (!segment.goes_on && segment.bus != ID_NONE) {
        double x_mm = pour->field.left_mm + segment.column * (power->column_mm + GAP_MM);
        power->load_place[segment.bus] =
            (SheetPlace){sheet->sheet, {x_mm, pour->field.top_mm + HEAD_MM + segment.top_mm}};
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
        double left_mm = column_high_mm(pour, wide) - pour->at_mm - SEGMENT_MM;
        if (pour->pages == 0 || left_mm < (double)least * pour->row_mm) {
            pour_column(pour, wide);
            left_mm = column_high_mm(pour, wide) - SEGMENT_MM;
        }
        uint32_t room = (uint32_t)wider(1.0, floor(left_mm / pour->row_mm));
        uint32_t here = count < room ? count : room;
        if (pour->plan != NULL) {
            keep_segment(pour,
                         (Segment){bus, first, here, pour->column, pour->at_mm, wide, goes_on});
        }
        pour->at_mm += SEGMENT_MM + here * pour->row_mm + 2.0;
        pour->lowest_mm = wider(pour->lowest_mm, pour->at_mm);
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
        widest_mm = wider(widest_mm, branch->width_mm + branch->need_mm);
    }
    return widest_mm + 2.0 * BAR_MM;
}

static double column_mm(const Power *power, uint32_t columns) {
    return (power->measure.width_mm + GAP_MM) / columns - GAP_MM;
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
        pour_list(&pour, ID_NONE, 0, (uint32_t)idle_rows(power) - 1, true);
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
        Fill fill = {.row_mm = ROW_LOADS_MM};
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
    Fill fill = {.row_mm = ROW_LOADS_MM};
    uint32_t pages = best_fill(power, field, idle, &fill);
    for (int step = 1; ROW_LOADS_MM + 0.5 * step <= ROW_LOADS_MOST_MM; step++) {
        Fill wider_rows = {.row_mm = ROW_LOADS_MM + 0.5 * step};
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
    return fit(pen, x_mm, y_mm - wider(0.0, below_mm - 0.9), NAME, name, room_mm);
}

static void mark(const Pen *pen, double x_mm, double base_mm, const char *text) {
    if (*text == '\0') {
        return;
    }
    double width_mm = text_mm(pen->plan, NOTE, text);
    draw_layer(pen->list, LAYER_NOTE);
    draw_rectangle(
        pen->list,
        (DrawBox){x_mm, base_mm - STYLE_NOTE_MM - 0.85, x_mm + width_mm + 1.8, base_mm + 0.85},
        STYLE_THIN_MM);
    draw_text(pen->list, x_mm + 0.9, base_mm, NOTE, text);
}

static void draw_slot(const Pen *pen, const PowerSlot *slot, double x_mm, double y_mm,
                      double width_mm) {
    DrawList *list = pen->list;
    TableId table = list->table;
    const char *key = list->key;
    double symbol = symbol_mm(slot);
    double text_x_mm = x_mm + symbol + 1.5;
    double room_mm = width_mm - symbol - 2.5;
    draw_row(list, slot->table, slot->key);
    if (slot->symbol == SYMBOL_COUNT) {
        draw_layer(list, LAYER_BOX);
        draw_rectangle(list, (DrawBox){x_mm, y_mm - 2.5, x_mm + symbol, y_mm + 2.5},
                       STYLE_THICK_MM);
    } else {
        symbol_draw(list, slot->symbol, x_mm, y_mm, false);
    }
    draw_layer(list, slot->again || slot->table == TABLE_unit ? LAYER_REFERENCE : LAYER_TAG);
    fit(pen, text_x_mm, y_mm - TAG_UP_MM, VALUE, slot->tag, room_mm);
    draw_layer(list, LAYER_NOTE);
    double note_mm = fit(pen, text_x_mm, y_mm + NOTE_DOWN_MM, NOTE, slot->note,
                         room_mm - mark_mm(pen->plan, slot->mark));
    mark(pen, text_x_mm + note_mm + (note_mm > 0.0 ? 1.4 : 0.0), y_mm + NOTE_DOWN_MM + 0.5,
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
    double squeeze = narrower(1.0, (to_mm - from_mm) / branch->width_mm);
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
        fit(pen, x_mm + 4.0, y_mm - TAG_UP_MM, VALUE, branch->giver, 30.0);
        fit(pen, x_mm + 4.0, y_mm + NOTE_DOWN_MM, NOTE, "gives it", 30.0);
        from_mm = x_mm + 2.5;
    }
    for (uint32_t i = 0; i < branch->slot_count; i++) {
        const PowerSlot *slot = &facts->slots[branch->slot_first + i];
        x_mm = start_mm + slot->at_mm * squeeze;
        wire(pen, from_mm, x_mm, y_mm);
        draw_slot(pen, slot, x_mm, y_mm, slot->width_mm * squeeze);
        from_mm = x_mm + symbol_mm(slot);
        x_mm += slot->width_mm * squeeze;
    }
    wire(pen, from_mm, to_mm, y_mm);
    pen->chain_x_mm = x_mm;
    pen->chain_y_mm = y_mm;
    draw_layer(list, LAYER_WIRE_TEXT);
    double room_mm = narrower(32.0, to_mm - x_mm - 2.0);
    double end_mm = to_mm - (branch->to == ID_NONE ? 3.5 : 2.5);
    fit(pen, end_mm, y_mm - TAG_UP_MM, VALUE_RIGHT, branch->amps, room_mm);
    fit(pen, end_mm, y_mm + NOTE_DOWN_MM, NOTE_RIGHT, branch->gauge, room_mm);
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
    fit(pen, text_x_mm, y_mm - 0.5, STRONG, branch->tag, branch->tag_mm);
    draw_layer(list, LAYER_NOTE);
    double state_x_mm = text_x_mm + branch->tag_mm + 2.5;
    double state_mm = fit(pen, state_x_mm, y_mm - 0.5, VALUE, branch->state, 40.0);
    mark(pen, state_x_mm + state_mm + 1.5, y_mm - 1.0, branch->mark);
    fit(pen, text_x_mm, y_mm + NOTE_DOWN_MM, NOTE, branch->role, right_mm - text_x_mm);
}

static void draw_bar(const Pen *pen, double x_mm, double top_mm, double bottom_mm) {
    draw_layer(pen->list, LAYER_BOX);
    draw_fill_rectangle(pen->list,
                        (DrawBox){x_mm - BAR_MM / 2.0, top_mm, x_mm + BAR_MM / 2.0, bottom_mm});
}

/* "page 4 B3", clickable. */
static double draw_place(const Pen *pen, double x_mm, double base_mm, double room_mm,
                         const char *before, SheetPlace place) {
    if (place.sheet == ID_NONE) {
        return fit(pen, x_mm, base_mm, NOTE, before, room_mm);
    }
    const char *text = arena_format(pen->list->arena, "%s%s%s", before, *before == '\0' ? "" : " ",
                                    sheet_place_text(pen->plan, pen->list->arena, place));
    draw_layer(pen->list, LAYER_REFERENCE);
    double width_mm = fit(pen, x_mm, base_mm, NOTE, text, room_mm);
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
                                    *bus->amps == '\0' ? "" : "  ", bus->amps);
    double mark_room_mm = with_mark ? mark_mm(pen->plan, bus->mark) : 0.0;
    double width_mm = fit(pen, x_mm, base_mm, VALUE, text, room_mm - mark_room_mm);
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
        const StubPlace *stub = &power->stubs[i];
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
        bool level = other->row_first - 1 <= bar->row_name && other->row_last >= bar->row_name - 1;
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
    double y_mm = row_y_mm(sheet, pen->field, bar->row_name);
    draw_layer(list, LAYER_TAG);
    if (bar->inner) {
        double above_mm = y_mm - ROW_MM;
        double room_mm = name_room_mm(block, bar, pen->power->measure.width_mm);
        draw_name(pen, x_mm - BAR_MM / 2.0, above_mm - 0.3, bus->name, room_mm);
        double used_mm = draw_values(pen, bus, x_mm - BAR_MM / 2.0, above_mm + 4.6, room_mm, true);
        draw_stubs_of(pen, bar->bus, x_mm - BAR_MM / 2.0 + used_mm + 2.0, above_mm + 4.6,
                      room_mm - used_mm - 2.0);
        return;
    }
    double room_mm = pen->power->measure.width_mm - bar->x_mm - 3.0;
    double name_mm = draw_name(pen, x_mm + 2.5, y_mm - 0.5, bus->name,
                               narrower(room_mm, pen->power->measure.tail_mm * 0.6));
    draw_values(pen, bus, x_mm + 2.5 + name_mm + 2.5, y_mm - 0.5, room_mm - name_mm - 2.5, false);
    SheetPlace place = pen->power->load_place[bar->bus];
    double place_mm = 0.0;
    if (place.sheet != ID_NONE) {
        place_mm = draw_place(pen, x_mm + 2.5, y_mm + NOTE_DOWN_MM, room_mm,
                              loads_words(pen, bar->bus), place);
    }
    place_mm += place_mm > 0.0 ? 1.6 : 0.0;
    mark(pen, x_mm + 2.5 + place_mm, y_mm + NOTE_DOWN_MM + 0.5, bus->mark);
    place_mm += mark_mm(pen->plan, bus->mark);
    draw_stubs_of(pen, bar->bus, x_mm + 2.5 + place_mm + 2.0, y_mm + NOTE_DOWN_MM,
                  room_mm - place_mm - 2.0);
}

static void draw_source(const Pen *pen, const PowerBranch *branch, double y_mm) {
    DrawList *list = pen->list;
    const PowerSource *source = &pen->power->facts.sources[branch->source];
    double end_mm = pen->field.left_mm + pen->power->measure.source_mm;
    double symbol = symbol_width_mm(source->symbol);
    double x_mm = pen->field.left_mm + 1.0;
    double room_mm = end_mm - symbol - x_mm - 1.5;
    draw_row(list, source->table, source->key);
    symbol_draw(list, source->symbol, end_mm - symbol, y_mm, false);
    draw_layer(list, branch->source_again ? LAYER_REFERENCE : LAYER_TAG);
    draw_name(pen, x_mm, y_mm - 0.9, source->tag, room_mm);
    draw_layer(list, LAYER_NOTE);
    fit(pen, x_mm, y_mm + 4.2, VALUE, source->rating, room_mm);
    fit(pen, x_mm, y_mm + 8.2, NOTE, source->solved, room_mm);
}

/* A piece of a bus that stands elsewhere. */
static void draw_stub(const Pen *pen, BusId bus, double x_mm, double y_mm) {
    DrawList *list = pen->list;
    double room_mm = pen->field.right_mm - x_mm - 3.0;
    draw_row(list, TABLE_bus, pen->power->facts.buses[bus].name);
    draw_bar(pen, x_mm, y_mm - 4.0, y_mm + 4.0);
    draw_layer(list, LAYER_REFERENCE);
    fit(pen, x_mm + 2.5, y_mm - 0.5, VALUE,
        arena_format(list->arena, "to %s", pen->power->facts.buses[bus].name), room_mm);
    draw_place(pen, x_mm + 2.5, y_mm + NOTE_DOWN_MM, room_mm, "", pen->power->bar_place[bus]);
}

static void draw_line_row(Pen *pen, const PowerSheet *sheet, const PowerBlock *block,
                          const PowerLine *line) {
    const PowerMeasure *m = &pen->power->measure;
    double y_mm = row_y_mm(sheet, pen->field, line->row);
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
    double to_mm = narrower(from_mm + branch->width_mm, pen->field.right_mm - STUB_MM);
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
        draw_bar(pen, x_mm, row_y_mm(sheet, pen->field, top) - 4.5,
                 row_y_mm(sheet, pen->field, bottom) + 4.5);
        const char *name = pen->power->facts.buses[bar->bus].name;
        double room_mm = pen->power->measure.tail_mm;
        if (before) {
            SheetPlace from = {sheets[sheet - sheets - 1].sheet, {x_mm, pen->field.bottom_mm}};
            draw_place(pen, x_mm - BAR_MM / 2.0, row_y_mm(sheet, pen->field, top) - 7.0, room_mm,
                       arena_format(pen->list->arena, "%s from", name), from);
        }
        if (after) {
            SheetPlace to = {sheets[sheet - sheets + 1].sheet, {x_mm, pen->field.top_mm}};
            draw_place(pen, x_mm - BAR_MM / 2.0, row_y_mm(sheet, pen->field, bottom) + 9.0, room_mm,
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
        fit(pen, x_mm + 12.0, y_mm - 0.5, VALUE, source->tag, right_mm - x_mm - 12.0);
        draw_layer(list, LAYER_NOTE);
        fit(pen, x_mm + 12.0, y_mm + NOTE_DOWN_MM, NOTE, "source that feeds no bus",
            right_mm - x_mm - 12.0);
        return;
    }
    const PowerIdle *idle = &facts->idle[index];
    draw_slot(pen, &idle->slot, x_mm, y_mm, idle->slot.width_mm);
    double what_x_mm = x_mm + idle->slot.width_mm + 1.5;
    draw_row(list, idle->slot.table, idle->slot.key);
    draw_layer(list, LAYER_NOTE);
    fit(pen, what_x_mm, y_mm + STYLE_NOTE_MM / 2.0, NOTE, idle->what, right_mm - what_x_mm);
}

/* A row of those, in as many columns as the page has room for. */
static void draw_idle_row(const Pen *pen, uint32_t row, double y_mm) {
    uint32_t columns = idle_columns(pen->power);
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
              row_y_mm(sheet, pen->field, sheet->row_end) + 2.0, STRONG,
              "Not on the way of any supply");
    for (int32_t row = 0; row < idle_rows(pen->power) - 1; row++) {
        draw_idle_row(pen, (uint32_t)row, row_y_mm(sheet, pen->field, sheet->row_end + 1 + row));
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

static void draw_segment_head(const Pen *pen, const Segment *segment, double x_mm, double top_mm,
                              double room_mm) {
    DrawList *list = pen->list;
    const PowerFacts *facts = &pen->power->facts;
    draw_layer(list, LAYER_TAG);
    if (segment->bus >= facts->bus_count) {
        draw_row(list, TABLE_COUNT, "");
        fit(pen, x_mm, top_mm + 5.5, STRONG,
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

static void draw_segment(Pen *pen, const PowerSheet *sheet, const Segment *segment) {
    const PowerFacts *facts = &pen->power->facts;
    double left_mm = pen->field.left_mm + 1.0 + segment->column * (pen->power->column_mm + GAP_MM);
    double room_mm = segment->wide ? pen->power->measure.width_mm - 1.0 : pen->power->column_mm;
    double right_mm = left_mm + room_mm - 1.0;
    double top_mm = pen->field.top_mm + HEAD_MM + segment->top_mm;
    double row_mm = sheet->row_mm;
    double x_mm = left_mm + BAR_MM / 2.0;
    draw_segment_head(pen, segment, left_mm, top_mm, room_mm);
    top_mm += SEGMENT_MM;
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
        double to_mm = narrower(x_mm + branch->width_mm, right_mm - branch->need_mm);
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
    fit(pen, pen->field.left_mm + 1.0, pen->field.top_mm + 5.0, STRONG, pen->power->facts.title,
        width_mm);
    draw_text_fit(
        pen->list, pen->field.left_mm + 1.0, pen->field.top_mm + 9.6, NOTE,
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
    double y_mm = pen->field.bottom_mm - pen->power->legend_mm + LEGEND_MM;
    double left_mm = pen->field.left_mm + 1.0;
    draw_row(list, TABLE_COUNT, "");
    draw_layer(list, LAYER_NOTE);
    fit(pen, left_mm, y_mm, NOTE,
        "Shed groups: a letter in a box is put off or opened by the pilot in that "
        "situation (with \"on\": put on); at a bus: it loses its supply by that.",
        pen->power->measure.width_mm - 2.0);
    for (size_t i = 0; i < facts->situation_count; i++) {
        y_mm += LEGEND_MM;
        if (i == 7 && facts->situation_count > 8) {
            draw_text(list, left_mm, y_mm, NOTE,
                      arena_format(list->arena, "and %zu more situations of the job",
                                   facts->situation_count - 7));
            break;
        }
        const PowerSituation *situation = &facts->situations[i];
        draw_text(list, left_mm, y_mm, (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .bold = true},
                  situation->letter);
        fit(pen, left_mm + 8.0, y_mm, NOTE, situation->text, pen->power->measure.width_mm - 10.0);
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
