/* Method: everything comes from the panel's contours; nothing is measured anew. Statements and the
 * proof square stand left of and below the part, never on it. The part number looks for the first
 * place on the rear, from the lower left, where no hole, bend or edge is near. */
#include "draw/panel_cut.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "base/units.h"
#include "draw/engrave.h"
#include "draw/panel_look.h"

#define NUMBER_MM 4.0       /* height of the part number's letters */
#define NUMBER_CLEAR_MM 3.0 /* from anything */
#define MASK_REAR_MORE_MM 2.5
#define MASK_MORE_MM 2.0 /* a mask is wider than its opening by this all around */
#define NOTE_MM 5.0      /* letters of the statements */
#define NOTE_STEP_MM 9.0
#define BESIDE_MM 30.0 /* from the part to the proof square */
#define LINE_STEP 1.6  /* lines of a legend, of the height of its capitals */
#define STROKE_MM 0.6  /* width of a drawn symbol's lines */
#define LEGEND_MM 4.0  /* letters of a legend whose height nobody gave */

/* --- contours -----------------------------------------------------------------------------------
 */

Contour cut_contour(Arena *arena, const PanelContour *contour) {
    double diameter_mm = panel_contour_diameter_mm(contour);
    if (diameter_mm > 0.0) {
        const PanelBox *box = &contour->box;
        return contour_circle(arena, (box->u0_mm + box->u1_mm) / 2.0,
                              (box->v0_mm + box->v1_mm) / 2.0, diameter_mm / 2.0);
    }
    Contour out = {ARENA_ARRAY(arena, ContourPoint, 2 * (size_t)contour->count), 0};
    for (uint32_t i = 0; i < contour->count; i++) {
        const PanelPiece *piece = &contour->pieces[i];
        if (!piece->arc) {
            out.points[out.count++] = (ContourPoint){piece->from.u_mm, piece->from.v_mm, 0.0};
        } else if (fabs(piece->sweep_rad) <= units_rad_from_deg(180.0) + 1e-12) {
            out.points[out.count++] =
                (ContourPoint){piece->from.u_mm, piece->from.v_mm, tan(piece->sweep_rad / 4.0)};
        } else {
            PanelPoint middle = panel_piece_at(piece, 0.5);
            double bulge = tan(piece->sweep_rad / 8.0);
            out.points[out.count++] = (ContourPoint){piece->from.u_mm, piece->from.v_mm, bulge};
            out.points[out.count++] = (ContourPoint){middle.u_mm, middle.v_mm, bulge};
        }
    }
    return out;
}

/* --- words --------------------------------------------------------------------------------------
 */

const char *cut_part_number(Arena *arena, const Panel *panel, uint32_t face, const char *hash) {
    const TableSet *set = panel->model->set;
    const char *job = set->job.count == 0 ? "job" : set->job.rows[0].job;
    return arena_format(arena, "%s-%s-%.8s", job, panel->faces[face].key, hash);
}

static const char *named(const char *list, const char *nobody) {
    return *list == '\0' ? nobody : list;
}

const char *cut_notes(Arena *arena, const Panel *panel, uint32_t face, const char *hash) {
    const TableSet *set = panel->model->set;
    const PanelFace *plate = &panel->faces[face];
    const PanelFaceRow *row = &set->panel_face.rows[plate->row];
    const SheetRow *sheet = &set->sheet.rows[plate->sheet];
    Buffer out = {.arena = arena};
    buffer_format(&out, "PART %s, 1 off\n", cut_part_number(arena, panel, face, hash));
    buffer_text(&out, "UNITS: mm. VIEW: FROM THE FRONT, AS THE PILOT SEES IT\n");
    buffer_format(&out, "MATERIAL: %s, %.2f mm thick\n", sheet->name, plate->thickness_mm);
    if (plate->kerf_mm > 0.0) {
        buffer_format(&out, "KERF: allowed for HERE, %.3f mm wide; the cutter follows the lines\n",
                      plate->kerf_mm);
    } else {
        buffer_format(&out, "KERF: allowed for by: %s. Lines are the edges of the finished cut\n",
                      named(row->kerf_by, "NOBODY NAMED, ask before cutting"));
    }
    if (plate->coat_mm > 0.0 && plate->coat_by_shop) {
        buffer_format(&out,
                      "COATING: %.3f mm a side, allowed for HERE where edges are coated; add "
                      "nothing\n",
                      plate->coat_mm);
    } else if (plate->coat_mm > 0.0) {
        buffer_format(&out, "COATING: %.3f mm a side, openings allowed for by: %s\n",
                      plate->coat_mm, named(row->coat_by, "NOBODY NAMED, ask before cutting"));
    } else {
        buffer_text(&out, "COATING: none on edges\n");
    }
    for (size_t i = 0; i < set->panel_coat.count; i++) {
        const PanelCoatRow *coat = &set->panel_coat.rows[i];
        if (strcmp(coat->face, plate->key) == 0 && *coat->mask != '\0') {
            buffer_format(&out, "MASK ALSO: %s\n", coat->mask);
        }
    }
    buffer_text(&out, "ORDER: small holes first, edge last\n");
    return out.bytes;
}

size_t cut_legend_lines(Arena *arena, const char *text, const char ***lines) {
    size_t count = 1;
    for (const char *at = text; *at != '\0'; at++) {
        count += *at == '|';
    }
    *lines = ARENA_ARRAY(arena, const char *, count);
    const char *at = text;
    for (size_t i = 0; i < count; i++) {
        size_t length = strcspn(at, "|");
        while (length > 0 && *at == ' ') {
            at++;
            length--;
        }
        size_t kept = length;
        while (kept > 0 && at[kept - 1] == ' ') {
            kept--;
        }
        (*lines)[i] = arena_text(arena, at, kept);
        at += length + (at[length] == '|');
    }
    return count;
}

/* --- legends ------------------------------------------------------------------------------------
 */

static void add_placed(Arena *arena, ContourList *out, Contour contour, const PanelText *text) {
    ContourMove move = {.turn_deg = units_deg_from_rad(text->rotation_rad),
                        .x_mm = text->at.u_mm,
                        .y_mm = text->at.v_mm};
    contour_add(arena, out, contour_moved(arena, &contour, &move));
}

static Contour polygon(Arena *arena, const double *xy_mm, size_t count) {
    Contour contour = {ARENA_ARRAY(arena, ContourPoint, count), count};
    for (size_t i = 0; i < count; i++) {
        contour.points[i] = (ContourPoint){xy_mm[2 * i], xy_mm[2 * i + 1], 0.0};
    }
    return contour;
}

/* An arrow that points up, with its middle at nought, turned by quarters. */
static Contour arrow(Arena *arena, double width_mm, double height_mm, double turn_deg) {
    double w = width_mm / 2.0;
    double h = height_mm / 2.0;
    double neck = h - fmin(1.2 * w, 1.4 * h);
    double stem = 0.36 * w;
    double xy[] = {-stem, -h, stem, -h, stem, neck, w, neck, 0.0, h, -w, neck, -stem, neck};
    Contour up = polygon(arena, xy, 7);
    ContourMove move = {.turn_deg = turn_deg};
    return contour_moved(arena, &up, &move);
}

static void add_symbol(Arena *arena, const LegendRow *row, const PanelText *text,
                       ContourList *out) {
    double width_mm = isnan(row->width_mm) ? 4.0 : row->width_mm;
    double height_mm = isnan(row->height_mm) ? width_mm : row->height_mm;
    const char *symbol = row->symbol;
    if (strcmp(symbol, "line") == 0) {
        bool upright = height_mm > width_mm && !isnan(row->height_mm);
        add_placed(arena, out,
                   contour_rectangle(arena, 0.0, 0.0, upright ? STROKE_MM : width_mm,
                                     upright ? height_mm : STROKE_MM, 0.0),
                   text);
    } else if (strcmp(symbol, "frame") == 0) {
        Contour inside = contour_rectangle(arena, 0.0, 0.0, width_mm - 2.0 * STROKE_MM,
                                           height_mm - 2.0 * STROKE_MM, 1.4);
        add_placed(arena, out, contour_rectangle(arena, 0.0, 0.0, width_mm, height_mm, 2.0), text);
        add_placed(arena, out, contour_reversed(arena, &inside), text);
    } else if (strcmp(symbol, "dot") == 0) {
        add_placed(arena, out, contour_circle(arena, 0.0, 0.0, width_mm / 2.0), text);
    } else {
        double turn_deg = strcmp(symbol, "arrow_left") == 0    ? 90.0
                          : strcmp(symbol, "arrow_down") == 0  ? 180.0
                          : strcmp(symbol, "arrow_right") == 0 ? 270.0
                                                               : 0.0;
        bool lying = turn_deg == 90.0 || turn_deg == 270.0;
        add_placed(
            arena, out,
            arrow(arena, lying ? height_mm : width_mm, lying ? width_mm : height_mm, turn_deg),
            text);
    }
}

void cut_legend(Arena *arena, DrawFonts *fonts, const Panel *panel, const PanelText *text,
                ContourList *out) {
    const LegendRow *row = &panel->model->set->legend.rows[text->row];
    if (*row->symbol != '\0') {
        add_symbol(arena, row, text, out);
        return;
    }
    const char **lines;
    size_t count = cut_legend_lines(arena, row->text, &lines);
    double height_mm = text->letter_mm > 0.0 ? text->letter_mm : LEGEND_MM;
    double step_mm = LINE_STEP * height_mm;
    double high_mm = step_mm * (double)(count - 1) + height_mm;
    for (size_t i = 0; i < count; i++) {
        double down_mm = high_mm / 2.0 - height_mm - step_mm * (double)i;
        EngraveStyle style = {.height_mm = height_mm,
                              .align = ALIGN_MIDDLE,
                              .turn_deg = units_deg_from_rad(text->rotation_rad)};
        engrave_text(arena, fonts, lines[i], &style,
                     text->at.u_mm - down_mm * sin(text->rotation_rad),
                     text->at.v_mm + down_mm * cos(text->rotation_rad), out);
    }
}

/* --- masks --------------------------------------------------------------------------------------
 */

/* Coats thinner than this on an edge are films: nobody masks for a difference of less. */
#define FILM_MM 0.005

static void add_masks(CutFile *file, const Panel *panel, uint32_t face, const PanelHole *hole) {
    const TableSet *set = panel->model->set;
    if (hole->item == ID_NONE) {
        return;
    }
    const char *key = panel->items[hole->item].key;
    bool masked =
        hole->kind == PANEL_OPENING && hole->coat_mm < panel->faces[face].coat_mm - FILM_MM;
    static const struct {
        CutLayer layer;
        double more_mm; /* the rear has room for the nut: masks of both sides never coincide */
    } SIDES[] = {{CUT_LAYER_MASK_FRONT, MASK_MORE_MM}, {CUT_LAYER_MASK_REAR, MASK_REAR_MORE_MM}};
    for (size_t i = 0; masked && i < 2; i++) {
        PanelContour grown;
        if (panel_contour_offset(file->arena, &hole->contour, SIDES[i].more_mm, &grown)) {
            cut_add(file, SIDES[i].layer, key, cut_contour(file->arena, &grown));
        }
    }
    /* Bare metal behind a nutplate: it bonds what the screw holds. */
    if (hole->kind != PANEL_SCREW || hole->row >= set->cutout_hole.count) {
        return;
    }
    const char *part = set->cutout_hole.rows[hole->row].nutplate;
    for (size_t i = 0; i < set->nutplate.count; i++) {
        if (*part != '\0' && strcmp(set->nutplate.rows[i].nutplate, part) == 0) {
            cut_add(file, CUT_LAYER_MASK_REAR, key,
                    contour_circle(file->arena, hole->centre.u_mm, hole->centre.v_mm,
                                   set->nutplate.rows[i].width_mm / 2.0 + MASK_MORE_MM));
        }
    }
}

/* --- part number --------------------------------------------------------------------------------
 */

static bool is_clear(const Panel *panel, uint32_t face, const PanelContour *place) {
    const PanelFace *plate = &panel->faces[face];
    for (uint32_t i = 0; i < place->count; i++) {
        if (!panel_contour_holds(&plate->outline, place->pieces[i].from)) {
            return false;
        }
    }
    if (panel_contour_distance_mm(place, &plate->outline, 2.0 * NUMBER_CLEAR_MM, NULL, NULL) <
        2.0 * NUMBER_CLEAR_MM) {
        return false;
    }
    for (uint32_t i = 0; i < plate->hole_count; i++) {
        const PanelHole *hole = &panel->holes[plate->hole_first + i];
        double reach_mm = NUMBER_CLEAR_MM + hole->head_mm;
        if (panel_area_distance_mm(place, &hole->contour, reach_mm, NULL, NULL) < reach_mm) {
            return false;
        }
    }
    return true;
}

/* False when there is no room for it. */
static bool add_part_number(CutFile *file, DrawFonts *fonts, const Panel *panel, uint32_t face,
                            const char *hash) {
    const PanelFace *plate = &panel->faces[face];
    const char *number = cut_part_number(file->arena, panel, face, hash);
    double width_mm = fonts_width_mm(fonts, number, NUMBER_MM, false);
    const PanelBox *box = &plate->outline.box;
    const double STEP_MM = 2.0;
    int rows = (int)((box->v1_mm - box->v0_mm - NUMBER_MM) / STEP_MM);
    int columns = (int)((box->u1_mm - box->u0_mm - width_mm / 2.0) / STEP_MM);
    for (int i = 0; i < rows; i++) {
        for (int j = 0; j < columns; j++) {
            double u = box->u0_mm + width_mm / 2.0 + j * STEP_MM;
            double v = box->v0_mm + NUMBER_MM + i * STEP_MM;
            PanelPoint middle = {u, v};
            PanelContour place = panel_rectangle(file->arena, middle, width_mm, NUMBER_MM, 0.0);
            if (is_clear(panel, face, &place)) {
                /* Mirrored: it begins at the right as seen from the front. */
                cut_add_text(file, fonts, CUT_LAYER_MARK_REAR, "", number, u + width_mm / 2.0,
                             v - NUMBER_MM / 2.0, NUMBER_MM);
                return true;
            }
        }
    }
    return false;
}

/* --- faces --------------------------------------------------------------------------------------
 */

/* Lines of text downwards from (x, y) at the top left. */
static void add_notes(CutFile *file, DrawFonts *fonts, const char *notes, double x_mm,
                      double y_mm) {
    for (const char *at = notes; *at != '\0';) {
        size_t length = strcspn(at, "\n");
        const char *line = arena_text(file->arena, at, length);
        y_mm -= NOTE_STEP_MM;
        if (length > 0) {
            cut_add_text(file, fonts, CUT_LAYER_NOTE, "note", line, x_mm, y_mm, NOTE_MM);
        }
        at += length + (at[length] == '\n');
    }
}

/* The layers that the file uses, a line each. */
static const char *layer_notes(Arena *arena, const CutFile *file) {
    Buffer out = {.arena = arena};
    for (int layer = 0; layer < CUT_LAYER_COUNT; layer++) {
        bool used = false;
        for (size_t i = 0; i < file->count && !used; i++) {
            used = file->items[i].layer == (CutLayer)layer;
        }
        if (used) {
            buffer_format(&out, "LAYER %s: %s\n", cut_layer_name((CutLayer)layer),
                          cut_layer_what((CutLayer)layer));
        }
    }
    return out.bytes == NULL ? "" : out.bytes;
}

void cut_face(CutFile *file, DrawFonts *fonts, const Panel *panel, uint32_t face, const char *hash,
              bool with_notes, size_t *left_out) {
    CHECK(face < panel->face_count);
    const PanelFace *plate = &panel->faces[face];
    PanelLook plain = {.left_out = "", .shown = ""};
    *left_out = 0;
    for (uint32_t i = 0; i < plate->hole_count; i++) {
        const PanelHole *hole = &panel->holes[plate->hole_first + i];
        const char *key = hole->item == ID_NONE ? plate->key : panel->items[hole->item].key;
        if (hole->item != ID_NONE && !panel_look_shows(panel, &plain, hole->item)) {
            continue;
        }
        PanelContour cut;
        if (panel_cut_hole(file->arena, panel, plate->hole_first + i, &cut)) {
            cut_add(file, CUT_LAYER_CUT, key, cut_contour(file->arena, &cut));
        } else {
            (*left_out)++;
        }
        if (hole->sink_mm > 0.0 && hole->head_mm > 0.0) {
            cut_add(file, CUT_LAYER_CSK_FRONT, key,
                    contour_circle(file->arena, hole->centre.u_mm, hole->centre.v_mm,
                                   hole->head_mm / 2.0));
        }
        add_masks(file, panel, face, hole);
    }
    PanelContour edge;
    if (panel_cut_edge(file->arena, panel, face, &edge)) {
        cut_add_outline(file, plate->key, cut_contour(file->arena, &edge));
    } else {
        (*left_out)++;
    }
    for (uint32_t i = 0; i < plate->bend_count; i++) {
        const PanelBend *bend = &panel->bends[plate->bend_first + i];
        cut_add_line(file, CUT_LAYER_BEND, plate->key, bend->from.u_mm, bend->from.v_mm,
                     bend->to.u_mm, bend->to.v_mm);
    }
    for (uint32_t i = 0; i < plate->text_count; i++) {
        const PanelText *text = &panel->texts[plate->text_first + i];
        if (text->item != ID_NONE && !panel_look_shows(panel, &plain, text->item)) {
            continue;
        }
        ContourList letters = {0};
        cut_legend(file->arena, fonts, panel, text, &letters);
        const char *key = panel->model->set->legend.rows[text->row].legend;
        for (size_t j = 0; j < letters.count; j++) {
            cut_add(file, CUT_LAYER_MARK_FRONT, key, letters.items[j]);
        }
    }
    bool numbered = add_part_number(file, fonts, panel, face, hash);
    if (with_notes) {
        ContourBox box = cut_box(file);
        double y_mm = box.bottom_mm - BESIDE_MM - CUT_PROOF_MM;
        const char *notes =
            arena_format(file->arena, "%s%s%s", cut_notes(file->arena, panel, face, hash),
                         numbered ? "" : "NO ROOM FOR THE PART NUMBER ON THE REAR: MARK BY HAND\n",
                         layer_notes(file->arena, file));
        cut_add_proof(file, fonts, box.left_mm, y_mm);
        add_notes(file, fonts, notes, box.left_mm + CUT_PROOF_MM + 15.0, y_mm + CUT_PROOF_MM);
    }
    cut_sort(file);
}

/* --- nesting ------------------------------------------------------------------------------------
 */

#define STOCK_EDGE_MM 10.0 /* strip along a stock sheet that clamps and pierces need */
#define STOCK_GAP_MM 8.0   /* between parts */
#define STOCK_APART_MM 60.0

/* The edge of a part: what is cut last. */
static size_t last_cut(const CutFile *file) {
    size_t found = 0;
    for (size_t i = 0; i < file->count; i++) {
        if (file->items[i].outline) {
            found = i;
        }
    }
    return found;
}

void cut_nested(CutFile *file, DrawFonts *fonts, const Panel *panel, uint32_t sheet,
                const char *hash, NestPlan *plan) {
    Arena *arena = file->arena;
    const SheetRow *row = &panel->model->set->sheet.rows[sheet];
    *plan = (NestPlan){0};
    NestSheet stock = {row->length_mm, row->width_mm, STOCK_EDGE_MM, STOCK_GAP_MM};
    if (isnan(row->width_mm) || isnan(row->length_mm)) {
        return;
    }
    NestPart *parts = ARENA_ARRAY(arena, NestPart, (size_t)panel->face_count + 1);
    CutFile *files = ARENA_ARRAY(arena, CutFile, (size_t)panel->face_count + 1);
    Contour *edges = ARENA_ARRAY(arena, Contour, (size_t)panel->face_count + 1);
    size_t count = 0;
    for (uint32_t i = 0; i < panel->face_count; i++) {
        if (panel->faces[i].sheet != sheet) {
            continue;
        }
        size_t left_out;
        files[count].arena = arena;
        cut_face(&files[count], fonts, panel, i, hash, false, &left_out);
        edges[count] = files[count].items[last_cut(&files[count])].contour;
        parts[count] = (NestPart){panel->faces[i].key, &edges[count], false};
        count++;
    }
    nest_plan(arena, parts, count, &stock, plan);
    for (size_t i = 0; i < plan->sheet_count; i++) {
        double right_mm = (double)i * (stock.width_mm + STOCK_APART_MM);
        cut_add(file, CUT_LAYER_NOTE, "stock",
                contour_rectangle(arena, right_mm + stock.width_mm / 2.0, stock.height_mm / 2.0,
                                  stock.width_mm, stock.height_mm, 0.0));
    }
    for (size_t i = 0; i < count; i++) {
        NestPlace place = plan->places[i];
        if (place.sheet == NEST_NONE) {
            continue;
        }
        place.move.x_mm += (double)place.sheet * (stock.width_mm + STOCK_APART_MM);
        cut_add_moved(file, &files[i], &place.move);
    }
    cut_add_proof(file, fonts, 0.0, -BESIDE_MM - CUT_PROOF_MM);
    add_notes(file, fonts,
              arena_format(arena,
                           "STOCK: %s, %.0f x %.0f mm, %zu sheets; never fewer than %zu\n"
                           "UNITS: mm. VIEW: FROM THE FRONT\n"
                           "PARTS' EDGES ARE CUT LAST%s\n",
                           row->name, stock.width_mm, stock.height_mm, plan->sheet_count,
                           plan->least_sheets,
                           plan->unplaced > 0 ? ". PARTS THAT FIT NO SHEET ARE LEFT OUT" : ""),
              CUT_PROOF_MM + 15.0, -BESIDE_MM);
    cut_sort(file);
}
