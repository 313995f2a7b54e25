/* A loss goes in at the leaves, the broken circuits and the ports, and spreads towards the needs:
 * every node that something below it touched is judged once, children before parents (a heap of
 * ranks). Nodes in a circle are judged together, from nothing: what of them can be shown to stand
 * on something outside stands, the rest is lost, so that two boxes that only have each other do not
 * hold each other up. Losses only ever take away: what is missing with nothing lost stays missing.
 */
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "power/service_inner.h"

enum { ANSWER_NONE, ANSWER_NEED, ANSWER_FUNCTION, ANSWER_WAY };

/* --- circuits -----------------------------------------------------------------------------------
 */

/* Ends that whole cables join get one label. A chain falls apart at each broken piece; off a hub
 * each broken piece leaves its end alone. */
static void label_ends(ServiceRun *run, NetId id) {
    if (run->labelled[id] == run->stamp) {
        return;
    }
    run->labelled[id] = run->stamp;
    const Net *net = &run->service->wiring->nets[id];
    uint32_t *label = &run->label[net->end_first];
    uint32_t piece = 0;
    for (uint32_t i = 0; i < net->end_count; i++) {
        bool cut = i > 0 && run->broken[net->cable_first + i - 1] == run->stamp;
        if (net->join == JOIN_HUB) {
            label[i] = cut ? i : 0;
        } else {
            piece += cut ? 1 : 0;
            label[i] = piece;
        }
    }
}

static bool site_serves(const ServiceRun *run, const ServicePort *port, const ServiceSite *site) {
    const Service *service = run->service;
    if (run->net_down[site->net] == run->stamp) {
        return false;
    }
    const TerminalId *ends = service->wiring->ends;
    OwnerId self = service->model->terminals[port->terminal].owner;
    const ServiceGroup *group = &service->groups[site->group];
    bool broken = run->net_broken[site->net] == run->stamp;
    for (uint32_t i = 0; i < group->candidate_count; i++) {
        const ServiceCandidate *candidate = &service->candidates[group->candidate_first + i];
        TerminalId there = ends[candidate->end];
        if (service_is_lost(run, candidate->node) || run->port_down[there] == run->stamp ||
            service->model->terminals[there].owner == self ||
            (broken && run->label[candidate->end] != run->label[site->end])) {
            continue;
        }
        return true;
    }
    return false;
}

static bool port_serves(const ServiceRun *run, const ServicePort *port) {
    if (run->port_down[port->terminal] == run->stamp) {
        return false;
    }
    for (uint32_t i = 0; i < port->site_count; i++) {
        if (site_serves(run, port, &run->service->sites[port->site_first + i])) {
            return true;
        }
    }
    return false;
}

/* --- judging ------------------------------------------------------------------------------------
 */

bool service_stands(const ServiceRun *run, uint32_t node) {
    const Service *service = run->service;
    const uint32_t *child = &service->children[service->child_first[node]];
    const uint32_t *end = &service->children[service->child_first[node + 1]];
    switch ((ServiceKind)service->kind[node]) {
    case SERVICE_LEAF:
        return !service_is_lost(run, node);
    case SERVICE_GROUP:
        return true;
    case SERVICE_PORT:
        return port_serves(run, &service->ports[service->port_of[node]]);
    case SERVICE_ALL:
        for (; child < end; child++) {
            if (service_is_lost(run, *child)) {
                return false;
            }
        }
        return true;
    case SERVICE_ANY:
        for (; child < end; child++) {
            if (!service_is_lost(run, *child)) {
                return true;
            }
        }
        return false;
    }
    return false;
}

/* Judges the nodes of a circle from nothing; afterwards run->lost is right for each. Quadratic in
 * the circle's depth at worst; circles are a few boxes that back each other up. */
static void judge_circle(ServiceRun *run, uint32_t first, uint32_t size) {
    const Service *service = run->service;
    for (uint32_t i = 0; i < size; i++) {
        uint32_t node = service->order[first + i];
        run->lost[node] = service->kind[node] == SERVICE_GROUP ? 0 : run->stamp;
    }
    bool again = true;
    while (again) {
        again = false;
        for (uint32_t i = 0; i < size; i++) {
            uint32_t node = service->order[first + i];
            if (run->lost[node] == run->stamp && !service->missing[node] &&
                service_stands(run, node)) {
                run->lost[node] = 0;
                again = true;
            }
        }
    }
}

/* --- the queue ----------------------------------------------------------------------------------
 */

static void heap_push(ServiceRun *run, uint32_t rank) {
    uint32_t at = run->heap_count++;
    while (at > 0 && run->heap[(at - 1) / 2] > rank) {
        run->heap[at] = run->heap[(at - 1) / 2];
        at = (at - 1) / 2;
    }
    run->heap[at] = rank;
}

static uint32_t heap_pop(ServiceRun *run) {
    uint32_t top = run->heap[0];
    uint32_t last = run->heap[--run->heap_count];
    uint32_t at = 0;
    for (;;) {
        uint32_t child = 2 * at + 1;
        if (child >= run->heap_count) {
            break;
        }
        if (child + 1 < run->heap_count && run->heap[child + 1] < run->heap[child]) {
            child++;
        }
        if (run->heap[child] >= last) {
            break;
        }
        run->heap[at] = run->heap[child];
        at = child;
    }
    run->heap[at] = last;
    return top;
}

/* Whoever rests on it is to be judged. */
static void queue_node(ServiceRun *run, uint32_t node) {
    uint32_t rank = run->service->circle[node];
    if (run->queued[rank] != run->stamp) {
        run->queued[rank] = run->stamp;
        heap_push(run, rank);
    }
}

static void queue_parents(ServiceRun *run, uint32_t node) {
    const Service *service = run->service;
    for (uint32_t i = service->parent_first[node]; i < service->parent_first[node + 1]; i++) {
        queue_node(run, service->parents[i]);
    }
}

static void lose(ServiceRun *run, uint32_t node) {
    run->lost[node] = run->stamp;
    unsigned kind = run->service->answer_kind[node];
    if (kind != ANSWER_NONE) {
        run->found[kind][run->found_count[kind]++] = run->service->answer_id[node];
    }
    queue_parents(run, node);
}

static void lose_leaf(ServiceRun *run, uint32_t node) {
    if (!service_is_lost(run, node)) {
        lose(run, node);
    }
}

static void queue_net(ServiceRun *run, NetId net) {
    const Service *service = run->service;
    for (uint32_t i = service->net_port_first[net]; i < service->net_port_first[net + 1]; i++) {
        queue_node(run, service->ports[service->net_ports[i]].node);
    }
}

static void spread(ServiceRun *run) {
    const Service *service = run->service;
    while (run->heap_count > 0) {
        uint32_t first = heap_pop(run);
        uint32_t size = service->circle_size[first];
        if (size == 1) {
            uint32_t node = service->order[first];
            if (service->kind[node] == SERVICE_GROUP) {
                queue_parents(run, node);
            } else if (!service_is_lost(run, node) && !service_stands(run, node)) {
                lose(run, node);
            }
            continue;
        }
        judge_circle(run, first, size);
        for (uint32_t i = 0; i < size; i++) {
            uint32_t node = service->order[first + i];
            if (service->kind[node] == SERVICE_GROUP) {
                queue_parents(run, node);
            } else if (run->lost[node] == run->stamp && !service->missing[node]) {
                lose(run, node);
            }
        }
    }
}

/* --- asking -------------------------------------------------------------------------------------
 */

static int compare_numbers(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left;
    uint32_t b = *(const uint32_t *)right;
    return a < b ? -1 : a > b;
}

static void break_conductors(ServiceRun *run, const ServiceLoss *loss) {
    const Wiring *wiring = run->service->wiring;
    for (uint32_t i = 0; i < loss->conductor_count; i++) {
        CableId cable = wiring->conductors[loss->conductors[i]].cable;
        NetId net = wiring->cables[cable].net;
        run->broken[cable] = run->stamp;
        run->net_broken[net] = run->stamp;
    }
    for (uint32_t i = 0; i < loss->conductor_count; i++) {
        NetId net = wiring->cables[wiring->conductors[loss->conductors[i]].cable].net;
        if (run->service->net_port_first[net] != run->service->net_port_first[net + 1] &&
            run->labelled[net] != run->stamp) {
            label_ends(run, net);
            queue_net(run, net);
        }
    }
}

static void take_ports_down(ServiceRun *run, const ServiceLoss *loss) {
    const Service *service = run->service;
    for (uint32_t i = 0; i < loss->port_count; i++) {
        TerminalId terminal = loss->ports[i];
        run->port_down[terminal] = run->stamp;
        NetId last = ID_NONE;
        const ModelTerminal *there = &service->model->terminals[terminal];
        for (uint32_t pin = 0; pin < there->pin_count; pin++) {
            NetId net = service->wiring->pin_net[there->pin_first + pin];
            if (net != ID_NONE && net != last) {
                queue_net(run, net);
                last = net;
            }
        }
    }
}

ServiceAnswer service_ask(ServiceRun *run, const ServiceLoss *loss) {
    const Service *service = run->service;
    if (++run->stamp == UINT32_MAX) {
        CHECK(!"a run of service answers four thousand million questions at most");
    }
    memset(run->found_count, 0, sizeof run->found_count);
    for (uint32_t i = 0; i < loss->net_count; i++) {
        run->net_down[loss->nets[i]] = run->stamp;
        queue_net(run, loss->nets[i]);
    }
    break_conductors(run, loss);
    take_ports_down(run, loss);
    for (uint32_t i = 0; i < loss->owner_count; i++) {
        lose_leaf(run, loss->owners[i]);
    }
    for (uint32_t i = 0; i < loss->load_count; i++) {
        lose_leaf(run, service->load_node0 + loss->loads[i]);
    }
    spread(run);
    for (int kind = ANSWER_NEED; kind <= ANSWER_WAY; kind++) {
        if (run->found_count[kind] > 1) {
            qsort(run->found[kind], run->found_count[kind], sizeof(uint32_t), compare_numbers);
        }
    }
    return (ServiceAnswer){
        .needs = run->found[ANSWER_NEED],
        .need_count = run->found_count[ANSWER_NEED],
        .functions = run->found[ANSWER_FUNCTION],
        .function_count = run->found_count[ANSWER_FUNCTION],
        .ways = run->found[ANSWER_WAY],
        .way_count = run->found_count[ANSWER_WAY],
    };
}

ServiceRun *service_run_new(Arena *arena, const Service *service) {
    const Wiring *wiring = service->wiring;
    ServiceRun *run = ARENA_NEW(arena, ServiceRun);
    *run = (ServiceRun){
        .service = service,
        .arena = arena,
        .lost = ARENA_ARRAY(arena, uint32_t, service->node_count),
        .queued = ARENA_ARRAY(arena, uint32_t, service->node_count),
        .net_down = ARENA_ARRAY(arena, uint32_t, wiring->net_count),
        .net_broken = ARENA_ARRAY(arena, uint32_t, wiring->net_count),
        .labelled = ARENA_ARRAY(arena, uint32_t, wiring->net_count),
        .broken = ARENA_ARRAY(arena, uint32_t, wiring->cable_count),
        .port_down = ARENA_ARRAY(arena, uint32_t, service->model->terminal_count),
        .label = ARENA_ARRAY(arena, uint32_t, wiring->end_count),
        .heap = ARENA_ARRAY(arena, uint32_t, service->node_count),
    };
    run->found[ANSWER_NEED] = ARENA_ARRAY(arena, uint32_t, service->need_count);
    run->found[ANSWER_FUNCTION] = ARENA_ARRAY(arena, uint32_t, service->function_count);
    run->found[ANSWER_WAY] = ARENA_ARRAY(arena, uint32_t, service->way_count);
    return run;
}

void service_judge_all(Arena *scratch, Service *service) {
    ServiceRun *run = service_run_new(scratch, service);
    run->stamp = 1;
    for (uint32_t first = 0; first < service->node_count; first += service->circle_size[first]) {
        uint32_t size = service->circle_size[first];
        if (size == 1) {
            uint32_t node = service->order[first];
            service->missing[node] =
                service->kind[node] != SERVICE_LEAF && !service_stands(run, node);
            continue;
        }
        judge_circle(run, first, size);
        for (uint32_t i = 0; i < size; i++) {
            uint32_t node = service->order[first + i];
            service->missing[node] = run->lost[node] == run->stamp;
        }
    }
}

bool service_asks_net(const Service *service, NetId net) {
    return service->net_port_first[net] < service->net_port_first[net + 1];
}
