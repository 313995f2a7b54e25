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
    PanelPoint *at;   /* by PanelItem */
    double *lacks_mm; /* by wish; degrees count ten */
    double score;    /* less is better: wishes by weight, a hundredth of all moves, and one for each
                        that moved and is level with none of its kind */
    double differs;  /* share of what is loose, by area, that stands elsewhere than in the best */
    bool keeps;      /* moves as little as the rules allow, whatever is wished */
    uint32_t moved;  /* items that had a place and stand elsewhere */
    double moved_mm; /* all their ways */
    Finding *faults; /* about room, metal and legends, that it has all the same: of what must stay
                        where it can't, and of pinned things with each other */
    uint32_t fault_count;
} SuggestLayout;

/* Why there is no layout that keeps every rule. */
typedef struct SuggestBar {
    const char *item;  /* what has no place: one item, or several that move as one */
    const char *rule;  /* "panel.depth"; several are separated by blanks */
    const char *rows;  /* keys of what stands against it */
    const char *words; /* a sentence */
    bool proved;       /* no place among all there are; else none was found */
} SuggestBar;

enum { SUGGEST_BARS = 16 };

typedef struct Suggest {
    const Model
        *model;       /* with every item in it, those without a place at the middle of their face */
    Panel panel;      /* of that model */
    PanelPoint *home; /* by PanelItem: where it stands now; NAN: nowhere */
    bool *is_new;     /* by PanelItem: the job gives it no place */
    bool *stays;      /* by PanelItem: pinned, or it can stand nowhere */
    SuggestWish *wishes;
    uint32_t wish_count;
    SuggestLayout best[SUGGEST_BEST]; /* truly different ones */
    uint32_t count;
    bool legal; /* they are; else they are the nearest, but for `bars` */
    SuggestBar bars[SUGGEST_BARS];
    uint32_t bar_count;
    uint32_t tried;
    uint64_t work; /* questions asked on the way: the same on every machine */
} Suggest;

typedef struct SuggestOptions {
    uint32_t tries; /* layouts built from nothing; 0: the usual number */
    uint32_t seed;
    const PanelInk *ink; /* by row of `legend`; NULL: legends take no room */
} SuggestOptions;

/* Looks for layouts: the best; the one that moves least, where that is another; and others that are
 * truly different from these and from each other.
 * Where none is legal, says why and gives the nearest. False when the job has no panel to lay out.
 */
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

/* Items that move by less are not told of. */
#define SUGGEST_TOLD_MM 0.05

/* A wish gave way when it lacks more than this. */
#define SUGGEST_KEPT_MM 1.0

/* Fills the tables suggestion and suggestion_legend, _wish, _layout, _bar. */
void panel_suggest_rows(Arena *out, const Model *model, const Suggest *suggest, TableSet *set);

#endif
