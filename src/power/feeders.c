/* Method: draw.c says what each feed carries. Here every feed's wires are followed from its start
 * through its devices to each load, then from the load's return port through grounds, switches and
 * driver pairs to a ground point. Every conductor on the way gets the load's current; what is
 * shared carries the sum. Feeds of buses and trunks between ground points get theirs whole. */
#include "model/report.h"
#include "power/feeders.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "power/draw.h"
#include "rating/drop.h"

/* A return that passes more circuits than this is a maze; what lies behind is left out. */
enum { RETURN_CIRCUITS_MOST = 16 };

typedef struct FeederWork {
    Arena *out;
    Arena *scratch;
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Supply *supply;
    Findings *findings;
    Feeders *feeders;
    Draw draw;
    uint32_t *net_first; /* by row of `feed`, and one more: its nets by leg */
    NetId *nets;
    size_t feeder_capacity;
    size_t path_capacity;
    size_t wire_count;
    size_t wire_capacity;
    size_t path_count;
    CableId *pair_return; /* return cable and feed cable, side by side */
    CableId *pair_feed;
    size_t pair_count;
    size_t pair_capacity;
    size_t pair_feed_capacity;
    uint32_t *owner_bus;    /* by OwnerId: bus of its first load, ID_NONE */
    OwnerId *source_device; /* by row of `source`: device of its lead, for its return */
    double *source_a;       /* by row of `source`: current of its lead */
    bool *source_crank;
} FeederWork;

/* --- nets of feeds ------------------------------------------------------------------------------
 */

static void group_nets(FeederWork *work) {
    const Wiring *wiring = work->wiring;
    uint32_t feeds = (uint32_t)work->model->set->feed.count;
    uint32_t *first = ARENA_ARRAY(work->scratch, uint32_t, (size_t)feeds + 2);
    for (NetId n = 0; n < wiring->net_count; n++) {
        if (wiring->nets[n].from_table == TABLE_feed) {
            first[wiring->nets[n].from_row + 2]++;
        }
    }
    for (uint32_t i = 2; i < feeds + 2; i++) {
        first[i] += first[i - 1];
    }
    work->nets = ARENA_ARRAY(work->scratch, NetId, first[feeds + 1]);
    for (NetId n = 0; n < wiring->net_count; n++) {
        const Net *net = &wiring->nets[n];
        if (net->from_table != TABLE_feed) {
            continue;
        }
        uint32_t place = first[net->from_row + 1]++;
        uint32_t start = first[net->from_row];
        while (place > start && wiring->nets[work->nets[place - 1]].leg > net->leg) {
            work->nets[place] = work->nets[place - 1];
            place--;
        }
        work->nets[place] = n;
    }
    work->net_first = first;
}

/* Place of a terminal among the ends of a net; end_count when it is none of them. */
static uint32_t end_place(const Wiring *wiring, const Net *net, TerminalId terminal) {
    for (uint32_t i = 0; i < net->end_count; i++) {
        if (wiring->ends[net->end_first + i] == terminal) {
            return i;
        }
    }
    return net->end_count;
}

/* --- ways ---------------------------------------------------------------------------------------
 */

static void push_wire(FeederWork *work, ConductorId wire) {
    *ARENA_PUSH(work->out, work->feeders->wires, work->wire_count, work->wire_capacity) = wire;
}

/* Appends core `core` of the cables of `net` that lie between two of its ends. */
static void push_way(FeederWork *work, const Net *net, uint32_t from, uint32_t to, uint16_t core) {
    if (net->cable_count == 0 || from == to || from >= net->end_count || to >= net->end_count) {
        return;
    }
    uint32_t low = from < to ? from : to;
    uint32_t high = from < to ? to : from;
    for (uint32_t i = 0; i < net->cable_count; i++) {
        /* Cable i joins ends i and i+1, or at a hub the first end and end i+1. */
        bool on = net->join == JOIN_HUB ? (i + 1 == low || i + 1 == high) : i >= low && i < high;
        const Cable *cable = &work->wiring->cables[net->cable_first + i];
        if (on && core < cable->conductor_count) {
            push_wire(work, cable->conductor_first + core);
        }
    }
}

/* Appends the wires of a feed from its start to one target (ID_NONE: to its end). Returns where
 * core 1 of a motor pair begins, ID_NONE when nothing is a pair. */
static TerminalId push_feed(FeederWork *work, uint32_t f, TerminalId target) {
    TerminalId pair_start = ID_NONE;
    for (uint32_t i = work->net_first[f]; i < work->net_first[f + 1]; i++) {
        const Net *net = &work->wiring->nets[work->nets[i]];
        uint32_t to = end_place(work->wiring, net, target);
        to = to == net->end_count ? net->end_count - 1 : to;
        push_way(work, net, 0, to, 0);
        if (net->core_count < 2) {
            pair_start = ID_NONE;
        } else if (pair_start == ID_NONE) {
            pair_start = work->wiring->ends[net->end_first];
        }
    }
    return pair_start;
}

/* Appends core 1 of the pairs at the end of a feed, from the load backward. */
static void push_pair(FeederWork *work, uint32_t f, TerminalId target) {
    for (uint32_t i = work->net_first[f + 1]; i > work->net_first[f]; i--) {
        const Net *net = &work->wiring->nets[work->nets[i - 1]];
        if (net->core_count < 2) {
            return;
        }
        uint32_t to = end_place(work->wiring, net, target);
        push_way(work, net, 0, to == net->end_count ? net->end_count - 1 : to, 1);
    }
}

/* --- returns ------------------------------------------------------------------------------------
 */

static NetId net_at(const FeederWork *work, TerminalId terminal, uint16_t core) {
    const ModelTerminal *row = &work->model->terminals[terminal];
    return row->pin_count == 0
               ? ID_NONE
               : work->wiring->pin_net[row->pin_first + (core < row->pin_count ? core : 0)];
}

static bool is_ground(const FeederWork *work, TerminalId terminal) {
    return work->model->owners[work->model->terminals[terminal].owner].kind == OWNER_GROUND;
}

/* "M" or "M/2": terminal name of one core in `switch_pole`. */
static bool names_core(const char *text, const char *name, uint16_t core) {
    size_t length = strlen(name);
    if (strncmp(text, name, length) != 0) {
        return false;
    }
    if (text[length] == '\0') {
        return core == 0;
    }
    return text[length] == '/' && text[length + 1] == (char)('1' + core) &&
           text[length + 2] == '\0';
}

/* Where current that enters a switch at core `core` of a terminal leaves it: a terminal that a pole
 * joins with it and that has a circuit; one with a ground circuit first. */
static TerminalId through_switch(const FeederWork *work, TerminalId terminal, uint16_t core) {
    const Model *model = work->model;
    const ModelTerminal *row = &model->terminals[terminal];
    const ModelOwner *owner = &model->owners[row->owner];
    if (owner->kind != OWNER_SWITCHGEAR || owner->part == ID_NONE) {
        return ID_NONE;
    }
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_switch_pole,
                                   model->set->switch_part.rows[owner->part].part, &count);
    TerminalId best = ID_NONE;
    for (uint32_t i = 0; i < owner->terminal_count; i++) {
        TerminalId other = owner->terminal_first + i;
        NetId net = net_at(work, other, 0);
        bool grounded = net != ID_NONE && work->wiring->nets[net].from_table == TABLE_ground;
        if (other == terminal || net == ID_NONE || (best != ID_NONE && !grounded)) {
            continue;
        }
        const char *name = model->terminals[other].name;
        for (uint32_t p = first; p < first + count; p++) {
            const SwitchPoleRow *pole = &model->set->switch_pole.rows[p];
            if ((names_core(pole->from_terminal, row->name, core) &&
                 names_core(pole->to_terminal, name, 0)) ||
                (names_core(pole->to_terminal, row->name, core) &&
                 names_core(pole->from_terminal, name, 0))) {
                best = other;
                if (grounded) {
                    return best;
                }
            }
        }
    }
    return best;
}

/* The end of `net` by which current from end `at` goes home: a ground point; else a switch that
 * leads on; else the box fed from the same bus (a controller that drives an injector); else the
 * neighbour. */
static uint32_t way_home(const FeederWork *work, const Net *net, uint32_t at, BusId bus) {
    uint32_t through = net->end_count;
    uint32_t driver = net->end_count;
    for (uint32_t i = 0; i < net->end_count; i++) {
        TerminalId end = work->wiring->ends[net->end_first + i];
        if (i == at) {
            continue;
        }
        if (is_ground(work, end)) {
            return i;
        }
        OwnerId owner = work->model->terminals[end].owner;
        if (through == net->end_count && through_switch(work, end, 0) != ID_NONE) {
            through = i;
        }
        if (driver == net->end_count && bus != ID_NONE && work->owner_bus[owner] == bus) {
            driver = i;
        }
    }
    if (through < net->end_count) {
        return through;
    }
    if (driver < net->end_count) {
        return driver;
    }
    return at + 1 < net->end_count ? at + 1 : (at == 0 ? 0 : at - 1);
}

/* Resistance of a closed switch, relay, contactor, diode or shunt; 0 when not known. */
static double switch_ohm(const Model *model, OwnerId owner) {
    const ModelOwner *row = &model->owners[owner];
    if (row->kind != OWNER_SWITCHGEAR || row->part == ID_NONE) {
        return 0.0;
    }
    double mohm = model->set->switch_part.rows[row->part].r_mohm;
    return isnan(mohm) ? 0.0 : mohm / 1000.0;
}

/* A switch on the way back of a load that has no feed of its own (a coil fed inside its contactor):
 * it switches that load. Those of motor pairs are on the way there too. */
static void add_switch_duty(FeederWork *work, const SupplyLoad *load, TerminalId at) {
    const ModelOwner *owner = &work->model->owners[work->model->terminals[at].owner];
    if (load->feed == ID_NONE) {
        Duty *duty = &work->feeders->switchgear[owner->row];
        duty->steady_a += load->design_a;
        duty->design_a += load->design_a;
        duty->by_kind_a[draw_kind(work->model, load)] += load->design_a;
    }
}

/* Appends the conductors from a return port (core `core` of it) to its ground point. Returns the
 * resistance of the switches passed. `cores` is how many conductors share the current on the first
 * circuit: they lie side by side, so only the first is appended. */
static double push_return(FeederWork *work, const SupplyLoad *load, TerminalId at, uint16_t core,
                          NetId came, uint32_t *cores) {
    const Wiring *wiring = work->wiring;
    BusId bus = load->bus;
    double ohm = 0.0;
    *cores = 1;
    for (int circuits = 0; circuits < RETURN_CIRCUITS_MOST; circuits++) {
        NetId n = net_at(work, at, core);
        if (n == came || n == ID_NONE) {
            TerminalId on = through_switch(work, at, core);
            if (on == ID_NONE) {
                return ohm;
            }
            ohm += switch_ohm(work->model, work->model->terminals[at].owner);
            add_switch_duty(work, load, at);
            at = on;
            core = 0;
            n = net_at(work, at, core);
        }
        if (n == ID_NONE || n == came) {
            return ohm;
        }
        const Net *net = &wiring->nets[n];
        uint32_t from = end_place(wiring, net, at);
        uint32_t to = from == net->end_count ? from : way_home(work, net, from, bus);
        if (to == from) {
            return ohm;
        }
        if (circuits == 0 && net->core_count > 1 &&
            work->model->terminals[at].pin_count == net->core_count) {
            *cores = net->core_count;
        } else if (*cores > 1) {
            return ohm; /* the pair ends at the box that drives it */
        }
        push_way(work, net, from, to, core);
        at = wiring->ends[net->end_first + to];
        if (is_ground(work, at)) {
            return ohm;
        }
        came = n;
        core = 0;
    }
    return ohm;
}

/* --- one load -----------------------------------------------------------------------------------
 */

static double wires_mm(const FeederWork *work, size_t first, size_t count) {
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        const Conductor *wire = &work->wiring->conductors[work->feeders->wires[first + i]];
        double length_mm = work->routing->length_mm[wire->cable];
        sum += isnan(length_mm) ? 0.0 : length_mm;
    }
    return sum;
}

static void add_current(FeederWork *work, ConductorId wire, double current_a, WireRole role,
                        OwnerId device) {
    Feeders *feeders = work->feeders;
    feeders->design_a[wire] += current_a;
    if (feeders->role[wire] == WIRE_SIGNAL) {
        feeders->role[wire] = (uint8_t)role;
        feeders->device[wire] = device;
    }
}

static void add_pair(FeederWork *work, CableId back, CableId feed) {
    if (back == feed) {
        return;
    }
    size_t count = work->pair_count;
    *ARENA_PUSH(work->scratch, work->pair_return, work->pair_count, work->pair_capacity) = back;
    *ARENA_PUSH(work->scratch, work->pair_feed, count, work->pair_feed_capacity) = feed;
}

static double drop_limit(const FeederWork *work, bool intermittent) {
    const TableSet *set = work->model->set;
    DropLimit *rows = ARENA_ARRAY(work->scratch, DropLimit, set->drop_limit.count);
    for (size_t i = 0; i < set->drop_limit.count; i++) {
        const DropLimitRow *row = &set->drop_limit.rows[i];
        rows[i] = (DropLimit){row->nominal_v, row->continuous_v, row->intermittent_v};
    }
    return drop_limit_v(rows, set->drop_limit.count, set->job.rows[0].nominal_v,
                        intermittent ? DUTY_INTERMITTENT : DUTY_CONTINUOUS)
        .value;
}

static void add_feeder(FeederWork *work, const Feeder *feeder, const FeederPath *path) {
    Feeders *feeders = work->feeders;
    size_t count = feeders->count;
    *ARENA_PUSH(work->out, feeders->rows, count, work->feeder_capacity) = *feeder;
    *ARENA_PUSH(work->out, feeders->paths, work->path_count, work->path_capacity) = *path;
    feeders->count = (uint32_t)count;
}

static bool draws_in_no_phase(const FeederWork *work, const SupplyLoad *load) {
    for (size_t phase = 0; phase < work->model->set->phase.count; phase++) {
        if (load->phase_a[phase] > 0.0) {
            return false;
        }
    }
    return work->model->set->phase.count > 0;
}

/* What a load adds to its return. A second supply of a box that draws in no phase stands by for the
 * first one: where both return by one port, only what it draws more is added. */
static double return_a(const FeederWork *work, const SupplyLoad *load) {
    if (load->intermittent || load->load_row == ID_NONE || !draws_in_no_phase(work, load)) {
        return load->design_a;
    }
    const ModelOwner *owner = &work->model->owners[load->owner];
    for (uint32_t i = 0; i < owner->terminal_count; i++) {
        uint32_t index = work->supply->terminal_load[owner->terminal_first + i];
        const SupplyLoad *other = index == ID_NONE ? load : &work->supply->loads[index];
        if (other != load && other->return_port == load->return_port &&
            !draws_in_no_phase(work, other)) {
            return fmax(0.0, load->design_a - other->design_a);
        }
    }
    return load->design_a;
}

/* The load's way there and back: its conductors, the current in them, its feeder. */
static void add_load(FeederWork *work, uint32_t index, const double limit_v[2]) {
    const SupplyLoad *load = &work->supply->loads[index];
    size_t first = work->wire_count;
    TerminalId pair_start = ID_NONE;
    if (load->feed != ID_NONE) {
        pair_start = push_feed(work, load->feed, load->port);
    }
    size_t feed_count = work->wire_count - first;
    uint32_t cores = 1;
    double ohm = 0.0;
    if (load->return_port == load->port && pair_start != ID_NONE) {
        push_pair(work, load->feed, load->port);
        NetId came = net_at(work, pair_start, 1);
        ohm = push_return(work, load, pair_start, 1, came, &cores);
    } else if (load->return_port != ID_NONE && load->return_port != load->port) {
        ohm = push_return(work, load, load->return_port, 0, ID_NONE, &cores);
    }
    size_t return_count = work->wire_count - first - feed_count;
    double back_a = return_a(work, load) / cores;
    if (feed_count + return_count == 0) {
        return;
    }
    for (size_t i = first; i < work->wire_count; i++) {
        bool back = i >= first + feed_count;
        ConductorId wire = work->feeders->wires[i];
        DrawKind kind = draw_kind(work->model, load);
        if (kind == DRAW_MOTOR || kind == DRAW_RESISTIVE) {
            for (uint32_t core = 0; core < (back ? cores : 1); core++) {
                work->feeders->motor_a[wire + core] += back ? back_a : load->design_a;
            }
        }
        if (!back) {
            add_current(work, wire, work->draw.load_design_a[index], WIRE_FEED, ID_NONE);
            continue;
        }
        for (uint32_t core = 0; core < cores; core++) {
            add_current(work, wire + core, back_a, WIRE_RETURN, load->device);
        }
        if (feed_count > 0) {
            add_pair(work, work->wiring->conductors[wire].cable,
                     work->wiring->conductors[work->feeders->wires[first]].cable);
        }
    }
    const Net *net = load->feed == ID_NONE || feed_count == 0
                         ? NULL
                         : &work->wiring->nets[work->nets[work->net_first[load->feed]]];
    Feeder feeder = {
        .load = index,
        .feed = load->feed,
        .design_a = load->design_a,
        .feed_mm = net == NULL ? 0.0 : work->routing->length_mm[net->cable_first],
        .loop_mm = wires_mm(work, first, feed_count + return_count),
        .limit_v = limit_v[load->intermittent ? 1 : 0],
    };
    FeederPath path = {
        .first = (uint32_t)first,
        .feed_count = (uint32_t)feed_count,
        .return_count = (uint32_t)return_count,
        .through_a = load->feed == ID_NONE ? 0.0 : work->draw.feeds[load->feed].design_a,
        .return_switch_ohm = ohm,
    };
    add_feeder(work, &feeder, &path);
}

/* --- feeds of buses, the starter ----------------------------------------------------------------
 */

/* A bus's feeder may lose its share of the nominal voltage to continuous loads; when intermittent
 * ones run too, as much more as the published table allows those over continuous ones. Both hold
 * when the drop at the design current keeps this. */
static double bus_limit(const FeederWork *work, const Duty *duty, const double port_limit_v[2]) {
    double share_v =
        model_limit(work->model, "feeder_drop") / 100.0 * work->model->set->job.rows[0].nominal_v;
    if (!(duty->design_a > duty->steady_a) || isnan(port_limit_v[1])) {
        return share_v;
    }
    return share_v * fmin(duty->design_a / duty->steady_a, port_limit_v[1] / port_limit_v[0]);
}

static void add_bus_feed(FeederWork *work, uint32_t f, const double port_limit_v[2]) {
    const Duty *duty = &work->draw.feeds[f];
    Feeders *feeders = work->feeders;
    size_t first = work->wire_count;
    push_feed(work, f, ID_NONE);
    size_t count = work->wire_count - first;
    for (size_t i = first; i < work->wire_count; i++) {
        ConductorId wire = feeders->wires[i];
        feeders->role[wire] = WIRE_FEED;
        feeders->design_a[wire] = fmax(feeders->design_a[wire], duty->design_a);
        feeders->crank[wire] = feeders->crank[wire] || duty->crank;
    }
    if (work->draw.source[f] != ID_NONE) {
        uint32_t source = work->draw.source[f];
        work->source_a[source] = fmax(work->source_a[source], duty->design_a);
        work->source_crank[source] = work->source_crank[source] || duty->crank;
    }
    if (count == 0 || duty->crank) {
        return; /* nothing to drop in, or the starter, which has no drop limit */
    }
    Feeder feeder = {
        .load = ID_NONE,
        .feed = f,
        .design_a = duty->design_a,
        .feed_mm = wires_mm(work, first, 1),
        .loop_mm = wires_mm(work, first, count),
        .limit_v = bus_limit(work, duty, port_limit_v),
    };
    FeederPath path = {
        .first = (uint32_t)first, .feed_count = (uint32_t)count, .through_a = duty->design_a};
    add_feeder(work, &feeder, &path);
}

/* --- devices along a feed -----------------------------------------------------------------------
 */

static void set_leg_device(FeederWork *work, NetId n, OwnerId device) {
    const Net *net = &work->wiring->nets[n];
    for (uint32_t i = 0; i < net->cable_count; i++) {
        const Cable *cable = &work->wiring->cables[net->cable_first + i];
        for (uint16_t core = 0; core < cable->conductor_count; core++) {
            work->feeders->device[cable->conductor_first + core] = device;
        }
    }
}

static void add_duty(Duty *to, const Duty *from) {
    if (from->feeds_bus || to->feeds_bus) { /* one of several ways: the largest */
        to->steady_a = fmax(to->steady_a, from->steady_a);
        to->design_a = fmax(to->design_a, from->design_a);
        to->peak_a = fmax(to->peak_a, from->peak_a);
        for (int kind = 0; kind < DRAW_KIND_COUNT; kind++) {
            to->by_kind_a[kind] = fmax(to->by_kind_a[kind], from->by_kind_a[kind]);
        }
    } else {
        to->steady_a += from->steady_a;
        to->peak_a = fmax(to->peak_a + from->design_a, to->design_a + from->peak_a);
        to->design_a += from->design_a;
        for (int kind = 0; kind < DRAW_KIND_COUNT; kind++) {
            to->by_kind_a[kind] += from->by_kind_a[kind];
        }
    }
    to->feeds_bus = to->feeds_bus || from->feeds_bus;
    to->crank = to->crank || from->crank;
}

/* Gives the legs of a feed the device before each, and its devices and switches what they carry.
 * An alternator limits itself, and what comes back from the battery is stopped by its first device:
 * that one protects its lead. */
static void add_devices(FeederWork *work, uint32_t f) {
    const Model *model = work->model;
    const ModelFeed *feed = &model->feeds[f];
    const FeedStep *steps = &model->steps[feed->step_first];
    OwnerId device = draw_device_before(model, work->supply, &work->draw, f);
    uint32_t source = work->draw.source[f];
    bool alternator = source != ID_NONE && work->draw.alternator[source];
    uint32_t leg = work->net_first[f];
    uint32_t legs = work->net_first[f + 1];
    uint32_t bare = leg; /* first leg without a device */
    for (uint32_t s = 0; s < feed->step_count; s++) {
        const FeedStep *step = &steps[s];
        if (leg < legs) {
            const Net *net = &work->wiring->nets[work->nets[leg]];
            if (work->wiring->ends[net->end_first + net->end_count - 1] == step->in) {
                set_leg_device(work, work->nets[leg++], device);
            }
        }
        const ModelOwner *owner = &model->owners[step->owner];
        if (step->kind == STEP_PROTECTION) {
            add_duty(&work->feeders->protection[owner->row], &work->draw.feeds[f]);
            for (; alternator && device == ID_NONE && bare < leg; bare++) {
                set_leg_device(work, work->nets[bare], step->owner);
            }
            device = step->owner;
        } else if (step->kind == STEP_SWITCHGEAR) {
            add_duty(&work->feeders->switchgear[owner->row], &work->draw.feeds[f]);
        }
    }
    for (; leg < legs; leg++) {
        set_leg_device(work, work->nets[leg], device);
    }
}

/* --- trunks between ground points ---------------------------------------------------------------
 */

/* Source whose return port is among the ends of a net, ID_NONE; *engine: an end is an engine block.
 */
static uint32_t trunk_ends(const FeederWork *work, const Net *net, bool *grounds, bool *engine) {
    uint32_t source = ID_NONE;
    *grounds = true;
    *engine = false;
    for (uint32_t i = 0; i < net->end_count; i++) {
        TerminalId end = work->wiring->ends[net->end_first + i];
        const ModelOwner *owner = &work->model->owners[work->model->terminals[end].owner];
        if (owner->kind == OWNER_GROUND) {
            const char *kind = work->model->set->ground_point.rows[owner->row].kind;
            *engine = *engine || strcmp(kind, "engine") == 0;
        } else if (work->draw.minus_source[end] != ID_NONE) {
            source = work->draw.minus_source[end];
        } else {
            *grounds = false;
        }
    }
    return source;
}

/* What returns between ground points can't be told apart wire by wire, so each trunk is sized for
 * all of it: a source's return as its lead; an engine strap for the starter, since either of two
 * may be the only good one; others for the largest alternator. */
static void add_trunks(FeederWork *work) {
    const JobRow *job = &work->model->set->job.rows[0];
    bool cranked = work->draw.starter_feed != ID_NONE;
    for (NetId n = 0; n < work->wiring->net_count; n++) {
        const Net *net = &work->wiring->nets[n];
        bool grounds = false;
        bool engine = false;
        if (net->from_table == TABLE_feed || net->end_count < 2) {
            continue;
        }
        uint32_t source = trunk_ends(work, net, &grounds, &engine);
        if (!grounds) {
            continue;
        }
        bool crank = source != ID_NONE ? work->source_crank[source] : engine && cranked;
        double current_a = source != ID_NONE ? work->source_a[source]
                           : crank           ? job->crank_a
                                             : work->draw.largest_alternator_a;
        for (uint32_t i = 0; i < net->cable_count; i++) {
            const Cable *cable = &work->wiring->cables[net->cable_first + i];
            ConductorId wire = cable->conductor_first;
            if (cable->conductor_count == 0) {
                continue;
            }
            work->feeders->role[wire] = WIRE_TRUNK;
            work->feeders->crank[wire] = crank;
            work->feeders->design_a[wire] = fmax(work->feeders->design_a[wire], current_a);
        }
    }
}

/* --- pairs --------------------------------------------------------------------------------------
 */

static void group_pairs(FeederWork *work) {
    uint32_t cables = work->wiring->cable_count;
    uint32_t *first = ARENA_ARRAY(work->out, uint32_t, (size_t)cables + 2);
    for (size_t i = 0; i < work->pair_count; i++) {
        first[work->pair_return[i] + 2]++;
    }
    for (uint32_t i = 2; i < cables + 2; i++) {
        first[i] += first[i - 1];
    }
    CableId *pairs = ARENA_ARRAY(work->out, CableId, work->pair_count);
    for (size_t i = 0; i < work->pair_count; i++) {
        pairs[first[work->pair_return[i] + 1]++] = work->pair_feed[i];
    }
    work->feeders->pair_first = first;
    work->feeders->pairs = pairs;
}

/* --- exported -----------------------------------------------------------------------------------
 */

uint32_t feeders_rating_row(const Model *model, const char *part, double rating_a) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_device_rating, part, &count);
    uint32_t smallest = ID_NONE;
    uint32_t below = ID_NONE;
    for (uint32_t i = first; i < first + count; i++) {
        double a = model->set->device_rating.rows[i].rating_a;
        if (smallest == ID_NONE || a < model->set->device_rating.rows[smallest].rating_a) {
            smallest = i;
        }
        if (a <= rating_a &&
            (below == ID_NONE || a > model->set->device_rating.rows[below].rating_a)) {
            below = i;
        }
    }
    return below == ID_NONE ? smallest : below;
}

static double inside_ohm(const Model *model, const FeedStep *step) {
    const ModelOwner *owner = &model->owners[step->owner];
    if (owner->part == ID_NONE) {
        return 0.0;
    }
    const char *in = model->terminals[step->in].name;
    const char *out = model->terminals[step->out].name;
    uint32_t count = 0;
    uint32_t first =
        model_rows_of(model, TABLE_inside, model->set->part.rows[owner->part].part, &count);
    for (uint32_t i = first; i < first + count; i++) {
        const InsideRow *row = &model->set->inside.rows[i];
        if (((strcmp(row->from_port, in) == 0 && strcmp(row->to_port, out) == 0) ||
             (strcmp(row->from_port, out) == 0 && strcmp(row->to_port, in) == 0)) &&
            !isnan(row->ohm)) {
            return row->ohm;
        }
    }
    return 0.0;
}

double feeders_step_ohm(const Model *model, const FeedStep *step, const double *rating_a) {
    const ModelOwner *owner = &model->owners[step->owner];
    if (step->kind == STEP_UNIT) {
        return inside_ohm(model, step);
    }
    if (step->kind == STEP_SWITCHGEAR) {
        return switch_ohm(model, step->owner);
    }
    uint32_t row = feeders_rating_row(model, model->set->protection.rows[owner->row].part,
                                      rating_a[owner->row]);
    return row == ID_NONE ? 0.0 : model->set->device_rating.rows[row].r_mohm / 1000.0;
}

static void find_owner_buses(FeederWork *work) {
    uint32_t owners = work->model->owner_count;
    work->owner_bus = ARENA_ARRAY(work->scratch, uint32_t, owners);
    for (OwnerId owner = 0; owner < owners; owner++) {
        work->owner_bus[owner] = ID_NONE;
    }
    for (uint32_t i = 0; i < work->supply->load_count; i++) {
        const SupplyLoad *load = &work->supply->loads[i];
        if (work->owner_bus[load->owner] == ID_NONE) {
            work->owner_bus[load->owner] = load->bus;
        }
    }
}

static void find_starter(FeederWork *work) {
    const JobRow *job = &work->model->set->job.rows[0];
    if (*job->starter == '\0' || work->draw.starter_feed != ID_NONE) {
        return;
    }
    Finding *finding = report_row(
        work->findings, work->model, RULE_SIZE_STARTER, TABLE_job, 0, "starter",
        isnan(job->crank_a) ? "the job names the starter %s but not its current"
                            : "no feed leads to the starter %s: its cables are not sized for it",
        job->starter);
    finding->hint = isnan(job->crank_a) ? "fill in crank_a" : "add a feed onto the starter's port";
}

void feeders_find(Arena *out, Arena *scratch, const Model *model, const Wiring *wiring,
                  const Routing *routing, const Supply *supply, Feeders *feeders,
                  Findings *findings) {
    *feeders = (Feeders){
        .design_a = ARENA_ARRAY(out, double, wiring->conductor_count),
        .device = ARENA_ARRAY(out, OwnerId, wiring->conductor_count),
        .role = ARENA_ARRAY(out, uint8_t, wiring->conductor_count),
        .crank = ARENA_ARRAY(out, bool, wiring->conductor_count),
        .motor_a = ARENA_ARRAY(out, double, wiring->conductor_count),
        .protection = ARENA_ARRAY(out, Duty, model->set->protection.count),
        .switchgear = ARENA_ARRAY(out, Duty, model->set->switchgear.count),
    };
    for (ConductorId i = 0; i < wiring->conductor_count; i++) {
        feeders->device[i] = ID_NONE;
    }
    FeederWork work = {
        .out = out,
        .scratch = scratch,
        .model = model,
        .wiring = wiring,
        .routing = routing,
        .supply = supply,
        .findings = findings,
        .feeders = feeders,
        .source_a = ARENA_ARRAY(scratch, double, model->set->source.count),
        .source_crank = ARENA_ARRAY(scratch, bool, model->set->source.count),
    };
    draw_find(scratch, scratch, model, supply, &work.draw);
    group_nets(&work);
    find_owner_buses(&work);
    find_starter(&work);
    const double limit_v[2] = {drop_limit(&work, false), drop_limit(&work, true)};
    for (uint32_t i = 0; i < supply->load_count; i++) {
        add_load(&work, i, limit_v);
    }
    for (uint32_t f = 0; f < model->set->feed.count; f++) {
        if (!model->feeds[f].usable) {
            continue;
        }
        bool whole = model->feeds[f].to_bus != ID_NONE || work.draw.source[f] != ID_NONE ||
                     work.draw.feeds[f].crank;
        if (whole) {
            add_bus_feed(&work, f, limit_v);
        }
        add_devices(&work, f);
    }
    add_trunks(&work);
    group_pairs(&work);
}
