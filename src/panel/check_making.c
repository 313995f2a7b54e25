/* What the cutter, the coater and the countersink make of it: depth of countersinks against the
 * sheet, holes too small for the beam, sharp inside corners, and who allows for the width of the
 * cut and for the coating. */
#include "panel/checks.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "model/report.h"

static const double SLACK_MM = 1e-6;

/* --- holes --------------------------------------------------------------------------------------
 */

static void check_sink(PanelChecking *checking, uint32_t id) {
    const Panel *panel = checking->panel;
    const PanelHole *hole = &panel->holes[id];
    double thickness_mm = panel->faces[hole->face].thickness_mm;
    double limit_pct = model_limit(panel->model, "panel_sink");
    double share_pct = 100.0 * hole->sink_mm / thickness_mm;
    if (!(share_pct > limit_pct + 1e-9)) {
        return;
    }
    const ScrewRow *screw = &panel->model->set->screw.rows[hole->screw];
    const char *name = panel_hole_name(panel, checking->findings->arena, id);
    Finding *finding = panel_report_hole(
        checking, RULE_PANEL_SINK, id,
        "the countersink of %s for %s is %.2f mm deep, %.2f %% of the %.2f mm sheet; at most %.2f "
        "%%, or its edge is a knife",
        name, screw->screw, hole->sink_mm, share_pct, thickness_mm, limit_pct);
    panel_values(checking, finding, share_pct, limit_pct, "%", "panel_sink");
    finding->rows = name;
    report_hint(checking->findings, finding,
                "a flatter head, a smaller screw, or a sheet of %.2f mm or more",
                100.0 * hole->sink_mm / limit_pct);
}

static void check_small(PanelChecking *checking, uint32_t id) {
    const Panel *panel = checking->panel;
    const PanelHole *hole = &panel->holes[id];
    const PanelBox *box = &hole->contour.box;
    double least_mm =
        model_limit(panel->model, "panel_small") * panel->faces[hole->face].thickness_mm;
    double narrow_mm = fmin(box->u1_mm - box->u0_mm, box->v1_mm - box->v0_mm);
    if (!(narrow_mm < least_mm - SLACK_MM)) {
        return;
    }
    const char *name = panel_hole_name(panel, checking->findings->arena, id);
    Finding *finding =
        panel_report_hole(checking, RULE_PANEL_SMALL, id,
                          "%s is %.2f mm wide; a beam cuts holes of %.2f mm and more in this sheet",
                          name, narrow_mm, least_mm);
    panel_values(checking, finding, narrow_mm, least_mm, "mm", "panel_small");
    finding->rows = name;
    finding->hint = "have it marked by the beam and drilled";
}

/* Rectangles, trapezoids and free openings: what keeps a part from turning in its hole (a key, a
 * flat) is sharp by intent. */
static bool corners_matter(const Panel *panel, const PanelHole *hole) {
    if (hole->kind != PANEL_OPENING) {
        return false;
    }
    if (hole->item == ID_NONE) {
        return true;
    }
    const char *kind = panel->model->set->cutout_hole.rows[hole->row].kind;
    return strcmp(kind, "rectangle") == 0 || strcmp(kind, "trapezoid") == 0;
}

static void check_corner(PanelChecking *checking, uint32_t id) {
    const Panel *panel = checking->panel;
    const PanelHole *hole = &panel->holes[id];
    double least_mm = model_limit(panel->model, "panel_corner");
    double radius_mm =
        corners_matter(panel, hole) ? panel_contour_corner_mm(&hole->contour) : (double)INFINITY;
    if (!(radius_mm < least_mm - SLACK_MM)) {
        return;
    }
    const char *name = panel_hole_name(panel, checking->findings->arena, id);
    Finding *finding = panel_report_hole(
        checking, RULE_PANEL_CORNER, id,
        "corners of %s have a radius of %.2f mm; cracks begin at less than %.2f mm", name,
        radius_mm, least_mm);
    panel_values(checking, finding, radius_mm, least_mm, "mm", "panel_corner");
    finding->rows = name;
}

static void check_cut(PanelChecking *checking, uint32_t id) {
    const Panel *panel = checking->panel;
    const PanelFace *face = &panel->faces[panel->holes[id].face];
    PanelContour cut;
    if ((face->kerf_mm > 0.0 || face->coat_by_shop) &&
        !panel_cut_hole(checking->out, panel, id, &cut)) {
        panel_report_hole(checking, RULE_PANEL_ROW, id,
                          "%s is too small to be offset by half the kerf",
                          panel_hole_name(panel, checking->findings->arena, id));
    }
}

/* --- owners -------------------------------------------------------------------------------------
 */

static Finding *report_face(PanelChecking *checking, RuleId rule, const PanelFace *face,
                            const char *column, const char *text) {
    Finding *finding = report_row(checking->findings, checking->panel->model, rule,
                                  TABLE_panel_face, face->row, column, "%s", text);
    finding->hint = "write shop or cutter, and say it on the drawing";
    return finding;
}

/* Exactly one of shop and cutter. */
static void check_owner(PanelChecking *checking, const PanelFace *face, RuleId rule,
                        const char *column, const char *list, const char *what) {
    Arena *arena = checking->findings->arena;
    char **words;
    size_t count = text_split(arena, list, &words);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(words[i], "shop") != 0 && strcmp(words[i], "cutter") != 0) {
            report_face(checking, rule, face, column,
                        arena_format(arena, "%s allows for %s of face %s: only shop or cutter can",
                                     words[i], what, face->key));
            return;
        }
    }
    if (count != 1) {
        Finding *finding = report_face(
            checking, rule, face, column,
            count == 0 ? arena_format(arena, "nobody is named who allows for %s of face %s", what,
                                      face->key)
                       : arena_format(arena,
                                      "%zu are named who allow for %s of face %s: it would be done "
                                      "twice",
                                      count, what, face->key));
        panel_values(checking, finding, (double)count, 1.0, "", NULL);
    }
}

static void check_face(PanelChecking *checking, const PanelFace *face) {
    const PanelFaceRow *row = &checking->panel->model->set->panel_face.rows[face->row];
    check_owner(checking, face, RULE_PANEL_KERF, "kerf_by", row->kerf_by, "the width of the cut");
    if (face->coat_mm > 0.0) {
        check_owner(checking, face, RULE_PANEL_COAT, "coat_by", row->coat_by, "the coating");
    }
    if (strcmp(row->kerf_by, "shop") == 0 && isnan(row->kerf_mm)) {
        report_face(checking, RULE_PANEL_KERF, face, "kerf_mm",
                    "the shop allows for the width of the cut, which is not given");
    }
}

void panel_check_making(PanelChecking *checking) {
    const Panel *panel = checking->panel;
    for (uint32_t i = 0; i < panel->face_count; i++) {
        check_face(checking, &panel->faces[i]);
    }
    for (uint32_t i = 0; i < panel->hole_count; i++) {
        check_sink(checking, i);
        check_small(checking, i);
        check_corner(checking, i);
        check_cut(checking, i);
    }
}
