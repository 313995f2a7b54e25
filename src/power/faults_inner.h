/* Inside of faults: what its sources share. Not for others. */
#ifndef POWER_FAULTS_INNER_H
#define POWER_FAULTS_INNER_H

#include "power/collapse.h"
#include "power/faults.h"
#include "route/cavity.h"

/* What the failures are listed with. */
typedef struct FaultsLister {
    Arena *out;
    Arena *scratch;
    const FaultsInput *in;
    FaultsList *list;
    Findings *findings;

    size_t failure_count;
    size_t failure_capacity;
    size_t edit_count;
    size_t edit_capacity;
    size_t welded_count;
    size_t welded_capacity;
    size_t conductor_count;
    size_t conductor_capacity;
    size_t owner_count;
    size_t owner_capacity;
    size_t net_count;
    size_t net_capacity;
    size_t port_count;
    size_t port_capacity;
    const char **components; /* by failure: name of the thing */
    size_t component_capacity;

    uint32_t *pin_conductor_first; /* by PinId, and one more */
    ConductorId *pin_conductors;
    uint32_t *cable_shield; /* by CableId: stamp of the last failure that named it */
    uint32_t *stamp;        /* by node, for burns */
    uint32_t now;
} FaultsLister;

/* One kind of thing: lists all things of it, in all modes of `rows`. */
typedef struct FaultsModes {
    uint32_t first; /* rows of `failure_mode` */
    uint32_t count;
} FaultsModes;

/* Opens a failure of mode row `mode`; the functions below add to it. `component` is the name of the
 * thing that fails, shared by all its failures. */
void faults_begin(FaultsLister *lister, uint32_t mode, const char *item, const char *component);
void faults_edit(FaultsLister *lister, FailEdit edit);
void faults_break(FaultsLister *lister, ConductorId conductor); /* in network and data */
void faults_jam(FaultsLister *lister, NetId net);
void faults_kill(FaultsLister *lister, OwnerId owner); /* the box does nothing */
void faults_weld(FaultsLister *lister, OwnerId device);

/* Bridges two nodes, unless they are one or not in the network. */
void faults_bridge(FaultsLister *lister, uint32_t a, uint32_t b, double ohm);

/* The node at the far end of a conductor, where a short draws least; NETWORK_NONE when it is not in
 * the network. */
uint32_t faults_far_node(const FaultsLister *lister, ConductorId conductor);

/* The mode row, NULL after reporting when `effects` (separated by |) does not hold its effect. */
const FailureModeRow *faults_mode(FaultsLister *lister, uint32_t mode, const char *effects);

/* The rows of one kind. */
FaultsModes faults_modes(const FaultsLister *lister, const char *kind);

/* Places: shells, disconnects, segments, zones, connectors that can be cross-mated. */
void faults_list_places(FaultsLister *lister);

/* Numbers classes and components, sorts the failures by key. */
void faults_classify(FaultsLister *lister);

#endif
