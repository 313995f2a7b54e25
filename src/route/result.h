/* Result tables of wiring and routing, and why a wire is as it is. */
#ifndef ROUTE_RESULT_H
#define ROUTE_RESULT_H

#include "route/runs.h"

/* All that the passes before gave. */
typedef struct RouteView {
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Disconnects *disconnects;
    const Bundle *bundles; /* by SegmentId */
    const Runs *runs;
    const int32_t *awg; /* by ConductorId */
} RouteView;

/* Names the protective device upstream of a conductor; "" for none. */
typedef const char *(*ResultDevice)(void *context, ConductorId conductor);

/* Appends the rows of net, cable_run, conductor, cavity_use, shell_use, pin_out, label, bundle,
 * coax_run, chain_run and mass to `out`, in the order of circuits, shells and segments
 * (table_set_sort puts them in the order of their keys). `device` may be NULL: the column stays
 * blank. */
void result_route_rows(Arena *arena, const RouteView *view, ResultDevice device, void *context,
                       TableSet *out);

/* Why: lines about a wire ("W0412"), cable shield ("W0412.S"), circuit, segment or disconnect
 * shell, with what went in and where it comes from. false, nothing written, when `key` is none of
 * them. */
bool why_route(const RouteView *view, const char *key, Buffer *out);

#endif
