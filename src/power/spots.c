/* Method: merge points over joints and conductors, number the sets, list the gates of each; every
 * question is one breadth-first walk that touches only what it reaches. */
#include "power/spots.h"

#include <string.h>

#include "power/merge.h"

/* --- building -----------------------------------------------------------------------------------
 */

static uint32_t least(uint32_t a, uint32_t b) {
    return a < b ? a : b;
}

static void merge_points(const Model *model, const Wiring *wiring, uint32_t *parent) {
    for (uint32_t i = 0; i < model->joint_count; i++) {
        const ModelTerminal *a = &model->terminals[model->joints[i].a];
        const ModelTerminal *b = &model->terminals[model->joints[i].b];
        uint32_t cores = least(a->pin_count, b->pin_count);
        for (uint32_t core = 0; core < cores; core++) {
            merge_join(parent, a->pin_first + core, b->pin_first + core);
        }
    }
    for (uint32_t i = 0; i < wiring->conductor_count; i++) {
        merge_join(parent, wiring->conductors[i].from, wiring->conductors[i].to);
    }
}

static void number_spots(Arena *out, const Model *model, uint32_t *parent, Spots *spots) {
    uint32_t points = gates_point_count(model);
    spots->point_spot = ARENA_ARRAY(out, uint32_t, points);
    for (uint32_t point = 0; point < points; point++) {
        uint32_t root = merge_root(parent, point);
        spots->point_spot[point] = root == point ? spots->count++ : spots->point_spot[root];
    }
}

static void list_gates(Arena *out, Spots *spots) {
    const Gates *gates = spots->gates;
    spots->gate_first = ARENA_ARRAY(out, uint32_t, (size_t)spots->count + 2);
    spots->spot_gates = ARENA_ARRAY(out, uint32_t, 2 * (size_t)gates->count);
    for (uint32_t i = 0; i < gates->count; i++) {
        spots->gate_first[spots->point_spot[gates->rows[i].a] + 2]++;
        spots->gate_first[spots->point_spot[gates->rows[i].b] + 2]++;
    }
    for (uint32_t spot = 2; spot < spots->count + 2; spot++) {
        spots->gate_first[spot] += spots->gate_first[spot - 1];
    }
    for (uint32_t i = 0; i < gates->count; i++) {
        spots->spot_gates[spots->gate_first[spots->point_spot[gates->rows[i].a] + 1]++] = i;
        spots->spot_gates[spots->gate_first[spots->point_spot[gates->rows[i].b] + 1]++] = i;
    }
}

static void mark_spots(Arena *out, const Model *model, Spots *spots) {
    spots->spot_bus = ARENA_ARRAY(out, BusId, spots->count);
    spots->grounded = ARENA_ARRAY(out, bool, spots->count);
    spots->fed = ARENA_ARRAY(out, bool, spots->count);
    memset(spots->spot_bus, 0xff, spots->count * sizeof *spots->spot_bus);
    for (BusId bus = 0; bus < model->set->bus.count; bus++) {
        TerminalId stud = model->buses[bus].stud;
        if (stud == ID_NONE || model->terminals[stud].pin_count == 0) {
            continue;
        }
        uint32_t spot = spots->point_spot[model->terminals[stud].pin_first];
        spots->spot_bus[spot] = spots->spot_bus[spot] == ID_NONE ? bus : spots->spot_bus[spot];
    }
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        spots->grounded[spots->point_spot[gates_case_point(model, owner)]] = true;
        const ModelOwner *row = &model->owners[owner];
        for (uint32_t i = 0; row->kind == OWNER_GROUND && i < row->terminal_count; i++) {
            const ModelTerminal *tab = &model->terminals[row->terminal_first + i];
            for (uint32_t core = 0; core < tab->pin_count; core++) {
                spots->grounded[spots->point_spot[tab->pin_first + core]] = true;
            }
        }
    }
    spots->grounded[spots->point_spot[gates_structure_point(model)]] = true;
    for (size_t i = 0; i < model->set->source.count; i++) {
        OwnerId owner = model_owner(model, model->set->source.rows[i].unit);
        uint32_t point = owner == ID_NONE
                             ? ID_NONE
                             : gates_owner_point(model, owner, model->set->source.rows[i].plus);
        if (point != ID_NONE) {
            spots->fed[spots->point_spot[point]] = true;
        }
    }
}

void spots_build(Arena *out, const Model *model, const Wiring *wiring, const Gates *gates,
                 Spots *spots) {
    *spots = (Spots){.gates = gates};
    uint32_t *parent = ARENA_ARRAY(out, uint32_t, gates_point_count(model));
    merge_start(parent, gates_point_count(model));
    merge_points(model, wiring, parent);
    number_spots(out, model, parent, spots);
    list_gates(out, spots);
    mark_spots(out, model, spots);
}

/* --- walks --------------------------------------------------------------------------------------
 */

SpotsIndex spots_index(Arena *out, const Spots *spots, const uint32_t *spot_of, uint32_t count) {
    SpotsIndex index = {
        .first = ARENA_ARRAY(out, uint32_t, (size_t)spots->count + 2),
        .items = ARENA_ARRAY(out, uint32_t, count),
    };
    for (uint32_t i = 0; i < count; i++) {
        index.first[spot_of[i] == ID_NONE ? 1 : spot_of[i] + 2] += spot_of[i] != ID_NONE;
    }
    for (uint32_t spot = 2; spot < spots->count + 2; spot++) {
        index.first[spot] += index.first[spot - 1];
    }
    for (uint32_t i = 0; i < count; i++) {
        if (spot_of[i] != ID_NONE) {
            index.items[index.first[spot_of[i] + 1]++] = i;
        }
    }
    return index;
}

SpotsWalk spots_walk_new(Arena *arena, const Spots *spots) {
    return (SpotsWalk){
        .seen = ARENA_ARRAY(arena, uint32_t, spots->count),
        .from = ARENA_ARRAY(arena, uint32_t, spots->count),
        .queue = ARENA_ARRAY(arena, uint32_t, spots->count),
    };
}

/* The spot at the other side of a gate, ID_NONE when a diode bars the way. */
static uint32_t beyond(const Spots *spots, const Gate *gate, uint32_t spot, bool against) {
    uint32_t a = spots->point_spot[gate->a];
    uint32_t b = spots->point_spot[gate->b];
    if (gate->kind == GATE_DIODE && spot != (against ? b : a)) {
        return ID_NONE;
    }
    return spot == a ? b : a;
}

void spots_reach(const Spots *spots, const char *const *positions, const uint32_t *starts,
                 uint32_t start_count, SpotsWalk *walk) {
    walk->number++;
    uint32_t head = 0;
    uint32_t tail = 0;
    for (uint32_t i = 0; i < start_count; i++) {
        if (walk->seen[starts[i]] != walk->number) {
            walk->seen[starts[i]] = walk->number;
            walk->queue[tail++] = starts[i];
        }
    }
    while (head < tail) {
        uint32_t spot = walk->queue[head++];
        for (uint32_t i = spots->gate_first[spot]; i < spots->gate_first[spot + 1]; i++) {
            const Gate *gate = &spots->gates->rows[spots->spot_gates[i]];
            if (!gates_closed(gate, positions[gate->owner])) {
                continue;
            }
            uint32_t next = beyond(spots, gate, spot, false);
            if (next != ID_NONE && walk->seen[next] != walk->number && !spots->grounded[next]) {
                walk->seen[next] = walk->number;
                walk->queue[tail++] = next;
            }
        }
    }
    walk->count = tail;
}

static bool is_end(const Spots *spots, uint32_t spot, bool upstream) {
    return upstream ? spots->spot_bus[spot] != ID_NONE || spots->fed[spot] : spots->grounded[spot];
}

/* Writes the way from `spot` back to `start`, turned round: from the coil on. */
static bool write_way(const Spots *spots, const SpotsWalk *walk, uint32_t start, uint32_t spot,
                      uint32_t *gates_out, uint32_t room, uint32_t *count) {
    *count = 0;
    for (uint32_t at = spot; at != start; (*count)++) {
        const Gate *gate = &spots->gates->rows[walk->from[at]];
        if (*count >= room) {
            return false;
        }
        gates_out[*count] = walk->from[at];
        uint32_t a = spots->point_spot[gate->a];
        at = at == a ? spots->point_spot[gate->b] : a;
    }
    for (uint32_t i = 0; i < *count / 2; i++) {
        uint32_t kept = gates_out[i];
        gates_out[i] = gates_out[*count - 1 - i];
        gates_out[*count - 1 - i] = kept;
    }
    return true;
}

bool spots_coil_way(const Spots *spots, const char *const *positions, const uint32_t *stamp,
                    uint32_t movable_below, bool upstream, uint32_t start, SpotsWalk *walk,
                    uint32_t *gates_out, uint32_t room, uint32_t *count) {
    walk->number++;
    uint32_t head = 0;
    uint32_t tail = 0;
    walk->seen[start] = walk->number;
    walk->queue[tail++] = start;
    while (head < tail) {
        uint32_t spot = walk->queue[head++];
        if (is_end(spots, spot, upstream)) {
            return write_way(spots, walk, start, spot, gates_out, room, count);
        }
        for (uint32_t i = spots->gate_first[spot]; i < spots->gate_first[spot + 1]; i++) {
            uint32_t number = spots->spot_gates[i];
            const Gate *gate = &spots->gates->rows[number];
            bool may = gates_closed(gate, positions[gate->owner]) ||
                       (gate->kind == GATE_SWITCH && stamp[gate->owner] < movable_below);
            uint32_t next = may ? beyond(spots, gate, spot, upstream) : ID_NONE;
            if (next != ID_NONE && walk->seen[next] != walk->number) {
                walk->seen[next] = walk->number;
                walk->from[next] = number;
                walk->queue[tail++] = next;
            }
        }
    }
    return false;
}
