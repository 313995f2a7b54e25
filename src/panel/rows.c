/* The panel's result tables. */
#include <math.h>

#include "panel/check.h"

static const double MM_PER_M = 1000.0;

/* --- openings and webs --------------------------------------------------------------------------
 */

static const char *kind_name(PanelHoleKind kind) {
    switch (kind) {
    case PANEL_OPENING:
        return "opening";
    case PANEL_SCREW:
        return "screw";
    case PANEL_RIVET:
        break;
    }
    return "rivet";
}

static const char *hole_owner(const Panel *panel, const PanelHole *hole) {
    return hole->item == ID_NONE ? panel->faces[hole->face].key : panel->items[hole->item].key;
}

static const char *shape_name(const Panel *panel, const PanelHole *hole) {
    if (hole->item == ID_NONE) {
        return "outline";
    }
    return hole->kind == PANEL_RIVET ? "round"
                                     : panel->model->set->cutout_hole.rows[hole->row].kind;
}

static void opening_rows(Arena *out, const Panel *panel, TableSet *set) {
    for (uint32_t i = 0; i < panel->hole_count; i++) {
        const PanelHole *hole = &panel->holes[i];
        const PanelBox *box = &hole->contour.box;
        PanelContour cut = hole->contour;
        panel_cut_hole(out, panel, i, &cut);
        OpeningRow *row = table_append(set, out, TABLE_opening);
        row->item = hole_owner(panel, hole);
        row->hole = hole->number;
        row->face = panel->faces[hole->face].key;
        row->what = kind_name(hole->kind);
        row->shape = shape_name(panel, hole);
        row->u_mm = hole->centre.u_mm;
        row->v_mm = hole->centre.v_mm;
        row->width_mm = box->u1_mm - box->u0_mm;
        row->height_mm = box->v1_mm - box->v0_mm;
        row->cut_width_mm = cut.box.u1_mm - cut.box.u0_mm;
        row->cut_height_mm = cut.box.v1_mm - cut.box.v0_mm;
        row->area = panel_contour_area_mm2(&hole->contour);
        if (hole->sink_mm > 0.0) {
            row->sink_mm = hole->sink_mm;
        }
        if (hole->head_mm > 0.0) {
            row->head_mm = hole->head_mm;
        }
        if (hole->screw != ID_NONE) {
            row->screw = panel->model->set->screw.rows[hole->screw].screw;
        }
    }
}

static void web_rows(Arena *out, const Panel *panel, const PanelChecks *checks, TableSet *set) {
    static const char *const to[] = {"opening", "screw", "edge"};
    for (size_t i = 0; i < checks->web_count; i++) {
        const PanelWeb *web = &checks->webs[i];
        const PanelHole *hole = &panel->holes[web->hole];
        WebRow *row = table_append(set, out, TABLE_web);
        row->item = hole_owner(panel, hole);
        row->hole = hole->number;
        row->to = to[web->to];
        row->other = web->other == ID_NONE ? panel->faces[hole->face].key
                                           : panel_hole_name(panel, out, web->other);
        row->distance_mm = web->distance_mm;
        row->limit_mm = web->limit_mm;
        row->margin_mm = web->distance_mm - web->limit_mm;
        row->u_mm = web->at.u_mm;
        row->v_mm = web->at.v_mm;
    }
}

/* --- room, letters, reach -----------------------------------------------------------------------
 */

static double or_nought(double value) {
    return isnan(value) ? 0.0 : value;
}

static void depth_rows(Arena *out, const Panel *panel, const PanelChecks *checks, TableSet *set) {
    for (size_t i = 0; i < checks->depth_count; i++) {
        const PanelDepth *depth = &checks->depths[i];
        const CutoutRow *cutout = panel_cutout(panel, depth->item);
        const BehindRow *behind = &panel->model->set->behind.rows[depth->behind];
        DepthRow *row = table_append(set, out, TABLE_depth);
        row->item = panel->items[depth->item].key;
        row->behind = behind->behind;
        row->what = behind->what;
        row->body_mm = or_nought(cutout->depth_mm);
        row->connector_mm = or_nought(cutout->connector_mm);
        row->tool_mm = or_nought(cutout->tool_mm);
        row->needed_mm = depth->needed_mm;
        row->free_mm = depth->free_mm;
        row->margin_mm = depth->free_mm - depth->needed_mm;
    }
}

static void person_rows(Arena *out, const Panel *panel, const PanelChecks *checks, TableSet *set) {
    const TableSet *job = panel->model->set;
    for (size_t i = 0; i < checks->letter_count; i++) {
        const PanelLetter *letter = &checks->letters[i];
        const PanelText *text = &panel->texts[letter->text];
        LetterRow *row = table_append(set, out, TABLE_letter);
        row->legend = job->legend.rows[text->row].legend;
        row->text = job->legend.rows[text->row].text;
        row->seat = job->seat.rows[letter->seat].seat;
        row->away_mm = letter->away_mm;
        row->letter_mm = text->letter_mm;
        row->needed_mm = letter->needed_mm;
        row->arc = letter->arc_min;
        row->arc_least = letter->arc_least_min;
    }
    for (size_t i = 0; i < checks->reach_count; i++) {
        const PanelReach *reach = &checks->reaches[i];
        ReachRow *row = table_append(set, out, TABLE_reach);
        row->item = panel->items[reach->item].key;
        row->seat = job->seat.rows[reach->seat].seat;
        row->use = panel_mount(panel, reach->item)->use;
        row->reach_mm = reach->reach_mm;
        row->limit_mm = reach->limit_mm;
        row->away_mm = reach->away_mm;
        row->aside_deg = reach->aside_deg;
        row->oblique_deg = reach->oblique_deg;
    }
}

/* --- mass ---------------------------------------------------------------------------------------
 */

typedef struct Sum {
    double mass_kg;
    double x, y, z; /* mass x place */
    uint32_t unknown;
} Sum;

static PanelMassRow *mass_row(Arena *out, TableSet *set, const char *face, const char *item,
                              double mass_kg, PanelSpot at, Sum *sum) {
    PanelMassRow *row = table_append(set, out, TABLE_panel_mass);
    row->face = face;
    row->item = item;
    row->mass_kg = mass_kg;
    row->x_mm = at.x_mm;
    row->y_mm = at.y_mm;
    row->z_mm = at.z_mm;
    row->moment_kgm = mass_kg * at.x_mm / MM_PER_M;
    if (isnan(mass_kg)) {
        sum->unknown++;
    } else {
        sum->mass_kg += mass_kg;
        sum->x += mass_kg * at.x_mm;
        sum->y += mass_kg * at.y_mm;
        sum->z += mass_kg * at.z_mm;
    }
    return row;
}

/* Units by their parts, and what the cutout says on top; NAN when neither is known. */
static double item_kg(const Panel *panel, uint32_t id) {
    const PanelItem *item = &panel->items[id];
    const Model *model = panel->model;
    double mass_kg = panel_cutout(panel, id)->mass_kg;
    for (uint32_t i = item->owner_first; i < item->owner_first + item->owner_count; i++) {
        const ModelOwner *owner = &model->owners[panel->owners[i]];
        if (owner->kind != OWNER_UNIT || owner->part == ID_NONE) {
            continue;
        }
        double part_kg = model->set->part.rows[owner->part].mass_kg;
        mass_kg = isnan(mass_kg) ? part_kg : mass_kg + or_nought(part_kg);
    }
    return mass_kg;
}

/* The sheet without its holes: area and middle of the area. */
static double sheet_kg(const Panel *panel, const PanelFace *face, PanelPoint *middle) {
    double area = panel_contour_area_mm2(&face->outline);
    PanelPoint at = panel_contour_centroid(&face->outline);
    PanelPoint moment = {area * at.u_mm, area * at.v_mm};
    for (uint32_t i = face->hole_first; i < face->hole_first + face->hole_count; i++) {
        double hole = panel_contour_area_mm2(&panel->holes[i].contour);
        at = panel_contour_centroid(&panel->holes[i].contour);
        area -= hole;
        moment.u_mm -= hole * at.u_mm;
        moment.v_mm -= hole * at.v_mm;
    }
    *middle = (PanelPoint){moment.u_mm / area, moment.v_mm / area};
    double volume_m3 = area * face->thickness_mm / (MM_PER_M * MM_PER_M * MM_PER_M);
    return volume_m3 * panel->model->set->sheet.rows[face->sheet].density;
}

static void mass_rows(Arena *out, const Panel *panel, const PanelChecks *checks, TableSet *set) {
    for (uint32_t i = 0; i < panel->face_count; i++) {
        const PanelFace *face = &panel->faces[i];
        Sum sum = {0};
        PanelPoint middle;
        double sheet = sheet_kg(panel, face, &middle);
        mass_row(out, set, face->key, "sheet", sheet,
                 panel_spot(face, middle, face->thickness_mm / 2.0), &sum);
        for (uint32_t j = face->item_first; j < face->item_first + face->item_count; j++) {
            const PanelItem *item = &panel->items[j];
            double deep_mm = or_nought(panel_cutout(panel, j)->depth_mm) / 2.0;
            double mass_kg = item_kg(panel, j);
            if (!isnan(mass_kg) || item->depth_mm > 0.0) {
                mass_row(out, set, face->key, item->key, mass_kg,
                         panel_spot(face, item->at, deep_mm), &sum);
            }
        }
        PanelSpot at = {sum.x / sum.mass_kg, sum.y / sum.mass_kg, sum.z / sum.mass_kg};
        uint32_t unknown = sum.unknown;
        PanelMassRow *all = mass_row(out, set, face->key, "all", sum.mass_kg, at, &sum);
        if (checks->heats[i].phase != ID_NONE) {
            all->heat_w = checks->heats[i].most_w;
        }
        if (unknown > 0) {
            all->note = arena_format(out, "without %u items whose mass is not known", unknown);
        }
    }
}

void panel_rows(Arena *out, const Panel *panel, const PanelChecks *checks, TableSet *set) {
    if (panel->face_count == 0) {
        return;
    }
    opening_rows(out, panel, set);
    web_rows(out, panel, checks, set);
    depth_rows(out, panel, checks, set);
    person_rows(out, panel, checks, set);
    mass_rows(out, panel, checks, set);
}
