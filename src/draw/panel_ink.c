/* Legends are engraved as for a cutter and turned into pieces; the holes in letters are left out,
 * for nothing that the panel has fits into them. Finding the arcs of letters is nearly all the work
 * of a panel's part in a proof, and an edit leaves nearly all legends as they are: so their ink is
 * kept with the typefaces, under the words and their height, and copied from there. */
#include "draw/panel_ink.h"

#include <math.h>
#include <string.h>

#include "draw/panel_cut.h"

static PanelContour from_cut(Arena *out, const Contour *contour) {
    PanelPiece *pieces = ARENA_ARRAY(out, PanelPiece, contour->count);
    for (size_t i = 0; i < contour->count; i++) {
        const ContourPoint *from = &contour->points[i];
        const ContourPoint *to = &contour->points[(i + 1) % contour->count];
        PanelPoint a = {from->x_mm, from->y_mm};
        PanelPoint b = {to->x_mm, to->y_mm};
        double x_mm;
        double y_mm;
        double radius_mm;
        if (contour_arc(from, to, &x_mm, &y_mm, &radius_mm)) {
            pieces[i] = panel_arc((PanelPoint){x_mm, y_mm}, radius_mm,
                                  atan2(a.v_mm - y_mm, a.u_mm - x_mm), 4.0 * atan(from->bulge));
            pieces[i].from = a;
            pieces[i].to = b;
        } else {
            pieces[i] = panel_line(a, b);
        }
    }
    return panel_contour(out, pieces, (uint32_t)contour->count);
}

static PanelInk ink_of(Arena *out, Arena *scratch, DrawFonts *fonts, const Panel *panel,
                       uint32_t row) {
    const LegendRow *legend = &panel->model->set->legend.rows[row];
    PanelText text = {.row = row,
                      .item = ID_NONE,
                      .letter_mm = legend->letter_mm > 0.0 ? legend->letter_mm : 0.0};
    ContourList all = {0};
    cut_legend(scratch, fonts, panel, &text, &all);
    PanelInk ink = {.contours = ARENA_ARRAY(out, PanelContour, all.count),
                    .hollow = strcmp(legend->symbol, "frame") == 0};
    for (size_t i = 0; i < all.count; i++) {
        if (contour_area_mm2(&all.items[i]) <= 0.0 && !ink.hollow) {
            continue;
        }
        PanelContour contour = from_cut(out, &all.items[i]);
        ink.box = ink.count == 0 ? contour.box : panel_box_around(ink.box, contour.box);
        ink.contours[ink.count++] = contour;
    }
    return ink;
}

/* All pieces in one stretch of memory. */
static PanelInk copy_of(Arena *out, const PanelInk *from) {
    PanelInk ink = *from;
    size_t count = 0;
    for (uint32_t i = 0; i < from->count; i++) {
        count += from->contours[i].count;
    }
    ink.contours = ARENA_ARRAY(out, PanelContour, from->count);
    PanelPiece *pieces = ARENA_ARRAY(out, PanelPiece, count);
    for (uint32_t i = 0; i < from->count; i++) {
        ink.contours[i] = from->contours[i];
        ink.contours[i].pieces = pieces;
        if (from->contours[i].count > 0) {
            memcpy(pieces, from->contours[i].pieces, from->contours[i].count * sizeof *pieces);
        }
        pieces += from->contours[i].count;
    }
    return ink;
}

/* What words of that height look like, whoever asked first; symbols are drawn anew. */
static PanelInk ink_known(Arena *out, Arena *scratch, DrawFonts *fonts, const Panel *panel,
                          uint32_t row) {
    const LegendRow *legend = &panel->model->set->legend.rows[row];
    if (*legend->symbol != '\0') {
        return ink_of(out, scratch, fonts, panel, row);
    }
    Arena *keeper;
    void **place = fonts_keep(
        fonts, arena_format(scratch, "ink %a %s", legend->letter_mm, legend->text), &keeper);
    if (*place == NULL) {
        PanelInk *ink = ARENA_NEW(keeper, PanelInk);
        *ink = ink_of(keeper, scratch, fonts, panel, row);
        *place = ink;
    }
    return copy_of(out, *place);
}

const PanelInk *panel_ink(Arena *out, DrawFonts *fonts, const Model *model) {
    uint32_t count = (uint32_t)model->set->legend.count;
    if (count == 0) {
        return NULL;
    }
    const Panel panel = {.model = model};
    PanelInk *ink = ARENA_ARRAY(out, PanelInk, count);
    Arena scratch = {0};
    for (uint32_t i = 0; i < count; i++) {
        ink[i] = ink_known(out, &scratch, fonts, &panel, i);
    }
    arena_free(&scratch);
    return ink;
}
