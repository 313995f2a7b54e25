/* Rows to graph. Every unit has the functions its part's `depends` rows name and `works`; a part
 * without rows for `works` works while any of its supply ports is supplied, or always when it needs
 * no supply. Ports become nodes when a row asks for them. Then needs: all clauses, any way, all
 * ports. At last the order, children first, by one depth-first walk (Tarjan's components). */
#include <string.h>

#include "base/check.h"
#include "model/report.h"
#include "power/service_inner.h"

#define WORKS "works"
#define NOTHING "nothing"

typedef struct Edge {
    uint32_t parent;
    uint32_t child;
} Edge;

typedef struct Builder {
    Service *service;
    Arena *out;
    const Model *model;
    const Wiring *wiring;
    Findings *findings;
    Arena scratch;
    uint8_t *kinds; /* growing; copied at the end */
    uint32_t *port_of;
    size_t node_count;
    size_t node_capacity;
    size_t port_of_capacity;
    Edge *edges;
    size_t edge_count;
    size_t edge_capacity;
    uint32_t *net_group;     /* by NetId: first group, ID_NONE */
    uint32_t *end_first;     /* by TerminalId: its places in Wiring.ends, terminal_count + 1 */
    uint32_t *end_places;    /* indices into Wiring.ends */
    NetId *end_net;          /* by index into Wiring.ends */
    uint32_t *depends_first; /* by PartId: its rows of `depends` */
    uint32_t *depends_count;
    bool *depends_bad; /* by row of `depends`: reported */
    bool bad;          /* some row was: what is missing is its doing */
} Builder;

static uint32_t add_node(Builder *builder, ServiceKind kind) {
    size_t count = builder->node_count;
    *ARENA_PUSH(&builder->scratch, builder->kinds, builder->node_count, builder->node_capacity) =
        (uint8_t)kind;
    *ARENA_PUSH(&builder->scratch, builder->port_of, count, builder->port_of_capacity) = ID_NONE;
    CHECK(builder->node_count < ID_NONE);
    return (uint32_t)builder->node_count - 1;
}

static void add_edge(Builder *builder, uint32_t parent, uint32_t child) {
    *ARENA_PUSH(&builder->scratch, builder->edges, builder->edge_count, builder->edge_capacity) =
        (Edge){.parent = parent, .child = child};
}

/* --- functions ----------------------------------------------------------------------------------
 */

/* The function of an owner by name, ID_NONE when it has none. */
static uint32_t find_function(const Service *service, OwnerId owner, const char *name) {
    uint32_t first = service->owner_function_first[owner];
    for (uint32_t i = first; i < first + service->owner_function_count[owner]; i++) {
        if (strcmp(service->functions[i].name, name) == 0) {
            return i;
        }
    }
    return ID_NONE;
}

static bool is_works(const char *name) {
    return strcmp(name, WORKS) == 0;
}

static void count_depends(Builder *builder) {
    const TableSet *set = builder->model->set;
    builder->depends_first = ARENA_ARRAY(&builder->scratch, uint32_t, set->part.count);
    builder->depends_count = ARENA_ARRAY(&builder->scratch, uint32_t, set->part.count);
    builder->depends_bad = ARENA_ARRAY(&builder->scratch, bool, set->depends.count);
    for (uint32_t i = 0; i < set->part.count; i++) {
        builder->depends_first[i] = model_rows_of(
            builder->model, TABLE_depends, set->part.rows[i].part, &builder->depends_count[i]);
    }
}

/* Calls for each function that the rows name, and for `works`. Returns how many. */
static uint32_t list_functions(const Builder *builder, OwnerId owner, ServiceFunction *functions) {
    const ModelOwner *box = &builder->model->owners[owner];
    if (box->kind != OWNER_UNIT || box->part == ID_NONE) {
        return 0;
    }
    const DependsRow *rows = builder->model->set->depends.rows;
    uint32_t first = builder->depends_first[box->part];
    uint32_t end = first + builder->depends_count[box->part];
    uint32_t count = 0;
    bool works = false;
    for (uint32_t i = first; i < end; i++) {
        if (i > first && strcmp(rows[i].function, rows[i - 1].function) == 0) {
            continue;
        }
        works = works || is_works(rows[i].function);
        if (functions != NULL) {
            functions[count] = (ServiceFunction){.owner = owner, .name = rows[i].function};
        }
        count++;
    }
    if (!works) {
        if (functions != NULL) {
            functions[count] = (ServiceFunction){.owner = owner, .name = WORKS};
        }
        count++;
    }
    return count;
}

static void name_functions(Builder *builder) {
    Service *service = builder->service;
    uint32_t owners = builder->model->owner_count;
    service->owner_function_first = ARENA_ARRAY(builder->out, uint32_t, owners);
    service->owner_function_count = ARENA_ARRAY(builder->out, uint32_t, owners);
    for (OwnerId i = 0; i < owners; i++) {
        service->owner_function_first[i] = service->function_count;
        service->owner_function_count[i] = list_functions(builder, i, NULL);
        service->function_count += service->owner_function_count[i];
    }
    service->functions = ARENA_ARRAY(builder->out, ServiceFunction, service->function_count);
    for (OwnerId i = 0; i < owners; i++) {
        list_functions(builder, i, &service->functions[service->owner_function_first[i]]);
    }
    service->function_node0 = (uint32_t)builder->node_count;
    for (uint32_t i = 0; i < service->function_count; i++) {
        add_node(builder, SERVICE_ANY);
    }
}

/* --- ports --------------------------------------------------------------------------------------
 */

static void place_ends(Builder *builder) {
    const Wiring *wiring = builder->wiring;
    Arena *scratch = &builder->scratch;
    uint32_t terminals = builder->model->terminal_count;
    builder->end_first = ARENA_ARRAY(scratch, uint32_t, (size_t)terminals + 2);
    builder->end_places = ARENA_ARRAY(scratch, uint32_t, wiring->end_count);
    builder->end_net = ARENA_ARRAY(scratch, NetId, wiring->end_count);
    for (NetId net = 0; net < wiring->net_count; net++) {
        for (uint32_t k = 0; k < wiring->nets[net].end_count; k++) {
            uint32_t end = wiring->nets[net].end_first + k;
            builder->end_net[end] = net;
            builder->end_first[wiring->ends[end] + 2]++;
        }
    }
    for (uint32_t i = 1; i <= terminals; i++) {
        builder->end_first[i + 1] += builder->end_first[i];
    }
    for (uint32_t end = 0; end < wiring->end_count; end++) {
        builder->end_places[builder->end_first[wiring->ends[end] + 1]++] = end;
    }
}

/* Whether a port that asks in that direction takes what `there` gives. */
static bool can_answer(const Model *model, Direction asks, const ModelTerminal *there) {
    switch (asks) {
    case DIRECTION_IN:
        return there->direction != DIRECTION_IN && there->direction != DIRECTION_RET;
    case DIRECTION_OUT:
        return there->direction != DIRECTION_OUT && there->direction != DIRECTION_RET;
    case DIRECTION_RET:
        return model->owners[there->owner].kind == OWNER_GROUND;
    case DIRECTION_BI:
    case DIRECTION_NONE:
        return there->direction != DIRECTION_RET;
    }
    return false;
}

/* The node that stands for what a partner's port gives, ID_NONE when it can't give it. */
static uint32_t candidate_node(const Service *service, const char *partner, TerminalId terminal) {
    const Model *model = service->model;
    const ModelTerminal *there = &model->terminals[terminal];
    bool box = service->owner_function_count[there->owner] > 0;
    if (!box) {
        return *partner == '\0' ? there->owner : ID_NONE;
    }
    uint32_t function =
        find_function(service, there->owner, *partner != '\0' ? partner : there->name);
    if (function == ID_NONE && *partner == '\0') {
        function = find_function(service, there->owner, WORKS);
    }
    return function == ID_NONE ? ID_NONE : service->function_node0 + function;
}

static uint32_t take_group(Builder *builder, NetId net, Direction direction, const char *partner) {
    Service *service = builder->service;
    for (uint32_t i = builder->net_group[net]; i != ID_NONE; i = service->groups[i].next) {
        if (service->groups[i].direction == direction &&
            strcmp(service->groups[i].partner, partner) == 0) {
            return i;
        }
    }
    uint32_t id = (uint32_t)service->group_count;
    uint32_t node = add_node(builder, SERVICE_GROUP);
    builder->port_of[node] = id;
    uint32_t first = (uint32_t)service->candidate_count;
    for (uint32_t k = 0; k < builder->wiring->nets[net].end_count; k++) {
        uint32_t end = builder->wiring->nets[net].end_first + k;
        TerminalId there = builder->wiring->ends[end];
        if (!can_answer(builder->model, direction, &builder->model->terminals[there])) {
            continue;
        }
        uint32_t candidate = candidate_node(service, partner, there);
        if (candidate != ID_NONE) {
            *ARENA_PUSH(builder->out, service->candidates, service->candidate_count,
                        service->candidate_capacity) =
                (ServiceCandidate){.end = end, .node = candidate};
            add_edge(builder, node, candidate);
        }
    }
    *ARENA_PUSH(builder->out, service->groups, service->group_count, service->group_capacity) =
        (ServiceGroup){.net = net,
                       .direction = direction,
                       .partner = partner,
                       .node = node,
                       .candidate_first = first,
                       .candidate_count = (uint32_t)service->candidate_count - first,
                       .next = builder->net_group[net]};
    builder->net_group[net] = id;
    return id;
}

static uint32_t take_port(Builder *builder, TerminalId terminal, const char *partner) {
    Service *service = builder->service;
    for (uint32_t i = service->terminal_port[terminal]; i != ID_NONE; i = service->ports[i].next) {
        if (strcmp(service->ports[i].partner, partner) == 0) {
            return service->ports[i].node;
        }
    }
    uint32_t node = add_node(builder, SERVICE_PORT);
    builder->port_of[node] = (uint32_t)service->port_count;
    ServicePort port = {
        .terminal = terminal,
        .partner = partner,
        .node = node,
        .next = service->terminal_port[terminal],
    };
    service->terminal_port[terminal] = (uint32_t)service->port_count;
    Direction direction = builder->model->terminals[terminal].direction;
    port.site_first = (uint32_t)service->site_count;
    for (uint32_t i = builder->end_first[terminal]; i < builder->end_first[terminal + 1]; i++) {
        uint32_t end = builder->end_places[i];
        NetId net = builder->end_net[end];
        uint32_t group = take_group(builder, net, direction, partner);
        *ARENA_PUSH(builder->out, service->sites, service->site_count, service->site_capacity) =
            (ServiceSite){.net = net, .end = end, .group = group};
        add_edge(builder, node, service->groups[group].node);
    }
    port.site_count = (uint32_t)service->site_count - port.site_first;
    *ARENA_PUSH(builder->out, service->ports, service->port_count, service->port_capacity) = port;
    return node;
}

static void index_ports_by_net(Builder *builder) {
    Service *service = builder->service;
    uint32_t nets = builder->wiring->net_count;
    service->net_port_first = ARENA_ARRAY(builder->out, uint32_t, (size_t)nets + 2);
    service->net_ports = ARENA_ARRAY(builder->out, uint32_t, service->site_count);
    for (size_t i = 0; i < service->site_count; i++) {
        service->net_port_first[service->sites[i].net + 2]++;
    }
    for (uint32_t i = 1; i <= nets; i++) {
        service->net_port_first[i + 1] += service->net_port_first[i];
    }
    for (uint32_t i = 0; i < service->port_count; i++) {
        const ServicePort *port = &service->ports[i];
        for (uint32_t k = 0; k < port->site_count; k++) {
            NetId net = service->sites[port->site_first + k].net;
            service->net_ports[service->net_port_first[net + 1]++] = i;
        }
    }
}

/* --- what a function rests on -------------------------------------------------------------------
 */

static TerminalId port_of_unit(const Builder *builder, OwnerId owner, const char *name) {
    const ModelOwner *box = &builder->model->owners[owner];
    for (uint32_t i = 0; i < box->terminal_count; i++) {
        if (strcmp(builder->model->terminals[box->terminal_first + i].name, name) == 0) {
            return box->terminal_first + i;
        }
    }
    return ID_NONE;
}

/* What rests on something that is not there. */
static void rest_on_nothing(Builder *builder, uint32_t way) {
    builder->bad = true;
    add_edge(builder, way, add_node(builder, SERVICE_ANY));
}

static void report_depends(Builder *builder, uint32_t row) {
    if (builder->depends_bad[row]) {
        return;
    }
    builder->depends_bad[row] = true;
    const DependsRow *cell = &builder->model->set->depends.rows[row];
    Finding *finding =
        report_row(builder->findings, builder->model, RULE_NEED_DEPENDS, TABLE_depends, row, "port",
                   "%s has no port and no function %s", cell->part, cell->port);
    report_hint(builder->findings, finding,
                "name a port of the part, another of its functions, or `%s`", NOTHING);
}

/* One row of a way becomes an edge from it. */
static void add_ground_of_way(Builder *builder, uint32_t way, OwnerId owner, uint32_t row) {
    const Service *service = builder->service;
    const DependsRow *cell = &builder->model->set->depends.rows[row];
    if (strcmp(cell->port, NOTHING) == 0) {
        return;
    }
    TerminalId terminal = port_of_unit(builder, owner, cell->port);
    if (terminal != ID_NONE) {
        uint32_t load = service->supply->terminal_load[terminal];
        bool supply = load != ID_NONE && *cell->partner == '\0';
        add_edge(builder, way,
                 supply ? service->load_node0 + load : take_port(builder, terminal, cell->partner));
        return;
    }
    uint32_t function = find_function(service, owner, cell->port);
    if (function == ID_NONE) {
        report_depends(builder, row);
        rest_on_nothing(builder, way);
        return;
    }
    add_edge(builder, way, service->function_node0 + function);
}

/* The rows of one function: [first, end). */
static void build_ways(Builder *builder, uint32_t function, uint32_t first, uint32_t end) {
    const DependsRow *rows = builder->model->set->depends.rows;
    OwnerId owner = builder->service->functions[function].owner;
    uint32_t row = first;
    while (row < end) {
        uint32_t way = add_node(builder, SERVICE_ALL);
        add_edge(builder, builder->service->function_node0 + function, way);
        bool at_rest = false;
        const char *name = rows[row].way;
        for (; row < end && strcmp(rows[row].way, name) == 0; row++) {
            at_rest = at_rest || rows[row].at_rest == 1;
            add_ground_of_way(builder, way, owner, row);
        }
        if (!at_rest) {
            add_edge(builder, way, owner);
        }
    }
}

/* No row says what the box rests on. */
static void build_default(Builder *builder, uint32_t function) {
    Service *service = builder->service;
    OwnerId owner = service->functions[function].owner;
    const ModelOwner *box = &builder->model->owners[owner];
    const char *lives = builder->model->set->part.rows[box->part].supply;
    bool always = strstr(lives, "own battery") != NULL || strcmp(lives, "passive") == 0 ||
                  strcmp(lives, "source") == 0;
    uint32_t supplies = 0;
    for (uint32_t i = 0; i < box->terminal_count && !always; i++) {
        uint32_t load = service->supply->terminal_load[box->terminal_first + i];
        if (load != ID_NONE) {
            uint32_t way = add_node(builder, SERVICE_ALL);
            add_edge(builder, way, owner);
            add_edge(builder, way, service->load_node0 + load);
            add_edge(builder, service->function_node0 + function, way);
            supplies++;
        }
    }
    if (supplies == 0) {
        uint32_t way = add_node(builder, SERVICE_ALL);
        add_edge(builder, way, owner);
        add_edge(builder, service->function_node0 + function, way);
    }
    service->functions[function].undecided = supplies > 1;
}

static void build_functions(Builder *builder) {
    Service *service = builder->service;
    const DependsRow *rows = builder->model->set->depends.rows;
    for (uint32_t i = 0; i < service->function_count; i++) {
        const ServiceFunction *function = &service->functions[i];
        PartId part = builder->model->owners[function->owner].part;
        uint32_t first = builder->depends_first[part];
        uint32_t end = first + builder->depends_count[part];
        while (first < end && strcmp(rows[first].function, function->name) != 0) {
            first++;
        }
        uint32_t last = first;
        while (last < end && strcmp(rows[last].function, function->name) == 0) {
            last++;
        }
        if (first == last) {
            build_default(builder, i);
        } else {
            build_ways(builder, i, first, last);
        }
    }
}

/* --- needs --------------------------------------------------------------------------------------
 */

static void report_need(Builder *builder, uint32_t row) {
    const char *end = builder->model->set->need.rows[row].port;
    const char *point = strchr(end, '.');
    OwnerId owner = ID_NONE;
    if (point != NULL) {
        owner =
            model_owner(builder->model, arena_text(&builder->scratch, end, (size_t)(point - end)));
    }
    Finding *finding =
        owner == ID_NONE ? report_row(builder->findings, builder->model, RULE_NEED_ROW, TABLE_need,
                                      row, "port", "nothing in this job is called %s", end)
                         : report_row(builder->findings, builder->model, RULE_NEED_ROW, TABLE_need,
                                      row, "port", "%s has no port and no function %s",
                                      builder->model->owners[owner].tag, point + 1);
    report_meant(builder->findings, finding, builder->model, end);
}

/* A supply port asks for the supply and for the box; a function or a box for itself; a data port
 * for its service. A name that is nowhere is never there. */
static void add_ground_of_need(Builder *builder, uint32_t way, uint32_t row) {
    const Service *service = builder->service;
    const Model *model = builder->model;
    const char *end = model->set->need.rows[row].port;
    OwnerId owner = model_owner(model, end);
    const char *name = WORKS;
    if (owner == ID_NONE) {
        const char *point = strchr(end, '.');
        if (point != NULL) {
            owner = model_owner(model, arena_text(&builder->scratch, end, (size_t)(point - end)));
            name = point + 1;
        }
    }
    TerminalId terminal = model_terminal(model, end);
    uint32_t load = terminal == ID_NONE ? ID_NONE : service->supply->terminal_load[terminal];
    if (load != ID_NONE) {
        add_edge(builder, way, service->load_node0 + load);
        name = WORKS;
    }
    bool box = owner != ID_NONE && service->owner_function_count[owner] > 0;
    uint32_t function = box ? find_function(service, owner, name) : ID_NONE;
    if (function != ID_NONE) {
        add_edge(builder, way, service->function_node0 + function);
    } else if (terminal != ID_NONE && load == ID_NONE) {
        add_edge(builder, way, take_port(builder, terminal, ""));
    } else if (owner != ID_NONE && (strcmp(name, WORKS) == 0 || load != ID_NONE)) {
        add_edge(builder, way, owner);
    } else {
        report_need(builder, row);
        rest_on_nothing(builder, way);
    }
}

static bool begins_way(const NeedRow *rows, uint32_t row, uint32_t first) {
    return row == first || strcmp(rows[row].clause, rows[row - 1].clause) != 0 ||
           strcmp(rows[row].way, rows[row - 1].way) != 0;
}

static bool begins_need(const NeedRow *rows, uint32_t row) {
    return row == 0 || strcmp(rows[row].need, rows[row - 1].need) != 0;
}

static void count_needs(Builder *builder) {
    Service *service = builder->service;
    const NeedRow *rows = builder->model->set->need.rows;
    for (uint32_t i = 0; i < builder->model->set->need.count; i++) {
        service->need_count += begins_need(rows, i);
        service->way_count += begins_need(rows, i) || begins_way(rows, i, 0);
    }
    service->needs = ARENA_ARRAY(builder->out, ServiceNeed, service->need_count);
    service->need_node = ARENA_ARRAY(builder->out, uint32_t, service->need_count);
    service->ways = ARENA_ARRAY(builder->out, ServiceWay, service->way_count);
    service->way_node = ARENA_ARRAY(builder->out, uint32_t, service->way_count);
}

/* Rows of one need that say different things about the whole need. */
static void check_same(Builder *builder, uint32_t row, const char *column, const char *first,
                       const char *here) {
    if (strcmp(first, here) != 0) {
        Finding *finding =
            report_row(builder->findings, builder->model, RULE_NEED_ROW, TABLE_need, row, column,
                       "%s is `%s` here and `%s` in its first row", column, here, first);
        finding->hint = "write the same in every row of the need";
    }
}

static void build_need(Builder *builder, uint32_t id, uint32_t first, uint32_t end) {
    Service *service = builder->service;
    const NeedRow *rows = builder->model->set->need.rows;
    uint32_t node = add_node(builder, SERVICE_ALL);
    uint32_t way_first =
        id == 0 ? 0 : service->needs[id - 1].way_first + service->needs[id - 1].way_count;
    uint32_t ways = 0;
    uint32_t clause = ID_NONE;
    uint32_t way = ID_NONE;
    for (uint32_t row = first; row < end; row++) {
        if (row == first || strcmp(rows[row].clause, rows[row - 1].clause) != 0) {
            clause = add_node(builder, SERVICE_ANY);
            add_edge(builder, node, clause);
        }
        if (begins_way(rows, row, first)) {
            way = add_node(builder, SERVICE_ALL);
            add_edge(builder, clause, way);
            service->way_node[way_first + ways] = way;
            service->ways[way_first + ways++] = (ServiceWay){
                .need = id,
                .clause = rows[row].clause,
                .way = rows[row].way,
                .row_first = row,
            };
        }
        service->ways[way_first + ways - 1].row_count++;
        add_ground_of_need(builder, way, row);
        check_same(builder, row, "name", rows[first].name, rows[row].name);
        check_same(builder, row, "severity", rows[first].severity, rows[row].severity);
        check_same(builder, row, "scope", rows[first].scope, rows[row].scope);
    }
    service->need_node[id] = node;
    service->needs[id] = (ServiceNeed){
        .name = rows[first].need,
        .title = rows[first].name,
        .severity = rows[first].severity,
        .scope = rows[first].scope,
        .row_first = first,
        .row_count = end - first,
        .way_first = way_first,
        .way_count = ways,
    };
}

static void build_needs(Builder *builder) {
    count_needs(builder);
    const NeedRow *rows = builder->model->set->need.rows;
    uint32_t count = (uint32_t)builder->model->set->need.count;
    uint32_t id = 0;
    for (uint32_t row = 0; row < count;) {
        uint32_t end = row + 1;
        while (end < count && !begins_need(rows, end)) {
            end++;
        }
        build_need(builder, id++, row, end);
        row = end;
    }
}

/* --- order --------------------------------------------------------------------------------------
 */

static void index_edges(Builder *builder) {
    Service *service = builder->service;
    size_t nodes = builder->node_count;
    service->child_first = ARENA_ARRAY(builder->out, uint32_t, nodes + 2);
    service->parent_first = ARENA_ARRAY(builder->out, uint32_t, nodes + 2);
    service->children = ARENA_ARRAY(builder->out, uint32_t, builder->edge_count);
    service->parents = ARENA_ARRAY(builder->out, uint32_t, builder->edge_count);
    for (size_t i = 0; i < builder->edge_count; i++) {
        service->child_first[builder->edges[i].parent + 2]++;
        service->parent_first[builder->edges[i].child + 2]++;
    }
    for (size_t i = 1; i <= nodes; i++) {
        service->child_first[i + 1] += service->child_first[i];
        service->parent_first[i + 1] += service->parent_first[i];
    }
    for (size_t i = 0; i < builder->edge_count; i++) {
        Edge edge = builder->edges[i];
        service->children[service->child_first[edge.parent + 1]++] = edge.child;
        service->parents[service->parent_first[edge.child + 1]++] = edge.parent;
    }
}

/* Tarjan (1972), without recursion: components come out children first. */
typedef struct Walk {
    uint32_t *index; /* 0: not seen */
    uint32_t *low;
    bool *stacked;
    uint32_t *stack;
    uint32_t stack_count;
    uint32_t *path; /* nodes being walked */
    uint32_t *next; /* by node: next child */
    uint32_t path_count;
    uint32_t seen;
    uint32_t done;
} Walk;

static void enter(Walk *walk, const Service *service, uint32_t node) {
    walk->index[node] = walk->low[node] = ++walk->seen;
    walk->stack[walk->stack_count++] = node;
    walk->stacked[node] = true;
    walk->path[walk->path_count++] = node;
    walk->next[node] = service->child_first[node];
}

static void close_component(Walk *walk, Service *service, uint32_t root) {
    uint32_t first = walk->done;
    for (;;) {
        uint32_t node = walk->stack[--walk->stack_count];
        walk->stacked[node] = false;
        service->order[walk->done] = node;
        service->rank[node] = walk->done++;
        service->circle[node] = first;
        if (node == root) {
            break;
        }
    }
    service->circle_size[first] = walk->done - first;
}

static void walk_from(Walk *walk, Service *service, uint32_t start) {
    enter(walk, service, start);
    while (walk->path_count > 0) {
        uint32_t node = walk->path[walk->path_count - 1];
        if (walk->next[node] < service->child_first[node + 1]) {
            uint32_t child = service->children[walk->next[node]++];
            if (walk->index[child] == 0) {
                enter(walk, service, child);
            } else if (walk->stacked[child] && walk->index[child] < walk->low[node]) {
                walk->low[node] = walk->index[child];
            }
            continue;
        }
        walk->path_count--;
        if (walk->low[node] == walk->index[node]) {
            close_component(walk, service, node);
        }
        if (walk->path_count > 0) {
            uint32_t above = walk->path[walk->path_count - 1];
            walk->low[above] =
                walk->low[node] < walk->low[above] ? walk->low[node] : walk->low[above];
        }
    }
}

static void order_nodes(Builder *builder) {
    Service *service = builder->service;
    Arena *scratch = &builder->scratch;
    uint32_t nodes = service->node_count;
    service->order = ARENA_ARRAY(builder->out, uint32_t, nodes);
    service->rank = ARENA_ARRAY(builder->out, uint32_t, nodes);
    service->circle = ARENA_ARRAY(builder->out, uint32_t, nodes);
    service->circle_size = ARENA_ARRAY(builder->out, uint32_t, nodes);
    Walk walk = {
        .index = ARENA_ARRAY(scratch, uint32_t, nodes),
        .low = ARENA_ARRAY(scratch, uint32_t, nodes),
        .stacked = ARENA_ARRAY(scratch, bool, nodes),
        .stack = ARENA_ARRAY(scratch, uint32_t, nodes),
        .path = ARENA_ARRAY(scratch, uint32_t, nodes),
        .next = ARENA_ARRAY(scratch, uint32_t, nodes),
    };
    for (uint32_t i = 0; i < nodes; i++) {
        if (walk.index[i] == 0) {
            walk_from(&walk, service, i);
        }
    }
}

static void seal(Builder *builder) {
    Service *service = builder->service;
    service->node_count = (uint32_t)builder->node_count;
    service->kind = ARENA_ARRAY(builder->out, uint8_t, service->node_count);
    service->port_of = ARENA_ARRAY(builder->out, uint32_t, service->node_count);
    service->missing = ARENA_ARRAY(builder->out, bool, service->node_count);
    service->answer_kind = ARENA_ARRAY(builder->out, uint8_t, service->node_count);
    service->answer_id = ARENA_ARRAY(builder->out, uint32_t, service->node_count);
    memcpy(service->kind, builder->kinds, service->node_count);
    memcpy(service->port_of, builder->port_of, sizeof(uint32_t) * service->node_count);
    for (uint32_t i = 0; i < service->need_count; i++) {
        service->answer_kind[service->need_node[i]] = 1;
        service->answer_id[service->need_node[i]] = i;
    }
    for (uint32_t i = 0; i < service->function_count; i++) {
        service->answer_kind[service->function_node0 + i] = 2;
        service->answer_id[service->function_node0 + i] = i;
    }
    for (uint32_t i = 0; i < service->way_count; i++) {
        service->answer_kind[service->way_node[i]] = 3;
        service->answer_id[service->way_node[i]] = i;
    }
    index_edges(builder);
    order_nodes(builder);
    index_ports_by_net(builder);
    service_judge_all(&builder->scratch, service);
}

/* --- what is not there, and what can't be decided -----------------------------------------------
 */

static const char *way_text(Builder *builder, const ServiceWay *way) {
    return arena_format(builder->findings->arena, "%s/%s", way->clause, way->way);
}

static void report_missing(Builder *builder) {
    const Service *service = builder->service;
    for (uint32_t i = 0; i < service->need_count; i++) {
        const ServiceNeed *need = &service->needs[i];
        if (builder->bad || !service_need_missing(service, i)) {
            continue;
        }
        Finding *finding =
            finding_report(builder->findings, RULE_NEED_MISSING, "need", need->name, "",
                           "%s (%s) is not met with nothing failed", need->name, need->title);
        Buffer ways = {.arena = builder->findings->arena};
        for (uint32_t k = 0; k < need->way_count; k++) {
            const ServiceWay *way = &service->ways[need->way_first + k];
            if (service->missing[service->way_node[need->way_first + k]]) {
                buffer_format(&ways, "%s%s", ways.length == 0 ? "" : ", ", way_text(builder, way));
            }
        }
        report_hint(builder->findings, finding, "ways that are not there: %s",
                    ways.length == 0 ? "" : ways.bytes);
    }
}

/* Marks everything below the ways of needs. */
static void mark_below(Builder *builder, bool *marked) {
    const Service *service = builder->service;
    uint32_t *stack = ARENA_ARRAY(&builder->scratch, uint32_t, service->node_count);
    uint32_t count = 0;
    for (uint32_t i = 0; i < service->way_count; i++) {
        uint32_t node = service->way_node[i];
        if (!marked[node]) {
            marked[node] = true;
            stack[count++] = node;
        }
    }
    while (count > 0) {
        uint32_t node = stack[--count];
        for (uint32_t i = service->child_first[node]; i < service->child_first[node + 1]; i++) {
            uint32_t child = service->children[i];
            if (!marked[child]) {
                marked[child] = true;
                stack[count++] = child;
            }
        }
    }
}

static void report_undecided(Builder *builder) {
    const Service *service = builder->service;
    bool *marked = ARENA_ARRAY(&builder->scratch, bool, service->node_count);
    mark_below(builder, marked);
    for (uint32_t i = 0; i < service->function_count; i++) {
        const ServiceFunction *function = &service->functions[i];
        if (!function->undecided || !marked[service->function_node0 + i]) {
            continue;
        }
        const ModelOwner *box = &builder->model->owners[function->owner];
        const char *part = builder->model->set->part.rows[box->part].part;
        Finding *finding = finding_report(
            builder->findings, RULE_NEED_UNDECIDED, "unit", box->tag, "",
            "a need rests on %s, which has several supply ports: which of them it can do without "
            "is not decided; it is taken to work while any is supplied",
            box->tag);
        report_hint(builder->findings, finding, "say in table `depends` what part %s rests on",
                    part);
    }
}

static void check_exceptions(Builder *builder) {
    const Service *service = builder->service;
    const TableSet *set = builder->model->set;
    for (uint32_t row = 0; row < set->exception.count; row++) {
        const char *name = set->exception.rows[row].need;
        bool found = false;
        for (uint32_t i = 0; i < service->need_count && !found; i++) {
            found = strcmp(service->needs[i].name, name) == 0;
        }
        if (!found) {
            report_row(builder->findings, builder->model, RULE_NEED_ROW, TABLE_exception, row,
                       "need", "there is no need %s", name);
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

Service *service_build(Arena *out, const Model *model, const Wiring *wiring, const Supply *supply,
                       Findings *findings) {
    Service *service = ARENA_NEW(out, Service);
    service->model = model;
    service->wiring = wiring;
    service->supply = supply;
    service->load_node0 = model->owner_count;
    service->terminal_port = ARENA_ARRAY(out, uint32_t, model->terminal_count);
    memset(service->terminal_port, 0xff, sizeof(uint32_t) * model->terminal_count);
    Builder builder = {
        .service = service,
        .out = out,
        .model = model,
        .wiring = wiring,
        .findings = findings,
    };
    builder.net_group = ARENA_ARRAY(&builder.scratch, uint32_t, wiring->net_count);
    memset(builder.net_group, 0xff, sizeof(uint32_t) * wiring->net_count);
    for (uint32_t i = 0; i < model->owner_count + supply->load_count; i++) {
        add_node(&builder, SERVICE_LEAF);
    }
    count_depends(&builder);
    place_ends(&builder);
    name_functions(&builder);
    build_functions(&builder);
    build_needs(&builder);
    seal(&builder);
    check_exceptions(&builder);
    report_missing(&builder);
    report_undecided(&builder);
    arena_free(&builder.scratch);
    return service;
}

uint32_t service_need_count(const Service *service) {
    return service->need_count;
}

const ServiceNeed *service_need(const Service *service, uint32_t need) {
    return &service->needs[need];
}

const char *service_need_name(const Service *service, uint32_t need) {
    return service->needs[need].name;
}

bool service_need_missing(const Service *service, uint32_t need) {
    return service->missing[service->need_node[need]];
}

uint32_t service_way_count(const Service *service) {
    return service->way_count;
}

const ServiceWay *service_way(const Service *service, uint32_t way) {
    return &service->ways[way];
}

uint32_t service_function_count(const Service *service) {
    return service->function_count;
}

const ServiceFunction *service_function(const Service *service, uint32_t function) {
    return &service->functions[function];
}

const char *service_function_name(const Service *service, Arena *arena, uint32_t function) {
    const ServiceFunction *there = &service->functions[function];
    const char *tag = service->model->owners[there->owner].tag;
    return is_works(there->name) ? tag : arena_format(arena, "%s.%s", tag, there->name);
}

bool service_excepted(const Service *service, uint32_t need, const char *item, const char *mode,
                      uint32_t *row) {
    const TableSet *set = service->model->set;
    uint32_t count = 0;
    uint32_t first =
        model_rows_of(service->model, TABLE_exception, service->needs[need].name, &count);
    for (uint32_t i = first; i < first + count; i++) {
        const ExceptionRow *cell = &set->exception.rows[i];
        bool any_item = strcmp(cell->item, SERVICE_ANY_MODE) == 0;
        if (any_item && strcmp(cell->mode, SERVICE_ANY_MODE) == 0) {
            continue; /* an exception from everything is none */
        }
        if ((any_item || strcmp(cell->item, item) == 0) &&
            (strcmp(cell->mode, SERVICE_ANY_MODE) == 0 || strcmp(cell->mode, mode) == 0)) {
            if (row != NULL) {
                *row = i;
            }
            return true;
        }
    }
    if (row != NULL) {
        *row = ID_NONE;
    }
    return false;
}
