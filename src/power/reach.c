/* A walk from the port that always takes the neighbour nearest to a source first (distances from
 * one walk over the whole network at the start), so that it runs straight up while nothing is in
 * its way and looks around only where something is. Below a cut it sees what the cut left and ends.
 */
#include "power/reach.h"

#include <string.h>

#include "base/check.h"

#define FAR UINT32_MAX

/* A step from a node: over an element to another node. */
typedef struct Step {
    uint32_t to;
    uint32_t element;
    bool up;   /* may be walked from the port to the source */
    bool down; /* may be walked from the return to the source's return */
} Step;

struct Reach {
    const Network *network;
    const BuildAlternator *alternators;
    const NetworkState *state;
    uint32_t first[NETWORK_KIND_COUNT + 1]; /* of each kind in the one numbering */
    uint32_t *step_first;                   /* by node, and one more */
    Step *up_steps;                         /* nearest to a source first */
    Step *down_steps;                       /* nearest to the structure first */
    uint32_t *source_first;                 /* by node: batteries, alternators whose plus it is */
    uint32_t *sources;                      /* elements */
};

typedef enum Answer { UNKNOWN, YES, NO, ASKED } Answer;

/* Walks nest: a contact asks for its coil, an alternator for its field, a source for its return.
 * Deeper than this nothing is found (a chain of relays that hold each other, fourteen long). */
enum { LEVELS = 32 };

/* Scratch of the walk at one level of nesting: a node is on its path once. */
typedef struct Hike {
    uint32_t *seen; /* by node: number of the walk that was here last */
    uint32_t *path; /* nodes */
    uint32_t *via;  /* element each was reached by */
    uint32_t *next; /* its next step */
} Hike;

struct ReachRun {
    const Reach *reach;
    uint32_t stamp;
    uint32_t *gone_element; /* stamps */
    uint32_t *gone_node;
    uint32_t *passed_element;
    uint32_t *passed_node;
    uint32_t *element_list;
    uint32_t element_list_count;
    uint32_t *node_list;
    uint32_t node_list_count;
    uint32_t *asked_coil; /* stamps of answer_coil */
    uint8_t *answer_coil;
    uint32_t *asked_field;
    uint8_t *answer_field;
    uint32_t open;  /* questions being asked */
    bool leaned;    /* some answer rested on a question that is still open */
    uint32_t walk;  /* number of the walk */
    uint32_t level; /* walks that are under way */
    Hike *hikes;    /* by level */
    Arena *arena;
};

/* --- building -----------------------------------------------------------------------------------
 */

typedef struct Builder {
    Reach *reach;
    uint32_t *fill;
    Step *steps;
} Builder;

static void add_step(Builder *builder, uint32_t from, Step step) {
    builder->steps[builder->fill[from]++] = step;
}

static void add_both(Builder *builder, uint32_t element, uint32_t a, uint32_t b) {
    add_step(builder, a, (Step){.to = b, .element = element, .up = true, .down = true});
    add_step(builder, b, (Step){.to = a, .element = element, .up = true, .down = true});
}

/* Whether a contact can ever pass here: one that follows a coil that is not energised stays as it
 * is (taking things away energises nothing); one whose coil is energised may change. */
static bool contact_counts(const Reach *reach, uint32_t index) {
    const NetworkContact *contact = &reach->network->contacts[index];
    if (contact->coil == NETWORK_NONE) {
        return reach->state->contact_closed[index];
    }
    return reach->state->coil_energised[contact->coil] || reach->state->contact_closed[index];
}

static void count_ends(const Network *network, NetworkKind kind, uint32_t index, uint32_t *count) {
    uint32_t ends[2];
    network_element_ends(network, kind, index, ends);
    count[ends[0] + 1]++;
    count[ends[1] + 1]++;
}

static void list_steps(Arena *out, Builder *builder) {
    Reach *reach = builder->reach;
    const Network *network = reach->network;
    uint32_t *first = reach->step_first;
    for (uint32_t i = 0; i < network->resistor_count; i++) {
        count_ends(network, NETWORK_RESISTOR, i, first);
    }
    for (uint32_t i = 0; i < network->contact_count; i++) {
        count_ends(network, NETWORK_CONTACT, i, first);
    }
    for (uint32_t i = 0; i < network->diode_count; i++) {
        count_ends(network, NETWORK_DIODE, i, first);
    }
    for (uint32_t i = 0; i < network->node_count; i++) {
        first[i + 1] += first[i];
        builder->fill[i] = first[i];
    }
    builder->steps = ARENA_ARRAY(out, Step, first[network->node_count]);
    for (uint32_t i = 0; i < network->resistor_count; i++) {
        const NetworkResistor *row = &network->resistors[i];
        add_both(builder, reach->first[NETWORK_RESISTOR] + i, row->a, row->b);
    }
    for (uint32_t i = 0; i < network->contact_count; i++) {
        const NetworkContact *row = &network->contacts[i];
        if (contact_counts(reach, i)) {
            add_both(builder, reach->first[NETWORK_CONTACT] + i, row->a, row->b);
        }
    }
    for (uint32_t i = 0; i < network->diode_count; i++) {
        const NetworkDiode *row = &network->diodes[i];
        uint32_t element = reach->first[NETWORK_DIODE] + i;
        add_step(builder, row->cathode, (Step){.to = row->anode, .element = element, .up = true});
        add_step(builder, row->anode, (Step){.to = row->cathode, .element = element, .down = true});
    }
}

static bool source_gives(const Reach *reach, uint32_t element) {
    if (element < reach->first[NETWORK_ALTERNATOR]) {
        return reach->network->batteries[element - reach->first[NETWORK_BATTERY]].open_v > 0.0;
    }
    return reach->network->alternators[element - reach->first[NETWORK_ALTERNATOR]].running;
}

static void source_ends(const Reach *reach, uint32_t element, uint32_t ends[2]) {
    bool battery = element < reach->first[NETWORK_ALTERNATOR];
    NetworkKind kind = battery ? NETWORK_BATTERY : NETWORK_ALTERNATOR;
    network_element_ends(reach->network, kind, element - reach->first[kind], ends);
}

static void list_sources(Arena *out, Reach *reach) {
    uint32_t nodes = reach->network->node_count;
    uint32_t *first = ARENA_ARRAY(out, uint32_t, (size_t)nodes + 2);
    uint32_t begin = reach->first[NETWORK_BATTERY];
    uint32_t end = reach->first[NETWORK_ALTERNATOR + 1];
    uint32_t ends[2];
    for (uint32_t i = begin; i < end; i++) {
        source_ends(reach, i, ends);
        first[ends[0] + 2] += source_gives(reach, i) ? 1 : 0;
    }
    for (uint32_t i = 1; i <= nodes; i++) {
        first[i + 1] += first[i];
    }
    reach->sources = ARENA_ARRAY(out, uint32_t, (size_t)end - begin);
    for (uint32_t i = begin; i < end; i++) {
        source_ends(reach, i, ends);
        if (source_gives(reach, i)) {
            reach->sources[first[ends[0] + 1]++] = i;
        }
    }
    reach->source_first = first;
}

/* Steps to the nearest of the starts, breadth first; walked against the direction of asking. */
static void measure(const Reach *reach, const Step *steps, bool upwards, uint32_t *distance,
                    uint32_t *queue, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        uint32_t node = queue[i];
        for (uint32_t s = reach->step_first[node]; s < reach->step_first[node + 1]; s++) {
            /* A step that may be walked from here down is one that may be walked from there up. */
            bool way = upwards ? steps[s].down : steps[s].up;
            if (way && steps[s].to != 0 && distance[steps[s].to] == FAR) {
                distance[steps[s].to] = distance[node] + 1;
                queue[count++] = steps[s].to;
            }
        }
    }
}

/* Neighbours' distances differ by two at most and most nodes have few: those nearest to the goal
 * come first, the rest in the order of elements. */
static void sort_steps(const Reach *reach, Step *steps, const uint32_t *distance, Step *room) {
    for (uint32_t node = 0; node < reach->network->node_count; node++) {
        Step *first = &steps[reach->step_first[node]];
        uint32_t length = reach->step_first[node + 1] - reach->step_first[node];
        if (length < 2) {
            continue;
        }
        uint32_t nearest = FAR;
        for (uint32_t i = 0; i < length; i++) {
            nearest = distance[first[i].to] < nearest ? distance[first[i].to] : nearest;
        }
        uint32_t count = 0;
        for (uint32_t pass = 0; pass < 2; pass++) {
            for (uint32_t i = 0; i < length; i++) {
                if ((distance[first[i].to] == nearest) == (pass == 0)) {
                    room[count++] = first[i];
                }
            }
        }
        memcpy(first, room, length * sizeof *first);
    }
}

static void order_steps(Arena *out, Builder *builder) {
    Reach *reach = builder->reach;
    const Network *network = reach->network;
    Arena scratch = {0};
    uint32_t nodes = network->node_count;
    uint32_t all = reach->step_first[nodes];
    uint32_t *distance = ARENA_ARRAY(&scratch, uint32_t, nodes);
    uint32_t *queue = ARENA_ARRAY(&scratch, uint32_t, nodes);
    Step *room = ARENA_ARRAY(&scratch, Step, all);
    reach->up_steps = builder->steps;
    reach->down_steps = ARENA_ARRAY(out, Step, all);
    memcpy(reach->down_steps, builder->steps, all * sizeof *builder->steps);

    memset(distance, 0xff, nodes * sizeof *distance);
    uint32_t count = 0;
    for (uint32_t node = 0; node < nodes; node++) {
        if (reach->source_first[node] != reach->source_first[node + 1]) {
            distance[node] = 0;
            queue[count++] = node;
        }
    }
    measure(reach, builder->steps, true, distance, queue, count);
    sort_steps(reach, reach->up_steps, distance, room);

    memset(distance, 0xff, nodes * sizeof *distance);
    distance[0] = 0;
    queue[0] = 0;
    measure(reach, reach->down_steps, false, distance, queue, 1);
    sort_steps(reach, reach->down_steps, distance, room);
    arena_free(&scratch);
}

/* --- walking ------------------------------------------------------------------------------------
 */

static bool has_source(ReachRun *run, uint32_t plus, uint32_t minus);

/* Memory of a question: its stamp says whether it was asked since reach_begin(). */
typedef struct Question {
    uint32_t *asked;
    uint8_t *answer;
    uint32_t plus;
    uint32_t minus;
} Question;

/* What was held stays held: a relay that its own contact feeds, an alternator that its own output
 * excites, go on while that leads to a source that is there. So one that is still being asked
 * counts as fed. A `yes` that leaned on one is not kept: the open question may end in `no`. */
static bool ask(ReachRun *run, Question question) {
    if (*question.asked != run->stamp) {
        *question.asked = run->stamp;
        *question.answer = UNKNOWN;
    }
    if (*question.answer == ASKED) {
        run->leaned = true;
        return true;
    }
    if (*question.answer == UNKNOWN) {
        bool leaned = run->leaned;
        run->leaned = false;
        *question.answer = ASKED;
        run->open++;
        bool yes = has_source(run, question.plus, question.minus);
        run->open--;
        *question.answer = !yes ? NO : run->leaned && run->open > 0 ? UNKNOWN : YES;
        run->leaned = leaned || (run->leaned && yes);
        return yes;
    }
    return *question.answer == YES;
}

static bool coil_is_fed(ReachRun *run, uint32_t coil) {
    const NetworkCoil *row = &run->reach->network->coils[coil];
    return ask(run, (Question){.asked = &run->asked_coil[coil],
                               .answer = &run->answer_coil[coil],
                               .plus = row->plus,
                               .minus = row->minus});
}

static bool field_is_fed(ReachRun *run, uint32_t alternator) {
    uint32_t field = run->reach->alternators[alternator].field;
    if (field == NETWORK_NONE) {
        return true;
    }
    const NetworkLoad *row = &run->reach->network->loads[field];
    return ask(run, (Question){.asked = &run->asked_field[alternator],
                               .answer = &run->answer_field[alternator],
                               .plus = row->plus,
                               .minus = row->minus});
}

static bool element_passes(ReachRun *run, uint32_t element) {
    const Reach *reach = run->reach;
    if (run->gone_element[element] == run->stamp) {
        return false;
    }
    if (element < reach->first[NETWORK_CONTACT] || element >= reach->first[NETWORK_COIL]) {
        return true;
    }
    uint32_t index = element - reach->first[NETWORK_CONTACT];
    const NetworkContact *contact = &reach->network->contacts[index];
    if (contact->coil == NETWORK_NONE || !reach->state->coil_energised[contact->coil]) {
        return reach->state->contact_closed[index];
    }
    return coil_is_fed(run, contact->coil) == contact->closed_when_energised;
}

static void pass_node(ReachRun *run, uint32_t node) {
    if (run->passed_node[node] != run->stamp) {
        run->passed_node[node] = run->stamp;
        run->node_list[run->node_list_count++] = node;
    }
}

static void pass_element(ReachRun *run, uint32_t element) {
    if (run->passed_element[element] != run->stamp) {
        run->passed_element[element] = run->stamp;
        run->element_list[run->element_list_count++] = element;
    }
}

/* What a walk looks for. */
typedef struct Goal {
    bool up; /* a source that gives and whose return is joined to `minus`; else `node` */
    uint32_t minus;
    uint32_t node;
} Goal;

static bool joined(ReachRun *run, uint32_t a, uint32_t b);

static bool is_goal(ReachRun *run, const Goal *goal, uint32_t node) {
    const Reach *reach = run->reach;
    if (!goal->up) {
        return node == goal->node;
    }
    for (uint32_t i = reach->source_first[node]; i < reach->source_first[node + 1]; i++) {
        uint32_t source = reach->sources[i];
        uint32_t ends[2];
        source_ends(reach, source, ends);
        if (run->gone_element[source] == run->stamp || run->gone_node[ends[1]] == run->stamp) {
            continue;
        }
        bool alternator = source >= reach->first[NETWORK_ALTERNATOR];
        if (alternator && !field_is_fed(run, source - reach->first[NETWORK_ALTERNATOR])) {
            continue;
        }
        if (joined(run, goal->minus, ends[1])) {
            pass_element(run, source);
            return true;
        }
    }
    return false;
}

static Hike *enter_level(ReachRun *run) {
    Hike *hike = &run->hikes[run->level++];
    if (hike->seen == NULL) {
        uint32_t nodes = run->reach->network->node_count;
        hike->seen = ARENA_ARRAY(run->arena, uint32_t, nodes);
        hike->path = ARENA_ARRAY(run->arena, uint32_t, nodes);
        hike->via = ARENA_ARRAY(run->arena, uint32_t, nodes);
        hike->next = ARENA_ARRAY(run->arena, uint32_t, nodes);
    }
    return hike;
}

/* Depth first from `start` along steps in their order. On success everything on the path is passed.
 */
static bool walk(ReachRun *run, uint32_t start, const Goal *goal) {
    const Reach *reach = run->reach;
    const Step *steps = goal->up ? reach->up_steps : reach->down_steps;
    if (run->gone_node[start] == run->stamp || run->level == LEVELS) {
        return false;
    }
    Hike *hike = enter_level(run);
    uint32_t number = ++run->walk;
    uint32_t length = 1;
    hike->path[0] = start;
    hike->next[0] = reach->step_first[start];
    hike->seen[start] = number;
    bool found = is_goal(run, goal, start);
    while (!found && length > 0) {
        uint32_t node = hike->path[length - 1];
        if (hike->next[length - 1] == reach->step_first[node + 1]) {
            length--;
            continue;
        }
        const Step *step = &steps[hike->next[length - 1]++];
        uint32_t to = step->to;
        bool way = goal->up ? step->up && to != 0 : step->down;
        if (!way || hike->seen[to] == number || run->gone_node[to] == run->stamp ||
            !element_passes(run, step->element)) {
            continue;
        }
        hike->seen[to] = number;
        hike->path[length] = to;
        hike->via[length] = step->element;
        hike->next[length++] = reach->step_first[to];
        found = is_goal(run, goal, to);
    }
    for (uint32_t i = 0; found && i < length; i++) {
        pass_node(run, hike->path[i]);
        if (i > 0) {
            pass_element(run, hike->via[i]);
        }
    }
    run->level--;
    return found;
}

/* Both to the structure, or one to the other. */
static bool joined(ReachRun *run, uint32_t a, uint32_t b) {
    Goal structure = {.node = 0};
    if (a == b) {
        pass_node(run, a);
        return run->gone_node[a] != run->stamp;
    }
    if (walk(run, a, &structure) && walk(run, b, &structure)) {
        return true;
    }
    Goal other = {.node = b};
    return walk(run, a, &other);
}

static bool has_source(ReachRun *run, uint32_t plus, uint32_t minus) {
    Goal goal = {.up = true, .minus = minus};
    return walk(run, plus, &goal);
}

/* --- exported -----------------------------------------------------------------------------------
 */

Reach *reach_build(Arena *out, const Network *network, const BuildAlternator *alternators,
                   const NetworkState *state) {
    Reach *reach = ARENA_NEW(out, Reach);
    reach->network = network;
    reach->alternators = alternators;
    reach->state = state;
    for (int kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        reach->first[kind + 1] =
            reach->first[kind] + network_kind_count(network, (NetworkKind)kind);
    }
    Arena scratch = {0};
    Builder builder = {.reach = reach};
    builder.fill = ARENA_ARRAY(&scratch, uint32_t, (size_t)network->node_count + 1);
    reach->step_first = ARENA_ARRAY(out, uint32_t, (size_t)network->node_count + 1);
    list_steps(out, &builder);
    /* Contacts that never pass left room behind: close it up. */
    uint32_t at = 0;
    for (uint32_t node = 0; node < network->node_count; node++) {
        uint32_t begin = reach->step_first[node];
        uint32_t length = builder.fill[node] - begin;
        memmove(&builder.steps[at], &builder.steps[begin], length * sizeof *builder.steps);
        reach->step_first[node] = at;
        at += length;
    }
    reach->step_first[network->node_count] = at;
    list_sources(out, reach);
    order_steps(out, &builder);
    arena_free(&scratch);
    return reach;
}

uint32_t reach_element_count(const Reach *reach) {
    return reach->first[NETWORK_KIND_COUNT];
}

uint32_t reach_element(const Reach *reach, NetworkKind kind, uint32_t index) {
    return reach->first[kind] + index;
}

ReachRun *reach_run_new(Arena *arena, const Reach *reach) {
    const Network *network = reach->network;
    uint32_t elements = reach_element_count(reach);
    uint32_t nodes = network->node_count;
    ReachRun *run = ARENA_NEW(arena, ReachRun);
    *run = (ReachRun){
        .reach = reach,
        .stamp = 1,
        .gone_element = ARENA_ARRAY(arena, uint32_t, elements),
        .gone_node = ARENA_ARRAY(arena, uint32_t, nodes),
        .passed_element = ARENA_ARRAY(arena, uint32_t, elements),
        .passed_node = ARENA_ARRAY(arena, uint32_t, nodes),
        .element_list = ARENA_ARRAY(arena, uint32_t, elements),
        .node_list = ARENA_ARRAY(arena, uint32_t, nodes),
        .asked_coil = ARENA_ARRAY(arena, uint32_t, network->coil_count),
        .answer_coil = ARENA_ARRAY(arena, uint8_t, network->coil_count),
        .asked_field = ARENA_ARRAY(arena, uint32_t, network->alternator_count),
        .answer_field = ARENA_ARRAY(arena, uint8_t, network->alternator_count),
        .hikes = ARENA_ARRAY(arena, Hike, LEVELS),
        .arena = arena,
    };
    return run;
}

void reach_begin(ReachRun *run) {
    CHECK(run->stamp != UINT32_MAX);
    run->stamp++;
    run->element_list_count = 0;
    run->node_list_count = 0;
}

void reach_block_element(ReachRun *run, uint32_t element) {
    run->gone_element[element] = run->stamp;
}

void reach_block_node(ReachRun *run, uint32_t node) {
    run->gone_node[node] = run->stamp;
}

bool reach_load(ReachRun *run, uint32_t load) {
    const NetworkLoad *row = &run->reach->network->loads[load];
    return has_source(run, row->plus, row->minus);
}

uint32_t reach_passed_elements(const ReachRun *run, const uint32_t **elements) {
    *elements = run->element_list;
    return run->element_list_count;
}

uint32_t reach_passed_nodes(const ReachRun *run, const uint32_t **nodes) {
    *nodes = run->node_list;
    return run->node_list_count;
}
