/* Method: references of rows to rows become indices; then owners, terminals with pins, circuits
 * (build.h). Nothing here looks at what a circuit is for: that is the wire pass's work. */
#include "model/model.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/check.h"
#include "model/build.h"

/* --- rows and keys ------------------------------------------------------------------------------
 */

static const char *first_key(const TableSet *set, TableId table, size_t row) {
    const TableSchema *schema = table_schema(table);
    const char *bytes = table_row(set, table, row);
    return *(const char *const *)(const void *)(bytes + schema->columns[0].offset);
}

/* First row from `low` on whose first key column is not before `key` (`after`: is after it). */
static uint32_t lower_row(const TableSet *set, TableId table, const char *key, size_t low,
                          bool after) {
    size_t high = set->any[table].count;
    size_t step_bytes = table_schema(table)->row_bytes;
    const char *rows = set->any[table].rows;
    while (low < high) {
        size_t middle = (low + high) / 2;
        const char *name;
        memcpy(&name, rows + middle * step_bytes + table_schema(table)->columns[0].offset,
               sizeof name);
        int order = text_compare_keys(name, key);
        if (order < 0 || (after && order == 0)) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return (uint32_t)low;
}

static void name_rows(ModelBuilder *builder, TableId table, NameMap *map) {
    const TableSet *set = builder->model->set;
    for (size_t i = 0; i < set->any[table].count; i++) {
        name_map_add(map, builder->arena, first_key(set, table, i), (uint32_t)i);
    }
}

/* --- airframe -----------------------------------------------------------------------------------
 */

static double straight_mm(const NodeRow *a, const NodeRow *b) {
    double dx = a->x_mm - b->x_mm;
    double dy = a->y_mm - b->y_mm;
    double dz = a->z_mm - b->z_mm;
    return sqrt(dx * dx + dy * dy + dz * dz);
}

static void add_nodes(ModelBuilder *builder) {
    Model *model = builder->model;
    const TableSet *set = model->set;
    size_t count = set->node.count;
    model->node_zone = ARENA_ARRAY(builder->arena, ZoneId, count);
    model->node_module = ARENA_ARRAY(builder->arena, ModuleId, count);
    for (size_t i = 0; i < count; i++) {
        model->node_zone[i] = model_row(model, TABLE_zone, set->node.rows[i].zone);
        model->node_module[i] = model_row(model, TABLE_module, set->node.rows[i].module);
    }
}

static void add_segments(ModelBuilder *builder) {
    Model *model = builder->model;
    const TableSet *set = model->set;
    size_t count = set->segment.count;
    model->segment_a = ARENA_ARRAY(builder->arena, NodeId, count);
    model->segment_b = ARENA_ARRAY(builder->arena, NodeId, count);
    model->segment_zone = ARENA_ARRAY(builder->arena, ZoneId, count);
    model->segment_length_mm = ARENA_ARRAY(builder->arena, double, count);
    for (size_t i = 0; i < count; i++) {
        const SegmentRow *row = &set->segment.rows[i];
        NodeId a = name_map_find(&model->node_by_name, row->node_a);
        NodeId b = name_map_find(&model->node_by_name, row->node_b);
        model->segment_a[i] = a;
        model->segment_b[i] = b;
        model->segment_zone[i] = model_row(model, TABLE_zone, row->zone);
        model->segment_length_mm[i] = row->length_mm;
        if (a == ID_NONE || b == ID_NONE) {
            continue;
        }
        if (a == b) {
            Finding *finding = report_row(
                builder->findings, builder->model, RULE_MODEL_SEGMENT, TABLE_segment, (uint32_t)i,
                "node_b", "segment %s leads from %s to itself", row->segment, row->node_a);
            finding->hint = "name the node at its other end, or leave the row out";
        }
        double straight = straight_mm(&set->node.rows[a], &set->node.rows[b]);
        if (isnan(row->length_mm)) {
            model->segment_length_mm[i] = straight;
        } else if (row->length_mm < straight - 1.0) {
            Finding *finding = report_row(
                builder->findings, builder->model, RULE_MODEL_SHORT, TABLE_segment, (uint32_t)i,
                "length_mm", "segment %s is given as %.0f mm, its nodes are %.0f mm apart",
                row->segment, row->length_mm, straight);
            finding->value = row->length_mm;
            finding->limit = straight;
            finding->unit = "mm";
            finding->hint = "measure again, or leave the length blank for the straight distance";
        }
    }
}

/* --- library ------------------------------------------------------------------------------------
 */

static void add_parts(ModelBuilder *builder) {
    Model *model = builder->model;
    const TableSet *set = model->set;
    size_t parts = set->part.count;
    size_t ports = set->port.count;
    name_rows(builder, TABLE_part, &builder->part_by_name);
    model->part_port_first = ARENA_ARRAY(builder->arena, uint32_t, parts);
    model->part_port_count = ARENA_ARRAY(builder->arena, uint32_t, parts);
    for (size_t i = 0; i < ports; i++) {
        uint32_t part = name_map_find(&builder->part_by_name, set->port.rows[i].part);
        if (part != NAME_NONE && model->part_port_count[part]++ == 0) {
            model->part_port_first[part] = (uint32_t)i;
        }
    }
    builder->port_pin_first = ARENA_ARRAY(builder->arena, uint32_t, ports);
    builder->port_pin_count = ARENA_ARRAY(builder->arena, uint32_t, ports);
    size_t pin = 0;
    for (size_t i = 0; i < ports; i++) {
        const PortRow *port = &set->port.rows[i];
        while (pin < set->port_pin.count) {
            const PortPinRow *row = &set->port_pin.rows[pin];
            int order = text_compare_keys(row->part, port->part);
            order = order != 0 ? order : text_compare_keys(row->port, port->port);
            if (order > 0) {
                break;
            }
            if (order == 0 && builder->port_pin_count[i]++ == 0) {
                builder->port_pin_first[i] = (uint32_t)pin;
            } else if (order < 0) {
                report_row(builder->findings, builder->model, RULE_MODEL_PIN, TABLE_port_pin,
                           (uint32_t)pin, "port", "part %s has pins for %s but no such port",
                           row->part, row->port);
            }
            pin++;
        }
    }
}

static void add_classes(ModelBuilder *builder) {
    Model *model = builder->model;
    size_t count = model->set->interface.count;
    model->class_cable = ARENA_ARRAY(builder->arena, uint32_t, count);
    for (size_t i = 0; i < count; i++) {
        const char *cable = model->set->interface.rows[i].cable;
        model->class_cable[i] = *cable == '\0' ? ID_NONE : model_row(model, TABLE_cable, cable);
    }
}

/* --- rows that could not be read
 * -----------------------------------------------------------------
 */

static bool names_something(TableId table) {
    return table == TABLE_unit || table == TABLE_protection || table == TABLE_switchgear ||
           table == TABLE_ground_point || table == TABLE_antenna || table == TABLE_bus;
}

static void name_left_out(ModelBuilder *builder) {
    const TableSet *set = builder->model->set;
    for (size_t i = 0; i < set->left_out_count; i++) {
        if (names_something(set->left_out[i].table)) {
            name_map_add(&builder->left_out, builder->arena, set->left_out[i].key, 0);
        }
    }
    for (int table = 0; table < TABLE_COUNT; table++) {
        builder->partial =
            builder->partial || (names_something((TableId)table) && set->partial[table]);
    }
}

/* Limits that the passes ask for by name; without one of them nothing can be judged. */
static bool has_limits(const TableSet *set, const Model *model, Findings *findings) {
    static const char *const NEEDED[] = {"bend_coax",
                                         "bend_supported",
                                         "bend_wire",
                                         "board_boards",
                                         "board_gap",
                                         "board_hand",
                                         "board_length",
                                         "board_margin",
                                         "board_seam",
                                         "board_spacing",
                                         "board_tie",
                                         "board_width",
                                         "board_zone",
                                         "bond_frame",
                                         "bundle_cables",
                                         "bundle_diameter",
                                         "bundle_factor",
                                         "bundle_load",
                                         "bundle_wires",
                                         "clamp_spacing",
                                         "coax_connector_loss",
                                         "conduit_fill",
                                         "cross_mate_reach",
                                         "cut_minus",
                                         "cut_plus",
                                         "cut_step",
                                         "cut_waste",
                                         "device_distance",
                                         "fault_contact",
                                         "feeder_drop",
                                         "heading_compass",
                                         "heading_magnetometer",
                                         "heater_contact",
                                         "limiter_design",
                                         "lugs_per_stud",
                                         "pair_spacing",
                                         "panel_apart",
                                         "panel_bend",
                                         "panel_corner",
                                         "panel_edge",
                                         "panel_edge_screw",
                                         "panel_front",
                                         "panel_group",
                                         "panel_heat",
                                         "panel_mark",
                                         "panel_reach",
                                         "panel_sink",
                                         "panel_small",
                                         "panel_view",
                                         "panel_web",
                                         "panel_web_screw",
                                         "place_matters",
                                         "protection_continuous",
                                         "protection_peak",
                                         "reel_end",
                                         "remnant_useful",
                                         "return_path",
                                         "ring_chain",
                                         "ring_contact",
                                         "ring_isolation",
                                         "ring_isolation_v",
                                         "ring_signal",
                                         "ring_wire",
                                         "sample_wire",
                                         "shield_current",
                                         "shift_minutes",
                                         "silver_contact_a",
                                         "slack_deflection",
                                         "smallest_awg",
                                         "sneak_current",
                                         "sneak_voltage",
                                         "spare_contacts"};
    bool all = true;
    for (size_t i = 0; i < sizeof NEEDED / sizeof *NEEDED; i++) {
        if (model_row(model, TABLE_limit, NEEDED[i]) != ID_NONE) {
            continue;
        }
        all = false;
        bool told = false; /* by the reader */
        for (size_t k = 0; k < set->left_out_count; k++) {
            told = told || (set->left_out[k].table == TABLE_limit &&
                            strcmp(set->left_out[k].key, NEEDED[i]) == 0);
        }
        if (!told) {
            finding_report(findings, RULE_READ_REFERENCE, "limit", NEEDED[i], "limit",
                           "the library's table limit has no row \"%s\", which the rules ask for",
                           NEEDED[i])
                ->hint = "use the library that came with the program, or write the row";
        }
    }
    return all;
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool model_build(Arena *arena, const TableSet *set, Model *model, Findings *findings) {
    *model = (Model){.set = set};
    ModelBuilder builder = {.arena = arena, .model = model, .findings = findings};
    if (set->job.count != 1) {
        Finding *finding = finding_add(findings, RULE_MODEL_JOB);
        finding->table = "job";
        bool unread = false;
        for (size_t i = 0; i < set->left_out_count; i++) {
            unread = unread || set->left_out[i].table == TABLE_job;
        }
        finding->message = set->job.count > 1 ? "the table `job` has more than one row"
                           : unread           ? "the row of the table `job` could not be read"
                                              : "the table `job` has no row";
        finding->hint = "one row with title, nominal voltage and return style";
        return false;
    }
    if (set->node.count == 0) {
        Finding *finding = finding_add(findings, RULE_MODEL_JOB);
        finding->table = "node";
        finding->message = "the table `node` is empty: nothing has a place";
        finding->hint = "give at least one point of the airframe";
        return false;
    }
    if (!has_limits(set, model, findings)) {
        return false;
    }
    name_rows(&builder, TABLE_node, &model->node_by_name);
    name_rows(&builder, TABLE_bus, &model->bus_by_name);
    name_rows(&builder, TABLE_interface, &model->class_by_name);
    name_rows(&builder, TABLE_phase, &model->phase_by_name);
    name_left_out(&builder);
    add_nodes(&builder);
    add_segments(&builder);
    add_parts(&builder);
    add_classes(&builder);
    builder_add_owners(&builder);
    builder_add_terminals(&builder);
    builder_add_circuits(&builder);
    return true;
}

const LimitRow *model_limit_row(const Model *model, const char *name) {
    uint32_t row = model_row(model, TABLE_limit, name);
    CHECK(row != ID_NONE);
    return &model->set->limit.rows[row];
}

double model_limit(const Model *model, const char *name) {
    uint32_t own = model_row(model, TABLE_rule_limit, name);
    return own != ID_NONE ? model->set->rule_limit.rows[own].value
                          : model_limit_row(model, name)->value;
}

TerminalId model_terminal(const Model *model, const char *end) {
    return name_map_find(&model->terminal_by_end, end);
}

OwnerId model_owner(const Model *model, const char *tag) {
    return name_map_find(&model->owner_by_tag, tag);
}

uint32_t model_row(const Model *model, TableId table, const char *key) {
    uint32_t row = lower_row(model->set, table, key, 0, false);
    bool found =
        row < model->set->any[table].count && strcmp(first_key(model->set, table, row), key) == 0;
    return found ? row : ID_NONE;
}

uint32_t model_rows_of(const Model *model, TableId table, const char *key, uint32_t *count) {
    uint32_t first = lower_row(model->set, table, key, 0, false);
    *count = lower_row(model->set, table, key, first, true) - first;
    return first;
}

const char *model_pin_text(const Model *model, Arena *arena, PinId pin) {
    CHECK(pin < model->pin_count);
    const ModelPin *row = &model->pins[pin];
    const ModelTerminal *terminal = &model->terminals[row->terminal];
    const char *tag = model->owners[terminal->owner].tag;
    if (*row->connector != '\0') {
        return arena_format(arena, "%s.%s-%s", tag, row->connector, row->cavity);
    }
    if (row->core > 0) {
        return arena_format(arena, "%s/%d", terminal->end, row->core + 1);
    }
    return terminal->end;
}

const char *model_direction_name(Direction direction) {
    switch (direction) {
    case DIRECTION_IN:
        return "in";
    case DIRECTION_OUT:
        return "out";
    case DIRECTION_BI:
        return "bi";
    case DIRECTION_RET:
        return "ret";
    case DIRECTION_NONE:
        break;
    }
    return "";
}

bool model_owner_is_exempt(const Model *model, OwnerId owner) {
    const ModelOwner *row = &model->owners[owner];
    if (row->kind != OWNER_UNIT || row->part == ID_NONE) {
        return true;
    }
    const PartRow *part = &model->set->part.rows[row->part];
    return part->case_ground == 1 || strcmp(part->supply, "passive") == 0 ||
           strcmp(part->supply, "own battery") == 0 || strcmp(part->supply, "source") == 0 ||
           strcmp(part->supply, "switched motor") == 0;
}
