/* Sections of the thickest bundles: their wires as packed, at true ratio and numbered, with what
 * passes them, goes over them and what they weigh. One bundle fills a sheet: the picture as high as
 * the field, beside it the wires by number in columns of one length and the facts below them; where
 * that leaves no room for all wires, the facts stand below a smaller picture. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "board/fit.h"
#include "draw/sheets.h"

#define SECTION_PART "Bench"
#define SECTION_NAME "sections"
#define HEAD_MM 15.0   /* name of the segment, and where it is */
#define LINE_MM 4.2    /* from line to line of words */
#define COLUMN_MM 46.5 /* least width of a column of the list */
#define COLUMN_GAP_MM 4.0
#define NUMBER_MM 7.0      /* room of the number in the list */
#define KEY_MM 15.0        /* and of the wire's key */
#define SIZE_MM 28.0       /* and of what it is */
#define CLEAR_MM 0.4       /* between a number and its circle */
#define ROOM_MM 1.0        /* around the picture */
#define NET_MM 18.0        /* least room of the circuit, else it is left out */
#define LOOSE_MM 5.4       /* from line to line where there is room */
#define TALL_SHARE 0.56    /* of the field, at most: a picture as high as it; */
#define PICTURE_SHARE 0.48 /* one with the facts below it; */
#define NARROW_SHARE 0.42  /* the same in a narrow field, */
#define LEAST_SHARE 0.36   /* and where that leaves no room for all wires */
#define NARROW_MM 330.0

enum { SECTIONS_MOST = 4, FACT_COUNT = 6, FACT_LINES = 9 };

typedef struct SectionPlan {
    SegmentId *segments;
    uint32_t count;
} SectionPlan;

/* --- words ------------------------------------------------------------------------------------ */

static DrawTextStyle note(bool bold) {
    return (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .bold = bold};
}

static const char *or_none(const char *text) {
    return *text == '\0' ? "none of the library" : text;
}

/* What the shop needs to know of the bundle; FACT_COUNT texts. */
static void list_facts(Arena *arena, const DrawView *view, const BundleFit *fit, SegmentId id,
                       const char **lines) {
    const TableSet *set = view->set;
    const SegmentRow *segment = &set->segment.rows[id];
    const char *grommet = fit->grommet == ID_NONE ? "" : set->grommet.rows[fit->grommet].grommet;
    lines[0] = arena_format(
        arena,
        "diameter %.1f mm packed (dashed: the best found; none is below %.1f mm), %.1f mm by the "
        "shop's rule",
        fit->packing_mm, fit->least_mm, fit->rule_mm);
    lines[1] = fit->grommet == ID_NONE
                   ? "grommet: none of the library"
                   : arena_format(arena, "grommet %s in a hole of %.0f mm", grommet,
                                  set->grommet.rows[fit->grommet].hole_mm);
    lines[2] =
        arena_format(arena, "heat-shrink %s, braid %s",
                     or_none(fit->shrink == ID_NONE ? "" : set->sleeve.rows[fit->shrink].sleeve),
                     or_none(fit->braid == ID_NONE ? "" : set->sleeve.rows[fit->braid].sleeve));
    lines[3] = arena_format(arena, "bend radius at least %.0f mm, %.0f mm where supported",
                            fit->bend_mm, fit->supported_mm);
    lines[4] = arena_format(arena, "%.0f g/m", fit->kg_per_m * 1000.0);
    if (fit->heavy > 0) {
        lines[4] = arena_format(arena, "%s, with %u heavy cable%s clamped apart, not drawn",
                                lines[4], fit->heavy, fit->heavy == 1 ? "" : "s");
    }
    lines[5] = isnan(segment->inner_mm)
                   ? "no hole or conduit given"
                   : arena_format(arena, "hole or conduit %.1f mm (thick circle): %s",
                                  segment->inner_mm, fit_verdict_text(fit->verdict));
}

/* "22 WH", "22 WHBU", or the cable's name. */
static const char *wire_size(Arena *arena, const DrawView *view, const FitWire *wire) {
    const Ends *ends = view->harness->ends;
    const Cable *cable = &view->wiring->cables[wire->cable];
    if (cable->part != ID_NONE) {
        return view->set->cable.rows[cable->part].part;
    }
    ClassId class_id = view->wiring->nets[cable->net].class_id;
    uint16_t core = view->wiring->conductors[wire->conductor].core;
    const char *colour =
        core < ends->class_cores[class_id]
            ? view->set->interface_core.rows[ends->class_core[class_id] + core].colour
            : "";
    char code[STYLE_CODE_TEXT];
    return arena_format(
        arena, "%d %s",
        (int)route_conductor_awg(view->model, view->wiring, wire->conductor, ends->awg),
        style_insulation_code(colour, code));
}

/* --- picture ---------------------------------------------------------------------------------- */

/* The largest whole enlargement at which all of it is at most `room_mm` across. */
static double choose_scale(double across_mm, double room_mm) {
    double scale = floor(room_mm / across_mm);
    return scale >= 1.0 ? scale : room_mm / across_mm;
}

static double largest_across(const DrawView *view, const BundleFit *fit, SegmentId id) {
    double inner_mm = view->set->segment.rows[id].inner_mm;
    return fmax(fit->packing_mm, isnan(inner_mm) ? 0.0 : inner_mm);
}

/* A wire is a circle, a cable a double one; the number stands inside where it fits. */
static void draw_wire(DrawList *list, const DrawView *view, const FitWire *wire, uint32_t number,
                      double x_mm, double y_mm, double radius_mm) {
    const Cable *cable = &view->wiring->cables[wire->cable];
    draw_row(list, TABLE_conductor, view->wiring->conductors[wire->conductor].key);
    draw_layer(list, LAYER_BOX);
    draw_circle(list, x_mm, y_mm, radius_mm, STYLE_THIN_MM);
    const char *text = arena_format(list->arena, "%u", number);
    double half_mm = 0.5 * draw_text_width(list, note(false), text);
    double corner_mm = sqrt(half_mm * half_mm + 0.25 * STYLE_NOTE_MM * STYLE_NOTE_MM);
    double jacket_mm = radius_mm - 2.0 * STYLE_THIN_MM;
    if (cable->part != ID_NONE && jacket_mm > corner_mm + CLEAR_MM) {
        draw_circle(list, x_mm, y_mm, jacket_mm, STYLE_THIN_MM);
    }
    if (corner_mm + CLEAR_MM <= radius_mm) {
        DrawTextStyle style = note(false);
        style.align = ALIGN_MIDDLE;
        draw_layer(list, LAYER_NOTE);
        draw_text(list, x_mm, y_mm + 0.5 * STYLE_NOTE_MM, style, text);
    }
    draw_row(list, TABLE_COUNT, "");
}

static void draw_picture(DrawList *list, const DrawView *view, SegmentId id, double x_mm,
                         double y_mm, double scale) {
    const Fits *fits = view->fits;
    const BundleFit *fit = &fits->bundles[id];
    const FitWire *wires = fits->wires + fit->wire_first;
    uint32_t count = fit->wire_count - fit->heavy;
    PackingCircle circles[PACKING_MOST];
    for (uint32_t i = 0; i < count; i++) {
        circles[i] = (PackingCircle){.diameter_mm = wires[i].diameter_mm};
    }
    double outer_mm = packing_round(circles, count);
    draw_layer(list, LAYER_RULE);
    draw_dash(list, DASH_HIDDEN);
    draw_circle(list, x_mm, y_mm, 0.5 * outer_mm * scale, STYLE_THIN_MM);
    draw_dash(list, DASH_NONE);
    double inner_mm = view->set->segment.rows[id].inner_mm;
    if (!isnan(inner_mm)) {
        draw_circle(list, x_mm, y_mm, 0.5 * inner_mm * scale, STYLE_THICK_MM);
    }
    for (uint32_t i = 0; i < count; i++) {
        draw_wire(list, view, &wires[i], i + 1, x_mm + circles[i].x_mm * scale,
                  y_mm - circles[i].y_mm * scale, 0.5 * wires[i].diameter_mm * scale);
    }
}

/* --- list ------------------------------------------------------------------------------------- */

static void draw_line_of(DrawList *list, const DrawView *view, const FitWire *wire, uint32_t number,
                         double left_mm, double y_mm, double width_mm) {
    const Conductor *conductor = &view->wiring->conductors[wire->conductor];
    const char *net = view->wiring->nets[view->wiring->cables[wire->cable].net].name;
    DrawTextStyle style = note(false);
    draw_layer(list, LAYER_WIRE_TEXT);
    draw_row(list, TABLE_conductor, conductor->key);
    style.align = ALIGN_RIGHT;
    draw_text(list, left_mm + NUMBER_MM - 2.0, y_mm, style,
              arena_format(list->arena, "%u", number));
    double at_mm = left_mm + NUMBER_MM;
    draw_text_fit(list, at_mm, y_mm, note(true), conductor->key, KEY_MM - 1.0);
    draw_text_fit(list, at_mm + KEY_MM, y_mm, note(false), wire_size(list->arena, view, wire),
                  fmin(SIZE_MM, width_mm - NUMBER_MM - KEY_MM) - 1.0);
    double rest_mm = width_mm - NUMBER_MM - KEY_MM - SIZE_MM;
    if (rest_mm >= NET_MM) {
        draw_text_fit(list, at_mm + KEY_MM + SIZE_MM, y_mm, note(false), net, rest_mm);
    }
    draw_row(list, TABLE_COUNT, "");
}

/* How the list of the wires stands in its room. */
typedef struct ListPlan {
    uint32_t columns;
    uint32_t rows;  /* of a column */
    uint32_t shown; /* wires; the last line of fewer than all says how many more there are */
    double column_mm;
    double step_mm;
} ListPlan;

static ListPlan plan_list(uint32_t count, double width_mm, double height_mm) {
    uint32_t rows = (uint32_t)fmax(height_mm / LINE_MM, 1.0);
    uint32_t most = (uint32_t)fmax((width_mm + COLUMN_GAP_MM) / (COLUMN_MM + COLUMN_GAP_MM), 1.0);
    uint32_t columns = (count + rows - 1) / rows;
    ListPlan plan = {.columns = columns < 1 ? 1 : columns < most ? columns : most, .rows = rows};
    if (count <= rows * plan.columns) { /* all of one length */
        plan.rows = (count + plan.columns - 1) / plan.columns;
    }
    plan.rows = plan.rows < 1 ? 1 : plan.rows;
    plan.shown = count <= rows * plan.columns ? count : rows * plan.columns - 1;
    plan.column_mm = (width_mm - (plan.columns - 1) * COLUMN_GAP_MM) / plan.columns;
    plan.step_mm = fmin(LOOSE_MM, height_mm / plan.rows);
    return plan;
}

/* The wires by number. */
static void draw_list(DrawList *list, const DrawView *view, SegmentId id, DrawBox room,
                      const ListPlan *plan) {
    const BundleFit *fit = &view->fits->bundles[id];
    const FitWire *wires = view->fits->wires + fit->wire_first;
    uint32_t count = fit->wire_count - fit->heavy;
    for (uint32_t i = 0; i < plan->shown; i++) {
        uint32_t column = i / plan->rows;
        double left_mm = room.left_mm + column * (plan->column_mm + COLUMN_GAP_MM);
        double y_mm = room.top_mm + (i % plan->rows) * plan->step_mm + STYLE_NOTE_MM;
        draw_line_of(list, view, &wires[i], i + 1, left_mm, y_mm, plan->column_mm);
    }
    if (plan->shown < count) {
        draw_layer(list, LAYER_NOTE);
        draw_text_fit(list,
                      room.left_mm + (plan->columns - 1) * (plan->column_mm + COLUMN_GAP_MM) +
                          NUMBER_MM,
                      room.top_mm + (plan->rows - 1) * plan->step_mm + STYLE_NOTE_MM, note(false),
                      arena_format(list->arena, "and %u more", count - plan->shown),
                      plan->column_mm - NUMBER_MM);
    }
}

/* --- one bundle ------------------------------------------------------------------------------- */

static void draw_head(DrawList *list, const DrawView *view, SegmentId id, DrawBox cell) {
    const SegmentRow *segment = &view->set->segment.rows[id];
    const BundleFit *fit = &view->fits->bundles[id];
    double width_mm = cell.right_mm - cell.left_mm;
    draw_layer(list, LAYER_TAG);
    draw_row(list, TABLE_segment, segment->segment);
    draw_text_fit(list, cell.left_mm, cell.top_mm + STYLE_TAG_MM + 1.0,
                  (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true}, segment->segment,
                  width_mm);
    draw_row(list, TABLE_COUNT, "");
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(list, cell.left_mm, cell.top_mm + HEAD_MM - 3.0, note(false),
                  arena_format(list->arena, "%u wires and cables%s%s", fit->wire_count - fit->heavy,
                               *segment->way == '\0' ? "" : ", ", segment->way),
                  width_mm);
}

static void draw_facts(DrawList *list, const DrawView *view, const BundleFit *fit, SegmentId id,
                       double left_mm, double y_mm, double width_mm) {
    const char *facts[FACT_COUNT];
    list_facts(list->arena, view, fit, id, facts);
    int drawn = 0;
    for (int i = 0; i < FACT_COUNT; i++) {
        const char **lines;
        size_t count =
            fonts_wrap(list->fonts, list->arena, facts[i], STYLE_NOTE_MM, false, width_mm, &lines);
        for (size_t k = 0; k < count && drawn < FACT_LINES; k++, drawn++) {
            draw_text(list, left_mm, y_mm, note(false), lines[k]);
            y_mm += LINE_MM;
        }
    }
}

/* Where things of a sheet stand. */
typedef struct BundlePlan {
    double scale;
    double words_mm; /* room of the picture, from the left */
    bool beside;     /* facts below the list, else below the picture */
    ListPlan list;
} BundlePlan;

static BundlePlan plan_bundle(const BundleFit *fit, double across_mm, double width_mm,
                              double height_mm) {
    uint32_t count = fit->wire_count - fit->heavy;
    double facts_mm = (FACT_LINES + 2) * LINE_MM;
    BundlePlan plan = {.beside = true};
    double room_mm = fmin(height_mm, TALL_SHARE * width_mm);
    plan.scale = choose_scale(across_mm, room_mm - 2.0 * ROOM_MM);
    plan.words_mm = across_mm * plan.scale + 2.0 * ROOM_MM;
    double rest_mm = width_mm - plan.words_mm - 2.0 * COLUMN_GAP_MM;
    plan.list = plan_list(count, rest_mm, height_mm - facts_mm);
    if (plan.list.shown == count) {
        return plan;
    }
    plan.beside = false;
    for (int turn = 0; turn < 2 && plan.list.shown < count; turn++) {
        double share = turn == 1              ? LEAST_SHARE
                       : width_mm < NARROW_MM ? NARROW_SHARE
                                              : PICTURE_SHARE;
        plan.words_mm = share * width_mm;
        plan.list = plan_list(count, width_mm - plan.words_mm - 2.0 * COLUMN_GAP_MM, height_mm);
    }
    room_mm = fmin(height_mm - facts_mm + LINE_MM, plan.words_mm);
    plan.scale = choose_scale(across_mm, room_mm - 2.0 * ROOM_MM);
    return plan;
}

static void draw_bundle(DrawList *list, const DrawView *view, SegmentId id, DrawBox cell) {
    const BundleFit *fit = &view->fits->bundles[id];
    double across_mm = largest_across(view, fit, id);
    double width_mm = cell.right_mm - cell.left_mm;
    double top_mm = cell.top_mm + HEAD_MM;
    BundlePlan plan = plan_bundle(fit, across_mm, width_mm, cell.bottom_mm - top_mm);
    double side_mm = across_mm * plan.scale + 2.0 * ROOM_MM;
    double middle_mm = plan.beside ? 0.5 * (top_mm + cell.bottom_mm) : top_mm + 0.5 * side_mm;
    DrawBox room = {cell.left_mm + plan.words_mm + 2.0 * COLUMN_GAP_MM, top_mm, cell.right_mm,
                    cell.bottom_mm};
    draw_head(list, view, id, cell);
    draw_picture(list, view, id, cell.left_mm + 0.5 * plan.words_mm, middle_mm, plan.scale);
    draw_list(list, view, id, room, &plan.list);
    double left_mm = plan.beside ? room.left_mm : cell.left_mm;
    double facts_mm = plan.beside ? room.right_mm - room.left_mm : plan.words_mm;
    double y_mm = plan.beside
                      ? top_mm + plan.list.rows * plan.list.step_mm + LINE_MM + STYLE_NOTE_MM
                      : top_mm + side_mm + STYLE_NOTE_MM + 1.0;
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(list, left_mm, y_mm, note(true),
                  plan.scale == floor(plan.scale)
                      ? arena_format(list->arena, "drawn %.0f : 1", plan.scale)
                      : "not to a round scale",
                  facts_mm);
    draw_facts(list, view, fit, id, left_mm, y_mm + LINE_MM, facts_mm);
}

/* --- sheets ----------------------------------------------------------------------------------- */

void section_plan(SheetPlan *plan) {
    const DrawView *view = plan->view;
    SectionPlan *kept = ARENA_NEW(plan->arena, SectionPlan);
    plan->kept[SHEET_SECTION] = kept;
    if (view->fits == NULL) {
        return;
    }
    kept->segments = ARENA_ARRAY(plan->arena, SegmentId, SECTIONS_MOST);
    kept->count = fit_largest(view->model, view->fits, kept->segments, SECTIONS_MOST);
    for (uint32_t i = 0; i < kept->count; i++) {
        sheet_add(plan, SHEET_SECTION, i, SECTION_PART,
                  arena_format(plan->arena, SECTION_NAME "-%u", i + 1),
                  arena_format(plan->arena, "Section of bundle %s",
                               view->set->segment.rows[kept->segments[i]].segment),
                  "see text");
    }
}

void section_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    const SectionPlan *kept = plan->kept[SHEET_SECTION];
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(
        list, field.left_mm, field.bottom_mm - 1.0, note(false),
        "True ratio. Where a wire lies in its bundle is not prescribed; the packing shows "
        "how much room they need. Double circle: cable.",
        field.right_mm - field.left_mm);
    field.bottom_mm -= 2.0 * LINE_MM;
    draw_bundle(list, plan->view, kept->segments[sheet->index], field);
}
