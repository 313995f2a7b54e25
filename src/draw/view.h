/* What sheets are drawn from: a proved job, constant, and how the reader wants it on paper. */
#ifndef DRAW_VIEW_H
#define DRAW_VIEW_H

#include "board/board.h"
#include "board/fit.h"
#include "draw/paper.h"
#include "power/card.h"
#include "power/dip.h"
#include "power/endurance.h"
#include "power/guard.h"
#include "power/heading.h"
#include "power/size.h"
#include "route/result.h"

/* How lengths are written: U(identifier, name as asked for, as the title strip says it). */
#define LENGTH_UNITS(U)                                                                            \
    U(MM, "mm", "mm")                                                                              \
    U(IN, "in", "in")                                                                              \
    U(BOTH, "both", "mm (in)")

typedef enum LengthUnit {
#define LENGTH_UNIT_ID(id, name, words) LENGTH_##id,
    LENGTH_UNITS(LENGTH_UNIT_ID)
#undef LENGTH_UNIT_ID
        LENGTH_COUNT
} LengthUnit;

typedef struct DrawView {
    const TableSet *set;   /* job, library and results */
    const TableSet *whole; /* job and library with what was declined: what `hash` is of */
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Disconnects *disconnects;
    const Supply *supply;
    const Sizing *sizing;
    const Loads *loads;
    const PowerNetwork *network; /* what the phases were solved on */
    const Phases *phases;
    const Endurance *endurance;
    const Heading *heading;
    HeadingInput heading_input; /* what it was reckoned from */
    const Guard *guard;
    GuardInput guard_input; /* what it was reckoned from */
    const Dip *dip;
    const Card *card;
    const Fits *fits;          /* room of bundles; NULL likewise */
    const HarnessSet *harness; /* modules as they are built; NULL: the proof is not complete */
    const BoardSet *boards;    /* and as they are laid flat; NULL likewise */
    const Findings *findings;
    PaperSize paper;
    LengthUnit units;
    const char *phase;   /* phase whose currents and voltages the power diagram shows; NULL: the one
                            with the largest load */
    const char *hash;    /* of the revision: 64 hex digits */
    const char *version; /* of the program */
} DrawView;

/* "1234 mm", "48.6 in" or "1234 mm (48.6 in)": whole mm, tenths of an inch. */
const char *draw_length_text(Arena *arena, LengthUnit units, double length_mm);
const char *draw_units_name(LengthUnit units);
/* LENGTH_COUNT when no unit is called that. */
LengthUnit draw_units_find(const char *name);

#endif
