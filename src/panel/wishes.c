/* What a layout makes of the wishes: how much each lacks, as a length. */
#include "panel/wishes.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"

static const double DEGREE_MM = 10.0; /* what a degree of view counts */

double panel_eye_u_mm(const Panel *panel, uint32_t face) {
    uint32_t row = panel->faces[face].row;
    const char *seat = panel->model->set->panel_face.rows[row].seat;
    uint32_t found = *seat == '\0' ? ID_NONE : model_row(panel->model, TABLE_seat, seat);
    return found == ID_NONE
               ? 0.0
               : panel->model->set->seat.rows[found].eye_y_mm - panel->faces[face].origin.y_mm;
}

static const SeatRow *seat_of(const Panel *panel, uint32_t face) {
    const char *seat = panel->model->set->panel_face.rows[panel->faces[face].row].seat;
    uint32_t found = *seat == '\0' ? ID_NONE : model_row(panel->model, TABLE_seat, seat);
    return found == ID_NONE ? NULL : &panel->model->set->seat.rows[found];
}

static PanelBox box_at(const Panel *panel, uint32_t item, PanelPoint at) {
    PanelPoint by = {at.u_mm - panel->items[item].at.u_mm, at.v_mm - panel->items[item].at.v_mm};
    return panel_box_moved(panel->items[item].bezel.box, by);
}

static double reach_lacks(const Panel *panel, uint32_t item, PanelPoint at, double limit_mm) {
    const PanelFace *face = &panel->faces[panel->items[item].face];
    const SeatRow *seat = seat_of(panel, panel->items[item].face);
    if (seat == NULL || isnan(seat->shoulder_x_mm)) {
        return 0.0;
    }
    PanelSpot spot = panel_spot(face, at, 0.0);
    double half = isnan(seat->shoulder_apart_mm) ? 0.0 : seat->shoulder_apart_mm / 2.0;
    double dx = spot.x_mm - seat->shoulder_x_mm;
    double dy = fabs(fabs(spot.y_mm - seat->shoulder_y_mm) - half); /* from the nearer one */
    double dz = spot.z_mm - seat->shoulder_z_mm;
    double limit = !isnan(limit_mm)        ? limit_mm
                   : isnan(seat->reach_mm) ? model_limit(panel->model, "panel_reach")
                                           : seat->reach_mm;
    return fmax(sqrt(dx * dx + dy * dy + dz * dz) - limit, 0.0);
}

static double view_lacks(const Panel *panel, uint32_t item, PanelPoint at, double limit_deg) {
    const PanelFace *face = &panel->faces[panel->items[item].face];
    const SeatRow *seat = seat_of(panel, panel->items[item].face);
    if (seat == NULL) {
        return 0.0;
    }
    PanelSpot spot = panel_spot(face, at, 0.0);
    double aside_deg =
        fabs(atan2(spot.y_mm - seat->eye_y_mm, seat->eye_x_mm - spot.x_mm)) * 180.0 / UNITS_PI;
    return DEGREE_MM * fmax(aside_deg - limit_deg, 0.0);
}

static bool is_there(const bool *there, uint32_t item) {
    return there == NULL || there[item];
}

/* Of a stack: how far its items are aside of their middle, and the height that is neither theirs
 * nor the webs' between them. */
static double stack_lacks(const Panel *panel, const SuggestWish *wish, const PanelPoint *at,
                          const bool *there) {
    const double USUAL_GAP_MM = 6.0;
    double sum = 0.0;
    double low = INFINITY;
    double high = -INFINITY;
    double heights = 0.0;
    double aside = 0.0;
    uint32_t count = 0;
    for (uint32_t i = 0; i < wish->item_count; i++) {
        if (is_there(there, wish->items[i])) {
            PanelBox box = box_at(panel, wish->items[i], at[wish->items[i]]);
            sum += at[wish->items[i]].u_mm;
            low = fmin(low, box.v0_mm);
            high = fmax(high, box.v1_mm);
            heights += box.v1_mm - box.v0_mm;
            count++;
        }
    }
    for (uint32_t i = 0; i < wish->item_count; i++) {
        if (is_there(there, wish->items[i])) {
            aside += fabs(at[wish->items[i]].u_mm - sum / count);
        }
    }
    return count < 2 ? 0.0 : aside + fmax(high - low - heights - USUAL_GAP_MM * (count - 1), 0.0);
}

/* Half the girth of the box around them against that of a square of their area, with a third more
 * for what does not fill it. */
static double together_lacks(const Panel *panel, const SuggestWish *wish, const PanelPoint *at,
                             const bool *there) {
    PanelBox all = {0};
    double area = 0.0;
    uint32_t count = 0;
    for (uint32_t i = 0; i < wish->item_count; i++) {
        if (!is_there(there, wish->items[i])) {
            continue;
        }
        PanelBox box = panel_box_grown(box_at(panel, wish->items[i], at[wish->items[i]]), 2.0);
        all = count++ == 0 ? box : panel_box_around(all, box);
        area += (box.u1_mm - box.u0_mm) * (box.v1_mm - box.v0_mm);
    }
    double half = (all.u1_mm - all.u0_mm) + (all.v1_mm - all.v0_mm);
    return fmax(half - 2.67 * sqrt(area), 0.0);
}

static double apart_lacks(const Panel *panel, const SuggestWish *wish, uint32_t item,
                          const PanelPoint *at, const bool *there) {
    double sum = 0.0;
    PanelBox a = box_at(panel, item, at[item]);
    for (uint32_t j = 0; j < wish->other_count; j++) {
        uint32_t other = wish->others[j];
        if (other != item && is_there(there, other) &&
            panel->items[other].face == panel->items[item].face) {
            PanelBox b = box_at(panel, other, at[other]);
            sum += fmax(wish->limit - panel_box_gap_mm(&a, &b), 0.0);
        }
    }
    return sum;
}

double panel_wish_lacks(const Panel *panel, const SuggestWish *wish, const PanelPoint *at,
                        const bool *there) {
    if (wish->kind == SUGGEST_STACKED) {
        return stack_lacks(panel, wish, at, there);
    }
    if (wish->kind == SUGGEST_TOGETHER) {
        return together_lacks(panel, wish, at, there);
    }
    double sum = 0.0;
    for (uint32_t i = 0; i < wish->item_count; i++) {
        uint32_t item = wish->items[i];
        if (!is_there(there, item)) {
            continue;
        }
        if (wish->kind == SUGGEST_CENTRED) {
            sum += fabs(at[item].u_mm - panel_eye_u_mm(panel, panel->items[item].face));
        } else if (wish->kind == SUGGEST_REACH) {
            sum += reach_lacks(panel, item, at[item], wish->limit);
        } else if (wish->kind == SUGGEST_VIEW) {
            sum += view_lacks(panel, item, at[item], wish->limit);
        } else {
            sum += apart_lacks(panel, wish, item, at, there);
        }
    }
    return sum;
}

static SuggestWish *new_wish(Arena *out, Suggest *suggest, const char *name, SuggestKind kind) {
    size_t items = suggest->panel.item_count;
    SuggestWish *wish = &suggest->wishes[suggest->wish_count++];
    *wish = (SuggestWish){.name = name,
                          .kind = kind,
                          .items = ARENA_ARRAY(out, uint32_t, items),
                          .others = ARENA_ARRAY(out, uint32_t, items),
                          .limit = NAN,
                          .weight = SUGGEST_RULE_WEIGHT};
    return wish;
}

uint32_t panel_items_listed(const Panel *panel, const char *list, uint32_t *items) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < panel->item_count; i++) {
        if (text_has_word(list, panel->items[i].key)) {
            items[count++] = i;
        }
    }
    return count;
}

void panel_wishes_read(Arena *out, Suggest *suggest) {
    static const char *const kinds[] = {"centred", "stacked", "together", "apart", "reach", "view"};
    const Panel *panel = &suggest->panel;
    const TableSet *set = suggest->model->set;
    suggest->wishes = ARENA_ARRAY(out, SuggestWish, set->wish.count + 3);
    SuggestWish *reach = new_wish(out, suggest, "rule panel.reach", SUGGEST_REACH);
    SuggestWish *view = new_wish(out, suggest, "rule panel.view", SUGGEST_VIEW);
    SuggestWish *apart = new_wish(out, suggest, "rule panel.apart", SUGGEST_APART);
    view->limit = model_limit(suggest->model, "panel_view");
    apart->limit = model_limit(suggest->model, "panel_apart");
    for (uint32_t i = 0; i < panel->item_count; i++) {
        const char *use = panel_mount(panel, i)->use;
        bool engine = strcmp(use, "engine") == 0;
        if (engine || strcmp(use, "emergency") == 0) {
            reach->items[reach->item_count++] = i;
            apart->items[apart->item_count++] = i;
        }
        if (strcmp(use, "primary") == 0) {
            view->items[view->item_count++] = i;
        }
        if (strcmp(use, "lighting") == 0) {
            apart->others[apart->other_count++] = i;
        }
    }
    for (size_t i = 0; i < set->wish.count; i++) {
        const WishRow *row = &set->wish.rows[i];
        for (int k = 0; k < 6; k++) {
            if (strcmp(row->kind, kinds[k]) != 0) {
                continue;
            }
            SuggestWish *wish = new_wish(out, suggest, row->wish, (SuggestKind)k);
            wish->weight = isnan(row->weight) ? 1.0 : row->weight;
            wish->item_count = panel_items_listed(panel, row->items, wish->items);
            wish->other_count = panel_items_listed(panel, row->others, wish->others);
            wish->limit = row->value_mm;
            if (k == SUGGEST_VIEW || (k == SUGGEST_APART && isnan(wish->limit))) {
                wish->limit =
                    model_limit(suggest->model, k == SUGGEST_VIEW ? "panel_view" : "panel_apart");
            }
        }
    }
}

double panel_suggest_score(const Suggest *suggest, const PanelPoint *at, double *lacks_mm) {
    double score = 0.0;
    for (uint32_t i = 0; i < suggest->wish_count; i++) {
        double lack = panel_wish_lacks(&suggest->panel, &suggest->wishes[i], at, NULL);
        score += suggest->wishes[i].weight * lack;
        if (lacks_mm != NULL) {
            lacks_mm[i] = lack;
        }
    }
    return score;
}
