/* Everything that is checked of a panel. In: the panel, and the loads for the heat behind it. Out:
 * findings, and the figures behind them for the result tables. Each check is a function of the
 * panel alone and takes time n log n in its items; docs/theory/panel.md has rules and sources. */
#ifndef PANEL_CHECK_H
#define PANEL_CHECK_H

#include "panel/panel.h"
#include "power/supply.h"

typedef enum PanelWebTo { PANEL_TO_OPENING, PANEL_TO_SCREW, PANEL_TO_EDGE } PanelWebTo;

/* Metal between a hole and its nearest opening, nearest screw or rivet hole, or the edge. */
typedef struct PanelWeb {
    uint32_t hole;
    PanelWebTo to;
    uint32_t other; /* hole; ID_NONE: the edge */
    double distance_mm;
    double limit_mm;
    PanelPoint at; /* on the hole */
} PanelWeb;

/* An item over a row of `behind`. */
typedef struct PanelDepth {
    uint32_t item;
    uint32_t behind;
    double needed_mm; /* depth of its body, connector and tool there */
    double free_mm;
} PanelDepth;

typedef struct PanelLetter {
    uint32_t text;
    uint32_t seat; /* row of `seat` */
    double away_mm;
    double needed_mm;
    double arc_min;       /* minutes of arc */
    double arc_least_min; /* limit */
} PanelLetter;

typedef struct PanelReach {
    uint32_t item;
    uint32_t seat;
    double reach_mm; /* NAN: no shoulder is known */
    double limit_mm; /* NAN: need not be reached */
    double away_mm;
    double aside_deg;
    double oblique_deg;
} PanelReach;

typedef struct PanelHeat {
    double most_w;    /* of all phases */
    uint32_t phase;   /* row of `phase`; ID_NONE: no loads known */
    double rise_degc; /* NAN: not known */
} PanelHeat;

typedef struct PanelChecks {
    PanelWeb *webs; /* sorted by hole, then kind; only when asked for */
    size_t web_count, web_capacity;
    PanelDepth *depths;
    size_t depth_count, depth_capacity;
    PanelLetter *letters;
    size_t letter_count;
    PanelReach *reaches;
    size_t reach_count;
    PanelHeat *heats; /* by face */
    size_t measured;  /* pairs of contours or boxes that were measured against each other: the work,
                         which must not grow faster than the panel */
} PanelChecks;

/* Minutes of arc under which a height is seen from a distance. */
double panel_arc_min(double height_mm, double away_mm);

/* Height that is seen under so many minutes of arc: 2 d tan(a / 2). */
double panel_letter_mm(double arc_min, double away_mm);

/* Rise of air of that flow (litres a second) by a heat, at a pressure altitude. */
double panel_rise_degc(double heat_w, double airflow_l, double altitude_m);

/* Runs every check. `supply` may be NULL: heat is then not known. With `figures` the nearest
 * neighbours of every hole are found as well, which findings don't need. */
void panel_check(Arena *out, const Panel *panel, const Supply *supply, bool figures,
                 PanelChecks *checks, Findings *findings);

/* Fills the result tables opening, web, depth, letter, reach, panel_mass. */
void panel_rows(Arena *out, const Panel *panel, const PanelChecks *checks, TableSet *set);

#endif
