/* Cover of the book: what it is of, for whom, which revision, how much there is in it, and the
 * caution at a size nobody overlooks. */
#include "draw/sheets.h"

#include "base/text.h"

void cover_plan(SheetPlan *plan) {
    sheet_add(plan, SHEET_COVER, 0, "", "cover", "Wiring book", "");
}

static double line(DrawList *list, DrawBox field, double y_mm, double height_mm, bool bold,
                   const char *text) {
    DrawTextStyle style = {.height_mm = height_mm, .bold = bold};
    const char **lines;
    size_t count = fonts_wrap(list->fonts, list->arena, text, height_mm, bold,
                              field.right_mm - field.left_mm - 20.0, &lines);
    for (size_t i = 0; i < count; i++) {
        draw_text(list, field.left_mm + 10.0, y_mm, style, lines[i]);
        y_mm += 1.8 * height_mm;
    }
    return y_mm;
}

void cover_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    (void)sheet;
    const DrawView *view = plan->view;
    const JobRow *job = &view->set->job.rows[0];
    Arena *arena = list->arena;
    draw_layer(list, LAYER_TAG);
    double room_mm = field.bottom_mm - field.top_mm;
    bool small = room_mm < 200.0; /* A4, Letter */
    double y_mm = field.top_mm + room_mm * (small ? 0.12 : 0.18);
    y_mm = line(list, field, y_mm, 14.0, true, job->job);
    y_mm = line(list, field, y_mm, STYLE_TITLE_MM, false, job->title);
    draw_layer(list, LAYER_NOTE);
    y_mm += small ? 2.0 : 8.0;
    if (*job->customer != '\0') {
        y_mm = line(list, field, y_mm, STYLE_TAG_MM, false,
                    arena_format(arena, "Customer %s", job->customer));
    }
    y_mm =
        line(list, field, y_mm, STYLE_TAG_MM, false,
             arena_format(arena, "Revision %s of %s", *job->revision == '\0' ? "-" : job->revision,
                          *job->date == '\0' ? "no date given" : job->date));
    y_mm = line(list, field, y_mm, STYLE_VALUE_MM, false,
                arena_format(arena, "SHA-256 %s", view->hash));
    y_mm = line(list, field, y_mm, STYLE_VALUE_MM, false,
                arena_format(arena,
                             "%zu boxes, %u circuits, %u conductors, %zu disconnect shells; "
                             "%g V system",
                             view->set->unit.count, view->wiring->net_count,
                             view->wiring->conductor_count, view->set->disconnect_shell.count,
                             job->nominal_v));
    y_mm = line(list, field, y_mm, STYLE_VALUE_MM, false,
                arena_format(arena, "%zu findings of severity error are open, %zu warnings",
                             findings_open(view->findings, SEVERITY_ERROR),
                             findings_open(view->findings, SEVERITY_WARNING)));
    y_mm += small ? 6.0 : 10.0;
    draw_line(list, field.left_mm + 10.0, y_mm - 6.0, field.right_mm - 10.0, y_mm - 6.0,
              STYLE_MEDIUM_MM);
    line(list, field, y_mm + 2.0, STYLE_TAG_MM, true, sheet_caution());
}
