/* Method: the ground metal alone becomes a small network; one volt behind one ohm between the two
 * points gives their resistance. Contacts choose the points, so that one plan serves all pairs. */
#include "power/ground_return.h"

#include <math.h>
#include <string.h>

#include "power/report.h"
#include "power/solve.h"

typedef struct Metal {
    Network network;
    uint32_t *node;  /* by node of the whole network: node here, NETWORK_NONE */
    OwnerId *points; /* ground points with boxes; contact i leads to point i */
    uint32_t point_count;
    uint32_t *sources; /* rows of `source`; contact point_count + i leads to source i */
    uint32_t source_count;
} Metal;

/* --- which points -------------------------------------------------------------------------------
 */

/* Whole-network node of a ground point, NETWORK_NONE. */
static uint32_t point_of(const Model *model, const PowerNetwork *built, OwnerId owner) {
    const ModelOwner *row = &model->owners[owner];
    return row->terminal_count == 0
               ? NETWORK_NONE
               : built->point_node[model->terminals[row->terminal_first].pin_first];
}

/* Whole-network node where a source is grounded, NETWORK_NONE. */
static uint32_t source_ground(const Model *model, const Wiring *wiring, const PowerNetwork *built,
                              uint32_t source) {
    const SourceRow *row = &model->set->source.rows[source];
    OwnerId owner = model_owner(model, row->unit);
    if (owner == ID_NONE) {
        return NETWORK_NONE;
    }
    if (*row->minus == '\0') {
        return built->point_node[gates_case_point(model, owner)];
    }
    uint32_t pin = gates_owner_point(model, owner, row->minus);
    NetId net = pin >= model->pin_count ? ID_NONE : wiring->pin_net[pin];
    for (uint32_t i = 0; net != ID_NONE && i < wiring->nets[net].end_count; i++) {
        TerminalId end = wiring->ends[wiring->nets[net].end_first + i];
        OwnerId at = model->terminals[end].owner;
        if (model->owners[at].kind == OWNER_GROUND) {
            return point_of(model, built, at);
        }
    }
    return NETWORK_NONE;
}

/* Marks the ground points at which a box or switch returns. */
static void mark_used(const Model *model, const Wiring *wiring, bool *used) {
    for (NetId net = 0; net < wiring->net_count; net++) {
        const Net *row = &wiring->nets[net];
        OwnerId ground = ID_NONE;
        bool box = false;
        for (uint32_t i = 0; i < row->end_count; i++) {
            OwnerId owner = model->terminals[wiring->ends[row->end_first + i]].owner;
            OwnerKind kind = model->owners[owner].kind;
            ground = kind == OWNER_GROUND && ground == ID_NONE ? owner : ground;
            box = box || kind == OWNER_SWITCHGEAR ||
                  (kind == OWNER_UNIT &&
                   model_row(model, TABLE_source, model->owners[owner].tag) == ID_NONE);
        }
        if (box && ground != ID_NONE) {
            used[ground] = true;
        }
    }
}

/* --- the metal ----------------------------------------------------------------------------------
 */

static uint32_t metal_node(Metal *metal, uint32_t whole) {
    if (metal->node[whole] == NETWORK_NONE) {
        metal->node[whole] = metal->network.node_count++;
    }
    return metal->node[whole];
}

/* Nodes of ground points and of everything bonded. */
static void mark_metal(const Model *model, const PowerNetwork *built, Metal *metal) {
    metal->network.node_count = 1;
    metal->node[0] = 0;
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        uint32_t node = model->owners[owner].kind == OWNER_GROUND ? point_of(model, built, owner)
                                                                  : NETWORK_NONE;
        if (node != NETWORK_NONE) {
            metal_node(metal, node);
        }
    }
    for (uint32_t i = 0; i < built->network.resistor_count; i++) {
        if (built->resistor_source[i].kind == BUILD_BOND) {
            metal_node(metal, built->network.resistors[i].a);
            metal_node(metal, built->network.resistors[i].b);
        }
    }
}

static void add_metal(Arena *arena, const PowerNetwork *built, Metal *metal) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < built->network.resistor_count; i++) {
        const NetworkResistor *row = &built->network.resistors[i];
        count += metal->node[row->a] != NETWORK_NONE && metal->node[row->b] != NETWORK_NONE;
    }
    metal->network.resistors = ARENA_ARRAY(arena, NetworkResistor, count);
    for (uint32_t i = 0; i < built->network.resistor_count; i++) {
        const NetworkResistor *row = &built->network.resistors[i];
        if (metal->node[row->a] != NETWORK_NONE && metal->node[row->b] != NETWORK_NONE) {
            metal->network.resistors[metal->network.resistor_count++] =
                (NetworkResistor){metal->node[row->a], metal->node[row->b], row->ohm};
        }
    }
}

/* The probe: a battery between two nodes of its own, and contacts from them to every point. */
static void add_probe(Arena *arena, const Model *model, const Wiring *wiring,
                      const PowerNetwork *built, Metal *metal) {
    Network *network = &metal->network;
    uint32_t plus = network->node_count++;
    uint32_t minus = network->node_count++;
    network->batteries = ARENA_ARRAY(arena, NetworkBattery, 1);
    network->batteries[0] = (NetworkBattery){plus, minus, 1.0, 1.0};
    network->battery_count = 1;
    bool *used = ARENA_ARRAY(arena, bool, model->owner_count);
    mark_used(model, wiring, used);
    size_t most = (size_t)model->owner_count + model->set->source.count;
    network->contacts = ARENA_ARRAY(arena, NetworkContact, most);
    metal->points = ARENA_ARRAY(arena, OwnerId, model->owner_count);
    metal->sources = ARENA_ARRAY(arena, uint32_t, model->set->source.count);
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        uint32_t node = used[owner] ? point_of(model, built, owner) : NETWORK_NONE;
        if (node != NETWORK_NONE) {
            metal->points[metal->point_count++] = owner;
            network->contacts[network->contact_count++] = (NetworkContact){
                .a = plus, .b = metal->node[node], .ohm = 1.0, .coil = NETWORK_NONE};
        }
    }
    for (uint32_t source = 0; source < model->set->source.count; source++) {
        uint32_t node = source_ground(model, wiring, built, source);
        if (node != NETWORK_NONE && metal->node[node] != NETWORK_NONE) {
            metal->sources[metal->source_count++] = source;
            network->contacts[network->contact_count++] = (NetworkContact){
                .a = minus, .b = metal->node[node], .ohm = 1.0, .coil = NETWORK_NONE};
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

uint32_t ground_return_list(Arena *out, const Model *model, const Wiring *wiring,
                            const PowerNetwork *built, GroundReturn **rows) {
    Metal metal = {.node = ARENA_ARRAY(out, uint32_t, built->network.node_count)};
    memset(metal.node, 0xff, built->network.node_count * sizeof *metal.node);
    mark_metal(model, built, &metal);
    add_metal(out, built, &metal);
    add_probe(out, model, wiring, built, &metal);
    *rows = ARENA_ARRAY(out, GroundReturn, metal.point_count);
    SolvePlan *plan = solve_analyse(out, &metal.network);
    NetworkState state = network_state_rest(out, &metal.network);
    SolveOptions options = {.skip_expand = true};
    uint32_t count = 0;
    for (uint32_t i = 0; i < metal.point_count; i++) {
        GroundReturn worst = {metal.points[i], ID_NONE, 0.0};
        state.contact_closed[i] = true;
        for (uint32_t k = 0; k < metal.source_count; k++) {
            state.contact_closed[metal.point_count + k] = true;
            SolveResult result;
            bool found = solve_run(plan, &state, &options, NULL, &result);
            state.contact_closed[metal.point_count + k] = false;
            /* One ohm in the battery and one in each contact. */
            double amps_a = found ? result.battery_a[0] : 0.0;
            double ohm = amps_a > 0.0 ? 1.0 / amps_a - 3.0 : (double)INFINITY;
            if (!isinf(ohm) && (worst.source == ID_NONE || ohm > worst.ohm)) {
                worst.source = metal.sources[k];
                worst.ohm = fmax(ohm, 0.0);
            }
        }
        state.contact_closed[i] = false;
        if (worst.source != ID_NONE) {
            (*rows)[count++] = worst;
        }
    }
    return count;
}

void ground_return_check(const Model *model, const Wiring *wiring, const PowerNetwork *built,
                         Findings *findings) {
    Arena scratch = {0};
    GroundReturn *rows = NULL;
    uint32_t count = ground_return_list(&scratch, model, wiring, built, &rows);
    double limit_mohm = model_limit(model, "return_path");
    for (uint32_t i = 0; i < count; i++) {
        double mohm = 1000.0 * rows[i].ohm;
        if (mohm <= limit_mohm) {
            continue;
        }
        const char *source = model->set->source.rows[rows[i].source].unit;
        Finding *finding =
            report_owner(findings, model, RULE_SOLVE_GROUND_RETURN, rows[i].point,
                         "%s is %.1f mohm from the ground of %s; %.0f mohm are allowed",
                         model->owners[rows[i].point].tag, mohm, source, limit_mohm);
        finding->value = mohm;
        finding->limit = limit_mohm;
        finding->unit = "mohm";
        finding->source = model_limit_row(model, "return_path")->source;
        finding->rows = source;
        finding->hint = "better bonds, or a cable between the two ground points";
    }
    arena_free(&scratch);
}
