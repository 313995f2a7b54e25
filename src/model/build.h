/* Inner contracts of the model's builder: the steps of model_build, in order. Not for passes. */
#ifndef MODEL_BUILD_H
#define MODEL_BUILD_H

#include "model/report.h"

typedef struct ModelBuilder {
    Arena *arena;
    Model *model;
    Findings *findings;
    NameMap part_by_name;     /* -> row of `part` */
    uint32_t *port_pin_first; /* by row of `port`: its rows of `port_pin` are together */
    uint32_t *port_pin_count;
    NameMap left_out; /* tags and buses whose row could not be read */
    bool partial;     /* a table of tags or buses could not be read to its end */
    size_t joint_capacity;
    size_t step_capacity;
    size_t target_capacity;
} ModelBuilder;

/* Owners sorted by tag; a tag used twice is a finding and the first one stays. */
void builder_add_owners(ModelBuilder *builder);

/* Terminals and pins of every owner, those that only circuits name (tabs, second studs) included.
 */
void builder_add_terminals(ModelBuilder *builder);

/* Buses, feeds, grounds, links, explicit nets; what is bolted together. */
void builder_add_circuits(ModelBuilder *builder);

#endif
