/* Result tables work and work_total. */
#include <stdlib.h>

#include "shop/work.h"

static const char *item_at(const WorkList *list, const WorkItem *item) {
    const HarnessSet *harness = list->prep->harness;
    switch (item->scope) {
    case WORK_LEAF:
        return harness->leaves[item->object].label;
    case WORK_ARM:
        return harness->ends->model->set->segment.rows[harness->arms[item->object].segment].segment;
    case WORK_MODULE:
        break;
    }
    return "";
}

static int compare_steps(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left;
    uint32_t b = *(const uint32_t *)right;
    return (a > b) - (a < b);
}

/* "3 5-9": the steps an item waits for. */
static const char *after_text(Arena *arena, const WorkList *list, const WorkItem *item) {
    Arena scratch = {0};
    uint32_t *steps = ARENA_ARRAY(&scratch, uint32_t, item->after_count);
    for (uint32_t i = 0; i < item->after_count; i++) {
        steps[i] = list->items[list->after[item->after_first + i]].step;
    }
    if (item->after_count > 1) {
        qsort(steps, item->after_count, sizeof *steps, compare_steps);
    }
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < item->after_count;) {
        uint32_t end = i;
        while (end + 1 < item->after_count && steps[end + 1] <= steps[end] + 1) {
            end++;
        }
        buffer_format(&text, steps[end] > steps[i] ? "%s%u-%u" : "%s%u", i == 0 ? "" : " ",
                      steps[i], steps[end]);
        i = end + 1;
    }
    arena_free(&scratch);
    return text.bytes == NULL ? "" : text.bytes;
}

static void add_total(Arena *arena, const WorkList *list, uint32_t index, TableSet *out) {
    const TableSet *tables = list->prep->harness->ends->model->set;
    const WorkModule *module = &list->modules[index];
    if (module->item_count == 0) {
        return;
    }
    WorkTotalRow *row = table_append(out, arena, TABLE_work_total);
    row->module = tables->module.rows[index].module;
    row->steps = (int32_t)module->item_count;
    row->minutes_min = module->minutes;
    row->builder_min = module->minutes - module->inspector_min;
    row->inspector_min = module->inspector_min;
    row->longest_min = module->longest_min;
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < module->chain_count; i++) {
        const WorkItem *item = &list->items[module->chain[i]];
        const char *at = item_at(list, item);
        buffer_format(&text, "%s%s%s%s", i == 0 ? "" : " > ",
                      tables->labour.rows[item->labour].operation, *at == '\0' ? "" : " ", at);
    }
    row->chain = text.bytes;
}

void work_rows(Arena *arena, const WorkList *list, TableSet *out) {
    const TableSet *tables = list->prep->harness->ends->model->set;
    for (uint32_t i = 0; i < list->item_count; i++) {
        const WorkItem *item = &list->items[i];
        const LabourRow *labour = &tables->labour.rows[item->labour];
        WorkRow *row = table_append(out, arena, TABLE_work);
        row->module = tables->module.rows[item->harness].module;
        row->step = (int32_t)item->step;
        row->operation = labour->name;
        row->at = item_at(list, item);
        row->quantity = item->quantity;
        row->per = labour->per;
        row->minutes_min = item->minutes;
        row->who = labour->who;
        row->after = after_text(arena, list, item);
        row->early_min = item->early_min;
        row->float_min = item->float_min;
    }
    for (uint32_t i = 0; i < list->prep->harness->harness_count; i++) {
        add_total(arena, list, i, out);
    }
}
