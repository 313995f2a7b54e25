/* Method: the ordinary network built with all gates and nets, then lists by node. A box's inside is
 * known where a row of `inside` names the pin, be it as joined or as isolated. */
#include "power/paths.h"

#include <math.h>
#include <string.h>

/* --- what is known of the inside of boxes -------------------------------------------------------
 */

/* A flag for each core of each class: the return of its circuit. */
static bool *return_cores(Arena *arena, const Model *model) {
    bool *returns = ARENA_ARRAY(arena, bool, model->set->interface.count *UINT8_MAX);
    for (ClassId i = 0; i < model->set->interface.count; i++) {
        uint32_t count = 0;
        uint32_t first =
            model_rows_of(model, TABLE_interface_core, model->set->interface.rows[i].class, &count);
        for (uint32_t k = first; k < first + count; k++) {
            const InterfaceCoreRow *row = &model->set->interface_core.rows[k];
            if (row->returns == 1 && row->core >= 1 && row->core <= UINT8_MAX) {
                returns[i * UINT8_MAX + (uint32_t)row->core - 1] = true;
            }
        }
    }
    return returns;
}

/* Points that a row of `inside` names. */
static bool *named_points(Arena *arena, const Model *model) {
    bool *named = ARENA_ARRAY(arena, bool, gates_point_count(model));
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        if (row->kind != OWNER_UNIT || row->part == ID_NONE) {
            continue;
        }
        uint32_t count = 0;
        uint32_t first =
            model_rows_of(model, TABLE_inside, model->set->part.rows[row->part].part, &count);
        for (uint32_t i = first; i < first + count; i++) {
            const InsideRow *inside = &model->set->inside.rows[i];
            const char *ends[2] = {inside->from_port, inside->to_port};
            for (int end = 0; end < 2; end++) {
                uint32_t point = gates_owner_point(model, owner, ends[end]);
                if (point != ID_NONE) {
                    named[point] = true;
                }
            }
        }
    }
    return named;
}

/* The case of a box matters when something lands on it. */
static void mark_unknown_case(const Paths *paths, const bool *named, uint32_t point) {
    const Model *model = paths->model;
    if (point < model->pin_count || point >= gates_structure_point(model)) {
        return;
    }
    const ModelOwner *owner = &model->owners[point - model->pin_count];
    if (owner->kind == OWNER_UNIT && !named[point] &&
        model->set->part.rows[owner->part].case_ground != 1) {
        paths->unknown[point] = true;
    }
}

static void mark_unknown(Arena *scratch, const Paths *paths) {
    const Model *model = paths->model;
    const Wiring *wiring = paths->wiring;
    const bool *returns = return_cores(scratch, model);
    const bool *named = named_points(scratch, model);
    for (uint32_t i = 0; i < wiring->conductor_count; i++) {
        const PinId pins[2] = {wiring->conductors[i].from, wiring->conductors[i].to};
        for (int end = 0; end < 2; end++) {
            const ModelPin *pin = &model->pins[pins[end]];
            const ModelTerminal *terminal = &model->terminals[pin->terminal];
            bool box = model->owners[terminal->owner].kind == OWNER_UNIT;
            bool core = box && terminal->class_id != ID_NONE && pin->core < UINT8_MAX &&
                        returns[terminal->class_id * UINT8_MAX + pin->core];
            paths->unknown[pins[end]] = core && !named[pins[end]];
            paths->inner[pins[end]] =
                core || named[pins[end]] || terminal->direction == DIRECTION_RET;
        }
    }
    for (CableId i = 0; i < wiring->cable_count; i++) {
        const Cable *cable = &wiring->cables[i];
        if (cable->shielded && cable->shield_from && cable->shield_to) {
            mark_unknown_case(paths, named, build_shield_point(model, cable->from));
            mark_unknown_case(paths, named, build_shield_point(model, cable->to));
            bool told = cable->part != ID_NONE &&
                        !isnan(model->set->cable.rows[cable->part].shield_ohm_per_km);
            if (!told) {
                paths->unknown[build_shield_point(model, cable->from)] = true;
                paths->unknown[build_shield_point(model, cable->to)] = true;
            }
        }
    }
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        paths->inner[gates_case_point(model, owner)] = true;
    }
    for (size_t i = 0; i < model->set->bond.count; i++) {
        OwnerId item = model_owner(model, model->set->bond.rows[i].item);
        if (item != ID_NONE) {
            mark_unknown_case(paths, named, gates_case_point(model, item));
        }
    }
}

/* --- lists by node ------------------------------------------------------------------------------
 */

static bool is_draw(NetworkKind kind) {
    return kind == NETWORK_LOAD || kind == NETWORK_COIL || kind == NETWORK_BATTERY ||
           kind == NETWORK_ALTERNATOR;
}

static void list_edges(Arena *out, const Network *network, bool draws, uint32_t **first,
                       PathsEdge **edges) {
    *first = ARENA_ARRAY(out, uint32_t, (size_t)network->node_count + 2);
    for (int pass = 0; pass < 2; pass++) {
        for (int kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
            uint32_t count = is_draw((NetworkKind)kind) == draws
                                 ? network_kind_count(network, (NetworkKind)kind)
                                 : 0;
            for (uint32_t i = 0; i < count; i++) {
                uint32_t ends[2];
                network_element_ends(network, (NetworkKind)kind, i, ends);
                for (int end = 0; end < 2 && ends[0] != ends[1]; end++) {
                    if (pass == 0) {
                        (*first)[ends[end] + 2]++;
                    } else {
                        (*edges)[(*first)[ends[end] + 1]++] =
                            (PathsEdge){(NetworkKind)kind, i, ends[1 - end]};
                    }
                }
            }
        }
        for (uint32_t node = 2; pass == 0 && node < network->node_count + 2; node++) {
            (*first)[node] += (*first)[node - 1];
        }
        if (pass == 0) {
            *edges = ARENA_ARRAY(out, PathsEdge, (*first)[network->node_count + 1]);
        }
    }
}

static void list_points(Arena *out, Paths *paths) {
    const uint32_t *point_node = paths->built.point_node;
    uint32_t nodes = paths->built.network.node_count;
    uint32_t count = gates_point_count(paths->model);
    paths->point_first = ARENA_ARRAY(out, uint32_t, (size_t)nodes + 2);
    paths->points = ARENA_ARRAY(out, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) {
        if (point_node[i] != NETWORK_NONE) {
            paths->point_first[point_node[i] + 2]++;
        }
    }
    for (uint32_t node = 2; node < nodes + 2; node++) {
        paths->point_first[node] += paths->point_first[node - 1];
    }
    for (uint32_t i = 0; i < count; i++) {
        if (point_node[i] != NETWORK_NONE) {
            paths->points[paths->point_first[point_node[i] + 1]++] = i;
        }
    }
}

static void mark_ground(Arena *out, Paths *paths) {
    const Model *model = paths->model;
    paths->ground = ARENA_ARRAY(out, bool, paths->built.network.node_count);
    paths->ground[0] = true;
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        for (uint32_t i = 0; row->kind == OWNER_GROUND && i < row->terminal_count; i++) {
            const ModelTerminal *tab = &model->terminals[row->terminal_first + i];
            uint32_t node =
                tab->pin_count == 0 ? NETWORK_NONE : paths->built.point_node[tab->pin_first];
            if (node != NETWORK_NONE) {
                paths->ground[node] = true;
            }
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool paths_build(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                 const Disconnects *disconnects, const Supply *supply, const Sizing *sizing,
                 Paths *paths) {
    *paths = (Paths){.model = model,
                     .wiring = wiring,
                     .routing = routing,
                     .sizing = sizing,
                     .ordinary = supply,
                     .supply = *supply};
    Arena scratch = {0};
    gates_build(out, model, &paths->supply.gates);
    spots_build(out, model, wiring, &paths->supply.gates, &paths->supply.spots);
    double *degc = build_conductor_degc(&scratch, model, wiring, routing, 0.0);
    size_heat(sizing, degc);
    BuildOptions options = {
        .awg = sizing->awg, .rating_a = sizing->rating_a, .conductor_degc = degc, .signals = true};
    /* The ordinary network has told what is wrong with the rows. */
    Findings told = {.arena = &scratch};
    bool good = build_network(out, model, wiring, routing, disconnects, &paths->supply, &options,
                              &paths->built, &told);
    if (good) {
        paths->unknown = ARENA_ARRAY(out, bool, gates_point_count(model));
        paths->inner = ARENA_ARRAY(out, bool, gates_point_count(model));
        mark_unknown(&scratch, paths);
        list_edges(out, &paths->built.network, false, &paths->edge_first, &paths->edges);
        list_edges(out, &paths->built.network, true, &paths->draw_first, &paths->draws);
        list_points(out, paths);
        mark_ground(out, paths);
        paths->plan = solve_analyse(out, &paths->built.network);
    }
    arena_free(&scratch);
    return good;
}

BuildSource paths_source(const Paths *paths, NetworkKind kind, uint32_t index) {
    return kind == NETWORK_RESISTOR  ? paths->built.resistor_source[index]
           : kind == NETWORK_CONTACT ? paths->built.contact_source[index]
                                     : paths->built.diode_source[index];
}

/* What holds a wire at a pin; a stud or an unknown one has no say. */
static double contact_a(const Model *model, PinId pin) {
    ContactId contact = model->pins[pin].contact;
    return contact == ID_NONE ? (double)NAN : model->set->contact.rows[contact].rated_a;
}

static double gate_a(const Paths *paths, uint32_t number) {
    const Model *model = paths->model;
    const Gate *gate = &paths->supply.gates.rows[number];
    const ModelOwner *owner = &model->owners[gate->owner];
    switch (owner->kind) {
    case OWNER_PROTECTION:
        return paths->sizing->rating_a[owner->row];
    case OWNER_SWITCHGEAR:
        return model->set->switch_part.rows[owner->part].rated_a;
    case OWNER_UNIT:
        return model->set->inside.rows[gate->row].rated_a;
    case OWNER_BAR:
    case OWNER_GROUND:
    case OWNER_ANTENNA:
    default:
        return (double)INFINITY;
    }
}

double paths_rating_a(const Paths *paths, BuildSource source) {
    const Wiring *wiring = paths->wiring;
    switch (source.kind) {
    case BUILD_CONDUCTOR: {
        const Conductor *row = &wiring->conductors[source.index];
        double least_a = size_allowed_a(paths->sizing, row->cable);
        least_a = fmin(least_a, contact_a(paths->model, row->from)); /* fmin passes over NAN */
        return fmin(least_a, contact_a(paths->model, row->to));
    }
    case BUILD_SHIELD:
        return model_limit(paths->model, PATHS_LIMIT_SHIELD);
    case BUILD_GATE:
        return gate_a(paths, source.index);
    case BUILD_BOND:
    case BUILD_INNER:
    default:
        return (double)INFINITY;
    }
}

const char *paths_rating_source(const Paths *paths, BuildSource source) {
    switch (source.kind) {
    case BUILD_CONDUCTOR:
        return "AC 43.13-1B 11-66 to 11-69 and Table 11-9, and the contacts at its ends";
    case BUILD_SHIELD:
        return model_limit_row(paths->model, PATHS_LIMIT_SHIELD)->source;
    case BUILD_GATE: {
        const Gate *gate = &paths->supply.gates.rows[source.index];
        return gate->table == TABLE_inside ? "the library's inside rows"
                                           : "rating of the device or switch";
    }
    case BUILD_BOND:
    case BUILD_INNER:
    default:
        return "";
    }
}

OwnerId paths_point_owner(const Paths *paths, uint32_t point) {
    const Model *model = paths->model;
    if (point < model->pin_count) {
        return model->terminals[model->pins[point].terminal].owner;
    }
    return point < gates_structure_point(model) ? point - model->pin_count : ID_NONE;
}

/* "R1/2": a point as `inside` rows write it. */
static const char *local_name(Arena *arena, const Model *model, uint32_t point) {
    if (point >= model->pin_count) {
        return "case";
    }
    const ModelPin *pin = &model->pins[point];
    const char *name = model->terminals[pin->terminal].name;
    return pin->core == 0 ? name : arena_format(arena, "%s/%u", name, pin->core + 1U);
}

const char *paths_point_name(Arena *arena, const Paths *paths, uint32_t point) {
    OwnerId owner = paths_point_owner(paths, point);
    if (owner == ID_NONE) {
        return "structure";
    }
    return arena_format(arena, "%s%s%s", paths->model->owners[owner].tag,
                        point >= paths->model->pin_count ? " " : ".",
                        local_name(arena, paths->model, point));
}

const char *paths_name(Arena *arena, const Paths *paths, BuildSource source) {
    const Model *model = paths->model;
    const Wiring *wiring = paths->wiring;
    switch (source.kind) {
    case BUILD_CONDUCTOR: {
        const Conductor *row = &wiring->conductors[source.index];
        return arena_format(arena, "%s %s", row->key,
                            wiring->nets[wiring->cables[row->cable].net].name);
    }
    case BUILD_SHIELD: {
        const Cable *cable = &wiring->cables[source.index];
        return arena_format(arena, "shield of %s %s",
                            wiring->conductors[cable->conductor_first].key,
                            wiring->nets[cable->net].name);
    }
    case BUILD_GATE: {
        const Gate *gate = &paths->supply.gates.rows[source.index];
        const char *tag = model->owners[gate->owner].tag;
        return gate->table == TABLE_inside
                   ? arena_format(arena, "inside %s %s-%s", tag, local_name(arena, model, gate->a),
                                  local_name(arena, model, gate->b))
                   : tag;
    }
    case BUILD_BOND: {
        const BondRow *row = &model->set->bond.rows[source.index];
        return arena_format(arena, "bond %s-%s", row->item, row->onto);
    }
    case BUILD_INNER:
    default:
        return "inside a battery";
    }
}
