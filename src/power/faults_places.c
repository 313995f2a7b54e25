/* Failures of places: neighbouring cavities, shells, disconnects, segments, zones, and connectors
 * that can be mated with each other's half. Cables by segment and cavities by shell are sorted
 * once; every list is then as long as what is there. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "power/faults_inner.h"

/* What lies where: first[place] .. first[place + 1] of items. */
typedef struct Places {
    uint32_t *first;
    uint32_t *items;
} Places;

/* Modes of a kind with one of `effects`. */
typedef struct Modes {
    uint32_t *rows;
    uint32_t count;
} Modes;

static Modes modes_of(FaultsLister *lister, const char *kind, const char *effects) {
    FaultsModes all = faults_modes(lister, kind);
    Modes modes = {.rows = ARENA_ARRAY(lister->scratch, uint32_t, all.count)};
    for (uint32_t i = 0; i < all.count; i++) {
        if (faults_mode(lister, all.first + i, effects) != NULL) {
            modes.rows[modes.count++] = all.first + i;
        }
    }
    return modes;
}

static const FailureModeRow *row_of(const FaultsLister *lister, uint32_t mode) {
    return &lister->in->model->set->failure_mode.rows[mode];
}

static bool has_effect(const FaultsLister *lister, uint32_t mode, const char *effect) {
    return strcmp(row_of(lister, mode)->effect, effect) == 0;
}

/* --- disconnects --------------------------------------------------------------------------------
 */

static Places uses_by_shell(FaultsLister *lister) {
    const Disconnects *disconnects = lister->in->disconnects;
    size_t shells = lister->in->model->set->disconnect_shell.count;
    Places places = {.first = ARENA_ARRAY(lister->scratch, uint32_t, shells + 2),
                     .items = ARENA_ARRAY(lister->scratch, uint32_t, disconnects->use_count)};
    for (uint32_t i = 0; i < disconnects->use_count; i++) {
        uint32_t shell = disconnects->uses[i].shell;
        if (shell != ID_NONE && disconnects->uses[i].cavity != ID_NONE) {
            places.first[shell + 2]++;
        }
    }
    for (size_t i = 0; i < shells; i++) {
        places.first[i + 2] += places.first[i + 1];
    }
    for (uint32_t i = 0; i < disconnects->use_count; i++) {
        uint32_t shell = disconnects->uses[i].shell;
        if (shell != ID_NONE && disconnects->uses[i].cavity != ID_NONE) {
            places.items[places.first[shell + 1]++] = i;
        }
    }
    return places;
}

/* Where a contact of a shell is in the network: the far node of its wire; the structure for a
 * shield, which ends there. */
static uint32_t use_node(const FaultsLister *lister, const CavityUse *use) {
    return use->conductor == ID_NONE ? 0 : faults_far_node(lister, use->conductor);
}

/* What passes on a contact's circuit is lost with a short; the shield and a return carry nothing
 * that could be. */
static void jam_use(FaultsLister *lister, const CavityUse *use) {
    NetId net = lister->in->wiring->cables[use->cable].net;
    if (use->conductor != ID_NONE && lister->in->wiring->nets[net].from_table != TABLE_ground) {
        faults_jam(lister, net);
    }
}

static bool one_wire(const FaultsLister *lister, const CavityUse *a, const CavityUse *b) {
    if (a->conductor == ID_NONE || b->conductor == ID_NONE) {
        return a->conductor == b->conductor;
    }
    const Wiring *wiring = lister->in->wiring;
    const Conductor *one = &wiring->conductors[a->conductor];
    const Conductor *other = &wiring->conductors[b->conductor];
    return one->core == other->core &&
           wiring->cables[one->cable].net == wiring->cables[other->cable].net;
}

static void list_neighbours(FaultsLister *lister, const Places *uses, uint32_t shell,
                            const Face *face, const Modes *modes) {
    const FaultsInput *in = lister->in;
    const char *tag = in->model->set->disconnect_shell.rows[shell].tag;
    uint32_t *use_at = ARENA_ARRAY(lister->scratch, uint32_t, face->ways);
    memset(use_at, 0xff, face->ways * sizeof *use_at);
    for (uint32_t i = uses->first[shell]; i < uses->first[shell + 1]; i++) {
        uint32_t cavity = in->disconnects->uses[uses->items[i]].cavity;
        if (cavity < face->ways) {
            use_at[cavity] = uses->items[i];
        }
    }
    for (uint32_t cavity = 0; cavity < face->ways; cavity++) {
        for (uint32_t i = face->near_first[cavity];
             use_at[cavity] != ID_NONE && i < face->near_first[cavity + 1]; i++) {
            uint32_t other = face->near[i];
            if (other <= cavity || use_at[other] == ID_NONE) {
                continue;
            }
            const CavityUse *a = &in->disconnects->uses[use_at[cavity]];
            const CavityUse *b = &in->disconnects->uses[use_at[other]];
            if (one_wire(lister, a, b)) {
                continue; /* in and out of one chain, or two shields */
            }
            const char *item =
                arena_format(lister->out, "%s-%s/%s", tag, face->names[cavity], face->names[other]);
            for (uint32_t k = 0; k < modes->count; k++) {
                faults_begin(lister, modes->rows[k], item, item);
                faults_bridge(lister, use_node(lister, a), use_node(lister, b),
                              row_of(lister, modes->rows[k])->ohm);
                jam_use(lister, a);
                jam_use(lister, b);
            }
        }
    }
}

static void break_uses(FaultsLister *lister, const Places *uses, uint32_t shell) {
    for (uint32_t i = uses->first[shell]; i < uses->first[shell + 1]; i++) {
        ConductorId conductor = lister->in->disconnects->uses[uses->items[i]].conductor;
        if (conductor != ID_NONE) {
            faults_break(lister, conductor);
        }
    }
}

/* The face of every kind of shell, read once. */
static const Face *face_of(FaultsLister *lister, Face **faces, ShellId shell) {
    if (faces[shell] == NULL) {
        faces[shell] = ARENA_NEW(lister->scratch, Face);
        face_read(lister->scratch, lister->in->model, shell, faces[shell]);
    }
    return faces[shell];
}

static void list_disconnects(FaultsLister *lister, const Places *uses) {
    const TableSet *set = lister->in->model->set;
    Modes join = modes_of(lister, "cavities", "join");
    Modes shell_modes = modes_of(lister, "shell", "open");
    Modes all_modes = modes_of(lister, "disconnect", "open");
    Face **faces = ARENA_ARRAY(lister->scratch, Face *, set->shell.count);
    for (uint32_t i = 0; i < set->disconnect_shell.count; i++) {
        const DisconnectShellRow *row = &set->disconnect_shell.rows[i];
        uint32_t shell = model_row(lister->in->model, TABLE_shell, row->shell);
        if (shell != ID_NONE && join.count > 0) {
            list_neighbours(lister, uses, i, face_of(lister, faces, shell), &join);
        }
        for (uint32_t k = 0; k < shell_modes.count; k++) {
            faults_begin(lister, shell_modes.rows[k], row->tag, row->tag);
            break_uses(lister, uses, i);
        }
    }
    for (uint32_t d = 0; d < set->disconnect.count; d++) {
        const char *name = set->disconnect.rows[d].disconnect;
        uint32_t shells = 0;
        uint32_t only = ID_NONE;
        for (uint32_t i = 0; i < set->disconnect_shell.count; i++) {
            if (strcmp(set->disconnect_shell.rows[i].disconnect, name) == 0) {
                shells++;
                only = i;
            }
        }
        bool same = shells == 1 && strcmp(set->disconnect_shell.rows[only].tag, name) == 0;
        for (uint32_t k = 0; k < all_modes.count && shells > 0 && !same; k++) {
            /* The place BK3 and its shell BK3 have one name: the place is then its shells. */
            const char *item = model_row(lister->in->model, TABLE_disconnect_shell, name) == ID_NONE
                                   ? name
                                   : arena_format(lister->out, "%s.all", name);
            faults_begin(lister, all_modes.rows[k], item, item);
            for (uint32_t i = 0; i < set->disconnect_shell.count; i++) {
                if (strcmp(set->disconnect_shell.rows[i].disconnect, name) == 0) {
                    break_uses(lister, uses, i);
                }
            }
        }
    }
}

/* --- segments and zones -------------------------------------------------------------------------
 */

static Places cables_by_segment(FaultsLister *lister) {
    const Routing *routing = lister->in->routing;
    size_t segments = lister->in->model->set->segment.count;
    Places places = {.first = ARENA_ARRAY(lister->scratch, uint32_t, segments + 2),
                     .items = ARENA_ARRAY(lister->scratch, uint32_t, routing->hop_count)};
    for (uint32_t i = 0; i < routing->hop_count; i++) {
        places.first[routing->hops[i].segment + 2]++;
    }
    for (size_t i = 0; i < segments; i++) {
        places.first[i + 2] += places.first[i + 1];
    }
    for (CableId cable = 0; cable < lister->in->wiring->cable_count; cable++) {
        for (uint32_t i = routing->cable_first[cable]; i < routing->cable_first[cable + 1]; i++) {
            places.items[places.first[routing->hops[i].segment + 1]++] = cable;
        }
    }
    return places;
}

static void cut_segment(FaultsLister *lister, const Places *cables, SegmentId segment) {
    const Wiring *wiring = lister->in->wiring;
    for (uint32_t i = cables->first[segment]; i < cables->first[segment + 1]; i++) {
        const Cable *cable = &wiring->cables[cables->items[i]];
        for (uint32_t core = 0; core < cable->conductor_count; core++) {
            faults_break(lister, cable->conductor_first + core);
        }
    }
}

/* Every wire in it onto structure, and by way of it onto the others. The wires still lead: each is
 * fed from whatever end is live. What passes on their lines is lost. */
static void burn_segment(FaultsLister *lister, const Places *cables, SegmentId segment,
                         double ohm) {
    const Wiring *wiring = lister->in->wiring;
    for (uint32_t i = cables->first[segment]; i < cables->first[segment + 1]; i++) {
        const Cable *cable = &wiring->cables[cables->items[i]];
        for (uint32_t core = 0; core < cable->conductor_count; core++) {
            uint32_t node = faults_far_node(lister, cable->conductor_first + core);
            if (node != NETWORK_NONE && lister->stamp[node] != lister->now) {
                lister->stamp[node] = lister->now;
                faults_bridge(lister, node, 0, ohm);
            }
        }
        faults_jam(lister, cable->net);
    }
}

static void spoil_segment(FaultsLister *lister, const Places *cables, SegmentId segment,
                          uint32_t mode) {
    if (has_effect(lister, mode, "burn")) {
        burn_segment(lister, cables, segment, row_of(lister, mode)->ohm);
    } else {
        cut_segment(lister, cables, segment);
    }
}

static void list_segments(FaultsLister *lister, const Places *cables) {
    const Model *model = lister->in->model;
    Modes modes = modes_of(lister, "segment", "open|burn");
    for (SegmentId segment = 0; segment < model->set->segment.count; segment++) {
        const char *name = model->set->segment.rows[segment].segment;
        for (uint32_t k = 0; k < modes.count; k++) {
            faults_begin(lister, modes.rows[k], name, name);
            spoil_segment(lister, cables, segment, modes.rows[k]);
        }
    }
}

/* A battery or alternator in the zone gives nothing. */
static void stop_source(FaultsLister *lister, OwnerId owner) {
    const PowerNetwork *built = lister->in->built;
    const TableSet *set = lister->in->model->set;
    const char *tag = lister->in->model->owners[owner].tag;
    for (uint32_t i = 0; i < built->network.battery_count; i++) {
        if (strcmp(set->source.rows[built->batteries[i].source].unit, tag) == 0) {
            faults_edit(lister, fail_open(NETWORK_BATTERY, i));
        }
    }
    for (uint32_t i = 0; i < built->network.alternator_count; i++) {
        if (strcmp(set->source.rows[built->alternators[i].source].unit, tag) == 0) {
            faults_edit(lister, fail_open(NETWORK_ALTERNATOR, i));
        }
    }
}

static void list_zones(FaultsLister *lister, const Places *cables) {
    const Model *model = lister->in->model;
    Modes modes = modes_of(lister, "zone", "open|burn");
    for (ZoneId zone = 0; zone < model->set->zone.count; zone++) {
        const char *name = model->set->zone.rows[zone].zone;
        for (uint32_t k = 0; k < modes.count; k++) {
            faults_begin(lister, modes.rows[k], name, name);
            for (OwnerId owner = 0; owner < model->owner_count; owner++) {
                const ModelOwner *row = &model->owners[owner];
                bool box = row->kind == OWNER_UNIT || row->kind == OWNER_ANTENNA;
                if (box && row->node != ID_NONE && model->node_zone[row->node] == zone) {
                    faults_kill(lister, owner);
                    stop_source(lister, owner);
                }
            }
            for (SegmentId segment = 0; segment < model->set->segment.count; segment++) {
                if (model->segment_zone[segment] == zone) {
                    spoil_segment(lister, cables, segment, modes.rows[k]);
                }
            }
        }
    }
}

/* --- connectors ---------------------------------------------------------------------------------
 */

/* A connector of a box, or one pair at a disconnect. */
typedef struct Plug {
    const char *name;  /* "PD1.J1", "BK1L" */
    const char *shell; /* kind */
    const char *keying;
    const char *side; /* contacts on the box; "disconnect" */
    OwnerId owner;    /* ID_NONE: at a disconnect */
    const char *connector;
    uint32_t row; /* of disconnect_shell */
    double x_mm, y_mm, z_mm;
} Plug;

static int compare_plugs(const void *left, const void *right) {
    const Plug *a = left;
    const Plug *b = right;
    int order = strcmp(a->shell, b->shell);
    order = order == 0 ? strcmp(a->side, b->side) : order;
    order = order == 0 ? strcmp(a->keying, b->keying) : order;
    if (order == 0 && a->x_mm != b->x_mm) {
        order = a->x_mm < b->x_mm ? -1 : 1;
    }
    return order == 0 ? text_compare_keys(a->name, b->name) : order;
}

static const char *keying_of(const Model *model, const char *unit, const PartConnectorRow *row) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_keying, unit, &count);
    for (uint32_t i = first; i < first + count; i++) {
        if (strcmp(model->set->keying.rows[i].connector, row->connector) == 0) {
            return model->set->keying.rows[i].keying;
        }
    }
    return row->keying;
}

static void place_plug(const Model *model, Plug *plug, NodeId node) {
    const NodeRow *row = &model->set->node.rows[node];
    plug->x_mm = row->x_mm;
    plug->y_mm = row->y_mm;
    plug->z_mm = row->z_mm;
}

static bool has_face(const Model *model, const char *shell) {
    uint32_t row = model_row(model, TABLE_shell, shell);
    return row != ID_NONE && strcmp(model->set->shell.rows[row].form, "studs") != 0 &&
           strcmp(model->set->shell.rows[row].form, "leads") != 0;
}

static Plug *list_plugs(FaultsLister *lister, size_t *count) {
    const Model *model = lister->in->model;
    Plug *plugs = NULL;
    size_t capacity = 0;
    *count = 0;
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        if (row->kind != OWNER_UNIT || row->part == ID_NONE || row->node == ID_NONE) {
            continue;
        }
        uint32_t connectors = 0;
        uint32_t first = model_rows_of(model, TABLE_part_connector,
                                       model->set->part.rows[row->part].part, &connectors);
        for (uint32_t i = first; i < first + connectors; i++) {
            const PartConnectorRow *connector = &model->set->part_connector.rows[i];
            if (!has_face(model, connector->shell)) {
                continue;
            }
            Plug *plug = ARENA_PUSH(lister->scratch, plugs, *count, capacity);
            *plug = (Plug){
                .name = arena_format(lister->out, "%s.%s", row->tag, connector->connector),
                .shell = connector->shell,
                .keying = keying_of(model, row->tag, connector),
                .side = connector->unit_side,
                .owner = owner,
                .connector = connector->connector,
            };
            place_plug(model, plug, row->node);
        }
    }
    for (uint32_t i = 0; i < model->set->disconnect_shell.count; i++) {
        const DisconnectShellRow *row = &model->set->disconnect_shell.rows[i];
        uint32_t segment = model_row(model, TABLE_segment, row->segment);
        if (segment == ID_NONE || !has_face(model, row->shell)) {
            continue;
        }
        Plug *plug = ARENA_PUSH(lister->scratch, plugs, *count, capacity);
        *plug = (Plug){.name = row->tag,
                       .shell = row->shell,
                       .keying = row->keying,
                       .side = "disconnect",
                       .owner = ID_NONE,
                       .row = i};
        place_plug(model, plug, model->segment_a[segment]);
    }
    if (*count > 1) {
        qsort(plugs, *count, sizeof *plugs, compare_plugs);
    }
    return plugs;
}

/* The wire from `from`, which should end at its own pin, ends at `at`: the way of a swapped plug.
 */
static void lead_to(FaultsLister *lister, uint32_t from, uint32_t at, double ohm) {
    faults_bridge(lister, from, at, ohm);
}

/* Wires of the harness half that belongs to `mine` end at the same contacts of `other`. */
static void swap_box_pins(FaultsLister *lister, const Plug *mine, const Plug *other) {
    const FaultsInput *in = lister->in;
    const Model *model = in->model;
    const ModelOwner *box = &model->owners[mine->owner];
    const ModelOwner *there = &model->owners[other->owner];
    for (uint32_t t = 0; t < box->terminal_count; t++) {
        const ModelTerminal *terminal = &model->terminals[box->terminal_first + t];
        for (PinId pin = terminal->pin_first; pin < terminal->pin_first + terminal->pin_count;
             pin++) {
            if (strcmp(model->pins[pin].connector, mine->connector) != 0) {
                continue;
            }
            PinId target = ID_NONE;
            for (uint32_t k = 0; k < there->terminal_count && target == ID_NONE; k++) {
                const ModelTerminal *port = &model->terminals[there->terminal_first + k];
                for (PinId p = port->pin_first; p < port->pin_first + port->pin_count; p++) {
                    if (strcmp(model->pins[p].connector, other->connector) == 0 &&
                        strcmp(model->pins[p].cavity, model->pins[pin].cavity) == 0) {
                        target = p;
                    }
                }
            }
            bool same_line = target != ID_NONE &&
                             in->wiring->pin_net[target] == in->wiring->pin_net[pin] &&
                             model->pins[target].core == model->pins[pin].core;
            for (uint32_t i = lister->pin_conductor_first[pin];
                 i < lister->pin_conductor_first[pin + 1] && !same_line; i++) {
                ConductorId conductor = lister->pin_conductors[i];
                const Conductor *row = &in->wiring->conductors[conductor];
                uint32_t resistor = in->built->conductor_resistor[conductor];
                faults_break(lister, conductor);
                if (resistor != NETWORK_NONE && target != ID_NONE) {
                    PinId far = row->from == pin ? row->to : row->from;
                    lead_to(lister, in->built->point_node[far], in->built->point_node[target],
                            in->built->network.resistors[resistor].ohm);
                }
            }
        }
    }
}

/* Two shells of disconnects: the near half of each with the far half of the other. */
static void swap_shells(FaultsLister *lister, const Places *uses, const Plug *a, const Plug *b) {
    const FaultsInput *in = lister->in;
    const Plug *pair[2] = {a, b};
    for (int side = 0; side < 2; side++) {
        uint32_t here = pair[side]->row;
        uint32_t there = pair[1 - side]->row;
        for (uint32_t i = uses->first[here]; i < uses->first[here + 1]; i++) {
            const CavityUse *use = &in->disconnects->uses[uses->items[i]];
            if (use->conductor == ID_NONE) {
                continue;
            }
            faults_break(lister, use->conductor);
            uint32_t resistor = in->built->conductor_resistor[use->conductor];
            for (uint32_t k = uses->first[there];
                 k < uses->first[there + 1] && resistor != NETWORK_NONE; k++) {
                const CavityUse *match = &in->disconnects->uses[uses->items[k]];
                uint32_t other = match->cavity != use->cavity || match->conductor == ID_NONE
                                     ? NETWORK_NONE
                                     : in->built->conductor_resistor[match->conductor];
                if (other != NETWORK_NONE) {
                    const Conductor *near = &in->wiring->conductors[use->conductor];
                    const Conductor *far = &in->wiring->conductors[match->conductor];
                    lead_to(lister, in->built->point_node[near->from],
                            in->built->point_node[far->to],
                            0.5 * (in->built->network.resistors[resistor].ohm +
                                   in->built->network.resistors[other].ohm));
                }
            }
        }
    }
}

/* In a crowd of equal connectors each is tried with this many that follow it in order of place. */
#define CROSS_MATES_MAX 8

static void list_connectors(FaultsLister *lister, const Places *uses) {
    Modes modes = modes_of(lister, "connectors", "swap");
    if (modes.count == 0) {
        return;
    }
    double reach_mm = model_limit(lister->in->model, FAULTS_LIMIT_REACH);
    size_t count = 0;
    const Plug *plugs = list_plugs(lister, &count);
    for (size_t i = 0; i < count; i++) {
        for (size_t k = i + 1; k < count && k <= i + CROSS_MATES_MAX; k++) {
            const Plug *a = &plugs[i];
            const Plug *b = &plugs[k];
            if (strcmp(a->shell, b->shell) != 0 || strcmp(a->side, b->side) != 0 ||
                strcmp(a->keying, b->keying) != 0 || b->x_mm - a->x_mm > reach_mm) {
                break; /* sorted by shell, side, keying, x */
            }
            double apart_mm = sqrt((a->x_mm - b->x_mm) * (a->x_mm - b->x_mm) +
                                   (a->y_mm - b->y_mm) * (a->y_mm - b->y_mm) +
                                   (a->z_mm - b->z_mm) * (a->z_mm - b->z_mm));
            if (apart_mm > reach_mm) {
                continue;
            }
            bool turned = text_compare_keys(a->name, b->name) > 0;
            const Plug *one = turned ? b : a;
            const Plug *other = turned ? a : b;
            const char *item = arena_format(lister->out, "%s/%s", one->name, other->name);
            for (uint32_t m = 0; m < modes.count; m++) {
                faults_begin(lister, modes.rows[m], item, item);
                if (one->owner == ID_NONE) {
                    swap_shells(lister, uses, one, other);
                } else {
                    swap_box_pins(lister, one, other);
                    swap_box_pins(lister, other, one);
                }
            }
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

void faults_list_places(FaultsLister *lister) {
    Places none = {.first = ARENA_ARRAY(lister->scratch, uint32_t,
                                        lister->in->model->set->disconnect_shell.count + 1),
                   .items = ARENA_ARRAY(lister->scratch, uint32_t, 1)};
    Places uses = lister->in->disconnects == NULL ? none : uses_by_shell(lister);
    list_disconnects(lister, &uses);
    Places cables = cables_by_segment(lister);
    list_segments(lister, &cables);
    list_zones(lister, &cables);
    list_connectors(lister, &uses);
}
