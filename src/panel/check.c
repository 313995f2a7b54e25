/* What the checks share, and their order. */
#include "panel/checks.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "model/report.h"

Finding *panel_report_hole(PanelChecking *checking, RuleId rule, uint32_t hole, const char *format,
                           ...) {
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    const Panel *panel = checking->panel;
    const PanelHole *given = &panel->holes[hole];
    bool free_opening = given->item == ID_NONE;
    uint32_t row = free_opening ? given->row : panel->items[given->item].row;
    return report_row(checking->findings, panel->model, rule,
                      free_opening ? TABLE_outline : TABLE_mount, row, "", "%s", text);
}

Finding *panel_report_item(PanelChecking *checking, RuleId rule, uint32_t item, const char *column,
                           const char *format, ...) {
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    return report_row(checking->findings, checking->panel->model, rule, TABLE_mount,
                      checking->panel->items[item].row, column, "%s", text);
}

void panel_values(PanelChecking *checking, Finding *finding, double value, double limit,
                  const char *unit, const char *limit_name) {
    const char *source =
        limit_name == NULL ? NULL : model_limit_row(checking->panel->model, limit_name)->source;
    report_values(finding, value, limit, unit, source);
}

uint32_t panel_seat(const Panel *panel, uint32_t face) {
    const PanelFaceRow *row = &panel->model->set->panel_face.rows[panel->faces[face].row];
    return *row->seat == '\0' ? ID_NONE : model_row(panel->model, TABLE_seat, row->seat);
}

bool panel_item_is(const Panel *panel, uint32_t item, const char *use) {
    return strcmp(panel_mount(panel, item)->use, use) == 0;
}

void panel_check(Arena *out, const Panel *panel, const Supply *supply, bool figures,
                 PanelChecks *checks, Findings *findings) {
    *checks = (PanelChecks){0};
    if (panel->face_count == 0) {
        return;
    }
    PanelChecking checking = {out, panel, supply, figures, checks, findings};
    panel_check_webs(&checking);
    panel_check_front(&checking);
    panel_check_behind(&checking);
    panel_check_between(&checking);
    panel_check_making(&checking);
    panel_check_person(&checking);
    panel_check_marks(&checking);
    panel_check_devices(&checking);
    panel_check_heat(&checking);
}
