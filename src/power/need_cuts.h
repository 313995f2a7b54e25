/* Need cuts: which failures lose a need, one at a time and two at a time. In: everything that can
 * be failed (faults.h) and the needs (service.h). Out: for every need and phase the failures that
 * lose it alone, and, when asked, the pairs that lose it and neither of which does; how many were
 * tried and what was left out; findings. docs/theory/needs.md. */
#ifndef POWER_NEED_CUTS_H
#define POWER_NEED_CUTS_H

#include "power/cutset.h"
#include "power/faults_run.h"

/* What a failure does by itself, over all phases. */
typedef enum NeedSign {
    NEED_SIGN_LATENT, /* nothing that anyone would notice, and no cue row */
    NEED_SIGN_EVIDENT /* a function or supply is lost, a device opens, or a cue row names it */
} NeedSign;

typedef struct NeedCuts {
    const Faults *faults;
    const FaultsSweep *sweep;
    const Service *service;
    uint32_t need_count;
    uint32_t phase_count; /* of faults->phases; top = need * phase_count + phase */
    bool pairs;           /* pairs were searched */
    CutSearch search;     /* component, class_of ... of the list */
    CutResult result;
    uint8_t *sign;       /* by failure: NeedSign */
    uint64_t not_solved; /* questions asked that oscillate or have no operating point */
    uint64_t not_proved; /* questions asked in which some device's curve does not reach */
    uint64_t data_only;  /* pairs of which one changes nothing in the network: not solved again */
} NeedCuts;

/* From what the sweep found about each class in each phase and, with `pairs`, from trying every
 * pair of classes in every phase, on `threads` threads. `faults` was built with a service. The
 * result does not depend on how many threads; `faults` and `sweep` must outlive it. */
void need_cuts_search(Arena *out, const Faults *faults, const FaultsSweep *sweep, bool pairs,
                      unsigned threads, NeedCuts *cuts);

/* True when failure `failure` alone loses `need` in some phase. */
bool need_cuts_single(const NeedCuts *cuts, uint32_t failure, uint32_t need);

/* Findings: need.lost (one for each need and thing whose failure loses it within the need's scope;
 * one note for each need about what is outside it), need.exception (one that covers nothing), and
 * after a search of pairs need.pair. */
void need_cuts_judge(const NeedCuts *cuts, Findings *findings);

/* Fills cut_set, cut_count and cut_work. */
void need_cuts_rows(Arena *arena, const NeedCuts *cuts, TableSet *out);

#endif
