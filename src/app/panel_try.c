/* Method: the model is copied with the changed rows of three tables and read again; ids stay, for
 * no row comes or goes. Legends are moved in a second step, when it is known where items stand. */
#include "app/panel_try.h"

#include <math.h>
#include <string.h>

#include "app/judge.h"
#include "panel/suggest.h"

/* Items and legends that move by less stay where they are: half of what a row is written with. */
static const double TOLD_MM = 0.005;

typedef struct Trying {
    Arena *out;
    const Proof *proof;
    TableSet *set; /* with its own rows of mount, align, legend */
    Model *model;
    PanelTry *result;
} Trying;

/* --- rows ---------------------------------------------------------------------------------------
 */

/* A copy of `count` rows of `size` bytes. */
static void *copied(Arena *out, const void *rows, size_t count, size_t size) {
    char *copy = ARENA_ARRAY(out, char, count *size + 1);
    if (count > 0) {
        memcpy(copy, rows, count * size);
    }
    return copy;
}

static void copy_model(Trying *trying) {
    const Model *from = &trying->proof->model;
    trying->model = ARENA_NEW(trying->out, Model);
    trying->set = ARENA_NEW(trying->out, TableSet);
    *trying->model = *from;
    *trying->set = *from->set;
    trying->model->set = trying->set;
    TableSet *set = trying->set;
    set->mount.rows =
        copied(trying->out, from->set->mount.rows, set->mount.count, sizeof(MountRow));
    set->align.rows =
        copied(trying->out, from->set->align.rows, set->align.count, sizeof(AlignRow));
    set->legend.rows =
        copied(trying->out, from->set->legend.rows, set->legend.count, sizeof(LegendRow));
}

static uint32_t find(Trying *trying, TableId table, const char *key) {
    uint32_t row = model_row(trying->model, table, key);
    if (row == ID_NONE && trying->result->unknown == NULL) {
        trying->result->unknown = key;
    }
    return row;
}

static double or_else(double value, double usual) {
    return isnan(value) ? usual : value;
}

static void change_rows(Trying *trying, const PanelChange *change) {
    TableSet *set = trying->set;
    for (size_t i = 0; i < change->move_count; i++) {
        const PanelMove *move = &change->moves[i];
        uint32_t row = find(trying, TABLE_mount, move->item);
        if (row == ID_NONE) {
            continue;
        }
        MountRow *mount = &set->mount.rows[row];
        mount->u_mm = or_else(move->u_mm, mount->u_mm);
        mount->v_mm = or_else(move->v_mm, mount->v_mm);
        mount->rotation_deg = or_else(move->rotation_deg, mount->rotation_deg);
        mount->pinned = move->pinned == INT_BLANK ? mount->pinned : move->pinned;
    }
    for (size_t i = 0; i < change->align_count; i++) {
        uint32_t row = find(trying, TABLE_align, change->aligns[i].align);
        if (row != ID_NONE) {
            set->align.rows[row].value_mm = change->aligns[i].value_mm;
        }
    }
    for (size_t i = 0; i < change->legend_count; i++) {
        uint32_t row = find(trying, TABLE_legend, change->legends[i].legend);
        if (row != ID_NONE) {
            set->legend.rows[row].u_mm = change->legends[i].u_mm;
            set->legend.rows[row].v_mm = change->legends[i].v_mm;
        }
    }
}

/* --- legends ------------------------------------------------------------------------------------
 */

/* Items of one panel by row of `mount`: two panels of one job may have different items, when rows
 * that had no place get one. */
static uint32_t *items_by_row(Arena *out, const Panel *panel) {
    size_t rows = panel->model->set->mount.count;
    uint32_t *items = ARENA_ARRAY(out, uint32_t, rows);
    for (size_t i = 0; i < rows; i++) {
        items[i] = ID_NONE;
    }
    for (uint32_t i = 0; i < panel->item_count; i++) {
        items[panel->items[i].row] = i;
    }
    return items;
}

/* Legends go with their items, unless their own rows were changed; lists all that moved. */
static void move_legends(Trying *trying) {
    const Panel *before = &trying->proof->panel;
    Panel *after = &trying->result->panel;
    PanelTry *result = trying->result;
    const uint32_t *was = items_by_row(trying->out, before);
    result->legends = ARENA_ARRAY(trying->out, PanelLegendMove, after->text_count);
    for (uint32_t i = 0; i < after->text_count; i++) {
        PanelText *text = &after->texts[i];
        LegendRow *row = &trying->set->legend.rows[text->row];
        const LegendRow *given = &before->model->set->legend.rows[text->row];
        bool placed = row->u_mm != given->u_mm || row->v_mm != given->v_mm;
        uint32_t old = text->item == ID_NONE ? ID_NONE : was[after->items[text->item].row];
        if (!placed && old != ID_NONE) {
            PanelPoint from = before->items[old].at;
            PanelPoint to = after->items[text->item].at;
            if (panel_distance_mm(from, to) > TOLD_MM) {
                row->u_mm = given->u_mm + to.u_mm - from.u_mm;
                row->v_mm = given->v_mm + to.v_mm - from.v_mm;
                text->at = (PanelPoint){row->u_mm, row->v_mm};
                placed = true;
            }
        }
        if (placed) {
            result->legends[result->legend_count++] =
                (PanelLegendMove){row->legend, row->u_mm, row->v_mm};
        }
    }
}

/* --- findings -----------------------------------------------------------------------------------
 */

static bool is_of_panel(const Finding *finding) {
    return strncmp(rule_name(finding->rule), "panel.", 6) == 0;
}

static bool same_thing(const Finding *a, const Finding *b) {
    return a->rule == b->rule && strcmp(a->table, b->table) == 0 && strcmp(a->key, b->key) == 0 &&
           strcmp(a->column, b->column) == 0 && strcmp(a->rows, b->rows) == 0;
}

static bool is_among(const Finding *finding, const Findings *others) {
    for (size_t i = 0; i < others->count; i++) {
        if (same_thing(finding, &others->rows[i])) {
            return true;
        }
    }
    return false;
}

/* Acceptances that cover nothing here may cover something elsewhere: what is said of them goes. */
static void judge(Trying *trying) {
    Findings *findings = &trying->result->findings;
    judge_accept(trying->model, findings);
    size_t kept = 0;
    for (size_t i = 0; i < findings->count; i++) {
        if (is_of_panel(&findings->rows[i])) {
            findings->rows[kept++] = findings->rows[i];
        }
    }
    findings->count = kept;
    findings_sort(findings);
}

static void compare(Trying *trying) {
    const Findings *before = &trying->proof->findings;
    PanelTry *result = trying->result;
    result->is_new = ARENA_ARRAY(trying->out, bool, result->findings.count);
    for (size_t i = 0; i < result->findings.count; i++) {
        const Finding *finding = &result->findings.rows[i];
        result->is_new[i] = !is_among(finding, before);
        result->new_count += result->is_new[i] && !finding->accepted;
    }
    for (size_t i = 0; i < before->count; i++) {
        const Finding *finding = &before->rows[i];
        result->gone_count +=
            is_of_panel(finding) && !finding->accepted && !is_among(finding, &result->findings);
    }
}

/* --- proposals ----------------------------------------------------------------------------------
 */

/* Where the item of that row of `mount` stands in the proof; NAN: nowhere. */
static PanelPoint stands_at(const Panel *panel, const uint32_t *by_row, uint32_t row) {
    return by_row[row] == ID_NONE ? (PanelPoint){NAN, NAN} : panel->items[by_row[row]].at;
}

static void add_moves(Arena *out, const Proof *proof, const Suggest *suggest,
                      const SuggestLayout *layout, PanelChange *change) {
    const Panel *panel = &suggest->panel;
    const uint32_t *by_row = items_by_row(out, &proof->panel);
    change->moves = ARENA_ARRAY(out, PanelMove, panel->item_count);
    for (uint32_t i = 0; i < panel->item_count; i++) {
        PanelPoint from = stands_at(&proof->panel, by_row, panel->items[i].row);
        PanelPoint to = layout->at[i];
        if (isnan(from.u_mm) || isnan(from.v_mm) || panel_distance_mm(from, to) > TOLD_MM) {
            change->moves[change->move_count++] =
                (PanelMove){panel->items[i].key, to.u_mm, to.v_mm, NAN, INT_BLANK};
        }
    }
}

/* Rows and columns with a value of their own go where their first item goes: what stands in one
 * row moves together. Pitches and gaps stay. */
static void add_aligns(Arena *out, const Proof *proof, const Suggest *suggest,
                       const SuggestLayout *layout, PanelChange *change) {
    const TableSet *set = proof->model.set;
    const Panel *panel = &suggest->panel;
    const uint32_t *by_row = items_by_row(out, panel);
    change->aligns = ARENA_ARRAY(out, PanelAlignMove, set->align.count);
    for (size_t i = 0; i < set->align.count; i++) {
        const AlignRow *align = &set->align.rows[i];
        bool row = strcmp(align->how, "row") == 0;
        if (isnan(align->value_mm) || (!row && strcmp(align->how, "column") != 0)) {
            continue;
        }
        const char *place = align->members;
        const char *word;
        size_t length;
        if (!text_next_word(&place, &word, &length)) {
            continue;
        }
        uint32_t mount = model_row(&proof->model, TABLE_mount, arena_text(out, word, length));
        if (mount == ID_NONE || by_row[mount] == ID_NONE) {
            continue;
        }
        PanelPoint to = layout->at[by_row[mount]];
        double value_mm = row ? to.v_mm : to.u_mm;
        if (fabs(value_mm - align->value_mm) > TOLD_MM) {
            change->aligns[change->align_count++] = (PanelAlignMove){align->align, value_mm};
        }
    }
}

/* The change, once written, puts every item where the layout has it. */
static bool comes_true(const Suggest *suggest, const SuggestLayout *layout, const PanelTry *tried) {
    const double ROUNDED_MM = 0.02;
    const uint32_t *by_row = items_by_row(tried->findings.arena, &tried->panel);
    for (uint32_t i = 0; i < suggest->panel.item_count; i++) {
        PanelPoint at = stands_at(&tried->panel, by_row, suggest->panel.items[i].row);
        if (!(panel_distance_mm(at, layout->at[i]) < ROUNDED_MM)) {
            return false;
        }
    }
    return true;
}

static void add_wishes(Arena *out, const Suggest *suggest, const SuggestLayout *layout,
                       PanelProposal *proposal) {
    proposal->wishes = ARENA_ARRAY(out, PanelWishKept, suggest->wish_count);
    for (uint32_t i = 0; i < suggest->wish_count; i++) {
        if (suggest->wishes[i].item_count > 0) {
            proposal->wishes[proposal->wish_count++] =
                (PanelWishKept){suggest->wishes[i].name, layout->lacks_mm[i],
                                layout->lacks_mm[i] <= SUGGEST_KEPT_MM};
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool panel_try(Arena *out, const Proof *proof, const PanelChange *change, PanelTry *result) {
    *result = (PanelTry){.findings = {.arena = out}};
    Trying trying = {.out = out, .proof = proof, .result = result};
    if (proof->panel.face_count == 0) {
        return false;
    }
    copy_model(&trying);
    result->model = trying.model;
    change_rows(&trying, change);
    if (result->unknown != NULL ||
        !panel_read(out, trying.model, &result->panel, &result->findings)) {
        return false;
    }
    result->panel.ink = proof->panel.ink; /* about the legends' own middles: it goes along */
    move_legends(&trying);
    panel_check(out, &result->panel, &proof->supply, false, &result->checks, &result->findings);
    judge(&trying);
    compare(&trying);
    return true;
}

static void add_figures(Arena *out, const SuggestLayout *layout, PanelProposal *proposal) {
    proposal->score = layout->score;
    proposal->differs = layout->differs;
    proposal->keeps = layout->keeps;
    proposal->moved = layout->moved;
    proposal->moved_mm = layout->moved_mm;
    proposal->wrong = ARENA_ARRAY(out, const char *, layout->fault_count);
    for (uint32_t i = 0; i < layout->fault_count; i++) {
        proposal->wrong[proposal->wrong_count++] = layout->faults[i].message;
    }
}

void panel_propose(Arena *out, const Proof *proof, uint32_t tries, PanelProposals *proposals) {
    /* What the panel's rows lack was found by the live chain already. */
    Findings told = {.arena = out};
    SuggestOptions options = {.tries = tries, .seed = 1, .ink = proof->panel.ink};
    Suggest suggest;
    *proposals = (PanelProposals){0};
    if (proof->panel.face_count == 0 ||
        !panel_suggest(out, &proof->model, &options, &suggest, &told)) {
        return;
    }
    proposals->bars = ARENA_ARRAY(out, const char *, suggest.bar_count);
    for (uint32_t i = 0; i < suggest.bar_count; i++) {
        proposals->bars[proposals->bar_count++] = suggest.bars[i].words;
    }
    for (uint32_t i = 0; i < suggest.count && proposals->count < PANEL_PROPOSALS; i++) {
        const SuggestLayout *layout = &suggest.best[i];
        PanelProposal *proposal = &proposals->rows[proposals->count];
        *proposal = (PanelProposal){0};
        add_moves(out, proof, &suggest, layout, &proposal->change);
        add_aligns(out, proof, &suggest, layout, &proposal->change);
        PanelTry tried;
        if (!panel_try(out, proof, &proposal->change, &tried) ||
            !comes_true(&suggest, layout, &tried)) {
            continue; /* an align row that needs more than its value changed stands against it */
        }
        proposal->change.legends = tried.legends;
        proposal->change.legend_count = tried.legend_count;
        add_figures(out, layout, proposal);
        add_wishes(out, &suggest, layout, proposal);
        proposals->count++;
    }
}
