#include "app/lists.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"
#include "table/value.h"

/* --- equipment ----------------------------------------------------------------------------------
 */

static void equipment_rows(const Proof *proof, Arena *arena, TableSet *out) {
    const TableSet *set = &proof->set;
    for (size_t i = 0; i < set->unit.count; i++) {
        const UnitRow *unit = &set->unit.rows[i];
        uint32_t part_row = model_row(&proof->model, TABLE_part, unit->part);
        uint32_t node_row = model_row(&proof->model, TABLE_node, unit->node);
        if (part_row == ID_NONE || node_row == ID_NONE) {
            continue; /* reported when it was read */
        }
        const PartRow *part = &set->part.rows[part_row];
        double arm_mm = set->node.rows[node_row].x_mm;
        EquipmentRow *row = table_append(out, arena, TABLE_equipment);
        row->unit = unit->tag;
        row->part = unit->part;
        row->name = part->name;
        row->role = unit->role;
        row->module = unit->module;
        row->mount = unit->mount;
        row->node = unit->node;
        row->mass_kg = part->mass_kg;
        row->arm_mm = arm_mm;
        row->moment_kgm = part->mass_kg * units_m_from_mm(arm_mm);
    }
}

/* --- devices ------------------------------------------------------------------------------------
 */

/* Circuits whose feed passes each owner, in their order. */
static const char **feeds_of_owners(const Proof *proof, Arena *arena) {
    const Model *model = &proof->model;
    Buffer *texts = ARENA_ARRAY(arena, Buffer, model->owner_count);
    const char **feeds = ARENA_ARRAY(arena, const char *, model->owner_count);
    for (uint32_t i = 0; i < model->owner_count; i++) {
        texts[i].arena = arena;
    }
    for (size_t i = 0; i < proof->set.feed.count; i++) {
        const ModelFeed *feed = &model->feeds[i];
        for (uint32_t j = 0; feed->usable && j < feed->step_count; j++) {
            Buffer *text = &texts[model->steps[feed->step_first + j].owner];
            buffer_format(text, "%s%s", text->length == 0 ? "" : " ", proof->set.feed.rows[i].feed);
        }
    }
    for (uint32_t i = 0; i < model->owner_count; i++) {
        feeds[i] = texts[i].length == 0 ? "" : texts[i].bytes;
    }
    return feeds;
}

/* Result rows are not in their final order yet: they are gone through once. */
static void worst_currents(const Proof *proof, Arena *arena, TableSet *out) {
    NameMap rows = {0};
    for (size_t i = 0; i < out->device_list.count; i++) {
        name_map_add(&rows, arena, out->device_list.rows[i].device, (uint32_t)i);
    }
    for (size_t i = 0; i < proof->set.device_current.count; i++) {
        const DeviceCurrentRow *current = &proof->set.device_current.rows[i];
        uint32_t found = name_map_find(&rows, current->device);
        if (found == NAME_NONE) {
            continue;
        }
        DeviceListRow *row = &out->device_list.rows[found];
        if (isnan(row->worst_a) || fabs(current->amps_a) > row->worst_a) {
            row->worst_a = fabs(current->amps_a);
            row->worst_in = current->phase;
        }
    }
}

static void device_rows(const Proof *proof, Arena *arena, TableSet *out) {
    const TableSet *set = &proof->set;
    const char **feeds = feeds_of_owners(proof, arena);
    for (uint32_t i = 0; i < proof->model.owner_count; i++) {
        const ModelOwner *owner = &proof->model.owners[i];
        if (owner->kind != OWNER_PROTECTION && owner->kind != OWNER_SWITCHGEAR) {
            continue;
        }
        DeviceListRow *row = table_append(out, arena, TABLE_device_list);
        row->device = owner->tag;
        row->feeds = feeds[i];
        row->node = set->node.rows[owner->node].node;
        if (owner->kind == OWNER_PROTECTION) {
            const ProtectionRow *device = &set->protection.rows[owner->row];
            row->part = device->part;
            row->name = owner->part == ID_NONE ? "" : set->device.rows[owner->part].name;
            row->rating_a = proof->sizing.rating_a[owner->row];
            row->rated_by = isnan(device->rating_a) ? "chosen" : "given";
            row->place = device->place;
        } else {
            const SwitchgearRow *device = &set->switchgear.rows[owner->row];
            row->part = device->part;
            row->name = owner->part == ID_NONE ? "" : set->switch_part.rows[owner->part].name;
            row->rating_a =
                owner->part == ID_NONE ? (double)NAN : set->switch_part.rows[owner->part].rated_a;
            row->rated_by = "part";
            row->place = device->what;
        }
    }
    worst_currents(proof, arena, out);
}

/* --- sources ------------------------------------------------------------------------------------
 */

static void source_rows(const Proof *proof, Arena *arena, TableSet *out) {
    const TableSet *set = &proof->set;
    for (size_t i = 0; i < set->limit.count; i++) {
        const LimitRow *limit = &set->limit.rows[i];
        uint32_t own = model_row(&proof->model, TABLE_rule_limit, limit->limit);
        SourceUsedRow *row = table_append(out, arena, TABLE_source_used);
        row->limit = limit->limit;
        row->value = model_limit(&proof->model, limit->limit);
        row->unit = limit->unit;
        row->meaning = limit->meaning;
        row->source = own == ID_NONE ? limit->source : set->rule_limit.rows[own].reason;
        row->status = own == ID_NONE ? limit->status : "this job's own";
    }
}

void lists_rows(const Proof *proof, Arena *arena, TableSet *out) {
    equipment_rows(proof, arena, out);
    device_rows(proof, arena, out);
    source_rows(proof, arena, out);
}
