/* How the sheets of the power diagram are filled: what planning (power_sheets.c) leaves for drawing
 * (power_line.c), and the measures both go by. Not for other kinds of sheets: they ask
 * power_line.h where a bus stands. */
#ifndef DRAW_POWER_SHEETS_H
#define DRAW_POWER_SHEETS_H

#include <math.h>

#include "draw/power_facts.h"
#include "draw/power_layout.h"

/* Heights, mm. A row: tag above the line, note below it, and air. */
#define POWER_ROW_MM 11.5
#define POWER_ROW_MOST_MM 17.5
#define POWER_ROW_LOADS_MM 11.0 /* the same on sheets of loads, where marks are rare */
#define POWER_ROW_LOADS_MOST_MM 14.5
#define POWER_TAG_UP_MM 2.0 /* clear of the foot of an underscore */
#define POWER_NOTE_DOWN_MM 3.8
#define POWER_HEAD_MM 13.0    /* phase and how to read it, at the top of every sheet */
#define POWER_SEGMENT_MM 13.0 /* name of a bus above its loads */
#define POWER_LEGEND_MM 4.4   /* a line of the legend */
#define POWER_BAR_MM 1.5
#define POWER_STUB_MM 22.0 /* from a stub to the edge */
#define POWER_GAP_MM 7.5   /* between columns of loads */
/* Bare wire beside current and gauge: before a bar; before a load, with a chain's tap and an arrow.
 */
#define POWER_BAR_ENDS_MM 4.0
#define POWER_LOAD_ENDS_MM 6.5

static const DrawTextStyle POWER_VALUE = {.height_mm = STYLE_VALUE_MM};
static const DrawTextStyle POWER_VALUE_RIGHT = {.height_mm = STYLE_VALUE_MM, .align = ALIGN_RIGHT};
static const DrawTextStyle POWER_STRONG = {.height_mm = STYLE_VALUE_MM, .bold = true};
static const DrawTextStyle POWER_NOTE = {.height_mm = STYLE_NOTE_MM};
static const DrawTextStyle POWER_NOTE_RIGHT = {.height_mm = STYLE_NOTE_MM, .align = ALIGN_RIGHT};
static const DrawTextStyle POWER_NAME = {.height_mm = STYLE_TAG_MM, .bold = true};

/* Loads of one bus in one column, or a list of devices. */
typedef struct PowerSegment {
    BusId bus;      /* bus_count: loads without a bus; ID_NONE: devices no feed passes */
    uint32_t first; /* into facts.loads.rows, or into facts.idle */
    uint32_t count;
    uint32_t column;
    double top_mm; /* in the field, below the head */
    bool wide;     /* takes all columns */
    bool goes_on;  /* it began in a column before */
} PowerSegment;

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
typedef struct PowerStubPlace {
    BusId to;
    const char *from;
    SheetPlace place;
} PowerStubPlace;

typedef struct Power {
    PowerFacts facts;
    PowerMeasure measure;
    PowerLayout layout;
    PowerSheet *sheets;
    size_t sheet_count;
    size_t sheet_capacity;
    PowerSegment *segments;
    size_t segment_count;
    size_t segment_capacity;
    uint32_t columns;
    double column_mm;
    double *needs_mm; /* by bus, and one more: room its loads need */
    bool *wide;       /* by bus, and one more: they take all columns */
    double legend_mm;
    PowerStubPlace *stubs; /* by bus after sorting: stub_first[bus] .. stub_first[bus + 1] - 1 */
    size_t stub_count;
    size_t stub_capacity;
    uint32_t *stub_first;
    SheetPlace *bar_place;  /* by bus */
    SheetPlace *load_place; /* by bus, and one more: where its loads stand apart */
} Power;

static inline double power_wider(double a_mm, double b_mm) {
    return a_mm > b_mm ? a_mm : b_mm;
}

static inline double power_narrower(double a_mm, double b_mm) {
    return a_mm < b_mm ? a_mm : b_mm;
}

static inline double power_text_mm(const SheetPlan *plan, DrawTextStyle style, const char *text) {
    return fonts_width_mm(plan->fonts, text, style.height_mm, style.bold);
}

static inline double power_mark_mm(const SheetPlan *plan, const char *mark) {
    return *mark == '\0' ? 0.0 : power_text_mm(plan, POWER_NOTE, mark) + 3.4;
}

static inline double power_symbol_mm(const PowerSlot *slot) {
    return slot->symbol == SYMBOL_COUNT ? 10.0 : symbol_width_mm(slot->symbol);
}

static inline double power_row_y_mm(const PowerSheet *sheet, DrawBox field, int32_t row) {
    return field.top_mm + POWER_HEAD_MM + ((double)(row - sheet->row_first) + 0.5) * sheet->row_mm;
}

static inline uint32_t power_idle_columns(const Power *power) {
    return (uint32_t)power_wider(1.0, floor(power->measure.width_mm / 115.0));
}

static inline int32_t power_idle_rows(const Power *power) {
    uint32_t columns = power_idle_columns(power);
    uint32_t count = (uint32_t)(power->facts.idle_count + power->facts.loose_count);
    return count == 0 ? 0 : 1 + (int32_t)((count + columns - 1) / columns);
}

#endif
