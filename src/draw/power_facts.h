/* What the power diagram says, before it is known where: every branch from a source or bus to a bus
 * or load, with the devices on its way, its gauges and what one phase of flight makes of it. All
 * figures are texts already, in the words of the sheet. One branch for every load, one for every
 * feed of a bus, so that a sheet is a list of rows. */
#ifndef DRAW_POWER_FACTS_H
#define DRAW_POWER_FACTS_H

#include "draw/sheets.h"
#include "draw/symbol.h"

/* A device on a branch. */
typedef struct PowerSlot {
    TableId table; /* protection, switchgear or unit */
    const char *key;
    DrawSymbol symbol; /* SYMBOL_COUNT: a box of a unit */
    const char *tag;
    const char *note; /* "5 A", "80 A closed" */
    const char *mark; /* situations that act on it, "" for none */
    bool again;       /* stands on another branch as well, which came first */
    double at_mm;     /* set by whoever lays out: from the start of its branch */
    double width_mm;  /* and room with its text */
} PowerSlot;

/* A branch is one row. */
typedef struct PowerBranch {
    uint32_t feed;     /* row of `feed`; ID_NONE: bolted on */
    BusId from;        /* ID_NONE: of a source, or of nothing known */
    BusId to;          /* ID_NONE: of a load */
    uint32_t source;   /* into PowerFacts.sources; ID_NONE */
    bool source_again; /* the source stands on another branch, which came first */
    bool follows;      /* the port before on the same chain hands on to this one */
    uint32_t slot_first;
    uint32_t slot_count;
    const char *giver; /* "AD1.MAGP" when a box gives it, else "" */
    double amps_a;     /* NAN when not known; negative: it flows back */
    const char *amps;
    const char *gauge;
    /* of a load */
    TableId table;
    const char *key;
    const char *tag; /* "PD1.PWR" */
    const char *role;
    const char *state; /* "13.72 V", "off", "cut out" */
    const char *mark;
    bool again;      /* the load stands on another branch, which came first */
    double width_mm; /* set by whoever lays out: to its end, without a load's text */
    double tag_mm;   /* room for the tag, the same for all loads of a bus */
    double text_mm;  /* a load's text, longest line */
    double need_mm;  /* of which it cannot spare */
} PowerBranch;

/* Branches by bus: rows[first[bus]] .. rows[first[bus + 1] - 1] are indices of branches. */
typedef struct PowerList {
    uint32_t *first;
    uint32_t *rows;
} PowerList;

/* A battery, an alternator, or a box that gives supply to a bus. */
typedef struct PowerSource {
    TableId table;
    const char *key;
    DrawSymbol symbol;
    const char *tag;
    const char *rating; /* "60 A", "16 Ah" */
    const char *solved; /* "34.1 A  14.20 V" */
} PowerSource;

typedef struct PowerBus {
    const char *name;
    const char *volts;
    const char *amps; /* that leave it */
    const char *mark; /* situations whose actions take its supply */
} PowerBus;

typedef struct PowerSituation {
    const char *letter;
    const char *text; /* what it is and what is done */
} PowerSituation;

/* Switchgear and devices that no feed passes. */
typedef struct PowerIdle {
    PowerSlot slot;
    const char *what;
} PowerIdle;

typedef struct PowerFacts {
    uint32_t phase;    /* row of `phase`; ID_NONE without any */
    const char *title; /* which phase, as the sheets say it */
    uint32_t bus_count;
    PowerBus *buses;
    PowerSource *sources;
    size_t source_count;
    size_t source_capacity;
    PowerBranch *branches;
    size_t branch_count;
    size_t branch_capacity;
    PowerSlot *slots;
    size_t slot_count;
    size_t slot_capacity;
    PowerList loads;  /* by bus, and one more for what has no bus */
    PowerList onward; /* by bus: its feeds of other buses */
    PowerList inward; /* by bus: feeds of it from sources */
    uint32_t *parent; /* by bus: branch it is drawn behind; ID_NONE: it begins a drawing */
    uint32_t *loose;  /* sources that no branch names */
    size_t loose_count;
    size_t loose_capacity;
    PowerIdle *idle;
    size_t idle_count;
    size_t idle_capacity;
    PowerSituation *situations;
    size_t situation_count;
    size_t situation_capacity;
    bool has_buses; /* something to draw at all */
} PowerFacts;

/* Everything lives in `arena`, which must outlive the sheets. Linear in branches, times the number
 * of situations. */
void power_facts(Arena *arena, const DrawView *view, PowerFacts *facts);

#endif
