#include "draw/paper.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "base/check.h"

#define EDGE_MM 10.0    /* paper outside the frame */
#define BINDER_MM 20.0  /* the same at the left (ISO 5457) */
#define ZONE_MM 50.0    /* aim for the length of a zone (ISO 5457) */
#define STRIP_MM 14.0   /* title strip */
#define CAUTION_MM 5.0  /* caution strip above it */
#define MARGIN_MM 3.0   /* between frame and what a sheet draws */
#define TEXT_GAP_MM 1.5 /* between a line and text */

static const struct {
    const char *name;
    double width_mm;
    double height_mm;
} PAPERS[] = {
#define PAPER_ROW(id, name, long_mm, short_mm) {name, long_mm, short_mm},
    PAPER_SIZES(PAPER_ROW)
#undef PAPER_ROW
};

PaperSize paper_find(const char *name) {
    int size = 0;
    while (size < PAPER_COUNT && strcasecmp(PAPERS[size].name, name) != 0) {
        size++;
    }
    return (PaperSize)size;
}

const char *paper_name(PaperSize size) {
    return PAPERS[size].name;
}

double paper_width_mm(PaperSize size) {
    return PAPERS[size].width_mm;
}

double paper_height_mm(PaperSize size) {
    return PAPERS[size].height_mm;
}

/* --- zones --------------------------------------------------------------------------------------
 */

static DrawBox frame_box(double width_mm, double height_mm) {
    return (DrawBox){BINDER_MM, EDGE_MM, width_mm - EDGE_MM, height_mm - EDGE_MM};
}

/* An even number of equal zones as near as can be to 50 mm (ISO 5457). */
static unsigned zone_count(double length_mm) {
    double half = round(length_mm / ZONE_MM / 2.0);
    return half < 1.0 ? 2 : 2 * (unsigned)half;
}

static unsigned zone_of(double at_mm, double from_mm, double to_mm) {
    unsigned count = zone_count(to_mm - from_mm);
    double share = (at_mm - from_mm) / (to_mm - from_mm);
    double zone = floor(share * count);
    return zone < 0.0 ? 0 : zone >= count ? count - 1 : (unsigned)zone;
}

const char *sheet_zone(PaperSize size, double x_mm, double y_mm, char text[SHEET_ZONE_TEXT]) {
    DrawBox frame = frame_box(paper_width_mm(size), paper_height_mm(size));
    unsigned across = zone_of(x_mm, frame.left_mm, frame.right_mm);
    unsigned down = zone_of(y_mm, frame.top_mm, frame.bottom_mm);
    snprintf(text, SHEET_ZONE_TEXT, "%c%u", (char)('A' + down % 26), (across + 1) % 100);
    return text;
}

static void draw_zones(DrawList *list, DrawBox frame) {
    DrawTextStyle style = {.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE};
    double tick_mm = 4.0;
    unsigned across = zone_count(frame.right_mm - frame.left_mm);
    double step_mm = (frame.right_mm - frame.left_mm) / across;
    for (unsigned i = 0; i < across; i++) {
        const char *name = arena_format(list->arena, "%u", i + 1);
        double middle_mm = frame.left_mm + (i + 0.5) * step_mm;
        draw_text(list, middle_mm, frame.top_mm - TEXT_GAP_MM, style, name);
        draw_text(list, middle_mm, frame.bottom_mm + TEXT_GAP_MM + STYLE_NOTE_MM, style, name);
        if (i > 0) {
            double at_mm = frame.left_mm + i * step_mm;
            draw_line(list, at_mm, frame.top_mm - tick_mm, at_mm, frame.top_mm, STYLE_THIN_MM);
            draw_line(list, at_mm, frame.bottom_mm, at_mm, frame.bottom_mm + tick_mm,
                      STYLE_THIN_MM);
        }
    }
    unsigned down = zone_count(frame.bottom_mm - frame.top_mm);
    step_mm = (frame.bottom_mm - frame.top_mm) / down;
    for (unsigned i = 0; i < down; i++) {
        const char *name = arena_format(list->arena, "%c", (char)('A' + i));
        double base_mm = frame.top_mm + (i + 0.5) * step_mm + STYLE_NOTE_MM / 2.0;
        draw_text(list, frame.left_mm - 3.0, base_mm, style, name);
        draw_text(list, frame.right_mm + 3.0, base_mm, style, name);
        if (i > 0) {
            double at_mm = frame.top_mm + i * step_mm;
            draw_line(list, frame.left_mm - tick_mm, at_mm, frame.left_mm, at_mm, STYLE_THIN_MM);
            draw_line(list, frame.right_mm, at_mm, frame.right_mm + tick_mm, at_mm, STYLE_THIN_MM);
        }
    }
}

/* --- title strip --------------------------------------------------------------------------------
 */

typedef struct StripCell {
    double share; /* of the width of the strip */
    const char *above;
    double above_mm; /* height of its capitals */
    const char *below;
} StripCell;

/* Two lines in a cell: what it is for is said by what stands in it. */
static void draw_cell(DrawList *list, DrawBox cell, const StripCell *what) {
    double width_mm = cell.right_mm - cell.left_mm - 2.0 * TEXT_GAP_MM;
    double height_mm = what->above_mm;
    /* A name too long for its size is set in the next smaller one before it is cut. */
    static const double SIZES_MM[] = {STYLE_VALUE_MM, STYLE_NOTE_MM};
    for (size_t i = 0; i < sizeof SIZES_MM / sizeof *SIZES_MM; i++) {
        if (SIZES_MM[i] < height_mm &&
            fonts_width_mm(list->fonts, what->above, height_mm, true) > width_mm) {
            height_mm = SIZES_MM[i];
        }
    }
    DrawTextStyle above = {.height_mm = height_mm, .bold = true};
    DrawTextStyle below = {.height_mm = STYLE_NOTE_MM};
    double base_mm = cell.top_mm + (*what->below == '\0' ? 7.0 + height_mm / 2.0 : 7.4);
    draw_text_fit(list, cell.left_mm + TEXT_GAP_MM, base_mm, above, what->above, width_mm);
    draw_text_fit(list, cell.left_mm + TEXT_GAP_MM, cell.bottom_mm - 1.9, below, what->below,
                  width_mm);
}

static void draw_strip(DrawList *list, DrawBox strip, const SheetHead *head) {
    const char *hash = arena_format(list->arena, "%.8s", head->hash);
    const char *revision =
        *head->revision == '\0' ? hash : arena_format(list->arena, "%s  %s", head->revision, hash);
    const char *date = *head->date == '\0' ? "no date given" : head->date;
    const char *page = *head->number == '\0' ? "single sheet"
                       : head->of == 0
                           ? arena_format(list->arena, "page %s", head->number)
                           : arena_format(list->arena, "page %s of %u", head->number, head->of);
    StripCell cells[] = {
        {0.34, head->title, STYLE_TAG_MM, head->name},
        {0.24, head->job, STYLE_VALUE_MM, head->job_title},
        {0.135, revision, STYLE_VALUE_MM,
         *head->date == '\0' ? date : arena_format(list->arena, "of %s", date)},
        {0.085, head->scale, STYLE_VALUE_MM, head->units},
        {0.12, page, STYLE_VALUE_MM, ""},
        {0.08, arena_format(list->arena, "marling"), STYLE_NOTE_MM, head->version},
    };
    double left_mm = strip.left_mm;
    for (size_t i = 0; i < sizeof cells / sizeof *cells; i++) {
        double right_mm = left_mm + cells[i].share * (strip.right_mm - strip.left_mm);
        draw_cell(list, (DrawBox){left_mm, strip.top_mm, right_mm, strip.bottom_mm}, &cells[i]);
        if (i > 0) {
            draw_line(list, left_mm, strip.top_mm, left_mm, strip.bottom_mm, STYLE_THIN_MM);
        }
        left_mm = right_mm;
    }
}

/* --- sheet --------------------------------------------------------------------------------------
 */

const char *sheet_caution(void) {
    return "For amateur-built aircraft. The builder is the maker and answers for airworthiness. "
           "Makers' manuals, the authority's rules and a licensed inspection come before any "
           "figure here. Measure before flight.";
}

/* As large as fits its strip, the small size at most: A4 is too narrow for it in one line. */
static double caution_lines(DrawList *list, DrawBox frame, const char ***lines, size_t *count) {
    *count = fonts_wrap(list->fonts, list->arena, sheet_caution(), STYLE_NOTE_MM, false,
                        frame.right_mm - frame.left_mm - 2.0 * TEXT_GAP_MM, lines);
    return CAUTION_MM + (double)(*count - 1) * 4.0;
}

/* Height of the caution strip: by the width of the sheet, so that the field is known before. */
static double caution_height_mm(double width_mm) {
    return width_mm > 400.0 ? CAUTION_MM : CAUTION_MM + 4.0;
}

static DrawBox field_of(double width_mm, double height_mm) {
    DrawBox frame = frame_box(width_mm, height_mm);
    return (DrawBox){frame.left_mm + MARGIN_MM, frame.top_mm + MARGIN_MM,
                     frame.right_mm - MARGIN_MM,
                     frame.bottom_mm - STRIP_MM - caution_height_mm(width_mm) - MARGIN_MM};
}

DrawBox sheet_field(PaperSize size) {
    return field_of(paper_width_mm(size), paper_height_mm(size));
}

DrawBox sheet_frame(DrawList *list, const SheetHead *head) {
    DrawBox frame = frame_box(list->width_mm, list->height_mm);
    draw_layer(list, LAYER_FRAME);
    draw_row(list, TABLE_COUNT, "");
    draw_rectangle(list, frame, STYLE_THICK_MM);
    draw_zones(list, frame);
    DrawBox strip = {frame.left_mm, frame.bottom_mm - STRIP_MM, frame.right_mm, frame.bottom_mm};
    draw_line(list, strip.left_mm, strip.top_mm, strip.right_mm, strip.top_mm, STYLE_MEDIUM_MM);
    draw_strip(list, strip, head);

    const char **lines;
    size_t count;
    double needed_mm = caution_lines(list, frame, &lines, &count);
    double height_mm = caution_height_mm(list->width_mm);
    CHECK(needed_mm <= height_mm);
    double top_mm = strip.top_mm - height_mm;
    draw_line(list, frame.left_mm, top_mm, frame.right_mm, top_mm, STYLE_THIN_MM);
    for (size_t i = 0; i < count; i++) {
        draw_text(list, frame.left_mm + TEXT_GAP_MM, top_mm + 3.7 + 4.0 * (double)i,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, lines[i]);
    }
    draw_layer(list, LAYER_NOTE);
    return field_of(list->width_mm, list->height_mm);
}
