/* Ways. Segments may be kept for some classes, so there is one set of weights for each different
 * set of closed segments (usually one). Cables are sorted by the pair of nodes they join; each pair
 * is asked once, always from the lower node to the higher, so that a way depends on nothing but the
 * airframe, and cables of the same pair lie together. */
#include "route/route.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "route/graph.h"
#include "route/length.h"
#include "model/report.h"

/* --- closed segments -------------------------------------------------------------------------- */

/* A set of closed segments, with the weights of the rest. */
typedef struct Variant {
    bool *closed; /* by segment; NULL: none */
    RouteWeights weights;
} Variant;

typedef struct Router {
    Arena scratch;
    const Model *model;
    const Wiring *wiring;
    Findings *findings;
    RouteGraph graph;
    RouteRoom room;
    Variant *variants; /* the first has nothing closed */
    uint32_t variant_count;
    uint32_t *class_variant; /* by ClassId */
} Router;

/* Marks the classes a segment is kept for; unknown words are told. */
static void read_classes(Router *router, SegmentId segment, bool *allowed) {
    const Model *model = router->model;
    const char *list = model->set->segment.rows[segment].classes;
    const char *word = NULL;
    size_t length = 0;
    while (text_next_word(&list, &word, &length)) {
        const char *name = arena_text(&router->scratch, word, length);
        ClassId class_id = name_map_find(&model->class_by_name, name);
        if (class_id != NAME_NONE) {
            allowed[class_id] = true;
            continue;
        }
        Finding *finding = report_row(router->findings, model, RULE_ROUTE_CLASS, TABLE_segment,
                                      segment, "classes", "there is no class %s", name);
        finding->hint = "name classes of the library's table `interface`";
    }
}

static uint32_t find_variant(Router *router, bool *closed) {
    size_t bytes = router->model->set->segment.count * sizeof *closed;
    for (uint32_t i = 0; i < router->variant_count; i++) {
        if (memcmp(router->variants[i].closed, closed, bytes) == 0) {
            return i;
        }
    }
    router->variants[router->variant_count].closed = closed;
    return router->variant_count++;
}

/* Sorts classes by the segments closed to them, and weighs each different set. */
static void make_variants(Router *router) {
    const Model *model = router->model;
    size_t classes = model->set->interface.count;
    size_t segments = model->set->segment.count;
    bool **closed = ARENA_ARRAY(&router->scratch, bool *, classes);
    for (size_t i = 0; i < classes; i++) {
        closed[i] = ARENA_ARRAY(&router->scratch, bool, segments);
    }
    bool *allowed = ARENA_ARRAY(&router->scratch, bool, classes);
    for (SegmentId i = 0; i < segments; i++) {
        if (*model->set->segment.rows[i].classes == '\0') {
            continue;
        }
        memset(allowed, 0, classes * sizeof *allowed);
        read_classes(router, i, allowed);
        for (size_t k = 0; k < classes; k++) {
            closed[k][i] = !allowed[k];
        }
    }
    router->variants = ARENA_ARRAY(&router->scratch, Variant, classes + 1);
    router->class_variant = ARENA_ARRAY(&router->scratch, uint32_t, classes);
    find_variant(router, ARENA_ARRAY(&router->scratch, bool, segments));
    for (size_t i = 0; i < classes; i++) {
        router->class_variant[i] = find_variant(router, closed[i]);
    }
    for (uint32_t i = 0; i < router->variant_count; i++) {
        graph_weigh(&router->scratch, &router->graph, model->segment_length_mm,
                    router->variants[i].closed, &router->variants[i].weights);
    }
}

/* --- questions -------------------------------------------------------------------------------- */

typedef struct Request {
    uint32_t variant;
    NodeId low;
    NodeId high;
    CableId cable;
} Request;

/* Where the way of a cable lies in the list of all ways, from its lower node. */
typedef struct Way {
    size_t first;
    uint32_t count;
    bool found;
} Way;

static int compare_requests(const void *left, const void *right) {
    const Request *a = left;
    const Request *b = right;
    if (a->variant != b->variant) {
        return a->variant < b->variant ? -1 : 1;
    }
    if (a->low != b->low) {
        return a->low < b->low ? -1 : 1;
    }
    if (a->high != b->high) {
        return a->high < b->high ? -1 : 1;
    }
    return a->cable < b->cable ? -1 : (a->cable > b->cable ? 1 : 0);
}

static Request *list_requests(Router *router, size_t *count) {
    const Model *model = router->model;
    const Wiring *wiring = router->wiring;
    Request *requests = ARENA_ARRAY(&router->scratch, Request, wiring->cable_count);
    *count = 0;
    for (CableId i = 0; i < wiring->cable_count; i++) {
        const Cable *cable = &wiring->cables[i];
        NodeId from = model->terminals[cable->from].node;
        NodeId to = model->terminals[cable->to].node;
        if (from == ID_NONE || to == ID_NONE || from == to) {
            continue;
        }
        requests[(*count)++] = (Request){
            .variant = router->class_variant[wiring->nets[cable->net].class_id],
            .low = from < to ? from : to,
            .high = from < to ? to : from,
            .cable = i,
        };
    }
    if (*count > 1) {
        qsort(requests, *count, sizeof *requests, compare_requests);
    }
    return requests;
}

static void report_no_way(Router *router, const Request *request, size_t cables) {
    const Model *model = router->model;
    const Wiring *wiring = router->wiring;
    const Net *net = &wiring->nets[wiring->cables[request->cable].net];
    const char *low = model->set->node.rows[request->low].node;
    const char *high = model->set->node.rows[request->high].node;
    bool open = false;
    if (request->variant != 0) {
        SegmentList list = {.arena = &router->scratch};
        graph_climb(&router->graph, &router->variants[0].weights, request->low, &router->room.from);
        graph_climb(&router->graph, &router->variants[0].weights, request->high, &router->room.to);
        open = graph_way(&router->graph, &router->variants[0].weights, &router->room, &list);
    }
    Finding *finding =
        report_row(router->findings, model, RULE_ROUTE_NONE, net->from_table, net->from_row, "",
                   "no way leads from node %s to node %s for circuit %s%s%s", low, high, net->name,
                   open ? ": the segments between are kept for other classes than " : "",
                   open ? wiring_class(model, net->class_id)->class : "");
    finding->value = (double)cables;
    finding->unit = "cables";
    finding->rows = arena_format(router->findings->arena, "%s %s", low, high);
    finding->hint = open ? "allow the class in one of the segments, or lay another"
                         : "add the segment that is missing between them";
}

/* Asks every pair once; ways[cable] gets the answer. */
static void ask_all(Router *router, const Request *requests, size_t count, Way *ways,
                    SegmentList *list) {
    for (size_t i = 0; i < count;) {
        const Request *first = &requests[i];
        const RouteWeights *weights = &router->variants[first->variant].weights;
        if (i == 0 || requests[i - 1].variant != first->variant ||
            requests[i - 1].low != first->low) {
            graph_climb(&router->graph, weights, first->low, &router->room.from);
        }
        graph_climb(&router->graph, weights, first->high, &router->room.to);
        Way way = {.first = list->count};
        way.found = graph_way(&router->graph, weights, &router->room, list);
        way.count = (uint32_t)(list->count - way.first);
        size_t next = i;
        for (; next < count && requests[next].variant == first->variant &&
               requests[next].low == first->low && requests[next].high == first->high;
             next++) {
            ways[requests[next].cable] = way;
        }
        if (!way.found) {
            report_no_way(router, first, next - i);
            graph_climb(&router->graph, weights, first->low, &router->room.from);
        }
        i = next;
    }
}

/* --- results ---------------------------------------------------------------------------------- */

/* Writes the hops of one cable, from its `from` end; its length is NAN without a way. */
static void lay_cable(const Router *router, CableId id, const Way *way, const uint32_t *segments,
                      Routing *routing) {
    const Model *model = router->model;
    const Cable *cable = &router->wiring->cables[id];
    const ModelTerminal *from = &model->terminals[cable->from];
    const ModelTerminal *to = &model->terminals[cable->to];
    bool has_way = from->node != ID_NONE && (from->node == to->node || way->found);
    routing->length_mm[id] = has_way ? 0.0 : (double)NAN;
    if (!has_way || !way->found) {
        return;
    }
    CHECK(way->count == 0 || segments != NULL);
    bool forward = from->node < to->node;
    NodeId at = from->node;
    for (uint32_t i = 0; i < way->count; i++) {
        uint32_t place = forward ? i : way->count - 1 - i;
        SegmentId segment = segments[way->first + place];
        bool backward = model->segment_a[segment] != at;
        routing->hops[routing->hop_count++] = (Hop){.segment = segment, .backward = backward};
        at = backward ? model->segment_a[segment] : model->segment_b[segment];
    }
}

static void lay_all(Arena *out, const Router *router, const Way *ways, const uint32_t *segments,
                    Routing *routing) {
    uint32_t cables = router->wiring->cable_count;
    size_t hops = 0;
    for (CableId i = 0; i < cables; i++) {
        hops += ways[i].count;
    }
    routing->hops = ARENA_ARRAY(out, Hop, hops);
    routing->cable_first = ARENA_ARRAY(out, uint32_t, (size_t)cables + 1);
    routing->length_mm = ARENA_ARRAY(out, double, cables);
    for (CableId i = 0; i < cables; i++) {
        routing->cable_first[i] = routing->hop_count;
        lay_cable(router, i, &ways[i], segments, routing);
    }
    routing->cable_first[cables] = routing->hop_count;
}

/* --- the airframe itself ---------------------------------------------------------------------- */

/* Nodes that no segment leads to, and ends of segments at which nothing sits. */
static void check_nodes(const Router *router) {
    const Model *model = router->model;
    size_t count = model->set->node.count;
    Arena scratch = {0};
    uint32_t *degree = ARENA_ARRAY(&scratch, uint32_t, count);
    uint32_t *segment = ARENA_ARRAY(&scratch, uint32_t, count);
    bool *inhabited = ARENA_ARRAY(&scratch, bool, count);
    for (SegmentId i = 0; i < model->set->segment.count; i++) {
        NodeId ends[2] = {model->segment_a[i], model->segment_b[i]};
        for (int k = 0; k < 2 && ends[0] != ends[1]; k++) {
            if (ends[k] < count) {
                degree[ends[k]]++;
                segment[ends[k]] = i;
            }
        }
    }
    for (OwnerId i = 0; i < model->owner_count; i++) {
        if (model->owners[i].node < count) {
            inhabited[model->owners[i].node] = true;
        }
    }
    for (TerminalId i = 0; i < model->terminal_count; i++) {
        if (model->terminals[i].node < count) {
            inhabited[model->terminals[i].node] = true;
        }
    }
    for (NodeId i = 0; i < count; i++) {
        const char *name = model->set->node.rows[i].node;
        if (degree[i] == 0 && count > 1) {
            Finding *finding = report_row(router->findings, model, RULE_ROUTE_LOOSE, TABLE_node, i,
                                          "", "no segment leads to node %s", name);
            finding->hint = "add a segment, or take the node out";
        } else if (degree[i] == 1 && !inhabited[i]) {
            Finding *finding = report_row(
                router->findings, model, RULE_ROUTE_DEAD_END, TABLE_segment, segment[i], "",
                "segment %s leads to node %s, where nothing sits and no other segment goes on",
                model->set->segment.rows[segment[i]].segment, name);
            finding->rows = name;
            finding->hint = "put something there, or take the segment out";
        }
    }
    arena_free(&scratch);
}

bool route_segment_direction(const Model *model, SegmentId segment, double direction[3]) {
    const NodeRow *a = &model->set->node.rows[model->segment_a[segment]];
    const NodeRow *b = &model->set->node.rows[model->segment_b[segment]];
    direction[0] = b->x_mm - a->x_mm;
    direction[1] = b->y_mm - a->y_mm;
    direction[2] = b->z_mm - a->z_mm;
    double length_mm = sqrt(direction[0] * direction[0] + direction[1] * direction[1] +
                            direction[2] * direction[2]);
    for (int axis = 0; axis < 3; axis++) {
        direction[axis] = length_mm > 0.0 ? direction[axis] / length_mm : 0.0;
    }
    return length_mm > 0.0;
}

bool route_find(Arena *out, const Model *model, const Wiring *wiring, Routing *routing,
                Findings *findings) {
    *routing = (Routing){0};
    Router router = {.model = model, .wiring = wiring, .findings = findings};
    graph_build(&router.scratch, (uint32_t)model->set->node.count,
                (uint32_t)model->set->segment.count, model->segment_a, model->segment_b,
                &router.graph);
    graph_room(&router.scratch, &router.graph, &router.room);
    make_variants(&router);
    size_t count = 0;
    Request *requests = list_requests(&router, &count);
    Way *ways = ARENA_ARRAY(&router.scratch, Way, wiring->cable_count);
    SegmentList list = {.arena = &router.scratch};
    ask_all(&router, requests, count, ways, &list);
    lay_all(out, &router, ways, list.segments, routing);
    lengths_find(out, model, wiring, routing);
    check_nodes(&router);
    arena_free(&router.scratch);
    return true;
}
