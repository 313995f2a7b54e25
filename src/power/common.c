/* First every port that the needs rest on is asked for its ways to a source; only a place on one of
 * them can take it, so those are the places it is asked about again, place by place with everything
 * there taken out. What the ports and broken data lines of a place mean is asked of the service. */
#include "power/common.h"

#include <string.h>

#include "base/check.h"
#include "model/report.h"

typedef struct Run {
    Arena *out;
    Arena scratch;
    const Model *model;
    const Wiring *wiring;
    const Supply *supply;
    const PowerNetwork *built;
    const Service *service;
    ServiceRun *asks;
    Common *common;
    ReachRun *reach;
    bool *needed_net;   /* by NetId: data that a need rests on passes here */
    bool *needed_owner; /* by OwnerId */
    PlaceIndex loads;   /* by place: supply loads to be asked about */
    PlaceIndex passed;  /* by relevant load number: elements of its ways */
    uint32_t *relevant; /* supply loads that the needs rest on and that have a source */
    uint32_t relevant_count;
    uint32_t *number_of;  /* by supply load: its place in `relevant`, ID_NONE */
    ServiceRoots **roots; /* by way; NULL: not asked yet */
    ServiceRoots **below;
    uint32_t *marks; /* by ConductorId: bits of ways, where mark_stamp is the stamp */
    uint32_t *mark_stamp;
    uint32_t stamp;
    uint32_t *told; /* by place: need + 1 of which a clause was told to be lost with it */
    size_t share_capacity;
} Run;

/* --- the phase ----------------------------------------------------------------------------------
 */

static uint32_t choose_phase(const Model *model, const Phases *phases) {
    uint32_t chosen = ID_NONE;
    int best = 3;
    for (uint32_t i = 0; i < model->set->phase.count; i++) {
        uint32_t phase = phases->order[i];
        const char *engine = model->set->phase.rows[phase].engine;
        int rank = strcmp(engine, "cruise") == 0                                   ? 0
                   : strcmp(engine, "off") == 0 || strcmp(engine, "cranking") == 0 ? 2
                                                                                   : 1;
        if (phases->solved[phase] && rank < best) {
            chosen = phase;
            best = rank;
        }
    }
    return chosen;
}

/* --- ports and the places on their ways ---------------------------------------------------------
 */

static bool load_has_source(ReachRun *reach, const PowerNetwork *built, uint32_t load) {
    uint32_t first = built->load_first[load];
    uint32_t end = built->load_first[load + 1];
    for (uint32_t i = first; i < end; i++) {
        if (reach_load(reach, i)) {
            return true;
        }
    }
    return false;
}

typedef struct Growing {
    uint32_t *items;
    size_t count;
    size_t capacity;
} Growing;

static void push(Arena *arena, Growing *list, uint32_t item) {
    *ARENA_PUSH(arena, list->items, list->count, list->capacity) = item;
}

/* Asks each port the needs rest on with everything in place, and notes the places its ways pass. */
static void find_ways(Run *run) {
    Arena *scratch = &run->scratch;
    const Places *places = &run->common->places;
    ServiceRoots below =
        service_ways_below(run->service, scratch, 0, service_way_count(run->service));
    for (uint32_t i = 0; i < below.net_count; i++) {
        run->needed_net[below.nets[i]] = true;
    }
    for (uint32_t i = 0; i < below.owner_count; i++) {
        run->needed_owner[below.owners[i]] = true;
    }
    uint32_t *seen = ARENA_ARRAY(scratch, uint32_t, places->count);
    Growing pair_place = {0};
    Growing pair_load = {0};
    Growing passed = {0};
    run->relevant = ARENA_ARRAY(scratch, uint32_t, below.load_count);
    run->passed.first = ARENA_ARRAY(scratch, uint32_t, (size_t)below.load_count + 1);
    for (uint32_t i = 0; i < below.load_count; i++) {
        uint32_t load = below.loads[i];
        reach_begin(run->reach);
        if (!load_has_source(run->reach, run->built, load)) {
            continue;
        }
        run->number_of[load] = run->relevant_count;
        run->relevant[run->relevant_count++] = load;
        const uint32_t *items = NULL;
        uint32_t count = reach_passed_elements(run->reach, &items);
        for (uint32_t k = 0; k < count; k++) {
            push(scratch, &passed, items[k]);
            for (uint32_t p = places->element_places.first[items[k]];
                 p < places->element_places.first[items[k] + 1]; p++) {
                uint32_t place = places->element_places.items[p];
                if (seen[place] != i + 1) {
                    seen[place] = i + 1;
                    push(scratch, &pair_place, place);
                    push(scratch, &pair_load, load);
                }
            }
        }
        count = reach_passed_nodes(run->reach, &items);
        for (uint32_t k = 0; k < count; k++) {
            for (uint32_t p = places->node_places.first[items[k]];
                 p < places->node_places.first[items[k] + 1]; p++) {
                uint32_t place = places->node_places.items[p];
                if (seen[place] != i + 1) {
                    seen[place] = i + 1;
                    push(scratch, &pair_place, place);
                    push(scratch, &pair_load, load);
                }
            }
        }
        run->passed.first[run->relevant_count] = (uint32_t)passed.count;
    }
    run->passed.items = passed.items;
    /* By place; loads stay rising. */
    run->loads.first = ARENA_ARRAY(scratch, uint32_t, (size_t)places->count + 2);
    run->loads.items = ARENA_ARRAY(scratch, uint32_t, pair_place.count);
    for (size_t i = 0; i < pair_place.count; i++) {
        run->loads.first[pair_place.items[i] + 2]++;
    }
    for (uint32_t i = 1; i <= places->count; i++) {
        run->loads.first[i + 1] += run->loads.first[i];
    }
    for (size_t i = 0; i < pair_place.count; i++) {
        run->loads.items[run->loads.first[pair_place.items[i] + 1]++] = pair_load.items[i];
    }
}

/* --- one place ----------------------------------------------------------------------------------
 */

/* What goes with the place: ports without source, boxes, and conductors that carry data of needs.
 */
static bool lose_place(Run *run, uint32_t place, ServiceLoss *loss) {
    Arena *scratch = &run->scratch;
    const Places *places = &run->common->places;
    uint32_t asked = run->loads.first[place + 1] - run->loads.first[place];
    uint32_t owners = places->owners.first[place + 1] - places->owners.first[place];
    uint32_t conductors = places->conductors.first[place + 1] - places->conductors.first[place];
    uint32_t *lost_loads = ARENA_ARRAY(scratch, uint32_t, asked);
    uint32_t *lost_owners = ARENA_ARRAY(scratch, uint32_t, owners);
    uint32_t *lost_conductors = ARENA_ARRAY(scratch, uint32_t, conductors);
    *loss =
        (ServiceLoss){.loads = lost_loads, .owners = lost_owners, .conductors = lost_conductors};
    if (asked > 0) {
        reach_begin(run->reach);
        for (uint32_t i = places->elements.first[place]; i < places->elements.first[place + 1];
             i++) {
            reach_block_element(run->reach, places->elements.items[i]);
        }
        for (uint32_t i = places->nodes.first[place]; i < places->nodes.first[place + 1]; i++) {
            reach_block_node(run->reach, places->nodes.items[i]);
        }
    }
    for (uint32_t i = 0; i < asked; i++) {
        uint32_t load = run->loads.items[run->loads.first[place] + i];
        run->common->tests++;
        if (!load_has_source(run->reach, run->built, load)) {
            lost_loads[loss->load_count++] = load;
        }
    }
    for (uint32_t i = 0; i < owners; i++) {
        OwnerId owner = places->owners.items[places->owners.first[place] + i];
        if (run->needed_owner[owner]) {
            lost_owners[loss->owner_count++] = owner;
        }
    }
    for (uint32_t i = 0; i < conductors; i++) {
        ConductorId conductor = places->conductors.items[places->conductors.first[place] + i];
        if (run->needed_net[run->wiring->cables[run->wiring->conductors[conductor].cable].net]) {
            lost_conductors[loss->conductor_count++] = conductor;
        }
    }
    return loss->load_count + loss->owner_count + loss->conductor_count > 0;
}

static void mark(Run *run, uint32_t index, uint32_t bit) {
    if (run->mark_stamp[index] != run->stamp) {
        run->mark_stamp[index] = run->stamp;
        run->marks[index] = 0;
    }
    run->marks[index] |= bit;
}

/* Marks the conductors by which these ports found their source, and those of these data lines. */
static void mark_roots(Run *run, const ServiceRoots *roots, uint32_t bit) {
    for (uint32_t i = 0; i < roots->load_count; i++) {
        uint32_t number = run->number_of[roots->loads[i]];
        if (number == ID_NONE) {
            continue;
        }
        for (uint32_t k = run->passed.first[number]; k < run->passed.first[number + 1]; k++) {
            uint32_t element = run->passed.items[k];
            if (element < run->built->network.resistor_count &&
                run->built->resistor_source[element].kind == BUILD_CONDUCTOR) {
                mark(run, run->built->resistor_source[element].index, bit);
            }
        }
    }
    for (uint32_t i = 0; i < roots->net_count; i++) {
        const Net *net = &run->wiring->nets[roots->nets[i]];
        for (CableId cable = net->cable_first; cable < net->cable_first + net->cable_count;
             cable++) {
            const Cable *row = &run->wiring->cables[cable];
            for (uint32_t k = 0; k < row->conductor_count; k++) {
                mark(run, row->conductor_first + k, bit);
            }
        }
    }
}

static bool is_marked(const Run *run, ConductorId conductor, uint32_t bit) {
    return run->mark_stamp[conductor] == run->stamp && (run->marks[conductor] & bit) != 0;
}

/* What a way can't do without, or everything below it; found once for each way asked about. */
static const ServiceRoots *roots_of(Run *run, uint32_t way, bool all) {
    ServiceRoots **kept = all ? &run->below[way] : &run->roots[way];
    if (*kept == NULL) {
        *kept = ARENA_NEW(&run->scratch, ServiceRoots);
        **kept = all ? service_ways_below(run->service, &run->scratch, way, way + 1)
                     : service_way_roots(run->service, &run->scratch, way);
    }
    return *kept;
}

/* Conductors in the place that a lost way can't do without; of a way that has none, because any of
 * several would do, those of all of them. */
static void name_conductors(Run *run, CommonShare *share) {
    const Places *places = &run->common->places;
    uint32_t first = places->conductors.first[share->place];
    uint32_t end = places->conductors.first[share->place + 1];
    run->stamp++;
    for (uint32_t i = 0; i < share->way_count; i++) {
        uint32_t bit = UINT32_C(1) << (i < 31 ? i : 31);
        mark_roots(run, roots_of(run, share->ways[i], false), bit);
        bool any = false;
        for (uint32_t k = first; k < end && !any; k++) {
            any = is_marked(run, places->conductors.items[k], bit);
        }
        if (!any) {
            mark_roots(run, roots_of(run, share->ways[i], true), bit);
        }
    }
    ConductorId *named = ARENA_ARRAY(run->out, ConductorId, end - first);
    uint32_t *ways = ARENA_ARRAY(run->out, uint32_t, end - first);
    for (uint32_t i = first; i < end; i++) {
        ConductorId conductor = places->conductors.items[i];
        if (is_marked(run, conductor, UINT32_MAX)) {
            ways[share->conductor_count] = run->marks[conductor];
            named[share->conductor_count++] = conductor;
        }
    }
    share->conductors = named;
    share->conductor_ways = ways;
}

/* Ways of the clause of `way` that are there with nothing lost. */
static uint32_t count_clause(const Service *service, uint32_t way) {
    const ServiceNeed *need = service_need(service, service_way(service, way)->need);
    const char *clause = service_way(service, way)->clause;
    uint32_t count = 0;
    for (uint32_t i = need->way_first; i < need->way_first + need->way_count; i++) {
        count += strcmp(service_way(service, i)->clause, clause) == 0 ? 1 : 0;
    }
    return count;
}

static void add_share(Run *run, uint32_t place, const uint32_t *ways, uint32_t count,
                      const ServiceAnswer *answer) {
    const Service *service = run->service;
    const ServiceWay *way = service_way(service, ways[0]);
    const ServiceNeed *need = service_need(service, way->need);
    uint32_t *kept = ARENA_ARRAY(run->out, uint32_t, count);
    memcpy(kept, ways, count * sizeof *kept);
    CommonShare share = {
        .need = way->need,
        .clause = way->clause,
        .place = place,
        .ways = kept,
        .way_count = count,
        .clause_ways = count_clause(service, ways[0]),
        .in_scope =
            place_in_scope(need->scope, place_kind_name(run->common->places.places[place].kind)),
    };
    share.excepted = service_excepted(service, way->need, run->common->places.places[place].name,
                                      SERVICE_ANY_MODE, NULL);
    for (uint32_t i = 0; i < answer->need_count; i++) {
        share.alone = share.alone || answer->needs[i] == way->need;
    }
    size_t rows = run->common->share_count;
    *ARENA_PUSH(run->out, run->common->shares, rows, run->share_capacity) = share;
    run->common->share_count = (uint32_t)rows;
}

static void look_at(Run *run, uint32_t place) {
    ServiceLoss loss;
    if (!lose_place(run, place, &loss)) {
        return;
    }
    ServiceAnswer answer = service_ask(run->asks, &loss);
    for (uint32_t i = 0; i < answer.way_count;) {
        const ServiceWay *way = service_way(run->service, answer.ways[i]);
        uint32_t end = i + 1;
        while (end < answer.way_count) {
            const ServiceWay *next = service_way(run->service, answer.ways[end]);
            if (next->need != way->need || strcmp(next->clause, way->clause) != 0) {
                break;
            }
            end++;
        }
        if (end - i > 1) {
            add_share(run, place, &answer.ways[i], end - i, &answer);
        }
        i = end;
    }
}

/* By need, then its ways, then place: shares were found by place, so a stable pass is enough. */
static void sort_shares(Run *run) {
    Common *common = run->common;
    uint32_t ways = service_way_count(run->service);
    uint32_t *start = ARENA_ARRAY(&run->scratch, uint32_t, (size_t)ways + 1);
    CommonShare *sorted = ARENA_ARRAY(run->out, CommonShare, common->share_count);
    uint32_t *clause_of = ARENA_ARRAY(&run->scratch, uint32_t, ways);
    for (uint32_t i = 0; i < ways; i++) {
        const ServiceWay *way = service_way(run->service, i);
        bool same = i > 0 && service_way(run->service, i - 1)->need == way->need &&
                    strcmp(service_way(run->service, i - 1)->clause, way->clause) == 0;
        clause_of[i] = same ? clause_of[i - 1] : i;
    }
    for (uint32_t i = 0; i < common->share_count; i++) {
        start[clause_of[common->shares[i].ways[0]] + 1]++;
    }
    for (uint32_t i = 1; i <= ways; i++) {
        start[i] += start[i - 1];
    }
    for (uint32_t i = 0; i < common->share_count; i++) {
        sorted[start[clause_of[common->shares[i].ways[0]]]++] = common->shares[i];
    }
    common->shares = sorted;
    for (uint32_t i = 0; i < common->share_count; i++) {
        name_conductors(run, &sorted[i]);
    }
}

/* --- engine circuits ----------------------------------------------------------------------------
 */

static void find_lanes(Run *run) {
    const Places *places = &run->common->places;
    const Wiring *wiring = run->wiring;
    run->common->lanes = ARENA_ARRAY(run->out, CommonLanes, places->count);
    for (uint32_t place = 0; place < places->count; place++) {
        PlaceKind kind = places->places[place].kind;
        if (kind != PLACE_SEGMENT && kind != PLACE_SHELL) {
            continue;
        }
        uint32_t first = places->conductors.first[place];
        uint32_t end = places->conductors.first[place + 1];
        uint32_t count[2] = {0, 0};
        for (uint32_t i = first; i < end; i++) {
            CableId cable = wiring->conductors[places->conductors.items[i]].cable;
            Lane lane = wiring->nets[wiring->cables[cable].net].lane;
            count[0] += lane == LANE_A ? 1 : 0;
            count[1] += lane == LANE_B ? 1 : 0;
        }
        if (count[0] == 0 || count[1] == 0) {
            continue;
        }
        ConductorId *kept = ARENA_ARRAY(run->out, ConductorId, (size_t)count[0] + count[1]);
        uint32_t used = 0;
        for (uint32_t i = first; i < end; i++) {
            CableId cable = wiring->conductors[places->conductors.items[i]].cable;
            Lane lane = wiring->nets[wiring->cables[cable].net].lane;
            if (lane == LANE_A || lane == LANE_B) {
                kept[used++] = places->conductors.items[i];
            }
        }
        run->common->lanes[run->common->lane_count++] =
            (CommonLanes){.place = place, .conductors = kept, .conductor_count = used};
    }
}

/* --- findings -----------------------------------------------------------------------------------
 */

/* Which shares a list is of. */
typedef struct Sort {
    bool in_scope;
    bool alone;
    bool either; /* alone or not */
    bool excepted;
} Sort;

/* Whether an earlier clause of the need is lost with the same place, and says so. */
static bool is_told(const Run *run, uint32_t share) {
    const CommonShare *shares = run->common->shares;
    return run->told[shares[share].place] == shares[share].need + 1;
}

/* "5 route segments (E01-E03, E03-S01 ...); 1 bus (MAIN)". Returns how many places. */
static uint32_t list_kinds(const Run *run, Buffer *text, uint32_t first, uint32_t end, Sort sort) {
    enum { NAMED_MAX = 8 };
    const Common *common = run->common;
    uint32_t all = 0;
    for (int kind = 0; kind < PLACE_KIND_COUNT; kind++) {
        uint32_t count = 0;
        Buffer names = {.arena = text->arena};
        for (uint32_t i = first; i < end; i++) {
            const CommonShare *share = &common->shares[i];
            const Place *place = &common->places.places[share->place];
            if (place->kind != (PlaceKind)kind ||
                (share->in_scope && share->excepted) != sort.excepted ||
                (share->in_scope != sort.in_scope && !sort.excepted) ||
                (share->alone != sort.alone && !sort.either) || is_told(run, i)) {
                continue;
            }
            if (count++ < NAMED_MAX) {
                buffer_format(&names, "%s%s", names.length == 0 ? "" : ", ", place->name);
            }
        }
        if (count > 0) {
            buffer_format(text, "%s%u %s (%s%s)", text->length == 0 ? "" : "; ", count,
                          count == 1 ? place_kind_name((PlaceKind)kind)
                                     : place_kind_plural((PlaceKind)kind),
                          names.bytes, count > NAMED_MAX ? " ..." : "");
        }
        all += count;
    }
    return all;
}

static void report_clause(const Run *run, uint32_t first, uint32_t end, Findings *findings) {
    const CommonShare *share = &run->common->shares[first];
    const ServiceNeed *need = service_need(run->service, share->need);
    Arena *arena = findings->arena;
    Buffer alone = {.arena = arena};
    Buffer weak = {.arena = arena};
    Buffer outside = {.arena = arena};
    Buffer declared = {.arena = arena};
    uint32_t inside = list_kinds(run, &alone, first, end, (Sort){.in_scope = true, .alone = true}) +
                      list_kinds(run, &weak, first, end, (Sort){.in_scope = true});
    uint32_t others = list_kinds(run, &outside, first, end, (Sort){.either = true});
    others += list_kinds(run, &declared, first, end, (Sort){.either = true, .excepted = true});
    if (inside + others == 0) {
        return;
    }
    Buffer text = {.arena = arena};
    if (alone.length > 0) {
        buffer_format(&text, ". Each of these alone loses the need (need.lost): %s", alone.bytes);
    }
    if (weak.length > 0) {
        buffer_format(&text, ". With these a way is left: %s", weak.bytes);
    }
    if (declared.length > 0) {
        buffer_format(&text, ". Declared exceptions: %s", declared.bytes);
    }
    if (outside.length > 0) {
        buffer_format(&text, ". Outside the need's scope: %s", outside.bytes);
    }
    Finding *finding = finding_report(
        findings, RULE_NEED_COMMON, "need", arena_format(arena, "%s %s", need->name, share->clause),
        "", "ways of %s, %s, that are to stand in for each other share places%s", need->name,
        share->clause, text.bytes);
    finding->value = inside > 0 ? inside : others;
    finding->severity = inside > 0 ? finding->severity : SEVERITY_NOTE;
    finding->hint = "`show common` names the conductors and what would part them";
}

static void report_lanes(const Run *run, Findings *findings) {
    const Common *common = run->common;
    if (common->lane_count == 0) {
        return;
    }
    Buffer names = {.arena = findings->arena};
    uint32_t segments = 0;
    for (uint32_t i = 0; i < common->lane_count; i++) {
        const Place *place = &common->places.places[common->lanes[i].place];
        segments += place->kind == PLACE_SEGMENT ? 1 : 0;
        buffer_format(&names, "%s%s", names.length == 0 ? "" : " ", place->name);
    }
    Finding *finding = finding_report(
        findings, RULE_NEED_LANES, "net", "A B", "lane",
        "conductors of engine circuits A and B run together in %u segment%s and %u disconnect "
        "shell%s: %s",
        segments, segments == 1 ? "" : "s", common->lane_count - segments,
        common->lane_count - segments == 1 ? "" : "s", names.bytes);
    finding->value = common->lane_count;
    finding->rows = names.bytes;
    finding->hint = "another place for one of the boxes, or another way for its conductors";
}

static void report(const Run *run, Findings *findings) {
    const Common *common = run->common;
    for (uint32_t i = 0; i < common->share_count;) {
        uint32_t end = i + 1;
        while (end < common->share_count && common->shares[end].need == common->shares[i].need &&
               strcmp(common->shares[end].clause, common->shares[i].clause) == 0) {
            end++;
        }
        report_clause(run, i, end, findings);
        for (uint32_t k = i; k < end; k++) {
            if (common->shares[k].way_count == common->shares[k].clause_ways) {
                run->told[common->shares[k].place] = common->shares[k].need + 1;
            }
        }
        i = end;
    }
    report_lanes(run, findings);
}

/* --- exported -----------------------------------------------------------------------------------
 */

void common_run(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                const Disconnects *disconnects, const Supply *supply, PowerNetwork *built,
                const Phases *phases, const Service *service, Common *common, Findings *findings) {
    *common = (Common){0};
    common->phase = choose_phase(model, phases);
    if (common->phase == ID_NONE) {
        return;
    }
    common->done = true;
    Run run = {
        .out = out,
        .model = model,
        .wiring = wiring,
        .supply = supply,
        .built = built,
        .service = service,
        .common = common,
    };
    Arena *scratch = &run.scratch;
    NetworkState state =
        network_state_copy(scratch, &built->network, &phases->results[common->phase].state);
    phases_set(built, model, supply, common->phase, supply->positions[common->phase], &state);
    Reach *reach = reach_build(scratch, &built->network, built->alternators, &state);
    places_build(out, model, wiring, routing, disconnects, supply, built, reach, &common->places);
    run.reach = reach_run_new(scratch, reach);
    run.asks = service_run_new(scratch, service);
    run.needed_net = ARENA_ARRAY(scratch, bool, wiring->net_count);
    run.needed_owner = ARENA_ARRAY(scratch, bool, model->owner_count);
    run.number_of = ARENA_ARRAY(scratch, uint32_t, supply->load_count);
    memset(run.number_of, 0xff, sizeof(uint32_t) * supply->load_count);
    run.roots = ARENA_ARRAY(scratch, ServiceRoots *, service_way_count(service));
    run.below = ARENA_ARRAY(scratch, ServiceRoots *, service_way_count(service));
    run.marks = ARENA_ARRAY(scratch, uint32_t, wiring->conductor_count);
    run.mark_stamp = ARENA_ARRAY(scratch, uint32_t, wiring->conductor_count);
    find_ways(&run);
    for (uint32_t place = 0; place < common->places.count; place++) {
        look_at(&run, place);
    }
    sort_shares(&run);
    find_lanes(&run);
    run.told = ARENA_ARRAY(scratch, uint32_t, common->places.count);
    report(&run, findings);
    arena_free(scratch);
}
