/* Places of everything that carries current, and what one ampere in it does somewhere. */
#include <math.h>
#include <string.h>

#include "power/heading_inner.h"

/* --- small geometry -----------------------------------------------------------------------------
 */

static FieldVector difference(FieldVector a, FieldVector b) {
    return heading_add(a, b, -1.0);
}

static double dot(FieldVector a, FieldVector b) {
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

static FieldVector cross(FieldVector a, FieldVector b) {
    return (FieldVector){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

static FieldVector unit(FieldVector a) {
    double size = sqrt(dot(a, a));
    return size > 0.0 ? (FieldVector){a.x / size, a.y / size, a.z / size} : (FieldVector){1, 0, 0};
}

/* Distance of a point from a straight piece. */
static double distance_m(FieldVector from, FieldVector to, FieldVector at) {
    FieldVector along = difference(to, from);
    double square = dot(along, along);
    double share = square > 0.0 ? dot(difference(at, from), along) / square : 0.0;
    share = fmin(fmax(share, 0.0), 1.0);
    FieldVector gap = difference(at, heading_add(from, along, share));
    return sqrt(dot(gap, gap));
}

/* --- places -------------------------------------------------------------------------------------
 */

/* Node of the airframe at which a point is, ID_NONE for the structure. */
static NodeId point_place(const Model *model, uint32_t point) {
    if (point < model->pin_count) {
        return model->terminals[model->pins[point].terminal].node;
    }
    uint32_t owner = point - model->pin_count;
    return owner < model->owner_count ? model->owners[owner].node : ID_NONE;
}

static NodeId owner_place(const Model *model, const char *tag) {
    OwnerId owner = model_owner(model, tag);
    return owner == ID_NONE ? ID_NONE : model->owners[owner].node;
}

/* Places of the two ends of what a resistor, contact or diode stands for. */
static void source_places(const HeadingInput *input, BuildSource source, NodeId places[2]) {
    const Model *model = input->model;
    places[0] = places[1] = ID_NONE;
    switch (source.kind) {
    case BUILD_CONDUCTOR:
        places[0] = point_place(model, input->wiring->conductors[source.index].from);
        places[1] = point_place(model, input->wiring->conductors[source.index].to);
        break;
    case BUILD_GATE:
        places[0] = point_place(model, input->supply->gates.rows[source.index].a);
        places[1] = point_place(model, input->supply->gates.rows[source.index].b);
        break;
    case BUILD_BOND: {
        const BondRow *bond = &model->set->bond.rows[source.index];
        places[0] = owner_place(model, bond->item);
        places[1] = owner_place(model, bond->onto);
        break;
    }
    case BUILD_SHIELD: {
        const Cable *cable = &input->wiring->cables[source.index];
        places[0] = model->terminals[cable->from].node;
        places[1] = model->terminals[cable->to].node;
        break;
    }
    case BUILD_INNER:
    default:
        places[0] = places[1] = owner_place(model, model->set->source.rows[source.index].unit);
        break;
    }
}

/* Places of the ends of a load's element: those of its port and of its return. */
static void load_places(const HeadingInput *input, uint32_t load, NodeId places[2]) {
    const Model *model = input->model;
    const SupplyLoad *row = &input->supply->loads[load];
    places[0] = model->terminals[row->port].node;
    places[1] = row->return_port == ID_NONE ? model->owners[row->owner].node
                                            : model->terminals[row->return_port].node;
}

static void element_places(const HeadingScene *scene, NetworkKind kind, uint32_t index,
                           NodeId places[2]) {
    const HeadingInput *input = scene->input;
    const PowerNetwork *built = input->built;
    switch (kind) {
    case NETWORK_RESISTOR:
        source_places(input, built->resistor_source[index], places);
        break;
    case NETWORK_CONTACT:
        source_places(input, built->contact_source[index], places);
        break;
    case NETWORK_DIODE:
        source_places(input, built->diode_source[index], places);
        break;
    case NETWORK_COIL:
        places[0] = point_place(input->model, input->supply->coils[index].plus);
        places[1] = point_place(input->model, input->supply->coils[index].minus);
        break;
    case NETWORK_BATTERY:
        source_places(input, (BuildSource){BUILD_INNER, built->batteries[index].source}, places);
        break;
    case NETWORK_ALTERNATOR:
        source_places(input, (BuildSource){BUILD_INNER, built->alternators[index].source}, places);
        break;
    case NETWORK_LOAD:
    case NETWORK_KIND_COUNT:
    default: {
        uint32_t load = built->load_supply[index];
        places[0] = places[1] = ID_NONE; /* the starter: not cranked in any phase */
        if (load != NETWORK_NONE) {
            load_places(input, load, places);
        }
        break;
    }
    }
}

/* --- elements -----------------------------------------------------------------------------------
 */

NetworkKind heading_kind(const HeadingScene *scene, uint32_t element) {
    NetworkKind kind = NETWORK_RESISTOR;
    while (element >= scene->first[kind + 1]) {
        kind++;
    }
    return kind;
}

static void number_elements(Arena *out, HeadingScene *scene) {
    const Network *network = &scene->input->built->network;
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        scene->first[kind + 1] = scene->first[kind] + network_kind_count(network, kind);
    }
    uint32_t count = scene->first[NETWORK_KIND_COUNT];
    scene->a = ARENA_ARRAY(out, uint32_t, count);
    scene->b = ARENA_ARRAY(out, uint32_t, count);
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = scene->first[kind]; i < scene->first[kind + 1]; i++) {
            uint32_t ends[2];
            network_element_ends(network, kind, i - scene->first[kind], ends);
            scene->a[i] = ends[0];
            scene->b[i] = ends[1];
        }
    }
}

static void add_piece(Arena *out, HeadingScene *scene, uint32_t element, NodeId from, NodeId to,
                      bool metal) {
    if (from != ID_NONE && to != ID_NONE && from != to) {
        *ARENA_PUSH(out, scene->pieces, scene->piece_count, scene->piece_capacity) =
            (HeadingPiece){element, from, to, metal};
    }
}

/* Where currents through the structure meet: the bond with the least resistance, the first of
 * equals; ID_NONE without bonds. */
static NodeId structure_place(const Model *model) {
    NodeId place = ID_NONE;
    double least_mohm = (double)INFINITY;
    for (size_t i = 0; i < model->set->bond.count; i++) {
        const BondRow *row = &model->set->bond.rows[i];
        NodeId at = owner_place(model, row->item);
        if (strcmp(row->onto, "structure") == 0 && at != ID_NONE && row->mohm < least_mohm) {
            least_mohm = row->mohm;
            place = at;
        }
    }
    return place;
}

/* Straight pieces from element to element; a conductor has its route in the middle. A node is where
 * its first point is. */
static void place_pieces(Arena *out, Arena *scratch, HeadingScene *scene) {
    const HeadingInput *input = scene->input;
    const PowerNetwork *built = input->built;
    uint32_t nodes = built->network.node_count;
    NodeId *meet = ARENA_ARRAY(scratch, NodeId, nodes);
    meet[0] = structure_place(input->model);
    for (uint32_t node = 1; node < nodes; node++) {
        meet[node] = point_place(input->model, built->node_point[node]);
    }
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = scene->first[kind]; i < scene->first[kind + 1]; i++) {
            uint32_t index = i - scene->first[kind];
            NodeId places[2];
            element_places(scene, kind, index, places);
            places[0] = places[0] == ID_NONE ? places[1] : places[0];
            places[1] = places[1] == ID_NONE ? places[0] : places[1];
            bool routed =
                kind == NETWORK_RESISTOR && built->resistor_source[index].kind == BUILD_CONDUCTOR;
            add_piece(out, scene, i, meet[scene->a[i]], places[0], scene->a[i] == 0);
            if (!routed) {
                add_piece(out, scene, i, places[0], places[1], false);
            }
            add_piece(out, scene, i, places[1], meet[scene->b[i]], scene->b[i] == 0);
        }
    }
}

/* Resistors, contacts and diodes at each node. */
static void list_near(Arena *out, HeadingScene *scene) {
    static const NetworkKind KINDS[] = {NETWORK_RESISTOR, NETWORK_CONTACT, NETWORK_DIODE};
    uint32_t nodes = scene->input->built->network.node_count;
    scene->near_first = ARENA_ARRAY(out, uint32_t, (size_t)nodes + 1);
    size_t total = 0;
    for (size_t k = 0; k < sizeof KINDS / sizeof *KINDS; k++) {
        for (uint32_t i = scene->first[KINDS[k]]; i < scene->first[KINDS[k] + 1]; i++) {
            scene->near_first[scene->a[i]]++;
            scene->near_first[scene->b[i]]++;
            total += 2;
        }
    }
    scene->near = ARENA_ARRAY(out, uint32_t, total);
    uint32_t end = 0;
    for (uint32_t node = 0; node <= nodes; node++) {
        end += node < nodes ? scene->near_first[node] : 0;
        scene->near_first[node] = end;
    }
    /* Filled from behind, so that each list is in rising order and `first` ends at its begin. */
    for (size_t k = sizeof KINDS / sizeof *KINDS; k-- > 0;) {
        for (uint32_t i = scene->first[KINDS[k] + 1]; i-- > scene->first[KINDS[k]];) {
            scene->near[--scene->near_first[scene->b[i]]] = i;
            scene->near[--scene->near_first[scene->a[i]]] = i;
        }
    }
}

static void analyse(Arena *out, Arena *scratch, HeadingScene *scene) {
    uint32_t nodes = scene->input->built->network.node_count;
    uint32_t count = scene->first[NETWORK_KIND_COUNT];
    uint32_t *a = ARENA_ARRAY(scratch, uint32_t, count);
    uint32_t *b = ARENA_ARRAY(scratch, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) {
        /* Loads and coils put currents in and couple nothing: a loop at the reference. */
        NetworkKind kind = heading_kind(scene, i);
        bool couples = kind != NETWORK_LOAD && kind != NETWORK_COIL;
        a[i] = couples && scene->a[i] > 0 ? scene->a[i] - 1 : nodes - 1;
        b[i] = couples && scene->b[i] > 0 ? scene->b[i] - 1 : nodes - 1;
    }
    scene->place_of = ARENA_ARRAY(out, uint32_t, nodes);
    scene->slot = ARENA_ARRAY(out, int32_t, count);
    scene->pattern =
        factor_analyse(out, scratch, nodes - 1, count, a, b, scene->place_of, scene->slot);
}

/* --- circuits -----------------------------------------------------------------------------------
 */

static void list_feeds(Arena *out, Arena *scratch, HeadingScene *scene) {
    const HeadingInput *input = scene->input;
    const Wiring *wiring = input->wiring;
    size_t feeds = input->model->set->feed.count;
    scene->feed_first = ARENA_ARRAY(out, uint32_t, feeds + 1);
    for (NetId net = 0; net < wiring->net_count; net++) {
        if (wiring->nets[net].from_table == TABLE_feed) {
            scene->feed_first[wiring->nets[net].from_row + 1]++;
        }
    }
    for (size_t feed = 0; feed < feeds; feed++) {
        scene->feed_first[feed + 1] += scene->feed_first[feed];
    }
    scene->feed_nets = ARENA_ARRAY(out, NetId, scene->feed_first[feeds]);
    uint32_t *filled = ARENA_ARRAY(scratch, uint32_t, feeds);
    for (NetId net = 0; net < wiring->net_count; net++) {
        const Net *row = &wiring->nets[net];
        if (row->from_table != TABLE_feed) {
            continue;
        }
        NetId *nets = scene->feed_nets + scene->feed_first[row->from_row];
        uint32_t at = filled[row->from_row]++;
        for (; at > 0 && wiring->nets[nets[at - 1]].leg > row->leg; at--) {
            nets[at] = nets[at - 1];
        }
        nets[at] = net;
    }
}

static void list_coils(Arena *out, HeadingScene *scene) {
    const Supply *supply = scene->input->supply;
    scene->load_coil = ARENA_ARRAY(out, uint32_t, supply->load_count);
    memset(scene->load_coil, 0xff, supply->load_count * sizeof *scene->load_coil);
    for (uint32_t i = 0; i < supply->coil_count; i++) {
        scene->load_coil[supply->coils[i].load] = i;
    }
}

static void list_batteries(Arena *out, HeadingScene *scene) {
    const PowerNetwork *built = scene->input->built;
    scene->diode_battery = ARENA_ARRAY(out, uint32_t, built->network.diode_count);
    memset(scene->diode_battery, 0xff, built->network.diode_count * sizeof *scene->diode_battery);
    for (uint32_t i = 0; i < built->network.battery_count; i++) {
        scene->diode_battery[built->batteries[i].diode] = i;
    }
}

static void list_driven(Arena *out, HeadingScene *scene) {
    const HeadingInput *input = scene->input;
    const Model *model = input->model;
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        if (row->kind != OWNER_UNIT) {
            continue;
        }
        uint32_t count = 0;
        uint32_t first =
            model_rows_of(model, TABLE_driven, model->set->unit.rows[row->row].part, &count);
        for (uint32_t i = first; i < first + count; i++) {
            const DrivenRow *driven = &model->set->driven.rows[i];
            uint32_t point = gates_owner_point(model, owner, driven->port);
            NetId net = point < model->pin_count ? input->wiring->pin_net[point] : ID_NONE;
            if (net != ID_NONE) {
                *ARENA_PUSH(out, scene->driven, scene->driven_count, scene->driven_capacity) =
                    (HeadingDriven){model->pins[point].terminal, net, driven->amps_a};
            }
        }
    }
}

/* Half the bundle, and beside it the heavy cables that its diameter leaves out. */
static void measure_radii(Arena *out, HeadingScene *scene) {
    const HeadingInput *input = scene->input;
    const Model *model = input->model;
    scene->radius_m = ARENA_ARRAY(out, double, model->set->segment.count);
    for (SegmentId i = 0; i < model->set->segment.count; i++) {
        scene->radius_m[i] = input->bundles[i].diameter_mm / 2000.0;
    }
    for (CableId cable = 0; cable < input->wiring->cable_count; cable++) {
        if (!input->wiring->cables[cable].heavy) {
            continue;
        }
        double od_mm = route_cable_od_mm(model, input->wiring, cable, input->awg);
        for (uint32_t i = input->routing->cable_first[cable];
             i < input->routing->cable_first[cable + 1]; i++) {
            scene->radius_m[input->routing->hops[i].segment] += od_mm / 2000.0;
        }
    }
}

void heading_scene_build(Arena *out, const HeadingInput *input, HeadingScene *scene) {
    const Model *model = input->model;
    *scene = (HeadingScene){.input = input};
    Arena scratch = {0};
    scene->node_m = ARENA_ARRAY(out, FieldVector, model->set->node.count);
    for (NodeId i = 0; i < model->set->node.count; i++) {
        const NodeRow *row = &model->set->node.rows[i];
        scene->node_m[i] =
            (FieldVector){row->x_mm / 1000.0, row->y_mm / 1000.0, row->z_mm / 1000.0};
    }
    number_elements(out, scene);
    place_pieces(out, &scratch, scene);
    list_near(out, scene);
    analyse(out, &scratch, scene);
    list_feeds(out, &scratch, scene);
    list_coils(out, scene);
    list_batteries(out, scene);
    list_driven(out, scene);
    measure_radii(out, scene);
    arena_free(&scratch);
}

/* --- sights -------------------------------------------------------------------------------------
 */

void heading_sight_new(Arena *out, const HeadingScene *scene, HeadingSight *sight) {
    const HeadingInput *input = scene->input;
    size_t segments = input->model->set->segment.count;
    size_t cables = input->wiring->cable_count;
    *sight = (HeadingSight){
        .segment_ut = ARENA_ARRAY(out, FieldVector, segments),
        .across = ARENA_ARRAY(out, FieldVector, segments),
        .slope = ARENA_ARRAY(out, double, segments),
        .away_m = ARENA_ARRAY(out, double, segments),
        .cable_ut = ARENA_ARRAY(out, FieldVector, cables),
        .cable_across = ARENA_ARRAY(out, FieldVector, cables),
        .element_ut = ARENA_ARRAY(out, FieldVector, scene->first[NETWORK_KIND_COUNT]),
        .piece_ut = ARENA_ARRAY(out, FieldVector, scene->piece_count),
    };
}

/* Change of the field for each metre by which a segment is moved that way: what two wires a pair's
 * spacing apart make, over the spacing. */
static FieldVector moved(FieldVector from, FieldVector to, FieldVector way, double apart_m,
                         FieldVector at) {
    double half_m = apart_m / 2.0;
    FieldVector there =
        field_segment_ut(heading_add(from, way, half_m), heading_add(to, way, half_m), 1.0, at);
    FieldVector back =
        field_segment_ut(heading_add(from, way, -half_m), heading_add(to, way, -half_m), 1.0, at);
    FieldVector change = difference(there, back);
    return (FieldVector){change.x / apart_m, change.y / apart_m, change.z / apart_m};
}

static void see_segments(const HeadingScene *scene, HeadingSight *sight) {
    const Model *model = scene->input->model;
    for (SegmentId i = 0; i < model->set->segment.count; i++) {
        if (model->segment_a[i] == ID_NONE || model->segment_b[i] == ID_NONE) {
            continue;
        }
        FieldVector from = scene->node_m[model->segment_a[i]];
        FieldVector to = scene->node_m[model->segment_b[i]];
        FieldVector along = unit(difference(to, from));
        /* Level and square to the segment; of an upright one, to the right. */
        FieldVector level =
            unit(fabs(along.z) > 1.0 - 1e-9 ? (FieldVector){0.0, 1.0, 0.0}
                                            : cross((FieldVector){0.0, 0.0, 1.0}, along));
        FieldVector across = moved(from, to, level, sight->pair_m, sight->at_m);
        FieldVector other = moved(from, to, cross(along, level), sight->pair_m, sight->at_m);
        sight->segment_ut[i] = field_segment_ut(from, to, 1.0, sight->at_m);
        sight->across[i] = across;
        sight->slope[i] = sqrt(dot(across, across) + dot(other, other));
        sight->away_m[i] = distance_m(from, to, sight->at_m);
    }
}

static void see_cables(const HeadingScene *scene, HeadingSight *sight) {
    const Routing *routing = scene->input->routing;
    for (CableId cable = 0; cable < scene->input->wiring->cable_count; cable++) {
        FieldVector sum = {0};
        FieldVector across = {0};
        for (uint32_t i = routing->cable_first[cable]; i < routing->cable_first[cable + 1]; i++) {
            double sign = routing->hops[i].backward ? -1.0 : 1.0;
            sum = heading_add(sum, sight->segment_ut[routing->hops[i].segment], sign);
            across = heading_add(across, sight->across[routing->hops[i].segment], sign);
        }
        sight->cable_ut[cable] = sum;
        sight->cable_across[cable] = across;
    }
}

FieldVector heading_core_ut(const HeadingScene *scene, const HeadingSight *sight,
                            ConductorId conductor) {
    const Conductor *row = &scene->input->wiring->conductors[conductor];
    const Cable *cable = &scene->input->wiring->cables[row->cable];
    double middle = (double)(cable->conductor_count - 1) / 2.0;
    double aside_m = ((double)row->core - middle) * sight->pair_m;
    return heading_add(sight->cable_ut[row->cable], sight->cable_across[row->cable], aside_m);
}

void heading_sight_ways(const HeadingScene *scene, FieldVector at_m, double pair_m,
                        HeadingSight *sight) {
    sight->at_m = at_m;
    sight->pair_m = pair_m;
    see_segments(scene, sight);
    for (size_t i = 0; i < scene->piece_count; i++) {
        const HeadingPiece *piece = &scene->pieces[i];
        sight->piece_ut[i] =
            field_segment_ut(scene->node_m[piece->from], scene->node_m[piece->to], 1.0, at_m);
    }
}

void heading_sight_set(const HeadingScene *scene, FieldVector at_m, double pair_m,
                       HeadingSight *sight) {
    const HeadingInput *input = scene->input;
    heading_sight_ways(scene, at_m, pair_m, sight);
    see_cables(scene, sight);
    uint32_t count = scene->first[NETWORK_KIND_COUNT];
    memset(sight->element_ut, 0, count * sizeof *sight->element_ut);
    for (ConductorId i = 0; i < input->wiring->conductor_count; i++) {
        uint32_t resistor = input->built->conductor_resistor[i];
        if (resistor != NETWORK_NONE) {
            sight->element_ut[heading_element(scene, NETWORK_RESISTOR, resistor)] =
                heading_core_ut(scene, sight, i);
        }
    }
    for (size_t i = 0; i < scene->piece_count; i++) {
        const HeadingPiece *piece = &scene->pieces[i];
        if (!piece->metal) {
            sight->element_ut[piece->element] =
                heading_add(sight->element_ut[piece->element], sight->piece_ut[i], 1.0);
        }
    }
}

/* --- own wires ----------------------------------------------------------------------------------
 */

/* Adds a cable of a circuit: `go` where it carries the current to the port. */
static void own_cable(const HeadingScene *scene, const HeadingSight *sight, CableId cable, bool go,
                      HeadingOwn *own) {
    const HeadingInput *input = scene->input;
    const Cable *row = &input->wiring->cables[cable];
    FieldVector core = heading_core_ut(scene, sight, row->conductor_first);
    double size_ut = field_size_ut(core);
    if (!own->any || size_ut > own->wire_ut) {
        own->wire = row->conductor_first;
        own->wire_ut = size_ut;
    }
    own->any = true;
    if (go) {
        own->alone_ut = heading_add(own->alone_ut, sight->cable_ut[cable], 1.0);
        own->fed = true;
    }
    /* Cores of one cable that carry a current there and back have their own spacing and move
     * together: where the cable lies in the bundle makes no difference. */
    for (uint32_t i = input->routing->cable_first[cable];
         row->conductor_count == 1 && i < input->routing->cable_first[cable + 1]; i++) {
        SegmentId segment = input->routing->hops[i].segment;
        own->slack_ut += scene->radius_m[segment] * sight->slope[segment];
    }
}

HeadingOwn heading_own(const HeadingScene *scene, const HeadingSight *sight, uint32_t load) {
    const HeadingInput *input = scene->input;
    const Wiring *wiring = input->wiring;
    const SupplyLoad *row = &input->supply->loads[load];
    HeadingOwn own = {.wire = ID_NONE};
    if (row->feed != ID_NONE) {
        uint32_t first = scene->feed_first[row->feed];
        uint32_t end = scene->feed_first[row->feed + 1];
        for (uint32_t i = first; i < end; i++) {
            const Net *net = &wiring->nets[scene->feed_nets[i]];
            /* The last leg is a chain of ports: only up to this one. */
            uint32_t cables = net->cable_count;
            if (i + 1 == end && row->target + 1 < cables) {
                cables = row->target + 1;
            }
            for (uint32_t c = 0; c < cables; c++) {
                own_cable(scene, sight, net->cable_first + c, true, &own);
            }
        }
    }
    uint32_t coil = scene->load_coil[load];
    uint32_t back = row->return_port == ID_NONE || row->return_port == row->port
                        ? ID_NONE
                        : input->model->terminals[row->return_port].pin_first;
    back = coil == ID_NONE ? back : input->supply->coils[coil].minus;
    NetId net = back < input->model->pin_count ? wiring->pin_net[back] : ID_NONE;
    for (uint32_t c = 0; net != ID_NONE && c < wiring->nets[net].cable_count; c++) {
        own_cable(scene, sight, wiring->nets[net].cable_first + c, false, &own);
    }
    return own;
}

HeadingOwn heading_own_driven(const HeadingScene *scene, const HeadingSight *sight,
                              const HeadingDriven *driven, FieldVector *pair_ut) {
    const Wiring *wiring = scene->input->wiring;
    const Net *net = &wiring->nets[driven->net];
    HeadingOwn own = {.wire = ID_NONE};
    *pair_ut = (FieldVector){0};
    for (uint32_t c = 0; c < net->cable_count; c++) {
        const Cable *cable = &wiring->cables[net->cable_first + c];
        own_cable(scene, sight, net->cable_first + c, true, &own);
        *pair_ut =
            heading_add(*pair_ut, heading_core_ut(scene, sight, cable->conductor_first), 1.0);
        if (cable->conductor_count > 1) {
            *pair_ut = heading_add(*pair_ut,
                                   heading_core_ut(scene, sight, cable->conductor_first + 1), -1.0);
        }
    }
    return own;
}

double heading_away_mm(const HeadingScene *scene, const HeadingSight *sight, ConductorId wire) {
    const Routing *routing = scene->input->routing;
    CableId cable = scene->input->wiring->conductors[wire].cable;
    double away_m = (double)INFINITY;
    for (uint32_t i = routing->cable_first[cable]; i < routing->cable_first[cable + 1]; i++) {
        away_m = fmin(away_m, sight->away_m[routing->hops[i].segment]);
    }
    if (isinf(away_m)) { /* both ends at one node */
        NodeId node = scene->input->model->terminals[scene->input->wiring->cables[cable].from].node;
        away_m = node == ID_NONE ? (double)NAN
                                 : field_size_ut(difference(sight->at_m, scene->node_m[node]));
    }
    return 1000.0 * away_m;
}
