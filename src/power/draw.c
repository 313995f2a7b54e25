/* Method: every bus, every giving load and every feed gets a vector of sums: for each phase the
 * steady current, then the design current by kind of load. A bus's vector is the sum over the feeds
 * that come out of it and are the usual feed of what they supply, so nothing is counted twice; each
 * is worked out once, rings are cut where they close. The amps of a phase are the caller's. */
#include "power/draw.h"

#include <math.h>
#include <string.h>

#include "base/check.h"

/* In each phase: steady current, then by kind. */
#define DRAW_WIDTH (1 + DRAW_KIND_COUNT)

typedef struct DrawWork {
    Arena *scratch;
    const Model *model;
    const Supply *supply;
    Draw *draw;
    uint32_t phase_count;     /* at least 1 */
    size_t width;             /* of a vector */
    uint32_t *bus_feed_first; /* by BusId, and one more: feeds out of it */
    uint32_t *bus_feeds;
    uint32_t *into_first; /* by BusId, and one more: feeds onto it */
    uint32_t *into_feeds;
    uint32_t *given_first; /* by load, and one more: feeds out of its box */
    uint32_t *given_feeds;
    double **bus_sum;  /* by BusId: vector, NULL while unknown */
    double **load_sum; /* by load: what it gives onward */
    double *nothing;   /* a vector of zeros */
    bool *bus_open;    /* being worked out: a ring closes here */
    bool *load_open;
    bool *closed;           /* by feed and phase: everything in it conducts */
    uint32_t *bolted_first; /* by BusId, and one more: loads bolted on it */
    uint32_t *bolted_loads;
} DrawWork;

/* --- lists --------------------------------------------------------------------------------------
 */

/* Sorts items 0..count-1 by owner[item] < owners (others are left out): first[] and items[]. */
static void group(Arena *arena, const uint32_t *owner, uint32_t count, uint32_t owners,
                  uint32_t **first, uint32_t **items) {
    uint32_t *start = ARENA_ARRAY(arena, uint32_t, (size_t)owners + 2);
    for (uint32_t i = 0; i < count; i++) {
        if (owner[i] < owners) {
            start[owner[i] + 2]++;
        }
    }
    for (uint32_t i = 2; i < owners + 2; i++) {
        start[i] += start[i - 1];
    }
    uint32_t *list = ARENA_ARRAY(arena, uint32_t, start[owners + 1]);
    for (uint32_t i = 0; i < count; i++) {
        if (owner[i] < owners) {
            list[start[owner[i] + 1]++] = i;
        }
    }
    *first = start;
    *items = list;
}

/* --- what gives a feed --------------------------------------------------------------------------
 */

static const char *unit_part(const Model *model, OwnerId owner) {
    const ModelOwner *row = &model->owners[owner];
    return row->kind == OWNER_UNIT && row->part != ID_NONE ? model->set->part.rows[row->part].part
                                                           : "";
}

static uint32_t owner_source(const Model *model, OwnerId owner) {
    return model->owners[owner].kind == OWNER_UNIT
               ? model_row(model, TABLE_source, model->owners[owner].tag)
               : ID_NONE;
}

/* True when `inside` joins the two ports of a part. */
static bool joined_inside(const Model *model, const char *part, const char *a, const char *b) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_inside, part, &count);
    for (uint32_t i = first; i < first + count; i++) {
        const InsideRow *row = &model->set->inside.rows[i];
        if ((strcmp(row->from_port, a) == 0 && strcmp(row->to_port, b) == 0) ||
            (strcmp(row->from_port, b) == 0 && strcmp(row->to_port, a) == 0)) {
            return true;
        }
    }
    return false;
}

/* The load whose supply a port passes on: itself, the one joined to it inside the box, else the
 * first of the box. ID_NONE when the box has none. */
static uint32_t find_giver(const Model *model, const Supply *supply, TerminalId port) {
    if (supply->terminal_load[port] != ID_NONE) {
        return supply->terminal_load[port];
    }
    const ModelTerminal *terminal = &model->terminals[port];
    const ModelOwner *owner = &model->owners[terminal->owner];
    uint32_t any = ID_NONE;
    for (uint32_t i = 0; i < owner->terminal_count; i++) {
        uint32_t load = supply->terminal_load[owner->terminal_first + i];
        if (load == ID_NONE) {
            continue;
        }
        const char *name = model->terminals[owner->terminal_first + i].name;
        if (joined_inside(model, unit_part(model, terminal->owner), name, terminal->name)) {
            return load;
        }
        any = any == ID_NONE ? load : any;
    }
    return any;
}

static void find_givers(DrawWork *work) {
    const Model *model = work->model;
    Draw *draw = work->draw;
    for (uint32_t f = 0; f < model->set->feed.count; f++) {
        const ModelFeed *feed = &model->feeds[f];
        draw->giver[f] = ID_NONE;
        draw->source[f] = ID_NONE;
        if (!feed->usable || feed->from_bus != ID_NONE) {
            continue;
        }
        draw->source[f] = owner_source(model, model->terminals[feed->start].owner);
        if (draw->source[f] == ID_NONE) {
            draw->giver[f] = find_giver(model, work->supply, feed->start);
        }
    }
}

/* --- which feed usually supplies a bus ----------------------------------------------------------
 */

/* Of the feeds onto a bus out of other buses, the one closed in most phases; the first of equals.
 */
static void find_main_feeds(DrawWork *work) {
    const Model *model = work->model;
    uint32_t phases = (uint32_t)model->set->phase.count;
    for (BusId bus = 0; bus < model->set->bus.count; bus++) {
        uint32_t most = 0;
        work->draw->main_feed[bus] = ID_NONE;
        for (uint32_t i = work->into_first[bus]; i < work->into_first[bus + 1]; i++) {
            uint32_t f = work->into_feeds[i];
            const ModelFeed *feed = &model->feeds[f];
            uint32_t count = 1;
            for (uint32_t phase = 0; phase < phases; phase++) {
                bool closed =
                    supply_feed_closed(model, work->supply, work->supply->positions[phase], f);
                work->closed[(size_t)f * work->phase_count + phase] = closed;
                count += closed ? 1 : 0;
            }
            if (feed->from_bus != ID_NONE && count > most) {
                most = count;
                work->draw->main_feed[bus] = f;
            }
        }
    }
}

/* --- sums ---------------------------------------------------------------------------------------
 */

DrawKind draw_kind(const Model *model, const SupplyLoad *load) {
    if (load->load_row == ID_NONE) {
        return DRAW_INDUCTIVE;
    }
    const char *kind = model->set->load.rows[load->load_row].kind;
    static const char *const WORDS[DRAW_KIND_COUNT] = {"lamp", "inductive", "resistive", "motor",
                                                       "electronic"};
    for (int i = 0; i < DRAW_KIND_COUNT; i++) {
        if (strcmp(kind, WORDS[i]) == 0) {
            return (DrawKind)i;
        }
    }
    return load->law == LAW_RESISTANCE ? DRAW_RESISTIVE : DRAW_ELECTRONIC;
}

static void add_vector(const DrawWork *work, double *to, const double *from) {
    for (size_t i = 0; i < work->width; i++) {
        to[i] += from[i];
    }
}

static void add_load(const DrawWork *work, double *sum, uint32_t index) {
    const SupplyLoad *load = &work->supply->loads[index];
    DrawKind kind = draw_kind(work->model, load);
    bool phased = work->model->set->phase.count > 0;
    bool at_design = load->intermittent && load->load_row != ID_NONE;
    for (uint32_t phase = 0; phase < work->phase_count; phase++) {
        double steady_a = phased ? load->phase_a[phase] : load->intermittent ? 0.0 : load->design_a;
        double design_a = at_design ? fmax(load->design_a, steady_a) : steady_a;
        sum[(size_t)phase * DRAW_WIDTH] += steady_a;
        sum[(size_t)phase * DRAW_WIDTH + 1 + kind] += design_a;
    }
}

static const double *load_sum(DrawWork *work, uint32_t load);

static const double *bus_sum(DrawWork *work, BusId bus);

/* Adds what one feed's targets draw. A bus counts with its usual feed only. */
static void add_feed(DrawWork *work, double *sum, uint32_t f) {
    const ModelFeed *feed = &work->model->feeds[f];
    if (feed->to_bus != ID_NONE) {
        if (work->draw->main_feed[feed->to_bus] == f) {
            add_vector(work, sum, bus_sum(work, feed->to_bus));
        }
        return;
    }
    const Draw *draw = work->draw;
    for (uint32_t i = draw->feed_load_first[f]; i < draw->feed_load_first[f + 1]; i++) {
        add_load(work, sum, draw->feed_loads[i]);
        const double *onward = load_sum(work, draw->feed_loads[i]);
        if (onward != work->nothing) {
            add_vector(work, sum, onward);
        }
    }
}

static const double *load_sum(DrawWork *work, uint32_t load) {
    if (work->given_first[load] == work->given_first[load + 1]) {
        return work->nothing;
    }
    if (work->load_sum[load] == NULL) {
        double *sum = ARENA_ARRAY(work->scratch, double, work->width);
        if (work->load_open[load]) {
            return sum; /* a box that feeds itself */
        }
        work->load_open[load] = true;
        for (uint32_t i = work->given_first[load]; i < work->given_first[load + 1]; i++) {
            add_feed(work, sum, work->given_feeds[i]);
        }
        work->load_sum[load] = sum;
    }
    return work->load_sum[load];
}

static const double *bus_sum(DrawWork *work, BusId bus) {
    if (work->bus_sum[bus] == NULL) {
        double *sum = ARENA_ARRAY(work->scratch, double, work->width);
        if (work->bus_open[bus]) {
            return sum; /* a ring of buses */
        }
        work->bus_open[bus] = true;
        for (uint32_t i = work->bus_feed_first[bus]; i < work->bus_feed_first[bus + 1]; i++) {
            add_feed(work, sum, work->bus_feeds[i]);
        }
        for (uint32_t i = work->bolted_first[bus]; i < work->bolted_first[bus + 1]; i++) {
            add_load(work, sum, work->bolted_loads[i]);
        }
        work->bus_sum[bus] = sum;
    }
    return work->bus_sum[bus];
}

static double phase_design_a(const double *sum, uint32_t phase) {
    double total = 0.0;
    for (int kind = 0; kind < DRAW_KIND_COUNT; kind++) {
        total += sum[(size_t)phase * DRAW_WIDTH + 1 + (size_t)kind];
    }
    return total;
}

/* The highest sums over the phases that count (NULL: all). */
static Duty highest(const DrawWork *work, const double *sum, const bool *counts) {
    Duty duty = {0};
    for (uint32_t phase = 0; phase < work->phase_count; phase++) {
        if (counts != NULL && !counts[phase]) {
            continue;
        }
        duty.steady_a = fmax(duty.steady_a, sum[(size_t)phase * DRAW_WIDTH]);
        duty.design_a = fmax(duty.design_a, phase_design_a(sum, phase));
        for (int kind = 0; kind < DRAW_KIND_COUNT; kind++) {
            double kind_a = sum[(size_t)phase * DRAW_WIDTH + 1 + (size_t)kind];
            duty.by_kind_a[kind] = fmax(duty.by_kind_a[kind], kind_a);
        }
    }
    return duty;
}

/* --- duty of each feed --------------------------------------------------------------------------
 */

/* Loads of a feed of ports at their design currents. */
static Duty port_duty(DrawWork *work, uint32_t f) {
    Draw *draw = work->draw;
    Duty duty = {0};
    double above_a = 0.0; /* the largest step from design to peak */
    for (uint32_t i = draw->feed_load_first[f]; i < draw->feed_load_first[f + 1]; i++) {
        uint32_t index = draw->feed_loads[i];
        const SupplyLoad *load = &work->supply->loads[index];
        const double *given = load_sum(work, index);
        Duty onward = {0};
        if (given != work->nothing) {
            onward = highest(work, given, NULL);
        }
        draw->load_design_a[index] = load->design_a + onward.design_a;
        duty.design_a += draw->load_design_a[index];
        duty.steady_a += onward.steady_a + (load->intermittent ? 0.0 : load->design_a);
        duty.by_kind_a[draw_kind(work->model, load)] += load->design_a;
        for (int kind = 0; kind < DRAW_KIND_COUNT; kind++) {
            duty.by_kind_a[kind] += onward.by_kind_a[kind];
        }
        if (!isnan(load->peak_a)) {
            above_a = fmax(above_a, load->peak_a - load->design_a);
        }
    }
    duty.peak_a = duty.design_a + above_a;
    return duty;
}

/* The phases that a second feed of a bus is for: those in which it is closed; when it is in none,
 * those carried by a source at its own end; else all (NULL). */
static const bool *second_phases(DrawWork *work, uint32_t f) {
    const Model *model = work->model;
    bool *counts = &work->closed[(size_t)f * work->phase_count];
    bool any = false;
    for (uint32_t phase = 0; phase < work->phase_count; phase++) {
        any = any || counts[phase];
    }
    BusId bus = model->feeds[f].from_bus;
    for (uint32_t phase = 0; !any && phase < model->set->phase.count; phase++) {
        const char *carrier = model->set->phase.rows[phase].carried_by;
        uint32_t source = *carrier == '\0' ? ID_NONE : model_row(model, TABLE_source, carrier);
        for (uint32_t i = work->into_first[bus]; i < work->into_first[bus + 1]; i++) {
            uint32_t into = work->draw->source[work->into_feeds[i]];
            counts[phase] = counts[phase] || (source != ID_NONE && into == source);
        }
    }
    for (uint32_t phase = 0; phase < work->phase_count; phase++) {
        any = any || counts[phase];
    }
    return any ? counts : NULL;
}

static Duty bus_duty(DrawWork *work, uint32_t f) {
    const ModelFeed *feed = &work->model->feeds[f];
    bool usual = work->draw->main_feed[feed->to_bus] == f;
    bool second = !usual && feed->from_bus != ID_NONE;
    Duty duty = highest(work, bus_sum(work, feed->to_bus), second ? second_phases(work, f) : NULL);
    if (!usual) {
        duty.design_a = duty.steady_a; /* nobody asks intermittent loads of a second feed */
    }
    duty.peak_a = duty.design_a;
    duty.feeds_bus = true;
    return duty;
}

/* A battery's lead: what hangs on its bus and the largest second feed that leaves it. */
static double battery_a(DrawWork *work, BusId bus) {
    double most_a = 0.0;
    for (uint32_t i = work->bus_feed_first[bus]; i < work->bus_feed_first[bus + 1]; i++) {
        uint32_t f = work->bus_feeds[i];
        BusId to = work->model->feeds[f].to_bus;
        if (to != ID_NONE && work->draw->main_feed[to] != f) {
            most_a = fmax(most_a, work->draw->feeds[f].steady_a);
        }
    }
    return highest(work, bus_sum(work, bus), NULL).steady_a + most_a;
}

static double alternator_a(const Model *model, uint32_t source) {
    const ModelOwner *owner =
        &model->owners[model_owner(model, model->set->source.rows[source].unit)];
    uint32_t row = owner->part == ID_NONE ? ID_NONE
                                          : model_row(model, TABLE_alternator,
                                                      model->set->part.rows[owner->part].part);
    return row == ID_NONE ? (double)NAN : model->set->alternator.rows[row].rated_a;
}

static void find_duties(DrawWork *work) {
    const Model *model = work->model;
    Draw *draw = work->draw;
    uint32_t count = (uint32_t)model->set->feed.count;
    for (uint32_t f = 0; f < count; f++) {
        if (model->feeds[f].usable && draw->source[f] == ID_NONE) {
            draw->feeds[f] =
                model->feeds[f].to_bus == ID_NONE ? port_duty(work, f) : bus_duty(work, f);
        }
    }
    for (uint32_t f = 0; f < count; f++) {
        if (!model->feeds[f].usable || draw->source[f] == ID_NONE) {
            continue;
        }
        double a = alternator_a(model, draw->source[f]);
        if (isnan(a)) {
            BusId bus = model->feeds[f].to_bus;
            a = bus == ID_NONE ? port_duty(work, f).design_a : battery_a(work, bus);
        }
        draw->feeds[f] = (Duty){.steady_a = a, .design_a = a, .peak_a = a, .feeds_bus = true};
    }
}

/* --- starter ------------------------------------------------------------------------------------
 */

static void find_starter(DrawWork *work) {
    const Model *model = work->model;
    Draw *draw = work->draw;
    draw->starter_feed = ID_NONE;
    const JobRow *job = &model->set->job.rows[0];
    TerminalId starter = *job->starter == '\0' ? ID_NONE : model_terminal(model, job->starter);
    if (starter == ID_NONE || isnan(job->crank_a)) {
        return;
    }
    for (uint32_t f = 0; f < model->set->feed.count && draw->starter_feed == ID_NONE; f++) {
        const ModelFeed *feed = &model->feeds[f];
        for (uint32_t i = 0; feed->usable && feed->to_bus == ID_NONE && i < feed->target_count;
             i++) {
            if (model->targets[feed->target_first + i] == starter) {
                draw->starter_feed = f;
            }
        }
    }
    /* From the starter up to the battery: every feed on the way cranks. */
    for (uint32_t f = draw->starter_feed, steps = 0; f != ID_NONE; steps++) {
        Duty *duty = &draw->feeds[f];
        duty->crank = true;
        duty->design_a = fmax(duty->design_a, job->crank_a);
        duty->peak_a = duty->design_a;
        BusId bus = model->feeds[f].from_bus;
        f = ID_NONE;
        for (uint32_t i = bus == ID_NONE ? 0 : work->into_first[bus];
             bus != ID_NONE && i < work->into_first[bus + 1]; i++) {
            uint32_t into = work->into_feeds[i];
            if (draw->source[into] != ID_NONE && !draw->alternator[draw->source[into]]) {
                f = into;
                break;
            }
        }
        if (f == ID_NONE && bus != ID_NONE && steps < model->set->bus.count) {
            f = draw->main_feed[bus];
        }
    }
}

/* --- devices upstream ---------------------------------------------------------------------------
 */

static OwnerId last_device(const Model *model, uint32_t f) {
    const ModelFeed *feed = &model->feeds[f];
    for (uint32_t s = feed->step_count; s > 0; s--) {
        const FeedStep *step = &model->steps[feed->step_first + s - 1];
        if (step->kind == STEP_PROTECTION) {
            return step->owner;
        }
    }
    return ID_NONE;
}

OwnerId draw_device_before(const Model *model, const Supply *supply, const Draw *draw, uint32_t f) {
    BusId bus = model->feeds[f].from_bus;
    if (bus != ID_NONE) {
        return draw->bus_device[bus];
    }
    return draw->giver[f] == ID_NONE ? ID_NONE : supply->loads[draw->giver[f]].device;
}

static double rating_a(const Model *model, OwnerId device) {
    double rating = model->set->protection.rows[model->owners[device].row].rating_a;
    return isnan(rating) ? 0.0 : rating;
}

/* Wires off a stud are protected by what feeds it, if every feed has a device: then by the largest.
 * A feed without a device of its own takes that of the bus it comes from. */
static OwnerId bus_device(DrawWork *work, BusId bus) {
    const Model *model = work->model;
    if (work->bus_open[bus]) {
        return work->draw->bus_device[bus];
    }
    work->bus_open[bus] = true;
    OwnerId largest = ID_NONE;
    for (uint32_t i = work->into_first[bus]; i < work->into_first[bus + 1]; i++) {
        uint32_t f = work->into_feeds[i];
        OwnerId device = last_device(model, f);
        if (device == ID_NONE && model->feeds[f].from_bus != ID_NONE) {
            device = bus_device(work, model->feeds[f].from_bus);
        }
        if (device == ID_NONE) {
            largest = ID_NONE;
            break;
        }
        if (largest == ID_NONE || rating_a(model, device) > rating_a(model, largest)) {
            largest = device;
        }
    }
    work->draw->bus_device[bus] = largest;
    return largest;
}

/* --- exported -----------------------------------------------------------------------------------
 */

static void group_feeds(DrawWork *work) {
    const Model *model = work->model;
    const Supply *supply = work->supply;
    uint32_t feeds = (uint32_t)model->set->feed.count;
    uint32_t buses = (uint32_t)model->set->bus.count;
    uint32_t *key = ARENA_ARRAY(work->scratch, uint32_t,
                                feeds > supply->load_count ? feeds : supply->load_count);
    for (uint32_t f = 0; f < feeds; f++) {
        key[f] = model->feeds[f].usable ? model->feeds[f].from_bus : ID_NONE;
    }
    group(work->scratch, key, feeds, buses, &work->bus_feed_first, &work->bus_feeds);
    for (uint32_t f = 0; f < feeds; f++) {
        key[f] = model->feeds[f].usable ? model->feeds[f].to_bus : ID_NONE;
    }
    group(work->scratch, key, feeds, buses, &work->into_first, &work->into_feeds);
    group(work->scratch, work->draw->giver, feeds, supply->load_count, &work->given_first,
          &work->given_feeds);
    for (uint32_t i = 0; i < supply->load_count; i++) {
        key[i] = supply->loads[i].feed == ID_NONE ? supply->loads[i].bus : ID_NONE;
    }
    group(work->scratch, key, supply->load_count, buses, &work->bolted_first, &work->bolted_loads);
}

static void group_loads(DrawWork *work, Arena *out) {
    const Supply *supply = work->supply;
    Draw *draw = work->draw;
    uint32_t feeds = (uint32_t)work->model->set->feed.count;
    uint32_t *key = ARENA_ARRAY(work->scratch, uint32_t, supply->load_count);
    for (uint32_t i = 0; i < supply->load_count; i++) {
        key[i] = supply->loads[i].feed;
    }
    group(out, key, supply->load_count, feeds, &draw->feed_load_first, &draw->feed_loads);
    /* In the order of the targets; few each, so by insertion. */
    for (uint32_t f = 0; f < feeds; f++) {
        uint32_t first = draw->feed_load_first[f];
        for (uint32_t i = first + 1; i < draw->feed_load_first[f + 1]; i++) {
            uint32_t load = draw->feed_loads[i];
            uint32_t place = i;
            while (place > first &&
                   supply->loads[draw->feed_loads[place - 1]].target > supply->loads[load].target) {
                draw->feed_loads[place] = draw->feed_loads[place - 1];
                place--;
            }
            draw->feed_loads[place] = load;
        }
    }
}

static void find_sources(DrawWork *work, Arena *out) {
    const Model *model = work->model;
    Draw *draw = work->draw;
    draw->alternator = ARENA_ARRAY(out, bool, model->set->source.count);
    draw->minus_source = ARENA_ARRAY(out, uint32_t, model->terminal_count);
    for (TerminalId t = 0; t < model->terminal_count; t++) {
        draw->minus_source[t] = ID_NONE;
    }
    for (uint32_t i = 0; i < model->set->source.count; i++) {
        const SourceRow *row = &model->set->source.rows[i];
        OwnerId owner = model_owner(model, row->unit);
        if (owner == ID_NONE) {
            continue;
        }
        double a = alternator_a(model, i);
        draw->alternator[i] = !isnan(a);
        draw->largest_alternator_a =
            isnan(a) ? draw->largest_alternator_a : fmax(draw->largest_alternator_a, a);
        for (uint32_t t = 0; t < model->owners[owner].terminal_count; t++) {
            TerminalId terminal = model->owners[owner].terminal_first + t;
            if (strcmp(model->terminals[terminal].name, row->minus) == 0) {
                draw->minus_source[terminal] = i;
            }
        }
    }
}

void draw_find(Arena *out, Arena *scratch, const Model *model, const Supply *supply, Draw *draw) {
    uint32_t feeds = (uint32_t)model->set->feed.count;
    uint32_t buses = (uint32_t)model->set->bus.count;
    uint32_t phases = model->set->phase.count == 0 ? 1 : (uint32_t)model->set->phase.count;
    *draw = (Draw){
        .feeds = ARENA_ARRAY(out, Duty, feeds),
        .giver = ARENA_ARRAY(out, uint32_t, feeds),
        .source = ARENA_ARRAY(out, uint32_t, feeds),
        .main_feed = ARENA_ARRAY(out, uint32_t, buses),
        .bus_device = ARENA_ARRAY(out, OwnerId, buses),
        .load_design_a = ARENA_ARRAY(out, double, supply->load_count),
    };
    DrawWork work = {
        .scratch = scratch,
        .model = model,
        .supply = supply,
        .draw = draw,
        .phase_count = phases,
        .width = (size_t)phases * DRAW_WIDTH,
        .bus_sum = ARENA_ARRAY(scratch, double *, buses),
        .load_sum = ARENA_ARRAY(scratch, double *, supply->load_count),
        .bus_open = ARENA_ARRAY(scratch, bool, buses),
        .load_open = ARENA_ARRAY(scratch, bool, supply->load_count),
        .nothing = ARENA_ARRAY(scratch, double, (size_t)phases *DRAW_WIDTH),
        .closed = ARENA_ARRAY(scratch, bool, (size_t)feeds *phases),
    };
    for (uint32_t i = 0; i < supply->load_count; i++) {
        draw->load_design_a[i] = supply->loads[i].design_a;
    }
    find_givers(&work);
    group_feeds(&work);
    group_loads(&work, out);
    find_sources(&work, out);
    find_main_feeds(&work);
    find_duties(&work);
    find_starter(&work);
    memset(work.bus_open, 0, buses * sizeof *work.bus_open);
    for (BusId bus = 0; bus < buses; bus++) {
        draw->bus_device[bus] = ID_NONE;
    }
    for (BusId bus = 0; bus < buses; bus++) {
        bus_device(&work, bus);
    }
}
