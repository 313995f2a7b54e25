#include "power/guard_flow.h"

/* Method: breadth first over links whose current flows towards the node they are seen from. A way
 * ends at a protective device or a source. */

/* --- links --------------------------------------------------------------------------------------
 */

static bool is_linked(NetworkKind kind) {
    return kind != NETWORK_LOAD && kind != NETWORK_COIL;
}

GuardNet guard_net(Arena *out, const Network *network, uint32_t *const *local,
                   const uint32_t *contact_device, const double *resistor_mm) {
    GuardNet net = {
        .network = network, .contact_device = contact_device, .resistor_mm = resistor_mm};
    uint32_t *first = ARENA_ARRAY(out, uint32_t, (size_t)network->node_count + 2);
    for (int pass = 0; pass < 2; pass++) {
        for (int kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
            uint32_t count =
                is_linked((NetworkKind)kind) ? network_kind_count(network, (NetworkKind)kind) : 0;
            for (uint32_t i = 0; i < count; i++) {
                uint32_t ends[2];
                network_element_ends(network, (NetworkKind)kind, i, ends);
                for (uint32_t end = 0; end < 2 && ends[0] != ends[1]; end++) {
                    if (pass == 0) {
                        first[ends[end] + 2]++;
                    } else {
                        net.links[first[ends[end] + 1]++] =
                            (GuardLink){(NetworkKind)kind, i, local == NULL ? i : local[kind][i],
                                        ends[1 - end], end == 0};
                    }
                }
            }
        }
        if (pass == 0) {
            for (uint32_t i = 2; i < network->node_count + 2; i++) {
                first[i] += first[i - 1];
            }
            net.links = ARENA_ARRAY(out, GuardLink, first[network->node_count + 1]);
        }
    }
    net.first = first;
    return net;
}

double guard_link_a(FailRun *run, const GuardLink *link) {
    double amps_a = fail_element_a(run, link->kind, link->local);
    /* Of a source positive is out of plus: towards the node when the node is its plus. */
    bool source = link->kind == NETWORK_BATTERY || link->kind == NETWORK_ALTERNATOR;
    return link->is_first == source ? amps_a : -amps_a;
}

/* --- walks --------------------------------------------------------------------------------------
 */

GuardWalk guard_walk_new(Arena *out, const GuardNet *net) {
    return (GuardWalk){
        .net = net,
        .seen = ARENA_ARRAY(out, uint32_t, net->network->node_count),
        .way_mm = ARENA_ARRAY(out, double, net->network->node_count),
        .queue = ARENA_ARRAY(out, uint32_t, net->network->node_count),
    };
}

static void add_feed(GuardFlow *flow, const GuardFeed *feed) {
    if (flow->count == GUARD_FEEDS_MOST) {
        flow->left_out_a += feed->amps_a;
        return;
    }
    flow->feeds[flow->count++] = *feed;
}

void guard_flow(GuardWalk *walk, FailRun *run, uint32_t node, uint32_t not_through, double least_a,
                GuardFlow *flow) {
    const GuardNet *net = walk->net;
    *flow = (GuardFlow){0};
    walk->number++;
    uint32_t count = 0;
    if (node != 0) {
        walk->seen[node] = walk->number;
        walk->way_mm[node] = 0.0;
        walk->queue[count++] = node;
    }
    for (uint32_t q = 0; q < count; q++) {
        uint32_t at = walk->queue[q];
        for (uint32_t i = net->first[at]; i < net->first[at + 1]; i++) {
            const GuardLink *link = &net->links[i];
            bool resistor = link->kind == NETWORK_RESISTOR;
            if (resistor && link->index == not_through) {
                continue;
            }
            double amps_a = guard_link_a(run, link);
            if (!(amps_a > least_a)) {
                continue;
            }
            GuardFeed feed = {NETWORK_NONE, NETWORK_NONE, link->other,     link->kind,
                              link->index,  amps_a,       walk->way_mm[at]};
            if (link->kind == NETWORK_BATTERY || link->kind == NETWORK_ALTERNATOR) {
                add_feed(flow, &feed);
                continue;
            }
            if (link->kind == NETWORK_CONTACT && net->contact_device[link->index] != NETWORK_NONE) {
                feed.device = net->contact_device[link->index];
                feed.contact = link->index;
                add_feed(flow, &feed);
                continue;
            }
            if (link->other != 0 && walk->seen[link->other] != walk->number) {
                walk->seen[link->other] = walk->number;
                walk->way_mm[link->other] =
                    walk->way_mm[at] +
                    (resistor && net->resistor_mm != NULL ? net->resistor_mm[link->index] : 0.0);
                walk->queue[count++] = link->other;
            }
        }
    }
}
