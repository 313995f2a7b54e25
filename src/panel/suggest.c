/* A question for layouts: the panel is read with every item in it, its items become blocks, the
 * search (suggest_search.c) looks for layouts, and the passes that check a person's layout check
 * them. Where there is none, what can stand nowhere is left where it is, it is said why, and the
 * search is asked again: the nearest layouts, legal but for that. */
#include "panel/suggest_inner.h"

#include <math.h>
#include <string.h>

#include "base/text.h"

/* --- the panel with other places ----------------------------------------------------------------
 */

/* A copy of the model in which every item has a place. */
static const Model *with_places(Arena *out, const Model *model, const PanelPoint *at,
                                const Panel *panel) {
    Model *copy = ARENA_NEW(out, Model);
    TableSet *set = ARENA_NEW(out, TableSet);
    *copy = *model;
    *set = *model->set;
    copy->set = set;
    set->mount.rows = ARENA_ARRAY(out, MountRow, set->mount.count);
    if (set->mount.count > 0) {
        memcpy(set->mount.rows, model->set->mount.rows, set->mount.count * sizeof *set->mount.rows);
    }
    if (panel != NULL) {
        set->align.count = 0;
        for (uint32_t i = 0; i < panel->item_count; i++) {
            set->mount.rows[panel->items[i].row].u_mm = at[i].u_mm;
            set->mount.rows[panel->items[i].row].v_mm = at[i].v_mm;
        }
        return copy;
    }
    for (size_t i = 0; i < set->mount.count; i++) {
        MountRow *row = &set->mount.rows[i];
        row->u_mm = isnan(row->u_mm) ? 0.0 : row->u_mm;
        row->v_mm = isnan(row->v_mm) ? 0.0 : row->v_mm;
    }
    return copy;
}

PanelPoint panel_suggest_legend(const Suggest *suggest, const PanelPoint *at, uint32_t text) {
    const PanelText *given = &suggest->panel.texts[text];
    if (given->item == ID_NONE || isnan(suggest->home[given->item].u_mm)) {
        return given->at;
    }
    PanelPoint home = suggest->home[given->item];
    PanelPoint now = at[given->item];
    return (PanelPoint){given->at.u_mm + now.u_mm - home.u_mm,
                        given->at.v_mm + now.v_mm - home.v_mm};
}

/* --- what is wrong with places ------------------------------------------------------------------
 */

/* The item of that name, the one with that hole, or that of the legend of that name; ID_NONE. */
static uint32_t item_meant(const Panel *panel, const char *key, size_t length) {
    for (uint32_t i = 0; i < panel->item_count; i++) {
        const char *name = panel->items[i].key;
        if (strlen(name) == length && memcmp(name, key, length) == 0) {
            return i;
        }
    }
    for (uint32_t i = 0; i < panel->text_count; i++) {
        const char *name = panel->model->set->legend.rows[panel->texts[i].row].legend;
        if (strlen(name) == length && memcmp(name, key, length) == 0) {
            return panel->texts[i].item;
        }
    }
    for (size_t i = length; i > 0; i--) {
        if (key[i - 1] == '.') {
            return item_meant(panel, key, i - 1); /* "SBY.2" */
        }
    }
    return ID_NONE;
}

static void add_meant(const Panel *panel, Fault *fault, const char *key, size_t length) {
    uint32_t item = item_meant(panel, key, length);
    bool known = item == ID_NONE;
    for (uint32_t i = 0; i < fault->item_count; i++) {
        known = known || fault->items[i] == item;
    }
    if (!known && fault->item_count < 2) {
        fault->items[fault->item_count++] = item;
    }
}

static bool is_about_room(RuleId rule) {
    return rule == RULE_PANEL_WEB || rule == RULE_PANEL_EDGE || rule == RULE_PANEL_BEND ||
           rule == RULE_PANEL_FRONT || rule == RULE_PANEL_DEPTH || rule == RULE_PANEL_BODIES ||
           rule == RULE_PANEL_MARK;
}

/* Where a legend that names its item stands for that, and the other by its own name. */
static uint32_t owner_of(const Panel *panel, const char *legend) {
    for (uint32_t i = 0; i < panel->text_count; i++) {
        if (strcmp(panel->model->set->legend.rows[panel->texts[i].row].legend, legend) == 0) {
            return panel->texts[i].item;
        }
    }
    return ID_NONE;
}

static Fault fault_of(const Panel *panel, const Finding *finding) {
    Fault fault = {.finding = *finding};
    if (finding->rule == RULE_PANEL_MARK) {
        uint32_t owner = owner_of(panel, finding->key);
        if (owner != ID_NONE) {
            fault.items[fault.item_count++] = owner;
        }
    } else if (strcmp(finding->table, "mount") == 0) {
        add_meant(panel, &fault, finding->key, strlen(finding->key));
    }
    const char *place = finding->rows;
    const char *word;
    size_t length;
    while (finding->rule != RULE_PANEL_DEPTH && text_next_word(&place, &word, &length)) {
        add_meant(panel, &fault, word, length);
    }
    return fault;
}

/* Findings about room, metal and legends with the items at these places. */
static void find_faults(Arena *out, const Suggest *suggest, const PanelPoint *at, Faults *faults) {
    Findings findings = {.arena = out};
    Panel panel;
    PanelChecks checks;
    const Model *model = with_places(out, suggest->model, at, &suggest->panel);
    panel_read(out, model, &panel, &findings);
    panel.ink = suggest->panel.ink;
    for (uint32_t i = 0; i < panel.text_count; i++) {
        panel.texts[i].at = panel_suggest_legend(suggest, at, i);
    }
    panel_check(out, &panel, NULL, false, &checks, &findings);
    findings_sort(&findings);
    for (size_t i = 0; i < findings.count; i++) {
        if (is_about_room(findings.rows[i].rule)) {
            *ARENA_PUSH(out, faults->rows, faults->count, faults->capacity) =
                fault_of(&suggest->panel, &findings.rows[i]);
        }
    }
}

/* Another layout may be without it. */
static bool is_curable(const Suggest *suggest, const Fault *fault) {
    bool moves = false;
    for (uint32_t i = 0; i < fault->item_count; i++) {
        moves = moves || !suggest->stays[fault->items[i]];
    }
    bool own_legend = fault->finding.rule == RULE_PANEL_MARK && fault->item_count < 2 &&
                      *fault->finding.rows != '\0';
    return moves && !own_legend;
}

uint32_t panel_suggest_errors(const Suggest *suggest, const PanelPoint *at) {
    Arena arena = {0};
    Faults faults = {0};
    find_faults(&arena, suggest, at, &faults);
    uint32_t errors = 0;
    for (size_t i = 0; i < faults.count; i++) {
        errors += is_curable(suggest, &faults.rows[i]);
    }
    arena_free(&arena);
    return errors;
}

/* What is wrong already where things stand: blocks by themselves, and pairs of them. */
static void read_home(Search *search) {
    Suggest *suggest = search->suggest;
    Arena scratch = {0};
    PanelPoint *at = ARENA_ARRAY(&scratch, PanelPoint, search->panel->item_count);
    for (uint32_t i = 0; i < search->panel->item_count; i++) {
        bool nowhere = isnan(suggest->home[i].u_mm);
        at[i] = nowhere ? search->panel->items[i].at : suggest->home[i];
    }
    Faults faults = {0};
    find_faults(&scratch, suggest, at, &faults);
    for (size_t i = 0; i < faults.count; i++) {
        const Fault *fault = &faults.rows[i];
        bool stands = is_curable(suggest, fault);
        for (uint32_t k = 0; k < fault->item_count; k++) {
            stands = stands && !isnan(suggest->home[fault->items[k]].u_mm);
        }
        if (!stands) {
            continue;
        }
        uint32_t a = search->block_of[fault->items[0]];
        uint32_t b = fault->item_count > 1 ? search->block_of[fault->items[1]] : a;
        if (a == b) {
            search->blocks[a].wrong = true;
        } else {
            *ARENA_PUSH(search->arena, search->quarrels, search->quarrel_count,
                        search->quarrel_capacity) = (Quarrel){a, b};
        }
    }
    arena_free(&scratch);
}

/* Where items are now: NAN for those whose rows and align rows give no place. */
static PanelPoint *find_homes(Arena *out, const Panel *panel, const Model *model) {
    Arena scratch = {0};
    Findings unread = {.arena = &scratch};
    Panel now;
    panel_read(&scratch, model, &now, &unread);
    PanelPoint *home = ARENA_ARRAY(out, PanelPoint, panel->item_count);
    for (uint32_t i = 0; i < panel->item_count; i++) {
        home[i] = (PanelPoint){NAN, NAN};
        for (uint32_t j = 0; j < now.item_count; j++) {
            if (now.items[j].row == panel->items[i].row) {
                home[i] = now.items[j].at;
            }
        }
    }
    arena_free(&scratch);
    return home;
}

/* --- exported -----------------------------------------------------------------------------------
 */

/* What finds no place stays where it is, or is put where least stands in its way. */
static void condone(Search *search, uint32_t id) {
    Block *block = &search->blocks[id];
    block->fixed = true;
    block->condoned = true;
    search->loose_area -= block->area;
    for (uint32_t i = 0; i < block->count; i++) {
        search->suggest->stays[block->items[i]] = true;
    }
    if (isnan(suggest_home(search, id).u_mm)) {
        suggest_why_nearest(search, id);
    }
}

/* What can't stand where it stands, nor anywhere else, needs no search. */
static void condone_hopeless(Arena *out, Search *search) {
    for (uint32_t i = 0; i < search->block_count; i++) {
        uint32_t bars = search->suggest->bar_count;
        if (search->blocks[i].wrong && !search->blocks[i].fixed) {
            if (suggest_why_not(out, search, i)) {
                condone(search, i);
            } else {
                search->suggest->bar_count = bars;
            }
        }
    }
}

static void start(Arena *arena, Suggest *suggest, const SuggestOptions *options, Search *search) {
    const Model *model = suggest->model;
    *search = (Search){
        .arena = arena,
        .suggest = suggest,
        .panel = &suggest->panel,
        .gap_mm = model_limit(model, "panel_front") / 2.0,
        .mark_mm = model_limit(model, "panel_mark"),
        .web = model_limit(model, "panel_web"),
        .bend = model_limit(model, "panel_bend"),
        .move_weight = SUGGEST_MOVE_WEIGHT,
        .random = options->seed + UINT64_C(1),
    };
    suggest_blocks_make(search);
    for (uint32_t i = 0; i < suggest->panel.item_count; i++) {
        suggest->stays[i] = !suggest_is_loose(search, i);
    }
    read_home(search);
}

/* What each layout has that is not right, whoever can help it. */
static void tell_faults(Arena *out, Suggest *suggest) {
    for (uint32_t i = 0; i < suggest->count; i++) {
        SuggestLayout *layout = &suggest->best[i];
        Faults faults = {0};
        find_faults(out, suggest, layout->at, &faults);
        layout->faults = ARENA_ARRAY(out, Finding, faults.count);
        for (size_t k = 0; k < faults.count; k++) {
            layout->faults[layout->fault_count++] = faults.rows[k].finding;
        }
        for (uint32_t k = 0; k < suggest->panel.item_count; k++) {
            if (suggest->is_new[k]) {
                continue;
            }
            double moved_mm = panel_distance_mm(suggest->home[k], layout->at[k]);
            layout->moved += moved_mm > SUGGEST_TOLD_MM;
            layout->moved_mm += moved_mm;
        }
    }
}

bool panel_suggest(Arena *out, const Model *model, const SuggestOptions *options, Suggest *suggest,
                   Findings *findings) {
    enum { TRIES_AGAIN = 4 };
    *suggest = (Suggest){.model = with_places(out, model, NULL, NULL)};
    if (!panel_read(out, suggest->model, &suggest->panel, findings) ||
        suggest->panel.item_count == 0) {
        return false;
    }
    panel_wishes_read(out, suggest);
    suggest->panel.ink = options->ink;
    suggest->home = find_homes(out, &suggest->panel, model);
    suggest->stays = ARENA_ARRAY(out, bool, suggest->panel.item_count);
    suggest->is_new = ARENA_ARRAY(out, bool, suggest->panel.item_count);
    for (uint32_t i = 0; i < suggest->panel.item_count; i++) {
        suggest->is_new[i] = isnan(suggest->home[i].u_mm) || isnan(suggest->home[i].v_mm);
    }
    Arena arena = {0};
    Search search;
    start(&arena, suggest, options, &search);
    condone_hopeless(out, &search);
    for (int i = 0; i < TRIES_AGAIN && suggest->count == 0; i++) {
        search.lenient = i == TRIES_AGAIN - 1;
        suggest_search(out, &search, options->tries);
        for (uint32_t k = 0; suggest->count == 0 && k < search.block_count; k++) {
            if (search.missing[k]) {
                suggest_why_not(out, &search, k);
                condone(&search, k);
            }
        }
    }
    suggest->legal = suggest->count > 0 && suggest->bar_count == 0 && !search.lenient;
    tell_faults(out, suggest);
    arena_free(&arena);
    return true;
}

void panel_suggest_rows(Arena *out, const Model *model, const Suggest *suggest, TableSet *set) {
    const Panel *panel = &suggest->panel;
    for (uint32_t i = 0; i < suggest->bar_count; i++) {
        const SuggestBar *bar = &suggest->bars[i];
        SuggestionBarRow *row = table_append(set, out, TABLE_suggestion_bar);
        row->bar = (int32_t)i + 1;
        row->items = bar->item;
        row->rules = bar->rule;
        row->against = bar->rows;
        row->proved = bar->proved;
        row->words = bar->words;
    }
    for (uint32_t rank = 0; rank < suggest->count; rank++) {
        const SuggestLayout *layout = &suggest->best[rank];
        SuggestionLayoutRow *figures = table_append(set, out, TABLE_suggestion_layout);
        figures->rank = (int32_t)rank + 1;
        figures->score = layout->score;
        figures->moved = (int32_t)layout->moved;
        figures->moved_mm = layout->moved_mm;
        figures->differs = layout->differs;
        figures->keeps = layout->keeps ? 1 : INT_BLANK;
        figures->wrong = (int32_t)layout->fault_count;
        figures->first_wrong = layout->fault_count == 0 ? "" : layout->faults[0].message;
        for (uint32_t i = 0; i < panel->item_count; i++) {
            const MountRow *mount = &model->set->mount.rows[panel->items[i].row];
            SuggestionRow *row = table_append(set, out, TABLE_suggestion);
            row->rank = (int32_t)rank + 1;
            row->item = mount->item;
            row->u_mm = layout->at[i].u_mm;
            row->v_mm = layout->at[i].v_mm;
            row->moved_mm =
                panel_distance_mm(layout->at[i], (PanelPoint){mount->u_mm, mount->v_mm});
            row->pinned = mount->pinned == 1 ? 1 : INT_BLANK;
        }
        for (uint32_t i = 0; i < panel->text_count; i++) {
            PanelPoint to = panel_suggest_legend(suggest, layout->at, i);
            SuggestionLegendRow *row = table_append(set, out, TABLE_suggestion_legend);
            row->rank = (int32_t)rank + 1;
            row->legend = model->set->legend.rows[panel->texts[i].row].legend;
            row->u_mm = to.u_mm;
            row->v_mm = to.v_mm;
            row->moved_mm = panel_distance_mm(panel->texts[i].at, to);
        }
        for (uint32_t i = 0; i < suggest->wish_count; i++) {
            if (suggest->wishes[i].item_count == 0) {
                continue;
            }
            SuggestionWishRow *row = table_append(set, out, TABLE_suggestion_wish);
            row->rank = (int32_t)rank + 1;
            row->wish = suggest->wishes[i].name;
            row->kept = layout->lacks_mm[i] <= SUGGEST_KEPT_MM;
            row->lacks_mm = layout->lacks_mm[i];
        }
    }
}
