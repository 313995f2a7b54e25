/* Reach: has a supply port still a source when these things are gone? Only by what is joined to
 * what: a way of wires, closed contacts and diodes (in their direction) from the port up to a
 * battery or a running alternator, and one from its return to that source's. No voltages. A
 * contactor's contact passes while its coil has such a way too, an alternator gives while its field
 * has one. In: the network and the state of one solved phase. docs/theory/needs.md. */
#ifndef POWER_REACH_H
#define POWER_REACH_H

#include "power/build.h"

/* Elements of all kinds in one numbering: reach_element(). */
typedef struct Reach Reach;       /* constant once made; may be shared by threads */
typedef struct ReachRun ReachRun; /* scratch of one thread */

/* `state` is that of the solved phase; the network's numbers are those of that phase. */
Reach *reach_build(Arena *out, const Network *network, const BuildAlternator *alternators,
                   const NetworkState *state);

uint32_t reach_element_count(const Reach *reach);
uint32_t reach_element(const Reach *reach, NetworkKind kind, uint32_t index);

ReachRun *reach_run_new(Arena *arena, const Reach *reach);

/* Everything is there again. */
void reach_begin(ReachRun *run);

/* Takes an element, or a node with all that ends at it, out until the next reach_begin(). */
void reach_block_element(ReachRun *run, uint32_t element);
void reach_block_node(ReachRun *run, uint32_t node);

/* Whether network load `load` has a source. */
bool reach_load(ReachRun *run, uint32_t load);

/* What the ways found since reach_begin() pass: elements and nodes, each once, in the order of
 * finding. A load that has a source keeps it while none of what its ways pass is taken out. The
 * lists live until the next call. */
uint32_t reach_passed_elements(const ReachRun *run, const uint32_t **elements);
uint32_t reach_passed_nodes(const ReachRun *run, const uint32_t **nodes);

#endif
