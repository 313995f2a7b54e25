/* The quick answer to a random loss against a slow one that reads the same tables its own way: all
 * functions unknown, then again and again through every row until nothing more can be shown to
 * work. On the example aircraft, as it is and with boxes that back each other up in circles. */
#include <stdlib.h>

#include "power/service.h"
#include "support/powered.h"

enum { ROUNDS = 400, LIST_MAX = 64 };

typedef struct Slow {
    const Powered *powered;
    const Service *service;
    const ServiceLoss *loss;
    bool *works; /* by function number */
} Slow;

static bool listed(const uint32_t *list, uint32_t count, uint32_t item) {
    for (uint32_t i = 0; i < count; i++) {
        if (list[i] == item) {
            return true;
        }
    }
    return false;
}

static bool cable_whole(const Slow *slow, CableId cable) {
    const Wiring *wiring = &slow->powered->wiring;
    for (uint32_t i = 0; i < slow->loss->conductor_count; i++) {
        if (wiring->conductors[slow->loss->conductors[i]].cable == cable) {
            return false;
        }
    }
    return true;
}

/* Whether whole cables lead from one end of a net to another: spreads until nothing is added. */
static bool joined(const Slow *slow, const Net *net, uint32_t from, uint32_t to) {
    bool reached[256] = {false};
    assert_true(net->end_count < 256);
    reached[from] = true;
    for (bool more = true; more;) {
        more = false;
        for (uint32_t k = 0; k < net->cable_count; k++) {
            uint32_t a = net->join == JOIN_HUB ? 0 : k;
            uint32_t b = k + 1;
            if (reached[a] != reached[b] && cable_whole(slow, net->cable_first + k)) {
                reached[a] = reached[b] = more = true;
            }
        }
    }
    return reached[to];
}

static uint32_t function_of(const Slow *slow, OwnerId owner, const char *name) {
    for (uint32_t i = 0; i < service_function_count(slow->service); i++) {
        const ServiceFunction *function = service_function(slow->service, i);
        if (function->owner == owner && strcmp(function->name, name) == 0) {
            return i;
        }
    }
    return ID_NONE;
}

static bool owner_dead(const Slow *slow, OwnerId owner) {
    return listed(slow->loss->owners, slow->loss->owner_count, owner);
}

static bool gives(const Slow *slow, const char *partner, TerminalId terminal) {
    const Model *model = &slow->powered->job.model;
    const ModelTerminal *there = &model->terminals[terminal];
    if (listed(slow->loss->ports, slow->loss->port_count, terminal)) {
        return false;
    }
    if (model->owners[there->owner].kind != OWNER_UNIT) {
        return *partner == '\0' && !owner_dead(slow, there->owner);
    }
    uint32_t function = function_of(slow, there->owner, *partner == '\0' ? there->name : partner);
    if (function == ID_NONE && *partner == '\0') {
        function = function_of(slow, there->owner, "works");
    }
    return function != ID_NONE && slow->works[function];
}

static bool answers(const Model *model, const ModelTerminal *asks, const ModelTerminal *there) {
    if (asks->direction == DIRECTION_RET) {
        return model->owners[there->owner].kind == OWNER_GROUND;
    }
    return there->direction != DIRECTION_RET &&
           !(asks->direction == DIRECTION_IN && there->direction == DIRECTION_IN) &&
           !(asks->direction == DIRECTION_OUT && there->direction == DIRECTION_OUT);
}

static bool serves(const Slow *slow, TerminalId terminal, const char *partner) {
    const Model *model = &slow->powered->job.model;
    const Wiring *wiring = &slow->powered->wiring;
    const ModelTerminal *asks = &model->terminals[terminal];
    if (listed(slow->loss->ports, slow->loss->port_count, terminal)) {
        return false;
    }
    for (NetId id = 0; id < wiring->net_count; id++) {
        const Net *net = &wiring->nets[id];
        for (uint32_t i = 0; i < net->end_count; i++) {
            if (wiring->ends[net->end_first + i] != terminal ||
                listed(slow->loss->nets, slow->loss->net_count, id)) {
                continue;
            }
            for (uint32_t k = 0; k < net->end_count; k++) {
                TerminalId end = wiring->ends[net->end_first + k];
                const ModelTerminal *there = &model->terminals[end];
                if (there->owner != asks->owner && answers(model, asks, there) &&
                    gives(slow, partner, end) && joined(slow, net, i, k)) {
                    return true;
                }
            }
        }
    }
    return false;
}

static TerminalId port_of(const Model *model, OwnerId owner, const char *name) {
    for (uint32_t i = 0; i < model->owners[owner].terminal_count; i++) {
        TerminalId terminal = model->owners[owner].terminal_first + i;
        if (strcmp(model->terminals[terminal].name, name) == 0) {
            return terminal;
        }
    }
    return ID_NONE;
}

static bool load_lost(const Slow *slow, uint32_t load) {
    return listed(slow->loss->loads, slow->loss->load_count, load);
}

static bool row_holds(const Slow *slow, OwnerId owner, const DependsRow *row) {
    if (strcmp(row->port, "nothing") == 0) {
        return true;
    }
    TerminalId terminal = port_of(&slow->powered->job.model, owner, row->port);
    if (terminal == ID_NONE) {
        return slow->works[function_of(slow, owner, row->port)];
    }
    uint32_t load = slow->powered->supply.terminal_load[terminal];
    return load != ID_NONE && *row->partner == '\0' ? !load_lost(slow, load)
                                                    : serves(slow, terminal, row->partner);
}

/* A part without rows: any supply, or always. */
static bool default_holds(const Slow *slow, OwnerId owner) {
    const Model *model = &slow->powered->job.model;
    const char *lives = model->set->part.rows[model->owners[owner].part].supply;
    if (owner_dead(slow, owner)) {
        return false;
    }
    if (strcmp(lives, "passive") == 0 || strcmp(lives, "source") == 0 ||
        strstr(lives, "own battery") != NULL) {
        return true;
    }
    bool any = false;
    for (uint32_t i = 0; i < model->owners[owner].terminal_count; i++) {
        uint32_t load =
            slow->powered->supply.terminal_load[model->owners[owner].terminal_first + i];
        any = any || load != ID_NONE;
        if (load != ID_NONE && !load_lost(slow, load)) {
            return true;
        }
    }
    return !any;
}

static bool function_holds(const Slow *slow, const ServiceFunction *function) {
    const Model *model = &slow->powered->job.model;
    const char *part = model->set->part.rows[model->owners[function->owner].part].part;
    bool rows = false;
    for (size_t i = 0; i < model->set->depends.count; i++) {
        const DependsRow *first = &model->set->depends.rows[i];
        if (strcmp(first->part, part) != 0 || strcmp(first->function, function->name) != 0) {
            continue;
        }
        rows = true;
        bool all = true;
        bool at_rest = false;
        for (size_t k = 0; k < model->set->depends.count; k++) {
            const DependsRow *row = &model->set->depends.rows[k];
            if (strcmp(row->part, part) == 0 && strcmp(row->function, function->name) == 0 &&
                strcmp(row->way, first->way) == 0) {
                all = all && row_holds(slow, function->owner, row);
                at_rest = at_rest || row->at_rest == 1;
            }
        }
        if (all && (at_rest || !owner_dead(slow, function->owner))) {
            return true;
        }
    }
    return !rows && default_holds(slow, function->owner);
}

static void find_works(Slow *slow) {
    uint32_t count = service_function_count(slow->service);
    memset(slow->works, 0, count * sizeof *slow->works);
    for (bool more = true; more;) {
        more = false;
        for (uint32_t i = 0; i < count; i++) {
            if (!slow->works[i] && function_holds(slow, service_function(slow->service, i))) {
                slow->works[i] = more = true;
            }
        }
    }
}

static bool need_row_holds(const Slow *slow, const NeedRow *row) {
    const Model *model = &slow->powered->job.model;
    OwnerId owner = model_owner(model, row->port);
    if (owner != ID_NONE) {
        return slow->works[function_of(slow, owner, "works")];
    }
    const char *point = strchr(row->port, '.');
    char tag[64];
    snprintf(tag, sizeof tag, "%.*s", (int)(point - row->port), row->port);
    owner = model_owner(model, tag);
    TerminalId terminal = port_of(model, owner, point + 1);
    uint32_t load = terminal == ID_NONE ? ID_NONE : slow->powered->supply.terminal_load[terminal];
    if (load != ID_NONE) {
        return !load_lost(slow, load) && slow->works[function_of(slow, owner, "works")];
    }
    uint32_t function = function_of(slow, owner, point + 1);
    return function != ID_NONE ? slow->works[function] : serves(slow, terminal, "");
}

static bool way_holds(const Slow *slow, uint32_t way) {
    const ServiceWay *row = service_way(slow->service, way);
    for (uint32_t i = row->row_first; i < row->row_first + row->row_count; i++) {
        if (!need_row_holds(slow, &slow->powered->job.set.need.rows[i])) {
            return false;
        }
    }
    return true;
}

static bool need_holds(const Slow *slow, uint32_t need) {
    const ServiceNeed *row = service_need(slow->service, need);
    for (uint32_t i = 0; i < row->way_count; i++) {
        bool any = false;
        for (uint32_t k = 0; k < row->way_count; k++) {
            any = any || (strcmp(service_way(slow->service, row->way_first + i)->clause,
                                 service_way(slow->service, row->way_first + k)->clause) == 0 &&
                          way_holds(slow, row->way_first + k));
        }
        if (!any) {
            return false;
        }
    }
    return true;
}

static uint64_t random_state;

static uint32_t draw(uint32_t below) {
    random_state = random_state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)((random_state >> 33) % below);
}

static uint32_t draw_list(uint32_t *list, uint32_t most, uint32_t below) {
    uint32_t count = draw(3) == 0 ? draw(most) : draw(3);
    for (uint32_t i = 0; i < count; i++) {
        list[i] = draw(below);
    }
    return count;
}

static void check_list(const uint32_t *list, uint32_t count, const bool *expected,
                       uint32_t numbers) {
    uint32_t k = 0;
    for (uint32_t i = 0; i < numbers; i++) {
        bool there = k < count && list[k] == i;
        assert_int_equal(there, expected[i]);
        k += there ? 1 : 0;
    }
    assert_int_equal(k, count);
}

static void compare(Powered *powered) {
    Job *job = &powered->job;
    Arena *arena = &job->arena;
    powered_load(powered);
    const Service *service =
        service_build(arena, &job->model, &powered->wiring, &powered->supply, &job->findings);
    ServiceRun *run = service_run_new(arena, service);
    uint32_t functions = service_function_count(service);
    uint32_t ways = service_way_count(service);
    uint32_t needs = service_need_count(service);
    ServiceLoss nothing = {0};
    Slow whole = {.powered = powered, .service = service, .loss = &nothing};
    whole.works = ARENA_ARRAY(arena, bool, functions);
    find_works(&whole);
    Slow slow = {.powered = powered, .service = service};
    slow.works = ARENA_ARRAY(arena, bool, functions);
    bool *lost = ARENA_ARRAY(arena, bool, functions);
    bool *lost_way = ARENA_ARRAY(arena, bool, ways);
    bool *lost_need = ARENA_ARRAY(arena, bool, needs);
    uint64_t found = 0;
    for (int round = 0; round < ROUNDS; round++) {
        uint32_t loads[LIST_MAX];
        uint32_t owners[LIST_MAX];
        uint32_t conductors[LIST_MAX];
        uint32_t nets[LIST_MAX];
        uint32_t ports[LIST_MAX];
        ServiceLoss loss = {.loads = loads,
                            .owners = owners,
                            .conductors = conductors,
                            .nets = nets,
                            .ports = ports};
        loss.load_count = draw_list(loads, 12, powered->supply.load_count);
        loss.owner_count = draw_list(owners, 6, job->model.owner_count);
        loss.conductor_count = draw_list(conductors, 40, powered->wiring.conductor_count);
        loss.net_count = draw_list(nets, 4, powered->wiring.net_count);
        loss.port_count = draw_list(ports, 6, job->model.terminal_count);
        slow.loss = &loss;
        find_works(&slow);
        for (uint32_t i = 0; i < functions; i++) {
            lost[i] = whole.works[i] && !slow.works[i];
            found += lost[i] ? 1 : 0;
        }
        for (uint32_t i = 0; i < ways; i++) {
            lost_way[i] = way_holds(&whole, i) && !way_holds(&slow, i);
        }
        for (uint32_t i = 0; i < needs; i++) {
            lost_need[i] = need_holds(&whole, i) && !need_holds(&slow, i);
            assert_int_equal(service_need_missing(service, i), !need_holds(&whole, i));
        }
        ServiceAnswer answer = service_ask(run, &loss);
        check_list(answer.functions, answer.function_count, lost, functions);
        check_list(answer.ways, answer.way_count, lost_way, ways);
        check_list(answer.needs, answer.need_count, lost_need, needs);
    }
    assert_true(found > 500);
    arena_free(arena);
}

static void example_as_it_is(void **state) {
    (void)state;
    random_state = 20260402;
    printf("seed %llu\n", (unsigned long long)random_state);
    Powered powered = {0};
    job_read_folder(&powered.job, MARLING_SOURCE_DIR "/examples/osier_mended");
    compare(&powered);
}

/* Displays pass attitude on to each other; the audio panel and both radios hold each other up. */
static void boxes_in_circles(void **state) {
    (void)state;
    random_state = 20260403;
    printf("seed %llu\n", (unsigned long long)random_state);
    Powered powered = {0};
    job_start(&powered.job);
    job_read_library(&powered.job);
    Status status =
        table_read_folder(&powered.job.arena, MARLING_SOURCE_DIR "/examples/osier_mended",
                          GROUP_JOB, &powered.job.set, &powered.job.findings);
    assert_false(status.failed);
    job_add(&powered.job, TABLE_depends,
            "part,function,way,port,partner,source,status\n"
            "display-primary,attitude,b,CAN,attitude,test,shop\n"
            "display-primary,attitude,b,works,,test,shop\n"
            "display-multi,attitude,b,CAN,attitude,test,shop\n"
            "display-multi,attitude,b,works,,test,shop\n"
            "air-data,air data,b,CAN,attitude,test,shop\n"
            "comm-remote,works,b,AUD,,test,shop\n"
            "audio-panel,works,c,C2A,,test,shop\n"
            "audio-panel,works,d,NVA,,test,shop\n"
            "navigator-comm,comm,b,MIC,,test,shop\n");
    job_check(&powered.job);
    compare(&powered);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(example_as_it_is),
        cmocka_unit_test(boxes_in_circles),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
