/* A job of any size for benchmarks and stress tests: one connected aircraft grown bay by bay with
 * the statistics of a template job (how many ends a circuit has, which classes, what a port draws
 * in each phase), never a copy of it. Every box has pins of its own; which boxes are joined, where
 * they sit and what hangs on which bus is drawn from the seed. Header only, so that tests and
 * benchmarks share it without a library of their own. */
#ifndef SUPPORT_JOB_GROW_H
#define SUPPORT_JOB_GROW_H

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "table/rows.h"

/* A bay has about this many conductors; a power group (battery, alternator, contactor) this many
 * bays. Both as in the template: 360 conductors to a set of sources. */
enum { GROW_BAY_CONDUCTORS = 48, GROW_GROUP_BAYS = 8, GROW_BAY_UNITS = 10, GROW_BAY_NODES = 9 };

typedef struct GrowUnit {
    const char *tag;
    const char *part;
    int32_t pins;
    int32_t ports;
    int32_t coax;
} GrowUnit;

typedef struct Grow {
    Arena *arena;
    TableSet *set;
    const TableSet *model; /* the template: job and library rows */
    uint64_t random;
    size_t conductors;
    size_t bays;
    GrowUnit *units;
    size_t unit_count;
    size_t unit_capacity;
    const LoadRow **loads;   /* of the template's units, one for each fed port */
    const char **load_ports; /* its end in the template: "PD1.PWR" */
    size_t load_count;
    int32_t tab; /* next tab of the bay's ground block */
} Grow;

/* --- chance -------------------------------------------------------------------------------------
 */

static inline uint64_t grow_random(Grow *grow) {
    uint64_t z = (grow->random += 0x9e3779b97f4a7c15u); /* splitmix64 */
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static inline size_t grow_below(Grow *grow, size_t limit) {
    return (size_t)(grow_random(grow) % limit);
}

static inline double grow_between(Grow *grow, double low, double high) {
    return low + (high - low) * ((double)(grow_random(grow) >> 11) * 0x1p-53);
}

/* --- template -----------------------------------------------------------------------------------
 */

static inline const char *grow_part_of(const TableSet *model, const char *tag, size_t length) {
    for (size_t i = 0; i < model->unit.count; i++) {
        const UnitRow *unit = &model->unit.rows[i];
        if (strlen(unit->tag) == length && memcmp(unit->tag, tag, length) == 0) {
            return unit->part;
        }
    }
    return NULL;
}

/* Every fed port of the template that is a box's own supply of at most 8 A. */
static inline void grow_learn_loads(Grow *grow) {
    const TableSet *model = grow->model;
    size_t capacity = 0;
    size_t port_capacity = 0;
    size_t ports = 0;
    for (size_t i = 0; i < model->unit.count; i++) {
        for (size_t k = 0; k < model->load.count; k++) {
            const LoadRow *load = &model->load.rows[k];
            if (strcmp(load->part, model->unit.rows[i].part) != 0 || load->design_a > 8.0 ||
                strcmp(load->return_port, "case") == 0 ||
                strcmp(load->return_port, load->port) == 0) {
                continue;
            }
            *ARENA_PUSH(grow->arena, grow->loads, grow->load_count, capacity) = load;
            *ARENA_PUSH(grow->arena, grow->load_ports, ports, port_capacity) =
                arena_format(grow->arena, "%s.%s", model->unit.rows[i].tag, load->port);
        }
    }
    CHECK(grow->load_count > 0);
}

/* --- places -------------------------------------------------------------------------------------
 */

static inline const char *grow_name(Grow *grow, const char *letter, size_t number) {
    return arena_format(grow->arena, "%s%zu", letter, number);
}

static inline const char *grow_node_name(Grow *grow, size_t bay, size_t node) {
    return arena_format(grow->arena, "N%zu-%zu", bay, node);
}

static inline const char *grow_segment(Grow *grow, const char *a, const char *b, const char *mark,
                                       const char *zone) {
    SegmentRow *segment = table_append(grow->set, grow->arena, TABLE_segment);
    segment->segment = arena_format(grow->arena, "%s_%s%s", a, b, mark);
    segment->node_a = a;
    segment->node_b = b;
    segment->zone = zone;
    segment->way = "clamped";
    return segment->segment;
}

static inline void grow_shell(Grow *grow, const char *disconnect, const char *segment,
                              const char *group, const char *shell, const char *keying) {
    DisconnectShellRow *row = table_append(grow->set, grow->arena, TABLE_disconnect_shell);
    row->tag = arena_format(grow->arena, "%s%s", disconnect, keying);
    row->disconnect = disconnect;
    row->segment = segment;
    row->group = group;
    row->shell = shell;
    row->keying = keying;
}

static inline void grow_node(Grow *grow, size_t bay, size_t node, const NodeRow *from) {
    NodeRow *row = table_append(grow->set, grow->arena, TABLE_node);
    row->node = grow_node_name(grow, bay, node);
    row->x_mm = floor(from->x_mm + grow_between(grow, -450.0, 650.0));
    row->y_mm = floor(from->y_mm + grow_between(grow, -500.0, 500.0));
    row->z_mm = floor(from->z_mm + grow_between(grow, -250.0, 250.0));
    const ZoneRow *zone = &grow->model->zone.rows[grow_below(grow, grow->model->zone.count)];
    row->zone = from->zone;
    if (node == 0 && strcmp(zone->moisture, "wet") != 0) {
        row->zone = zone->zone;
    }
    row->module = grow_name(grow, "M", bay);
}

/* A bay: a tree of nodes with one loop, hung on an earlier bay; its boxes behind one disconnect. */
static inline void grow_places(Grow *grow, size_t bay) {
    TableSet *set = grow->set;
    ModuleRow *module = table_append(set, grow->arena, TABLE_module);
    module->module = grow_name(grow, "M", bay);
    module->name = "grown bay";
    NodeRow origin = {.zone = "", .x_mm = 0.0, .y_mm = 0.0, .z_mm = 0.0};
    origin.zone = grow->model->zone.rows[0].zone;
    size_t parent = bay == 0 ? 0 : grow_below(grow, bay);
    if (bay > 0) {
        origin = set->node.rows[parent * GROW_BAY_NODES];
    }
    size_t first = set->node.count;
    for (size_t i = 0; i < GROW_BAY_NODES; i++) {
        NodeRow from = i == 0 ? origin : set->node.rows[first + (i < 3 ? 0 : grow_below(grow, i))];
        grow_node(grow, bay, i, &from);
        if (i == 0 && bay == 0) {
            continue;
        }
        const char *segment =
            grow_segment(grow, from.node, set->node.rows[first + i].node, "", from.zone);
        if (i == 1) {
            DisconnectRow *disconnect = table_append(set, grow->arena, TABLE_disconnect);
            disconnect->disconnect = grow_name(grow, "D", bay);
            disconnect->name = "grown disconnect";
            disconnect->module = module->module;
            grow_shell(grow, disconnect->disconnect, segment, "1", "hd-78", "A");
            grow_shell(grow, disconnect->disconnect, segment, "2", "hd-78", "B");
            grow_shell(grow, disconnect->disconnect, segment, "power", "strip-12", "P");
        }
    }
    grow_segment(grow, set->node.rows[first + 3].node, set->node.rows[first + 8].node, "_loop",
                 set->node.rows[first].zone);
}

/* --- supply -------------------------------------------------------------------------------------
 */

static inline void grow_source(Grow *grow, size_t group, const char *part, const char *letter,
                               const char *node) {
    UnitRow *unit = table_append(grow->set, grow->arena, TABLE_unit);
    unit->tag = grow_name(grow, letter, group);
    unit->part = part;
    unit->node = node;
    unit->stub_mm = 150.0;
    unit->module = grow_name(grow, "M", group * GROW_GROUP_BAYS);
    SourceRow *source = table_append(grow->set, grow->arena, TABLE_source);
    source->unit = unit->tag;
    bool battery = *letter == 'B';
    source->plus = battery ? "POS" : "BOUT";
    source->minus = battery ? "NEG" : "";
}

static inline BusRow *grow_bus(Grow *grow, const char *name, const char *stud, const char *node) {
    BusRow *bus = table_append(grow->set, grow->arena, TABLE_bus);
    bus->bus = name;
    bus->stud = stud;
    bus->node = node;
    bus->stub_mm = 60.0;
    return bus;
}

static inline void grow_protection(Grow *grow, const char *tag, const char *part, double rating_a,
                                   const char *node, const char *on) {
    ProtectionRow *row = table_append(grow->set, grow->arena, TABLE_protection);
    row->tag = tag;
    row->part = part;
    row->rating_a = rating_a;
    row->node = node;
    row->stub_mm = 120.0;
    row->bolted_on = on;
}

static inline FeedRow *grow_feed(Grow *grow, const char *name, const char *onto, const char *out_of,
                                 const char *through) {
    FeedRow *feed = table_append(grow->set, grow->arena, TABLE_feed);
    feed->feed = name;
    feed->onto = onto;
    feed->out_of = out_of;
    feed->through = through;
    return feed;
}

static inline void grow_heavy(FeedRow *feed) {
    feed->class = "E";
    feed->awg = 4;
}

static inline void grow_ground(Grow *grow, const char *name, const char *port, const char *point,
                               const char *tab) {
    GroundRow *ground = table_append(grow->set, grow->arena, TABLE_ground);
    ground->ground = name;
    ground->out_of = port;
    ground->onto = arena_format(grow->arena, "%s.%s", point, tab);
}

static inline void grow_bond(Grow *grow, const char *item) {
    BondRow *bond = table_append(grow->set, grow->arena, TABLE_bond);
    bond->item = item;
    bond->onto = "structure";
    bond->mohm = 0.3;
}

/* Battery and alternator of a power group on one main bus, tied to the group before through a
 * contactor and limiters. */
static inline void grow_group(Grow *grow, size_t group) {
    Arena *arena = grow->arena;
    const char *node = grow_node_name(grow, group * GROW_GROUP_BAYS, 0);
    const char *contactor = grow_name(grow, "KM", group);
    const char *main_bus = grow_name(grow, "MAIN", group);
    const char *battery_bus = grow_name(grow, "BATB", group);
    grow_source(grow, group, "battery-lithium-16", "B", node);
    grow_source(grow, group, "alternator-60", "A", node);
    grow_bus(grow, battery_bus, arena_format(arena, "%s.B", contactor), node);
    grow_bus(grow, main_bus, arena_format(arena, "BM%zu.T", group), node);
    SwitchgearRow *row = table_append(grow->set, arena, TABLE_switchgear);
    row->tag = contactor;
    row->part = "contactor-80";
    row->node = node;
    row->stub_mm = 120.0;
    row->rest = "open";
    row->bolted_on = battery_bus;
    row->bolts_to = main_bus;
    row->coil_plus_on = battery_bus;
    row->coil_minus_on = "case";
    for (size_t i = 0; i < grow->model->phase.count; i++) {
        if (strcmp(grow->model->phase.rows[i].engine, "off") != 0) {
            SettingRow *setting = table_append(grow->set, arena, TABLE_setting);
            setting->phase = grow->model->phase.rows[i].phase;
            setting->item = contactor;
            setting->position = "closed";
        }
    }
    grow_heavy(grow_feed(grow, grow_name(grow, "FB", group), battery_bus,
                         arena_format(arena, "B%zu.POS", group), ""));
    const char *limiter = grow_name(grow, "LA", group);
    grow_protection(grow, limiter, "limiter", 70.0, node, "");
    grow_heavy(grow_feed(grow, grow_name(grow, "FA", group), main_bus,
                         arena_format(arena, "A%zu.BOUT", group), limiter));
    grow_feed(grow, grow_name(grow, "FK", group), main_bus, battery_bus, contactor);
    if (group > 0) {
        const char *before = grow_name(grow, "MAIN", grow_below(grow, group));
        const char *tie = grow_name(grow, "LT", group);
        grow_protection(grow, tie, "limiter", 70.0, node, before);
        grow_heavy(grow_feed(grow, grow_name(grow, "FT", group), main_bus, before, tie));
    }
}

/* The bay's bus, fed by its group through a fuse, every third one through a diode as well. */
static inline void grow_bay_supply(Grow *grow, size_t bay) {
    Arena *arena = grow->arena;
    size_t group = bay / GROW_GROUP_BAYS;
    const char *node = grow_node_name(grow, bay, 0);
    if (bay % GROW_GROUP_BAYS == 0) {
        grow_group(grow, group);
    }
    GroundPointRow *point = table_append(grow->set, arena, TABLE_ground_point);
    point->point = grow_name(grow, "G", bay);
    point->node = node;
    point->stub_mm = 100.0;
    point->tabs = 4 * GROW_BAY_CONDUCTORS;
    point->kind = "block";
    grow_bond(grow, point->point);
    grow->tab = 1;
    if (bay % GROW_GROUP_BAYS == 0) {
        grow_ground(grow, grow_name(grow, "GB", group), arena_format(arena, "B%zu.NEG", group),
                    point->point, "stud");
        GroundRow *strap = &grow->set->ground.rows[grow->set->ground.count - 1];
        strap->class = "E";
        strap->awg = 4;
        grow_bond(grow, grow_name(grow, "A", group));
        grow_bond(grow, grow_name(grow, "KM", group));
    }
    const char *bus = grow_name(grow, "BUS", bay);
    grow_bus(grow, bus, arena_format(arena, "BB%zu.T", bay), node);
    const char *fuse = grow_name(grow, "F", bay);
    const char *main_bus = grow_name(grow, "MAIN", group);
    grow_protection(grow, fuse, "fuse-stud", 30.0, node, main_bus);
    const char *through = fuse;
    if (bay % 3 == 1) {
        const char *diode = grow_name(grow, "DI", bay);
        SwitchgearRow *row = table_append(grow->set, arena, TABLE_switchgear);
        row->tag = diode;
        row->part = "diode-25";
        row->node = node;
        row->stub_mm = 80.0;
        row->rest = "closed";
        row->bolts_to = bus;
        through = arena_format(arena, "%s %s", fuse, diode);
    }
    grow_feed(grow, grow_name(grow, "FF", bay), bus, main_bus, through);
    grow->conductors += 2;
}

/* --- boxes --------------------------------------------------------------------------------------
 */

static inline size_t grow_unit(Grow *grow, size_t bay) {
    Arena *arena = grow->arena;
    size_t number = grow->unit_count;
    GrowUnit *unit = ARENA_PUSH(arena, grow->units, grow->unit_count, grow->unit_capacity);
    *unit = (GrowUnit){.tag = grow_name(grow, "U", number), .part = grow_name(grow, "g", number)};
    UnitRow *row = table_append(grow->set, arena, TABLE_unit);
    row->tag = unit->tag;
    row->part = unit->part;
    row->role = "grown box";
    row->node = grow_node_name(grow, bay, grow_below(grow, GROW_BAY_NODES));
    row->stub_mm = floor(grow_between(grow, 100.0, 400.0));
    row->module = grow_name(grow, "M", bay);
    PartRow *part = table_append(grow->set, arena, TABLE_part);
    part->part = unit->part;
    part->name = "grown box";
    part->mass_kg = floor(grow_between(grow, 5.0, 200.0)) / 100.0;
    part->supply = "powered";
    part->letter = "R";
    part->source = "grown";
    part->status = "invented";
    return number;
}

/* A port with one pin for each core, on D-subminiature shells of 50 that fill up one by one. */
static inline const char *grow_port(Grow *grow, size_t number, const char *class, int32_t cores,
                                    const char *direction, bool coax) {
    Arena *arena = grow->arena;
    GrowUnit *unit = &grow->units[number];
    PortRow *port = table_append(grow->set, arena, TABLE_port);
    port->part = unit->part;
    port->port = arena_format(arena, "P%d", unit->ports++);
    port->class = class;
    port->direction = direction;
    port->level = "high";
    if (!coax && unit->pins % 50 + cores > 50) {
        unit->pins += 50 - unit->pins % 50;
    }
    for (int32_t core = 0; core < cores; core++) {
        PortPinRow *pin = table_append(grow->set, arena, TABLE_port_pin);
        pin->part = unit->part;
        pin->port = port->port;
        pin->core = core + 1;
        int32_t place = coax ? 0 : unit->pins++;
        pin->connector = coax ? arena_format(arena, "JC%d", unit->coax)
                              : arena_format(arena, "J%d", place / 50 + 1);
        pin->cavity = arena_format(arena, "%d", place % 50 + 1);
        if (place % 50 == 0) {
            PartConnectorRow *connector = table_append(grow->set, arena, TABLE_part_connector);
            connector->part = unit->part;
            connector->connector = pin->connector;
            connector->shell = coax ? "coax-TNC" : "dsub-50";
            connector->unit_side = "pins";
            connector->keying = "N";
        }
    }
    unit->coax += coax ? 1 : 0;
    return port->port;
}

static inline const char *grow_end(Grow *grow, size_t unit, const char *port) {
    return arena_format(grow->arena, "%s.%s", grow->units[unit].tag, port);
}

/* One supply port like one of the template's, with its breaker, its return and what it draws. */
static inline void grow_supply(Grow *grow, size_t bay, size_t unit) {
    Arena *arena = grow->arena;
    size_t like = grow_below(grow, grow->load_count);
    const LoadRow *load = grow->loads[like];
    const char *supply = grow_port(grow, unit, "P", 1, "in", false);
    const char *ret = grow_port(grow, unit, "G", 1, "ret", false);
    LoadRow *row = table_append(grow->set, arena, TABLE_load);
    RowPlace place = row->row_at;
    *row = *load;
    row->row_at = place;
    row->part = grow->units[unit].part;
    row->port = supply;
    row->return_port = ret;
    size_t number = grow->set->feed.count;
    const char *breaker = grow_name(grow, "CB", number);
    grow_protection(grow, breaker, "breaker", NAN, grow_node_name(grow, bay, 0),
                    grow_name(grow, "BUS", bay));
    const char *end = grow_end(grow, unit, supply);
    grow_feed(grow, grow_name(grow, "S", number), end, grow_name(grow, "BUS", bay), breaker);
    grow_ground(grow, grow_name(grow, "R", number), grow_end(grow, unit, ret),
                grow_name(grow, "G", bay), grow_name(grow, "t", (size_t)grow->tab++));
    for (size_t i = 0; i < grow->model->mode.count; i++) {
        const ModeRow *mode = &grow->model->mode.rows[i];
        if (strcmp(mode->port, grow->load_ports[like]) == 0) {
            ModeRow *copy = table_append(grow->set, arena, TABLE_mode);
            copy->phase = mode->phase;
            copy->port = end;
            copy->amps_a = mode->amps_a;
        }
    }
    grow->conductors += 2;
}

/* --- circuits -----------------------------------------------------------------------------------
 */

/* A partner: mostly in the same bay, sometimes in its neighbour, seldom anywhere. */
static inline size_t grow_partner(Grow *grow, size_t first_of_bay) {
    size_t here = grow->unit_count - first_of_bay;
    size_t chance = grow_below(grow, 100);
    if (chance < 82 || first_of_bay == 0) {
        return first_of_bay + grow_below(grow, here);
    }
    size_t near = first_of_bay < GROW_BAY_UNITS ? first_of_bay : (size_t)GROW_BAY_UNITS;
    return chance < 97 ? first_of_bay - 1 - grow_below(grow, near) : grow_below(grow, first_of_bay);
}

static inline const InterfaceRow *grow_class(const TableSet *model, const char *name) {
    for (size_t i = 0; i < model->interface.count; i++) {
        if (strcmp(model->interface.rows[i].class, name) == 0) {
            return &model->interface.rows[i];
        }
    }
    return NULL;
}

/* Class of the template's link by its first end's port. */
static inline const InterfaceRow *grow_link_class(const TableSet *model, const LinkRow *link) {
    if (*link->class != '\0') {
        return grow_class(model, link->class);
    }
    const char *point = strchr(link->ends, '.');
    size_t length = point == NULL ? 0 : (size_t)(point - link->ends);
    const char *part = grow_part_of(model, link->ends, length);
    const char *name = point == NULL ? "" : point + 1;
    size_t name_length = strcspn(name, " ");
    for (size_t i = 0; part != NULL && i < model->port.count; i++) {
        const PortRow *port = &model->port.rows[i];
        bool named =
            strlen(port->port) == name_length && memcmp(port->port, name, name_length) == 0;
        bool grouped = strlen(port->group) == name_length && name_length > 0 &&
                       memcmp(port->group, name, name_length) == 0;
        if (strcmp(port->part, part) == 0 && (named || grouped)) {
            return grow_class(model, port->class);
        }
    }
    return NULL;
}

static inline void grow_coax(Grow *grow, const char *name, size_t unit) {
    Arena *arena = grow->arena;
    const UnitRow *at = NULL;
    for (size_t i = grow->set->unit.count; i-- > 0 && at == NULL;) {
        at = strcmp(grow->set->unit.rows[i].tag, grow->units[unit].tag) == 0
                 ? &grow->set->unit.rows[i]
                 : NULL;
    }
    AntennaRow *antenna = table_append(grow->set, arena, TABLE_antenna);
    antenna->tag = arena_format(arena, "AN%s", name);
    antenna->kind = "other";
    antenna->node = at == NULL ? grow->set->node.rows[0].node : at->node;
    antenna->stub_mm = 300.0;
    antenna->x_mm = grow_between(grow, -5000.0, 5000.0);
    antenna->y_mm = grow_between(grow, -5000.0, 5000.0);
    antenna->z_mm = 1000.0;
    antenna->frequency_mhz = 121.5;
    antenna->loss_limit_db = 3.0;
    LinkRow *link = table_append(grow->set, arena, TABLE_link);
    link->link = name;
    const char *port = grow_port(grow, unit, "Z", 1, "bi", true);
    link->ends = arena_format(arena, "%s %s.RF", grow_end(grow, unit, port), antenna->tag);
    grow->conductors++;
}

/* A circuit like one of the template's links: its class, its number of ends, its joining. */
static inline void grow_link(Grow *grow, size_t first_of_bay) {
    const TableSet *model = grow->model;
    const LinkRow *like = &model->link.rows[grow_below(grow, model->link.count)];
    const InterfaceRow *class = grow_link_class(model, like);
    char **words = NULL;
    size_t ends = text_split(grow->arena, like->ends, &words);
    if (class == NULL || ends < 2) {
        return;
    }
    const char *name = grow_name(grow, "L", grow->set->link.count);
    size_t unit = grow_partner(grow, first_of_bay);
    if (strcmp(class->kind, "coax") == 0) {
        grow_coax(grow, name, unit);
        return;
    }
    bool two_way = class->talkers_max != 1;
    Buffer list = {.arena = grow->arena};
    const char *last = "";
    for (size_t i = 0; i < ends; i++) {
        const char *direction = two_way && class->terminators > 0 ? "bi" : (i == 0 ? "out" : "in");
        unit = i == 0 ? unit : grow_partner(grow, first_of_bay);
        last = grow_end(grow, unit,
                        grow_port(grow, unit, class->class, class->cores, direction, false));
        buffer_format(&list, "%s%s", i > 0 ? " " : "", last);
        for (int32_t end = 0; class->terminators > 0 && (i == 0 || i == ends - 1) && end < 1;
             end++) {
            TerminatorRow *row = table_append(grow->set, grow->arena, TABLE_terminator);
            row->link = name;
            row->port = last;
            row->ohm = class->terminator_ohm;
            row->fitted = 1;
        }
    }
    LinkRow *link = table_append(grow->set, grow->arena, TABLE_link);
    link->link = name;
    link->group = grow_below(grow, 2) == 0 ? "1" : "2";
    link->ends = list.bytes;
    link->join = ends > 2 && *like->join == '\0' ? class->join : like->join;
    if (ends > 2 && strcmp(link->join, "point to point") == 0) {
        link->join = "chain";
    }
    grow->conductors += (ends - 1) * (size_t) class->cores;
}

/* --- job ----------------------------------------------------------------------------------------
 */

static inline void grow_copy(Grow *grow, TableId table) {
    const TableSchema *schema = table_schema(table);
    for (size_t i = 0; i < grow->model->any[table].count; i++) {
        void *row = table_append(grow->set, grow->arena, table);
        memcpy(row, table_row(grow->model, table, i), schema->row_bytes);
    }
}

static inline void grow_bay(Grow *grow) {
    size_t bay = grow->bays++;
    size_t first = grow->unit_count;
    size_t target = grow->conductors + GROW_BAY_CONDUCTORS;
    grow_places(grow, bay);
    grow_bay_supply(grow, bay);
    for (size_t i = 0; i < GROW_BAY_UNITS; i++) {
        size_t unit = grow_unit(grow, bay);
        if (i < 7) {
            grow_supply(grow, bay, unit);
        }
    }
    while (grow->conductors < target) {
        grow_link(grow, first);
    }
}

/* Fills `set` with a job of at least `conductors` conductors. `model` holds the template job and
 * the library (sorted, checked, alive as long as `set`); the library's rows are copied into `set`.
 * The same seed gives the same job. Call table_check afterwards as after reading. */
static inline void job_grow(Arena *arena, const TableSet *model, size_t conductors, uint64_t seed,
                            TableSet *set) {
    Grow grow = {.arena = arena, .set = set, .model = model, .random = seed};
    for (int table = 0; table < TABLE_COUNT; table++) {
        if (table_schema((TableId)table)->group == GROUP_LIBRARY) {
            grow_copy(&grow, (TableId)table);
        }
    }
    grow_copy(&grow, TABLE_job);
    grow_copy(&grow, TABLE_zone);
    grow_copy(&grow, TABLE_phase);
    for (size_t i = 0; i < set->phase.count; i++) {
        set->phase.rows[i].carried_by = ""; /* every group has its own alternator */
    }
    set->job.rows[0].starter = "";
    grow_learn_loads(&grow);
    while (grow.conductors < conductors) {
        grow_bay(&grow);
    }
}

#endif
