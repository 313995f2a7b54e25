/* End preparation: what is done to each end of each piece before it sits in its connector. Goes in:
 * harnesses with their pieces; library rows contact_tool, coax_prep, shield_prep, sampling,
 * pull_force. Comes out: strip length, tools, least pull force of each end; how many crimps of each
 * kind are pulled to breaking. A pass beside the live chain. docs/theory/workbench.md. */
#ifndef SHOP_PREP_H
#define SHOP_PREP_H

#include "board/harness.h"

/* Least force of a crimp, and where it is published. */
typedef struct PrepPull {
    double least_n; /* NAN: not published */
    uint32_t row;   /* of pull_force; ID_NONE */
    bool thicker;   /* the row of the nearest thicker wire, for want of the gauge's own */
} PrepPull;

/* By EndId. */
typedef struct PrepEnd {
    ContactId contact; /* also of a coax or stud that passes a disconnect by its own bulkhead, as
                          the disconnect's row says; ID_NONE: not known, or the end of a shield */
    int32_t awg;       /* INT_BLANK: coax, shield */
    uint32_t tool;     /* row of contact_tool; ID_NONE: not known, or none is needed */
    uint32_t coax;     /* row of coax_prep; ID_NONE */
    uint32_t shield;   /* row of shield_prep when this end cuts back the cable's shield, which
                          stands with the first core; ID_NONE */
    PrepPull pull;
} PrepEnd;

/* Crimps of one kind in one module. */
typedef struct PrepKind {
    uint32_t harness;
    ContactId contact;
    int32_t awg;
    uint32_t tool;
    uint32_t crimps;
    uint32_t shifts;
    uint32_t samples;
    PrepPull pull;
} PrepKind;

typedef struct PrepSet {
    const HarnessSet *harness;
    PrepEnd *ends;   /* by EndId */
    PrepKind *kinds; /* by harness, contact, gauge */
    uint32_t kind_count;
} PrepSet;

/* Limits read from the library. */
#define PREP_LIMIT_SHIFT "shift_minutes"
#define PREP_LIMIT_SAMPLE "sample_wire"

/* The minutes that a crimp takes are those of the labour row with `per` end; without one all
 * crimps of a kind are one shift. n log n in ends. Findings: rules prep.*. */
bool prep_build(Arena *out, const HarnessSet *harness, PrepSet *set, Findings *findings);

/* Row of contact_tool for a contact and wire: the one whose gauge is the thinnest that is not
 * thinner than the wire; ID_NONE: none is that thick. */
uint32_t prep_tool(const Model *model, ContactId contact, int32_t awg);

/* Least force by the rows of `class` ("contact", "military", "commercial"): of the gauge itself, of
 * military crimps when a contact's table has no gauge as thick, else of the nearest thicker wire,
 * which asks for more. */
PrepPull prep_pull(const Model *model, const char *class, int32_t awg);

/* Samples of a kind: those of each shift, and of each full number of crimps (rows of sampling). */
uint32_t prep_samples(const Model *model, uint32_t crimps, uint32_t shifts);

/* Fills the result tables end_prep, bench_code and pull_test. */
void prep_rows(Arena *arena, const PrepSet *set, TableSet *out);

#endif
