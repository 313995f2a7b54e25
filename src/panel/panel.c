/* Faces first, then the shape of every cutout in use about nought, then places (bezels are known by
 * then, which equal gaps need), then items in the order of faces and keys: each gets copies of its
 * cutout's contours, turned and moved. */
#include "panel/panel.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "model/report.h"
#include "panel/place.h"
#include "panel/shapes.h"

#define DEGREES (UNITS_PI / 180.0)

/* Corners of one outline: far more than any panel has; what is looked at grows with its square. */
enum { OUTLINE_CORNERS_MAX = 2000 };

typedef struct Shape {
    PanelContour contour; /* about the item's middle; count 0: it can't be built */
    double width_mm;
} Shape;

typedef struct Reader {
    Arena *out;
    const Model *model;
    const TableSet *set;
    Panel *panel;
    Findings *findings;
    uint32_t *face_of;      /* by row of `panel_face`: PanelFace, ID_NONE */
    Shape *shapes;          /* by row of `cutout_hole` */
    uint32_t *hole_first;   /* by row of `cutout`, and one more: rows of `cutout_hole` */
    uint32_t *front_first;  /* rows of `cutout_front` */
    bool *cutout_used;      /* by row of `cutout` */
    uint32_t *mount_cutout; /* by row of `mount`: row of `cutout` */
    PanelPoint *half;       /* by row of `mount`: half the bezel */
    PanelPoint *at;         /* by row of `mount` */
    uint32_t *item_of;      /* by row of `mount`: PanelItem, ID_NONE */
    size_t hole_capacity, front_capacity, body_capacity, owner_capacity, face_capacity;
} Reader;

static double or_nought(double value) {
    return isnan(value) ? 0.0 : value;
}

/* Rows of a child table, sorted by parent key, as ranges by parent row. */
static uint32_t *ranges(Reader *reader, TableId parent, TableId child) {
    size_t parents = reader->set->any[parent].count;
    uint32_t *first = ARENA_ARRAY(reader->out, uint32_t, parents + 1);
    for (size_t i = 0; i < parents; i++) {
        const char *key = table_row_key(reader->out, parent, table_row(reader->set, parent, i));
        uint32_t count = 0;
        uint32_t at = model_rows_of(reader->model, child, key, &count);
        first[i] = count == 0 ? (i == 0 ? 0 : first[i]) : at;
        first[i + 1] = first[i] + count;
    }
    return first;
}

/* --- faces --------------------------------------------------------------------------------------
 */

static void outline_wrong(Reader *reader, uint32_t row, const char *what) {
    report_row(reader->findings, reader->model, RULE_PANEL_ROW, TABLE_outline, row, "", "%s", what);
}

/* The contour of rows [first, first + count) of `outline`. */
static bool read_contour(Reader *reader, uint32_t first, uint32_t count, PanelContour *contour) {
    const OutlineRow *rows = &reader->set->outline.rows[first];
    if (count > OUTLINE_CORNERS_MAX) {
        outline_wrong(reader, first, "an outline of more than 2000 corners");
        return false;
    }
    PanelPoint *corners = ARENA_ARRAY(reader->out, PanelPoint, count);
    double *round_mm = ARENA_ARRAY(reader->out, double, count);
    bool arcs = false;
    for (uint32_t i = 0; i < count; i++) {
        corners[i] = (PanelPoint){rows[i].u_mm, rows[i].v_mm};
        round_mm[i] = or_nought(rows[i].round_mm);
        arcs = arcs || !isnan(rows[i].mid_u_mm) || !isnan(rows[i].mid_v_mm);
    }
    for (uint32_t i = 0; i < count; i++) {
        if (panel_distance_mm(corners[i], corners[(i + 1) % count]) < PANEL_SAME_MM) {
            outline_wrong(reader, first + i, "two corners at one place");
            return false;
        }
    }
    if (!arcs) {
        if (count < 3 || !panel_polygon(reader->out, corners, round_mm, count, contour)) {
            outline_wrong(reader, first,
                          count < 3 ? "an outline needs three corners, or arcs"
                                    : "corners rounded with more than their sides allow");
            return false;
        }
    } else {
        PanelPiece *pieces = ARENA_ARRAY(reader->out, PanelPiece, count);
        for (uint32_t i = 0; i < count; i++) {
            PanelPoint next = corners[(i + 1) % count];
            bool arc = !isnan(rows[i].mid_u_mm) && !isnan(rows[i].mid_v_mm);
            PanelPoint middle = {rows[i].mid_u_mm, rows[i].mid_v_mm};
            pieces[i] =
                arc ? panel_arc_through(corners[i], middle, next) : panel_line(corners[i], next);
            if (round_mm[i] > 0.0) {
                outline_wrong(reader, first + i,
                              "an outline with arcs has no rounded corners: write them as arcs");
                return false;
            }
        }
        *contour = panel_contour(reader->out, pieces, count);
    }
    if (!panel_contour_closed(contour) || !(panel_contour_area_mm2(contour) > 0.0)) {
        outline_wrong(reader, first, "the outline crosses or touches itself");
        return false;
    }
    return true;
}

static bool owner_is_shop(const char *list) {
    return strcmp(list, "shop") == 0;
}

static void read_face(Reader *reader, uint32_t row) {
    const PanelFaceRow *given = &reader->set->panel_face.rows[row];
    uint32_t count = 0;
    uint32_t first = model_rows_of(reader->model, TABLE_outline, given->face, &count);
    uint32_t edge = 0;
    while (edge < count && reader->set->outline.rows[first + edge].contour ==
                               reader->set->outline.rows[first].contour) {
        edge++;
    }
    PanelFace face = {
        .key = given->face,
        .row = row,
        .sheet = model_row(reader->model, TABLE_sheet, given->sheet),
        .origin = {given->x_mm, given->y_mm, given->z_mm},
        .tilt_rad = or_nought(given->tilt_deg) * DEGREES,
        .coat_by_shop = owner_is_shop(given->coat_by),
        .kerf_mm = owner_is_shop(given->kerf_by) ? or_nought(given->kerf_mm) : 0.0,
    };
    if (count == 0) {
        report_row(reader->findings, reader->model, RULE_PANEL_ROW, TABLE_panel_face, row, "",
                   "face %s has no outline", given->face);
        return;
    }
    if (face.sheet == ID_NONE || !read_contour(reader, first, edge, &face.outline)) {
        return;
    }
    face.thickness_mm = reader->set->sheet.rows[face.sheet].thickness_mm;
    if (!(face.thickness_mm > 0.0)) {
        report_row(reader->findings, reader->model, RULE_PANEL_ROW, TABLE_sheet, face.sheet,
                   "thickness_mm", "a sheet without thickness");
        return;
    }
    uint32_t coats = 0;
    uint32_t coat = model_rows_of(reader->model, TABLE_panel_coat, given->face, &coats);
    for (uint32_t i = coat; i < coat + coats; i++) {
        const PanelCoatRow *step = &reader->set->panel_coat.rows[i];
        uint32_t finish = model_row(reader->model, TABLE_finish, step->finish);
        if (finish != ID_NONE && *step->item == '\0') {
            face.coat_mm += or_nought(reader->set->finish.rows[finish].thickness_mm);
        }
    }
    reader->face_of[row] = reader->panel->face_count;
    reader->panel->faces[reader->panel->face_count++] = face;
}

/* --- shapes of cutouts --------------------------------------------------------------------------
 */

static void read_shapes(Reader *reader, uint32_t cutout) {
    for (uint32_t i = reader->hole_first[cutout]; i < reader->hole_first[cutout + 1]; i++) {
        const CutoutHoleRow *row = &reader->set->cutout_hole.rows[i];
        Shape *shape = &reader->shapes[i];
        shape->width_mm = row->width_mm;
        uint32_t screw =
            *row->screw == '\0' ? ID_NONE : model_row(reader->model, TABLE_screw, row->screw);
        if (isnan(shape->width_mm) && screw != ID_NONE) {
            shape->width_mm = reader->set->screw.rows[screw].hole_mm;
        }
        PanelContour contour = {0};
        const char *wrong = panel_shape(reader->out, row, shape->width_mm, &contour);
        if (wrong == NULL && row->countersunk == 1 && screw == ID_NONE) {
            wrong = "countersunk for no screw";
        }
        if (wrong != NULL) {
            report_row(reader->findings, reader->model, RULE_PANEL_ROW, TABLE_cutout_hole, i, "",
                       "%s", wrong);
            continue;
        }
        PanelPoint by = {or_nought(row->u_mm), or_nought(row->v_mm)};
        shape->contour = panel_contour_moved(reader->out, &contour, 0.0, by);
    }
}

/* The largest opening's box about the item's middle; false when it has none. */
static bool largest_opening(const Reader *reader, uint32_t cutout, PanelBox *box) {
    double largest = 0.0;
    for (uint32_t i = reader->hole_first[cutout]; i < reader->hole_first[cutout + 1]; i++) {
        const PanelContour *contour = &reader->shapes[i].contour;
        if (contour->count == 0 || *reader->set->cutout_hole.rows[i].screw != '\0') {
            continue;
        }
        double size =
            (contour->box.u1_mm - contour->box.u0_mm) * (contour->box.v1_mm - contour->box.v0_mm);
        if (size > largest) {
            largest = size;
            *box = contour->box;
        }
    }
    return largest > 0.0;
}

/* A box of the given size about the middle, or, where no size is given, as `fallback`. */
static PanelBox box_or(double width_mm, double height_mm, PanelBox fallback) {
    PanelBox box = fallback;
    if (!isnan(width_mm)) {
        box.u0_mm = -width_mm / 2.0;
        box.u1_mm = width_mm / 2.0;
    }
    if (!isnan(height_mm)) {
        box.v0_mm = -height_mm / 2.0;
        box.v1_mm = height_mm / 2.0;
    }
    return box;
}

static PanelBox bezel_box(const Reader *reader, uint32_t cutout) {
    const CutoutRow *row = &reader->set->cutout.rows[cutout];
    PanelBox opening = {0};
    largest_opening(reader, cutout, &opening);
    return box_or(row->bezel_width_mm, row->bezel_height_mm, opening);
}

static void read_cutouts(Reader *reader) {
    size_t mounts = reader->set->mount.count;
    reader->hole_first = ranges(reader, TABLE_cutout, TABLE_cutout_hole);
    reader->front_first = ranges(reader, TABLE_cutout, TABLE_cutout_front);
    reader->shapes = ARENA_ARRAY(reader->out, Shape, reader->set->cutout_hole.count);
    reader->cutout_used = ARENA_ARRAY(reader->out, bool, reader->set->cutout.count);
    reader->mount_cutout = ARENA_ARRAY(reader->out, uint32_t, mounts);
    reader->half = ARENA_ARRAY(reader->out, PanelPoint, mounts);
    for (size_t i = 0; i < mounts; i++) {
        const MountRow *mount = &reader->set->mount.rows[i];
        uint32_t cutout = model_row(reader->model, TABLE_cutout, mount->cutout);
        reader->mount_cutout[i] = cutout;
        if (cutout == ID_NONE) {
            continue;
        }
        if (!reader->cutout_used[cutout]) {
            reader->cutout_used[cutout] = true;
            read_shapes(reader, cutout);
        }
        PanelBox box = bezel_box(reader, cutout);
        double turn = or_nought(mount->rotation_deg) * DEGREES;
        double w = (box.u1_mm - box.u0_mm) / 2.0;
        double h = (box.v1_mm - box.v0_mm) / 2.0;
        reader->half[i] = (PanelPoint){fabs(w * cos(turn)) + fabs(h * sin(turn)),
                                       fabs(w * sin(turn)) + fabs(h * cos(turn))};
    }
}

/* --- items --------------------------------------------------------------------------------------
 */

static PanelHole *add_hole(Reader *reader) {
    Panel *panel = reader->panel;
    size_t count = panel->hole_count;
    PanelHole *hole = ARENA_PUSH(reader->out, panel->holes, count, reader->hole_capacity);
    panel->hole_count = (uint32_t)count;
    *hole = (PanelHole){.screw = ID_NONE, .item = ID_NONE};
    return hole;
}

static void add_body(Reader *reader, uint32_t item, PanelBoxKind kind, PanelBox box, double from_mm,
                     double to_mm) {
    if (!(to_mm > from_mm)) {
        return;
    }
    Panel *panel = reader->panel;
    size_t count = panel->body_count;
    PanelBody *body = ARENA_PUSH(reader->out, panel->bodies, count, reader->body_capacity);
    panel->body_count = (uint32_t)count;
    *body = (PanelBody){item, kind, box, from_mm, to_mm};
}

/* The box around a rectangle of the item once it is turned and moved. */
static PanelBox box_placed(const PanelItem *item, PanelBox box) {
    double c = cos(item->rotation_rad);
    double s = sin(item->rotation_rad);
    double u = (box.u0_mm + box.u1_mm) / 2.0;
    double v = (box.v0_mm + box.v1_mm) / 2.0;
    double w = (box.u1_mm - box.u0_mm) / 2.0;
    double h = (box.v1_mm - box.v0_mm) / 2.0;
    double half_u = fabs(w * c) + fabs(h * s);
    double half_v = fabs(w * s) + fabs(h * c);
    double at_u = item->at.u_mm + c * u - s * v;
    double at_v = item->at.v_mm + s * u + c * v;
    return (PanelBox){at_u - half_u, at_u + half_u, at_v - half_v, at_v + half_v};
}

static PanelPoint point_placed(const PanelItem *item, double u_mm, double v_mm) {
    double c = cos(item->rotation_rad);
    double s = sin(item->rotation_rad);
    return (PanelPoint){item->at.u_mm + c * u_mm - s * v_mm, item->at.v_mm + s * u_mm + c * v_mm};
}

/* Coats on the edges of the item's holes. */
static double edge_coat_mm(const Reader *reader, const PanelItem *item) {
    const char *face = reader->panel->faces[item->face].key;
    const char *kind = reader->set->cutout.rows[item->cutout].kind;
    uint32_t count = 0;
    uint32_t first = model_rows_of(reader->model, TABLE_panel_coat, face, &count);
    double coat_mm = 0.0;
    for (uint32_t i = first; i < first + count; i++) {
        const PanelCoatRow *step = &reader->set->panel_coat.rows[i];
        uint32_t finish = model_row(reader->model, TABLE_finish, step->finish);
        bool left_free =
            text_has_word(step->free_edges, item->key) || text_has_word(step->free_edges, kind);
        if (finish != ID_NONE && *step->item == '\0' && !left_free) {
            coat_mm += or_nought(reader->set->finish.rows[finish].thickness_mm);
        }
    }
    return coat_mm;
}

/* Rivets and the box of a nutplate behind screw hole `number` at (u, v) of the item. */
static void add_nutplate(Reader *reader, uint32_t item_id, uint32_t row, double coat_mm) {
    const PanelItem *item = &reader->panel->items[item_id];
    const CutoutHoleRow *given = &reader->set->cutout_hole.rows[row];
    uint32_t plate = model_row(reader->model, TABLE_nutplate, given->nutplate);
    if (plate == ID_NONE) {
        return;
    }
    const NutplateRow *nutplate = &reader->set->nutplate.rows[plate];
    double along = or_nought(given->nutplate_deg) * DEGREES;
    double u = or_nought(given->u_mm);
    double v = or_nought(given->v_mm);
    double thickness_mm = reader->panel->faces[item->face].thickness_mm;
    for (int side = 0; side < 2; side++) {
        double half = (side == 0 ? -0.5 : 0.5) * nutplate->pitch_mm;
        PanelHole *hole = add_hole(reader);
        hole->kind = PANEL_RIVET;
        hole->face = item->face;
        hole->item = item_id;
        hole->row = row;
        hole->number = 100 * given->hole + side + 1;
        hole->centre = point_placed(item, u + half * cos(along), v + half * sin(along));
        hole->diameter_mm = nutplate->rivet_mm;
        hole->contour = panel_circle(reader->out, hole->centre, nutplate->rivet_mm);
        hole->head_mm = nutplate->rivet_head_mm;
        hole->coat_mm = coat_mm;
    }
    double l = nutplate->length_mm / 2.0;
    double w = nutplate->width_mm / 2.0;
    double half_u = fabs(l * cos(along)) + fabs(w * sin(along));
    double half_v = fabs(l * sin(along)) + fabs(w * cos(along));
    PanelBox box = {u - half_u, u + half_u, v - half_v, v + half_v};
    add_body(reader, item_id, PANEL_NUTPLATE, box_placed(item, box), thickness_mm,
             thickness_mm + nutplate->height_mm);
}

static void add_item_hole(Reader *reader, uint32_t item_id, uint32_t row, double coat_mm) {
    const PanelItem *item = &reader->panel->items[item_id];
    const CutoutHoleRow *given = &reader->set->cutout_hole.rows[row];
    const Shape *shape = &reader->shapes[row];
    PanelHole *hole = add_hole(reader);
    hole->kind = *given->screw == '\0' ? PANEL_OPENING : PANEL_SCREW;
    hole->face = item->face;
    hole->item = item_id;
    hole->row = row;
    hole->number = given->hole;
    hole->contour = panel_contour_moved(reader->out, &shape->contour, item->rotation_rad, item->at);
    hole->centre = point_placed(item, or_nought(given->u_mm), or_nought(given->v_mm));
    hole->diameter_mm = panel_contour_diameter_mm(&hole->contour);
    hole->coat_mm = coat_mm;
    if (hole->kind == PANEL_SCREW) {
        hole->screw = model_row(reader->model, TABLE_screw, given->screw);
    }
    if (hole->screw == ID_NONE) {
        return;
    }
    const ScrewRow *screw = &reader->set->screw.rows[hole->screw];
    hole->head_mm = screw->head_mm;
    if (given->countersunk == 1 && !isnan(screw->head_deg)) {
        hole->sink_deg = screw->head_deg;
        hole->sink_mm = panel_sink_mm(screw->head_mm, screw->body_mm, screw->head_deg);
    }
}

static void add_front(Reader *reader, uint32_t item_id, uint32_t row) {
    Panel *panel = reader->panel;
    const PanelItem *item = &panel->items[item_id];
    const CutoutFrontRow *given = &reader->set->cutout_front.rows[row];
    PanelPoint nought = {0.0, 0.0};
    PanelContour contour = isnan(given->height_mm)
                               ? panel_circle(reader->out, nought, given->width_mm)
                               : panel_rectangle(reader->out, nought, given->width_mm,
                                                 given->height_mm, or_nought(given->radius_mm));
    PanelPoint at = point_placed(item, or_nought(given->u_mm), or_nought(given->v_mm));
    size_t count = panel->front_count;
    PanelFront *front = ARENA_PUSH(reader->out, panel->fronts, count, reader->front_capacity);
    panel->front_count = (uint32_t)count;
    *front = (PanelFront){
        .item = item_id,
        .row = row,
        .contour = panel_contour_moved(reader->out, &contour, item->rotation_rad, at),
        .high_mm = or_nought(given->high_mm),
        .room_mm = or_nought(given->room_mm),
    };
}

static void add_bodies(Reader *reader, uint32_t item_id) {
    PanelItem *item = &reader->panel->items[item_id];
    const CutoutRow *cutout = &reader->set->cutout.rows[item->cutout];
    PanelBox opening = {0};
    bool open = largest_opening(reader, item->cutout, &opening);
    if (isnan(cutout->depth_mm) || (!open && isnan(cutout->body_width_mm))) {
        return;
    }
    PanelBox box = box_placed(item, box_or(cutout->body_width_mm, cutout->body_height_mm, opening));
    double body_mm = cutout->depth_mm;
    double connector_mm = body_mm + or_nought(cutout->connector_mm);
    item->depth_mm = connector_mm + or_nought(cutout->tool_mm);
    add_body(reader, item_id, PANEL_BODY, box, reader->panel->faces[item->face].thickness_mm,
             body_mm);
    add_body(reader, item_id, PANEL_CONNECTOR, box, body_mm, connector_mm);
    add_body(reader, item_id, PANEL_TOOL, box, connector_mm, item->depth_mm);
}

static bool item_is_fitted(const Reader *reader, const MountRow *mount) {
    uint32_t option =
        *mount->option == '\0' ? ID_NONE : model_row(reader->model, TABLE_option, mount->option);
    return option == ID_NONE || reader->set->option.rows[option].chosen != 0;
}

static void add_owners(Reader *reader, PanelItem *item) {
    Panel *panel = reader->panel;
    const MountRow *mount = &reader->set->mount.rows[item->row];
    const char *place = mount->serves;
    const char *word;
    size_t length;
    item->owner_first = panel->owner_count;
    while (text_next_word(&place, &word, &length)) {
        const char *tag = arena_text(reader->out, word, length);
        if (strcmp(tag, "spare") == 0) {
            item->spare = true;
            continue;
        }
        OwnerId owner = model_owner(reader->model, tag);
        if (owner == ID_NONE && !item_is_fitted(reader, mount)) {
            continue; /* it went with the option */
        }
        if (owner == ID_NONE) {
            Finding *finding = report_row(reader->findings, reader->model, RULE_PANEL_MOUNT,
                                          TABLE_mount, item->row, "serves",
                                          "item %s serves %s, which is not there", item->key, tag);
            report_meant(reader->findings, finding, reader->model, tag);
            continue;
        }
        size_t count = panel->owner_count;
        *ARENA_PUSH(reader->out, panel->owners, count, reader->owner_capacity) = owner;
        panel->owner_count = (uint32_t)count;
    }
    item->owner_count = panel->owner_count - item->owner_first;
}

static void add_bezel(Reader *reader, PanelItem *item) {
    const CutoutRow *cutout = &reader->set->cutout.rows[item->cutout];
    PanelBox box = bezel_box(reader, item->cutout);
    double w = box.u1_mm - box.u0_mm;
    double h = box.v1_mm - box.v0_mm;
    PanelPoint middle = {(box.u0_mm + box.u1_mm) / 2.0, (box.v0_mm + box.v1_mm) / 2.0};
    double radius_mm = or_nought(cutout->bezel_radius_mm);
    bool round = w == h && radius_mm >= w / 2.0;
    PanelContour bezel = round ? panel_circle(reader->out, middle, w)
                               : panel_rectangle(reader->out, middle, w, h, radius_mm);
    item->bezel = panel_contour_moved(reader->out, &bezel, item->rotation_rad, item->at);
    item->bezel_high_mm = or_nought(cutout->bezel_high_mm);
}

static void read_item(Reader *reader, uint32_t row, uint32_t face) {
    Panel *panel = reader->panel;
    const MountRow *mount = &reader->set->mount.rows[row];
    PanelPoint at = reader->at[row];
    uint32_t cutout = reader->mount_cutout[row];
    if (cutout == ID_NONE || panel_declined(reader->model, mount->option)) {
        return;
    }
    if (isnan(at.u_mm) || isnan(at.v_mm)) {
        report_row(reader->findings, reader->model, RULE_PANEL_ROW, TABLE_mount, row,
                   isnan(at.u_mm) ? "u_mm" : "v_mm", "item %s has no place", mount->item);
        return;
    }
    PanelBox bezel = bezel_box(reader, cutout);
    if (!(bezel.u1_mm > bezel.u0_mm) || !(bezel.v1_mm > bezel.v0_mm)) {
        report_row(reader->findings, reader->model, RULE_PANEL_ROW, TABLE_mount, row, "cutout",
                   "cutout %s has neither an opening nor a bezel", mount->cutout);
        return;
    }
    uint32_t id = panel->item_count++;
    reader->item_of[row] = id;
    PanelItem *item = &panel->items[id];
    *item = (PanelItem){
        .key = mount->item,
        .row = row,
        .cutout = cutout,
        .face = face,
        .at = at,
        .rotation_rad = or_nought(mount->rotation_deg) * DEGREES,
        .hole_first = panel->hole_count,
        .front_first = panel->front_count,
        .body_first = panel->body_count,
    };
    add_bezel(reader, item);
    add_owners(reader, item);
    add_bodies(reader, id);
    double coat_mm = edge_coat_mm(reader, item);
    for (int screws = 0; screws < 2; screws++) {
        for (uint32_t i = reader->hole_first[cutout]; i < reader->hole_first[cutout + 1]; i++) {
            const CutoutHoleRow *hole = &reader->set->cutout_hole.rows[i];
            bool screw = *hole->screw != '\0';
            if (reader->shapes[i].contour.count == 0 || screw != (screws == 1)) {
                continue;
            }
            add_item_hole(reader, id, i, coat_mm);
            if (*hole->nutplate != '\0') {
                add_nutplate(reader, id, i, coat_mm);
            }
        }
    }
    for (uint32_t i = reader->front_first[cutout]; i < reader->front_first[cutout + 1]; i++) {
        add_front(reader, id, i);
    }
    item->hole_count = panel->hole_count - item->hole_first;
    item->front_count = panel->front_count - item->front_first;
    item->body_count = panel->body_count - item->body_first;
}

/* Openings of the outline that belong to no item: contours after the first. */
static void read_free_openings(Reader *reader, uint32_t face_id) {
    PanelFace *face = &reader->panel->faces[face_id];
    const OutlineRow *rows = reader->set->outline.rows;
    uint32_t count = 0;
    uint32_t first = model_rows_of(reader->model, TABLE_outline, face->key, &count);
    for (uint32_t i = first; i < first + count;) {
        uint32_t next = i;
        while (next < first + count && rows[next].contour == rows[i].contour) {
            next++;
        }
        PanelContour contour;
        if (i > first && read_contour(reader, i, next - i, &contour)) {
            PanelHole *hole = add_hole(reader);
            hole->face = face_id;
            hole->row = i;
            hole->number = rows[i].contour;
            hole->contour = contour;
            hole->centre = panel_contour_centroid(&contour);
            hole->coat_mm = face->coat_mm;
        }
        i = next;
    }
}

/* --- texts, bends -------------------------------------------------------------------------------
 */

static void read_texts(Reader *reader, uint32_t face_id) {
    Panel *panel = reader->panel;
    for (size_t i = 0; i < reader->set->legend.count; i++) {
        const LegendRow *row = &reader->set->legend.rows[i];
        if (strcmp(row->face, panel->faces[face_id].key) != 0) {
            continue;
        }
        uint32_t mount =
            *row->item == '\0' ? ID_NONE : model_row(reader->model, TABLE_mount, row->item);
        if (mount != ID_NONE &&
            panel_declined(reader->model, reader->set->mount.rows[mount].option)) {
            continue; /* it names what isn't there */
        }
        panel->texts[panel->text_count++] = (PanelText){
            .row = (uint32_t)i,
            .face = face_id,
            .item = mount == ID_NONE ? ID_NONE : reader->item_of[mount],
            .at = {row->u_mm, row->v_mm},
            .rotation_rad = or_nought(row->rotation_deg) * DEGREES,
            .letter_mm = *row->text == '\0' ? 0.0 : or_nought(row->letter_mm),
            .emergency = strcmp(row->kind, "emergency") == 0,
        };
        if (*row->text != '\0' && !(row->letter_mm > 0.0)) {
            report_row(reader->findings, reader->model, RULE_PANEL_ROW, TABLE_legend, (uint32_t)i,
                       "letter_mm", "legend %s has no letter height", row->legend);
        }
    }
}

static void read_bends(Reader *reader, uint32_t face_id) {
    Panel *panel = reader->panel;
    for (size_t i = 0; i < reader->set->panel_bend.count; i++) {
        const PanelBendRow *row = &reader->set->panel_bend.rows[i];
        if (strcmp(row->face, panel->faces[face_id].key) != 0) {
            continue;
        }
        PanelBend bend = {
            .row = (uint32_t)i,
            .face = face_id,
            .from = {row->from_u_mm, row->from_v_mm},
            .to = {row->to_u_mm, row->to_v_mm},
            .radius_mm = row->radius_mm,
            .angle_rad = row->angle_deg * DEGREES,
        };
        if (panel_distance_mm(bend.from, bend.to) < PANEL_SAME_MM) {
            report_row(reader->findings, reader->model, RULE_PANEL_ROW, TABLE_panel_bend,
                       (uint32_t)i, "", "bend %s has no length", row->bend);
            continue;
        }
        panel->bends[panel->bend_count++] = bend;
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool panel_read(Arena *out, const Model *model, Panel *panel, Findings *findings) {
    const TableSet *set = model->set;
    *panel = (Panel){.model = model};
    if (set->panel_face.count == 0) {
        return false;
    }
    Reader reader = {.out = out, .model = model, .set = set, .panel = panel, .findings = findings};
    panel->faces = ARENA_ARRAY(out, PanelFace, set->panel_face.count);
    panel->items = ARENA_ARRAY(out, PanelItem, set->mount.count);
    panel->texts = ARENA_ARRAY(out, PanelText, set->legend.count);
    panel->bends = ARENA_ARRAY(out, PanelBend, set->panel_bend.count);
    reader.face_of = ARENA_ARRAY(out, uint32_t, set->panel_face.count);
    reader.item_of = ARENA_ARRAY(out, uint32_t, set->mount.count);
    reader.at = ARENA_ARRAY(out, PanelPoint, set->mount.count);
    memset(reader.item_of, 0xFF, set->mount.count * sizeof *reader.item_of);
    for (uint32_t i = 0; i < set->panel_face.count; i++) {
        reader.face_of[i] = ID_NONE;
        read_face(&reader, i);
    }
    read_cutouts(&reader);
    panel_place(out, model, reader.half, reader.at, findings);
    for (uint32_t i = 0; i < panel->face_count; i++) {
        PanelFace *face = &panel->faces[i];
        face->item_first = panel->item_count;
        face->hole_first = panel->hole_count;
        face->text_first = panel->text_count;
        face->bend_first = panel->bend_count;
        for (uint32_t j = 0; j < set->mount.count; j++) {
            if (strcmp(set->mount.rows[j].face, face->key) == 0) {
                read_item(&reader, j, i);
            }
        }
        read_free_openings(&reader, i);
        read_texts(&reader, i);
        read_bends(&reader, i);
        face->item_count = panel->item_count - face->item_first;
        face->hole_count = panel->hole_count - face->hole_first;
        face->text_count = panel->text_count - face->text_first;
        face->bend_count = panel->bend_count - face->bend_first;
    }
    return panel->face_count > 0;
}

double panel_sink_mm(double head_mm, double body_mm, double angle_deg) {
    return (head_mm - body_mm) / 2.0 / tan(angle_deg * DEGREES / 2.0);
}

bool panel_cut_hole(Arena *out, const Panel *panel, uint32_t hole, PanelContour *cut) {
    const PanelHole *given = &panel->holes[hole];
    const PanelFace *face = &panel->faces[given->face];
    double by_mm = (face->coat_by_shop ? given->coat_mm : 0.0) - face->kerf_mm / 2.0;
    return panel_contour_offset(out, &given->contour, by_mm, cut);
}

bool panel_cut_edge(Arena *out, const Panel *panel, uint32_t face, PanelContour *cut) {
    const PanelFace *given = &panel->faces[face];
    double by_mm = given->kerf_mm / 2.0 - (given->coat_by_shop ? given->coat_mm : 0.0);
    return panel_contour_offset(out, &given->outline, by_mm, cut);
}

bool panel_declined(const Model *model, const char *option) {
    uint32_t row = *option == '\0' ? ID_NONE : model_row(model, TABLE_option, option);
    return row != ID_NONE && model->set->option.rows[row].chosen == 0;
}

bool panel_band(Arena *out, const Panel *panel, uint32_t coat, PanelContour *band,
                uint32_t *found) {
    const PanelCoatRow *row = &panel->model->set->panel_coat.rows[coat];
    if (*row->item == '\0' || !(row->band_mm > 0.0)) {
        return false;
    }
    for (uint32_t i = 0; i < panel->item_count; i++) {
        const PanelItem *item = &panel->items[i];
        if (strcmp(item->key, row->item) == 0 && item->hole_count > 0 &&
            strcmp(panel->faces[item->face].key, row->face) == 0) {
            *found = i;
            return panel_contour_offset(out, &panel->holes[item->hole_first].contour, row->band_mm,
                                        band);
        }
    }
    return false;
}

PanelBox panel_text_box(Arena *out, const Panel *panel, uint32_t text) {
    const PanelText *given = &panel->texts[text];
    const PanelInk *ink = &panel->ink[given->row];
    PanelBox box = panel_box_moved(ink->box, given->at);
    for (uint32_t i = 0; given->rotation_rad != 0.0 && i < ink->count; i++) {
        PanelContour turned =
            panel_contour_moved(out, &ink->contours[i], given->rotation_rad, given->at);
        box = i == 0 ? turned.box : panel_box_around(box, turned.box);
    }
    return box;
}

uint32_t panel_behind(const Panel *panel, uint32_t item) {
    const TableSet *set = panel->model->set;
    const PanelItem *it = &panel->items[item];
    uint32_t least = ID_NONE;
    for (uint32_t i = it->body_first; i < it->body_first + it->body_count; i++) {
        const PanelBox *box = &panel->bodies[i].box;
        for (uint32_t k = 0; panel->bodies[i].kind == PANEL_BODY && k < set->behind.count; k++) {
            const BehindRow *row = &set->behind.rows[k];
            if (strcmp(row->face, panel->faces[it->face].key) == 0 && row->from_u_mm < box->u1_mm &&
                box->u0_mm < row->to_u_mm && row->from_v_mm < box->v1_mm &&
                box->v0_mm < row->to_v_mm &&
                (least == ID_NONE || row->depth_mm < set->behind.rows[least].depth_mm)) {
                least = k;
            }
        }
    }
    return least;
}

PanelSpot panel_spot(const PanelFace *face, PanelPoint at, double depth_mm) {
    /* Tilted, v leans forward (towards smaller x) and the back lies lower. */
    double c = cos(face->tilt_rad);
    double s = sin(face->tilt_rad);
    return (PanelSpot){
        .x_mm = face->origin.x_mm - s * at.v_mm - c * depth_mm,
        .y_mm = face->origin.y_mm + at.u_mm,
        .z_mm = face->origin.z_mm + c * at.v_mm - s * depth_mm,
    };
}

const char *panel_hole_name(const Panel *panel, Arena *arena, uint32_t hole) {
    const PanelHole *given = &panel->holes[hole];
    const char *owner =
        given->item == ID_NONE ? panel->faces[given->face].key : panel->items[given->item].key;
    return arena_format(arena, "%s.%d", owner, given->number);
}

const MountRow *panel_mount(const Panel *panel, uint32_t item) {
    return &panel->model->set->mount.rows[panel->items[item].row];
}

const CutoutRow *panel_cutout(const Panel *panel, uint32_t item) {
    return &panel->model->set->cutout.rows[panel->items[item].cutout];
}
