/* Pairs of place and item are pushed into one list for each kind of content, sorted by counting,
 * and made unique. */
#include "power/place.h"

#include <string.h>

static const char *const NAMES[PLACE_KIND_COUNT] = {
#define PLACE_NAME(id, name, plural) name,
    PLACE_KINDS(PLACE_NAME)
#undef PLACE_NAME
};

static const char *const PLURALS[PLACE_KIND_COUNT] = {
#define PLACE_PLURAL(id, name, plural) plural,
    PLACE_KINDS(PLACE_PLURAL)
#undef PLACE_PLURAL
};

typedef struct Pair {
    uint32_t key;
    uint32_t item;
} Pair;

typedef struct Pairs {
    Pair *rows;
    size_t count;
    size_t capacity;
} Pairs;

typedef struct Builder {
    Arena scratch;
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Disconnects *disconnects;
    const Supply *supply;
    const PowerNetwork *built;
    const Reach *reach;
    Places *places;
    uint32_t kind_first[PLACE_KIND_COUNT + 1];
    uint32_t *owner_place; /* by OwnerId: device, ground or box; ID_NONE */
    Pairs conductors;
    Pairs owners;
    Pairs elements;
    Pairs nodes;
} Builder;

static void push(Builder *builder, Pairs *pairs, uint32_t key, uint32_t item) {
    *ARENA_PUSH(&builder->scratch, pairs->rows, pairs->count, pairs->capacity) =
        (Pair){.key = key, .item = item};
}

/* --- indices ------------------------------------------------------------------------------------
 */

/* By item first, so that a stable pass by key leaves items rising. */
static Pair *sort_by(Arena *scratch, const Pair *rows, size_t count, uint32_t most, bool by_key) {
    uint32_t *start = ARENA_ARRAY(scratch, uint32_t, (size_t)most + 2);
    Pair *sorted = ARENA_ARRAY(scratch, Pair, count);
    for (size_t i = 0; i < count; i++) {
        start[(by_key ? rows[i].key : rows[i].item) + 1]++;
    }
    for (uint32_t i = 1; i <= most; i++) {
        start[i] += start[i - 1];
    }
    for (size_t i = 0; i < count; i++) {
        sorted[start[by_key ? rows[i].key : rows[i].item]++] = rows[i];
    }
    return sorted;
}

static PlaceIndex index_pairs(Arena *out, Arena *scratch, const Pairs *pairs, uint32_t keys,
                              uint32_t items) {
    const Pair *rows = sort_by(scratch, pairs->rows, pairs->count, items, false);
    rows = sort_by(scratch, rows, pairs->count, keys, true);
    PlaceIndex index = {
        .first = ARENA_ARRAY(out, uint32_t, (size_t)keys + 1),
        .items = ARENA_ARRAY(out, uint32_t, pairs->count),
    };
    uint32_t count = 0;
    uint32_t key = 0;
    for (size_t i = 0; i < pairs->count; i++) {
        if (i > 0 && rows[i].key == rows[i - 1].key && rows[i].item == rows[i - 1].item) {
            continue;
        }
        while (key < rows[i].key) {
            index.first[++key] = count;
        }
        index.items[count++] = rows[i].item;
    }
    while (key < keys) {
        index.first[++key] = count;
    }
    return index;
}

static PlaceIndex turn(Arena *out, Arena *scratch, const PlaceIndex *index, uint32_t keys,
                       uint32_t items) {
    Pairs pairs = {0};
    pairs.count = index->first[keys];
    pairs.rows = ARENA_ARRAY(scratch, Pair, pairs.count);
    for (uint32_t key = 0; key < keys; key++) {
        for (uint32_t i = index->first[key]; i < index->first[key + 1]; i++) {
            pairs.rows[i] = (Pair){.key = index->items[i], .item = key};
        }
    }
    return index_pairs(out, scratch, &pairs, items, keys);
}

/* --- which places -------------------------------------------------------------------------------
 */

static PlaceKind kind_of_owner(const Model *model, const ModelOwner *owner) {
    switch (owner->kind) {
    case OWNER_UNIT:
        return model_row(model, TABLE_source, owner->tag) == ID_NONE ? PLACE_UNIT : PLACE_SOURCE;
    case OWNER_PROTECTION:
        return PLACE_PROTECTION;
    case OWNER_SWITCHGEAR:
        return PLACE_SWITCHGEAR;
    case OWNER_GROUND:
        return PLACE_GROUND;
    case OWNER_BAR:
    case OWNER_ANTENNA:
        break;
    }
    return PLACE_KIND_COUNT;
}

static void add_place(Places *places, PlaceKind kind, uint32_t row, const char *name) {
    places->places[places->count++] = (Place){.kind = kind, .row = row, .name = name};
}

static void list_places(Arena *out, Builder *builder) {
    const Model *model = builder->model;
    const TableSet *set = model->set;
    Places *places = builder->places;
    size_t most = set->segment.count + set->disconnect_shell.count + model->owner_count +
                  set->bus.count + set->zone.count;
    places->places = ARENA_ARRAY(out, Place, most);
    builder->owner_place = ARENA_ARRAY(&builder->scratch, uint32_t, model->owner_count);
    memset(builder->owner_place, 0xff, sizeof(uint32_t) * model->owner_count);
    for (int k = 0; k < PLACE_KIND_COUNT; k++) {
        PlaceKind kind = (PlaceKind)k;
        builder->kind_first[k] = places->count;
        for (uint32_t i = 0; kind == PLACE_SEGMENT && i < set->segment.count; i++) {
            add_place(places, kind, i, set->segment.rows[i].segment);
        }
        for (uint32_t i = 0; kind == PLACE_SHELL && i < set->disconnect_shell.count; i++) {
            add_place(places, kind, i, set->disconnect_shell.rows[i].tag);
        }
        for (uint32_t i = 0; kind == PLACE_BUS && i < set->bus.count; i++) {
            add_place(places, kind, i, set->bus.rows[i].bus);
        }
        for (uint32_t i = 0; kind == PLACE_ZONE && i < set->zone.count; i++) {
            add_place(places, kind, i, set->zone.rows[i].zone);
        }
        for (OwnerId i = 0; i < model->owner_count; i++) {
            if (kind_of_owner(model, &model->owners[i]) == kind) {
                builder->owner_place[i] = places->count;
                add_place(places, kind, model->owners[i].row, model->owners[i].tag);
            }
        }
    }
    builder->kind_first[PLACE_KIND_COUNT] = places->count;
}

/* --- what is in them ----------------------------------------------------------------------------
 */

static void add_conductors(Builder *builder, uint32_t place, CableId cable) {
    const Cable *row = &builder->wiring->cables[cable];
    for (uint32_t i = 0; i < row->conductor_count; i++) {
        ConductorId conductor = row->conductor_first + i;
        push(builder, &builder->conductors, place, conductor);
        uint32_t resistor = builder->built->conductor_resistor[conductor];
        if (resistor != NETWORK_NONE) {
            push(builder, &builder->elements, place,
                 reach_element(builder->reach, NETWORK_RESISTOR, resistor));
        }
    }
}

static void lay_cables(Builder *builder) {
    const Routing *routing = builder->routing;
    const Disconnects *disconnects = builder->disconnects;
    for (CableId cable = 0; cable < builder->wiring->cable_count; cable++) {
        for (uint32_t h = routing->cable_first[cable]; h < routing->cable_first[cable + 1]; h++) {
            SegmentId segment = routing->hops[h].segment;
            add_conductors(builder, builder->kind_first[PLACE_SEGMENT] + segment, cable);
            ZoneId zone = builder->model->segment_zone[segment];
            if (zone != ID_NONE) {
                add_conductors(builder, builder->kind_first[PLACE_ZONE] + zone, cable);
            }
        }
    }
    for (uint32_t i = 0; disconnects != NULL && i < disconnects->use_count; i++) {
        const CavityUse *use = &disconnects->uses[i];
        if (use->conductor == ID_NONE) {
            continue;
        }
        uint32_t place = builder->kind_first[PLACE_SHELL] + use->shell;
        push(builder, &builder->conductors, place, use->conductor);
        uint32_t resistor = builder->built->conductor_resistor[use->conductor];
        if (resistor != NETWORK_NONE) {
            push(builder, &builder->elements, place,
                 reach_element(builder->reach, NETWORK_RESISTOR, resistor));
        }
    }
}

static void add_node(Builder *builder, uint32_t place, PinId pin) {
    uint32_t node = builder->built->point_node[pin];
    if (node != NETWORK_NONE && node != 0) {
        push(builder, &builder->nodes, place, node);
    }
}

static void add_owner(Builder *builder, uint32_t place, OwnerId id) {
    const Model *model = builder->model;
    const ModelOwner *owner = &model->owners[id];
    const Gates *gates = &builder->supply->gates;
    push(builder, &builder->owners, place, id);
    for (uint32_t g = gates->owner_first[id]; g < gates->owner_first[id + 1]; g++) {
        BuildElement element = builder->built->gate_element[g];
        if (element.kind != NETWORK_KIND_COUNT) {
            push(builder, &builder->elements, place,
                 reach_element(builder->reach, element.kind, element.index));
        }
    }
    bool metal = owner->kind == OWNER_GROUND || owner->kind == OWNER_BAR;
    for (uint32_t t = 0; metal && t < owner->terminal_count; t++) {
        const ModelTerminal *terminal = &model->terminals[owner->terminal_first + t];
        for (uint32_t p = 0; p < terminal->pin_count; p++) {
            add_node(builder, place, terminal->pin_first + p);
        }
    }
}

static void add_owners(Builder *builder) {
    const Model *model = builder->model;
    for (OwnerId i = 0; i < model->owner_count; i++) {
        if (builder->owner_place[i] != ID_NONE) {
            add_owner(builder, builder->owner_place[i], i);
        }
        ZoneId zone =
            model->owners[i].node == ID_NONE ? ID_NONE : model->node_zone[model->owners[i].node];
        if (zone != ID_NONE) {
            add_owner(builder, builder->kind_first[PLACE_ZONE] + zone, i);
        }
    }
    for (BusId i = 0; i < model->set->bus.count; i++) {
        TerminalId stud = model->buses[i].stud;
        if (stud != ID_NONE) {
            uint32_t place = builder->kind_first[PLACE_BUS] + i;
            OwnerId owner = model->terminals[stud].owner;
            add_node(builder, place, model->terminals[stud].pin_first);
            if (model->owners[owner].kind == OWNER_BAR) {
                push(builder, &builder->owners, place, owner);
            }
        }
    }
}

static void add_source(Builder *builder, uint32_t row, NetworkKind kind, uint32_t index) {
    OwnerId owner = model_owner(builder->model, builder->model->set->source.rows[row].unit);
    if (owner == ID_NONE || builder->owner_place[owner] == ID_NONE) {
        return;
    }
    uint32_t element = reach_element(builder->reach, kind, index);
    push(builder, &builder->elements, builder->owner_place[owner], element);
    ZoneId zone = builder->model->node_zone[builder->model->owners[owner].node];
    if (zone != ID_NONE) {
        push(builder, &builder->elements, builder->kind_first[PLACE_ZONE] + zone, element);
    }
}

static void add_sources(Builder *builder) {
    const PowerNetwork *built = builder->built;
    for (uint32_t i = 0; i < built->network.battery_count; i++) {
        add_source(builder, built->batteries[i].source, NETWORK_BATTERY, i);
    }
    for (uint32_t i = 0; i < built->network.alternator_count; i++) {
        add_source(builder, built->alternators[i].source, NETWORK_ALTERNATOR, i);
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

void places_build(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                  const Disconnects *disconnects, const Supply *supply, const PowerNetwork *built,
                  const Reach *reach, Places *places) {
    *places = (Places){0};
    Builder builder = {
        .model = model,
        .wiring = wiring,
        .routing = routing,
        .disconnects = disconnects,
        .supply = supply,
        .built = built,
        .reach = reach,
        .places = places,
    };
    Arena *scratch = &builder.scratch;
    list_places(out, &builder);
    lay_cables(&builder);
    add_owners(&builder);
    add_sources(&builder);
    uint32_t count = places->count;
    uint32_t elements = reach_element_count(reach);
    uint32_t nodes = built->network.node_count;
    places->conductors =
        index_pairs(out, scratch, &builder.conductors, count, wiring->conductor_count);
    places->owners = index_pairs(out, scratch, &builder.owners, count, model->owner_count);
    places->elements = index_pairs(out, scratch, &builder.elements, count, elements);
    places->nodes = index_pairs(out, scratch, &builder.nodes, count, nodes);
    places->element_places = turn(out, scratch, &places->elements, count, elements);
    places->node_places = turn(out, scratch, &places->nodes, count, nodes);
    arena_free(scratch);
}

const char *place_kind_name(PlaceKind kind) {
    return NAMES[kind];
}

const char *place_kind_plural(PlaceKind kind) {
    return PLURALS[kind];
}

bool place_in_scope(const char *scope, const char *kind) {
    size_t length = strlen(kind);
    for (const char *at = scope; *at != '\0';) {
        at += strspn(at, " ,");
        size_t word = strcspn(at, ",");
        size_t used = word;
        while (used > 0 && at[used - 1] == ' ') {
            used--;
        }
        if (used == length && strncmp(at, kind, length) == 0) {
            return true;
        }
        at += word;
    }
    return false;
}
