/* Inside the wire pass: what its files share. Not for other layers. */
#ifndef WIRING_DERIVE_H
#define WIRING_DERIVE_H

#include "model/report.h"
#include "wiring/wiring.h"

typedef struct Deriver {
    Arena *out;    /* owns what lasts */
    Arena scratch; /* given back at the end of the pass */
    const Model *model;
    Wiring *wiring;
    Findings *findings;
    size_t net_capacity;
    size_t end_capacity;
} Deriver;

/* nets.c: rows of feed, ground, link, pin_net into nets and ends, sorted by name. */
void derive_nets(Deriver *deriver);

/* cables.c: nets into cables and conductors, in net order. */
void derive_cables(Deriver *deriver);

/* cables.c: at which ends the shields are grounded. */
void derive_shields(Deriver *deriver);

/* keys.c: permanent keys of conductors. */
void derive_keys(Deriver *deriver);

/* check.c: what classes demand of each net; pins and lugs. */
void derive_check_nets(Deriver *deriver);

/* supply.c: what boxes demand: ground, supply, device, any connection at all. */
void derive_check_units(Deriver *deriver);

/* A finding on the row that a net comes from. */
#define DERIVE_REPORT(deriver, rule, net, column, ...)                                             \
    report_row((deriver)->findings, (deriver)->model, (rule), (net)->from_table, (net)->from_row,  \
               (column), __VA_ARGS__)

#endif
