/* Circuits: names in feed, ground, link and pin_net rows become terminals, in the order written;
 * what is bolted together without a wire becomes joints. A row with an unknown name is reported
 * and marked unusable; the others stay. */
#include <string.h>

#include "model/build.h"

/* --- unknown names ------------------------------------------------------------------------------
 */

/* Whether a row that could not be read is why this end, tag or bus is unknown; that row has its own
 * finding, and more of them would only bury it. */
static bool is_explained(const ModelBuilder *builder, const char *end) {
    const char *point = strchr(end, '.');
    size_t length = point == NULL ? strlen(end) : (size_t)(point - end);
    const char *tag = arena_text(builder->arena, end, length);
    OwnerId owner = model_owner(builder->model, tag);
    if (owner != ID_NONE) {
        const ModelOwner *there = &builder->model->owners[owner];
        bool has_part = there->kind == OWNER_UNIT || there->kind == OWNER_PROTECTION ||
                        there->kind == OWNER_SWITCHGEAR;
        return has_part && there->part == ID_NONE;
    }
    return builder->partial || name_map_find(&builder->left_out, tag) != NAME_NONE;
}

static void report_end(ModelBuilder *builder, TableId table, uint32_t row, const char *column,
                       const char *end) {
    if (is_explained(builder, end)) {
        return;
    }
    const char *point = strchr(end, '.');
    OwnerId owner = ID_NONE;
    if (point != NULL) {
        owner = model_owner(builder->model, arena_text(builder->arena, end, (size_t)(point - end)));
    }
    OwnerId bare = point == NULL ? model_owner(builder->model, end) : ID_NONE;
    if (bare != ID_NONE) {
        Finding *finding = report_row(builder->findings, builder->model, RULE_MODEL_END, table, row,
                                      column, "%s has ends of its own: which one is meant?", end);
        report_meant(builder->findings, finding, builder->model,
                     arena_format(builder->arena, "%s.", end));
        return;
    }
    Finding *finding = owner == ID_NONE
                           ? report_row(builder->findings, builder->model, RULE_MODEL_END, table,
                                        row, column, "nothing in this job is called %s", end)
                           : report_row(builder->findings, builder->model, RULE_MODEL_END, table,
                                        row, column, "%s has no port or terminal %s",
                                        builder->model->owners[owner].tag, point + 1);
    report_meant(builder->findings, finding, builder->model, end);
}

/* --- ends ---------------------------------------------------------------------------------------
 */

static void add_target(ModelBuilder *builder, TerminalId terminal) {
    Model *model = builder->model;
    size_t count = model->target_count;
    *ARENA_PUSH(builder->arena, model->targets, count, builder->target_capacity) = terminal;
    model->target_count = (uint32_t)count;
}

/* Any port of the unit whose group is named by `end` ("NVC.R1"), ID_NONE. */
static TerminalId find_group(const Model *model, Arena *arena, const char *end) {
    const char *point = strchr(end, '.');
    if (point == NULL) {
        return ID_NONE;
    }
    OwnerId owner = model_owner(model, arena_text(arena, end, (size_t)(point - end)));
    if (owner == ID_NONE) {
        return ID_NONE;
    }
    const ModelOwner *row = &model->owners[owner];
    for (uint32_t i = 0; i < row->terminal_count; i++) {
        const ModelTerminal *terminal = &model->terminals[row->terminal_first + i];
        if (terminal->port != ID_NONE &&
            strcmp(model->set->port.rows[terminal->port].group, point + 1) == 0) {
            return row->terminal_first + i;
        }
    }
    return ID_NONE;
}

static ModelEnds add_ends(ModelBuilder *builder, TableId table, uint32_t row, const char *column,
                          const char *list, bool *grouped) {
    Model *model = builder->model;
    ModelEnds ends = {.first = model->target_count, .usable = true};
    char **words = NULL;
    size_t count = text_split(builder->arena, list, &words);
    for (size_t i = 0; i < count; i++) {
        TerminalId terminal = model_terminal(model, words[i]);
        if (terminal == ID_NONE && grouped != NULL) {
            terminal = find_group(model, builder->arena, words[i]);
            *grouped = *grouped || terminal != ID_NONE;
        }
        if (terminal == ID_NONE) {
            report_end(builder, table, row, column, words[i]);
            ends.usable = false;
            continue;
        }
        add_target(builder, terminal);
    }
    ends.count = model->target_count - ends.first;
    return ends;
}

/* --- joints -------------------------------------------------------------------------------------
 */

static void add_joint(ModelBuilder *builder, TerminalId a, TerminalId b) {
    Model *model = builder->model;
    if (a == b || a == ID_NONE || b == ID_NONE) {
        return;
    }
    size_t count = model->joint_count;
    *ARENA_PUSH(builder->arena, model->joints, count, builder->joint_capacity) =
        (ModelJoint){.a = a, .b = b};
    model->joint_count = (uint32_t)count;
}

/* The terminals of bars and of ground points are one piece of metal. */
static void join_bars(ModelBuilder *builder) {
    const Model *model = builder->model;
    for (OwnerId i = 0; i < model->owner_count; i++) {
        const ModelOwner *owner = &model->owners[i];
        if (owner->kind != OWNER_BAR && owner->kind != OWNER_GROUND) {
            continue;
        }
        for (uint32_t k = 1; k < owner->terminal_count; k++) {
            add_joint(builder, owner->terminal_first, owner->terminal_first + k);
        }
    }
}

static TerminalId own_terminal(const ModelBuilder *builder, OwnerId owner, const char *name) {
    const Model *model = builder->model;
    const ModelOwner *row = &model->owners[owner];
    for (uint32_t i = 0; i < row->terminal_count; i++) {
        if (strcmp(model->terminals[row->terminal_first + i].name, name) == 0) {
            return row->terminal_first + i;
        }
    }
    return ID_NONE;
}

/* Terminal a feed enters (`in`) or leaves a device by. */
static TerminalId device_terminal(const ModelBuilder *builder, OwnerId owner, bool in) {
    const Model *model = builder->model;
    const ModelOwner *row = &model->owners[owner];
    if (row->part == ID_NONE) {
        return ID_NONE;
    }
    if (row->kind == OWNER_PROTECTION) {
        const DeviceRow *device = &model->set->device.rows[row->part];
        return own_terminal(builder, owner, in ? device->in_terminal : device->out_terminal);
    }
    if (row->kind == OWNER_SWITCHGEAR) {
        const SwitchPartRow *part = &model->set->switch_part.rows[row->part];
        return own_terminal(builder, owner, in ? part->in_terminal : part->out_terminal);
    }
    return ID_NONE;
}

/* What a `bolted_on` or `bolts_to` cell names: the stud of a bus, or the facing terminal of another
 * device; unknown names are reported. `in`: the cell speaks of the device's input. */
static TerminalId bolted_place(ModelBuilder *builder, TableId table, uint32_t row, const char *name,
                               bool in) {
    const Model *model = builder->model;
    BusId bus = name_map_find(&model->bus_by_name, name);
    if (bus != NAME_NONE) {
        return model->buses[bus].stud;
    }
    OwnerId owner = model_owner(model, name);
    TerminalId terminal =
        owner == ID_NONE ? model_terminal(model, name) : device_terminal(builder, owner, !in);
    if (terminal == ID_NONE && !is_explained(builder, name)) {
        Finding *finding =
            report_row(builder->findings, builder->model, RULE_MODEL_BOLT, table, row,
                       in ? "bolted_on" : "bolts_to", "no bus, device or end is called %s", name);
        report_meant(builder->findings, finding, builder->model, name);
    }
    return terminal;
}

static void join_device(ModelBuilder *builder, TableId table, uint32_t row, const char *tag,
                        const char *bolted_on, const char *bolts_to) {
    OwnerId owner = model_owner(builder->model, tag);
    if (owner == ID_NONE) {
        return;
    }
    if (*bolted_on != '\0') {
        add_joint(builder, bolted_place(builder, table, row, bolted_on, true),
                  device_terminal(builder, owner, true));
    }
    if (*bolts_to != '\0') {
        add_joint(builder, device_terminal(builder, owner, false),
                  bolted_place(builder, table, row, bolts_to, false));
    }
}

static void join_devices(ModelBuilder *builder) {
    const TableSet *set = builder->model->set;
    for (uint32_t i = 0; i < set->protection.count; i++) {
        const ProtectionRow *row = &set->protection.rows[i];
        join_device(builder, TABLE_protection, i, row->tag, row->bolted_on, row->bolts_to);
    }
    for (uint32_t i = 0; i < set->switchgear.count; i++) {
        const SwitchgearRow *row = &set->switchgear.rows[i];
        join_device(builder, TABLE_switchgear, i, row->tag, row->bolted_on, row->bolts_to);
        if (*row->coil_plus_on == '\0') {
            continue;
        }
        OwnerId owner = model_owner(builder->model, row->tag);
        TerminalId place = bolted_place(builder, TABLE_switchgear, i, row->coil_plus_on, true);
        if (owner != ID_NONE) {
            add_joint(builder, place, own_terminal(builder, owner, "C+"));
        }
    }
}

/* --- buses --------------------------------------------------------------------------------------
 */

static void add_buses(ModelBuilder *builder) {
    Model *model = builder->model;
    const TableSet *set = model->set;
    model->buses = ARENA_ARRAY(builder->arena, ModelBus, set->bus.count);
    for (uint32_t i = 0; i < set->bus.count; i++) {
        const BusRow *row = &set->bus.rows[i];
        BusId counts_in = name_map_find(&model->bus_by_name, row->counts_in);
        model->buses[i].stud = model_terminal(model, row->stud);
        model->buses[i].counts_in = counts_in == NAME_NONE ? i : counts_in;
        if (model->buses[i].stud == ID_NONE && strchr(row->stud, '.') != NULL) {
            report_end(builder, TABLE_bus, i, "stud", row->stud);
        }
    }
}

/* --- feeds --------------------------------------------------------------------------------------
 */

/* A box that a feed passes without saying by which ports: the only thing that joins two of them. */
static bool inside_ports(ModelBuilder *builder, OwnerId owner, TerminalId *in, TerminalId *out) {
    const Model *model = builder->model;
    const ModelOwner *row = &model->owners[owner];
    if (row->part == ID_NONE) {
        return false;
    }
    uint32_t count = 0;
    uint32_t first =
        model_rows_of(model, TABLE_inside, model->set->part.rows[row->part].part, &count);
    uint32_t found = 0;
    for (uint32_t i = first; i < first + count; i++) {
        const InsideRow *inside = &model->set->inside.rows[i];
        bool joined = strcmp(inside->kind, "isolated") != 0;
        TerminalId a = own_terminal(builder, owner, inside->from_port);
        TerminalId b = own_terminal(builder, owner, inside->to_port);
        if (joined && a != ID_NONE && b != ID_NONE) {
            found++;
            *in = a;
            *out = b;
        }
    }
    return found == 1;
}

/* "HYP.PS1>HYP.PS2" or "HYP.PS1>PS2": a device or box by the terminals named. */
static bool step_by_terminals(ModelBuilder *builder, const char *word, const char *arrow,
                              FeedStep *step) {
    const Model *model = builder->model;
    const char *first = arena_text(builder->arena, word, (size_t)(arrow - word));
    step->in = model_terminal(model, first);
    if (step->in == ID_NONE) {
        return false;
    }
    step->owner = model->terminals[step->in].owner;
    step->out = model_terminal(model, arrow + 1);
    if (step->out == ID_NONE) {
        step->out = own_terminal(builder, step->owner, arrow + 1);
    }
    return step->out != ID_NONE && model->terminals[step->out].owner == step->owner;
}

static bool find_step(ModelBuilder *builder, const char *word, FeedStep *step) {
    const Model *model = builder->model;
    *step = (FeedStep){.owner = ID_NONE, .in = ID_NONE, .out = ID_NONE};
    const char *arrow = strchr(word, '>');
    if (arrow != NULL) {
        if (!step_by_terminals(builder, word, arrow, step)) {
            return false;
        }
    } else {
        step->owner = model_owner(model, word);
        if (step->owner == ID_NONE) {
            return false;
        }
        if (model->owners[step->owner].kind == OWNER_UNIT) {
            if (!inside_ports(builder, step->owner, &step->in, &step->out)) {
                return false;
            }
        } else {
            step->in = device_terminal(builder, step->owner, true);
            step->out = device_terminal(builder, step->owner, false);
        }
    }
    const ModelOwner *owner = &model->owners[step->owner];
    const TableSet *set = model->set;
    if (owner->kind == OWNER_PROTECTION) {
        step->kind = STEP_PROTECTION;
        step->in_bolted = *set->protection.rows[owner->row].bolted_on != '\0';
        step->out_bolted = *set->protection.rows[owner->row].bolts_to != '\0';
    } else if (owner->kind == OWNER_SWITCHGEAR) {
        step->kind = STEP_SWITCHGEAR;
        step->in_bolted = *set->switchgear.rows[owner->row].bolted_on != '\0' &&
                          step->in == device_terminal(builder, step->owner, true);
        step->out_bolted = *set->switchgear.rows[owner->row].bolts_to != '\0' &&
                           step->out == device_terminal(builder, step->owner, false);
    } else {
        step->kind = STEP_UNIT;
    }
    return step->in != ID_NONE && step->out != ID_NONE;
}

static bool add_steps(ModelBuilder *builder, uint32_t row, ModelFeed *feed) {
    Model *model = builder->model;
    char **words = NULL;
    size_t count = text_split(builder->arena, model->set->feed.rows[row].through, &words);
    bool usable = true;
    feed->step_first = model->step_count;
    for (size_t i = 0; i < count; i++) {
        FeedStep step;
        if (!find_step(builder, words[i], &step)) {
            usable = false;
            if (is_explained(builder, words[i])) {
                continue;
            }
            Finding *finding = report_row(
                builder->findings, builder->model, RULE_MODEL_STEP, TABLE_feed, row, "through",
                "%s is no device, switch or box that a feed can pass", words[i]);
            if (!report_meant(builder->findings, finding, builder->model, words[i])) {
                finding->hint = "name a protection or switchgear row, or a box as IN>OUT";
            }
            continue;
        }
        size_t steps = model->step_count;
        *ARENA_PUSH(builder->arena, model->steps, steps, builder->step_capacity) = step;
        model->step_count = (uint32_t)steps;
        if (i > 0 && feed->step_first + 1 < model->step_count) {
            /* Bolted is bolted from both sides. */
            FeedStep *before = &model->steps[model->step_count - 2];
            FeedStep *now = &model->steps[model->step_count - 1];
            before->out_bolted = now->in_bolted = before->out_bolted || now->in_bolted;
        }
    }
    feed->step_count = model->step_count - feed->step_first;
    return usable;
}

/* The end that a cell of a feed names, ID_NONE after a report. */
static TerminalId feed_end(ModelBuilder *builder, uint32_t row, const char *column,
                           const char *end) {
    TerminalId terminal = model_terminal(builder->model, end);
    if (terminal == ID_NONE) {
        report_end(builder, TABLE_feed, row, column, end);
    }
    return terminal;
}

static bool add_start(ModelBuilder *builder, uint32_t row, ModelFeed *feed) {
    Model *model = builder->model;
    const FeedRow *cell = &model->set->feed.rows[row];
    feed->from_bus = name_map_find(&model->bus_by_name, cell->out_of);
    feed->start = feed->from_bus == ID_NONE ? feed_end(builder, row, "out_of", cell->out_of)
                                            : model->buses[feed->from_bus].stud;
    if (*cell->start != '\0' && feed->start != ID_NONE) {
        TerminalId stud = feed->start;
        feed->start = feed_end(builder, row, "start", cell->start);
        add_joint(builder, stud, feed->start);
    }
    return feed->start != ID_NONE;
}

static bool add_finish(ModelBuilder *builder, uint32_t row, ModelFeed *feed) {
    Model *model = builder->model;
    const FeedRow *cell = &model->set->feed.rows[row];
    feed->to_bus = name_map_find(&model->bus_by_name, cell->onto);
    if (feed->to_bus == ID_NONE) {
        ModelEnds ends = add_ends(builder, TABLE_feed, row, "onto", cell->onto, NULL);
        feed->target_first = ends.first;
        feed->target_count = ends.count;
        return ends.usable;
    }
    TerminalId stud = model->buses[feed->to_bus].stud;
    TerminalId finish = stud;
    if (*cell->finish != '\0') {
        finish = feed_end(builder, row, "finish", cell->finish);
        add_joint(builder, stud, finish);
    }
    feed->target_first = model->target_count;
    feed->target_count = 1;
    add_target(builder, finish);
    return finish != ID_NONE;
}

/* A device bolted on one bus can't be fed from another. */
static bool starts_where_bolted(ModelBuilder *builder, uint32_t row, const ModelFeed *feed) {
    const Model *model = builder->model;
    if (feed->step_count == 0 || feed->start == ID_NONE) {
        return true;
    }
    const FeedStep *step = &model->steps[feed->step_first];
    if (!step->in_bolted || feed->from_bus == ID_NONE) {
        return true;
    }
    const ModelOwner *owner = &model->owners[step->owner];
    const char *on = owner->kind == OWNER_PROTECTION
                         ? model->set->protection.rows[owner->row].bolted_on
                         : model->set->switchgear.rows[owner->row].bolted_on;
    const char *from = model->set->bus.rows[feed->from_bus].bus;
    if (strcmp(on, from) == 0) {
        return true;
    }
    Finding *finding =
        report_row(builder->findings, builder->model, RULE_MODEL_BOLT, TABLE_feed, row, "out_of",
                   "%s is bolted on %s, this feed comes out of %s", owner->tag, on, from);
    finding->rows = owner->tag;
    finding->hint = "mend `out_of`, or the device's `bolted_on`";
    return false;
}

static void add_feeds(ModelBuilder *builder) {
    Model *model = builder->model;
    size_t count = model->set->feed.count;
    model->feeds = ARENA_ARRAY(builder->arena, ModelFeed, count);
    for (uint32_t i = 0; i < count; i++) {
        ModelFeed feed = {.from_bus = ID_NONE, .to_bus = ID_NONE, .start = ID_NONE};
        bool started = add_start(builder, i, &feed);
        bool stepped = add_steps(builder, i, &feed);
        bool finished = add_finish(builder, i, &feed);
        feed.usable = started && stepped && finished && starts_where_bolted(builder, i, &feed);
        model->feeds[i] = feed;
    }
}

/* --- grounds, links, explicit nets --------------------------------------------------------------
 */

static void add_grounds(ModelBuilder *builder) {
    Model *model = builder->model;
    size_t count = model->set->ground.count;
    model->grounds = ARENA_ARRAY(builder->arena, ModelEnds, count);
    for (uint32_t i = 0; i < count; i++) {
        const GroundRow *row = &model->set->ground.rows[i];
        ModelEnds from = add_ends(builder, TABLE_ground, i, "out_of", row->out_of, NULL);
        ModelEnds onto = add_ends(builder, TABLE_ground, i, "onto", row->onto, NULL);
        model->grounds[i] = (ModelEnds){
            .first = from.first,
            .count = from.count + onto.count,
            .usable = from.usable && onto.usable,
        };
    }
}

static void add_links(ModelBuilder *builder) {
    Model *model = builder->model;
    size_t count = model->set->link.count;
    model->links = ARENA_ARRAY(builder->arena, ModelEnds, count);
    model->link_grouped = ARENA_ARRAY(builder->arena, bool, count);
    for (uint32_t i = 0; i < count; i++) {
        model->links[i] = add_ends(builder, TABLE_link, i, "ends", model->set->link.rows[i].ends,
                                   &model->link_grouped[i]);
    }
    count = model->set->pin_net.count;
    model->pin_nets = ARENA_ARRAY(builder->arena, ModelEnds, count);
    for (uint32_t i = 0; i < count; i++) {
        model->pin_nets[i] =
            add_ends(builder, TABLE_pin_net, i, "ends", model->set->pin_net.rows[i].ends, NULL);
    }
}

void builder_add_circuits(ModelBuilder *builder) {
    add_buses(builder);
    join_bars(builder);
    join_devices(builder);
    add_feeds(builder);
    add_grounds(builder);
    add_links(builder);
}
