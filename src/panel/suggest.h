/* Layouts of a panel that a person may take or leave. In: faces, items with or without a place,
 * wishes as rows of `wish`, and those that follow from rules (reach, view, distance of engine
 * switches and lights). Out: up to three layouts, the best first, with what each makes of every
 * wish. Pinned items never move; items that `align` rows hold together move as one; legends go with
 * their items and keep their room.
 * docs/theory/suggest.md. */
#ifndef PANEL_SUGGEST_H
#define PANEL_SUGGEST_H

#include "panel/check.h"

enum { SUGGEST_BEST = 3 };

typedef enum SuggestKind {
    SUGGEST_CENTRED,
    SUGGEST_STACKED,
    SUGGEST_TOGETHER,
    SUGGEST_APART,
    SUGGEST_REACH,
    SUGGEST_VIEW
} SuggestKind;

/* A wish with its items resolved. */
typedef struct SuggestWish {
    const char *name;
    SuggestKind kind;
    uint32_t *items; /* PanelItem */
    uint32_t item_count;
    uint32_t *others;
    uint32_t other_count;
    double limit; /* mm; degrees of a view */
    double weight;
} SuggestWish;

typedef struct SuggestLayout {
    PanelPoint *at;    /* by PanelItem */
    double *lacks_mm;  /* by wish; degrees count ten */
    double score;      /* less is better: wishes by weight, and a hundredth of all moves */
    uint32_t unplaced; /* items that found no place: 0 in a layout that is proposed */
    uint32_t errors;   /* findings about room, metal and person that the layout has */
} SuggestLayout;

typedef struct Suggest {
    const Model
        *model;       /* with every item in it, those without a place at the middle of their face */
    Panel panel;      /* of that model */
    PanelPoint *home; /* by PanelItem: where it stands now; NAN: nowhere */
    SuggestWish *wishes;
    uint32_t wish_count;
    SuggestLayout best[SUGGEST_BEST];
    uint32_t count;
    uint32_t tried;
} Suggest;

typedef struct SuggestOptions {
    uint32_t tries; /* layouts built from nothing; 0: the usual number */
    uint32_t seed;
    const PanelInk *ink; /* by row of `legend`; NULL: legends take no room */
} SuggestOptions;

/* Looks for layouts. False when the job has no panel to lay out. */
bool panel_suggest(Arena *out, const Model *model, const SuggestOptions *options, Suggest *suggest,
                   Findings *findings);

/* Score of any places of the items, and what it makes of each wish (lacks_mm may be NULL). */
double panel_suggest_score(const Suggest *suggest, const PanelPoint *at, double *lacks_mm);

/* Findings of severity error about webs, edges, bends, fronts, bodies, depth and legends with the
 * items at these places: reads the panel anew and runs the checks. A legend that runs into its own
 * item, or two things that may not move into each other, don't count: no layout cures that. */
uint32_t panel_suggest_errors(const Suggest *suggest, const PanelPoint *at);

/* Where a legend (PanelText) stands in a layout: it goes with its item. */
PanelPoint panel_suggest_legend(const Suggest *suggest, const PanelPoint *at, uint32_t text);

/* A wish gave way when it lacks more than this. */
#define SUGGEST_KEPT_MM 1.0

/* Fills the tables suggestion, suggestion_legend and suggestion_wish. */
void panel_suggest_rows(Arena *out, const Model *model, const Suggest *suggest, TableSet *set);

#endif
