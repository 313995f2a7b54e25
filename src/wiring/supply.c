/* What boxes demand: a supply for every supply port, a ground for every return, a protective device
 * in every feed whose class asks for one, and that a box is connected at all. Exempt are the kinds
 * that model_owner_is_exempt names; a cable is exempt when its class says so (crank cables). */
#include <string.h>

#include "wiring/derive.h"

/* --- what is connected ------------------------------------------------------------------------ */

/* By terminal: a net ends there, a feed passes there, or it is bolted to something. */
static bool *connected_terminals(Deriver *deriver) {
    const Model *model = deriver->model;
    const Wiring *wiring = deriver->wiring;
    bool *connected = ARENA_ARRAY(&deriver->scratch, bool, model->terminal_count);
    for (uint32_t i = 0; i < wiring->end_count; i++) {
        connected[wiring->ends[i]] = true;
    }
    for (uint32_t i = 0; i < model->joint_count; i++) {
        connected[model->joints[i].a] = connected[model->joints[i].b] = true;
    }
    for (uint32_t i = 0; i < model->set->feed.count; i++) {
        const ModelFeed *feed = &model->feeds[i];
        if (!feed->usable) {
            continue;
        }
        for (uint32_t k = 0; k < feed->step_count; k++) {
            connected[model->steps[feed->step_first + k].in] = true;
            connected[model->steps[feed->step_first + k].out] = true;
        }
        for (uint32_t k = 0; k < feed->target_count; k++) {
            connected[model->targets[feed->target_first + k]] = true;
        }
    }
    return connected;
}

/* --- boxes ------------------------------------------------------------------------------------ */

/* What the library says of one port of a unit as supply or return of its loads. */
static void load_role(const Model *model, const char *part, const char *port, bool *supplies,
                      bool *returns) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_load, part, &count);
    *supplies = *returns = false;
    for (uint32_t i = first; i < first + count; i++) {
        const LoadRow *row = &model->set->load.rows[i];
        *supplies = *supplies || strcmp(row->port, port) == 0;
        *returns =
            *returns || (strcmp(row->return_port, port) == 0 && strcmp(row->port, port) != 0);
    }
}

static void report_ground(Deriver *deriver, const ModelOwner *owner, const char *end) {
    Finding *finding =
        report_row(deriver->findings, deriver->model, RULE_WIRE_GROUND, TABLE_unit, owner->row, "",
                   "%s has no ground: nothing returns from %s", owner->tag, end);
    report_hint(deriver->findings, finding,
                "add a `ground` row out of %s, or `case_ground` to its part", end);
}

static void report_feed(Deriver *deriver, const ModelOwner *owner, const char *end) {
    Finding *finding =
        report_row(deriver->findings, deriver->model, RULE_WIRE_FEED, TABLE_unit, owner->row, "",
                   "%s has no supply: nothing feeds %s", owner->tag, end);
    report_hint(deriver->findings, finding, "add a `feed` row onto %s", end);
}

/* Names the free ports of a box in one note. */
static void report_free_ports(Deriver *deriver, const ModelOwner *owner, const bool *connected) {
    const Model *model = deriver->model;
    Buffer names = {.arena = deriver->findings->arena};
    unsigned free_ports = 0;
    for (uint32_t i = 0; i < owner->terminal_count; i++) {
        const ModelTerminal *terminal = &model->terminals[owner->terminal_first + i];
        if (terminal->port != ID_NONE && !connected[owner->terminal_first + i]) {
            buffer_format(&names, free_ports++ == 0 ? "%s" : " %s", terminal->name);
        }
    }
    if (free_ports > 0) {
        Finding *finding =
            report_row(deriver->findings, model, RULE_WIRE_PORT, TABLE_unit, owner->row, "",
                       "%s: nothing is connected to %s", owner->tag, names.bytes);
        finding->value = free_ports;
        finding->hint = "declare a link with `spare` where the pin is to stay wired and free";
    }
}

static void check_unit(Deriver *deriver, const ModelOwner *owner, const bool *connected) {
    const Model *model = deriver->model;
    OwnerId id = (OwnerId)(owner - model->owners);
    const char *part = model->set->part.rows[owner->part].part;
    bool exempt = model_owner_is_exempt(model, id);
    bool any = false;
    bool grounded = false;
    const char *free_return = NULL;
    for (uint32_t i = 0; i < owner->terminal_count; i++) {
        TerminalId terminal = owner->terminal_first + i;
        const ModelTerminal *row = &model->terminals[terminal];
        any = any || connected[terminal];
        if (row->port == ID_NONE) {
            continue;
        }
        bool supplies = false;
        bool returns = false;
        load_role(model, part, row->name, &supplies, &returns);
        if (row->direction == DIRECTION_RET) {
            grounded = grounded || connected[terminal];
            free_return = !connected[terminal] && free_return == NULL ? row->end : free_return;
        }
        if (!exempt && !connected[terminal] && returns) {
            report_ground(deriver, owner, row->end);
            grounded = true; /* said already */
        }
        if (supplies && !connected[terminal] &&
            strcmp(model->set->part.rows[owner->part].supply, "source") != 0) {
            report_feed(deriver, owner, row->end);
        }
    }
    if (!exempt && !grounded && free_return != NULL) {
        report_ground(deriver, owner, free_return);
    }
    if (!any && owner->terminal_count > 0) {
        Finding *finding = report_row(deriver->findings, model, RULE_WIRE_UNIT, TABLE_unit,
                                      owner->row, "", "nothing is connected to %s", owner->tag);
        finding->hint = "connect it, or take it out of the job";
    } else {
        report_free_ports(deriver, owner, connected);
    }
}

/* --- devices ---------------------------------------------------------------------------------- */

static bool feed_has_device(const Model *model, const ModelFeed *feed) {
    for (uint32_t i = 0; i < feed->step_count; i++) {
        if (model->steps[feed->step_first + i].kind == STEP_PROTECTION) {
            return true;
        }
    }
    return false;
}

/* By owner: a feed with a device supplies a port of it, so what it passes on is protected too. */
static bool *protected_owners(Deriver *deriver) {
    const Model *model = deriver->model;
    bool *protected = ARENA_ARRAY(&deriver->scratch, bool, model->owner_count);
    for (uint32_t i = 0; i < model->set->feed.count; i++) {
        const ModelFeed *feed = &model->feeds[i];
        if (!feed->usable || !feed_has_device(model, feed)) {
            continue;
        }
        for (uint32_t k = 0; k < feed->target_count; k++) {
            TerminalId target = model->targets[feed->target_first + k];
            protected[model->terminals[target].owner] = true;
        }
    }
    return protected;
}

/* The first net of a feed whose class wants a device, of those that come after no box's own switch.
 * A target that is exempt by its kind of supply needs none. */
static void check_devices(Deriver *deriver) {
    const Model *model = deriver->model;
    const bool *protected = protected_owners(deriver);
    bool *reported = ARENA_ARRAY(&deriver->scratch, bool, model->set->feed.count);
    for (NetId i = 0; i < deriver->wiring->net_count; i++) {
        const Net *net = &deriver->wiring->nets[i];
        if (net->from_table != TABLE_feed || reported[net->from_row] ||
            wiring_class(model, net->class_id)->device_needed != 1) {
            continue;
        }
        const ModelFeed *feed = &model->feeds[net->from_row];
        OwnerId from = model->terminals[feed->start].owner;
        bool from_box = feed->from_bus == ID_NONE && model->owners[from].kind == OWNER_UNIT;
        TerminalId last = deriver->wiring->ends[net->end_first + net->end_count - 1];
        const ModelOwner *target = &model->owners[model->terminals[last].owner];
        bool exempt = target->kind == OWNER_UNIT &&
                      model_owner_is_exempt(model, model->terminals[last].owner);
        if (feed_has_device(model, feed) || exempt || (from_box && protected[from])) {
            continue;
        }
        reported[net->from_row] = true;
        Finding *finding =
            DERIVE_REPORT(deriver, RULE_WIRE_DEVICE, net, "through",
                          "feed %s of class %s runs from %s to %s without a protective device",
                          net->name, wiring_class(model, net->class_id)->class,
                          model->terminals[feed->start].end, model->terminals[last].end);
        finding->rows = target->tag;
        finding->hint = "name a breaker, fuse, limiter or channel in `through`";
    }
}

void derive_check_units(Deriver *deriver) {
    const Model *model = deriver->model;
    const bool *connected = connected_terminals(deriver);
    for (OwnerId i = 0; i < model->owner_count; i++) {
        if (model->owners[i].kind == OWNER_UNIT && model->owners[i].part != ID_NONE) {
            check_unit(deriver, &model->owners[i], connected);
        }
    }
    check_devices(deriver);
}
