/* Faults: what happens when something fails. In: the aircraft as wired and routed, its network
 * solved in the phases of flight that failures are tried in. Out: every component in every failure
 * mode of the library's `failure_mode` rows, and for one or several of them at once, in one phase:
 * which protective devices open and when, which boxes lose supply, which start again, which
 * functions and needs are lost. Method, and what is not decided: docs/theory/faults.md.
 *
 * A failure is a list of edits of the network (fail.h) and of data losses (service.h). Failures of
 * which each does the same for every combination stand in one class and are solved once. */
#ifndef POWER_FAULTS_H
#define POWER_FAULTS_H

#include "power/fail.h"
#include "power/phases.h"
#include "power/service.h"
#include "rating/protector.h"
#include "route/disconnect.h"

/* Limits read from the library. */
#define FAULTS_LIMIT_REACH "cross_mate_reach"

/* One component in one mode. */
typedef struct Failure {
    const char *key;    /* permanent: "W0412:open" */
    const char *item;   /* "W0412" */
    uint32_t mode;      /* row of `failure_mode` */
    uint32_t component; /* the thing that fails; it fails in one way at a time */
    uint32_t class_id;
    uint32_t edit_first; /* into FaultsList.edits */
    uint32_t edit_count;
    uint32_t welded_first; /* into FaultsList.welded: devices that do not open */
    uint32_t welded_count;
    uint32_t conductor_first; /* into FaultsList.conductors, and so on: ServiceLoss */
    uint32_t conductor_count;
    uint32_t owner_first;
    uint32_t owner_count;
    uint32_t net_first;
    uint32_t net_count;
    uint32_t port_first;
    uint32_t port_count;
} Failure;

typedef struct FaultsList {
    Failure *failures; /* in the order of keys (text_compare_keys) */
    uint32_t count;
    uint32_t component_count;
    FailEdit *edits;
    OwnerId *welded;
    ConductorId *conductors;
    OwnerId *owners;
    NetId *nets;
    TerminalId *ports;

    /* Classes, numbered by their first member. For every failure x that does not touch the class,
     * {member, x} has the same effect for each member. */
    uint32_t class_count;
    uint32_t *class_of;    /* by failure: its class_id, as cutset.h wants it */
    uint32_t *component;   /* by failure, likewise */
    uint32_t *class_first; /* class_count + 1, into class_members */
    uint32_t *class_members;
    uint32_t *touch_first; /* failure count + 1, into `touch`: classes that the failure touches */
    uint32_t *touch;
} FaultsList;

/* A protective device and what its library rows say of it. */
typedef struct FaultsDevice {
    OwnerId owner;
    uint32_t contact; /* of the network */
    double rating_a;
    double
        hold_a; /* what it carries for good: its rating, or the highest gate that holds an hour */
    ProtectorGates gates;
} FaultsDevice;

/* A phase that failures are tried in. */
typedef struct FaultsPhase {
    uint32_t phase; /* row of `phase` */
    FailBase *base;
    uint32_t *missing; /* loads of Supply.loads without supply before anything has failed */
    uint32_t missing_count;
    bool *in_use;     /* by load: it draws current there, and works */
    double *device_a; /* by device: what it carries before anything has failed */
    bool *needs_gone; /* by need: lost before anything has failed, for want of supply */
    bool *functions_gone;
    bool *ways_gone;
} FaultsPhase;

/* Constant once built; shared by threads. */
typedef struct Faults {
    const Model *model;
    const Wiring *wiring;
    const Supply *supply;
    const PowerNetwork *built;
    const Service *service; /* NULL: functions and needs are not asked for */
    FaultsList list;
    FaultsPhase *phases; /* in order of rank; those that were solved */
    uint32_t phase_count;
    FaultsDevice *devices; /* protective devices of the network, by key */
    uint32_t device_count;
    uint32_t *motors; /* network loads that are one way of a reversing motor */
    uint32_t motor_count;
} Faults;

typedef struct FaultsInput {
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Disconnects *disconnects;
    const Supply *supply;
    PowerNetwork *built; /* its numbers are set to one phase after the other */
    const Phases *phases;
    const double *rating_a; /* by row of `protection`; NULL: as given */
    const Service *service; /* may be NULL */
    bool only_phase;        /* try failures in `phase` alone, whatever is marked */
    uint32_t phase;         /* row of `phase` */
} FaultsInput;

/* Everything that can be failed, the same list for all phases. Findings: fault.mode (a library row
 * asks for what can't be done to that kind of thing). */
void faults_list(Arena *out, const FaultsInput *input, FaultsList *list, Findings *findings);

/* The list, and a base in every phase that failures are tried in: those marked in phase.failures;
 * none marked: every solved one whose engine runs (taxi, climb, cruise, approach). */
void faults_build(Arena *out, const FaultsInput *input, Faults *faults, Findings *findings);

/* The failure of that key, ID_NONE when there is none. All failures of an item: those from `first`
 * on, `count` of them; 0 when nothing has that name. */
uint32_t faults_find(const FaultsList *list, const char *key);
uint32_t faults_find_item(const FaultsList *list, const char *item, uint32_t *count);

/* --- trying -------------------------------------------------------------------------------------
 */

typedef enum FaultsStatus {
    FAULTS_SOLVED,
    FAULTS_NOT_PROVED,   /* some device's curve does not reach: see FaultsEffect.unproved */
    FAULTS_OSCILLATES,   /* offender_kind and offender name the element */
    FAULTS_NOT_CONVERGED /* offender is a node */
} FaultsStatus;

/* A protective device that opened. */
typedef struct FaultsOpening {
    OwnerId owner;
    double seconds; /* since the failure, by the slow edge of its band */
    double percent; /* of its rating, when it opened */
    /* A device that might as well have opened first, and then would have cleared it: no published
     * gate says which. ID_NONE: there is none. */
    OwnerId rival;
} FaultsOpening;

/* What one or several failures do in a phase. Everything lives in the trier until its next try.
 * Lists are in rising order, `openings` in the order of time. */
typedef struct FaultsEffect {
    FaultsStatus status;
    NetworkKind offender_kind; /* NETWORK_KIND_COUNT with FAULTS_NOT_CONVERGED: a node */
    uint32_t offender;

    const uint32_t *lost; /* loads of Supply.loads that lose supply for good */
    uint32_t lost_count;
    const uint32_t *restarted; /* that lost it only until a device had opened */
    uint32_t restarted_count;
    const uint32_t *gained; /* that were without and now have it */
    uint32_t gained_count;
    const FaultsOpening *openings;
    uint32_t opening_count;
    const OwnerId *unproved; /* devices above what they hold for good, which no row opens */
    uint32_t unproved_count;
    const uint32_t *cycling; /* of `lost`: loads that go out with their current on and come back
                                without it, without end; switched off for the rest */
    uint32_t cycling_count;
    const uint32_t *over; /* loads in use above the voltage that they stand, where it is known;
                             asked only when a source gives another voltage */
    uint32_t over_count;
    uint32_t stopped_alternators; /* that lost their field for good */

    /* Lost beyond what the phase leaves without supply anyway (FaultsPhase.needs_gone ...). */
    const uint32_t *functions; /* by number of service.h */
    uint32_t function_count;
    const uint32_t *needs;
    uint32_t need_count;
    const uint32_t *ways;
    uint32_t way_count;
} FaultsEffect;

typedef struct FaultsTrier FaultsTrier; /* scratch of one thread, for all phases */

FaultsTrier *faults_trier_new(Arena *arena, const Faults *faults);
void faults_trier_free(FaultsTrier *trier);

/* Tries `count` failures at once in faults->phases[phase]: edits, then devices open one after the
 * other in the order of time (slow edge; ties by key) until none is left that would. The same
 * answer for the same set in any order. Allocates nothing once its lists have grown. */
FaultsEffect faults_try(FaultsTrier *trier, uint32_t phase, const uint32_t *failures,
                        uint32_t count);

/* Work done in a phase since the trier was made. */
const FailCounts *faults_counts(const FaultsTrier *trier, uint32_t phase);

/* The run behind the last try, to read voltages from. */
FailRun *faults_run_of(const FaultsTrier *trier);

#endif
