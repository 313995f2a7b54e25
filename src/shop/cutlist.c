#include "shop/cutlist.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "model/report.h"

/* --- pieces ----------------------------------------------------------------------------------- */

/* A cut with what it is sorted by. */
typedef struct Gathered {
    CutPiece piece;
    bool cable;
    int32_t awg;
    const char *part;
    const char *colour;
    const char *key;
    uint32_t row; /* of `cable` or `wire` */
} Gathered;

static int compare_items(const Gathered *a, const Gathered *b) {
    int order = (a->cable > b->cable) - (a->cable < b->cable);
    order = order != 0 ? order : (a->awg > b->awg) - (a->awg < b->awg);
    order = order != 0 ? order : text_compare_keys(a->part, b->part);
    return order != 0 ? order : text_compare_keys(a->colour, b->colour);
}

static int compare_gathered(const void *left, const void *right) {
    const Gathered *a = left;
    const Gathered *b = right;
    int order = compare_items(a, b);
    order = order != 0
                ? order
                : (a->piece.take_mm < b->piece.take_mm) - (a->piece.take_mm > b->piece.take_mm);
    return order != 0 ? order : text_compare_keys(a->key, b->key);
}

static const char *core_colour(const Ends *ends, ConductorId id) {
    const Conductor *conductor = &ends->wiring->conductors[id];
    ClassId class_id = ends->wiring->nets[ends->wiring->cables[conductor->cable].net].class_id;
    return conductor->core < ends->class_cores[class_id]
               ? ends->model->set->interface_core.rows[ends->class_core[class_id] + conductor->core]
                     .colour
               : "";
}

/* The cut of a piece; false when it has no length or the library no such wire (found elsewhere). */
static bool gather_piece(const HarnessSet *set, uint32_t run, uint32_t piece, double waste_mm,
                         Gathered *out) {
    const Ends *ends = set->ends;
    const Model *model = ends->model;
    const Cable *cable = &ends->wiring->cables[set->runs[run].cable];
    const HarnessPiece *of = &set->pieces[piece];
    if (!isfinite(of->length.cut_mm)) {
        return false;
    }
    double most_mm = of->length.cut_mm + set->plus_mm + waste_mm;
    *out =
        (Gathered){.piece = {piece, run, of->length.cut_mm, (int64_t)ceil(most_mm - 1e-6), ID_NONE},
                   .key = of->key,
                   .colour = ""};
    if (set->runs[run].jacketed) {
        out->cable = true;
        out->row = cable->part;
        out->part = model->set->cable.rows[cable->part].part;
        out->awg = model->set->cable.rows[cable->part].awg;
        return true;
    }
    ConductorId conductor = ends->pieces[piece].conductor;
    out->awg = route_conductor_awg(model, ends->wiring, conductor, ends->awg);
    const WireRow *wire = gauges_wire(model, &ends->gauges, out->awg);
    if (wire == NULL) {
        return false;
    }
    out->row = (uint32_t)(wire - model->set->wire.rows);
    out->part = wire->part;
    out->colour = core_colour(ends, conductor);
    return true;
}

/* A jacketed run is one cut, of the others each piece; shields are no cuts of their own. */
static uint32_t gather(const HarnessSet *set, double waste_mm, Gathered *out) {
    uint32_t count = 0;
    for (uint32_t r = 0; r < set->run_count; r++) {
        const HarnessRun *run = &set->runs[r];
        for (uint32_t k = 0; run->harness != ID_NONE && k < run->piece_count; k++) {
            uint32_t piece = set->run_pieces[run->piece_first + k];
            if (set->ends->pieces[piece].conductor == ID_NONE) {
                continue;
            }
            if (gather_piece(set, r, piece, waste_mm, &out[count])) {
                count++;
            }
            if (run->jacketed) {
                break;
            }
        }
    }
    if (count > 1) {
        qsort(out, count, sizeof *out, compare_gathered);
    }
    return count;
}

static void make_items(Arena *arena, const Gathered *gathered, CutList *list) {
    list->items = ARENA_ARRAY(arena, CutItem, list->piece_count);
    list->pieces = ARENA_ARRAY(arena, CutPiece, list->piece_count);
    for (uint32_t i = 0; i < list->piece_count; i++) {
        const Gathered *g = &gathered[i];
        if (i == 0 || compare_items(&gathered[i - 1], g) != 0) {
            list->items[list->item_count++] =
                (CutItem){.part = g->part,
                          .colour = g->colour,
                          .table = g->cable ? TABLE_cable : TABLE_wire,
                          .row = g->row,
                          .awg = g->awg,
                          .piece_first = i};
        }
        CutItem *item = &list->items[list->item_count - 1];
        item->piece_count++;
        item->needed_mm += g->piece.take_mm;
        list->pieces[i] = g->piece;
    }
}

/* --- reels ------------------------------------------------------------------------------------ */

static double free_m(const ReelRow *reel) {
    return reel->on_hand_m - (isnan(reel->reserved_m) ? 0.0 : reel->reserved_m);
}

/* What can be used of a reel; 0 when it is nothing. */
static int64_t usable_mm(const CutList *list, const ReelRow *reel) {
    double usable = floor(free_m(reel) * 1000.0 + 1e-6) - (double)list->end_mm;
    return usable > 0.0 ? (int64_t)usable : 0;
}

static void check_reel(const Model *model, uint32_t row, Findings *findings) {
    const ReelRow *reel = &model->set->reel.rows[row];
    bool wire = model_row(model, TABLE_wire, reel->part) != ID_NONE;
    bool cable = model_row(model, TABLE_cable, reel->part) != ID_NONE;
    if (!wire && !cable) {
        Finding *finding =
            report_row(findings, model, RULE_CUT_REEL, TABLE_reel, row, "part",
                       "reel %s holds %s, which the library has neither as a wire nor as a cable",
                       reel->reel, reel->part);
        finding->hint = "write the part as the tables wire and cable of the library call it";
    } else if (wire && *reel->colour == '\0') {
        Finding *finding = report_row(findings, model, RULE_CUT_REEL, TABLE_reel, row, "colour",
                                      "reel %s holds single wire and its colour is not given: "
                                      "nothing is cut from it",
                                      reel->reel);
        finding->hint = "write the colour of its insulation";
    }
    if (reel->on_hand_m < 0.0 || free_m(reel) < 0.0) {
        Finding *finding =
            report_row(findings, model, RULE_CUT_REEL, TABLE_reel, row, "reserved_m",
                       "of reel %s more is reserved than there is on it", reel->reel);
        report_values(finding, isnan(reel->reserved_m) ? 0.0 : reel->reserved_m, reel->on_hand_m,
                      "m", NULL);
        finding->hint = "measure what is on the reel";
    }
}

/* Hands every reel to its item, in the order of their keys. */
static void match_reels(Arena *arena, const Model *model, CutList *list) {
    Arena scratch = {0};
    NameMap items = {0};
    uint32_t rows = (uint32_t)model->set->reel.count;
    uint32_t *item_of = ARENA_ARRAY(&scratch, uint32_t, rows);
    for (uint32_t i = 0; i < list->item_count; i++) {
        name_map_add(&items, &scratch,
                     arena_format(&scratch, "%s\n%s", list->items[i].part, list->items[i].colour),
                     i);
    }
    for (uint32_t row = 0; row < rows; row++) {
        const ReelRow *reel = &model->set->reel.rows[row];
        bool cable = model_row(model, TABLE_cable, reel->part) != ID_NONE;
        item_of[row] = name_map_find(
            &items, arena_format(&scratch, "%s\n%s", reel->part, cable ? "" : reel->colour));
        if (item_of[row] != NAME_NONE) {
            list->items[item_of[row]].reel_count++;
            list->reel_count++;
        }
    }
    list->reels = ARENA_ARRAY(arena, uint32_t, list->reel_count);
    uint32_t first = 0;
    for (uint32_t i = 0; i < list->item_count; i++) {
        list->items[i].reel_first = first;
        first += list->items[i].reel_count;
        list->items[i].reel_count = 0;
    }
    for (uint32_t row = 0; row < rows; row++) {
        if (item_of[row] != NAME_NONE) {
            CutItem *item = &list->items[item_of[row]];
            list->reels[item->reel_first + item->reel_count++] = row;
            item->free_mm += usable_mm(list, &model->set->reel.rows[row]);
        }
    }
    arena_free(&scratch);
}

/* --- plans ------------------------------------------------------------------------------------ */

static void plan_item(const Model *model, CutList *list, CutItem *item) {
    Arena scratch = {0};
    int64_t *take = ARENA_ARRAY(&scratch, int64_t, item->piece_count);
    int64_t *usable = ARENA_ARRAY(&scratch, int64_t, item->reel_count);
    CutPiece *pieces = list->pieces + item->piece_first;
    const uint32_t *reels = list->reels + item->reel_first;
    for (uint32_t i = 0; i < item->piece_count; i++) {
        take[i] = pieces[i].take_mm;
    }
    for (uint32_t j = 0; j < item->reel_count; j++) {
        usable[j] = usable_mm(list, &model->set->reel.rows[reels[j]]);
    }
    CutProblem problem = {take, item->piece_count, usable, item->reel_count, list->useful_mm};
    CutPlan plan;
    cutplan_find(&scratch, &problem, &plan);
    for (uint32_t i = 0; i < item->piece_count; i++) {
        pieces[i].reel = plan.reel_of[i] == CUT_NONE ? ID_NONE : reels[plan.reel_of[i]];
    }
    item->score = plan.score;
    item->bound_left_mm = plan.bound_left_mm;
    item->bound_reels = plan.bound_reels;
    item->bound_shorts = plan.bound_shorts;
    item->complete = plan.complete;
    arena_free(&scratch);
}

/* Pieces without a reel; the longest of them. */
static uint32_t count_left(const CutList *list, const CutItem *item, int64_t *longest_mm) {
    uint32_t count = 0;
    *longest_mm = 0;
    for (uint32_t i = 0; i < item->piece_count; i++) {
        const CutPiece *piece = &list->pieces[item->piece_first + i];
        if (piece->reel == ID_NONE) {
            count++;
            *longest_mm = piece->take_mm > *longest_mm ? piece->take_mm : *longest_mm;
        }
    }
    return count;
}

static void report_short(const Model *model, const CutList *list, const CutItem *item,
                         Findings *findings) {
    int64_t longest_mm = 0;
    uint32_t left = count_left(list, item, &longest_mm);
    if (left == 0) {
        return;
    }
    const char *blank = *item->colour == '\0' ? "" : " ";
    double needed_m = (double)item->needed_mm / 1000.0;
    double have_m = (double)item->free_mm / 1000.0;
    double left_m = (double)item->score.left_mm / 1000.0;
    bool enough = item->free_mm >= item->needed_mm;
    Finding *finding =
        enough ? report_row(findings, model, RULE_CUT_WHOLE, item->table, item->row, "",
                            "%s%s%s: %.2f m are needed and %.2f m on hand, but %u of %u pieces "
                            "(%.2f m, the longest %.2f m) find no reel that is long enough",
                            item->part, blank, item->colour, needed_m, have_m, left,
                            item->piece_count, left_m, (double)longest_mm / 1000.0)
               : report_row(findings, model, RULE_CUT_SHORT, item->table, item->row, "",
                            "%s%s%s: %.2f m are needed, %.2f m on hand; %u of %u pieces (%.2f m) "
                            "find no reel",
                            item->part, blank, item->colour, needed_m, have_m, left,
                            item->piece_count, left_m);
    report_values(finding, needed_m, have_m, "m", NULL);
    report_hint(findings, finding, "buy %.1f m, in reels of at least %.2f m",
                ceil((double)(item->score.left_mm + list->end_mm) / 100.0) / 10.0,
                (double)(longest_mm + list->end_mm) / 1000.0);
}

void cutlist_run(Arena *out, const HarnessSet *set, CutList *list, Findings *findings) {
    const Model *model = set->ends->model;
    uint32_t reels = (uint32_t)model->set->reel.count;
    Arena scratch = {0};
    *list = (CutList){.end_mm = (int64_t)ceil(model_limit(model, CUT_LIMIT_END)),
                      .useful_mm = (int64_t)ceil(model_limit(model, CUT_LIMIT_USEFUL))};
    Gathered *gathered = ARENA_ARRAY(&scratch, Gathered, set->ends->piece_count);
    list->piece_count = gather(set, model_limit(model, CUT_LIMIT_WASTE), gathered);
    make_items(out, gathered, list);
    arena_free(&scratch);
    for (uint32_t row = 0; row < reels; row++) {
        check_reel(model, row, findings);
    }
    match_reels(out, model, list);
    for (uint32_t i = 0; i < list->item_count; i++) {
        plan_item(model, list, &list->items[i]);
        if (reels > 0) {
            report_short(model, list, &list->items[i], findings);
        }
    }
}
