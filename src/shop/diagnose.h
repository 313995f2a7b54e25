/* Diagnosis: from readings to what is wrong. The smallest set of errors (one, else two) whose
 * harness would have given every reading; sets that no reading can part are one class, told with
 * the place where looking parts them; and the reading that parts the classes best. Complete: if one
 * or two errors of the list (wrong.h) explain the readings, their class is found.
 * docs/theory/ringout.md has the proof. */
#ifndef SHOP_DIAGNOSE_H
#define SHOP_DIAGNOSE_H

#include "shop/ringout.h"
#include "shop/wrong.h"

/* A reading as it was taken. Several points on a side: tied together. */
typedef struct BenchReading {
    const RigPointId *a;
    uint32_t a_count;
    const RigPointId *b;
    uint32_t b_count;
    bool open; /* the meter showed no connection; else ohm counts */
    double ohm;
} BenchReading;

enum {
    DIAGNOSE_ERRORS_MAX = 2,
    DIAGNOSE_MEMBERS_MAX = 24,    /* of a class that are listed */
    DIAGNOSE_CLASSES_MAX = 20000, /* more are not kept: then not all were compared */
    DIAGNOSE_HIDING_MAX = 2,      /* classes of one error beside which others are looked for */
    DIAGNOSE_SIDE_MAX = 60,       /* points tied together in a proposed reading */
    DIAGNOSE_TRIED_MAX = 3000000  /* sets of errors looked at: some ten seconds */
};

/* Beyond this a reading between points of one net shows it open. */
#define DIAGNOSE_OPEN_OHM 1000.0

/* Beyond this, where there are terminators, it shows one of them and no metal. */
#define DIAGNOSE_TERMINATOR_OHM 20.0

typedef struct DiagnosisMember {
    Wrong wrongs[DIAGNOSE_ERRORS_MAX];
} DiagnosisMember;

typedef struct DiagnosisClass {
    WrongSign sign;
    uint32_t errors; /* of each member */
    DiagnosisMember *members;
    uint32_t member_count;
    size_t member_capacity;
    uint32_t more; /* members beyond those listed */
    double weight; /* how likely, against the others */
} DiagnosisClass;

typedef struct Diagnosis {
    uint32_t errors;         /* of the first class; 0: nothing is wrong, or nothing explains it */
    DiagnosisClass *classes; /* fewest errors first, then the likeliest */
    uint32_t class_count;
    bool cut_off;       /* more classes than are kept, or more sets than are looked at */
    bool good;          /* all readings are as planned */
    RigPointId *next_a; /* the reading to take next; next_count[0] == 0: none parts them */
    RigPointId *next_b;
    uint32_t next_count[2];
    double next_bits;     /* information expected of it */
    uint32_t tried;       /* sets of errors that were tried */
    uint32_t *wrong_rows; /* readings that are not as planned */
    uint32_t wrong_count;
} Diagnosis;

/* `thorough`: where one error explains the readings, pairs of errors that do so too are told behind
 * it, so that the next reading confirms or refutes it (two open wires look like two exchanged ones
 * until a reading says what is joined). Pairs of which one error alone explains everything come in
 * once no more than DIAGNOSE_HIDING_MAX classes of one error are left: what hides behind a fault is
 * looked for when that fault is as good as found. */
void diagnose_run(Arena *out, const Rig *rig, const Ringout *ringout, const BenchReading *readings,
                  uint32_t count, bool thorough, Diagnosis *diagnosis);

/* The reading that a harness with these errors gives (after wrong_parts): for tests and for the
 * examples. `bad_ohm`: what an edge with too much resistance adds. */
void diagnose_simulate(WrongRig *state, const RigPointId *a, uint32_t a_count, const RigPointId *b,
                       uint32_t b_count, double bad_ohm, BenchReading *reading);

/* Points that a step of the script measures between, in `arena`; false for steps that are not
 * between points of the rig (bonds, boxes). */
bool diagnose_step_points(Arena *arena, const Ringout *ringout, uint32_t step,
                          BenchReading *reading);

#endif
