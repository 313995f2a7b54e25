/* The panel: what is on it, its picture, how it would be with other rows, and layouts that are
 * proposed. Nothing is written here: rows are changed by /api/edit. */
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/panel_option.h"
#include "app/panel_try.h"
#include "draw/panel_look.h"
#include "out/portrait.h"
#include "server/routes.h"

/* Around the face on a picture: its shadow. */
#define MARGIN_MM 20.0

enum { MOVES_MOST = 2000, WIDTH_LEAST = 320, WIDTH_MOST = 2400, TRIES = 8 };

/* --- geometry -------------------------------------------------------------------------------- */

/* As the path of an SVG, y up. Arcs of more than half a circle are two. */
static const char *path_of(Arena *arena, const PanelContour *contour) {
    Buffer out = {.arena = arena};
    for (uint32_t i = 0; i < contour->count; i++) {
        const PanelPiece *piece = &contour->pieces[i];
        if (i == 0) {
            buffer_format(&out, "M%.3f %.3f", piece->from.u_mm, piece->from.v_mm);
        }
        int parts = piece->arc && fabs(piece->sweep_rad) > 3.0 ? 2 : 1;
        for (int k = 1; k <= parts; k++) {
            PanelPoint to = k == parts ? piece->to : panel_piece_at(piece, 0.5);
            if (piece->arc) {
                buffer_format(&out, "A%.3f %.3f 0 0 %d %.3f %.3f", piece->radius_mm,
                              piece->radius_mm, piece->sweep_rad > 0.0 ? 1 : 0, to.u_mm, to.v_mm);
            } else {
                buffer_format(&out, "L%.3f %.3f", to.u_mm, to.v_mm);
            }
        }
    }
    buffer_text(&out, "Z");
    return out.bytes;
}

/* The bezel about the item's middle, not turned. */
static const char *bezel_path(Arena *arena, const PanelItem *item) {
    PanelPoint back = {-item->at.u_mm, -item->at.v_mm};
    PanelContour moved = panel_contour_moved(arena, &item->bezel, 0.0, back);
    PanelContour turned =
        panel_contour_moved(arena, &moved, -item->rotation_rad, (PanelPoint){0.0, 0.0});
    return path_of(arena, &turned);
}

static json_t *face_json(Arena *arena, const Panel *panel, uint32_t id) {
    const PanelFace *face = &panel->faces[id];
    const PanelBox *box = &face->outline.box;
    return json_pack("{s:s, s:s, s:s, s:[f, f, f, f], s:f}", "face", face->key, "name",
                     panel->model->set->panel_face.rows[face->row].name, "path",
                     path_of(arena, &face->outline), "box", box->u0_mm, box->v0_mm, box->u1_mm,
                     box->v1_mm, "margin", MARGIN_MM);
}

/* The align row that has the item among its members; "". */
static const char *held_by(const TableSet *set, const char *item) {
    for (size_t i = 0; i < set->align.count; i++) {
        if (text_has_word(set->align.rows[i].members, item)) {
            return set->align.rows[i].align;
        }
    }
    return "";
}

static json_t *item_json(Arena *arena, const Panel *panel, uint32_t id) {
    const PanelItem *item = &panel->items[id];
    const MountRow *mount = panel_mount(panel, id);
    const PanelBox *box = &item->bezel.box;
    return json_pack(
        "{s:s, s:s, s:s, s:s, s:s, s:s, s:b, s:f, s:f, s:f, s:f, s:f, s:s}", "item", item->key,
        "face", panel->faces[item->face].key, "name", panel_cutout(panel, id)->name, "serves",
        mount->serves, "use", mount->use, "align", held_by(panel->model->set, item->key), "pinned",
        mount->pinned == 1, "u", item->at.u_mm, "v", item->at.v_mm, "rotation",
        isnan(mount->rotation_deg) ? 0.0 : mount->rotation_deg, "width", box->u1_mm - box->u0_mm,
        "height", box->v1_mm - box->v0_mm, "path", bezel_path(arena, item));
}

static json_t *options_json(Arena *arena, const Model *model) {
    json_t *options = json_array();
    for (size_t i = 0; i < model->set->option.count; i++) {
        const OptionRow *row = &model->set->option.rows[i];
        bool mounted = false;
        for (size_t k = 0; k < model->set->mount.count; k++) {
            mounted = mounted || strcmp(model->set->mount.rows[k].option, row->option) == 0;
        }
        if (mounted) {
            json_array_append_new(options,
                                  json_pack("{s:s, s:s, s:s, s:s}", "option", row->option, "name",
                                            row->name, "chosen",
                                            row->chosen == INT_BLANK ? "open"
                                            : row->chosen            ? "taken"
                                                                     : "no",
                                            "cost", panel_option_cost(arena, model, row->option)));
        }
    }
    return options;
}

static bool is_coat(const FinishRow *finish) {
    return *finish->srgb != '\0' &&
           (strcmp(finish->process, "powder") == 0 || strcmp(finish->process, "anodise") == 0);
}

static json_t *finishes_json(const Panel *panel, uint32_t face) {
    const TableSet *set = panel->model->set;
    const FinishRow *usual = panel_look(panel, face).finish;
    json_t *finishes = json_array();
    for (size_t i = 0; i < set->finish.count; i++) {
        const FinishRow *row = &set->finish.rows[i];
        if (is_coat(row)) {
            json_array_append_new(finishes, json_pack("{s:s, s:s, s:b}", "finish", row->finish,
                                                      "name", row->name, "usual", row == usual));
        }
    }
    return finishes;
}

/* --- findings -------------------------------------------------------------------------------- */

static json_t *number_json(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *finding_json(const Finding *finding, bool is_new) {
    return json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:o, s:o, s:s, s:b, s:b}", "rule",
                     rule_name(finding->rule), "severity", severity_name(finding->severity),
                     "table", finding->table, "row", finding->key, "rows", finding->rows, "message",
                     finding->message, "hint", finding->hint, "value", number_json(finding->value),
                     "limit", number_json(finding->limit), "unit", finding->unit, "accepted",
                     finding->accepted, "new", is_new);
}

static json_t *legends_json(const PanelLegendMove *legends, size_t count) {
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        json_array_append_new(list, json_pack("{s:s, s:f, s:f}", "legend", legends[i].legend,
                                              "u_mm", legends[i].u_mm, "v_mm", legends[i].v_mm));
    }
    return list;
}

/* What is tried: where things stand and what is found. */
static json_t *tried_json(const PanelTry *tried) {
    json_t *items = json_object();
    for (uint32_t i = 0; i < tried->panel.item_count; i++) {
        const PanelItem *item = &tried->panel.items[i];
        json_object_set_new(items, item->key, json_pack("[f, f]", item->at.u_mm, item->at.v_mm));
    }
    json_t *findings = json_array();
    for (size_t i = 0; i < tried->findings.count; i++) {
        json_array_append_new(findings, finding_json(&tried->findings.rows[i], tried->is_new[i]));
    }
    return json_pack("{s:o, s:o, s:I, s:I, s:o}", "at", items, "findings", findings, "new",
                     (json_int_t)tried->new_count, "gone", (json_int_t)tried->gone_count, "legends",
                     legends_json(tried->legends, tried->legend_count));
}

/* --- what is asked --------------------------------------------------------------------------- */

/* The live chain of a job that has a panel; NULL after refusing. */
static Live *live_panel(Asking *asking) {
    Live *live = asking_live(asking, LIVE_CHAIN);
    if (live != NULL && live->proof.panel.face_count == 0) {
        asking_refuse(asking, 409, "this job has no panel: it has no good row of panel_face", NULL);
        desk_live_done(asking->desk, live);
        return NULL;
    }
    return live;
}

/* The face that the query names, or the first; ID_NONE after refusing. */
static uint32_t find_face(Asking *asking, const Panel *panel) {
    const char *name = asking_value(asking, "face");
    if (name == NULL || *name == '\0') {
        return 0;
    }
    const char **names = ARENA_ARRAY(asking->arena, const char *, panel->face_count);
    for (uint32_t i = 0; i < panel->face_count; i++) {
        names[i] = panel->faces[i].key;
        if (strcmp(names[i], name) == 0) {
            return i;
        }
    }
    asking_refuse(asking, 404, arena_format(asking->arena, "no face is called \"%s\"", name),
                  text_nearest(name, names, panel->face_count));
    return ID_NONE;
}

void ask_panel(Asking *asking) {
    Live *live = live_panel(asking);
    if (live == NULL) {
        return;
    }
    const Proof *proof = &live->proof;
    const Panel *panel = &proof->panel;
    json_t *faces = json_array();
    json_t *items = json_array();
    for (uint32_t i = 0; i < panel->face_count; i++) {
        json_t *face = face_json(asking->arena, panel, i);
        json_object_set_new(face, "finishes", finishes_json(panel, i));
        json_array_append_new(faces, face);
    }
    for (uint32_t i = 0; i < panel->item_count; i++) {
        json_array_append_new(items, item_json(asking->arena, panel, i));
    }
    asking_put_json(asking, 200,
                    json_pack("{s:I, s:o, s:o, s:o}", "act", (json_int_t)live->act, "faces", faces,
                              "items", items, "options",
                              options_json(asking->arena, &proof->model)));
    desk_live_done(asking->desk, live);
}

static double number_of(const json_t *object, const char *name) {
    const json_t *value = json_object_get(object, name);
    return json_is_number(value) && isfinite(json_number_value(value)) ? json_number_value(value)
                                                                       : (double)NAN;
}

static const char *name_of(Asking *asking, const json_t *object, const char *name) {
    const char *text = json_string_value(json_object_get(object, name));
    return text == NULL ? "" : arena_text(asking->arena, text, strlen(text));
}

/* False after refusing. */
static bool read_change(Asking *asking, const json_t *body, PanelChange *change) {
    const json_t *moves = json_object_get(body, "moves");
    const json_t *aligns = json_object_get(body, "aligns");
    const json_t *legends = json_object_get(body, "legends");
    size_t counts[] = {json_array_size(moves), json_array_size(aligns), json_array_size(legends)};
    if (counts[0] > MOVES_MOST || counts[1] > MOVES_MOST || counts[2] > MOVES_MOST) {
        asking_refuse(asking, 400, "more moves than are taken at once", NULL);
        return false;
    }
    change->moves = ARENA_ARRAY(asking->arena, PanelMove, counts[0]);
    change->aligns = ARENA_ARRAY(asking->arena, PanelAlignMove, counts[1]);
    change->legends = ARENA_ARRAY(asking->arena, PanelLegendMove, counts[2]);
    for (; change->move_count < counts[0]; change->move_count++) {
        const json_t *row = json_array_get(moves, change->move_count);
        const json_t *pinned = json_object_get(row, "pinned");
        change->moves[change->move_count] =
            (PanelMove){name_of(asking, row, "item"), number_of(row, "u_mm"),
                        number_of(row, "v_mm"), number_of(row, "rotation_deg"),
                        json_is_boolean(pinned) ? json_is_true(pinned) : INT_BLANK};
    }
    for (; change->align_count < counts[1]; change->align_count++) {
        const json_t *row = json_array_get(aligns, change->align_count);
        change->aligns[change->align_count] =
            (PanelAlignMove){name_of(asking, row, "align"), number_of(row, "value_mm")};
    }
    for (; change->legend_count < counts[2]; change->legend_count++) {
        const json_t *row = json_array_get(legends, change->legend_count);
        PanelLegendMove legend = {name_of(asking, row, "legend"), number_of(row, "u_mm"),
                                  number_of(row, "v_mm")};
        if (isnan(legend.u_mm) || isnan(legend.v_mm)) {
            asking_refuse(asking, 400, "a legend has \"u_mm\" and \"v_mm\"", NULL);
            return false;
        }
        change->legends[change->legend_count] = legend;
    }
    return true;
}

void ask_panel_try(Asking *asking) {
    json_t *body = asking_object(asking);
    if (body == NULL) {
        return;
    }
    PanelChange change = {0};
    bool good = read_change(asking, body, &change);
    json_decref(body);
    Live *live = good ? live_panel(asking) : NULL;
    if (live == NULL) {
        return;
    }
    PanelTry tried;
    if (panel_try(asking->arena, &live->proof, &change, &tried)) {
        asking_put_json(asking, 200, tried_json(&tried));
    } else {
        asking_refuse(asking, 404,
                      tried.unknown == NULL
                          ? "nothing of this panel can be built"
                          : arena_format(asking->arena, "there is no \"%s\"", tried.unknown),
                      NULL);
    }
    desk_live_done(asking->desk, live);
}

/* --- proposals ------------------------------------------------------------------------------- */

static json_t *texts_json(const char *const *texts, size_t count) {
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        json_array_append_new(list, json_string(texts[i]));
    }
    return list;
}

static json_t *proposal_json(const PanelProposal *proposal) {
    json_t *moves = json_array();
    for (size_t i = 0; i < proposal->change.move_count; i++) {
        const PanelMove *move = &proposal->change.moves[i];
        json_array_append_new(moves, json_pack("{s:s, s:f, s:f}", "item", move->item, "u_mm",
                                               move->u_mm, "v_mm", move->v_mm));
    }
    json_t *aligns = json_array();
    for (size_t i = 0; i < proposal->change.align_count; i++) {
        const PanelAlignMove *align = &proposal->change.aligns[i];
        json_array_append_new(
            aligns, json_pack("{s:s, s:f}", "align", align->align, "value_mm", align->value_mm));
    }
    json_t *wishes = json_array();
    for (size_t i = 0; i < proposal->wish_count; i++) {
        const PanelWishKept *wish = &proposal->wishes[i];
        json_array_append_new(wishes, json_pack("{s:s, s:b, s:f}", "wish", wish->wish, "kept",
                                                wish->kept, "lacks", wish->lacks_mm));
    }
    return json_pack("{s:f, s:f, s:b, s:I, s:f, s:o, s:o, s:o, s:o}", "score", proposal->score,
                     "differs", proposal->differs, "keeps", proposal->keeps, "moved",
                     (json_int_t)proposal->moved, "moved_mm", proposal->moved_mm, "moves", moves,
                     "aligns", aligns, "wishes", wishes, "wrong",
                     texts_json(proposal->wrong, proposal->wrong_count));
}

void ask_panel_suggest(Asking *asking) {
    Live *live = live_panel(asking);
    if (live == NULL) {
        return;
    }
    if (live_said(live, "panel proposals") == NULL) {
        Arena arena = {0};
        PanelProposals proposals;
        panel_propose(&arena, &live->proof, TRIES, &proposals);
        json_t *list = json_array();
        for (size_t i = 0; i < proposals.count; i++) {
            json_array_append_new(list, proposal_json(&proposals.rows[i]));
        }
        json_t *all = json_pack("{s:I, s:o, s:o}", "act", (json_int_t)live->act, "proposals", list,
                                "bars", texts_json(proposals.bars, proposals.bar_count));
        char *text = json_dumps(all, JSON_COMPACT | JSON_REAL_PRECISION(9));
        buffer_text(live_say(live, "panel proposals"), text == NULL ? "{}" : text);
        free(text);
        json_decref(all);
        arena_free(&arena);
    }
    asking_put_copy(asking, "application/json", live_said(live, "panel proposals"));
    desk_live_done(asking->desk, live);
}

/* --- picture --------------------------------------------------------------------------------- */

/* Width of the picture: one of a few, so that few are kept. */
static int width_of(const Asking *asking) {
    const char *text = asking_value(asking, "width");
    long wanted = text == NULL ? WIDTH_MOST : strtol(text, NULL, 10);
    int width = WIDTH_LEAST;
    while (width < wanted && width < WIDTH_MOST) {
        width = width * 3 / 2;
    }
    return width < WIDTH_MOST ? width : WIDTH_MOST;
}

/* The panel and its look as the query wants them; false after refusing. */
static bool variant_of(Asking *asking, const Panel *from, Panel *panel, PanelLook *look,
                       uint32_t *face) {
    const char *finish = asking_value(asking, "finish");
    const char *option = asking_value(asking, "option");
    *panel = *from;
    if (option != NULL && *option != '\0') {
        uint32_t row = panel_option_find(from->model, option);
        const char *taken = asking_value(asking, "taken");
        if (row == ID_NONE) {
            asking_refuse(asking, 404,
                          arena_format(asking->arena, "no option is called \"%s\"", option), NULL);
            return false;
        }
        panel_with_option(asking->arena, from, row, taken == NULL || strcmp(taken, "no") != 0,
                          panel);
    }
    *face = find_face(asking, panel);
    if (*face == ID_NONE) {
        return false;
    }
    *look = panel_look(panel, *face);
    if (finish != NULL && *finish != '\0') {
        uint32_t row = model_row(from->model, TABLE_finish, finish);
        if (row == ID_NONE) {
            asking_refuse(asking, 404,
                          arena_format(asking->arena, "no finish is called \"%s\"", finish), NULL);
            return false;
        }
        *look = panel_look_with(panel, *face, &from->model->set->finish.rows[row]);
    }
    return true;
}

void ask_panel_picture(Asking *asking) {
    Live *live = live_panel(asking);
    if (live == NULL) {
        return;
    }
    Panel panel;
    PanelLook look;
    uint32_t face = 0;
    if (variant_of(asking, &live->proof.panel, &panel, &look, &face)) {
        const char *option = asking_value(asking, "option");
        const char *taken = asking_value(asking, "taken");
        const char *view = asking_value(asking, "view");
        bool rear = view != NULL && strcmp(view, "rear") == 0;
        const char *said = arena_format(
            asking->arena, "panel picture %s %s %s %s %s %d", panel.faces[face].key,
            rear ? "rear" : "front", look.finish == NULL ? "" : look.finish->finish,
            option == NULL ? "" : option, taken == NULL ? "" : taken, width_of(asking));
        if (live_said(live, said) == NULL) {
            DrawFonts *fonts = fonts_open();
            PortraitShot shot = {.look = look,
                                 .face = face,
                                 .view = rear ? PORTRAIT_REAR : PORTRAIT_FRONT,
                                 .caption = "",
                                 .detail = ""};
            portrait_png(live_say(live, said), fonts, &panel, &shot, MARGIN_MM, width_of(asking));
            fonts_close(fonts);
        }
        asking_put_copy(asking, "image/png", live_said(live, said));
    }
    desk_live_done(asking->desk, live);
}
