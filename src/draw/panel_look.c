/* Method of the list: places, sizes, colours and words of all that a person in the seat can see, in
 * hundredths of a mm and as written in the job; what lies behind, how a hole is cut and who allows
 * for what is left out, for it can change without the picture changing. Comparing walks two sorted
 * lists side by side. */
#include "draw/panel_look.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/units.h"

#define BARE_RGB 0xB9BDC0u   /* sheet whose colour nobody gave */
#define LETTER_RGB 0xF4F2ECu /* letters on a dark surface ... */
#define DARK_RGB 0x23262Au   /* ... and on a light one, where no mark has a colour */

/* --- look ---------------------------------------------------------------------------------------
 */

static bool hex_digit(char c, uint32_t *digit) {
    static const char DIGITS[] = "0123456789abcdef";
    char low = c >= 'A' && c <= 'F' ? (char)(c - 'A' + 'a') : c;
    const char *at = low == '\0' ? NULL : strchr(DIGITS, low);
    *digit = at == NULL ? 0 : (uint32_t)(at - DIGITS);
    return at != NULL;
}

/* "#rrggbb"; `usual` when it is not one. */
static uint32_t rgb_of(const char *text, uint32_t usual) {
    if (text[0] != '#' || strlen(text) != 7) {
        return usual;
    }
    uint32_t rgb = 0;
    for (int i = 1; i < 7; i++) {
        uint32_t digit;
        if (!hex_digit(text[i], &digit)) {
            return usual;
        }
        rgb = rgb << 4 | digit;
    }
    return rgb;
}

static const FinishRow *finish_of(const TableSet *set, const char *key) {
    for (size_t i = 0; i < set->finish.count; i++) {
        if (strcmp(set->finish.rows[i].finish, key) == 0) {
            return &set->finish.rows[i];
        }
    }
    return NULL;
}

static bool is_letters(const FinishRow *finish) {
    return strcmp(finish->process, "mark") == 0 || strcmp(finish->process, "engrave") == 0;
}

static bool is_dark(uint32_t rgb) {
    double grey = 0.30 * (rgb >> 16 & 0xFFu) + 0.59 * (rgb >> 8 & 0xFFu) + 0.11 * (rgb & 0xFFu);
    return grey < 140.0;
}

static PanelLook look_with(const Panel *panel, uint32_t face, const FinishRow *instead) {
    CHECK(face < panel->face_count);
    const TableSet *set = panel->model->set;
    const SheetRow *sheet = &set->sheet.rows[panel->faces[face].sheet];
    PanelLook look = {
        .rgb = rgb_of(sheet->srgb, BARE_RGB), .gloss_pct = 30.0, .left_out = "", .shown = ""};
    const FinishRow *letters = NULL;
    for (size_t i = 0; i < set->panel_coat.count; i++) {
        const PanelCoatRow *coat = &set->panel_coat.rows[i];
        if (strcmp(coat->face, panel->faces[face].key) != 0 || *coat->item != '\0') {
            continue;
        }
        const FinishRow *finish = finish_of(set, coat->finish);
        if (finish == NULL) {
            continue;
        }
        if (is_letters(finish)) {
            letters = finish;
        } else if (*finish->srgb != '\0') {
            look.finish = finish;
        }
    }
    look.finish = instead == NULL ? look.finish : instead;
    if (look.finish != NULL) {
        look.rgb = rgb_of(look.finish->srgb, look.rgb);
        look.gloss_pct = isnan(look.finish->gloss_pct) ? 30.0 : look.finish->gloss_pct;
    }
    look.mark_rgb = is_dark(look.rgb) ? LETTER_RGB : DARK_RGB;
    if (letters != NULL && instead == NULL) {
        look.mark_rgb = rgb_of(letters->srgb, look.mark_rgb);
    }
    return look;
}

PanelLook panel_look(const Panel *panel, uint32_t face) {
    return look_with(panel, face, NULL);
}

PanelLook panel_look_with(const Panel *panel, uint32_t face, const FinishRow *finish) {
    return look_with(panel, face, finish);
}

bool panel_look_shows(const Panel *panel, const PanelLook *look, uint32_t item) {
    const TableSet *set = panel->model->set;
    const MountRow *mount = panel_mount(panel, item);
    if (*mount->option == '\0') {
        return true;
    }
    if (strcmp(mount->option, look->left_out) == 0) {
        return false;
    }
    if (strcmp(mount->option, look->shown) == 0) {
        return true;
    }
    for (size_t i = 0; i < set->option.count; i++) {
        const OptionRow *option = &set->option.rows[i];
        if (strcmp(option->option, mount->option) == 0) {
            return option->chosen != 0;
        }
    }
    return true;
}

const char *panel_item_rating(const Panel *panel, Arena *arena, uint32_t item) {
    const Model *model = panel->model;
    const PanelItem *it = &panel->items[item];
    for (uint32_t i = 0; i < it->owner_count; i++) {
        const ModelOwner *owner = &model->owners[panel->owners[it->owner_first + i]];
        if (owner->kind != OWNER_PROTECTION) {
            continue;
        }
        double rating_a = model->set->protection.rows[owner->row].rating_a;
        for (size_t j = 0; j < model->set->device_list.count && isnan(rating_a); j++) {
            const DeviceListRow *row = &model->set->device_list.rows[j];
            if (strcmp(row->device, owner->tag) == 0) {
                rating_a = row->rating_a;
            }
        }
        if (!isnan(rating_a)) {
            return arena_format(arena, "%g", rating_a);
        }
    }
    return "";
}

/* --- list ---------------------------------------------------------------------------------------
 */

/* Hundredths of a mm, without a negative zero. */
static void put_mm(Buffer *out, double mm) {
    buffer_format(out, "\t%lld", isnan(mm) ? 0LL : llround(mm * 100.0));
}

static void put_words(Buffer *out, const char *text) {
    buffer_text(out, "\t");
    for (const char *at = text; *at != '\0'; at++) {
        char c = *at == '\t' || *at == '\n' || *at == '\r' ? ' ' : *at;
        buffer_add(out, &c, 1);
    }
}

static void put_contour(Buffer *out, const PanelContour *contour) {
    for (uint32_t i = 0; i < contour->count; i++) {
        put_mm(out, contour->pieces[i].from.u_mm);
        put_mm(out, contour->pieces[i].from.v_mm);
        put_mm(out, contour->pieces[i].arc ? contour->pieces[i].radius_mm : 0.0);
    }
}

static void put_item(Buffer *out, const Panel *panel, uint32_t item) {
    const PanelItem *it = &panel->items[item];
    const CutoutRow *cutout = panel_cutout(panel, item);
    buffer_format(out, "item\t%s", it->key);
    put_words(out, panel->faces[it->face].key);
    put_mm(out, it->at.u_mm);
    put_mm(out, it->at.v_mm);
    buffer_format(out, "\t%lld", llround(units_deg_from_rad(it->rotation_rad) * 100.0));
    put_words(out, cutout->cutout);
    put_words(out, cutout->kind);
    put_words(out, it->spare ? "spare" : panel_item_rating(panel, out->arena, item));
    put_contour(out, &it->bezel);
    put_mm(out, it->bezel_high_mm);
    for (uint32_t i = 0; i < it->front_count; i++) {
        const PanelFront *front = &panel->fronts[it->front_first + i];
        put_words(out, panel->model->set->cutout_front.rows[front->row].kind);
        put_contour(out, &front->contour);
        put_mm(out, front->high_mm);
    }
    for (uint32_t i = 0; i < it->hole_count; i++) { /* heads of screws */
        const PanelHole *hole = &panel->holes[it->hole_first + i];
        if (hole->head_mm > 0.0) {
            put_mm(out, hole->centre.u_mm);
            put_mm(out, hole->centre.v_mm);
            put_mm(out, hole->head_mm);
        }
    }
    buffer_text(out, "\n");
}

static void put_legend(Buffer *out, const Panel *panel, const PanelText *text) {
    const LegendRow *row = &panel->model->set->legend.rows[text->row];
    buffer_format(out, "legend\t%s", row->legend);
    put_words(out, panel->faces[text->face].key);
    put_mm(out, text->at.u_mm);
    put_mm(out, text->at.v_mm);
    buffer_format(out, "\t%lld", llround(units_deg_from_rad(text->rotation_rad) * 100.0));
    put_words(out, row->text);
    put_words(out, row->symbol);
    put_mm(out, text->letter_mm);
    put_mm(out, row->width_mm);
    put_mm(out, row->height_mm);
    buffer_text(out, "\n");
}

static void put_face(Buffer *out, const Panel *panel, uint32_t face) {
    const PanelFace *plate = &panel->faces[face];
    PanelLook look = panel_look(panel, face);
    buffer_format(out, "face\t%s", plate->key);
    buffer_format(out, "\t%06X\t%06X\t%lld", (unsigned)look.rgb, (unsigned)look.mark_rgb,
                  llround(look.gloss_pct));
    put_words(out, look.finish == NULL ? "" : look.finish->finish);
    put_words(out, look.finish == NULL ? "" : look.finish->texture);
    put_contour(out, &plate->outline);
    buffer_text(out, "\n");
    for (uint32_t i = 0; i < plate->hole_count; i++) {
        const PanelHole *hole = &panel->holes[plate->hole_first + i];
        if (hole->item == ID_NONE) {
            buffer_format(out, "opening\t%s.%d", plate->key, (int)hole->number);
            put_contour(out, &hole->contour);
            buffer_text(out, "\n");
        }
    }
}

static void put_bands(Buffer *out, const Panel *panel) {
    const TableSet *set = panel->model->set;
    for (size_t i = 0; i < set->panel_coat.count; i++) {
        const PanelCoatRow *coat = &set->panel_coat.rows[i];
        const FinishRow *finish = finish_of(set, coat->finish);
        if (*coat->item != '\0') {
            buffer_format(out, "band\t%s.%d", coat->face, (int)coat->step);
            put_words(out, coat->item);
            put_words(out, coat->finish);
            put_words(out, finish == NULL ? "" : finish->srgb);
            put_mm(out, coat->band_mm);
            buffer_text(out, "\n");
        }
    }
}

static const char *field_end(const char *at) {
    return at + strcspn(at, "\t\n");
}

/* By kind, then by name. */
static int compare_lines(const char *left, const char *right) {
    for (int field = 0; field < 2; field++) {
        size_t l = (size_t)(field_end(left) - left);
        size_t r = (size_t)(field_end(right) - right);
        int order = memcmp(left, right, l < r ? l : r);
        if (order != 0 || l != r) {
            return order != 0 ? order : l < r ? -1 : 1;
        }
        left += l + (left[l] == '\t');
        right += r + (right[r] == '\t');
    }
    return 0;
}

static int compare_line_places(const void *left, const void *right) {
    return compare_lines(*(const char *const *)left, *(const char *const *)right);
}

static const char **lines_of(Arena *arena, const char *text, size_t *count) {
    const char **lines = NULL;
    size_t capacity = 0;
    *count = 0;
    for (const char *at = text; *at != '\0';) {
        size_t length = strcspn(at, "\n");
        *ARENA_PUSH(arena, lines, *count, capacity) = arena_text(arena, at, length);
        at += length + (at[length] == '\n');
    }
    if (*count > 1) {
        qsort(lines, *count, sizeof *lines, compare_line_places);
    }
    return lines;
}

static void put_sorted(Buffer *out, const Buffer *all) {
    size_t count;
    const char **lines = lines_of(out->arena, all->bytes == NULL ? "" : all->bytes, &count);
    for (size_t i = 0; i < count; i++) {
        buffer_format(out, "%s\n", lines[i]);
    }
}

static void put_cut_hole(Buffer *out, const Panel *panel, uint32_t hole) {
    const PanelHole *it = &panel->holes[hole];
    PanelContour cut;
    if (panel_cut_hole(out->arena, panel, hole, &cut)) {
        put_contour(out, &cut);
        put_mm(out, it->sink_mm > 0.0 ? it->head_mm : 0.0);
    }
}

void panel_cut_list(Buffer *out, const Panel *panel) {
    Buffer all = {.arena = out->arena};
    PanelLook plain = {.left_out = "", .shown = ""};
    for (uint32_t i = 0; i < panel->item_count; i++) {
        const PanelItem *item = &panel->items[i];
        if (!panel_look_shows(panel, &plain, i)) {
            continue;
        }
        buffer_format(&all, "cut\t%s\t%s", item->key, panel->faces[item->face].key);
        for (uint32_t j = 0; j < item->hole_count; j++) {
            put_cut_hole(&all, panel, item->hole_first + j);
        }
        buffer_text(&all, "\n");
    }
    for (uint32_t i = 0; i < panel->face_count; i++) {
        const PanelFace *plate = &panel->faces[i];
        PanelContour edge;
        if (panel_cut_edge(out->arena, panel, i, &edge)) {
            buffer_format(&all, "cut\tedge of %s", plate->key);
            put_contour(&all, &edge);
            buffer_text(&all, "\n");
        }
        for (uint32_t j = 0; j < plate->hole_count; j++) {
            if (panel->holes[plate->hole_first + j].item == ID_NONE) {
                buffer_format(&all, "cut\topening %d of %s",
                              (int)panel->holes[plate->hole_first + j].number, plate->key);
                put_cut_hole(&all, panel, plate->hole_first + j);
                buffer_text(&all, "\n");
            }
        }
    }
    put_sorted(out, &all);
}

void panel_seen_write(Buffer *out, const Panel *panel) {
    Buffer all = {.arena = out->arena};
    for (uint32_t i = 0; i < panel->face_count; i++) {
        put_face(&all, panel, i);
    }
    PanelLook plain = {.left_out = "", .shown = ""};
    for (uint32_t i = 0; i < panel->item_count; i++) {
        if (panel_look_shows(panel, &plain, i)) {
            put_item(&all, panel, i);
        }
    }
    for (uint32_t i = 0; i < panel->text_count; i++) {
        put_legend(&all, panel, &panel->texts[i]);
    }
    put_bands(&all, panel);
    put_sorted(out, &all);
}

/* --- comparing ----------------------------------------------------------------------------------
 */

/* Field `index` of a line, "" past its end. */
static const char *field(Arena *arena, const char *line, int index) {
    for (int i = 0; i < index && *line != '\0'; i++) {
        line = field_end(line);
        line += *line == '\t';
    }
    return arena_text(arena, line, (size_t)(field_end(line) - line));
}

/* Of items and legends the place stands in fields 3 and 4 and the angle in 5. */
static const char *place_text(Arena *arena, const char *line) {
    return arena_format(arena, "u %.2f v %.2f mm", atof(field(arena, line, 3)) / 100.0,
                        atof(field(arena, line, 4)) / 100.0);
}

static bool is_placed(const char *line) {
    return strncmp(line, "item\t", 5) == 0 || strncmp(line, "legend\t", 7) == 0;
}

static bool same_field(Arena *arena, const char *left, const char *right, int index) {
    return strcmp(field(arena, left, index), field(arena, right, index)) == 0;
}

/* What the line says in words, for changes of what stays in its place. */
static const char *look_text(Arena *arena, const char *line) {
    if (strncmp(line, "item\t", 5) == 0) {
        const char *rating = field(arena, line, 8);
        return arena_format(arena, "%s%s%s", field(arena, line, 6), *rating == '\0' ? "" : ", ",
                            rating);
    }
    if (strncmp(line, "legend\t", 7) == 0) {
        return arena_format(arena, "\"%s\" %.2f mm", field(arena, line, 6),
                            atof(field(arena, line, 8)) / 100.0);
    }
    if (strncmp(line, "face\t", 5) == 0) {
        return arena_format(arena, "%s #%s, marks #%s", field(arena, line, 5),
                            field(arena, line, 2), field(arena, line, 3));
    }
    return "";
}

/* A line that moved carries its contours along, so only place and angle say that it moved. */
static const char *change_of(Arena *arena, const char *before, const char *after,
                             SeenChange *change) {
    bool moved = false;
    for (int i = 2; i <= 5 && is_placed(before); i++) {
        moved = moved || !same_field(arena, before, after, i);
    }
    if (strncmp(before, "cut\t", 4) == 0) {
        return "cut again";
    }
    change->before = moved ? place_text(arena, before) : look_text(arena, before);
    change->after = moved ? place_text(arena, after) : look_text(arena, after);
    return moved ? "moved" : "changed";
}

SeenChange *panel_seen_compare(Arena *arena, const char *before, const char *after, size_t *count) {
    size_t old_count;
    size_t new_count;
    const char **old_lines = lines_of(arena, before, &old_count);
    const char **new_lines = lines_of(arena, after, &new_count);
    SeenChange *changes = ARENA_ARRAY(arena, SeenChange, old_count + new_count + 1);
    *count = 0;
    size_t i = 0;
    size_t j = 0;
    while (i < old_count || j < new_count) {
        int order = i == old_count   ? 1
                    : j == new_count ? -1
                                     : compare_lines(old_lines[i], new_lines[j]);
        if (order == 0 && strcmp(old_lines[i], new_lines[j]) == 0) {
            i++;
            j++;
            continue;
        }
        const char *line = order <= 0 ? old_lines[i] : new_lines[j];
        SeenChange *change = &changes[(*count)++];
        *change = (SeenChange){field(arena, line, 0), field(arena, line, 1), "", "", ""};
        bool placed = is_placed(line);
        bool cut = strncmp(line, "cut\t", 4) == 0;
        if (order < 0) {
            change->what = cut ? "not cut" : "removed";
            change->before = placed ? place_text(arena, line) : "";
        } else if (order > 0) {
            change->what =
                placed && strcmp(change->kind, "item") == 0 ? "added, cut again" : "added";
            change->after = placed ? place_text(arena, line) : "";
        } else {
            change->what = change_of(arena, old_lines[i], new_lines[j], change);
        }
        i += order <= 0;
        j += order >= 0;
    }
    return changes;
}
