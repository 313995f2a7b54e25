/* Owners, terminals, pins. Terminals of one owner are together and sorted by name; a first sweep
 * collects the names that only circuits know (ground tabs, bar lugs, second studs). */
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "model/build.h"

/* --- owners -------------------------------------------------------------------------------------
 */

typedef struct OwnerList {
    ModelOwner *rows;
    size_t count;
    size_t capacity;
} OwnerList;

static int compare_owners(const void *left, const void *right) {
    const ModelOwner *a = left;
    const ModelOwner *b = right;
    int order = text_compare_keys(a->tag, b->tag);
    if (order != 0) {
        return order;
    }
    if (a->kind != b->kind) {
        return a->kind < b->kind ? -1 : 1;
    }
    return a->row < b->row ? -1 : (a->row > b->row ? 1 : 0);
}

static void add_owner(ModelBuilder *builder, OwnerList *list, OwnerKind kind, size_t row,
                      const char *tag, const char *node, double stub_mm, PartId part) {
    ModelOwner *owner = ARENA_PUSH(builder->arena, list->rows, list->count, list->capacity);
    *owner = (ModelOwner){
        .kind = kind,
        .row = (uint32_t)row,
        .tag = tag,
        .node = name_map_find(&builder->model->node_by_name, node),
        .stub_mm = stub_mm,
        .module = ID_NONE,
        .part = part,
    };
    if (owner->node != ID_NONE) {
        owner->module = builder->model->node_module[owner->node];
    }
}

/* The part of an end before its point; `tag` has room for it. False when there is no point. */
static bool split_end(const char *end, size_t length, char *tag, size_t room, const char **name) {
    for (size_t i = 0; i < length; i++) {
        if (end[i] == '.') {
            if (i == 0 || i >= room) {
                return false;
            }
            memcpy(tag, end, i);
            tag[i] = '\0';
            *name = end + i + 1;
            return true;
        }
    }
    return false;
}

static void list_owners(ModelBuilder *builder, OwnerList *list) {
    const TableSet *set = builder->model->set;
    for (size_t i = 0; i < set->unit.count; i++) {
        const UnitRow *row = &set->unit.rows[i];
        PartId part = name_map_find(&builder->part_by_name, row->part);
        add_owner(builder, list, OWNER_UNIT, i, row->tag, row->node, row->stub_mm, part);
        list->rows[list->count - 1].module = model_row(builder->model, TABLE_module, row->module);
    }
    for (size_t i = 0; i < set->protection.count; i++) {
        const ProtectionRow *row = &set->protection.rows[i];
        PartId part = model_row(builder->model, TABLE_device, row->part);
        add_owner(builder, list, OWNER_PROTECTION, i, row->tag, row->node, row->stub_mm, part);
    }
    for (size_t i = 0; i < set->switchgear.count; i++) {
        const SwitchgearRow *row = &set->switchgear.rows[i];
        PartId part = model_row(builder->model, TABLE_switch_part, row->part);
        add_owner(builder, list, OWNER_SWITCHGEAR, i, row->tag, row->node, row->stub_mm, part);
    }
    for (size_t i = 0; i < set->ground_point.count; i++) {
        const GroundPointRow *row = &set->ground_point.rows[i];
        add_owner(builder, list, OWNER_GROUND, i, row->point, row->node, row->stub_mm, ID_NONE);
    }
    for (size_t i = 0; i < set->antenna.count; i++) {
        const AntennaRow *row = &set->antenna.rows[i];
        add_owner(builder, list, OWNER_ANTENNA, i, row->tag, row->node, row->stub_mm, ID_NONE);
    }
}

/* A bus whose stud names nobody's terminal is a bar of its own. */
static void list_bars(ModelBuilder *builder, OwnerList *list) {
    const TableSet *set = builder->model->set;
    NameMap known = {0};
    for (size_t i = 0; i < list->count; i++) {
        name_map_add(&known, builder->arena, list->rows[i].tag, (uint32_t)i);
    }
    for (size_t i = 0; i < set->bus.count; i++) {
        const BusRow *row = &set->bus.rows[i];
        char tag[128];
        const char *name = NULL;
        if (!split_end(row->stud, strlen(row->stud), tag, sizeof tag, &name)) {
            Finding *finding =
                report_row(builder->findings, builder->model, RULE_MODEL_END, TABLE_bus,
                           (uint32_t)i, "stud", "\"%s\" is no end", row->stud);
            finding->hint = "write it as BAR.TERMINAL, for example BB_MAIN.T";
            continue;
        }
        if (name_map_find(&known, tag) == NAME_NONE) {
            const char *copy = arena_text(builder->arena, tag, strlen(tag));
            add_owner(builder, list, OWNER_BAR, i, copy, row->node, row->stub_mm, ID_NONE);
            name_map_add(&known, builder->arena, copy, (uint32_t)list->count - 1);
        }
    }
}

void builder_add_owners(ModelBuilder *builder) {
    Model *model = builder->model;
    OwnerList list = {0};
    list_owners(builder, &list);
    list_bars(builder, &list);
    if (list.count > 1) {
        qsort(list.rows, list.count, sizeof *list.rows, compare_owners);
    }
    model->owners = ARENA_ARRAY(builder->arena, ModelOwner, list.count);
    for (size_t i = 0; i < list.count; i++) {
        const ModelOwner *owner = &list.rows[i];
        OwnerId before =
            name_map_add(&model->owner_by_tag, builder->arena, owner->tag, model->owner_count);
        if (before == NAME_NONE) {
            model->owners[model->owner_count++] = *owner;
            continue;
        }
        TableId table = report_kind_table(owner->kind);
        TableId first = report_kind_table(model->owners[before].kind);
        Finding *finding =
            report_row(builder->findings, builder->model, RULE_MODEL_TAG, table, owner->row, "",
                       "%s is already a row of `%s`", owner->tag, table_schema(first)->name);
        finding->hint = "a tag names one thing in the whole aircraft";
    }
}

/* --- names of terminals -------------------------------------------------------------------------
 */

typedef struct TerminalName {
    OwnerId owner;
    const char *name;
    uint32_t port; /* row of `port`, ID_NONE */
    uint32_t stud; /* row of `stud` when it is no port, ID_NONE */
} TerminalName;

typedef struct TerminalNames {
    TerminalName *rows;
    size_t count;
    size_t capacity;
} TerminalNames;

static void add_name(ModelBuilder *builder, TerminalNames *names, OwnerId owner, const char *name,
                     uint32_t port) {
    if (*name != '\0') {
        *ARENA_PUSH(builder->arena, names->rows, names->count, names->capacity) =
            (TerminalName){owner, name, port, ID_NONE};
    }
}

/* "M/2" is core 2 of terminal M. */
static const char *without_core(Arena *arena, const char *terminal) {
    const char *slash = strchr(terminal, '/');
    return slash == NULL ? terminal : arena_text(arena, terminal, (size_t)(slash - terminal));
}

static void name_switch_terminals(ModelBuilder *builder, TerminalNames *names, OwnerId owner) {
    const Model *model = builder->model;
    const SwitchPartRow *part = &model->set->switch_part.rows[model->owners[owner].part];
    add_name(builder, names, owner, part->in_terminal, ID_NONE);
    add_name(builder, names, owner, part->out_terminal, ID_NONE);
    if (part->coil_a > 0.0) {
        add_name(builder, names, owner, "C+", ID_NONE);
        add_name(builder, names, owner, "C-", ID_NONE);
    }
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_switch_pole, part->part, &count);
    for (uint32_t i = first; i < first + count; i++) {
        const SwitchPoleRow *pole = &model->set->switch_pole.rows[i];
        add_name(builder, names, owner, without_core(builder->arena, pole->from_terminal), ID_NONE);
        add_name(builder, names, owner, without_core(builder->arena, pole->to_terminal), ID_NONE);
    }
    first = model_rows_of(model, TABLE_stud, part->part, &count);
    for (uint32_t i = first; i < first + count; i++) {
        const char *name = model->set->stud.rows[i].terminal;
        if (strcmp(name, "*") != 0) {
            add_name(builder, names, owner, name, ID_NONE);
        }
    }
}

static void name_own_terminals(ModelBuilder *builder, TerminalNames *names) {
    const Model *model = builder->model;
    const TableSet *set = model->set;
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        if (row->kind == OWNER_UNIT && row->part != ID_NONE) {
            uint32_t first = model->part_port_first[row->part];
            for (uint32_t i = first; i < first + model->part_port_count[row->part]; i++) {
                add_name(builder, names, owner, set->port.rows[i].port, i);
            }
        } else if (row->kind == OWNER_PROTECTION && row->part != ID_NONE) {
            add_name(builder, names, owner, set->device.rows[row->part].in_terminal, ID_NONE);
            add_name(builder, names, owner, set->device.rows[row->part].out_terminal, ID_NONE);
        } else if (row->kind == OWNER_SWITCHGEAR && row->part != ID_NONE) {
            name_switch_terminals(builder, names, owner);
        } else if (row->kind == OWNER_ANTENNA) {
            add_name(builder, names, owner, "RF", ID_NONE);
        }
    }
}

/* Adds an end that a row names when its owner has terminals only by being named: bars and ground
 * points always, switchgear when `on_stud` (a second stud of the bus). */
static void name_end(ModelBuilder *builder, TerminalNames *names, const char *end, size_t length,
                     bool on_stud) {
    char tag[128];
    const char *name = NULL;
    if (!split_end(end, length, tag, sizeof tag, &name)) {
        return;
    }
    OwnerId owner = model_owner(builder->model, tag);
    if (owner == ID_NONE) {
        return;
    }
    OwnerKind kind = builder->model->owners[owner].kind;
    if (kind == OWNER_BAR || kind == OWNER_GROUND || (kind == OWNER_SWITCHGEAR && on_stud)) {
        size_t name_length = length - (size_t)(name - end);
        add_name(builder, names, owner, arena_text(builder->arena, name, name_length), ID_NONE);
    }
}

static void name_list(ModelBuilder *builder, TerminalNames *names, const char *list) {
    const char *word = NULL;
    size_t length = 0;
    while (text_next_word(&list, &word, &length)) {
        name_end(builder, names, word, length, false);
    }
}

static void name_circuit_terminals(ModelBuilder *builder, TerminalNames *names) {
    const TableSet *set = builder->model->set;
    for (size_t i = 0; i < set->bus.count; i++) {
        name_end(builder, names, set->bus.rows[i].stud, strlen(set->bus.rows[i].stud), true);
    }
    for (size_t i = 0; i < set->feed.count; i++) {
        const FeedRow *row = &set->feed.rows[i];
        name_end(builder, names, row->start, strlen(row->start), true);
        name_end(builder, names, row->finish, strlen(row->finish), true);
        name_list(builder, names, row->onto);
    }
    for (size_t i = 0; i < set->ground.count; i++) {
        name_list(builder, names, set->ground.rows[i].out_of);
        name_list(builder, names, set->ground.rows[i].onto);
    }
    for (size_t i = 0; i < set->link.count; i++) {
        name_list(builder, names, set->link.rows[i].ends);
    }
    for (size_t i = 0; i < set->pin_net.count; i++) {
        name_list(builder, names, set->pin_net.rows[i].ends);
    }
}

static int compare_names(const void *left, const void *right) {
    const TerminalName *a = left;
    const TerminalName *b = right;
    if (a->owner != b->owner) {
        return a->owner < b->owner ? -1 : 1;
    }
    return text_compare_keys(a->name, b->name);
}

/* --- pins ---------------------------------------------------------------------------------------
 */

/* Row of `stud` that says how a wire is held at a terminal of `part`, ID_NONE. */
static uint32_t find_stud(const Model *model, const char *part, const char *terminal) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_stud, part, &count);
    uint32_t any = ID_NONE;
    for (uint32_t i = first; i < first + count; i++) {
        const char *name = model->set->stud.rows[i].terminal;
        if (strcmp(name, terminal) == 0) {
            return i;
        }
        any = strcmp(name, "*") == 0 ? i : any;
    }
    return any;
}

static const char *stud_part(const Model *model, const ModelOwner *owner) {
    const TableSet *set = model->set;
    switch (owner->kind) {
    case OWNER_PROTECTION:
        return set->protection.rows[owner->row].part;
    case OWNER_SWITCHGEAR:
        return set->switchgear.rows[owner->row].part;
    case OWNER_GROUND:
        return set->ground_point.rows[owner->row].kind;
    case OWNER_BAR:
        return "bar";
    case OWNER_ANTENNA:
        return "antenna";
    case OWNER_UNIT:
        break;
    }
    return "";
}

static uint32_t stud_cores(const Model *model, uint32_t stud) {
    int32_t cores = stud == ID_NONE ? 1 : model->set->stud.rows[stud].cores;
    return cores < 1 || cores > 64 ? 1 : (uint32_t)cores;
}

static void add_stud_pins(ModelBuilder *builder, TerminalId terminal, uint32_t stud) {
    Model *model = builder->model;
    ModelTerminal *row = &model->terminals[terminal];
    ContactId contact = stud == ID_NONE
                            ? ID_NONE
                            : model_row(model, TABLE_contact, model->set->stud.rows[stud].contact);
    row->pin_first = model->pin_count;
    row->pin_count = (uint16_t)stud_cores(model, stud);
    for (uint16_t core = 0; core < row->pin_count; core++) {
        model->pins[model->pin_count++] = (ModelPin){
            .terminal = terminal,
            .core = core,
            .connector = "",
            .cavity = "",
            .shell = ID_NONE,
            .contact = contact,
        };
    }
}

/* Row of `part_connector` of a part's connector, ID_NONE. */
static uint32_t find_connector(const Model *model, const char *part, const char *connector) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_part_connector, part, &count);
    for (uint32_t i = first; i < first + count; i++) {
        if (strcmp(model->set->part_connector.rows[i].connector, connector) == 0) {
            return i;
        }
    }
    return ID_NONE;
}

static void add_port_pins(ModelBuilder *builder, TerminalId terminal) {
    Model *model = builder->model;
    ModelTerminal *row = &model->terminals[terminal];
    uint32_t first = builder->port_pin_first[row->port];
    uint32_t count = builder->port_pin_count[row->port];
    row->pin_first = model->pin_count;
    row->pin_count = (uint16_t)count;
    for (uint32_t i = 0; i < count; i++) {
        const PortPinRow *pin = &model->set->port_pin.rows[first + i];
        uint32_t connector = find_connector(model, pin->part, pin->connector);
        ShellId shell = ID_NONE;
        ContactId contact = ID_NONE;
        if (connector != ID_NONE) {
            shell = model_row(model, TABLE_shell, model->set->part_connector.rows[connector].shell);
        }
        if (shell != ID_NONE) {
            contact = model_row(model, TABLE_contact, model->set->shell.rows[shell].contact);
        }
        model->pins[model->pin_count++] = (ModelPin){
            .terminal = terminal,
            .core = (uint16_t)i,
            .connector = pin->connector,
            .cavity = pin->cavity,
            .shell = shell,
            .contact = contact,
        };
    }
}

/* --- library checks: once for each part ---------------------------------------------------------
 */

/* Cavities are numbers up to the ways of the shell, or names ("A", "ring"). */
static bool cavity_fits(const char *cavity, int32_t ways) {
    char *end = NULL;
    long number = strtol(cavity, &end, 10);
    return *cavity == '\0' || *end != '\0' || (number >= 1 && number <= ways);
}

static void check_pins(ModelBuilder *builder) {
    const Model *model = builder->model;
    const TableSet *set = model->set;
    NameMap taken = {0};
    for (size_t i = 0; i < set->port_pin.count; i++) {
        const PortPinRow *pin = &set->port_pin.rows[i];
        uint32_t connector = find_connector(model, pin->part, pin->connector);
        if (connector == ID_NONE) {
            Finding *finding = report_row(builder->findings, builder->model, RULE_MODEL_PIN,
                                          TABLE_port_pin, (uint32_t)i, "connector",
                                          "part %s has no connector %s", pin->part, pin->connector);
            finding->hint = "add it to part_connector, or mend the name";
            continue;
        }
        ShellId shell = model_row(model, TABLE_shell, set->part_connector.rows[connector].shell);
        if (shell != ID_NONE && !cavity_fits(pin->cavity, set->shell.rows[shell].ways)) {
            Finding *finding =
                report_row(builder->findings, builder->model, RULE_MODEL_PIN, TABLE_port_pin,
                           (uint32_t)i, "cavity", "%s %s has %d cavities, no number %s", pin->part,
                           pin->connector, set->shell.rows[shell].ways, pin->cavity);
            finding->limit = set->shell.rows[shell].ways;
            finding->hint = "mend the cavity, or the shell in part_connector";
        }
        const char *place =
            arena_format(builder->arena, "%s.%s-%s", pin->part, pin->connector, pin->cavity);
        uint32_t before = name_map_add(&taken, builder->arena, place, (uint32_t)i);
        if (before != NAME_NONE) {
            Finding *finding =
                report_row(builder->findings, builder->model, RULE_MODEL_PIN, TABLE_port_pin,
                           (uint32_t)i, "cavity", "pin %s is already core %d of port %s", place,
                           set->port_pin.rows[before].core, set->port_pin.rows[before].port);
            finding->hint = "one pin, one port: look at the pin table of the box again";
        }
    }
}

static Direction direction_of(const char *word) {
    return strcmp(word, "in") == 0    ? DIRECTION_IN
           : strcmp(word, "out") == 0 ? DIRECTION_OUT
           : strcmp(word, "bi") == 0  ? DIRECTION_BI
           : strcmp(word, "ret") == 0 ? DIRECTION_RET
                                      : DIRECTION_NONE;
}

static Level level_of(const char *word) {
    return strcmp(word, "low") == 0        ? LEVEL_LOW
           : strcmp(word, "high") == 0     ? LEVEL_HIGH
           : strcmp(word, "analogue") == 0 ? LEVEL_ANALOGUE
                                           : LEVEL_NONE;
}

/* --- terminals ----------------------------------------------------------------------------------
 */

static void add_terminal(ModelBuilder *builder, const TerminalName *name) {
    Model *model = builder->model;
    ModelOwner *owner = &model->owners[name->owner];
    TerminalId id = model->terminal_count++;
    ModelTerminal *row = &model->terminals[id];
    *row = (ModelTerminal){
        .end = arena_format(builder->arena, "%s.%s", owner->tag, name->name),
        .name = name->name,
        .owner = name->owner,
        .port = name->port,
        .class_id = ID_NONE,
        .node = owner->node,
        .stub_mm = owner->stub_mm,
    };
    if (owner->terminal_count++ == 0) {
        owner->terminal_first = id;
    }
    if (name->port != ID_NONE) {
        const PortRow *port = &model->set->port.rows[name->port];
        row->class_id = name_map_find(&model->class_by_name, port->class);
        row->direction = direction_of(port->direction);
        row->level = level_of(port->level);
        add_port_pins(builder, id);
    } else {
        add_stud_pins(builder, id, name->stud);
    }
    name_map_add(&model->terminal_by_end, builder->arena, row->end, id);
}

/* Finds the stud row of every terminal that is no port; returns how many pins all can have. */
static size_t count_pins(const ModelBuilder *builder, const TerminalNames *names) {
    const Model *model = builder->model;
    size_t pins = 0;
    for (size_t i = 0; i < names->count; i++) {
        TerminalName *name = &names->rows[i];
        if (name->port != ID_NONE) {
            pins += builder->port_pin_count[name->port];
        } else {
            const ModelOwner *owner = &model->owners[name->owner];
            name->stud = find_stud(model, stud_part(model, owner), name->name);
            pins += stud_cores(model, name->stud);
        }
    }
    return pins;
}

static void place_lugs(ModelBuilder *builder) {
    Model *model = builder->model;
    for (size_t i = 0; i < model->set->lug.count; i++) {
        const LugRow *lug = &model->set->lug.rows[i];
        const char *end = arena_format(builder->arena, "%s.%s", lug->owner, lug->terminal);
        TerminalId terminal = model_terminal(model, end);
        if (terminal == ID_NONE) {
            report_row(builder->findings, builder->model, RULE_MODEL_END, TABLE_lug, (uint32_t)i,
                       "terminal", "no circuit uses %s", end);
            continue;
        }
        model->terminals[terminal].node = name_map_find(&model->node_by_name, lug->node);
        model->terminals[terminal].stub_mm = lug->stub_mm;
    }
}

void builder_add_terminals(ModelBuilder *builder) {
    Model *model = builder->model;
    TerminalNames names = {0};
    check_pins(builder);
    name_own_terminals(builder, &names);
    name_circuit_terminals(builder, &names);
    if (names.count > 1) {
        qsort(names.rows, names.count, sizeof *names.rows, compare_names);
    }
    model->terminals = ARENA_ARRAY(builder->arena, ModelTerminal, names.count);
    model->pins = ARENA_ARRAY(builder->arena, ModelPin, count_pins(builder, &names));
    for (size_t i = 0; i < names.count; i++) {
        if (i == 0 || compare_names(&names.rows[i - 1], &names.rows[i]) != 0) {
            add_terminal(builder, &names.rows[i]);
        }
    }
    place_lugs(builder);
}
