/* The cut list as tables. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "shop/cutlist.h"

static double metres(int64_t length_mm) {
    return (double)length_mm / 1000.0;
}

static double free_m(const ReelRow *reel) {
    return reel->on_hand_m - (isnan(reel->reserved_m) ? 0.0 : reel->reserved_m);
}

/* --- wire by wire ----------------------------------------------------------------------------- */

static const char *verdict(Arena *arena, const CutItem *item) {
    if (item->score.left_mm > 0) {
        if (item->reel_count == 0) {
            return "nothing on hand: all to be bought";
        }
        return item->score.left_mm == item->bound_left_mm
                   ? "too little: no plan has less to buy"
                   : arena_format(arena,
                                  "too little: that up to %.2f m less must be bought is not "
                                  "excluded",
                                  metres(item->score.left_mm - item->bound_left_mm));
    }
    if (item->complete) {
        return "best there is: every plan was looked at";
    }
    if (item->score.reels > item->bound_reels) {
        return arena_format(arena, "that %u fewer reels do is not excluded",
                            item->score.reels - item->bound_reels);
    }
    return item->score.shorts == item->bound_shorts
               ? "fewest reels, fewest short remnants"
               : arena_format(arena,
                              "fewest reels; that %u fewer short remnants do is not excluded",
                              item->score.shorts - item->bound_shorts);
}

static void plan_row(Arena *arena, const CutList *list, const CutItem *item, TableSet *out) {
    CutPlanRow *row = table_append(out, arena, TABLE_cut_plan);
    row->part = item->part;
    row->colour = item->colour;
    row->awg = item->awg;
    row->pieces = (int32_t)item->piece_count;
    row->needed_m = metres(item->needed_mm);
    row->longest_m = metres(list->pieces[item->piece_first].take_mm);
    row->free_m = metres(item->free_mm);
    row->reels = (int32_t)item->score.reels;
    row->short_remnants = (int32_t)item->score.shorts;
    row->pieces_missing = 0;
    int64_t longest_mm = 0;
    for (uint32_t i = 0; i < item->piece_count; i++) {
        const CutPiece *piece = &list->pieces[item->piece_first + i];
        if (piece->reel == ID_NONE) {
            row->pieces_missing++;
            longest_mm = piece->take_mm > longest_mm ? piece->take_mm : longest_mm;
        }
    }
    row->missing_m = metres(item->score.left_mm);
    row->missing_least_m = metres(item->bound_left_mm);
    if (item->score.left_mm > 0) {
        row->buy_m = metres(item->score.left_mm + list->end_mm);
        row->buy_each_m = metres(longest_mm + list->end_mm);
    } else {
        row->reels_least = (int32_t)item->bound_reels;
    }
    row->verdict = verdict(arena, item);
}

/* --- cuts ------------------------------------------------------------------------------------- */

/* A cut of an item. */
typedef struct OnReel {
    uint32_t reel; /* row of `reel`, ID_NONE last */
    uint32_t piece;
    int64_t take_mm;
    int32_t rank; /* over all items: by length, then reel */
} OnReel;

static int compare_lengths(const void *left, const void *right) {
    const OnReel *a = left;
    const OnReel *b = right;
    int order = (a->take_mm < b->take_mm) - (a->take_mm > b->take_mm);
    order = order != 0 ? order : (a->reel > b->reel) - (a->reel < b->reel);
    return order != 0 ? order : (a->piece > b->piece) - (a->piece < b->piece);
}

/* By reel and then as the item has them: the longest first. */
static int compare_on_reel(const void *left, const void *right) {
    const OnReel *a = left;
    const OnReel *b = right;
    int order = (a->reel > b->reel) - (a->reel < b->reel);
    return order != 0 ? order : (a->piece > b->piece) - (a->piece < b->piece);
}

/* Wire numbers of all cores of a cut. */
static const char *numbers(Arena *arena, const HarnessSet *set, const CutPiece *piece) {
    const HarnessRun *run = &set->runs[piece->run];
    Buffer text = {.arena = arena};
    buffer_text(&text, "");
    for (uint32_t k = 0; k < run->piece_count; k++) {
        uint32_t core = set->run_pieces[run->piece_first + k];
        if (set->ends->pieces[core].conductor == ID_NONE ||
            (!run->jacketed && core != piece->piece)) {
            continue;
        }
        EndFacts facts;
        ends_facts(arena, set->ends, 2 * core, &facts);
        buffer_format(&text, "%s%s", text.length == 0 ? "" : " ", facts.number);
    }
    return text.bytes;
}

static CutRow *cut_row(Arena *arena, const HarnessSet *set, const CutItem *item,
                       const CutPiece *piece, TableSet *out) {
    const TableSet *tables = set->ends->model->set;
    CutRow *row = table_append(out, arena, TABLE_cut);
    EndFacts facts;
    ends_facts(arena, set->ends, 2 * piece->piece, &facts);
    row->piece = set->pieces[piece->piece].key;
    row->number = numbers(arena, set, piece);
    ModuleId module = set->harnesses[set->runs[piece->run].harness].module;
    row->module = tables->module.rows[module].module;
    row->part = item->part;
    row->colour = item->colour;
    row->awg = item->awg;
    row->length_mm = piece->length_mm;
    row->from_end = facts.at;
    row->to_end = facts.far;
    return row;
}

/* The cuts of an item, reel by reel; `rank` counts on. Sums are checked once more. */
static void item_cuts(Arena *arena, const HarnessSet *set, const CutList *list, const CutItem *item,
                      int32_t *rank, TableSet *out) {
    const TableSet *tables = set->ends->model->set;
    Arena scratch = {0};
    OnReel *cuts = ARENA_ARRAY(&scratch, OnReel, item->piece_count);
    for (uint32_t i = 0; i < item->piece_count; i++) {
        const CutPiece *piece = &list->pieces[item->piece_first + i];
        cuts[i] = (OnReel){piece->reel, i, piece->take_mm, 0};
    }
    qsort(cuts, item->piece_count, sizeof *cuts, compare_lengths);
    for (uint32_t i = 0; i < item->piece_count; i++) {
        cuts[i].rank = (*rank)++;
    }
    qsort(cuts, item->piece_count, sizeof *cuts, compare_on_reel);
    double left_m = 0.0;
    int32_t place = 0;
    for (uint32_t i = 0; i < item->piece_count; i++) {
        const CutPiece *piece = &list->pieces[item->piece_first + cuts[i].piece];
        bool bought = cuts[i].reel == ID_NONE;
        if (i == 0 || cuts[i].reel != cuts[i - 1].reel) {
            place = 0;
            left_m = bought ? 0.0 : free_m(&tables->reel.rows[cuts[i].reel]);
        }
        CutRow *row = cut_row(arena, set, item, piece, out);
        row->place = ++place;
        row->rank = cuts[i].rank;
        if (bought) {
            row->reel = arena_format(arena, "to buy: %s%s%s", item->part,
                                     *item->colour == '\0' ? "" : " ", item->colour);
        } else {
            left_m -= metres(piece->take_mm);
            CHECK(left_m >= -1e-6);
            row->reel = tables->reel.rows[cuts[i].reel].reel;
            row->left_m = left_m;
        }
    }
    arena_free(&scratch);
}

/* --- reels ------------------------------------------------------------------------------------ */

static const char *becomes(const CutList *list, uint32_t cuts, bool wanted, double left_m) {
    if (cuts == 0) {
        return wanted ? "untouched" : "not used";
    }
    double usable_m = left_m - metres(list->end_mm);
    return usable_m < 0.0005                    ? "finished"
           : usable_m < metres(list->useful_mm) ? "short remnant"
                                                : "useful remnant";
}

static void reel_rows(Arena *arena, const HarnessSet *set, const CutList *list, TableSet *out) {
    const TableSet *tables = set->ends->model->set;
    uint32_t count = (uint32_t)tables->reel.count;
    Arena scratch = {0};
    int64_t *used = ARENA_ARRAY(&scratch, int64_t, count);
    uint32_t *cuts = ARENA_ARRAY(&scratch, uint32_t, count);
    bool *wanted = ARENA_ARRAY(&scratch, bool, count);
    for (uint32_t i = 0; i < list->piece_count; i++) {
        if (list->pieces[i].reel != ID_NONE) {
            used[list->pieces[i].reel] += list->pieces[i].take_mm;
            cuts[list->pieces[i].reel]++;
        }
    }
    for (uint32_t i = 0; i < list->reel_count; i++) {
        wanted[list->reels[i]] = true;
    }
    for (uint32_t i = 0; i < count; i++) {
        const ReelRow *reel = &tables->reel.rows[i];
        ReelPlanRow *row = table_append(out, arena, TABLE_reel_plan);
        row->reel = reel->reel;
        row->part = reel->part;
        row->colour = reel->colour;
        row->before_m = free_m(reel);
        row->cuts = (int32_t)cuts[i];
        row->used_m = metres(used[i]);
        row->left_m = row->before_m - row->used_m;
        row->becomes = becomes(list, cuts[i], wanted[i], row->left_m);
        row->offcut = reel->offcut;
        double left_m = row->left_m;
        bool made = cuts[i] > 0;
        if (left_m < 0.0005 || !(made || reel->offcut == 1)) {
            continue;
        }
        OffcutRow *offcut = table_append(out, arena, TABLE_offcut);
        offcut->reel = reel->reel;
        offcut->part = reel->part;
        offcut->colour = reel->colour;
        offcut->length_m = left_m;
        offcut->useful = left_m - metres(list->end_mm) >= metres(list->useful_mm);
        offcut->made = made;
    }
    arena_free(&scratch);
}

void cutlist_rows(Arena *arena, const HarnessSet *set, const CutList *list, TableSet *out) {
    int32_t rank = 1;
    for (uint32_t i = 0; i < list->item_count; i++) {
        plan_row(arena, list, &list->items[i], out);
        item_cuts(arena, set, list, &list->items[i], &rank, out);
    }
    reel_rows(arena, set, list, out);
}
