/* Cavities. A sweep over all ways finds what each cable wants at each disconnect (a demand);
 * demands are taken in the order of wire keys. First every kept cavity that is still legal is given
 * back, then the rest is placed, so that nothing new can push aside what is there. */
#include "route/disconnect.h"

#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "route/checks.h"
#include "table/value.h"
#include "model/report.h"

/* --- demands ---------------------------------------------------------------------------------- */

/* What one cable wants of one shell: its conductors and, last, its shield. */
typedef struct Demand {
    CableId cable;
    uint32_t shell; /* row of disconnect_shell; ID_NONE: none takes it */
    uint32_t cut;   /* into Cuts.cuts */
    SegmentId segment;
    uint32_t use_first; /* into Disconnects.uses */
    uint32_t use_count;
} Demand;

typedef struct Allotter {
    Arena scratch;
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const int32_t *awg;
    Disconnects *disconnects;
    Findings *findings;
    Cuts cuts;
    Demand *demands;
    size_t demand_count;
    CavityKind **taken; /* by row of disconnect_shell, by cavity */
    int32_t *free;      /* by row of disconnect_shell */
    bool *honoured;     /* by row of allot_cavity */
} Allotter;

static const InterfaceRow *cable_class(const Allotter *allotter, const Cable *cable) {
    return wiring_class(allotter->model, allotter->wiring->nets[cable->net].class_id);
}

static bool passes_by_bulkhead(const Allotter *allotter, const Cable *cable) {
    return cable->coax || cable->heavy || cable_class(allotter, cable)->bulkhead == 1;
}

static CavityKind cavity_kind(const Allotter *allotter, const Cable *cable) {
    const char *kind = cable_class(allotter, cable)->kind;
    if (strcmp(kind, "power") == 0) {
        return CAVITY_POWER;
    }
    return strcmp(kind, "return") == 0 ? CAVITY_RETURN : CAVITY_SIGNAL;
}

static uint32_t contacts_wanted(const Allotter *allotter, const Cable *cable) {
    bool shield = cable->shielded && cable_class(allotter, cable)->shield_through == 1;
    return cable->conductor_count + (shield ? 1u : 0u);
}

/* Number of cuts on the way of a cable. */
static uint32_t count_cuts(const Allotter *allotter, CableId id) {
    const Routing *routing = allotter->routing;
    uint32_t count = 0;
    for (uint32_t i = routing->cable_first[id]; i < routing->cable_first[id + 1]; i++) {
        SegmentId segment = routing->hops[i].segment;
        count += allotter->cuts.segment_first[segment + 1] - allotter->cuts.segment_first[segment];
    }
    return count;
}

static void add_demands(Allotter *allotter, CableId id) {
    const Routing *routing = allotter->routing;
    const Cuts *cuts = &allotter->cuts;
    Disconnects *disconnects = allotter->disconnects;
    const Cable *cable = &allotter->wiring->cables[id];
    uint32_t contacts = contacts_wanted(allotter, cable);
    uint16_t crossing = 0;
    for (uint32_t i = routing->cable_first[id]; i < routing->cable_first[id + 1]; i++) {
        const Hop *hop = &routing->hops[i];
        uint32_t first = cuts->segment_first[hop->segment];
        uint32_t count = cuts->segment_first[hop->segment + 1] - first;
        for (uint32_t k = 0; k < count; k++, crossing++) {
            Demand *demand = &allotter->demands[allotter->demand_count++];
            *demand = (Demand){
                .cable = id,
                .shell = ID_NONE,
                .cut = first + (hop->backward ? count - 1 - k : k),
                .segment = hop->segment,
                .use_first = disconnects->use_count,
                .use_count = contacts,
            };
            for (uint32_t core = 0; core < contacts; core++) {
                disconnects->uses[disconnects->use_count++] = (CavityUse){
                    .shell = ID_NONE,
                    .cavity = ID_NONE,
                    .cable = id,
                    .conductor =
                        core < cable->conductor_count ? cable->conductor_first + core : ID_NONE,
                    .crossing = crossing,
                };
            }
        }
    }
}

/* Room for all demands and uses, then the demands in the order of cables. */
static void list_demands(Arena *out, Allotter *allotter) {
    const Wiring *wiring = allotter->wiring;
    Disconnects *disconnects = allotter->disconnects;
    size_t demands = 0;
    size_t uses = 0;
    disconnects->crossings = ARENA_ARRAY(out, uint8_t, wiring->cable_count);
    for (CableId i = 0; i < wiring->cable_count; i++) {
        const Cable *cable = &wiring->cables[i];
        uint32_t cuts = count_cuts(allotter, i);
        disconnects->crossings[i] = (uint8_t)(cuts < UINT8_MAX ? cuts : UINT8_MAX - 1);
        if (!passes_by_bulkhead(allotter, cable)) {
            demands += cuts;
            uses += (size_t)cuts * contacts_wanted(allotter, cable);
        }
    }
    CHECK(uses < ID_NONE);
    allotter->demands = ARENA_ARRAY(&allotter->scratch, Demand, demands);
    disconnects->uses = ARENA_ARRAY(out, CavityUse, uses);
    disconnects->cable_first = ARENA_ARRAY(out, uint32_t, (size_t)wiring->cable_count + 1);
    for (CableId i = 0; i < wiring->cable_count; i++) {
        disconnects->cable_first[i] = disconnects->use_count;
        if (disconnects->crossings[i] > 0 && !passes_by_bulkhead(allotter, &wiring->cables[i])) {
            add_demands(allotter, i);
        }
    }
    disconnects->cable_first[wiring->cable_count] = disconnects->use_count;
}

/* --- order of keys ---------------------------------------------------------------------------- */

typedef struct DemandOrder {
    const char *key;
    uint32_t demand;
} DemandOrder;

static int compare_demands(const void *left, const void *right) {
    const DemandOrder *a = left;
    const DemandOrder *b = right;
    int order = text_compare_keys(a->key, b->key);
    return order != 0 ? order : (a->demand > b->demand) - (a->demand < b->demand);
}

static uint32_t *order_demands(Allotter *allotter) {
    size_t count = allotter->demand_count;
    DemandOrder *order = ARENA_ARRAY(&allotter->scratch, DemandOrder, count);
    uint32_t *demands = ARENA_ARRAY(&allotter->scratch, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) {
        const Cable *cable = &allotter->wiring->cables[allotter->demands[i].cable];
        order[i].key = cable->conductor_count > 0
                           ? allotter->wiring->conductors[cable->conductor_first].key
                           : "";
        order[i].demand = i;
    }
    if (count > 1) {
        qsort(order, count, sizeof *order, compare_demands);
    }
    for (size_t i = 0; i < count; i++) {
        demands[i] = order[i].demand;
    }
    return demands;
}

/* --- shells ----------------------------------------------------------------------------------- */

/* The kept row of a use at one of the cut's shells, ID_NONE. */
static uint32_t kept_row(Allotter *allotter, const CavityUse *use, const Cut *cut,
                         uint32_t *shell) {
    const Model *model = allotter->model;
    const char *key = disconnect_use_key(&allotter->scratch, allotter->wiring, use);
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_allot_cavity, key, &count);
    for (uint32_t i = first; i < first + count; i++) {
        for (uint32_t k = 0; k < cut->shell_count; k++) {
            uint32_t candidate = allotter->cuts.shells[cut->shell_first + k];
            if (strcmp(model->set->allot_cavity.rows[i].shell,
                       model->set->disconnect_shell.rows[candidate].tag) == 0) {
                *shell = candidate;
                return i;
            }
        }
    }
    return ID_NONE;
}

static void report_no_shell(Allotter *allotter, const Demand *demand, int32_t awg) {
    const Model *model = allotter->model;
    const Cut *cut = &allotter->cuts.cuts[demand->cut];
    const Cable *cable = &allotter->wiring->cables[demand->cable];
    Finding *finding = report_row(
        allotter->findings, model, RULE_DISCONNECT_SHELL, TABLE_disconnect, cut->disconnect, "",
        "no shell of %s on segment %s takes circuit %s: %s AWG is too thick for all of them",
        model->set->disconnect.rows[cut->disconnect].disconnect,
        model->set->segment.rows[demand->segment].segment, allotter->wiring->nets[cable->net].name,
        value_awg_text(&allotter->scratch, awg));
    finding->value = awg;
    finding->unit = "AWG";
    finding->rows = allotter->wiring->nets[cable->net].name;
    finding->hint = "add a shell of group `power` on this segment";
}

/* A contact takes gauges between two limits; larger numbers are thinner. */
static void check_gauge(Allotter *allotter, const Demand *demand, int32_t awg) {
    const Model *model = allotter->model;
    ContactId id = allotter->cuts.contact[demand->shell];
    if (id == ID_NONE || awg == INT_BLANK) {
        return;
    }
    const ContactRow *contact = &model->set->contact.rows[id];
    int32_t largest = cuts_largest_awg(model, &allotter->cuts, demand->shell);
    bool thin = contact->smallest_awg != INT_BLANK && awg > contact->smallest_awg;
    bool thick = (contact->largest_awg != INT_BLANK && awg < contact->largest_awg) ||
                 (largest != INT_BLANK && awg < largest);
    if (!thin && !thick) {
        return;
    }
    const DisconnectShellRow *shell = &model->set->disconnect_shell.rows[demand->shell];
    const Net *net = &allotter->wiring->nets[allotter->wiring->cables[demand->cable].net];
    int32_t limit = thin ? contact->smallest_awg : contact->largest_awg;
    Finding *finding =
        report_row(allotter->findings, model, RULE_DISCONNECT_GAUGE, TABLE_disconnect_shell,
                   demand->shell, "shell", "%s AWG of circuit %s is too %s for contact %s of %s",
                   value_awg_text(&allotter->scratch, awg), net->name, thin ? "thin" : "thick",
                   contact->contact, shell->tag);
    report_values(finding, awg, limit, "AWG", contact->source);
    finding->rows = net->name;
    finding->hint = thin ? "lay a thicker wire, or take a shell with smaller contacts"
                         : "take a shell with larger contacts for this segment's power";
}

/* Settles the shell of every demand, and counts what each shell is asked for. */
static void choose_shells(Allotter *allotter, const uint32_t *order) {
    const Model *model = allotter->model;
    Disconnects *disconnects = allotter->disconnects;
    for (size_t i = 0; i < allotter->demand_count; i++) {
        Demand *demand = &allotter->demands[order[i]];
        const Cable *cable = &allotter->wiring->cables[demand->cable];
        const Cut *cut = &allotter->cuts.cuts[demand->cut];
        if (demand->use_count == 0) {
            continue;
        }
        uint32_t kept = ID_NONE;
        if (model->set->allot_cavity.count > 0) {
            kept_row(allotter, &disconnects->uses[demand->use_first], cut, &kept);
        }
        int32_t awg =
            route_conductor_awg(model, allotter->wiring, cable->conductor_first, allotter->awg);
        uint8_t group = allotter->wiring->nets[cable->net].group;
        demand->shell = cuts_shell(model, &allotter->cuts, cut, awg, group, kept, allotter->free,
                                   (int32_t)demand->use_count);
        if (demand->shell == ID_NONE) {
            report_no_shell(allotter, demand, awg);
            continue;
        }
        check_gauge(allotter, demand, awg);
        allotter->free[demand->shell] -= (int32_t)demand->use_count;
        disconnects->shell_used[demand->shell] += demand->use_count;
        for (uint32_t k = 0; k < demand->use_count; k++) {
            disconnects->uses[demand->use_first + k].shell = demand->shell;
        }
    }
}

/* --- cavities --------------------------------------------------------------------------------- */

/* Gives kept cavities back as long as they are there and free. */
static void keep_cavities(Allotter *allotter, const uint32_t *order) {
    const Model *model = allotter->model;
    if (model->set->allot_cavity.count == 0) {
        return;
    }
    for (size_t i = 0; i < allotter->demand_count; i++) {
        const Demand *demand = &allotter->demands[order[i]];
        if (demand->shell == ID_NONE) {
            continue;
        }
        CavityKind kind = cavity_kind(allotter, &allotter->wiring->cables[demand->cable]);
        for (uint32_t k = 0; k < demand->use_count; k++) {
            CavityUse *use = &allotter->disconnects->uses[demand->use_first + k];
            uint32_t shell = ID_NONE;
            uint32_t row = kept_row(allotter, use, &allotter->cuts.cuts[demand->cut], &shell);
            if (row == ID_NONE || shell != demand->shell) {
                continue;
            }
            const Face *face = allotter->cuts.faces[shell];
            uint32_t cavity = face_find(face, model->set->allot_cavity.rows[row].cavity);
            if (cavity == ID_NONE || allotter->taken[shell][cavity] != CAVITY_FREE) {
                continue; /* reported as broken below */
            }
            allotter->taken[shell][cavity] = kind;
            allotter->honoured[row] = true;
            use->cavity = cavity;
            use->kept = true;
        }
    }
}

static bool zone_is_wet(const Model *model, ZoneId zone) {
    if (zone == ID_NONE) {
        return false;
    }
    const ZoneRow *row = &model->set->zone.rows[zone];
    return row->sealed_needed == 1 || strcmp(row->moisture, "wet") == 0;
}

/* Places what has no cavity yet; what belongs to one cable is placed together. */
static void place_new(Allotter *allotter, const uint32_t *order) {
    uint32_t cavities[UINT8_MAX];
    CavityUse *uses[UINT8_MAX];
    for (size_t i = 0; i < allotter->demand_count; i++) {
        const Demand *demand = &allotter->demands[order[i]];
        if (demand->shell == ID_NONE) {
            continue;
        }
        uint32_t count = 0;
        for (uint32_t k = 0; k < demand->use_count && count < UINT8_MAX; k++) {
            CavityUse *use = &allotter->disconnects->uses[demand->use_first + k];
            if (use->cavity == ID_NONE) {
                uses[count++] = use;
            }
        }
        if (count == 0) {
            continue;
        }
        const Cable *cable = &allotter->wiring->cables[demand->cable];
        bool wet = zone_is_wet(allotter->model, allotter->model->segment_zone[demand->segment]);
        uint32_t placed =
            face_place(allotter->cuts.faces[demand->shell], allotter->taken[demand->shell],
                       cavity_kind(allotter, cable), count, wet, cavities);
        CHECK(placed <= count);
        for (uint32_t k = 0; k < placed; k++) {
            uses[k]->cavity = cavities[k];
        }
    }
}

/* --- kept rows that could not be kept --------------------------------------------------------- */

static void report_broken(Allotter *allotter, uint32_t row, const CavityUse *use) {
    const Model *model = allotter->model;
    const AllotCavityRow *kept = &model->set->allot_cavity.rows[row];
    const char *now = use == NULL ? "" : disconnect_cavity_text(&allotter->scratch, model, use);
    Finding *finding =
        use == NULL
            ? report_row(allotter->findings, model, RULE_DISCONNECT_ALLOT, TABLE_allot_cavity, row,
                         "", "%s no longer passes %s, where it had cavity %s", kept->wire,
                         kept->shell, kept->cavity)
            : report_row(allotter->findings, model, RULE_DISCONNECT_ALLOT, TABLE_allot_cavity, row,
                         "", "%s can't keep cavity %s of %s; it now has %s of %s", kept->wire,
                         kept->cavity, kept->shell, now,
                         model->set->disconnect_shell.rows[use->shell].tag);
    finding->hint = "rework the contact, then let the tool write the kept cavities anew";
}

/* The wire (or cable) a key speaks of, and whether it is its shield. */
static ConductorId find_wire(Allotter *allotter, const char *key, bool *shield) {
    size_t length = strlen(key);
    *shield = length > 2 && strcmp(key + length - 2, ".S") == 0;
    const char *wire = *shield ? arena_text(&allotter->scratch, key, length - 2) : key;
    return name_map_find(&allotter->wiring->conductor_by_key, wire);
}

/* Rows of wires that are gone stay quiet: the wire may come back. */
static void report_broken_rows(Allotter *allotter) {
    const Model *model = allotter->model;
    const Disconnects *disconnects = allotter->disconnects;
    for (uint32_t i = 0; i < model->set->allot_cavity.count; i++) {
        bool shield = false;
        ConductorId wire =
            allotter->honoured[i]
                ? NAME_NONE
                : find_wire(allotter, model->set->allot_cavity.rows[i].wire, &shield);
        if (wire == NAME_NONE) {
            continue;
        }
        uint32_t row_shell =
            model_row(model, TABLE_disconnect_shell, model->set->allot_cavity.rows[i].shell);
        CableId cable = allotter->wiring->conductors[wire].cable;
        const CavityUse *found = NULL;
        for (uint32_t k = disconnects->cable_first[cable]; k < disconnects->cable_first[cable + 1];
             k++) {
            const CavityUse *use = &disconnects->uses[k];
            bool mine = use->conductor == (shield ? ID_NONE : wire) && use->shell != ID_NONE;
            if (mine && row_shell != ID_NONE &&
                strcmp(model->set->disconnect_shell.rows[use->shell].segment,
                       model->set->disconnect_shell.rows[row_shell].segment) == 0) {
                found = use;
            }
        }
        report_broken(allotter, i, found);
    }
}

/* --- exported --------------------------------------------------------------------------------- */

bool disconnects_allot(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                       const int32_t *awg, Disconnects *disconnects, Findings *findings) {
    *disconnects = (Disconnects){0};
    Allotter allotter = {
        .model = model,
        .wiring = wiring,
        .routing = routing,
        .awg = awg,
        .disconnects = disconnects,
        .findings = findings,
    };
    size_t shells = model->set->disconnect_shell.count;
    cuts_read(&allotter.scratch, model, &allotter.cuts);
    disconnects->shell_used = ARENA_ARRAY(out, uint32_t, shells);
    allotter.free = ARENA_ARRAY(&allotter.scratch, int32_t, shells);
    allotter.taken = ARENA_ARRAY(&allotter.scratch, CavityKind *, shells);
    allotter.honoured = ARENA_ARRAY(&allotter.scratch, bool, model->set->allot_cavity.count);
    for (size_t i = 0; i < shells; i++) {
        uint32_t ways = allotter.cuts.faces[i]->ways;
        allotter.free[i] = (int32_t)ways;
        allotter.taken[i] = ARENA_ARRAY(&allotter.scratch, CavityKind, ways);
    }
    list_demands(out, &allotter);
    const uint32_t *order = order_demands(&allotter);
    choose_shells(&allotter, order);
    keep_cavities(&allotter, order);
    place_new(&allotter, order);
    report_broken_rows(&allotter);
    disconnect_check(model, wiring, disconnects, &allotter.cuts, allotter.taken, findings);
    arena_free(&allotter.scratch);
    return true;
}

const char *disconnect_use_key(Arena *arena, const Wiring *wiring, const CavityUse *use) {
    if (use->conductor != ID_NONE) {
        return wiring->conductors[use->conductor].key;
    }
    const Cable *cable = &wiring->cables[use->cable];
    return arena_format(arena, "%s.S", wiring->conductors[cable->conductor_first].key);
}

const char *disconnect_use_kind(const Model *model, const Wiring *wiring, const CavityUse *use) {
    if (use->conductor == ID_NONE) {
        return "shield";
    }
    const Net *net = &wiring->nets[wiring->cables[use->cable].net];
    const char *kind = wiring_class(model, net->class_id)->kind;
    return strcmp(kind, "signal") == 0 ? "signal" : "power";
}

const char *disconnect_cavity_text(Arena *arena, const Model *model, const CavityUse *use) {
    if (use->cavity == ID_NONE) {
        return "";
    }
    const char *kind = model->set->disconnect_shell.rows[use->shell].shell;
    ShellId shell = model_row(model, TABLE_shell, kind);
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_cavity, kind, &count);
    bool named = shell != ID_NONE && count == (uint32_t)model->set->shell.rows[shell].ways;
    return named && use->cavity < count ? model->set->cavity.rows[first + use->cavity].cavity
                                        : arena_format(arena, "%u", use->cavity + 1);
}

const char *disconnect_shell_reason(Arena *arena, const Model *model, const Wiring *wiring,
                                    const int32_t *awg, const CavityUse *use) {
    const DisconnectShellRow *row = &model->set->disconnect_shell.rows[use->shell];
    const Cable *cable = &wiring->cables[use->cable];
    const Net *net = &wiring->nets[cable->net];
    int32_t gauge = route_conductor_awg(model, wiring, cable->conductor_first, awg);
    if (strcmp(row->group, "power") == 0) {
        return arena_format(arena,
                            "%s AWG is thicker than the other shells on segment %s are used for",
                            value_awg_text(arena, gauge), row->segment);
    }
    if (strcmp(row->group, "all") == 0) {
        return arena_format(
            arena, "it takes every wire on segment %s of %s AWG or thinner", row->segment,
            row->largest_awg == INT_BLANK ? "any" : value_awg_text(arena, row->largest_awg));
    }
    return arena_format(arena, "circuit %s is of group %d, this shell takes group %s on segment %s",
                        net->name, net->group, row->group, row->segment);
}

uint8_t *disconnects_pieces(Arena *out, const Wiring *wiring, const Disconnects *disconnects) {
    uint8_t *pieces = ARENA_ARRAY(out, uint8_t, wiring->cable_count);
    for (CableId i = 0; i < wiring->cable_count; i++) {
        pieces[i] = (uint8_t)(disconnects->crossings[i] + 1);
    }
    return pieces;
}

/* `out` where a chain comes back from the far module. */
static const char *passing_side(const Model *model, const Wiring *wiring, const Routing *routing,
                                const CavityUse *use) {
    const Net *net = &wiring->nets[wiring->cables[use->cable].net];
    if (net->join != JOIN_CHAIN) {
        return "in";
    }
    const DisconnectShellRow *row = &model->set->disconnect_shell.rows[use->shell];
    uint32_t disconnect = model_row(model, TABLE_disconnect, row->disconnect);
    SegmentId segment = model_row(model, TABLE_segment, row->segment);
    ModuleId far = model_row(model, TABLE_module, model->set->disconnect.rows[disconnect].module);
    for (uint32_t i = routing->cable_first[use->cable]; i < routing->cable_first[use->cable + 1];
         i++) {
        const Hop *hop = &routing->hops[i];
        if (hop->segment == segment) {
            NodeId to = hop->backward ? model->segment_a[segment] : model->segment_b[segment];
            return model->node_module[to] == far ? "in" : "out";
        }
    }
    return "in";
}

static int compare_kept(const void *left, const void *right) {
    const AllotCavityRow *a = left;
    const AllotCavityRow *b = right;
    int order = text_compare_keys(a->wire, b->wire);
    order = order != 0 ? order : text_compare_keys(a->shell, b->shell);
    return order != 0 ? order : text_compare_keys(a->side, b->side);
}

void disconnects_allot_rows(Arena *arena, const Model *model, const Wiring *wiring,
                            const Routing *routing, const Disconnects *disconnects, TableSet *out) {
    for (uint32_t i = 0; i < disconnects->use_count; i++) {
        const CavityUse *use = &disconnects->uses[i];
        if (use->shell == ID_NONE || use->cavity == ID_NONE) {
            continue;
        }
        AllotCavityRow *row = table_append(out, arena, TABLE_allot_cavity);
        row->wire = disconnect_use_key(arena, wiring, use);
        row->shell = model->set->disconnect_shell.rows[use->shell].tag;
        row->side = passing_side(model, wiring, routing, use);
        row->cavity = disconnect_cavity_text(arena, model, use);
    }
    if (out->allot_cavity.count > 1) {
        qsort(out->allot_cavity.rows, out->allot_cavity.count, sizeof *out->allot_cavity.rows,
              compare_kept);
    }
}
