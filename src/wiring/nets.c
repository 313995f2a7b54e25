/* Rows to nets. A feed row is cut into legs: a leg is the wire between two devices of the row that
 * are not bolted together. A ground, link or pin_net row is one net; a link between groups of ports
 * is crossed, what one group gives to what the other takes. Every row gives its nets whatever else
 * stands in the table, so the order of rows does not matter; nets are sorted by name at the end. */
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "wiring/derive.h"

/* --- words ------------------------------------------------------------------------------------ */

static Join read_join(const char *word) {
    if (strcmp(word, "chain") == 0) {
        return JOIN_CHAIN;
    }
    return strcmp(word, "hub at first") == 0 ? JOIN_HUB : JOIN_POINT;
}

static Lane read_lane(const char *word) {
    if (strcmp(word, "A") == 0) {
        return LANE_A;
    }
    if (strcmp(word, "B") == 0) {
        return LANE_B;
    }
    return *word == '\0' ? LANE_NONE : LANE_CROSS;
}

static uint8_t read_group(const char *word) {
    return strcmp(word, "2") == 0 ? 2 : 1;
}

static bool kind_is(const Model *model, ClassId class_id, const char *kind) {
    return class_id != ID_NONE && strcmp(wiring_class(model, class_id)->kind, kind) == 0;
}

static ClassId find_class(const Model *model, const char *name) {
    return *name == '\0' ? ID_NONE : name_map_find(&model->class_by_name, name);
}

/* --- adding ----------------------------------------------------------------------------------- */

/* A net without ends; fill in, then add its ends. */
static Net *add_net(Deriver *deriver, const char *name, ClassId class_id, TableId table,
                    uint32_t row) {
    Wiring *wiring = deriver->wiring;
    int32_t cores = wiring_class(deriver->model, class_id)->cores;
    size_t count = wiring->net_count;
    Net *net = ARENA_PUSH(deriver->out, wiring->nets, count, deriver->net_capacity);
    wiring->net_count = (uint32_t)count;
    *net = (Net){
        .name = name,
        .class_id = class_id,
        .core_count = (uint16_t)(cores < 0 ? 0 : (cores > UINT16_MAX ? UINT16_MAX : cores)),
        .group = 1,
        .from_table = table,
        .from_row = row,
        .given_awg = INT_BLANK,
        .end_first = wiring->end_count,
    };
    return net;
}

static void add_end(Deriver *deriver, Net *net, TerminalId terminal) {
    Wiring *wiring = deriver->wiring;
    size_t count = wiring->end_count;
    *ARENA_PUSH(deriver->out, wiring->ends, count, deriver->end_capacity) = terminal;
    wiring->end_count = (uint32_t)count;
    net->end_count++;
}

/* How the ends are joined: as the row says, else point to point for two ends (a class that wants
 * terminators stays a chain), else as the class. */
static void set_join(Deriver *deriver, Net *net, const char *word) {
    const InterfaceRow *class = wiring_class(deriver->model, net->class_id);
    if (*word != '\0') {
        net->join = read_join(word);
    } else if (net->end_count > 2 || class->terminators > 0) {
        net->join = read_join(class->join);
    } else {
        net->join = JOIN_POINT;
    }
    if (net->join == JOIN_POINT && net->end_count > 2) {
        Finding *finding =
            DERIVE_REPORT(deriver, RULE_WIRE_JOIN, net, "",
                          "circuit %s of class %s has %u ends, and nothing says how to join them",
                          net->name, class->class, net->end_count);
        report_hint(deriver->findings, finding, "write `chain` or `hub at first`");
        net->join = JOIN_CHAIN;
    }
}

/* --- feeds ------------------------------------------------------------------------------------ */

static ClassId port_class(const Model *model, TerminalId terminal) {
    return model->terminals[terminal].class_id;
}

/* Coils are named so by the table of switchgear. */
static bool is_coil(const Model *model, TerminalId terminal) {
    const ModelTerminal *row = &model->terminals[terminal];
    return model->owners[row->owner].kind == OWNER_SWITCHGEAR &&
           (strcmp(row->name, "C+") == 0 || strcmp(row->name, "C-") == 0);
}

/* What a feed is for as a whole: the class of its legs between devices. A single-core supply class
 * of the port finally supplied; the heavy class of the port it leaves from; else common supply. */
static ClassId feed_class(const Model *model, const ModelFeed *feed) {
    for (uint32_t i = 0; i < feed->target_count; i++) {
        ClassId class_id = port_class(model, model->targets[feed->target_first + i]);
        bool single = class_id != ID_NONE && wiring_class(model, class_id)->cores == 1;
        if (single && (kind_is(model, class_id, "power") || kind_is(model, class_id, "heavy"))) {
            return class_id;
        }
    }
    ClassId start = port_class(model, feed->start);
    return kind_is(model, start, "heavy") ? start : find_class(model, WIRING_CLASS_SUPPLY);
}

static ClassId leg_class(const Model *model, const ModelFeed *feed, ClassId given, TerminalId from,
                         TerminalId to) {
    if (given != ID_NONE) {
        return given;
    }
    if (port_class(model, to) != ID_NONE) {
        return port_class(model, to);
    }
    if (is_coil(model, to)) {
        return find_class(model, WIRING_CLASS_CONTROL);
    }
    ClassId leaving = port_class(model, from);
    if (leaving != ID_NONE && !kind_is(model, leaving, "return")) {
        return leaving;
    }
    return feed_class(model, feed);
}

static bool report_no_class(Deriver *deriver, TableId table, uint32_t row, ClassId class_id) {
    if (class_id != ID_NONE) {
        return false;
    }
    Finding *finding =
        report_row(deriver->findings, deriver->model, RULE_WIRE_NO_CLASS, table, row, "class",
                   "no class follows from the ends of this circuit, and the row gives none");
    report_hint(deriver->findings, finding, "write the class, or add class %s to the library",
                WIRING_CLASS_CONTROL);
    return true;
}

/* One leg from `from` to `to`. Returns the net, NULL when it has no class. */
static Net *add_leg(Deriver *deriver, uint32_t row, const ModelFeed *feed, uint16_t leg,
                    TerminalId from, TerminalId to) {
    const Model *model = deriver->model;
    const FeedRow *cell = &model->set->feed.rows[row];
    ClassId class_id = leg_class(model, feed, find_class(model, cell->class), from, to);
    if (report_no_class(deriver, TABLE_feed, row, class_id)) {
        return NULL;
    }
    const char *name =
        leg == 0 ? cell->feed : arena_format(deriver->out, "%s.%d", cell->feed, leg + 1);
    Net *net = add_net(deriver, name, class_id, TABLE_feed, row);
    net->leg = leg;
    net->lane = read_lane(cell->lane);
    net->group = read_group(cell->group);
    net->given_awg = cell->awg;
    add_end(deriver, net, from);
    add_end(deriver, net, to);
    return net;
}

static void add_feed(Deriver *deriver, uint32_t row) {
    const Model *model = deriver->model;
    const ModelFeed *feed = &model->feeds[row];
    uint16_t leg = 0;
    TerminalId from = feed->start;
    bool bolted = false;
    for (uint32_t i = 0; i < feed->step_count; i++) {
        const FeedStep *step = &model->steps[feed->step_first + i];
        if (!bolted && !step->in_bolted && from != step->in &&
            add_leg(deriver, row, feed, leg, from, step->in) != NULL) {
            leg++;
        }
        from = step->out;
        bolted = step->out_bolted;
    }
    if (feed->target_count == 0) {
        return;
    }
    const TerminalId *targets = &model->targets[feed->target_first];
    uint32_t next = 0;
    if (bolted || from == targets[0]) {
        from = targets[next++]; /* no wire to the first one; the others hang on it */
    }
    if (next == feed->target_count) {
        return;
    }
    Net *net = add_leg(deriver, row, feed, leg, from, targets[next++]);
    for (; net != NULL && next < feed->target_count; next++) {
        add_end(deriver, net, targets[next]);
    }
    if (net != NULL) {
        net->join = net->end_count > 2 ? JOIN_CHAIN : JOIN_POINT;
    }
}

/* --- grounds, explicit nets ------------------------------------------------------------------- */

static void add_row_ends(Deriver *deriver, Net *net, const ModelEnds *ends) {
    for (uint32_t i = 0; i < ends->count; i++) {
        add_end(deriver, net, deriver->model->targets[ends->first + i]);
    }
}

/* A ground has the class of the first port it starts from where that is heavy or a return. */
static void add_ground(Deriver *deriver, uint32_t row) {
    const Model *model = deriver->model;
    const GroundRow *cell = &model->set->ground.rows[row];
    const ModelEnds *ends = &model->grounds[row];
    ClassId class_id = find_class(model, cell->class);
    for (uint32_t i = 0; i < ends->count && class_id == ID_NONE; i++) {
        ClassId port = port_class(model, model->targets[ends->first + i]);
        if (kind_is(model, port, "heavy") || kind_is(model, port, "return")) {
            class_id = port;
        }
    }
    if (class_id == ID_NONE) {
        class_id = find_class(model, WIRING_CLASS_RETURN);
    }
    if (ends->count == 0 || report_no_class(deriver, TABLE_ground, row, class_id)) {
        return;
    }
    Net *net = add_net(deriver, cell->ground, class_id, TABLE_ground, row);
    net->lane = read_lane(cell->lane);
    net->group = read_group(cell->group);
    net->given_awg = cell->awg;
    add_row_ends(deriver, net, ends);
    net->join = net->end_count > 2 ? JOIN_CHAIN : JOIN_POINT;
}

static void add_pin_net(Deriver *deriver, uint32_t row) {
    const Model *model = deriver->model;
    const PinNetRow *cell = &model->set->pin_net.rows[row];
    const ModelEnds *ends = &model->pin_nets[row];
    ClassId class_id = find_class(model, cell->class);
    if (ends->count == 0 || report_no_class(deriver, TABLE_pin_net, row, class_id)) {
        return;
    }
    Net *net = add_net(deriver, cell->net, class_id, TABLE_pin_net, row);
    net->lane = read_lane(cell->lane);
    net->group = read_group(cell->group);
    net->given_awg = cell->awg;
    add_row_ends(deriver, net, ends);
    set_join(deriver, net, cell->join);
}

/* --- links ------------------------------------------------------------------------------------ */

static Net *add_link_net(Deriver *deriver, uint32_t row, const char *name, ClassId class_id) {
    const LinkRow *cell = &deriver->model->set->link.rows[row];
    Net *net = add_net(deriver, name, class_id, TABLE_link, row);
    net->lane = read_lane(cell->lane);
    net->group = read_group(cell->group);
    net->given_awg = cell->awg;
    net->spare = cell->spare == 1;
    return net;
}

/* The class of the row, else of the first port that has one; control when only devices meet. */
static ClassId link_class(const Model *model, uint32_t row) {
    ClassId class_id = find_class(model, model->set->link.rows[row].class);
    const ModelEnds *ends = &model->links[row];
    for (uint32_t i = 0; i < ends->count && class_id == ID_NONE; i++) {
        class_id = port_class(model, model->targets[ends->first + i]);
    }
    return class_id != ID_NONE ? class_id : find_class(model, WIRING_CLASS_CONTROL);
}

static void add_plain_link(Deriver *deriver, uint32_t row) {
    const Model *model = deriver->model;
    const LinkRow *cell = &model->set->link.rows[row];
    const ModelEnds *ends = &model->links[row];
    ClassId class_id = link_class(model, row);
    if (report_no_class(deriver, TABLE_link, row, class_id)) {
        return;
    }
    Net *net = add_link_net(deriver, row, cell->link, class_id);
    add_row_ends(deriver, net, ends);
    if (net->end_count == 2) { /* who talks comes first */
        TerminalId *end = &deriver->wiring->ends[net->end_first];
        Direction first = model->terminals[end[0]].direction;
        Direction second = model->terminals[end[1]].direction;
        if (second == DIRECTION_OUT && first != DIRECTION_OUT) {
            TerminalId talker = end[1];
            end[1] = end[0];
            end[0] = talker;
        }
    }
    set_join(deriver, net, cell->join);
}

/* What one end of a crossed link gives and takes. */
typedef struct CrossEnd {
    const char *name; /* as written */
    TerminalId out;
    TerminalId in;
    TerminalId both;
    unsigned out_count;
    unsigned in_count;
} CrossEnd;

static void add_cross_port(const Model *model, CrossEnd *end, TerminalId terminal) {
    switch (model->terminals[terminal].direction) {
    case DIRECTION_OUT:
        end->out = end->out_count++ == 0 ? terminal : end->out;
        break;
    case DIRECTION_IN:
        end->in = end->in_count++ == 0 ? terminal : end->in;
        break;
    case DIRECTION_BI:
        end->both = end->both == ID_NONE ? terminal : end->both;
        break;
    case DIRECTION_NONE:
    case DIRECTION_RET:
        break;
    }
}

/* The ports behind one word of a crossed link: a port by its own name stands for itself, else for
 * all ports of its group that have the class (any class when none is given). */
static CrossEnd read_cross_end(const Model *model, const char *word, TerminalId any,
                               ClassId class_id) {
    CrossEnd end = {.name = word, .out = ID_NONE, .in = ID_NONE, .both = ID_NONE};
    const ModelTerminal *terminal = &model->terminals[any];
    if (strcmp(word, terminal->end) == 0) {
        add_cross_port(model, &end, any);
        return end;
    }
    const ModelOwner *owner = &model->owners[terminal->owner];
    const char *group = model->set->port.rows[terminal->port].group;
    for (uint32_t i = 0; i < owner->terminal_count; i++) {
        const ModelTerminal *port = &model->terminals[owner->terminal_first + i];
        if (port->port != ID_NONE && strcmp(model->set->port.rows[port->port].group, group) == 0 &&
            (class_id == ID_NONE || port->class_id == class_id)) {
            add_cross_port(model, &end, owner->terminal_first + i);
        }
    }
    return end;
}

/* Net of what end `talker` gives to all others; false when it gives nothing or nobody takes it. */
static bool add_crossing(Deriver *deriver, uint32_t row, ClassId given, const CrossEnd *ends,
                         size_t count, size_t talker, const char *name) {
    const Model *model = deriver->model;
    if (ends[talker].out == ID_NONE) {
        return false;
    }
    uint32_t listeners = 0;
    for (size_t i = 0; i < count; i++) {
        listeners += i != talker && ends[i].in != ID_NONE;
    }
    if (listeners == 0) {
        return false;
    }
    ClassId class_id = given != ID_NONE ? given : port_class(model, ends[talker].out);
    if (report_no_class(deriver, TABLE_link, row, class_id)) {
        return true;
    }
    Net *net = add_link_net(deriver, row, name, class_id);
    add_end(deriver, net, ends[talker].out);
    for (size_t i = 0; i < count; i++) {
        if (i != talker && ends[i].in != ID_NONE) {
            add_end(deriver, net, ends[i].in);
        }
    }
    set_join(deriver, net, model->set->link.rows[row].join);
    return true;
}

/* Groups that only hold two-way ports are joined port to port. */
static bool add_two_way(Deriver *deriver, uint32_t row, ClassId given, const CrossEnd *ends,
                        size_t count) {
    const Model *model = deriver->model;
    for (size_t i = 0; i < count; i++) {
        if (ends[i].both == ID_NONE) {
            return false;
        }
    }
    const LinkRow *cell = &model->set->link.rows[row];
    ClassId class_id = given != ID_NONE ? given : port_class(model, ends[0].both);
    if (report_no_class(deriver, TABLE_link, row, class_id)) {
        return true;
    }
    Net *net = add_link_net(deriver, row, cell->link, class_id);
    for (size_t i = 0; i < count; i++) {
        add_end(deriver, net, ends[i].both);
    }
    set_join(deriver, net, cell->join);
    return true;
}

static void report_cross(Deriver *deriver, uint32_t row, const CrossEnd *end) {
    Finding *finding = report_row(deriver->findings, deriver->model, RULE_WIRE_CROSS, TABLE_link,
                                  row, "ends", "%s has %u ports that give and %u that take",
                                  end->name, end->out_count, end->in_count);
    report_hint(deriver->findings, finding,
                "a group that is crossed has at most one of each; name ports instead of the group");
}

static void add_crossed_link(Deriver *deriver, uint32_t row) {
    const Model *model = deriver->model;
    const LinkRow *cell = &model->set->link.rows[row];
    const ModelEnds *ends = &model->links[row];
    char **words = NULL;
    size_t count = text_split(&deriver->scratch, cell->ends, &words);
    CHECK(count == ends->count);
    ClassId given = find_class(model, cell->class);
    CrossEnd *cross = ARENA_ARRAY(&deriver->scratch, CrossEnd, count);
    size_t talkers = 0;
    for (size_t i = 0; i < count; i++) {
        cross[i] = read_cross_end(model, words[i], model->targets[ends->first + i], given);
        if (cross[i].out_count > 1 || cross[i].in_count > 1) {
            report_cross(deriver, row, &cross[i]);
        }
    }
    for (size_t i = 0; i < count; i++) {
        bool heard = false;
        for (size_t k = 0; k < count && cross[i].out != ID_NONE; k++) {
            heard = heard || (k != i && cross[k].in != ID_NONE);
        }
        talkers += heard;
    }
    size_t added = 0;
    for (size_t i = 0; i < count; i++) {
        const char *name = talkers == 1 ? cell->link
                                        : arena_format(deriver->out, "%s.%c", cell->link,
                                                       (char)('a' + (int)(added % 26)));
        added += add_crossing(deriver, row, given, cross, count, i, name);
    }
    if (added == 0 && !add_two_way(deriver, row, given, cross, count)) {
        Finding *finding =
            report_row(deriver->findings, model, RULE_WIRE_CROSS, TABLE_link, row, "ends",
                       "nothing that one end of %s gives is taken at another", cell->link);
        report_hint(deriver->findings, finding, "join a group that gives with one that takes");
    }
}

/* --- order ------------------------------------------------------------------------------------ */

static int compare_nets(const void *left, const void *right) {
    const Net *a = left;
    const Net *b = right;
    int order = text_compare_keys(a->name, b->name);
    if (order != 0) {
        return order;
    }
    if (a->from_table != b->from_table) {
        return a->from_table < b->from_table ? -1 : 1;
    }
    if (a->from_row != b->from_row) {
        return a->from_row < b->from_row ? -1 : 1;
    }
    return (int)a->leg - (int)b->leg;
}

static void sort_nets(Wiring *wiring) {
    if (wiring->net_count > 1) {
        qsort(wiring->nets, wiring->net_count, sizeof *wiring->nets, compare_nets);
    }
}

/* Names must be unique, or two circuits would share keys: later ones get their table's name behind
 * theirs. */
static void part_names(Deriver *deriver) {
    Wiring *wiring = deriver->wiring;
    bool changed = false;
    for (NetId i = 0; i < wiring->net_count; i++) {
        Net *net = &wiring->nets[i];
        NetId other = name_map_add(&wiring->net_by_name, deriver->out, net->name, i);
        for (unsigned more = 1; other != NAME_NONE; more++) {
            if (more == 1) {
                Finding *finding = DERIVE_REPORT(
                    deriver, RULE_WIRE_NAME, net, "", "circuit %s is named twice: also in table %s",
                    net->name, table_schema(wiring->nets[other].from_table)->name);
                report_hint(deriver->findings, finding, "give one of them another name");
            }
            changed = true;
            net->name = arena_format(deriver->out, more == 1 ? "%s:%s" : "%s:%s%u", net->name,
                                     table_schema(net->from_table)->name, more);
            other = name_map_add(&wiring->net_by_name, deriver->out, net->name, i);
        }
    }
    if (changed) {
        sort_nets(wiring);
        wiring->net_by_name = (NameMap){0};
        for (NetId i = 0; i < wiring->net_count; i++) {
            name_map_add(&wiring->net_by_name, deriver->out, wiring->nets[i].name, i);
        }
    }
}

void derive_nets(Deriver *deriver) {
    const Model *model = deriver->model;
    for (uint32_t i = 0; i < model->set->feed.count; i++) {
        if (model->feeds[i].usable) {
            add_feed(deriver, i);
        }
    }
    for (uint32_t i = 0; i < model->set->ground.count; i++) {
        if (model->grounds[i].usable) {
            add_ground(deriver, i);
        }
    }
    for (uint32_t i = 0; i < model->set->link.count; i++) {
        if (!model->links[i].usable || model->links[i].count == 0) {
            continue;
        }
        if (model->link_grouped[i] && model->links[i].count > 1) {
            add_crossed_link(deriver, i);
        } else {
            add_plain_link(deriver, i);
        }
    }
    for (uint32_t i = 0; i < model->set->pin_net.count; i++) {
        if (model->pin_nets[i].usable) {
            add_pin_net(deriver, i);
        }
    }
    sort_nets(deriver->wiring);
    part_names(deriver);
}
