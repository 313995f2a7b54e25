/* Draws the drawing of support/drawing.h in every format into a folder, beside it what it holds
 * (items.json, taken from the display list and not from any writer), and a document of three pages
 * of different paper with links and bookmarks between them.
 *
 *     draw_everything FOLDER
 *     draw_everything FOLDER SOURCE_FOLDER JOB    instead: every sheet of a job below examples/ as
 * SVG and DXF, and its items */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/draw.h"
#include "base/text.h"
#include "draw/paper.h"
#include "draw/sheets.h"
#include "out/pdf.h"
#include "out/write.h"
#include "support/drawing.h"

static json_t *json_of_point(DrawPoint point) {
    return json_pack("[f, f]", point.x_mm, point.y_mm);
}

static json_t *json_of_item(const DrawList *list, const DrawItem *item) {
    static const char *const KINDS[] = {"path", "arc", "text", "link", "anchor"};
    json_t *points = json_array();
    for (uint32_t i = 0; i < item->point_count; i++) {
        json_array_append_new(points, json_of_point(draw_points(list, item)[i]));
    }
    double width_mm = item->kind == DRAW_TEXT
                          ? item->shaped->advance_em * fonts_size_mm(list->fonts, item->height_mm)
                          : 0.0;
    json_t *row = json_pack(
        "{s:s, s:s, s:[f,f,f,f], s:o, s:o, s:f, s:f, s:f, s:f, s:f, s:f, s:b, s:b, s:b, s:b, s:i,"
        " s:i, s:i}",
        "kind", KINDS[item->kind], "layer", draw_layer_name(item->layer), "box", item->box.left_mm,
        item->box.top_mm, item->box.right_mm, item->box.bottom_mm, "points", points, "origin",
        json_of_point(item->origin), "weight_mm", item->weight_mm, "radius_mm", item->radius_mm,
        "from_deg", item->from_deg, "to_deg", item->to_deg, "height_mm", item->height_mm,
        "width_mm", width_mm, "filled", item->filled, "closed", item->closed, "turned",
        item->turned, "bold", item->bold, "dash", (int)item->dash, "rgb", (int)item->rgb,
        "fill_rgb", (int)item->fill_rgb);
    if (item->kind == DRAW_TEXT) {
        /* Some of them are letters that jansson refuses to hold as a string: as bytes. */
        json_t *bytes = json_array();
        for (const char *at = item->text; *at != '\0'; at++) {
            json_array_append_new(bytes, json_integer((unsigned char)*at));
        }
        json_object_set_new(row, "text", bytes);
    }
    return row;
}

static Status write_items(Arena *arena, const DrawList *list, const char *folder,
                          const char *name) {
    json_t *items = json_array();
    for (size_t i = 0; i < list->count; i++) {
        json_array_append_new(items, json_of_item(list, &list->items[i]));
    }
    Status status =
        json_dump_file(items, arena_format(arena, "%s/%s.json", folder, name), JSON_INDENT(1)) == 0
            ? status_ok()
            : status_failed("cannot write", folder, 0);
    json_decref(items);
    return status;
}

/* Pages in two parts; the links of the first lead to the others and back. */
static Status write_document(Arena *arena, DrawFonts *fonts, const char *folder, size_t *lost) {
    static const PaperSize PAPERS[] = {PAPER_A3, PAPER_A4, PAPER_LETTER};
    static const char *const NAMES[] = {"first", DRAWING_ANCHOR, DRAWING_ANCHOR_CYRILLIC};
    PdfMeta meta = {DRAWING_TITLE, "subject", "2026-01-31", "test"};
    Pdf *pdf = pdf_open(arena, arena_format(arena, "%s/document.pdf", folder), &meta);
    for (size_t i = 0; i < 3; i++) {
        DrawList list;
        draw_start(&list, arena, fonts, paper_width_mm(PAPERS[i]), paper_height_mm(PAPERS[i]));
        draw_text(&list, 30.0, 30.0, (DrawTextStyle){.height_mm = STYLE_TITLE_MM},
                  arena_format(arena, "page number %zu", i + 1));
        draw_anchor(&list, NAMES[i], 30.0, 30.0);
        for (size_t j = 0; j < 3; j++) {
            double top_mm = 40.0 + 10.0 * (double)j;
            draw_link(&list, (DrawBox){30.0, top_mm, 60.0, top_mm + 5.0}, NAMES[j]);
        }
        draw_link(&list, (DrawBox){30.0, 80.0, 60.0, 85.0}, DRAWING_URI);
        pdf_page(
            pdf, &list, i == 0 ? "" : "Part \xD0\x96 & (two)",
            arena_format(arena, "Sheet %zu: \xD0\x9B\xD0\xB8\xD1\x81\xD1\x82 (a \\ b)", i + 1));
    }
    return pdf_close(pdf, lost);
}

static Status write_everything(Arena *arena, DrawFonts *fonts, const char *folder, size_t *lost) {
    DrawList list;
    drawing_make(&list, arena, fonts);
    Status status = write_items(arena, &list, folder, "items");
    static const char *const ENDINGS[] = {"svg", "pdf", "png", "dxf"};
    for (size_t i = 0; i < 4 && !status.failed; i++) {
        status = out_write(&list, DRAWING_TITLE,
                           arena_format(arena, "%s/everything.%s", folder, ENDINGS[i]));
    }
    return status.failed ? status : write_document(arena, fonts, folder, lost);
}

static Status write_sheets(Arena *arena, DrawFonts *fonts, const char *folder, const char *source,
                           const char *job) {
    Proof proof;
    ProofOptions options = {.library = arena_format(arena, "%s/library", source)};
    proof_run(arena_format(arena, "%s/examples/%s", source, job), &options, &proof);
    DrawView view;
    const char *problem = "the job can't be read";
    Status status = status_ok();
    if (!proof.complete || !draw_view_build(arena, &proof, &(DrawChoice){0}, &view, &problem)) {
        status = status_failed(problem, job, 0);
    } else {
        Findings findings = {.arena = arena};
        SheetPlan plan;
        sheets_plan(arena, fonts, &view, &plan, &findings);
        for (uint32_t i = 0; i < plan.count && !status.failed; i++) {
            Arena page = {0};
            DrawList list;
            const Sheet *sheet = &plan.sheets[i];
            sheet_draw(&plan, i, &page, false, &list);
            status = write_items(&page, &list, folder, sheet->name);
            static const char *const ENDINGS[] = {"svg", "dxf"};
            for (size_t j = 0; j < 2 && !status.failed; j++) {
                status =
                    out_write(&list, sheet->title,
                              arena_format(&page, "%s/%s.%s", folder, sheet->name, ENDINGS[j]));
            }
            arena_free(&page);
        }
    }
    proof_free(&proof);
    return status;
}

int main(int count, char **words) {
    if (count != 2 && count != 4) {
        fprintf(stderr, "draw_everything wants FOLDER [SOURCE_FOLDER JOB]\n");
        return 2;
    }
    Arena arena = {0};
    DrawFonts *fonts = fonts_open();
    size_t lost = 0;
    Status status = count == 2 ? write_everything(&arena, fonts, words[1], &lost)
                               : write_sheets(&arena, fonts, words[1], words[2], words[3]);
    if (status.failed) {
        fprintf(stderr, "%s\n", status.text);
    }
    fonts_close(fonts);
    arena_free(&arena);
    return status.failed ? 2 : lost > 0 ? 1 : 0;
}
