/* Every single error of a rig, and how it is said. */
#include <string.h>

#include "shop/wrong.h"

typedef struct Lister {
    Arena *out;
    const Rig *rig;
    WrongList *list;
    size_t count;
    size_t capacity;
} Lister;

static void add(Lister *lister, WrongKind kind, uint32_t a, uint32_t b) {
    *ARENA_PUSH(lister->out, lister->list->wrongs, lister->count, lister->capacity) =
        (Wrong){kind, a, b};
}

static void list_edges(Lister *lister) {
    const Rig *rig = lister->rig;
    for (uint32_t i = 0; i < rig->edge_count; i++) {
        switch (rig->edges[i].kind) {
        case RIG_WIRE:
        case RIG_SCREEN:
        case RIG_BOND:
            add(lister, WRONG_OPEN, i, ID_NONE);
            add(lister, WRONG_HIGH, i, ID_NONE);
            break;
        case RIG_TERMINATOR:
            add(lister, WRONG_ABSENT, i, ID_NONE);
            break;
        case RIG_MATE:
            break;
        }
    }
}

static void list_plug(Lister *lister, const RigPlug *plug) {
    const Rig *rig = lister->rig;
    uint32_t ways = plug->face->ways;
    for (uint32_t k = 0; k < ways; k++) {
        RigPointId point = plug->point_first + k;
        for (uint32_t i = k + 1; i < ways; i++) {
            if (rig->points[point].filled || rig->points[plug->point_first + i].filled) {
                add(lister, WRONG_MOVE, point, plug->point_first + i);
            }
        }
        if (!rig->points[point].filled) {
            continue;
        }
        add(lister, WRONG_OUT, point, ID_NONE);
        for (uint32_t e = plug->face->near_first[k]; e < plug->face->near_first[k + 1]; e++) {
            RigPointId other = plug->point_first + plug->face->near[e];
            if (other > point && rig->points[other].filled) {
                add(lister, WRONG_SHORT, point, other);
            }
        }
        if (plug->shell != ID_NONE) {
            add(lister, WRONG_SHORT, point, plug->shell);
        }
    }
}

/* A wire that touches structure on its way: any point of its net stands for it. */
static void list_structure(Lister *lister) {
    const Rig *rig = lister->rig;
    RigPointId structure = name_map_find(&rig->point_by_name, "structure");
    for (uint32_t i = 0; i < rig->net_count && structure != NAME_NONE; i++) {
        RigPointId point = rig->net_points[rig->net_point_first[i]];
        if (rig->points[structure].net != i) {
            add(lister, WRONG_SHORT, point, structure);
        }
    }
}

void wrong_list(Arena *out, const Rig *rig, WrongList *list) {
    *list = (WrongList){0};
    Lister lister = {.out = out, .rig = rig, .list = list};
    list_edges(&lister);
    for (uint32_t i = 0; i < rig->plug_count; i++) {
        list_plug(&lister, &rig->plugs[i]);
    }
    list_structure(&lister);
    list->count = (uint32_t)lister.count;
}

/* --- words --------------------------------------------------------------------------------------
 */

/* The wires in a contact: "W0412", "W0412 and W0413". */
static const char *held(Arena *arena, const Rig *rig, RigPointId point) {
    Buffer text = {.arena = arena};
    buffer_text(&text, "");
    for (uint32_t e = rig->point_edge_first[point]; e < rig->point_edge_first[point + 1]; e++) {
        const RigEdge *edge = &rig->edges[rig->point_edges[e]];
        if (edge->kind == RIG_WIRE || edge->kind == RIG_SCREEN) {
            buffer_format(&text, "%s%s", text.length > 0 ? " and " : "", edge->key);
        }
    }
    return text.bytes;
}

static const char *move_text(Arena *arena, const Rig *rig, Wrong wrong) {
    const RigPoint *a = &rig->points[wrong.a];
    const RigPoint *b = &rig->points[wrong.b];
    if (a->filled && b->filled) {
        return arena_format(arena, "%s and %s are exchanged: %s, %s", held(arena, rig, wrong.a),
                            held(arena, rig, wrong.b), a->name, b->name);
    }
    return arena_format(arena, "%s sits in %s in place of %s",
                        held(arena, rig, a->filled ? wrong.a : wrong.b),
                        a->filled ? b->name : a->name, a->filled ? a->name : b->name);
}

const char *wrong_text(Arena *arena, const Rig *rig, Wrong wrong) {
    switch (wrong.kind) {
    case WRONG_OPEN:
    case WRONG_HIGH: {
        const RigEdge *edge = &rig->edges[wrong.a];
        const char *what =
            edge->kind == RIG_BOND ? arena_format(arena, "the bond of %s", edge->key) : edge->key;
        return arena_format(arena, "%s %s between %s and %s", what,
                            wrong.kind == WRONG_OPEN ? "is open" : "has too much resistance",
                            rig->points[edge->a].name, rig->points[edge->b].name);
    }
    case WRONG_ABSENT:
        return arena_format(arena, "the terminator at %s is missing", rig->edges[wrong.a].key);
    case WRONG_OUT:
        return arena_format(arena, "the contact of %s is not home in %s", held(arena, rig, wrong.a),
                            rig->points[wrong.a].name);
    case WRONG_MOVE:
        return move_text(arena, rig, wrong);
    case WRONG_SHORT:
        return arena_format(arena, "%s and %s touch", rig->points[wrong.a].name,
                            rig->points[wrong.b].name);
    case WRONG_KIND_COUNT:
        break;
    }
    return "";
}

const char *wrong_look(Arena *arena, const Rig *rig, Wrong wrong) {
    switch (wrong.kind) {
    case WRONG_OPEN:
    case WRONG_HIGH: {
        const RigEdge *edge = &rig->edges[wrong.a];
        return arena_format(arena, "look at %s and at %s, pull gently; then along %s",
                            rig->points[edge->a].name, rig->points[edge->b].name,
                            edge->kind == RIG_BOND ? "the joint" : edge->key);
    }
    case WRONG_ABSENT:
        return arena_format(arena, "open the plug of %s", rig->edges[wrong.a].key);
    case WRONG_OUT:
        return arena_format(arena, "look whether the contact in %s stands back, push it home",
                            rig->points[wrong.a].name);
    case WRONG_MOVE:
        return arena_format(arena, "read the labels of the wires in %s and %s",
                            rig->points[wrong.a].name, rig->points[wrong.b].name);
    case WRONG_SHORT:
        return arena_format(arena, "look between %s and %s, behind the contacts and on the face",
                            rig->points[wrong.a].name, rig->points[wrong.b].name);
    case WRONG_KIND_COUNT:
        break;
    }
    return "";
}
