/* The person before the panel: what the eye can read and see, what the hand reaches, and that the
 * wrong switch isn't taken in a hurry. */
#include "panel/checks.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "model/report.h"

#define DEGREES (UNITS_PI / 180.0)

static const double SLACK_MM = 1e-6;
static const double MINUTES = 60.0; /* of arc in a degree */

double panel_arc_min(double height_mm, double away_mm) {
    return 2.0 * atan(height_mm / 2.0 / away_mm) / DEGREES * MINUTES;
}

double panel_letter_mm(double arc_min, double away_mm) {
    return 2.0 * away_mm * tan(arc_min / MINUTES * DEGREES / 2.0);
}

static double apart_mm(PanelSpot a, PanelSpot b) {
    double dx = a.x_mm - b.x_mm;
    double dy = a.y_mm - b.y_mm;
    double dz = a.z_mm - b.z_mm;
    return sqrt(dx * dx + dy * dy + dz * dz);
}

static PanelSpot eye_of(const SeatRow *seat) {
    return (PanelSpot){seat->eye_x_mm, seat->eye_y_mm, seat->eye_z_mm};
}

/* --- letters ------------------------------------------------------------------------------------
 */

static void check_letter(PanelChecking *checking, uint32_t id) {
    const Panel *panel = checking->panel;
    const PanelText *text = &panel->texts[id];
    uint32_t seat = panel_seat(panel, text->face);
    if (!(text->letter_mm > 0.0) || seat == ID_NONE) {
        return;
    }
    const SeatRow *row = &panel->model->set->seat.rows[seat];
    const char *limit = text->emergency ? "panel_letter_emergency" : "panel_letter";
    double least_min = model_limit(panel->model, limit);
    double away_mm = apart_mm(eye_of(row), panel_spot(&panel->faces[text->face], text->at, 0.0));
    double needed_mm = panel_letter_mm(least_min, away_mm);
    double arc_min = panel_arc_min(text->letter_mm, away_mm);
    PanelChecks *checks = checking->checks;
    checks->letters[checks->letter_count++] =
        (PanelLetter){id, seat, away_mm, needed_mm, arc_min, least_min};
    if (!(text->letter_mm < needed_mm - SLACK_MM)) {
        return;
    }
    const LegendRow *legend = &panel->model->set->legend.rows[text->row];
    Finding *finding = report_row(
        checking->findings, panel->model, RULE_PANEL_LETTER, TABLE_legend, text->row, "letter_mm",
        "\"%s\" is %.2f mm high; read from %.0f mm it needs %.2f mm (%.2f of %.0f "
        "minutes of arc)",
        legend->text, text->letter_mm, away_mm, needed_mm, arc_min, least_min);
    panel_values(checking, finding, text->letter_mm, needed_mm, "mm", limit);
    report_hint(checking->findings, finding, "make it %.1f mm high",
                ceil(needed_mm * 10.0 - 1e-9) / 10.0);
}

/* --- reach and view -----------------------------------------------------------------------------
 */

/* From the nearer shoulder; NAN when the seat has none. */
static double reach_to_mm(const SeatRow *seat, PanelSpot spot) {
    double half_mm = isnan(seat->shoulder_apart_mm) ? 0.0 : seat->shoulder_apart_mm / 2.0;
    double least_mm = NAN;
    for (int side = -1; side <= 1; side += 2) {
        PanelSpot shoulder = {seat->shoulder_x_mm, seat->shoulder_y_mm + side * half_mm,
                              seat->shoulder_z_mm};
        double mm = apart_mm(shoulder, spot);
        least_mm = isnan(least_mm) ? mm : fmin(least_mm, mm);
    }
    return least_mm;
}

static bool is_urgent(const Panel *panel, uint32_t item) {
    return panel_item_is(panel, item, "emergency") || panel_item_is(panel, item, "engine");
}

static void check_reach(PanelChecking *checking, const PanelReach *reach, const SeatRow *seat) {
    if (isnan(reach->limit_mm)) {
        return;
    }
    const char *key = checking->panel->items[reach->item].key;
    if (isnan(reach->reach_mm)) {
        Finding *finding = panel_report_item(
            checking, RULE_PANEL_UNKNOWN, reach->item, "use",
            "the reach to %s is not proved: seat %s has no shoulder", key, seat->seat);
        finding->hint = "give shoulder_x_mm, shoulder_y_mm and shoulder_z_mm";
        return;
    }
    if (!(reach->reach_mm > reach->limit_mm + SLACK_MM)) {
        return;
    }
    Finding *finding = panel_report_item(
        checking, RULE_PANEL_REACH, reach->item, "",
        "%s is %.2f mm from the nearer shoulder in seat %s; belted, %.2f mm can be reached", key,
        reach->reach_mm, seat->seat, reach->limit_mm);
    panel_values(checking, finding, reach->reach_mm, reach->limit_mm, "mm",
                 isnan(seat->reach_mm) ? "panel_reach" : NULL);
    finding->rows = arena_format(checking->findings->arena, "%s %s", key, seat->seat);
}

static void check_view(PanelChecking *checking, const PanelReach *reach) {
    const Panel *panel = checking->panel;
    const PanelItem *item = &panel->items[reach->item];
    bool primary = panel_item_is(panel, reach->item, "primary");
    double side_deg = model_limit(panel->model, "panel_view");
    if (primary && fabs(reach->aside_deg) > side_deg + 1e-9) {
        Finding *finding =
            panel_report_item(checking, RULE_PANEL_VIEW, reach->item, "",
                              "%s is flown by and lies %.2f degrees to the side; at most %.2f",
                              item->key, fabs(reach->aside_deg), side_deg);
        panel_values(checking, finding, fabs(reach->aside_deg), side_deg, "deg", "panel_view");
        finding->rows = item->key;
    }
    double view_deg = panel_cutout(panel, reach->item)->view_deg;
    if (!isnan(view_deg) && reach->oblique_deg > view_deg + 1e-9) {
        Finding *finding = panel_report_item(
            checking, RULE_PANEL_VIEW, reach->item, "",
            "%s is looked at %.2f degrees off its normal; it is readable up to %.2f", item->key,
            reach->oblique_deg, view_deg);
        panel_values(checking, finding, reach->oblique_deg, view_deg, "deg", NULL);
        finding->rows = item->key;
    }
}

static void check_item(PanelChecking *checking, uint32_t id) {
    const Panel *panel = checking->panel;
    const PanelItem *item = &panel->items[id];
    const PanelFace *face = &panel->faces[item->face];
    uint32_t seat = panel_seat(panel, item->face);
    if (seat == ID_NONE) {
        return;
    }
    const SeatRow *row = &panel->model->set->seat.rows[seat];
    PanelSpot spot = panel_spot(face, item->at, 0.0);
    PanelSpot eye = eye_of(row);
    double dx = eye.x_mm - spot.x_mm;
    double dy = spot.y_mm - eye.y_mm;
    double dz = eye.z_mm - spot.z_mm;
    double away_mm = apart_mm(eye, spot);
    /* The normal of the front points aft, and up where the upper edge leans away. */
    double along_mm = dx * cos(face->tilt_rad) + dz * sin(face->tilt_rad);
    double limit_mm =
        isnan(row->reach_mm) ? model_limit(panel->model, "panel_reach") : row->reach_mm;
    PanelReach reach = {
        .item = id,
        .seat = seat,
        .reach_mm = reach_to_mm(row, spot),
        .limit_mm = is_urgent(panel, id) ? limit_mm : (double)NAN,
        .away_mm = away_mm,
        .aside_deg = atan2(dy, dx) / DEGREES,
        .oblique_deg = acos(fmax(-1.0, fmin(1.0, along_mm / away_mm))) / DEGREES,
    };
    checking->checks->reaches[checking->checks->reach_count++] = reach;
    check_reach(checking, &reach, row);
    check_view(checking, &reach);
}

/* --- switches -----------------------------------------------------------------------------------
 */

static void check_guard(PanelChecking *checking, uint32_t id) {
    const Panel *panel = checking->panel;
    if (panel_cutout(panel, id)->guarded == 1) {
        return;
    }
    const MountRow *mount = panel_mount(panel, id);
    Finding *finding = panel_report_item(checking, RULE_PANEL_GUARD, id, "cutout",
                                         "%s (%s) has neither guard nor lock: a sleeve can move it",
                                         mount->item, mount->use);
    finding->rows = mount->item;
    finding->hint = "take a cutout with a guard, or a lever that is pulled to move";
}

static void check_apart(PanelChecking *checking, uint32_t urgent, uint32_t other) {
    const Panel *panel = checking->panel;
    double least_mm = model_limit(panel->model, "panel_apart");
    double mm = panel_area_distance_mm(&panel->items[urgent].bezel, &panel->items[other].bezel,
                                       least_mm, NULL, NULL);
    if (!(mm < least_mm - SLACK_MM)) {
        return;
    }
    const char *key = panel->items[urgent].key;
    const char *other_key = panel->items[other].key;
    Finding *finding = panel_report_item(
        checking, RULE_PANEL_APART, urgent, "",
        "%s (%s) is %.2f mm from %s (%s); at least %.2f mm, so that the hand can't take one for "
        "the other",
        key, panel_mount(panel, urgent)->use, mm, other_key, panel_mount(panel, other)->use,
        least_mm);
    panel_values(checking, finding, mm, least_mm, "mm", "panel_apart");
    finding->rows = arena_format(checking->findings->arena, "%s %s", key, other_key);
}

static void check_group(PanelChecking *checking, uint32_t id, double nearest_mm, uint32_t nearest) {
    const Panel *panel = checking->panel;
    double limit_mm = model_limit(panel->model, "panel_group");
    if (nearest == ID_NONE || !(nearest_mm > limit_mm + SLACK_MM)) {
        return;
    }
    const char *key = panel->items[id].key;
    Finding *finding =
        panel_report_item(checking, RULE_PANEL_GROUP, id, "",
                          "%s is %.2f mm from %s, the nearest other emergency or engine switch; "
                          "within %.2f mm they are found together",
                          key, nearest_mm, panel->items[nearest].key, limit_mm);
    panel_values(checking, finding, nearest_mm, limit_mm, "mm", "panel_group");
    finding->rows =
        arena_format(checking->findings->arena, "%s %s", key, panel->items[nearest].key);
}

/* Urgent switches are few; each looks at all lighting and engine switches of its face. */
static void check_switches(PanelChecking *checking, const PanelFace *face) {
    const Panel *panel = checking->panel;
    uint32_t *urgent = ARENA_ARRAY(checking->out, uint32_t, face->item_count);
    uint32_t *lighting = ARENA_ARRAY(checking->out, uint32_t, face->item_count);
    uint32_t urgent_count = 0;
    uint32_t lighting_count = 0;
    for (uint32_t i = face->item_first; i < face->item_first + face->item_count; i++) {
        if (is_urgent(panel, i)) {
            urgent[urgent_count++] = i;
        } else if (panel_item_is(panel, i, "lighting")) {
            lighting[lighting_count++] = i;
        }
    }
    for (uint32_t i = 0; i < urgent_count; i++) {
        bool engine = panel_item_is(panel, urgent[i], "engine");
        check_guard(checking, urgent[i]);
        for (uint32_t j = 0; j < lighting_count; j++) {
            check_apart(checking, urgent[i], lighting[j]);
        }
        double nearest_mm = INFINITY;
        uint32_t nearest = ID_NONE;
        for (uint32_t j = 0; j < urgent_count; j++) {
            if (j > i && engine && panel_item_is(panel, urgent[j], "engine")) {
                check_apart(checking, urgent[i], urgent[j]);
            }
            double mm = panel_distance_mm(panel->items[urgent[i]].at, panel->items[urgent[j]].at);
            if (j != i && mm < nearest_mm) {
                nearest_mm = mm;
                nearest = urgent[j];
            }
        }
        if (!engine) {
            check_group(checking, urgent[i], nearest_mm, nearest);
        }
    }
}

void panel_check_person(PanelChecking *checking) {
    const Panel *panel = checking->panel;
    checking->checks->letters = ARENA_ARRAY(checking->out, PanelLetter, panel->text_count);
    checking->checks->reaches = ARENA_ARRAY(checking->out, PanelReach, panel->item_count);
    for (uint32_t i = 0; i < panel->text_count; i++) {
        check_letter(checking, i);
    }
    for (uint32_t i = 0; i < panel->item_count; i++) {
        check_item(checking, i);
    }
    for (uint32_t i = 0; i < panel->face_count; i++) {
        check_switches(checking, &panel->faces[i]);
    }
}
