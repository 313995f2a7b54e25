/* The labour rows are first made a small graph of operations. Then each module: items that have
 * something to do, edges between them, a topological order that prefers low ranks, and the two
 * passes of the critical-path method. */
#include "shop/work.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/units.h"
#include "model/report.h"

/* --- counts -------------------------------------------------------------------------------------
 */

/* PER(identifier, word of labour.per) */
#define PER_LIST(PER)                                                                              \
    PER(MODULE, "module")                                                                          \
    PER(PIECE, "piece")                                                                            \
    PER(METRE, "metre")                                                                            \
    PER(METRE_OF_ARM, "metre of arm")                                                              \
    PER(END, "end")                                                                                \
    PER(INSERT, "insert")                                                                          \
    PER(SHIELDED_END, "shielded end")                                                              \
    PER(COAX_END, "coax end")                                                                      \
    PER(CONNECTOR, "connector")                                                                    \
    PER(SAMPLE, "sample")

typedef enum Per {
#define PER_ID(id, word) PER_##id,
    PER_LIST(PER_ID)
#undef PER_ID
        PER_COUNT
} Per;

/* How much of each there is at a module, leaf or arm. */
typedef struct Counts {
    double of[PER_COUNT];
} Counts;

typedef struct Operation {
    Per per;
    WorkScope scope;
    uint32_t *after; /* operations */
    uint32_t after_count;
    uint8_t mark; /* while looking for circles: 1 on the way, 2 done */
} Operation;

typedef struct Builder {
    Arena *out;
    Arena scratch;
    const HarnessSet *harness;
    const Model *model;
    const PrepSet *prep;
    WorkList *list;
    Findings *findings;
    Operation *operations; /* by row of labour */
    uint32_t operation_count;
    Counts *leaves; /* by leaf */
    Counts *arms;   /* by arm */
    Counts *modules;
    WorkItem *items; /* of all modules */
    size_t item_count;
    size_t item_capacity;
    uint32_t *after;
    size_t after_count;
    size_t after_capacity;
    uint32_t *op_first;     /* by operation, and one more: its items in the module at hand */
    uint8_t *seen;          /* by operation: while following what an absent one waits for */
    uint32_t cover;         /* number of the item and named operation at hand, from 1 ... */
    uint32_t *leaf_covered; /* ... for which something about this leaf was listed */
    uint32_t *arm_covered;  /* ... about this arm */
} Builder;

static void add_counts(Counts *sum, const Counts *part) {
    for (int i = 0; i < PER_COUNT; i++) {
        sum->of[i] += part->of[i];
    }
}

static void count_end(const Builder *builder, EndId id, Counts *counts) {
    const PrepEnd *prep = &builder->prep->ends[id];
    const TableSet *set = builder->model->set;
    const Piece *piece = &builder->harness->ends->pieces[id / 2];
    if (piece->conductor == ID_NONE && prep->contact == ID_NONE) {
        return; /* done when its cable's shield is */
    }
    counts->of[PER_SHIELDED_END] += prep->shield != ID_NONE ? 1.0 : 0.0;
    if (builder->harness->ends->wiring->cables[piece->cable].coax) {
        counts->of[PER_COAX_END] += 1.0;
        return;
    }
    counts->of[PER_END] += 1.0;
    bool inserted =
        prep->tool != ID_NONE && *set->contact_tool.rows[prep->tool].insert_tool != '\0';
    counts->of[PER_INSERT] += inserted ? 1.0 : 0.0;
}

static void count_all(Builder *builder) {
    const HarnessSet *set = builder->harness;
    builder->leaves = ARENA_ARRAY(&builder->scratch, Counts, set->leaf_count);
    builder->arms = ARENA_ARRAY(&builder->scratch, Counts, set->arm_count);
    builder->modules = ARENA_ARRAY(&builder->scratch, Counts, set->harness_count);
    for (uint32_t i = 0; i < set->leaf_count; i++) {
        const HarnessLeaf *leaf = &set->leaves[i];
        for (uint32_t k = 0; k < leaf->end_count; k++) {
            count_end(builder, set->leaf_ends[leaf->end_first + k], &builder->leaves[i]);
        }
        builder->leaves[i].of[PER_PIECE] = leaf->end_count;
        bool connector =
            (leaf->kind == HARNESS_LEAF_CONNECTOR || leaf->kind == HARNESS_LEAF_SHELL) &&
            ends_shell_mates(builder->model, leaf->shell);
        builder->leaves[i].of[PER_CONNECTOR] = connector ? 1.0 : 0.0;
        add_counts(&builder->modules[leaf->harness], &builder->leaves[i]);
    }
    for (uint32_t i = 0; i < set->arm_count; i++) {
        const HarnessArm *arm = &set->arms[i];
        builder->arms[i].of[PER_METRE_OF_ARM] = units_m_from_mm(arm->length_mm);
        builder->arms[i].of[PER_PIECE] = arm->conductors;
        add_counts(&builder->modules[arm->harness], &builder->arms[i]);
    }
    for (uint32_t i = 0; i < set->harness_count; i++) {
        Counts *counts = &builder->modules[i];
        counts->of[PER_MODULE] = set->harnesses[i].runs > 0 ? 1.0 : 0.0;
        counts->of[PER_PIECE] = set->harnesses[i].pieces;
        counts->of[PER_METRE] = units_m_from_mm(set->harnesses[i].wire_mm);
    }
    for (uint32_t i = 0; i < builder->prep->kind_count; i++) {
        const PrepKind *kind = &builder->prep->kinds[i];
        builder->modules[kind->harness].of[PER_SAMPLE] += kind->samples;
    }
}

/* --- operations ---------------------------------------------------------------------------------
 */

static uint32_t find_word(const char *const *words, uint32_t count, const char *word) {
    for (uint32_t i = 0; i < count; i++) {
        if (strcmp(words[i], word) == 0) {
            return i;
        }
    }
    CHECK(false); /* the reader lets no other word pass */
    return 0;
}

static void read_after(Builder *builder, uint32_t row) {
    const TableSet *set = builder->model->set;
    Operation *operation = &builder->operations[row];
    operation->after = ARENA_ARRAY(&builder->scratch, uint32_t, builder->operation_count);
    const char *at = set->labour.rows[row].after;
    while (*(at += strspn(at, " ")) != '\0') {
        size_t length = strcspn(at, " ");
        const char *name = arena_text(&builder->scratch, at, length);
        uint32_t found = model_row(builder->model, TABLE_labour, name);
        at += length;
        if (found == ID_NONE) {
            report_row(builder->findings, builder->model, RULE_WORK_AFTER, TABLE_labour, row,
                       "after", "%s waits for %s, and no operation is called that",
                       set->labour.rows[row].operation, name)
                ->hint = "name a row of labour";
        } else if (operation->after_count < builder->operation_count) {
            operation->after[operation->after_count++] = found;
        }
    }
}

/* True when `row` waits for itself by way of others. */
static bool finds_circle(Builder *builder, uint32_t row) {
    Operation *operation = &builder->operations[row];
    operation->mark = 1;
    for (uint32_t i = 0; i < operation->after_count; i++) {
        uint32_t next = operation->after[i];
        uint8_t mark = builder->operations[next].mark;
        if (mark == 1) {
            report_row(builder->findings, builder->model, RULE_WORK_CIRCLE, TABLE_labour, row,
                       "after", "%s waits for %s, which waits for it: there is no work list",
                       builder->model->set->labour.rows[row].operation,
                       builder->model->set->labour.rows[next].operation)
                ->hint = "take one of them out of `after`";
            return true;
        }
        if (mark == 0 && finds_circle(builder, next)) {
            return true;
        }
    }
    operation->mark = 2;
    return false;
}

static bool read_operations(Builder *builder) {
    static const char *const PERS[] = {
#define PER_WORD(id, word) word,
        PER_LIST(PER_WORD)
#undef PER_WORD
    };
    static const char *const SCOPES[] = {"module", "leaf", "arm"};
    const TableSet *set = builder->model->set;
    builder->operation_count = (uint32_t)set->labour.count;
    builder->operations = ARENA_ARRAY(&builder->scratch, Operation, set->labour.count);
    for (uint32_t i = 0; i < set->labour.count; i++) {
        const LabourRow *row = &set->labour.rows[i];
        builder->operations[i].per = (Per)find_word(PERS, PER_COUNT, row->per);
        builder->operations[i].scope = (WorkScope)find_word(SCOPES, 3, row->scope);
        read_after(builder, i);
    }
    for (uint32_t i = 0; i < set->labour.count; i++) {
        if (builder->operations[i].mark == 0 && finds_circle(builder, i)) {
            return false;
        }
    }
    return true;
}

/* --- items of one module ------------------------------------------------------------------------
 */

static bool is_sealed(const Builder *builder, const Harness *harness) {
    const Model *model = builder->model;
    for (uint32_t i = 0; i < harness->node_count; i++) {
        ZoneId zone = model->node_zone[builder->harness->nodes[harness->node_first + i].node];
        if (zone != ID_NONE && model->set->zone.rows[zone].sealed_needed == 1) {
            return true;
        }
    }
    return false;
}

static void add_item(Builder *builder, uint32_t harness, uint32_t labour, uint32_t object,
                     const Counts *counts) {
    const Operation *operation = &builder->operations[labour];
    double quantity = counts->of[operation->per];
    if (!(quantity > 0.0)) {
        return;
    }
    const LabourRow *row = &builder->model->set->labour.rows[labour];
    *ARENA_PUSH(&builder->scratch, builder->items, builder->item_count, builder->item_capacity) =
        (WorkItem){.harness = harness,
                   .labour = labour,
                   .scope = operation->scope,
                   .object = object,
                   .quantity = quantity,
                   .minutes = quantity * row->minutes_min};
}

/* Items of a module by operation; builder->op_first tells where each begins. */
static void list_items(Builder *builder, uint32_t index) {
    const Harness *harness = &builder->harness->harnesses[index];
    bool sealed = is_sealed(builder, harness);
    for (uint32_t i = 0; i < builder->operation_count; i++) {
        const LabourRow *row = &builder->model->set->labour.rows[i];
        builder->op_first[i] = (uint32_t)builder->item_count;
        if (strcmp(row->only, "sealed") == 0 && !sealed) {
            continue;
        }
        switch (builder->operations[i].scope) {
        case WORK_MODULE:
            add_item(builder, index, i, ID_NONE, &builder->modules[index]);
            break;
        case WORK_LEAF:
            for (uint32_t k = 0; k < harness->leaf_count; k++) {
                uint32_t leaf = harness->leaf_first + k;
                add_item(builder, index, i, leaf, &builder->leaves[leaf]);
            }
            break;
        case WORK_ARM:
            for (uint32_t k = 0; k < harness->arm_count; k++) {
                uint32_t arm = harness->arm_first + k;
                add_item(builder, index, i, arm, &builder->arms[arm]);
            }
            break;
        }
    }
    builder->op_first[builder->operation_count] = (uint32_t)builder->item_count;
}

/* The item of an operation about that object; ID_NONE. Items of an operation are by object. */
static uint32_t item_about(const Builder *builder, uint32_t operation, uint32_t object) {
    uint32_t low = builder->op_first[operation];
    uint32_t high = builder->op_first[operation + 1];
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (builder->items[middle].object < object) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    bool found = low < builder->op_first[operation + 1] && builder->items[low].object == object;
    return found ? low : ID_NONE;
}

static void push_after(Builder *builder, uint32_t item) {
    *ARENA_PUSH(&builder->scratch, builder->after, builder->after_count, builder->after_capacity) =
        item;
}

/* What an item waits for by one operation: by those that one waits for where it has nothing to do
 * (inserting, at a place with lugs: then crimping). */
static void add_after(Builder *builder, const WorkItem *item, uint32_t operation) {
    if (builder->seen[operation] != 0) {
        return;
    }
    builder->seen[operation] = 1;
    const Operation *before = &builder->operations[operation];
    uint32_t first = builder->op_first[operation];
    uint32_t end = builder->op_first[operation + 1];
    bool same = before->scope == item->scope;
    uint32_t about = same ? item_about(builder, operation, item->object) : ID_NONE;
    if (about != ID_NONE) {
        push_after(builder, about);
        return;
    }
    uint32_t *covered = before->scope == WORK_ARM ? builder->arm_covered : builder->leaf_covered;
    for (uint32_t i = first; i < end && !same; i++) {
        uint32_t object = builder->items[i].object;
        if (object == ID_NONE || covered[object] != builder->cover) {
            push_after(builder, i);
        }
        if (object != ID_NONE) {
            covered[object] = builder->cover;
        }
    }
    bool whole = !same && first < end && before->scope == WORK_MODULE;
    for (uint32_t i = 0; i < before->after_count && !whole; i++) {
        bool about_the_same = builder->operations[before->after[i]].scope == before->scope;
        if (same || first == end || about_the_same) {
            add_after(builder, item, before->after[i]);
        }
    }
}

static void link_items(Builder *builder, uint32_t first) {
    for (uint32_t i = first; i < builder->item_count; i++) {
        WorkItem *item = &builder->items[i];
        const Operation *operation = &builder->operations[item->labour];
        item->after_first = (uint32_t)builder->after_count;
        memset(builder->seen, 0, builder->operation_count);
        for (uint32_t k = 0; k < operation->after_count; k++) {
            builder->cover++; /* what one named operation covers excuses no other that is named */
            add_after(builder, &builder->items[i], operation->after[k]);
        }
        item->after_count = (uint32_t)builder->after_count - item->after_first;
    }
}

/* --- order --------------------------------------------------------------------------------------
 */

typedef struct Ranked {
    int32_t rank;
    uint32_t item;
} Ranked;

static int compare_ranked(const void *left, const void *right) {
    const Ranked *a = left;
    const Ranked *b = right;
    if (a->rank != b->rank) {
        return a->rank < b->rank ? -1 : 1;
    }
    return (a->item > b->item) - (a->item < b->item);
}

/* Heap of places in the order of ranks; the least on top. */
static void heap_push(uint32_t *heap, size_t *count, uint32_t place) {
    size_t at = (*count)++;
    while (at > 0 && heap[(at - 1) / 2] > place) {
        heap[at] = heap[(at - 1) / 2];
        at = (at - 1) / 2;
    }
    heap[at] = place;
}

static uint32_t heap_pop(uint32_t *heap, size_t *count) {
    uint32_t top = heap[0];
    uint32_t last = heap[--(*count)];
    size_t at = 0;
    for (size_t child = 1; child < *count; child = 2 * at + 1) {
        child += child + 1 < *count && heap[child + 1] < heap[child] ? 1u : 0u;
        if (heap[child] >= last) {
            break;
        }
        heap[at] = heap[child];
        at = child;
    }
    heap[at] = last;
    return top;
}

/* Items [first, end) in an order in which each comes after all it waits for, and otherwise by rank,
 * operation and object. Sets `step`. Returns the items in that order. */
static uint32_t *order_items(Builder *builder, uint32_t first) {
    Arena *scratch = &builder->scratch;
    uint32_t count = (uint32_t)builder->item_count - first;
    Ranked *ranked = ARENA_ARRAY(scratch, Ranked, count);
    uint32_t *place = ARENA_ARRAY(scratch, uint32_t, count);
    uint32_t *waits = ARENA_ARRAY(scratch, uint32_t, count);
    uint32_t *next_first = ARENA_ARRAY(scratch, uint32_t, (size_t)count + 1);
    for (uint32_t i = 0; i < count; i++) {
        const WorkItem *item = &builder->items[first + i];
        ranked[i] = (Ranked){builder->model->set->labour.rows[item->labour].rank, i};
        waits[i] = item->after_count;
        for (uint32_t k = 0; k < item->after_count; k++) {
            next_first[builder->after[item->after_first + k] - first + 1]++;
        }
    }
    if (count > 1) {
        qsort(ranked, count, sizeof *ranked, compare_ranked);
    }
    for (uint32_t i = 0; i < count; i++) {
        place[ranked[i].item] = i;
        next_first[i + 1] += next_first[i];
    }
    uint32_t *next = ARENA_ARRAY(scratch, uint32_t, next_first[count]);
    uint32_t *filled = ARENA_ARRAY(scratch, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) {
        const WorkItem *item = &builder->items[first + i];
        for (uint32_t k = 0; k < item->after_count; k++) {
            uint32_t before = builder->after[item->after_first + k] - first;
            next[next_first[before] + filled[before]++] = i;
        }
    }
    uint32_t *order = ARENA_ARRAY(scratch, uint32_t, count);
    uint32_t *heap = ARENA_ARRAY(scratch, uint32_t, count);
    size_t ready = 0;
    uint32_t done = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (waits[i] == 0) {
            heap_push(heap, &ready, place[i]);
        }
    }
    while (ready > 0) {
        uint32_t item = ranked[heap_pop(heap, &ready)].item;
        order[done++] = first + item;
        builder->items[first + item].step = done;
        for (uint32_t k = next_first[item]; k < next_first[item + 1]; k++) {
            if (--waits[next[k]] == 0) {
                heap_push(heap, &ready, place[next[k]]);
            }
        }
    }
    CHECK(done == count); /* operations hold no circle, so items hold none */
    return order;
}

/* --- longest chain ------------------------------------------------------------------------------
 */

/* The longest chain, from the item that ends last back by the predecessor that ends when it begins
 * (on a tie the one of the lowest step). */
static void follow_chain(const Builder *builder, uint32_t first, uint32_t last,
                         WorkModule *module) {
    const WorkItem *items = builder->items;
    Arena scratch = {0};
    uint32_t *back = ARENA_ARRAY(&scratch, uint32_t, builder->item_count - first);
    for (uint32_t at = last; at != ID_NONE;) {
        back[module->chain_count++] = at;
        uint32_t next = ID_NONE;
        const WorkItem *item = &items[at];
        for (uint32_t k = 0; k < item->after_count; k++) {
            uint32_t before = builder->after[item->after_first + k];
            double end_min = items[before].early_min + items[before].minutes;
            bool ends_then = end_min >= item->early_min;
            if (ends_then && (next == ID_NONE || items[before].step < items[next].step)) {
                next = before;
            }
        }
        at = next;
    }
    for (uint32_t i = 0; i < module->chain_count / 2; i++) {
        uint32_t other = module->chain_count - 1 - i;
        uint32_t swap = back[i];
        back[i] = back[other];
        back[other] = swap;
    }
    uint32_t *chain = ARENA_ARRAY(builder->out, uint32_t, module->chain_count);
    for (uint32_t i = 0; i < module->chain_count; i++) {
        chain[i] = first + items[back[i]].step - 1; /* where it stands once items are by step */
    }
    module->chain = chain;
    arena_free(&scratch);
}

/* Forward and backward pass. */
static void time_items(Builder *builder, uint32_t first, const uint32_t *order,
                       WorkModule *module) {
    WorkItem *items = builder->items;
    uint32_t count = (uint32_t)builder->item_count - first;
    const double LAST_DIGITS_MIN = 1e-9; /* of sums taken in another order */
    double *latest = ARENA_ARRAY(&builder->scratch, double, count); /* may end at */
    uint32_t last = ID_NONE;
    for (uint32_t i = 0; i < count; i++) {
        WorkItem *item = &items[order[i]];
        for (uint32_t k = 0; k < item->after_count; k++) {
            const WorkItem *before = &items[builder->after[item->after_first + k]];
            item->early_min = fmax(item->early_min, before->early_min + before->minutes);
        }
        module->minutes += item->minutes;
        bool inspector =
            strcmp(builder->model->set->labour.rows[item->labour].who, "inspector") == 0;
        module->inspector_min += inspector ? item->minutes : 0.0;
        if (last == ID_NONE || item->early_min + item->minutes > module->longest_min) {
            module->longest_min = item->early_min + item->minutes;
            last = order[i];
        }
    }
    for (uint32_t i = 0; i < count; i++) {
        latest[i] = module->longest_min;
    }
    for (uint32_t i = count; i-- > 0;) {
        WorkItem *item = &items[order[i]];
        double begin_min = latest[order[i] - first] - item->minutes;
        double float_min = begin_min - item->early_min;
        item->float_min = float_min > LAST_DIGITS_MIN ? float_min : 0.0;
        for (uint32_t k = 0; k < item->after_count; k++) {
            double *before = &latest[builder->after[item->after_first + k] - first];
            *before = fmin(*before, begin_min);
        }
    }
    follow_chain(builder, first, last, module);
}

/* --- exported -----------------------------------------------------------------------------------
 */

static void build_module(Builder *builder, uint32_t index) {
    WorkModule *module = &builder->list->modules[index];
    uint32_t first = (uint32_t)builder->item_count;
    list_items(builder, index);
    link_items(builder, first);
    uint32_t count = (uint32_t)builder->item_count - first;
    module->item_first = first;
    module->item_count = count;
    if (count == 0) {
        return;
    }
    const uint32_t *order = order_items(builder, first);
    time_items(builder, first, order, module);
    /* By step; what they wait for moves along. */
    WorkItem *sorted = ARENA_ARRAY(&builder->scratch, WorkItem, count);
    uint32_t *moved = ARENA_ARRAY(&builder->scratch, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) {
        sorted[i] = builder->items[order[i]];
        moved[order[i] - first] = first + i;
    }
    for (uint32_t i = 0; i < count; i++) {
        builder->items[first + i] = sorted[i];
        for (uint32_t k = 0; k < sorted[i].after_count; k++) {
            uint32_t *before = &builder->after[sorted[i].after_first + k];
            *before = moved[*before - first];
        }
    }
}

bool work_build(Arena *out, const PrepSet *prep, WorkList *list, Findings *findings) {
    const HarnessSet *harness = prep->harness;
    *list = (WorkList){.prep = prep};
    list->modules = ARENA_ARRAY(out, WorkModule, harness->harness_count);
    Builder builder = {.out = out,
                       .harness = harness,
                       .model = harness->ends->model,
                       .prep = prep,
                       .list = list,
                       .findings = findings};
    if (read_operations(&builder)) {
        count_all(&builder);
        builder.op_first =
            ARENA_ARRAY(&builder.scratch, uint32_t, (size_t)builder.operation_count + 1);
        builder.leaf_covered = ARENA_ARRAY(&builder.scratch, uint32_t, harness->leaf_count);
        builder.arm_covered = ARENA_ARRAY(&builder.scratch, uint32_t, harness->arm_count);
        builder.seen = ARENA_ARRAY(&builder.scratch, uint8_t, builder.operation_count);
        for (uint32_t i = 0; i < harness->harness_count; i++) {
            build_module(&builder, i);
        }
    }
    list->item_count = (uint32_t)builder.item_count;
    list->items = ARENA_ARRAY(out, WorkItem, builder.item_count);
    list->after = ARENA_ARRAY(out, uint32_t, builder.after_count);
    if (builder.item_count > 0) {
        memcpy(list->items, builder.items, builder.item_count * sizeof *list->items);
    }
    if (builder.after_count > 0) {
        memcpy(list->after, builder.after, builder.after_count * sizeof *list->after);
    }
    arena_free(&builder.scratch);
    return true;
}
