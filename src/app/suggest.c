#include "app/suggest.h"

#include <math.h>

#include "panel/suggest.h"

static void search(Proof *proof, Suggest *suggest) {
    /* What the panel's rows lack was found by the live chain already. */
    Findings told = {.arena = &proof->arena};
    SuggestOptions options = {.seed = 1, .ink = proof->panel.ink};
    panel_suggest(&proof->arena, &proof->model, &options, suggest, &told);
}

/* --- words --------------------------------------------------------------------------------------
 */

/* Runs of names are broken here, with this before what follows. */
static const size_t LINE_LENGTH = 76;
static const char *const INDENT = "            ";

static PanelPoint way_of(const Suggest *suggest, const SuggestLayout *layout, uint32_t item) {
    return (PanelPoint){layout->at[item].u_mm - suggest->home[item].u_mm,
                        layout->at[item].v_mm - suggest->home[item].v_mm};
}

static bool goes_far(const Suggest *suggest, const SuggestLayout *layout, uint32_t item) {
    return !suggest->is_new[item] &&
           panel_distance_mm(layout->at[item], suggest->home[item]) > SUGGEST_TOLD_MM;
}

static bool goes_with(const Suggest *suggest, const SuggestLayout *layout, uint32_t a, uint32_t b) {
    const double SAME_MM = 0.005;
    return panel_distance_mm(way_of(suggest, layout, a), way_of(suggest, layout, b)) < SAME_MM;
}

/* Items that go the same way are told of as one. */
static void write_moves(Buffer *out, const Suggest *suggest, const SuggestLayout *layout) {
    const Panel *panel = &suggest->panel;
    bool *told = ARENA_ARRAY(out->arena, bool, panel->item_count);
    uint32_t moves = 0;
    for (uint32_t i = 0; i < panel->item_count; i++) {
        const char *key = panel->items[i].key;
        PanelPoint at = layout->at[i];
        if (suggest->is_new[i]) {
            buffer_format(out, "  place     %-10s u %8.2f  v %8.2f\n", key, at.u_mm, at.v_mm);
            moves++;
            continue;
        }
        if (told[i] || !goes_far(suggest, layout, i)) {
            continue;
        }
        moves++;
        uint32_t together = 0;
        for (uint32_t k = i; k < panel->item_count; k++) {
            together += goes_far(suggest, layout, k) && goes_with(suggest, layout, i, k);
        }
        if (together == 1) {
            buffer_format(out, "  move      %-10s u %8.2f  v %8.2f  (from %.2f, %.2f)\n", key,
                          at.u_mm, at.v_mm, suggest->home[i].u_mm, suggest->home[i].v_mm);
            continue;
        }
        PanelPoint way = way_of(suggest, layout, i);
        buffer_format(out, "  move by   u %+8.2f  v %+8.2f:", way.u_mm, way.v_mm);
        size_t line = out->length - 34;
        for (uint32_t k = i; k < panel->item_count; k++) {
            if (goes_far(suggest, layout, k) && goes_with(suggest, layout, i, k)) {
                told[k] = true;
                if (out->length - line > LINE_LENGTH) {
                    buffer_format(out, "\n%s", INDENT);
                    line = out->length - 12;
                }
                buffer_format(out, " %s", panel->items[k].key);
            }
        }
        buffer_text(out, "\n");
    }
    if (moves == 0) {
        buffer_text(out, "  nothing moves\n");
    }
}

/* What is won and lost against the best: wishes first, then what has to be moved. */
static void write_trade(Buffer *out, const Suggest *suggest, uint32_t rank) {
    const SuggestLayout *layout = &suggest->best[rank];
    const SuggestLayout *best = &suggest->best[0];
    buffer_format(out, "  differs   %.0f %% of what may move stands elsewhere than in layout 1\n",
                  100.0 * layout->differs);
    for (uint32_t i = 0; i < suggest->wish_count; i++) {
        double more = layout->lacks_mm[i] - best->lacks_mm[i];
        if (suggest->wishes[i].item_count > 0 && fabs(more) > SUGGEST_KEPT_MM) {
            buffer_format(out, "  %-9s %s, by %.1f mm against layout 1\n",
                          more > 0.0 ? "worse" : "better", suggest->wishes[i].name, fabs(more));
        }
    }
}

static void write_layout(Buffer *out, const Suggest *suggest, uint32_t rank) {
    const SuggestLayout *layout = &suggest->best[rank];
    buffer_format(out, "%sLayout %u   score %.1f   %u moved, %.0f mm in all%s\n",
                  rank == 0 ? "" : "\n", rank + 1, layout->score, layout->moved, layout->moved_mm,
                  layout->keeps ? "   (moves least)" : "");
    for (uint32_t i = 0; i < layout->fault_count; i++) {
        buffer_format(out, "  wrong     %s: %s\n", rule_name(layout->faults[i].rule),
                      layout->faults[i].message);
    }
    for (uint32_t i = 0; i < suggest->wish_count; i++) {
        const SuggestWish *wish = &suggest->wishes[i];
        if (wish->item_count > 0 && layout->lacks_mm[i] <= SUGGEST_KEPT_MM) {
            buffer_format(out, "  kept      %s\n", wish->name);
        } else if (wish->item_count > 0) {
            buffer_format(out, "  gave way  %s, by %.1f mm\n", wish->name, layout->lacks_mm[i]);
        }
    }
    if (rank > 0) {
        write_trade(out, suggest, rank);
    }
    write_moves(out, suggest, layout);
}

static void write_bars(Buffer *out, const Suggest *suggest) {
    buffer_text(out, "No layout was found that keeps every rule:\n");
    for (uint32_t i = 0; i < suggest->bar_count; i++) {
        const SuggestBar *bar = &suggest->bars[i];
        buffer_format(out, "  %s  %s\n", *bar->rule == '\0' ? "not proved" : bar->rule, bar->words);
    }
    if (suggest->count > 0) {
        buffer_text(out, "The nearest layouts leave that as it is and keep every other rule.\n\n");
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool suggest_table(Proof *proof, TableId table) {
    if (table != TABLE_suggestion && table != TABLE_suggestion_wish &&
        table != TABLE_suggestion_legend && table != TABLE_suggestion_layout &&
        table != TABLE_suggestion_bar) {
        return false;
    }
    Suggest suggest;
    search(proof, &suggest);
    panel_suggest_rows(&proof->arena, &proof->model, &suggest, &proof->set);
    table_set_sort(&proof->set);
    return true;
}

void suggest_write(Buffer *out, Proof *proof) {
    Suggest suggest;
    search(proof, &suggest);
    if (suggest.panel.item_count == 0) {
        buffer_text(out, "This job has no panel to lay out.\n");
        return;
    }
    if (suggest.bar_count > 0 || suggest.count == 0) {
        write_bars(out, &suggest);
    }
    for (uint32_t rank = 0; rank < suggest.count; rank++) {
        write_layout(out, &suggest, rank);
    }
    if (suggest.count == 0) {
        buffer_format(out, "In %u tries none was found. That does not prove that there is none.\n",
                      suggest.tried);
        return;
    }
    buffer_text(out, "\nA suggestion, no more: look at it, sit before it, then write what you like "
                     "into `mount`.\n`marling show suggestion JOB --format csv` has all places, "
                     "`suggestion_legend` those of legends.\n");
}
