/* Method: all gates and loads as edges between spots. A super node joined to every source and every
 * bus turns "on a way between two of them" into "on a circle through the super node", that is, into
 * the blocks (biconnected components) of the super node: one depth-first walk. What may ground the
 * inside of such a way matters too. A coil matters when one of its contacts does; its circuit is
 * what gates lead to from its two ends. */
#include "power/sneak_graph.h"

#include <math.h>
#include <string.h>

/* An edge between spots, before anything is left out. */
typedef struct Raw {
    uint32_t a, b; /* spots */
    uint32_t gate;
    uint32_t load;
    uint32_t coil; /* into Supply.coils: the edge is that coil; ID_NONE */
    bool feeds;
    bool kept;
} Raw;

typedef struct Grapher {
    Arena *out;
    Arena scratch;
    const Paths *paths;
    const Spots *spots;
    SneakGraph *graph;
    Raw *raws;
    size_t raw_count;
    size_t raw_capacity;
    uint32_t *first; /* by spot, and one more: its raw edges */
    uint32_t *list;
    bool *terminal;       /* by spot: a source or a bus */
    uint32_t *owner_coil; /* by OwnerId: into Supply.coils */
    bool *coil_kept;      /* by coil of Supply */
    uint32_t *raw_edge;   /* by raw edge: its edge in the graph */
    uint32_t *owner_item; /* by OwnerId: switch of the graph */
    uint32_t *coil_item;  /* by coil of Supply: coil of the graph */
} Grapher;

/* --- all edges ----------------------------------------------------------------------------------
 */

static void add_raw(Grapher *grapher, Raw raw) {
    if (raw.a != raw.b) {
        *ARENA_PUSH(&grapher->scratch, grapher->raws, grapher->raw_count, grapher->raw_capacity) =
            raw;
    }
}

static uint32_t spot_of(const Grapher *grapher, uint32_t point) {
    return grapher->spots->point_spot[point];
}

static void add_load_edges(Grapher *grapher, uint32_t load) {
    const Model *model = grapher->paths->model;
    const SupplyLoad *row = &grapher->paths->supply.loads[load];
    if (row->load_row == ID_NONE) {
        return; /* a coil */
    }
    const ModelTerminal *port = &model->terminals[row->port];
    bool motor = row->return_port == row->port;
    uint32_t back = motor                         ? port->pin_first + 1
                    : row->return_port == ID_NONE ? gates_case_point(model, row->owner)
                                                  : model->terminals[row->return_port].pin_first;
    uint32_t backs = motor                         ? 1
                     : row->return_port == ID_NONE ? 1
                                                   : model->terminals[row->return_port].pin_count;
    uint32_t plus = motor ? 1 : port->pin_count;
    uint32_t shares = plus > backs ? plus : backs;
    for (uint32_t i = 0; i < shares && port->pin_count > (motor ? 1 : 0) && backs > 0; i++) {
        add_raw(grapher, (Raw){.a = spot_of(grapher, port->pin_first + i % plus),
                               .b = spot_of(grapher, back + i % backs),
                               .gate = ID_NONE,
                               .load = load,
                               .coil = ID_NONE});
    }
}

static void add_raws(Grapher *grapher) {
    const Paths *paths = grapher->paths;
    const Gates *gates = &paths->supply.gates;
    for (uint32_t i = 0; i < gates->count; i++) {
        add_raw(grapher, (Raw){.a = spot_of(grapher, gates->rows[i].a),
                               .b = spot_of(grapher, gates->rows[i].b),
                               .gate = i,
                               .load = ID_NONE,
                               .coil = ID_NONE});
    }
    for (uint32_t i = 0; i < paths->supply.load_count; i++) {
        add_load_edges(grapher, i);
    }
    for (uint32_t i = 0; i < paths->supply.coil_count; i++) {
        const SupplyCoil *coil = &paths->supply.coils[i];
        add_raw(grapher, (Raw){.a = spot_of(grapher, coil->plus),
                               .b = spot_of(grapher, coil->minus),
                               .gate = ID_NONE,
                               .load = coil->load,
                               .coil = i});
    }
    uint32_t count = grapher->spots->count;
    grapher->first = ARENA_ARRAY(&grapher->scratch, uint32_t, (size_t)count + 2);
    grapher->list = ARENA_ARRAY(&grapher->scratch, uint32_t, 2 * grapher->raw_count);
    for (size_t i = 0; i < grapher->raw_count; i++) {
        grapher->first[grapher->raws[i].a + 2]++;
        grapher->first[grapher->raws[i].b + 2]++;
    }
    for (uint32_t spot = 2; spot < count + 2; spot++) {
        grapher->first[spot] += grapher->first[spot - 1];
    }
    for (uint32_t i = 0; i < grapher->raw_count; i++) {
        grapher->list[grapher->first[grapher->raws[i].a + 1]++] = i;
        grapher->list[grapher->first[grapher->raws[i].b + 1]++] = i;
    }
}

static void mark_terminals(Grapher *grapher) {
    const Spots *spots = grapher->spots;
    grapher->terminal = ARENA_ARRAY(&grapher->scratch, bool, spots->count);
    for (uint32_t spot = 0; spot < spots->count; spot++) {
        grapher->terminal[spot] =
            !spots->grounded[spot] && (spots->fed[spot] || spots->spot_bus[spot] != ID_NONE);
    }
}

/* --- what lies between sources and buses --------------------------------------------------------
 */

/* One spot on the stack of the walk. */
typedef struct Frame {
    uint32_t spot;
    uint32_t next; /* in its list */
    uint32_t by;   /* raw edge it was reached by; ID_NONE */
} Frame;

typedef struct Blocks {
    Grapher *grapher;
    uint32_t *depth; /* by spot: number in the walk, from 2; the super node is 1; 0: not seen */
    uint32_t *low;
    uint32_t clock;
    Frame *frames;
    uint32_t frame_count;
    uint32_t *stack; /* raw edges not yet in a finished block */
    uint32_t stacked;
} Blocks;

static void enter(Blocks *blocks, uint32_t spot, uint32_t by) {
    blocks->depth[spot] = blocks->low[spot] = ++blocks->clock;
    if (blocks->grapher->terminal[spot] && by != ID_NONE) {
        blocks->low[spot] = 1; /* the edge to the super node */
    }
    blocks->frames[blocks->frame_count++] = (Frame){spot, blocks->grapher->first[spot], by};
}

static uint32_t least(uint32_t a, uint32_t b) {
    return a < b ? a : b;
}

/* Takes a finished block off the stack: the edges down to `by`. It holds the super node when its
 * lowest number is 1. */
static void take_block(Blocks *blocks, uint32_t by, bool through_super) {
    for (bool more = true; more;) {
        uint32_t raw = blocks->stack[--blocks->stacked];
        blocks->grapher->raws[raw].feeds = through_super;
        more = raw != by;
    }
}

/* The super node's neighbours are walked from one by one. A walk begins over the edge from the
 * super node: what is reached lies on a circle through it when a way leads back to it by another
 * terminal, that is, when its lowest number is 1. */
static void step(Blocks *blocks) {
    Grapher *grapher = blocks->grapher;
    Frame *frame = &blocks->frames[blocks->frame_count - 1];
    uint32_t spot = frame->spot;
    if (frame->next < grapher->first[spot + 1]) {
        uint32_t raw = grapher->list[frame->next++];
        const Raw *row = &grapher->raws[raw];
        uint32_t other = row->a == spot ? row->b : row->a;
        if (raw == frame->by || grapher->spots->grounded[other]) {
            return;
        }
        if (blocks->depth[other] == 0) {
            blocks->stack[blocks->stacked++] = raw;
            enter(blocks, other, raw);
        } else if (blocks->depth[other] < blocks->depth[spot]) {
            blocks->stack[blocks->stacked++] = raw;
            blocks->low[spot] = least(blocks->low[spot], blocks->depth[other]);
        }
        return;
    }
    uint32_t by = frame->by;
    blocks->frame_count--;
    if (by == ID_NONE) {
        return;
    }
    uint32_t parent = blocks->frames[blocks->frame_count - 1].spot;
    blocks->low[parent] = least(blocks->low[parent], blocks->low[spot]);
    /* The first spot of a walk is a terminal: an edge of its own leads to the super node. */
    if (blocks->low[spot] >= blocks->depth[parent]) {
        take_block(blocks, by, false);
    }
}

static void find_blocks(Grapher *grapher) {
    uint32_t count = grapher->spots->count;
    Blocks blocks = {
        .grapher = grapher,
        .depth = ARENA_ARRAY(&grapher->scratch, uint32_t, count),
        .low = ARENA_ARRAY(&grapher->scratch, uint32_t, count),
        .clock = 1,
        .frames = ARENA_ARRAY(&grapher->scratch, Frame, count),
        .stack = ARENA_ARRAY(&grapher->scratch, uint32_t, grapher->raw_count),
    };
    for (uint32_t spot = 0; spot < count; spot++) {
        if (!grapher->terminal[spot] || blocks.depth[spot] != 0) {
            continue;
        }
        enter(&blocks, spot, ID_NONE);
        while (blocks.frame_count > 0) {
            step(&blocks);
        }
        /* What is left on the stack reaches the super node a second time. */
        while (blocks.stacked > 0) {
            grapher->raws[blocks.stack[--blocks.stacked]].feeds = true;
        }
    }
}

/* --- what grounds the inside of a way -----------------------------------------------------------
 */

/* Keeps gates that hang on a node inside a way and may lead to ground: closed they take the current
 * away. What hangs on a bus only draws from it. */
static void keep_sinks(Grapher *grapher) {
    uint32_t spots = grapher->spots->count;
    bool *inside = ARENA_ARRAY(&grapher->scratch, bool, spots);
    uint32_t *queue = ARENA_ARRAY(&grapher->scratch, uint32_t, spots);
    uint32_t count = 0;
    for (size_t i = 0; i < grapher->raw_count; i++) {
        const Raw *raw = &grapher->raws[i];
        const uint32_t ends[2] = {raw->a, raw->b};
        for (int end = 0; raw->feeds && end < 2; end++) {
            if (!inside[ends[end]] && !grapher->terminal[ends[end]]) {
                inside[ends[end]] = true;
                queue[count++] = ends[end];
            }
        }
    }
    for (uint32_t head = 0; head < count; head++) {
        uint32_t spot = queue[head];
        if (grapher->spots->grounded[spot]) {
            continue;
        }
        for (uint32_t i = grapher->first[spot]; i < grapher->first[spot + 1]; i++) {
            Raw *raw = &grapher->raws[grapher->list[i]];
            uint32_t other = raw->a == spot ? raw->b : raw->a;
            if (raw->gate == ID_NONE || raw->kept) {
                continue;
            }
            raw->kept = true;
            if (!inside[other] && !grapher->terminal[other]) {
                inside[other] = true;
                queue[count++] = other;
            }
        }
    }
}

/* --- coils --------------------------------------------------------------------------------------
 */

/* Keeps what gates lead to from one end of a coil, up to buses, sources and ground. */
static void keep_circuit(Grapher *grapher, uint32_t start, uint32_t walk, uint32_t *seen,
                         uint32_t *queue) {
    uint32_t count = 0;
    seen[start] = walk;
    queue[count++] = start;
    for (uint32_t head = 0; head < count; head++) {
        uint32_t spot = queue[head];
        if (head > 0 && (grapher->terminal[spot] || grapher->spots->grounded[spot])) {
            continue;
        }
        if (grapher->spots->grounded[spot] || grapher->terminal[spot]) {
            return; /* the coil stands there itself */
        }
        for (uint32_t i = grapher->first[spot]; i < grapher->first[spot + 1]; i++) {
            Raw *raw = &grapher->raws[grapher->list[i]];
            uint32_t other = raw->a == spot ? raw->b : raw->a;
            if (raw->gate == ID_NONE) {
                continue;
            }
            raw->kept = true;
            if (seen[other] != walk) {
                seen[other] = walk;
                queue[count++] = other;
            }
        }
    }
}

/* Keeps coils whose contacts are kept, and their circuits, until nothing is added. */
static void keep_coils(Grapher *grapher) {
    const Supply *supply = &grapher->paths->supply;
    uint32_t *seen = ARENA_ARRAY(&grapher->scratch, uint32_t, grapher->spots->count);
    uint32_t *queue = ARENA_ARRAY(&grapher->scratch, uint32_t, grapher->spots->count);
    uint32_t walk = 0;
    grapher->coil_kept = ARENA_ARRAY(&grapher->scratch, bool, supply->coil_count);
    for (bool added = true; added;) {
        added = false;
        for (size_t i = 0; i < grapher->raw_count; i++) {
            const Raw *raw = &grapher->raws[i];
            if (!raw->kept || raw->gate == ID_NONE ||
                supply->gates.rows[raw->gate].kind != GATE_CONTACT) {
                continue;
            }
            uint32_t coil = grapher->owner_coil[supply->gates.rows[raw->gate].owner];
            if (coil != ID_NONE && !grapher->coil_kept[coil]) {
                grapher->coil_kept[coil] = added = true;
                keep_circuit(grapher, spot_of(grapher, supply->coils[coil].plus), ++walk, seen,
                             queue);
                keep_circuit(grapher, spot_of(grapher, supply->coils[coil].minus), ++walk, seen,
                             queue);
            }
        }
    }
}

static void index_coils(Grapher *grapher) {
    const Supply *supply = &grapher->paths->supply;
    uint32_t owners = grapher->paths->model->owner_count;
    grapher->owner_coil = ARENA_ARRAY(&grapher->scratch, uint32_t, owners);
    memset(grapher->owner_coil, 0xff, owners * sizeof *grapher->owner_coil);
    for (uint32_t i = 0; i < supply->coil_count; i++) {
        grapher->owner_coil[supply->coils[i].owner] = i;
    }
}

/* --- the graph ----------------------------------------------------------------------------------
 */

static uint32_t node_of(Grapher *grapher, uint32_t spot) {
    SneakGraph *graph = grapher->graph;
    if (graph->spot_node[spot] == ID_NONE) {
        graph->node_spot[graph->node_count] = spot;
        graph->spot_node[spot] = graph->node_count++;
    }
    return graph->spot_node[spot];
}

/* Adds a word to the positions of a switch; its bit. Words beyond the room share the last bit: more
 * edges conduct together than really do, so nothing is lost. */
static uint32_t word_bit(SneakSwitch *item, const char *word, size_t length, Arena *arena) {
    for (uint32_t i = 0; i < item->count; i++) {
        if (strlen(item->words[i]) == length && memcmp(item->words[i], word, length) == 0) {
            return 1U << i;
        }
    }
    if (item->count < SNEAK_POSITIONS_MAX) {
        item->words[item->count++] = arena_text(arena, word, length);
    }
    return 1U << (item->count - 1);
}

/* A switch with its rest position and every position in which one of its gates conducts; true when
 * the gate is one that a hand moves. */
static bool read_switch(Arena *arena, const Paths *paths, OwnerId owner, SneakSwitch *item) {
    const Model *model = paths->model;
    const Gates *gates = &paths->supply.gates;
    const ModelOwner *row = &model->owners[owner];
    if (row->kind != OWNER_SWITCHGEAR && row->kind != OWNER_UNIT) {
        return false; /* protective devices stay closed */
    }
    const char *rest = row->kind == OWNER_UNIT ? "off" : model->set->switchgear.rows[row->row].rest;
    *item = (SneakSwitch){.owner = owner};
    bool any = false;
    for (uint32_t i = gates->owner_first[owner]; i < gates->owner_first[owner + 1]; i++) {
        if (gates->rows[i].kind != GATE_SWITCH) {
            continue;
        }
        if (!any) {
            word_bit(item, rest, strlen(rest), arena);
        }
        any = true;
        const char *place = gates->rows[i].closed_in;
        const char *word = NULL;
        size_t length = 0;
        while (text_next_word(&place, &word, &length)) {
            word_bit(item, word, length, arena);
            if (row->kind == OWNER_UNIT) {
                break; /* "closed on": two words for one thing */
            }
        }
    }
    return any;
}

static uint32_t positions_of(SneakSwitch *item, const Gate *gate) {
    uint32_t bits = 0;
    for (uint32_t i = 0; i < item->count; i++) {
        bits |= gates_closed(gate, item->words[i]) ? 1U << i : 0U;
    }
    return bits;
}

static uint32_t coil_item(Grapher *grapher, uint32_t coil) {
    SneakGraph *graph = grapher->graph;
    if (grapher->coil_item[coil] != ID_NONE) {
        return grapher->coil_item[coil];
    }
    const SupplyCoil *row = &grapher->paths->supply.coils[coil];
    graph->coils[graph->coil_count] =
        (SneakCoil){coil, node_of(grapher, spot_of(grapher, row->plus)),
                    node_of(grapher, spot_of(grapher, row->minus))};
    grapher->coil_item[coil] = graph->coil_count;
    return graph->coil_count++;
}

static uint32_t switch_item(Grapher *grapher, OwnerId owner) {
    SneakGraph *graph = grapher->graph;
    if (grapher->owner_item[owner] == ID_NONE) {
        SneakSwitch item;
        if (!read_switch(grapher->out, grapher->paths, owner, &item)) {
            return ID_NONE;
        }
        graph->switches[graph->switch_count] = item;
        grapher->owner_item[owner] = graph->switch_count++;
    }
    return grapher->owner_item[owner];
}

/* Least ohms of a gate: what the library says; devices and switches count as nothing. */
static SneakEdge edge_of(Grapher *grapher, const Raw *raw) {
    const Supply *supply = &grapher->paths->supply;
    SneakEdge edge = {
        .kind = SNEAK_LOAD,
        .a = node_of(grapher, raw->a),
        .b = node_of(grapher, raw->b),
        .gate = raw->gate,
        .load = raw->load,
        .item = ID_NONE,
        .feeds = raw->feeds,
    };
    if (raw->gate == ID_NONE) {
        return edge;
    }
    const Gate *gate = &supply->gates.rows[raw->gate];
    edge.ohm = isnan(gate->ohm) ? 0.0 : gate->ohm;
    edge.kind = gate->kind == GATE_DIODE ? SNEAK_DIODE : SNEAK_METAL;
    if (gate->kind == GATE_SWITCH) {
        edge.item = switch_item(grapher, gate->owner);
        if (edge.item != ID_NONE) {
            edge.kind = SNEAK_SWITCH;
            edge.positions = positions_of(&grapher->graph->switches[edge.item], gate);
        }
    } else if (gate->kind == GATE_CONTACT) {
        uint32_t coil = grapher->owner_coil[gate->owner];
        const SupplyCoil *row = &supply->coils[coil];
        bool rest = text_has_word(gate->closed_in, row->rest);
        bool energised = text_has_word(gate->closed_in, row->energised);
        if (rest != energised) {
            edge.kind = SNEAK_CONTACT;
            edge.item = coil_item(grapher, coil);
            edge.energised = energised;
        } else if (!rest) {
            edge.kind = SNEAK_CONTACT; /* never: an item that is none */
        }
    }
    return edge;
}

static void make_edges(Grapher *grapher) {
    SneakGraph *graph = grapher->graph;
    Arena *out = grapher->out;
    uint32_t spots = grapher->spots->count;
    graph->spot_node = ARENA_ARRAY(out, uint32_t, spots);
    graph->node_spot = ARENA_ARRAY(out, uint32_t, spots);
    memset(graph->spot_node, 0xff, spots * sizeof *graph->spot_node);
    graph->edges = ARENA_ARRAY(out, SneakEdge, grapher->raw_count);
    graph->coils = ARENA_ARRAY(out, SneakCoil, grapher->paths->supply.coil_count);
    graph->switches = ARENA_ARRAY(out, SneakSwitch, grapher->paths->model->owner_count);
    grapher->raw_edge = ARENA_ARRAY(&grapher->scratch, uint32_t, grapher->raw_count);
    uint32_t owners = grapher->paths->model->owner_count;
    grapher->owner_item = ARENA_ARRAY(&grapher->scratch, uint32_t, owners);
    memset(grapher->owner_item, 0xff, owners * sizeof *grapher->owner_item);
    uint32_t coils = grapher->paths->supply.coil_count;
    grapher->coil_item = ARENA_ARRAY(&grapher->scratch, uint32_t, coils);
    memset(grapher->coil_item, 0xff, coils * sizeof *grapher->coil_item);
    for (size_t i = 0; i < grapher->raw_count; i++) {
        grapher->raw_edge[i] = ID_NONE;
        if (grapher->raws[i].kept) {
            grapher->raw_edge[i] = graph->edge_count;
            graph->edges[graph->edge_count++] = edge_of(grapher, &grapher->raws[i]);
        }
    }
}

static void list_edges(Grapher *grapher) {
    SneakGraph *graph = grapher->graph;
    graph->edge_first = ARENA_ARRAY(grapher->out, uint32_t, (size_t)graph->node_count + 2);
    graph->node_edges = ARENA_ARRAY(grapher->out, uint32_t, 2 * (size_t)graph->edge_count);
    for (uint32_t i = 0; i < graph->edge_count; i++) {
        graph->edge_first[graph->edges[i].a + 2]++;
        graph->edge_first[graph->edges[i].b + 2]++;
    }
    for (uint32_t node = 2; node < graph->node_count + 2; node++) {
        graph->edge_first[node] += graph->edge_first[node - 1];
    }
    for (uint32_t i = 0; i < graph->edge_count; i++) {
        graph->node_edges[graph->edge_first[graph->edges[i].a + 1]++] = i;
        graph->node_edges[graph->edge_first[graph->edges[i].b + 1]++] = i;
    }
}

static void add_sources(Grapher *grapher) {
    SneakGraph *graph = grapher->graph;
    const Model *model = grapher->paths->model;
    graph->sources = ARENA_ARRAY(grapher->out, SneakSource, model->set->source.count);
    for (uint32_t i = 0; i < model->set->source.count; i++) {
        OwnerId owner = model_owner(model, model->set->source.rows[i].unit);
        uint32_t point = owner == ID_NONE
                             ? ID_NONE
                             : gates_owner_point(model, owner, model->set->source.rows[i].plus);
        uint32_t node = point == ID_NONE ? ID_NONE : node_of(grapher, spot_of(grapher, point));
        if (node != ID_NONE) {
            graph->sources[graph->source_count++] = (SneakSource){i, node};
        }
    }
}

/* --- feeds --------------------------------------------------------------------------------------
 */

static bool in_terminal(uint32_t point, const ModelTerminal *terminal) {
    return point - terminal->pin_first < terminal->pin_count;
}

/* Edges of one step of a feed: gates between its two terminals that are in the graph. One that is
 * not in it moves nothing that is looked at; it counts as closed. */
static SneakStep read_step(Grapher *grapher, const uint32_t *gate_raw, const FeedStep *step,
                           size_t *count, size_t *capacity) {
    const Model *model = grapher->paths->model;
    const Gates *gates = &grapher->paths->supply.gates;
    SneakStep found = {.edge_first = (uint32_t)*count};
    for (uint32_t i = gates->owner_first[step->owner]; i < gates->owner_first[step->owner + 1];
         i++) {
        const Gate *gate = &gates->rows[i];
        const ModelTerminal *in = &model->terminals[step->in];
        const ModelTerminal *out = &model->terminals[step->out];
        bool between = (in_terminal(gate->a, in) && in_terminal(gate->b, out)) ||
                       (in_terminal(gate->b, in) && in_terminal(gate->a, out));
        uint32_t raw = between ? gate_raw[i] : ID_NONE;
        if (raw != ID_NONE && grapher->raw_edge[raw] != ID_NONE) {
            *ARENA_PUSH(grapher->out, grapher->graph->step_edges, *count, *capacity) =
                grapher->raw_edge[raw];
            found.edge_count++;
        }
    }
    return found;
}

static void add_feeds(Grapher *grapher) {
    SneakGraph *graph = grapher->graph;
    const Model *model = grapher->paths->model;
    uint32_t *gate_raw =
        ARENA_ARRAY(&grapher->scratch, uint32_t, grapher->paths->supply.gates.count);
    memset(gate_raw, 0xff, grapher->paths->supply.gates.count * sizeof *gate_raw);
    for (uint32_t i = 0; i < grapher->raw_count; i++) {
        if (grapher->raws[i].gate != ID_NONE) {
            gate_raw[grapher->raws[i].gate] = i;
        }
    }
    graph->feeds = ARENA_ARRAY(grapher->out, SneakFeed, model->set->feed.count);
    graph->steps = ARENA_ARRAY(grapher->out, SneakStep, model->step_count);
    uint32_t steps = 0;
    size_t edges = 0;
    size_t capacity = 0;
    for (uint32_t i = 0; i < model->set->feed.count; i++) {
        const ModelFeed *row = &model->feeds[i];
        if (!row->usable) {
            continue;
        }
        SneakFeed feed = {.feed = i, .step_first = steps};
        for (uint32_t k = 0; k < row->step_count; k++) {
            SneakStep step =
                read_step(grapher, gate_raw, &model->steps[row->step_first + k], &edges, &capacity);
            if (step.edge_count > 0) {
                graph->steps[steps++] = step;
                feed.step_count++;
            }
        }
        graph->feeds[graph->feed_count++] = feed;
    }
}

/* --- nodes tied to ground -----------------------------------------------------------------------
 */

/* Largest current through a load in either direction: the law of power/network.h gives at most
 * twice the nominal current (a power load at its knee); a resistance at the highest voltage there
 * is. */
static double load_a(const Paths *paths, uint32_t load, double ceiling_v) {
    const SupplyLoad *row = &paths->supply.loads[load];
    double nominal_v = paths->model->set->job.rows[0].nominal_v;
    return row->design_a * fmax(2.0, ceiling_v / nominal_v);
}

/* v <= g x sum of the currents that can come in: Kirchhoff at the node, with every other end at the
 * highest voltage there is. */
static double tied_v(const Grapher *grapher, uint32_t spot, double ceiling_v) {
    const Paths *paths = grapher->paths;
    double ground_s = 0.0;
    double in_a = 0.0;
    for (uint32_t i = grapher->first[spot]; i < grapher->first[spot + 1]; i++) {
        const Raw *raw = &grapher->raws[grapher->list[i]];
        uint32_t other = raw->a == spot ? raw->b : raw->a;
        const Gate *gate = raw->gate == ID_NONE ? NULL : &paths->supply.gates.rows[raw->gate];
        if (grapher->spots->grounded[other]) {
            bool always = gate != NULL && gate->kind == GATE_RESISTOR;
            ground_s += always ? 1.0 / fmax(gate->ohm, BUILD_BOLTED_OHM) : 0.0;
        } else if (gate == NULL) {
            in_a += load_a(paths, raw->load, ceiling_v);
        } else {
            in_a += gate->kind == GATE_RESISTOR || gate->kind == GATE_DIODE
                        ? ceiling_v / fmax(gate->ohm, BUILD_BOLTED_OHM)
                        : (double)INFINITY;
        }
    }
    return ground_s > 0.0 ? in_a / ground_s : (double)NAN;
}

static void mark_nodes(Grapher *grapher, double limit_v) {
    SneakGraph *graph = grapher->graph;
    double ceiling_v = 0.0;
    const TableSet *set = grapher->paths->model->set;
    for (size_t i = 0; i < set->battery.count; i++) {
        ceiling_v = fmax(ceiling_v, set->battery.rows[i].open_circuit_v);
    }
    for (size_t i = 0; i < set->alternator.count; i++) {
        ceiling_v = fmax(ceiling_v, set->alternator.rows[i].regulated_v);
    }
    graph->grounded = ARENA_ARRAY(grapher->out, bool, graph->node_count);
    graph->bus = ARENA_ARRAY(grapher->out, BusId, graph->node_count);
    graph->tied_v = ARENA_ARRAY(grapher->out, double, graph->node_count);
    for (uint32_t node = 0; node < graph->node_count; node++) {
        uint32_t spot = graph->node_spot[node];
        graph->grounded[node] = grapher->spots->grounded[spot];
        graph->bus[node] = grapher->spots->spot_bus[spot];
        double volts_v = grapher->terminal[spot] || graph->grounded[node]
                             ? (double)NAN
                             : tied_v(grapher, spot, ceiling_v);
        graph->tied_v[node] = volts_v <= limit_v ? volts_v : (double)NAN;
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

/* Positions of all switches times sources on and off. */
static void count_all(Grapher *grapher) {
    SneakGraph *graph = grapher->graph;
    const Paths *paths = grapher->paths;
    graph->all_combinations = 1.0;
    for (OwnerId owner = 0; owner < paths->model->owner_count; owner++) {
        SneakSwitch item;
        if (paths->model->owners[owner].kind == OWNER_SWITCHGEAR &&
            paths->model->owners[owner].part != ID_NONE &&
            read_switch(&grapher->scratch, paths, owner, &item)) {
            graph->all_switches++;
            graph->all_combinations *= item.count;
        }
    }
    for (uint32_t i = 0; i < graph->source_count; i++) {
        graph->all_combinations *= 2.0;
    }
}

void sneak_graph_build(Arena *out, const Paths *paths, double limit_v, bool whole,
                       SneakGraph *graph) {
    *graph = (SneakGraph){0};
    Grapher *grapher = ARENA_NEW(out, Grapher);
    *grapher = (Grapher){.out = out, .paths = paths, .spots = &paths->supply.spots, .graph = graph};
    add_raws(grapher);
    mark_terminals(grapher);
    find_blocks(grapher);
    index_coils(grapher);
    for (size_t i = 0; i < grapher->raw_count; i++) {
        grapher->raws[i].kept = whole || grapher->raws[i].feeds;
    }
    keep_sinks(grapher);
    keep_coils(grapher);
    make_edges(grapher);
    add_sources(grapher);
    add_feeds(grapher);
    list_edges(grapher);
    mark_nodes(grapher, limit_v);
    count_all(grapher);
    Arena scratch = grapher->scratch;
    arena_free(&scratch);
}
