/* Shares as rows, with what would part them. A segment: the cables of one way are led again with
 * the segment closed; the way that gets longer least is named. A cable that both ways rest on can't
 * be led in two places: then it is named. A ground point: the nearest other one of its kind with a
 * free tab. The rest are sentences. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "power/common.h"
#include "route/graph.h"

typedef struct Rows {
    Arena *arena;
    Arena scratch;
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Service *service;
    const Common *common;
    RouteGraph graph;
    RouteRoom room;
    uint32_t *tabs_used; /* by OwnerId */
} Rows;

/* --- texts --------------------------------------------------------------------------------------
 */

static const char *list_ways(const Rows *rows, const CommonShare *share) {
    Buffer text = {.arena = rows->arena};
    for (uint32_t i = 0; i < share->way_count; i++) {
        buffer_format(&text, "%s%s", i == 0 ? "" : " ",
                      service_way(rows->service, share->ways[i])->way);
    }
    return text.bytes;
}

static const char *list_conductors(const Rows *rows, const ConductorId *conductors,
                                   uint32_t count) {
    Buffer text = {.arena = rows->arena};
    for (uint32_t i = 0; i < count; i++) {
        buffer_format(&text, "%s%s", i == 0 ? "" : " ",
                      rows->wiring->conductors[conductors[i]].key);
    }
    return count == 0 ? "" : text.bytes;
}

/* --- another way round a segment ----------------------------------------------------------------
 */

/* Length of the shortest way of a cable without `without`, mm; NAN when there is none. */
static double length_without(Rows *rows, CableId cable, SegmentId without) {
    const Model *model = rows->model;
    const Cable *row = &rows->wiring->cables[cable];
    const char *class = model->set->interface.rows[rows->wiring->nets[row->net].class_id].class;
    size_t segments = model->set->segment.count;
    Arena scratch = {0};
    bool *closed = ARENA_ARRAY(&scratch, bool, segments);
    for (SegmentId i = 0; i < segments; i++) {
        const char *classes = model->set->segment.rows[i].classes;
        closed[i] = i == without || (*classes != '\0' && !text_has_word(classes, class));
    }
    RouteWeights weights;
    graph_weigh(&scratch, &rows->graph, model->segment_length_mm, closed, &weights);
    SegmentList list = {.arena = &scratch};
    graph_climb(&rows->graph, &weights, model->terminals[row->from].node, &rows->room.from);
    graph_climb(&rows->graph, &weights, model->terminals[row->to].node, &rows->room.to);
    double length_mm = NAN;
    if (graph_way(&rows->graph, &weights, &rows->room, &list)) {
        length_mm = 0.0;
        for (size_t i = 0; i < list.count; i++) {
            length_mm += model->segment_length_mm[list.segments[i]];
        }
    }
    arena_free(&scratch);
    return length_mm;
}

static double length_now(const Rows *rows, CableId cable) {
    double length_mm = 0.0;
    for (uint32_t h = rows->routing->cable_first[cable]; h < rows->routing->cable_first[cable + 1];
         h++) {
        length_mm += rows->model->segment_length_mm[rows->routing->hops[h].segment];
    }
    return length_mm;
}

/* Whether the conductor is the first of its cable in the list. */
static bool begins_cable(const Rows *rows, const CommonShare *share, uint32_t i) {
    const Conductor *conductors = rows->wiring->conductors;
    return i == 0 ||
           conductors[share->conductors[i]].cable != conductors[share->conductors[i - 1]].cable;
}

static const char *propose_way(Rows *rows, const CommonShare *share, SegmentId segment) {
    double least_mm = INFINITY;
    uint32_t best = 0;
    uint32_t best_cables = 0;
    for (uint32_t way = 0; way < share->way_count && way < 31; way++) {
        uint32_t bit = UINT32_C(1) << way;
        double more_mm = 0.0;
        uint32_t cables = 0;
        for (uint32_t i = 0; i < share->conductor_count; i++) {
            if ((share->conductor_ways[i] & bit) == 0 || !begins_cable(rows, share, i)) {
                continue;
            }
            CableId cable = rows->wiring->conductors[share->conductors[i]].cable;
            if (share->conductor_ways[i] != bit) {
                return arena_format(rows->arena,
                                    "%s itself serves several of the ways: a "
                                    "feed or line of its own for one of them",
                                    rows->wiring->conductors[share->conductors[i]].key);
            }
            more_mm += length_without(rows, cable, segment) - length_now(rows, cable);
            cables++;
        }
        if (cables > 0 && more_mm < least_mm) {
            least_mm = more_mm;
            best = way;
            best_cables = cables;
        }
    }
    if (share->conductor_count == 0) {
        return "";
    }
    if (best_cables == 0) {
        return "no way leads round this segment: a new segment, or another place for a box";
    }
    return arena_format(rows->arena, "lead way %s round it: %u cable%s, %.0f mm longer in all",
                        service_way(rows->service, share->ways[best])->way, best_cables,
                        best_cables == 1 ? "" : "s", least_mm);
}

/* --- another ground -----------------------------------------------------------------------------
 */

static double apart_mm(const Model *model, NodeId a, NodeId b) {
    const NodeRow *left = &model->set->node.rows[a];
    const NodeRow *right = &model->set->node.rows[b];
    double dx = left->x_mm - right->x_mm;
    double dy = left->y_mm - right->y_mm;
    double dz = left->z_mm - right->z_mm;
    return sqrt(dx * dx + dy * dy + dz * dz);
}

static const char *propose_ground(const Rows *rows, uint32_t here) {
    const Model *model = rows->model;
    OwnerId owner = model_owner(model, model->set->ground_point.rows[here].point);
    double nearest_mm = INFINITY;
    OwnerId best = ID_NONE;
    for (OwnerId i = 0; i < model->owner_count; i++) {
        const ModelOwner *other = &model->owners[i];
        if (other->kind != OWNER_GROUND || i == owner || other->node == ID_NONE) {
            continue;
        }
        const GroundPointRow *row = &model->set->ground_point.rows[other->row];
        double distance_mm = apart_mm(model, model->owners[owner].node, other->node);
        if (strcmp(row->kind, model->set->ground_point.rows[here].kind) == 0 &&
            (int64_t)rows->tabs_used[i] < row->tabs && distance_mm < nearest_mm) {
            nearest_mm = distance_mm;
            best = i;
        }
    }
    if (best == ID_NONE) {
        return "no other ground point of this kind has a free tab: a new one";
    }
    const GroundPointRow *row = &model->set->ground_point.rows[model->owners[best].row];
    return arena_format(
        rows->arena, "return one of the ways at %s: %lld of %d tabs free, %.0f mm from here",
        row->point, (long long)row->tabs - (long long)rows->tabs_used[best], row->tabs, nearest_mm);
}

static void count_tabs(Rows *rows) {
    const Wiring *wiring = rows->wiring;
    const Model *model = rows->model;
    bool *seen = ARENA_ARRAY(&rows->scratch, bool, model->terminal_count);
    rows->tabs_used = ARENA_ARRAY(&rows->scratch, uint32_t, model->owner_count);
    for (uint32_t i = 0; i < wiring->end_count; i++) {
        TerminalId end = wiring->ends[i];
        if (!seen[end]) {
            seen[end] = true;
            rows->tabs_used[model->terminals[end].owner]++;
        }
    }
}

/* --- rows ---------------------------------------------------------------------------------------
 */

static const char *propose_shell(const Rows *rows, uint32_t here) {
    const TableSet *set = rows->model->set;
    const DisconnectShellRow *shell = &set->disconnect_shell.rows[here];
    for (size_t i = 0; i < set->disconnect_shell.count; i++) {
        const DisconnectShellRow *other = &set->disconnect_shell.rows[i];
        if (i != here && strcmp(other->disconnect, shell->disconnect) == 0 &&
            strcmp(other->segment, shell->segment) == 0 && strcmp(other->group, "power") != 0 &&
            strcmp(shell->group, "power") != 0) {
            return arena_format(rows->arena, "put one of the ways into %s", other->tag);
        }
    }
    return "another shell at this disconnect for one of the ways";
}

static const char *propose(Rows *rows, const CommonShare *share) {
    const Place *place = &rows->common->places.places[share->place];
    switch (place->kind) {
    case PLACE_SEGMENT:
        return propose_way(rows, share, place->row);
    case PLACE_SHELL:
        return propose_shell(rows, place->row);
    case PLACE_GROUND:
        return propose_ground(rows, place->row);
    case PLACE_PROTECTION:
    case PLACE_SWITCHGEAR:
        return "a device of its own for one of the ways";
    case PLACE_BUS:
        return "feed one of the ways from another bus";
    case PLACE_SOURCE:
        return "a source of its own for one of the ways";
    case PLACE_UNIT:
        return "a box of its own for one of the ways";
    case PLACE_ZONE:
    case PLACE_KIND_COUNT:
        break;
    }
    return "";
}

static void share_row(Rows *rows, const CommonShare *share, TableSet *out) {
    const Place *place = &rows->common->places.places[share->place];
    CommonRow *row = table_append(out, rows->arena, TABLE_common);
    row->need = service_need_name(rows->service, share->need);
    row->clause = share->clause;
    row->kind = place_kind_name(place->kind);
    row->place = place->name;
    row->ways = list_ways(rows, share);
    row->left = (int32_t)(share->clause_ways - share->way_count);
    row->loses = share->alone;
    row->in_scope = share->in_scope;
    row->conductors = list_conductors(rows, share->conductors, share->conductor_count);
    row->proposal = propose(rows, share);
}

static void lane_rows(Rows *rows, TableSet *out) {
    const Common *common = rows->common;
    for (uint32_t i = 0; i < common->lane_count; i++) {
        const CommonLanes *lanes = &common->lanes[i];
        const Place *place = &common->places.places[lanes->place];
        CommonRow *row = table_append(out, rows->arena, TABLE_common);
        row->need = "A and B";
        row->clause = "engine circuits";
        row->kind = place_kind_name(place->kind);
        row->place = place->name;
        row->ways = "A B";
        row->conductors = list_conductors(rows, lanes->conductors, lanes->conductor_count);
    }
    for (NetId net = 0; net < rows->wiring->net_count; net++) {
        const Net *there = &rows->wiring->nets[net];
        if (there->lane != LANE_CROSS) {
            continue;
        }
        CommonRow *row = table_append(out, rows->arena, TABLE_common);
        row->need = "A and B";
        row->clause = "cross-link";
        row->kind = "circuit";
        row->place = there->name;
        row->ways = "A B";
        Buffer text = {.arena = rows->arena};
        for (CableId k = there->cable_first; k < there->cable_first + there->cable_count; k++) {
            const Cable *cable = &rows->wiring->cables[k];
            for (uint32_t c = 0; c < cable->conductor_count; c++) {
                buffer_format(&text, "%s%s", text.length == 0 ? "" : " ",
                              rows->wiring->conductors[cable->conductor_first + c].key);
            }
        }
        row->conductors = text.length == 0 ? "" : text.bytes;
        row->proposal = "crosses by intent: what its opening and its short lose is in `fault`";
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

void common_rows(Arena *arena, const Model *model, const Wiring *wiring, const Routing *routing,
                 const Service *service, const Common *common, TableSet *out) {
    if (!common->done) {
        return;
    }
    Rows rows = {
        .arena = arena,
        .model = model,
        .wiring = wiring,
        .routing = routing,
        .service = service,
        .common = common,
    };
    if (common->share_count > 0) {
        graph_build(&rows.scratch, (uint32_t)model->set->node.count,
                    (uint32_t)model->set->segment.count, model->segment_a, model->segment_b,
                    &rows.graph);
        graph_room(&rows.scratch, &rows.graph, &rows.room);
    }
    count_tabs(&rows);
    for (uint32_t i = 0; i < common->share_count; i++) {
        share_row(&rows, &common->shares[i], out);
    }
    lane_rows(&rows, out);
    arena_free(&rows.scratch);
}
