/* Holes against devices: every breaker, switch and box that belongs in the panel has its hole,
 * every hole serves something, and what is written beside a switch is what the switch is called. */
#include "panel/checks.h"

#include <string.h>

#include "base/text.h"
#include "model/report.h"

static const char PANEL_HOLE[] = "panel hole ";

static bool begins_with(const char *text, const char *start) {
    return strncmp(text, start, strlen(start)) == 0;
}

/* What the row of an owner says about its place: "" when it belongs elsewhere. A breaker says
 * "panel hole CB07", a box is mounted in a "panel tray" or the like, a switch is moved by hand. */
static const char *wants_hole(const Model *model, const ModelOwner *owner, bool *wants) {
    const TableSet *set = model->set;
    *wants = false;
    if (owner->kind == OWNER_PROTECTION) {
        const char *place = set->protection.rows[owner->row].place;
        *wants = begins_with(place, PANEL_HOLE);
        return *wants ? place + strlen(PANEL_HOLE) : "";
    }
    if (owner->kind == OWNER_UNIT) {
        *wants = begins_with(set->unit.rows[owner->row].mount, "panel ");
    } else if (owner->kind == OWNER_SWITCHGEAR && owner->part != ID_NONE) {
        *wants = strcmp(set->switch_part.rows[owner->part].kind, "switch") == 0;
    }
    return "";
}

static void report_missing(PanelChecking *checking, OwnerId id, const char *place) {
    const Model *model = checking->panel->model;
    const ModelOwner *owner = &model->owners[id];
    Finding *finding =
        *place == '\0' ? report_owner(checking->findings, model, RULE_PANEL_DEVICE, id,
                                      "%s belongs in the panel, and no item serves it", owner->tag)
                       : report_owner(checking->findings, model, RULE_PANEL_DEVICE, id,
                                      "%s belongs in hole %s of the panel, and no item serves it",
                                      owner->tag, place);
    report_hint(checking->findings, finding, "add a row of `mount` with serves = %s", owner->tag);
}

/* Owners of places that went with an option the customer declined. */
static bool *find_declined(PanelChecking *checking) {
    const Model *model = checking->panel->model;
    const TableSet *set = model->set;
    bool *declined = ARENA_ARRAY(checking->out, bool, model->owner_count);
    for (OwnerId i = 0; i < model->owner_count; i++) {
        const ModelOwner *owner = &model->owners[i];
        declined[i] =
            owner->kind == OWNER_UNIT && panel_declined(model, set->unit.rows[owner->row].option);
    }
    for (size_t i = 0; i < set->mount.count; i++) {
        const MountRow *mount = &set->mount.rows[i];
        const char *place = mount->serves;
        const char *word;
        size_t length;
        while (panel_declined(model, mount->option) && text_next_word(&place, &word, &length)) {
            OwnerId owner = model_owner(model, arena_text(checking->out, word, length));
            if (owner != ID_NONE) {
                declined[owner] = true;
            }
        }
    }
    return declined;
}

static void check_owners(PanelChecking *checking) {
    const Panel *panel = checking->panel;
    const Model *model = panel->model;
    uint32_t *item_of = ARENA_ARRAY(checking->out, uint32_t, model->owner_count);
    memset(item_of, 0xFF, model->owner_count * sizeof *item_of);
    for (uint32_t i = 0; i < panel->item_count; i++) {
        const PanelItem *item = &panel->items[i];
        for (uint32_t j = item->owner_first; j < item->owner_first + item->owner_count; j++) {
            OwnerId owner = panel->owners[j];
            if (item_of[owner] != ID_NONE && model->owners[owner].kind != OWNER_UNIT) {
                Finding *finding = panel_report_item(
                    checking, RULE_PANEL_MOUNT, i, "serves", "%s has two holes: %s and %s",
                    model->owners[owner].tag, panel->items[item_of[owner]].key, item->key);
                finding->rows = model->owners[owner].tag;
            } else {
                item_of[owner] = i;
            }
        }
    }
    const bool *declined = find_declined(checking);
    for (OwnerId i = 0; i < model->owner_count; i++) {
        bool wants = false;
        const char *place = wants_hole(model, &model->owners[i], &wants);
        if (!wants || declined[i]) {
            continue;
        }
        if (item_of[i] == ID_NONE) {
            report_missing(checking, i, place);
        } else if (*place != '\0' && strcmp(panel->items[item_of[i]].key, place) != 0) {
            Finding *finding =
                report_owner(checking->findings, model, RULE_PANEL_DEVICE, i,
                             "%s belongs in hole %s of the panel and sits in %s",
                             model->owners[i].tag, place, panel->items[item_of[i]].key);
            finding->hint = "write one place into both rows";
        }
    }
}

static void check_serves(PanelChecking *checking) {
    const Panel *panel = checking->panel;
    for (uint32_t i = 0; i < panel->item_count; i++) {
        const PanelItem *item = &panel->items[i];
        const CutoutRow *cutout = panel_cutout(panel, i);
        bool blank = *panel_mount(panel, i)->serves == '\0';
        if (blank && strcmp(cutout->kind, "plate") != 0 && strcmp(cutout->kind, "other") != 0) {
            Finding *finding = panel_report_item(checking, RULE_PANEL_MOUNT, i, "serves",
                                                 "item %s serves nothing", item->key);
            finding->rows = item->key;
            finding->hint = "name the tag it holds, or write `spare` when its hole is plugged";
        }
    }
}

/* The legend of an item that holds a switch begins with what the switch is called. */
static void check_legends(PanelChecking *checking) {
    const Panel *panel = checking->panel;
    const Model *model = panel->model;
    for (uint32_t i = 0; i < panel->text_count; i++) {
        const PanelText *text = &panel->texts[i];
        const LegendRow *legend = &model->set->legend.rows[text->row];
        if (text->item == ID_NONE || *legend->text == '\0') {
            continue;
        }
        const PanelItem *item = &panel->items[text->item];
        for (uint32_t j = item->owner_first; j < item->owner_first + item->owner_count; j++) {
            const ModelOwner *owner = &model->owners[panel->owners[j]];
            const char *called = owner->kind == OWNER_SWITCHGEAR
                                     ? model->set->switchgear.rows[owner->row].legend
                                     : "";
            if (*called != '\0' && !begins_with(legend->text, called)) {
                Finding *finding =
                    report_row(checking->findings, model, RULE_PANEL_LEGEND, TABLE_legend,
                               text->row, "text", "\"%s\" stands at %s, which is called \"%s\"",
                               legend->text, owner->tag, called);
                finding->rows = owner->tag;
                finding->hint = "write the same into `legend` and `switchgear`";
            }
        }
    }
}

void panel_check_devices(PanelChecking *checking) {
    if (checking->panel->item_count == 0) {
        return;
    }
    check_owners(checking);
    check_serves(checking);
    check_legends(checking);
}
