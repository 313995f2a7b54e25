/* The checks of panel/check.h, one file each; nothing outside src/panel needs these. */
#ifndef PANEL_CHECKS_H
#define PANEL_CHECKS_H

#include "panel/check.h"

typedef struct PanelChecking {
    Arena *out;
    const Panel *panel;
    const Supply *supply;
    bool figures;
    PanelChecks *checks;
    Findings *findings;
} PanelChecking;

void panel_check_webs(PanelChecking *checking);    /* web, edge, bend */
void panel_check_front(PanelChecking *checking);   /* front */
void panel_check_behind(PanelChecking *checking);  /* depth, bodies, pull, unknown */
void panel_check_between(PanelChecking *checking); /* bodies of two faces */
void panel_check_making(PanelChecking *checking);  /* sink, small, corner, kerf, coat */
void panel_check_person(PanelChecking *checking);  /* letter, reach, view, guard, apart, group */
void panel_check_marks(PanelChecking *checking);   /* mark */
void panel_check_devices(PanelChecking *checking); /* mount, device, legend */
void panel_check_heat(PanelChecking *checking);    /* heat */

/* A finding about a hole: about the row of `mount` of its item, or of `outline` when it has none.
 */
Finding *panel_report_hole(PanelChecking *checking, RuleId rule, uint32_t hole, const char *format,
                           ...) __attribute__((format(printf, 4, 5)));

/* A finding about an item's row of `mount`. */
Finding *panel_report_item(PanelChecking *checking, RuleId rule, uint32_t item, const char *column,
                           const char *format, ...) __attribute__((format(printf, 5, 6)));

/* Value, limit and unit, the limit's source from the library row that gives it. */
void panel_values(PanelChecking *checking, Finding *finding, double value, double limit,
                  const char *unit, const char *limit_name);

/* "connector". */
const char *panel_body_name(PanelBoxKind kind);

/* Row of `seat` of a face, ID_NONE. */
uint32_t panel_seat(const Panel *panel, uint32_t face);

/* The word in mount.use. */
bool panel_item_is(const Panel *panel, uint32_t item, const char *use);

#endif
