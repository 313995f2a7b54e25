#include "app/bench_items.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "table/value.h"

/* The operation that readings speak for: ticked as a whole, whatever it is reckoned by. */
#define OPERATION_RINGOUT "ringout"

typedef struct Breaking {
    Arena *arena;
    Proof *proof;
    const HarnessSet *set;
    const PrepSet *prep;
    const TableSet *tables;
    ModuleId module;
    BenchItems *items;
    NameMap cuts; /* piece -> row of `cut` */
    NameMap ends; /* "piece/end" -> row of `end_prep` */
    Arena scratch;
} Breaking;

typedef struct Part {
    uint32_t piece;
    uint32_t end;  /* ID_NONE */
    uint32_t pull; /* row of pull_test; ID_NONE */
    int64_t rank;  /* of the cut */
    const char *at;
    double share;
} Part;

/* --- what a tick is about ------------------------------------------------------------------------
 */

static const char *end_key(Arena *arena, const HarnessSet *set, EndId end) {
    return arena_format(arena, "%s/%u", set->pieces[end / 2].key, end % 2 + 1);
}

/* What is done to a piece as a whole. */
static const char *piece_built(const Breaking *breaking, uint32_t piece) {
    uint32_t row = name_map_find(&breaking->cuts, breaking->set->pieces[piece].key);
    if (row == NAME_NONE) {
        return "";
    }
    const CutRow *cut = &breaking->tables->cut.rows[row];
    return arena_format(breaking->arena, "%s %s %.0f mm, %s to %s", cut->part, cut->colour,
                        cut->length_mm, cut->from_end, cut->to_end);
}

/* What is done to an end, `inserted`: into which cavity, with whatever contact. */
static const char *end_built(const Breaking *breaking, const char *key, bool inserted) {
    uint32_t row = name_map_find(&breaking->ends, key);
    if (row == NAME_NONE) {
        return "";
    }
    const EndPrepRow *end = &breaking->tables->end_prep.rows[row];
    return inserted ? end->at
                    : arena_format(breaking->arena, "%s, contact %s, %g mm", end->at, end->contact,
                                   isnan(end->strip_mm) ? 0.0 : end->strip_mm);
}

/* "20 AWG 22": crimps of one kind. */
static const char *pull_key(Arena *arena, const PullTestRow *row) {
    return arena_format(arena, "%s AWG %s", row->contact, value_awg_text(arena, row->awg));
}

/* A sample speaks for crimps of one tool and setting. */
static const char *pull_built(const Breaking *breaking, uint32_t pull) {
    const PullTestRow *row = &breaking->tables->pull_test.rows[pull];
    return isnan(row->least_n)
               ? row->crimp_tool
               : arena_format(breaking->arena, "%s, %g N", row->crimp_tool, row->least_n);
}

static void add(Breaking *breaking, uint32_t work, const char *key, const char *built,
                double minutes, const Part *part) {
    BenchItems *items = breaking->items;
    *ARENA_PUSH(breaking->arena, items->items, items->count, items->capacity) =
        (BenchItem){.work = work,
                    .key = key,
                    .built = built,
                    .minutes = minutes,
                    .piece = part->piece,
                    .end = part->end,
                    .pull = part->pull};
}

/* --- breaking down -------------------------------------------------------------------------------
 */

static int compare_parts(const void *left, const void *right) {
    const Part *a = left;
    const Part *b = right;
    if (a->rank != b->rank) {
        return a->rank < b->rank ? -1 : 1;
    }
    int order = text_compare_keys(a->at, b->at);
    uint32_t at = 2 * a->piece + (a->end == 1 ? 1U : 0U);
    uint32_t bt = 2 * b->piece + (b->end == 1 ? 1U : 0U);
    return order != 0 ? order : (at > bt) - (at < bt);
}

/* As the work list counts them (shop/work.c). */
static bool end_counts(const Breaking *breaking, EndId id, const char *per) {
    const PrepEnd *prep = &breaking->prep->ends[id];
    const Piece *piece = &breaking->set->ends->pieces[id / 2];
    if (piece->conductor == ID_NONE && prep->contact == ID_NONE) {
        return false;
    }
    if (strcmp(per, "shielded end") == 0) {
        return prep->shield != ID_NONE;
    }
    bool coax = breaking->set->ends->wiring->cables[piece->cable].coax;
    if (strcmp(per, "coax end") == 0) {
        return coax;
    }
    bool inserted = prep->tool != ID_NONE &&
                    *breaking->tables->contact_tool.rows[prep->tool].insert_tool != '\0';
    return !coax && (strcmp(per, "end") == 0 || inserted);
}

static size_t add_leaf_parts(const Breaking *breaking, const HarnessLeaf *leaf, const char *per,
                             Part *parts, size_t count) {
    for (uint32_t i = 0; i < leaf->end_count; i++) {
        EndId id = breaking->set->leaf_ends[leaf->end_first + i];
        if (end_counts(breaking, id, per)) {
            const char *key = end_key(breaking->arena, breaking->set, id);
            uint32_t row = name_map_find(&breaking->ends, key);
            parts[count++] = (Part){
                .piece = id / 2,
                .end = id % 2,
                .pull = ID_NONE,
                .at = row == NAME_NONE ? "" : breaking->tables->end_prep.rows[row].at,
                .share = 1.0,
            };
        }
    }
    return count;
}

/* Ends at a leaf, or at all leaves of the module. */
static size_t end_parts(const Breaking *breaking, const WorkItem *work, const char *per,
                        Part *parts) {
    const Harness *harness = &breaking->set->harnesses[work->harness];
    if (work->scope == WORK_LEAF) {
        return add_leaf_parts(breaking, &breaking->set->leaves[work->object], per, parts, 0);
    }
    size_t count = 0;
    for (uint32_t i = 0; i < harness->leaf_count; i++) {
        count = add_leaf_parts(breaking, &breaking->set->leaves[harness->leaf_first + i], per,
                               parts, count);
    }
    return count;
}

/* Kinds of crimps that are pulled. */
static size_t pull_parts(const Breaking *breaking, Part *parts) {
    const PullTestRow *rows = breaking->tables->pull_test.rows;
    const char *module = breaking->tables->module.rows[breaking->module].module;
    size_t count = 0;
    for (size_t i = 0; i < breaking->tables->pull_test.count; i++) {
        if (strcmp(rows[i].module, module) == 0 && rows[i].samples > 0) {
            parts[count++] = (Part){.piece = ID_NONE,
                                    .end = ID_NONE,
                                    .pull = (uint32_t)i,
                                    .at = pull_key(breaking->arena, &rows[i]),
                                    .share = rows[i].samples};
        }
    }
    return count;
}

/* What is cut as one: single wires, jacketed cables. */
static size_t piece_parts(const Breaking *breaking, const WorkItem *work, bool by_length,
                          Part *parts) {
    const HarnessSet *set = breaking->set;
    size_t count = 0;
    for (uint32_t i = 0; i < set->run_count; i++) {
        const HarnessRun *run = &set->runs[i];
        if (run->harness != work->harness) {
            continue;
        }
        for (uint32_t k = 0; k < (run->jacketed ? 1U : run->piece_count); k++) {
            uint32_t piece = set->run_pieces[run->piece_first + k];
            uint32_t row = name_map_find(&breaking->cuts, set->pieces[piece].key);
            if (row == NAME_NONE && !run->jacketed) {
                continue; /* a shield goes with its cable */
            }
            double cut_mm = set->pieces[piece].length.cut_mm;
            parts[count++] = (Part){
                .piece = piece,
                .end = ID_NONE,
                .pull = ID_NONE,
                .rank = row == NAME_NONE ? INT64_MAX : breaking->tables->cut.rows[row].rank,
                .at = set->pieces[piece].key,
                .share = by_length && cut_mm > 0.0 ? cut_mm : 1.0,
            };
        }
    }
    return count;
}

static const char *object_name(const Breaking *breaking, const WorkItem *work) {
    switch (work->scope) {
    case WORK_LEAF:
        return breaking->set->leaves[work->object].label;
    case WORK_ARM:
        return breaking->tables->segment.rows[breaking->set->arms[work->object].segment].segment;
    case WORK_MODULE:
        break;
    }
    return "";
}

/* By what the operation is reckoned decides what is ticked; nothing: the work as a whole. */
static size_t find_parts(const Breaking *breaking, const WorkItem *work, const LabourRow *labour,
                         Part *parts) {
    const char *per = labour->per;
    bool ends = strcmp(per, "insert") == 0 || strcmp(per, "end") == 0 ||
                strcmp(per, "coax end") == 0 || strcmp(per, "shielded end") == 0;
    bool metres = strcmp(per, "metre") == 0;
    if (ends) {
        return work->scope == WORK_ARM ? 0 : end_parts(breaking, work, per, parts);
    }
    if (work->scope != WORK_MODULE || strcmp(labour->operation, OPERATION_RINGOUT) == 0) {
        return 0;
    }
    if (strcmp(per, "sample") == 0) {
        return pull_parts(breaking, parts);
    }
    return metres || strcmp(per, "piece") == 0 ? piece_parts(breaking, work, metres, parts) : 0;
}

static void add_part(Breaking *breaking, uint32_t work, const Part *part, double minutes) {
    bool inserted =
        strcmp(breaking->tables->labour.rows[breaking->proof->bench->work.items[work].labour].per,
               "insert") == 0;
    const char *key = part->at;
    const char *built = "";
    if (part->pull != ID_NONE) {
        built = pull_built(breaking, part->pull);
    } else if (part->end == ID_NONE) {
        key = breaking->set->pieces[part->piece].key;
        built = piece_built(breaking, part->piece);
    } else {
        key = end_key(breaking->arena, breaking->set, 2 * part->piece + part->end);
        built = end_built(breaking, key, inserted);
    }
    add(breaking, work, key, built, minutes, part);
}

static void break_down(Breaking *breaking, uint32_t index) {
    const WorkItem *work = &breaking->proof->bench->work.items[index];
    const LabourRow *labour = &breaking->tables->labour.rows[work->labour];
    size_t most = 2 * (size_t)breaking->set->ends->piece_count + breaking->tables->pull_test.count;
    Part *parts = ARENA_ARRAY(&breaking->scratch, Part, most + 1);
    size_t count = find_parts(breaking, work, labour, parts);
    if (count == 0) {
        const Part whole = {.piece = ID_NONE, .end = ID_NONE, .pull = ID_NONE};
        add(breaking, index, object_name(breaking, work), "", work->minutes, &whole);
    }
    qsort(parts, count, sizeof *parts, compare_parts);
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += parts[i].share;
    }
    for (size_t i = 0; i < count; i++) {
        add_part(breaking, index, &parts[i], work->minutes * parts[i].share / sum);
    }
    arena_free(&breaking->scratch);
}

void bench_items(Arena *arena, Proof *proof, ModuleId module, BenchItems *items) {
    bench_step(proof, BENCH_CUTLIST);
    bench_step(proof, BENCH_WORK);
    const Bench *bench = proof->bench;
    *items = (BenchItems){0};
    if (bench->work.item_count == 0 || module >= bench->harness.harness_count) {
        return;
    }
    Breaking breaking = {.arena = arena,
                         .proof = proof,
                         .set = &bench->harness,
                         .prep = &bench->prep,
                         .tables = &proof->set,
                         .module = module,
                         .items = items};
    for (size_t i = 0; i < proof->set.cut.count; i++) {
        name_map_add(&breaking.cuts, arena, proof->set.cut.rows[i].piece, (uint32_t)i);
    }
    for (size_t i = 0; i < proof->set.end_prep.count; i++) {
        const EndPrepRow *row = &proof->set.end_prep.rows[i];
        name_map_add(&breaking.ends, arena, arena_format(arena, "%s/%d", row->piece, row->end),
                     (uint32_t)i);
    }
    const WorkModule *of = &bench->work.modules[module];
    for (uint32_t i = 0; i < of->item_count; i++) {
        break_down(&breaking, of->item_first + i);
    }
}

/* --- what was done -------------------------------------------------------------------------------
 */

/* Rows in the order of their time, then key; so the last one counts. */
static int compare_ticks(const void *left, const void *right) {
    const BenchTickRow *a = *(const BenchTickRow *const *)left;
    const BenchTickRow *b = *(const BenchTickRow *const *)right;
    int order = strcmp(a->time, b->time);
    return order != 0 ? order : strcmp(a->tick, b->tick);
}

static const char *item_name(Arena *arena, const char *operation, const char *key) {
    return arena_format(arena, "%s %s", operation, key);
}

/* Ticks that nobody took back, in the order of their time. */
static const BenchTickRow **standing_ticks(Arena *arena, const TableSet *kept, const char *module,
                                           size_t *count) {
    NameMap undone = {0};
    for (size_t i = 0; i < kept->bench_tick.count; i++) {
        if (*kept->bench_tick.rows[i].undoes != '\0') {
            name_map_add(&undone, arena, kept->bench_tick.rows[i].undoes, 1);
        }
    }
    const BenchTickRow **ticks = ARENA_ARRAY(arena, const BenchTickRow *, kept->bench_tick.count);
    *count = 0;
    for (size_t i = 0; i < kept->bench_tick.count; i++) {
        const BenchTickRow *row = &kept->bench_tick.rows[i];
        if (*row->undoes == '\0' && strcmp(row->module, module) == 0 &&
            name_map_find(&undone, row->tick) == NAME_NONE) {
            ticks[(*count)++] = row;
        }
    }
    if (*count > 1) {
        qsort(ticks, *count, sizeof *ticks, compare_ticks);
    }
    return ticks;
}

static const LabourRow *labour_of(const Proof *proof, const BenchItem *item) {
    return &proof->set.labour.rows[proof->bench->work.items[item->work].labour];
}

static const BenchTickRow **find_done(Arena *arena, const Proof *proof, const BenchItems *items,
                                      const TableSet *kept, size_t *rebuilt) {
    const BenchTickRow **done = ARENA_ARRAY(arena, const BenchTickRow *, items->count);
    *rebuilt = 0;
    if (items->count == 0) {
        return done;
    }
    NameMap places = {0};
    for (size_t i = 0; i < items->count; i++) {
        const BenchItem *item = &items->items[i];
        name_map_add(&places, arena, item_name(arena, labour_of(proof, item)->operation, item->key),
                     (uint32_t)i);
    }
    uint32_t harness = proof->bench->work.items[items->items[0].work].harness;
    size_t count;
    const BenchTickRow **ticks =
        standing_ticks(arena, kept, proof->set.module.rows[harness].module, &count);
    bool *other = ARENA_ARRAY(arena, bool, items->count);
    for (size_t i = 0; i < count; i++) {
        uint32_t at = name_map_find(&places, item_name(arena, ticks[i]->operation, ticks[i]->item));
        if (at != NAME_NONE) {
            bool same = strcmp(ticks[i]->built, items->items[at].built) == 0;
            done[at] = same ? ticks[i] : done[at];
            other[at] = other[at] || !same;
        }
    }
    for (size_t i = 0; i < items->count; i++) {
        *rebuilt += other[i] && done[i] == NULL ? 1 : 0;
    }
    return done;
}

const BenchTickRow **bench_done(Arena *arena, const Proof *proof, const BenchItems *items,
                                const TableSet *kept) {
    size_t rebuilt;
    return find_done(arena, proof, items, kept, &rebuilt);
}

/* --- how far -------------------------------------------------------------------------------------
 */

/* Marks what `work` waits for, and what that waits for. */
static void mark_before(const WorkList *list, uint32_t work, bool *before) {
    for (uint32_t i = 0; i < list->items[work].after_count; i++) {
        uint32_t other = list->after[list->items[work].after_first + i];
        if (!before[other]) {
            before[other] = true;
            mark_before(list, other, before);
        }
    }
}

/* What each inspection that was ticked covers: work that comes before it, done by another. */
static void find_proven(Arena *arena, const Proof *proof, const BenchItems *items,
                        const BenchTickRow **done, bool *proven, size_t *own) {
    const WorkList *list = &proof->bench->work;
    for (size_t i = 0; i < items->count; i++) {
        if (done[i] == NULL || strcmp(labour_of(proof, &items->items[i])->who, "inspector") != 0) {
            continue;
        }
        bool *before = ARENA_ARRAY(arena, bool, list->item_count);
        mark_before(list, items->items[i].work, before);
        proven[i] = true;
        bool others = true;
        for (size_t k = 0; k < items->count; k++) {
            if (!before[items->items[k].work] || done[k] == NULL) {
                continue;
            }
            bool same = strcmp(done[k]->person, done[i]->person) == 0;
            proven[k] = proven[k] || (!same && strcmp(done[k]->time, done[i]->time) <= 0);
            others = others && !same;
        }
        *own += others ? 0 : 1;
    }
}

static size_t open_problems(Arena *arena, const TableSet *kept, const char *module) {
    NameMap settled = {0};
    size_t count = 0;
    for (size_t i = 0; i < kept->bench_note.count; i++) {
        if (*kept->bench_note.rows[i].settles != '\0') {
            name_map_add(&settled, arena, kept->bench_note.rows[i].settles, 1);
        }
    }
    for (size_t i = 0; i < kept->bench_note.count; i++) {
        const BenchNoteRow *row = &kept->bench_note.rows[i];
        bool open = *row->settles == '\0' && strcmp(row->module, module) == 0 &&
                    name_map_find(&settled, row->note) == NAME_NONE;
        count += open ? 1 : 0;
    }
    return count;
}

void bench_progress(Arena *arena, Proof *proof, ModuleId module, const BenchItems *items,
                    const TableSet *kept, BenchProgress *progress) {
    const char *name = proof->set.module.rows[module].module;
    *progress = (BenchProgress){.items = items->count};
    const BenchTickRow **done = find_done(arena, proof, items, kept, &progress->rebuilt);
    bool *proven = ARENA_ARRAY(arena, bool, items->count);
    find_proven(arena, proof, items, done, proven, &progress->own);
    for (size_t i = 0; i < items->count; i++) {
        double minutes = items->items[i].minutes;
        progress->total_min += minutes;
        progress->made_min += done[i] != NULL ? minutes : 0.0;
        progress->proven_min += proven[i] ? minutes : 0.0;
        progress->ticked += done[i] != NULL ? 1 : 0;
    }
    bench_ring(arena, proof, name, kept, &progress->ring);
    progress->problems = open_problems(arena, kept, name);
    bool blocked = progress->problems > 0 || progress->ring.good < progress->ring.steps;
    progress->shippable_min = blocked ? 0.0 : progress->proven_min;
}
