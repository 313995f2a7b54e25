/* The sweep: every class of failures in every phase that failures are tried in, what is the same
 * put together, as rows of `fault` and `fault_effect`. Any number of threads gives the same bytes.
 */
#ifndef POWER_FAULTS_RUN_H
#define POWER_FAULTS_RUN_H

#include "power/faults.h"

/* What a class does in one or more phases: seconds of openings are the longest of these. */
typedef struct FaultsOutcome {
    FaultsEffect effect; /* its lists live as long as the sweep */
    uint32_t class_id;
    const uint32_t *phases; /* into Faults.phases */
    uint32_t phase_count;
    bool evident; /* a box in use goes dark, for good or for a while */
} FaultsOutcome;

typedef struct FaultsSweep {
    FaultsOutcome *outcomes; /* by class, then first phase */
    uint32_t outcome_count;
    uint32_t *class_first; /* by class, and one more: its outcomes */
    uint64_t tries;        /* classes x phases */
    FailCounts counts;     /* work of all threads; which of them did it does not matter */
} FaultsSweep;

/* Tries everything. Findings: fault.oscillates and fault.converge, one for each element that does,
 * with the first failure and how many; fault.cue (a cue row names nothing that can fail). */
void faults_run(Arena *out, const Faults *faults, unsigned threads, FaultsSweep *sweep,
                Findings *findings);

/* Fills the result tables `fault` (every failure) and `fault_effect` (what has an effect, worst
 * first, failures of one effect together). */
void faults_rows(Arena *arena, const Faults *faults, const FaultsSweep *sweep, TableSet *out);

/* What people call an element of the network: a wire's key, a device's tag, a port; for a node
 * (FAIL_OFFENDER_NODE) a pin on it. */
const char *faults_element_name(Arena *arena, const Faults *faults, NetworkKind kind,
                                uint32_t index);

/* The row of `cue` that names the failure: the one with its mode, else the one for any; NULL when
 * there is none. */
const CueRow *faults_cue(const Faults *faults, const Failure *failure);

/* "solved", "not proved", "oscillates", "not converged". */
const char *faults_status_name(FaultsStatus status);

/* Class of the worst need lost, in the words of need.severity; "" when none is lost or none of them
 * has one. */
const char *faults_severity(const Faults *faults, const FaultsEffect *effect);

/* Lost functions, separated by commas; a box that is gone stands for all of its. */
const char *faults_functions_text(Arena *arena, const Faults *faults, const FaultsEffect *effect);

/* "CB_X 0.09 s, LM_Y 3600 s"; "" when none opens. What is not proved about it, in words; "". */
const char *faults_openings_text(Arena *arena, const Faults *faults, const FaultsEffect *effect);
const char *faults_note(Arena *arena, const Faults *faults, const FaultsEffect *effect);

#endif
