/* The graph behind service.h. Nodes are things that work or are lost; a node rests on its children.
 * Leaves are boxes and supply ports. A port node asks for any partner on its circuits: its partners
 * are the candidates of a group (one for each circuit, kind of asking port and function asked for),
 * so that n boxes on one line cost n and not n x n. Nodes are ordered children first; nodes that
 * rest on each other in a circle form a component and are judged together. */
#ifndef POWER_SERVICE_INNER_H
#define POWER_SERVICE_INNER_H

#include "power/service.h"

typedef enum ServiceKind {
    SERVICE_LEAF,  /* an owner or a load */
    SERVICE_ALL,   /* lost when any child is: a way, a need */
    SERVICE_ANY,   /* lost when every child is: a function, a clause */
    SERVICE_GROUP, /* never lost itself: tells its ports that a candidate changed */
    SERVICE_PORT   /* lost when no site has a candidate that works and can be reached */
} ServiceKind;

/* One circuit that a port lies on. */
typedef struct ServiceSite {
    NetId net;
    uint32_t end;   /* into Wiring.ends */
    uint32_t group; /* into Service.groups */
} ServiceSite;

typedef struct ServicePort {
    TerminalId terminal;
    const char *partner; /* function asked for; "": what serves the partner's port */
    uint32_t node;
    uint32_t site_first; /* into Service.sites */
    uint32_t site_count;
    uint32_t next; /* another port node of that terminal, ID_NONE */
} ServicePort;

typedef struct ServiceCandidate {
    uint32_t end;  /* into Wiring.ends */
    uint32_t node; /* function or owner */
} ServiceCandidate;

typedef struct ServiceGroup {
    NetId net;
    Direction direction; /* of the asking ports */
    const char *partner;
    uint32_t node;
    uint32_t candidate_first; /* into Service.candidates */
    uint32_t candidate_count;
    uint32_t next; /* another group of that net, ID_NONE */
} ServiceGroup;

struct Service {
    const Model *model;
    const Wiring *wiring;
    const Supply *supply;

    ServiceNeed *needs;
    uint32_t need_count;
    ServiceWay *ways;
    uint32_t way_count;
    ServiceFunction *functions; /* by owner, those of one owner together */
    uint32_t function_count;
    uint32_t *owner_function_first; /* by OwnerId */
    uint32_t *owner_function_count;

    /* Nodes: owners, loads, functions, then the rest. */
    uint32_t load_node0;
    uint32_t function_node0;
    uint32_t *need_node; /* by need */
    uint32_t *way_node;  /* by way */
    uint32_t node_count;
    uint8_t *kind;         /* ServiceKind */
    uint32_t *port_of;     /* by node: port or group of that node, ID_NONE */
    uint32_t *child_first; /* node_count + 1 */
    uint32_t *children;
    uint32_t *parent_first;
    uint32_t *parents;
    uint32_t *order;       /* nodes, children first */
    uint32_t *rank;        /* by node: place in `order` */
    uint32_t *circle;      /* by node: rank of the first node of its component */
    uint32_t *circle_size; /* by rank of the first node */
    bool *missing;         /* by node: lost with nothing lost */
    uint8_t *answer_kind;  /* by node: 0 none, 1 need, 2 function, 3 way */
    uint32_t *answer_id;

    ServicePort *ports;
    size_t port_count;
    size_t port_capacity;
    ServiceSite *sites;
    size_t site_count;
    size_t site_capacity;
    ServiceGroup *groups;
    size_t group_count;
    size_t group_capacity;
    ServiceCandidate *candidates;
    size_t candidate_count;
    size_t candidate_capacity;
    uint32_t *terminal_port;  /* by TerminalId: first port node, ID_NONE */
    uint32_t *net_port_first; /* by NetId, net_count + 1: ports that lie on it */
    uint32_t *net_ports;
};

struct ServiceRun {
    const Service *service;
    Arena *arena;
    uint32_t stamp;
    uint32_t *lost;       /* by node: stamp when lost */
    uint32_t *queued;     /* by rank */
    uint32_t *net_down;   /* by NetId: nothing passes */
    uint32_t *net_broken; /* by NetId: some cable is broken; labels are due */
    uint32_t *labelled;   /* by NetId: labels are there */
    uint32_t *broken;     /* by CableId */
    uint32_t *port_down;  /* by TerminalId */
    uint32_t *label;      /* by index into Wiring.ends */
    uint32_t *heap;       /* ranks to be judged, smallest first */
    uint32_t heap_count;
    uint32_t *found[4]; /* lost needs, functions, ways */
    uint32_t found_count[4];
};

/* Whether `node` stands with what the run holds as lost now. */
bool service_stands(const ServiceRun *run, uint32_t node);

/* Fills `missing` of the service: everything judged once with nothing lost. */
void service_judge_all(Arena *scratch, Service *service);

static inline bool service_is_lost(const ServiceRun *run, uint32_t node) {
    return run->service->missing[node] || run->lost[node] == run->stamp;
}

#endif
