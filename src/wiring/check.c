/* What the classes of the library demand of a net: ends, talkers, levels, cores, terminators; and
 * that no pin lies in two nets. Each net is looked at once; pins are marked as they are passed. */
#include <math.h>
#include <string.h>

#include "wiring/derive.h"

/* --- small ------------------------------------------------------------------------------------ */

static const ModelTerminal *net_end(const Deriver *deriver, const Net *net, uint32_t place) {
    return &deriver->model->terminals[deriver->wiring->ends[net->end_first + place]];
}

/* The names of all ends but the first, for Finding.rows; cut short where many. */
static const char *name_ends(Deriver *deriver, const Net *net) {
    enum { NAMED_AT_MOST = 12 };
    Buffer text = {.arena = deriver->findings->arena};
    for (uint32_t i = 0; i < net->end_count && i < NAMED_AT_MOST; i++) {
        buffer_format(&text, i == 0 ? "%s" : " %s", net_end(deriver, net, i)->end);
    }
    return net->end_count == 0 ? "" : text.bytes;
}

static void report_count(Deriver *deriver, const Net *net, RuleId rule, const char *what,
                         unsigned found, int32_t limit, const char *hint) {
    const InterfaceRow *class = wiring_class(deriver->model, net->class_id);
    Finding *finding =
        DERIVE_REPORT(deriver, rule, net, "ends", "circuit %s has %u %s, class %s allows %d",
                      net->name, found, what, class->class, limit);
    report_values(finding, found, limit, "", class->source);
    finding->rows = name_ends(deriver, net);
    finding->hint = hint;
}

/* --- ends ------------------------------------------------------------------------------------- */

/* True when the net has both ends a net needs. */
static bool check_end_count(Deriver *deriver, const Net *net) {
    if (net->spare && net->end_count > 1) {
        Finding *finding = DERIVE_REPORT(deriver, RULE_WIRE_SPARE, net, "spare",
                                         "circuit %s is declared spare but joins %u ends",
                                         net->name, net->end_count);
        finding->rows = name_ends(deriver, net);
        finding->hint = "take `spare` away, or the other ends";
    }
    if (net->end_count > 1 || net->spare) {
        return net->end_count > 1;
    }
    Finding *finding =
        DERIVE_REPORT(deriver, RULE_WIRE_ONE_END, net, "ends", "%s %s has one end: %s",
                      net->join == JOIN_CHAIN ? "chain" : "circuit", net->name,
                      net->end_count == 1 ? net_end(deriver, net, 0)->end : "");
    report_values(finding, net->end_count, 2, "", NULL);
    finding->hint = "name the other end, or declare it spare";
    return false;
}

/* `mark` is by terminal and holds the last net that passed; nets are numbered from 1 here. */
static void check_twice(Deriver *deriver, const Net *net, uint32_t id, uint32_t *mark) {
    for (uint32_t i = 0; i < net->end_count; i++) {
        TerminalId terminal = deriver->wiring->ends[net->end_first + i];
        if (mark[terminal] == id + 1) {
            Finding *finding = DERIVE_REPORT(deriver, RULE_WIRE_TWICE, net, "ends",
                                             "%s stands twice in circuit %s",
                                             deriver->model->terminals[terminal].end, net->name);
            finding->rows = name_ends(deriver, net);
            finding->hint = "a wire would come back to where it left; take one of them out";
        }
        mark[terminal] = id + 1;
    }
}

/* A bus may be a port of a box; what leaves a bus is of the class of what it supplies. */
static bool leaves_bus(const Model *model, const Net *net) {
    return net->from_table == TABLE_feed && net->leg == 0 &&
           model->feeds[net->from_row].from_bus != ID_NONE;
}

static void check_classes(Deriver *deriver, const Net *net) {
    const Model *model = deriver->model;
    const InterfaceRow *class = wiring_class(model, net->class_id);
    for (uint32_t i = leaves_bus(model, net) ? 1 : 0; i < net->end_count; i++) {
        const ModelTerminal *end = net_end(deriver, net, i);
        if (end->class_id == ID_NONE || end->class_id == net->class_id) {
            continue;
        }
        Finding *finding =
            DERIVE_REPORT(deriver, RULE_WIRE_CLASS, net, "",
                          "%s is a port of class %s, circuit %s is of class %s", end->end,
                          wiring_class(model, end->class_id)->class, net->name, class->class);
        finding->rows = name_ends(deriver, net);
        finding->hint = "join ports of one class, or mend the class of the row or port";
    }
}

/* Which core is missing, by its name in the library: "signal ground". */
static const char *core_name(const Deriver *deriver, ClassId class_id, int32_t core) {
    const TableSet *set = deriver->model->set;
    uint32_t count = 0;
    uint32_t first = model_rows_of(deriver->model, TABLE_interface_core,
                                   wiring_class(deriver->model, class_id)->class, &count);
    for (uint32_t i = first; i < first + count; i++) {
        if (set->interface_core.rows[i].core == core) {
            return set->interface_core.rows[i].name;
        }
    }
    return "";
}

static void check_cores(Deriver *deriver, const Net *net) {
    const InterfaceRow *class = wiring_class(deriver->model, net->class_id);
    for (uint32_t i = 0; i < net->end_count; i++) {
        const ModelTerminal *end = net_end(deriver, net, i);
        if (end->pin_count == net->core_count) {
            continue;
        }
        const char *missing = end->pin_count < net->core_count
                                  ? core_name(deriver, net->class_id, end->pin_count + 1)
                                  : "";
        Finding *finding = DERIVE_REPORT(
            deriver, RULE_WIRE_CORES, net, "ends",
            "%s has %d pin%s, circuit %s of class %s lays %d core%s%s%s%s", end->end,
            end->pin_count, end->pin_count == 1 ? "" : "s", net->name, class->class,
            net->core_count, net->core_count == 1 ? "" : "s",
            *missing == '\0' ? "" : ": without \"", missing, *missing == '\0' ? "" : "\"");
        report_values(finding, end->pin_count, net->core_count, "cores", class->source);
        finding->rows = name_ends(deriver, net);
        finding->hint = "complete the port's pins in the library, or mend the class";
    }
}

/* --- who talks -------------------------------------------------------------------------------- */

static void report_talkers(Deriver *deriver, const Net *net, unsigned talkers, unsigned takers) {
    const InterfaceRow *class = wiring_class(deriver->model, net->class_id);
    Finding *finding =
        talkers == 0 ? DERIVE_REPORT(deriver, RULE_WIRE_TALKERS, net, "ends",
                                     "nobody talks on circuit %s: %s", net->name,
                                     takers == 2 ? "receive to receive" : "all ends receive")
        : takers == 0 && net->end_count == talkers
            ? DERIVE_REPORT(deriver, RULE_WIRE_TALKERS, net, "ends",
                            "circuit %s joins transmit to transmit: %s and %s", net->name,
                            net_end(deriver, net, 0)->end, net_end(deriver, net, 1)->end)
            : DERIVE_REPORT(deriver, RULE_WIRE_TALKERS, net, "ends",
                            "circuit %s has %u talkers, class %s allows %d", net->name, talkers,
                            class->class, class->talkers_max);
    report_values(finding, talkers, class->talkers_max, "talkers", class->source);
    finding->rows = name_ends(deriver, net);
    finding->hint = talkers == 0 || takers == 0 ? "join a port that gives with one that takes"
                                                : "give each talker a circuit of its own";
}

static void check_talkers(Deriver *deriver, const Net *net) {
    const InterfaceRow *class = wiring_class(deriver->model, net->class_id);
    unsigned talkers = 0;
    unsigned takers = 0;
    unsigned others = 0;
    for (uint32_t i = 0; i < net->end_count; i++) {
        switch (net_end(deriver, net, i)->direction) {
        case DIRECTION_OUT:
            talkers++;
            break;
        case DIRECTION_IN:
            takers++;
            break;
        case DIRECTION_NONE:
        case DIRECTION_BI:
        case DIRECTION_RET:
            others++;
            break;
        }
    }
    if (class->talkers_max != INT_BLANK &&
        (talkers > (unsigned)class->talkers_max || (talkers == 0 && others == 0))) {
        report_talkers(deriver, net, talkers, takers);
    }
    if (class->listeners_max != INT_BLANK && takers > (unsigned)class->listeners_max) {
        report_count(deriver, net, RULE_WIRE_LISTENERS, "listeners", takers, class->listeners_max,
                     "take listeners off, or give some of them another talker");
    }
    if (class->ends_max != INT_BLANK && net->end_count > (unsigned)class->ends_max) {
        report_count(deriver, net, RULE_WIRE_ENDS, "ends", net->end_count, class->ends_max,
                     "split the circuit");
    }
}

/* --- active levels ---------------------------------------------------------------------------- */

static const char *level_name(Level level) {
    static const char *const NAMES[] = {"not stated", "low", "high", "analogue"};
    return NAMES[level];
}

static void check_levels(Deriver *deriver, const Net *net) {
    const InterfaceRow *class = wiring_class(deriver->model, net->class_id);
    const ModelTerminal *first = NULL;
    for (uint32_t i = 0; i < net->end_count; i++) {
        const ModelTerminal *end = net_end(deriver, net, i);
        if (end->port == ID_NONE) {
            continue;
        }
        if (end->level == LEVEL_NONE && class->level_needed == 1) {
            Finding *finding = DERIVE_REPORT(
                deriver, RULE_WIRE_LEVEL, net, "",
                "%s does not state its active level; class %s demands one", end->end, class->class);
            finding->source = class->source;
            finding->rows = name_ends(deriver, net);
            finding->hint = "write low, high or analogue in the port's row, from the box's manual";
        }
        if (end->level == LEVEL_NONE) {
            continue;
        }
        if (first == NULL) {
            first = end;
        } else if (first->level != end->level) {
            Finding *finding = DERIVE_REPORT(
                deriver, RULE_WIRE_LEVELS, net, "", "%s is active %s, %s is active %s", first->end,
                level_name(first->level), end->end, level_name(end->level));
            finding->rows = name_ends(deriver, net);
            finding->hint = "an inverted input reads the opposite: set the box up for the other "
                            "level, or put an inverter between";
        }
    }
}

/* --- terminators ------------------------------------------------------------------------------ */

static Finding *report_terminator(Deriver *deriver, uint32_t row, const char *column,
                                  const char *text) {
    return report_row(deriver->findings, deriver->model, RULE_WIRE_TERMINATOR, TABLE_terminator,
                      row, column, "%s", text);
}

/* Counts the fitted terminators of a net in count[]: at its two ends, and elsewhere. */
static unsigned count_terminators(Deriver *deriver, const Net *net, bool at_end[2]) {
    const Model *model = deriver->model;
    const InterfaceRow *class = wiring_class(model, net->class_id);
    uint32_t rows = 0;
    uint32_t first = model_rows_of(model, TABLE_terminator, net->name, &rows);
    unsigned fitted = 0;
    for (uint32_t i = first; i < first + rows; i++) {
        const TerminatorRow *row = &model->set->terminator.rows[i];
        TerminalId terminal = model_terminal(model, row->port);
        bool found = false;
        bool last = false;
        for (uint32_t k = 0; k < net->end_count && terminal != ID_NONE; k++) {
            bool here = deriver->wiring->ends[net->end_first + k] == terminal;
            found = found || here;
            if (here && (k == 0 || k + 1 == net->end_count)) {
                last = true;
                at_end[k == 0 ? 0 : 1] = at_end[k == 0 ? 0 : 1] || row->fitted != 0;
            }
        }
        if (!found) {
            Finding *finding =
                report_terminator(deriver, i, "port", "this port is not on the chain");
            finding->rows = name_ends(deriver, net);
            finding->hint = "name the first or last port of the chain";
        } else if (row->fitted != 0 && !last) {
            Finding *finding =
                report_terminator(deriver, i, "port", "a terminator in the middle of the chain");
            finding->rows = name_ends(deriver, net);
            finding->hint = "terminators belong at the first and last port: move it, or the order";
        } else if (row->fitted != 0 && fabs(row->ohm - class->terminator_ohm) > 0.5) {
            Finding *finding =
                report_terminator(deriver, i, "ohm", "another resistance than the class wants");
            report_values(finding, row->ohm, class->terminator_ohm, "ohm", class->source);
        }
        fitted += row->fitted != 0 && found;
    }
    return fitted;
}

static void check_terminators(Deriver *deriver, const Net *net) {
    const InterfaceRow *class = wiring_class(deriver->model, net->class_id);
    if (class->terminators <= 0) {
        return;
    }
    bool at_end[2] = {false, false};
    unsigned fitted = count_terminators(deriver, net, at_end);
    if (fitted == (unsigned)class->terminators && (fitted < 2 || (at_end[0] && at_end[1]))) {
        return;
    }
    Finding *finding = DERIVE_REPORT(
        deriver, RULE_WIRE_TERMINATOR, net, "",
        "chain %s has %u terminators fitted, %s at %s and %s at %s; class %s wants %d", net->name,
        fitted, at_end[0] ? "one" : "none", net_end(deriver, net, 0)->end,
        at_end[1] ? "one" : "none", net_end(deriver, net, net->end_count - 1)->end, class->class,
        class->terminators);
    report_values(finding, fitted, class->terminators, "terminators", class->source);
    finding->rows = name_ends(deriver, net);
    finding->hint = "fit one at each end of the chain and nowhere else";
}

/* Terminators of chains that are not there. */
static void check_terminator_rows(Deriver *deriver) {
    const TableSet *set = deriver->model->set;
    for (uint32_t i = 0; i < set->terminator.count; i++) {
        if (name_map_find(&deriver->wiring->net_by_name, set->terminator.rows[i].link) ==
            NAME_NONE) {
            Finding *finding =
                report_terminator(deriver, i, "link", "no single circuit comes from this link");
            finding->hint = "terminators belong to links that are one chain";
        }
    }
}

/* --- pins and lugs ---------------------------------------------------------------------------- */

/* How many circuits may land on a pin: a crimped, soldered or coaxial contact and a tab one, a ring
 * on a stud as many as the limit of lugs. What the library does not say is taken for a stud. */
static unsigned circuits_max(const Model *model, PinId pin, unsigned lugs_max) {
    ContactId contact = model->pins[pin].contact;
    if (contact == ID_NONE) {
        return *model->pins[pin].connector == '\0' ? lugs_max : 1;
    }
    return strcmp(model->set->contact.rows[contact].kind, "ring") == 0 ? lugs_max : 1;
}

static void report_pin(Deriver *deriver, const Net *net, PinId pin, unsigned lugs, unsigned most) {
    const Model *model = deriver->model;
    const ModelTerminal *terminal = &model->terminals[model->pins[pin].terminal];
    const Net *other = &deriver->wiring->nets[deriver->wiring->pin_net[pin]];
    if (most > 1) {
        const LimitRow *limit = model_limit_row(model, WIRING_LIMIT_LUGS);
        Finding *finding = DERIVE_REPORT(deriver, RULE_WIRE_LUGS, net, "",
                                         "%s carries more than %u lugs", terminal->end, most);
        report_values(finding, lugs, most, "lugs", limit->source);
        finding->hint = "take another stud, or a bar over two";
        return;
    }
    Finding *finding =
        DERIVE_REPORT(deriver, RULE_WIRE_PIN, net, "", "%s is in two circuits: %s and %s",
                      terminal->end, other->name, net->name);
    finding->rows = other->name;
    finding->hint = *model->pins[pin].connector == '\0'
                        ? "a tab takes one lug: name another tab"
                        : "chain both in one circuit, or mend the end of one of them";
}

/* Marks the pins of a net's ends; `lugs` counts what lands on each terminal. A ring in a chain
 * holds two wires. */
static void mark_pins(Deriver *deriver, NetId id, unsigned *lugs, unsigned lugs_max) {
    const Model *model = deriver->model;
    Wiring *wiring = deriver->wiring;
    const Net *net = &wiring->nets[id];
    for (uint32_t i = 0; i < net->end_count; i++) {
        TerminalId terminal = wiring->ends[net->end_first + i];
        const ModelTerminal *row = &model->terminals[terminal];
        if (row->pin_count == 0) {
            continue;
        }
        unsigned most = circuits_max(model, row->pin_first, lugs_max);
        bool middle = net->join == JOIN_CHAIN && i > 0 && i + 1 < net->end_count;
        unsigned hub = net->join == JOIN_HUB && i == 0 ? net->cable_count : 1;
        bool taken = wiring->pin_net[row->pin_first] != ID_NONE;
        unsigned before = lugs[terminal];
        lugs[terminal] += most == 1 ? 1 : (middle ? 2 : hub);
        bool other = taken && wiring->pin_net[row->pin_first] != id;
        bool many = lugs[terminal] > most && before <= most;
        if (most > 1 ? many : other) {
            report_pin(deriver, net, row->pin_first, lugs[terminal], most);
        }
        for (uint32_t core = 0; core < row->pin_count && !taken; core++) {
            wiring->pin_net[row->pin_first + core] = id;
        }
    }
}

/* More tabs named than the block has; a stud's own ring terminals are counted only where the point
 * is nothing but studs. */
static void check_tabs(Deriver *deriver) {
    const Model *model = deriver->model;
    for (OwnerId i = 0; i < model->owner_count; i++) {
        const ModelOwner *owner = &model->owners[i];
        if (owner->kind != OWNER_GROUND) {
            continue;
        }
        const GroundPointRow *point = &model->set->ground_point.rows[owner->row];
        bool block = strcmp(point->kind, "block") == 0;
        unsigned used = 0;
        for (uint32_t k = 0; k < owner->terminal_count; k++) {
            const ModelTerminal *terminal = &model->terminals[owner->terminal_first + k];
            bool connected =
                terminal->pin_count > 0 && deriver->wiring->pin_net[terminal->pin_first] != ID_NONE;
            bool tab = !block || terminal->pin_count == 0 ||
                       circuits_max(model, terminal->pin_first, 4) == 1;
            used += connected && tab;
        }
        if (point->tabs != INT_BLANK && used > (unsigned)point->tabs) {
            Finding *finding = report_row(
                deriver->findings, model, RULE_WIRE_TABS, TABLE_ground_point, owner->row, "tabs",
                "%s has %d tabs, %u are in use", point->point, point->tabs, used);
            report_values(finding, used, point->tabs, "tabs", NULL);
            finding->hint = "take a larger block, or lead some returns to another";
        }
    }
}

static void check_pins(Deriver *deriver) {
    const Model *model = deriver->model;
    Wiring *wiring = deriver->wiring;
    wiring->pin_net = ARENA_ARRAY(deriver->out, NetId, model->pin_count);
    memset(wiring->pin_net, 0xff, model->pin_count * sizeof *wiring->pin_net);
    unsigned *lugs = ARENA_ARRAY(&deriver->scratch, unsigned, model->terminal_count);
    double limit = model_limit(model, WIRING_LIMIT_LUGS);
    unsigned lugs_max = limit >= 1.0 && limit < UINT16_MAX ? (unsigned)limit : 1;
    for (NetId i = 0; i < wiring->net_count; i++) {
        mark_pins(deriver, i, lugs, lugs_max);
    }
    check_tabs(deriver);
}

/* --- all -------------------------------------------------------------------------------------- */

void derive_check_nets(Deriver *deriver) {
    Wiring *wiring = deriver->wiring;
    uint32_t *mark = ARENA_ARRAY(&deriver->scratch, uint32_t, deriver->model->terminal_count);
    for (NetId i = 0; i < wiring->net_count; i++) {
        const Net *net = &wiring->nets[i];
        if (!check_end_count(deriver, net)) {
            continue;
        }
        check_twice(deriver, net, i, mark);
        check_classes(deriver, net);
        check_cores(deriver, net);
        check_talkers(deriver, net);
        check_levels(deriver, net);
        check_terminators(deriver, net);
    }
    check_terminator_rows(deriver);
    check_pins(deriver);
}
