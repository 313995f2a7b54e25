/* Place: what can be lost together because it is in one place: a segment, a disconnect shell, a
 * ground point, a device, a bus, a source, a box, a zone. In: the routed job and its network. Out:
 * for each place the conductors, owners, elements and nodes that go with it, and which places an
 * element or node is in. */
#ifndef POWER_PLACE_H
#define POWER_PLACE_H

#include "power/build.h"
#include "power/reach.h"

/* PLACE(identifier, name, plural): in the order they are listed. The names are the words of
 * need.scope. */
#define PLACE_KINDS(PLACE)                                                                         \
    PLACE(SEGMENT, "route segment", "route segments")                                              \
    PLACE(SHELL, "disconnect", "disconnect shells")                                                \
    PLACE(GROUND, "ground", "ground points")                                                       \
    PLACE(PROTECTION, "protection", "protective devices")                                          \
    PLACE(SWITCHGEAR, "switchgear", "pieces of switchgear")                                        \
    PLACE(BUS, "bus", "buses")                                                                     \
    PLACE(SOURCE, "source", "sources")                                                             \
    PLACE(UNIT, "unit", "units")                                                                   \
    PLACE(ZONE, "zone", "zones")

typedef enum PlaceKind {
#define PLACE_ID(id, name, plural) PLACE_##id,
    PLACE_KINDS(PLACE_ID)
#undef PLACE_ID
        PLACE_KIND_COUNT
} PlaceKind;

typedef struct Place {
    PlaceKind kind;
    uint32_t row;     /* of its table */
    const char *name; /* its key */
} Place;

/* Items by place: items[first[p]] .. items[first[p + 1] - 1], in rising order, each once. */
typedef struct PlaceIndex {
    uint32_t *first;
    uint32_t *items;
} PlaceIndex;

typedef struct Places {
    Place *places; /* by kind, then row */
    uint32_t count;
    PlaceIndex conductors;     /* by place: ConductorId */
    PlaceIndex owners;         /* by place: OwnerId that do not work when it is lost */
    PlaceIndex elements;       /* by place: of reach_element() */
    PlaceIndex nodes;          /* by place: network nodes; never the structure */
    PlaceIndex element_places; /* by element */
    PlaceIndex node_places;    /* by node */
} Places;

/* `disconnects` may be NULL. */
void places_build(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                  const Disconnects *disconnects, const Supply *supply, const PowerNetwork *built,
                  const Reach *reach, Places *places);

const char *place_kind_name(PlaceKind kind);
const char *place_kind_plural(PlaceKind kind);

/* True when a comma-separated `scope` names that kind. */
bool place_in_scope(const char *scope, const char *kind);

#endif
