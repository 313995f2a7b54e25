/* The panel as it would be with other rows: for dragging, and for taking a suggestion. In: a
 * finished proof and what a person would change in `mount`, `align` and `legend`. Out: the panel
 * with these rows, its findings, and which of them are new against the proof. Nothing is written
 * and the proof stays as it is; takes as long as reading and checking the panel. */
#ifndef APP_PANEL_TRY_H
#define APP_PANEL_TRY_H

#include "app/prove.h"

/* One row of `mount` as it would be. */
typedef struct PanelMove {
    const char *item;
    double u_mm; /* NAN: as it is, also below */
    double v_mm;
    double rotation_deg;
    int32_t pinned; /* 1, 0; INT_BLANK: as it is */
} PanelMove;

/* One row of `align` with another value. */
typedef struct PanelAlignMove {
    const char *align;
    double value_mm;
} PanelAlignMove;

/* One row of `legend` at another place. */
typedef struct PanelLegendMove {
    const char *legend;
    double u_mm;
    double v_mm;
} PanelLegendMove;

typedef struct PanelChange {
    PanelMove *moves;
    size_t move_count;
    PanelAlignMove *aligns;
    size_t align_count;
    PanelLegendMove *legends; /* of those that do not just go along with their item */
    size_t legend_count;
} PanelChange;

typedef struct PanelTry {
    const Model *model; /* the proof's, with the changed rows */
    Panel panel;
    PanelChecks checks;
    Findings findings;        /* of the rules panel.*, held against `accept`, in final order */
    bool *is_new;             /* by finding: the proof has none of that rule about these rows */
    uint32_t new_count;       /* of them, not accepted */
    uint32_t gone_count;      /* findings of the proof, not accepted there, that are no more */
    PanelLegendMove *legends; /* every legend that stands elsewhere than in the proof: what has to
                                 be written with the change so that legends go with their items */
    size_t legend_count;
    const char *unknown; /* first name of the change that no row has; NULL: all are known */
} PanelTry;

/* Legends whose item moves go along, by as much, unless the change places them itself. An item that
 * an `align` row holds stands where that row puts it, whatever its own row says: look at
 * panel.items[].at. False when a name of the change is unknown, with `unknown`, or there is no
 * panel. Everything lives in `out`, the names of the change as long as it does. */
bool panel_try(Arena *out, const Proof *proof, const PanelChange *change, PanelTry *result);

/* What a proposed layout makes of one wish. */
typedef struct PanelWishKept {
    const char *wish;
    double lacks_mm; /* degrees count ten */
    bool kept;
} PanelWishKept;

typedef struct PanelProposal {
    PanelChange change; /* rows to write: items that would stand elsewhere, the rows that align
                           them, their legends */
    double score;       /* less is better */
    double differs; /* share of what may move, by area, that stands elsewhere than in the best */
    bool keeps;     /* moves as little as the rules allow */
    uint32_t moved; /* items that stand elsewhere than now, and all their ways */
    double moved_mm;
    PanelWishKept *wishes;
    size_t wish_count;
    const char **wrong; /* what it has against rules about room all the same, in words */
    size_t wrong_count;
} PanelProposal;

enum { PANEL_PROPOSALS = 3 };

typedef struct PanelProposals {
    PanelProposal rows[PANEL_PROPOSALS]; /* the best first, truly different ones */
    size_t count;
    const char **bars; /* why none of them keeps every rule, in words; none: they do */
    size_t bar_count;
} PanelProposals;

/* The best layouts, or, where none keeps every rule, the nearest and why. The same question has the
 * same answer. `tries`: 0 the usual number (a second or so); fewer are quicker and worse. */
void panel_propose(Arena *out, const Proof *proof, uint32_t tries, PanelProposals *proposals);

#endif
