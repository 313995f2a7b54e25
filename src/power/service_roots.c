/* What ways rest on. Down from the way: children of whatever needs all of them are rests of it; a
 * function or clause that any of several ways will do for is followed only when it has one that is
 * there at all, for with two of them none is needed. A port is followed to its circuits, and to its
 * partner when only one can answer. Asked for everything, the walk follows everything. */
#include <string.h>

#include "power/service_inner.h"

typedef struct Roots {
    const Service *service;
    bool *seen; /* by node */
    bool *nets; /* by NetId */
    uint32_t *stack;
    uint32_t count;
    bool all; /* follow everything */
} Roots;

static void push(Roots *roots, uint32_t node) {
    if (!roots->seen[node]) {
        roots->seen[node] = true;
        roots->stack[roots->count++] = node;
    }
}

static void follow_any(Roots *roots, uint32_t node) {
    const Service *service = roots->service;
    uint32_t only = ID_NONE;
    uint32_t there = 0;
    for (uint32_t i = service->child_first[node]; i < service->child_first[node + 1]; i++) {
        if (roots->all) {
            push(roots, service->children[i]);
        } else if (!service->missing[service->children[i]]) {
            only = service->children[i];
            there++;
        }
    }
    if (there == 1) {
        push(roots, only);
    }
}

static void follow_port(Roots *roots, const ServicePort *port) {
    const Service *service = roots->service;
    OwnerId self = service->model->terminals[port->terminal].owner;
    uint32_t only = ID_NONE;
    uint32_t answers = 0;
    for (uint32_t i = 0; i < port->site_count; i++) {
        const ServiceSite *site = &service->sites[port->site_first + i];
        const ServiceGroup *group = &service->groups[site->group];
        if (roots->all) {
            push(roots, group->node);
        }
        if (roots->all || port->site_count == 1) {
            roots->nets[site->net] = true;
        }
        for (uint32_t k = 0; k < group->candidate_count; k++) {
            const ServiceCandidate *candidate = &service->candidates[group->candidate_first + k];
            TerminalId there = service->wiring->ends[candidate->end];
            if (service->model->terminals[there].owner != self &&
                !service->missing[candidate->node]) {
                only = candidate->node;
                answers++;
            }
        }
    }
    if (answers == 1) {
        push(roots, only);
    }
}

static const uint32_t *list_marked(Arena *arena, const bool *marked, uint32_t first, uint32_t end,
                                   uint32_t *count) {
    uint32_t *list = ARENA_ARRAY(arena, uint32_t, end - first);
    *count = 0;
    for (uint32_t i = first; i < end; i++) {
        if (marked[i]) {
            list[(*count)++] = i - first;
        }
    }
    return list;
}

static ServiceRoots find_roots(const Service *service, Arena *arena, uint32_t first, uint32_t end,
                               bool all) {
    Arena scratch = {0};
    Roots roots = {
        .service = service,
        .seen = ARENA_ARRAY(&scratch, bool, service->node_count),
        .nets = ARENA_ARRAY(&scratch, bool, service->wiring->net_count),
        .stack = ARENA_ARRAY(&scratch, uint32_t, service->node_count),
        .all = all,
    };
    for (uint32_t way = first; way < end; way++) {
        push(&roots, service->way_node[way]);
    }
    while (roots.count > 0) {
        uint32_t node = roots.stack[--roots.count];
        switch ((ServiceKind)service->kind[node]) {
        case SERVICE_LEAF:
            break;
        case SERVICE_PORT:
            follow_port(&roots, &service->ports[service->port_of[node]]);
            break;
        case SERVICE_ANY:
            follow_any(&roots, node);
            break;
        case SERVICE_GROUP:
        case SERVICE_ALL:
            for (uint32_t i = service->child_first[node]; i < service->child_first[node + 1]; i++) {
                push(&roots, service->children[i]);
            }
            break;
        }
    }
    ServiceRoots found = {0};
    found.owners = list_marked(arena, roots.seen, 0, service->load_node0, &found.owner_count);
    found.loads = list_marked(arena, roots.seen, service->load_node0, service->function_node0,
                              &found.load_count);
    found.nets = list_marked(arena, roots.nets, 0, service->wiring->net_count, &found.net_count);
    arena_free(&scratch);
    return found;
}

ServiceRoots service_way_roots(const Service *service, Arena *arena, uint32_t way) {
    return find_roots(service, arena, way, way + 1, false);
}

ServiceRoots service_ways_below(const Service *service, Arena *arena, uint32_t first,
                                uint32_t end) {
    return find_roots(service, arena, first, end, true);
}
