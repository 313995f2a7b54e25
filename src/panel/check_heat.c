/* Heat behind a face: what its boxes draw at nominal voltage in the phase that draws most, all of
 * it turned into heat, against the air that is led past them: P / (rho c Q), with the density of
 * the standard atmosphere at the highest altitude of the zone. */
#include "panel/checks.h"

#include <math.h>
#include <string.h>

#include "model/report.h"

/* ICAO standard atmosphere: density at sea level, and how it falls with height below 11 km. */
static const double SEA_LEVEL_KG_M3 = 1.225;
static const double PER_M = 2.25577e-5;
static const double EXPONENT = 4.25588;
/* Specific heat of dry air at constant pressure. */
static const double J_PER_KG_K = 1005.0;
static const double L_PER_M3 = 1000.0;

double panel_rise_degc(double heat_w, double airflow_l, double altitude_m) {
    double density = SEA_LEVEL_KG_M3 * pow(1.0 - PER_M * altitude_m, EXPONENT);
    return heat_w / (density * J_PER_KG_K * airflow_l / L_PER_M3);
}

/* Watts of every face in every phase: units served by its items. */
static double *phase_watts(PanelChecking *checking) {
    const Panel *panel = checking->panel;
    const Model *model = panel->model;
    size_t phases = model->set->phase.count;
    double volts = model->set->job.rows[0].nominal_v;
    uint32_t *face_of = ARENA_ARRAY(checking->out, uint32_t, model->owner_count);
    memset(face_of, 0xFF, model->owner_count * sizeof *face_of);
    for (uint32_t i = 0; i < panel->item_count; i++) {
        const PanelItem *item = &panel->items[i];
        for (uint32_t j = item->owner_first; j < item->owner_first + item->owner_count; j++) {
            if (model->owners[panel->owners[j]].kind == OWNER_UNIT) {
                face_of[panel->owners[j]] = item->face;
            }
        }
    }
    double *watts = ARENA_ARRAY(checking->out, double, panel->face_count *phases);
    for (uint32_t i = 0; i < checking->supply->load_count; i++) {
        const SupplyLoad *load = &checking->supply->loads[i];
        uint32_t face = face_of[load->owner];
        for (size_t phase = 0; face != ID_NONE && phase < phases; phase++) {
            watts[face * phases + phase] += volts * load->phase_a[phase];
        }
    }
    return watts;
}

static void check_face(PanelChecking *checking, uint32_t id, const PanelHeat *heat) {
    const Panel *panel = checking->panel;
    const Model *model = panel->model;
    const PanelFace *face = &panel->faces[id];
    const PanelFaceRow *row = &model->set->panel_face.rows[face->row];
    if (heat->phase == ID_NONE || !(heat->most_w > 0.0)) {
        return;
    }
    const char *phase = model->set->phase.rows[heat->phase].phase;
    double limit_degc = model_limit(model, "panel_heat");
    if (isnan(heat->rise_degc)) {
        Finding *finding = report_row(checking->findings, model, RULE_PANEL_UNKNOWN,
                                      TABLE_panel_face, face->row, "airflow",
                                      "boxes in face %s give off up to %.0f W (%s), and no air is "
                                      "led past them: how hot it gets is not proved",
                                      face->key, heat->most_w, phase);
        report_hint(checking->findings, finding,
                    "%.1f litres of air a second keep it %.0f degC above its surrounding",
                    panel_rise_degc(heat->most_w, 1.0, 0.0) / limit_degc, limit_degc);
        return;
    }
    if (heat->rise_degc > limit_degc + 1e-9) {
        Finding *finding = report_row(
            checking->findings, model, RULE_PANEL_HEAT, TABLE_panel_face, face->row, "airflow",
            "boxes in face %s give off up to %.0f W (%s): %.2f litres of air a second get %.2f "
            "degC warmer, at most %.2f",
            face->key, heat->most_w, phase, row->airflow, heat->rise_degc, limit_degc);
        panel_values(checking, finding, heat->rise_degc, limit_degc, "degC", "panel_heat");
        report_hint(checking->findings, finding, "lead %.1f litres a second past them",
                    row->airflow * heat->rise_degc / limit_degc);
    }
}

void panel_check_heat(PanelChecking *checking) {
    const Panel *panel = checking->panel;
    const TableSet *set = panel->model->set;
    bool known = checking->supply != NULL && checking->supply->load_count > 0;
    const double *watts = known ? phase_watts(checking) : NULL;
    checking->checks->heats = ARENA_ARRAY(checking->out, PanelHeat, panel->face_count);
    for (uint32_t i = 0; i < panel->face_count; i++) {
        PanelHeat *heat = &checking->checks->heats[i];
        *heat = (PanelHeat){.phase = ID_NONE, .rise_degc = NAN};
        const PanelFaceRow *row = &set->panel_face.rows[panel->faces[i].row];
        for (uint32_t phase = 0; known && phase < set->phase.count; phase++) {
            double here_w = watts[i * set->phase.count + phase];
            if (heat->phase == ID_NONE || here_w > heat->most_w) {
                heat->most_w = here_w;
                heat->phase = phase;
            }
        }
        uint32_t zone =
            *row->zone == '\0' ? ID_NONE : model_row(panel->model, TABLE_zone, row->zone);
        if (row->airflow > 0.0) {
            heat->rise_degc =
                panel_rise_degc(heat->most_w, row->airflow,
                                zone == ID_NONE ? 0.0 : set->zone.rows[zone].altitude_max_m);
        }
        check_face(checking, i, heat);
    }
}
