#include "app/suggest.h"

#include <math.h>

#include "panel/suggest.h"

/* Items that move by less are not told of. */
static const double TOLD_MM = 0.05;

static void search(Proof *proof, Suggest *suggest) {
    /* What the panel's rows lack was found by the live chain already. */
    Findings told = {.arena = &proof->arena};
    SuggestOptions options = {.seed = 1, .ink = proof->panel.ink};
    panel_suggest(&proof->arena, &proof->model, &options, suggest, &told);
}

bool suggest_table(Proof *proof, TableId table) {
    if (table != TABLE_suggestion && table != TABLE_suggestion_wish &&
        table != TABLE_suggestion_legend) {
        return false;
    }
    Suggest suggest;
    search(proof, &suggest);
    panel_suggest_rows(&proof->arena, &proof->model, &suggest, &proof->set);
    table_set_sort(&proof->set);
    return true;
}

static void write_layout(Buffer *out, const Proof *proof, const Suggest *suggest, uint32_t rank) {
    const Panel *panel = &suggest->panel;
    const SuggestLayout *layout = &suggest->best[rank];
    buffer_format(out, "%sLayout %u   score %.1f\n", rank == 0 ? "" : "\n", rank + 1,
                  layout->score);
    for (uint32_t i = 0; i < suggest->wish_count; i++) {
        const SuggestWish *wish = &suggest->wishes[i];
        if (wish->item_count > 0 && layout->lacks_mm[i] <= SUGGEST_KEPT_MM) {
            buffer_format(out, "  kept      %s\n", wish->name);
        } else if (wish->item_count > 0) {
            buffer_format(out, "  gave way  %s, by %.1f mm\n", wish->name, layout->lacks_mm[i]);
        }
    }
    uint32_t moves = 0;
    for (uint32_t i = 0; i < panel->item_count; i++) {
        const MountRow *mount = &proof->set.mount.rows[panel->items[i].row];
        PanelPoint at = layout->at[i];
        PanelPoint home = {mount->u_mm, mount->v_mm};
        if (isnan(home.u_mm) || isnan(home.v_mm)) {
            buffer_format(out, "  place     %-10s u %8.2f  v %8.2f\n", mount->item, at.u_mm,
                          at.v_mm);
        } else if (panel_distance_mm(at, home) > TOLD_MM) {
            buffer_format(out, "  move      %-10s u %8.2f  v %8.2f  (from %.2f, %.2f)\n",
                          mount->item, at.u_mm, at.v_mm, home.u_mm, home.v_mm);
        } else {
            continue;
        }
        moves++;
    }
    if (moves == 0) {
        buffer_text(out, "  nothing moves\n");
    }
}

void suggest_write(Buffer *out, Proof *proof) {
    Suggest suggest;
    search(proof, &suggest);
    if (suggest.panel.item_count == 0) {
        buffer_text(out, "This job has no panel to lay out.\n");
        return;
    }
    for (uint32_t rank = 0; rank < suggest.count; rank++) {
        write_layout(out, proof, &suggest, rank);
    }
    if (suggest.count == 0) {
        buffer_format(out,
                      "No layout was found in %u tries that keeps every distance. That does not "
                      "prove that there is none.\n",
                      suggest.tried);
        return;
    }
    buffer_text(out, "\nA suggestion, no more: look at it, sit before it, then write what you like "
                     "into `mount`.\n`marling show suggestion JOB --format csv` has all places, "
                     "`suggestion_legend` those of legends.\n");
}
