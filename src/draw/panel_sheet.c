/* Method: the picture has the whole width; below it stand columns of what it can't show. What a
 * column has no room for is counted, not shrunk; small papers do without the rear, so that nothing
 * has to be counted, and say where it is: on the page of what lies behind. The drilling template is
 * the cut file's contours drawn as lines; holes get numbers in the order of the hole table beside
 * them. */
#include "draw/panel_sheet.h"

#include <math.h>
#include <string.h>

#include "draw/panel_cut.h"

#define GAP_MM 5.0
#define STEP_MM 4.6        /* from line to line of the small size */
#define TIGHT_STEP_MM 3.9  /* the same on small papers */
#define SMALL_MM 180.0     /* fields less high than this are those of small papers */
#define PICTURE_LOW_MM 8.0 /* below the picture: its shadow */

/* --- columns ------------------------------------------------------------------------------------
 */

typedef struct Column {
    DrawList *list;
    DrawBox box;
    double y_mm; /* baseline of the next line */
    double step_mm;
    size_t hidden; /* lines there was no room for */
} Column;

static Column begin_column(DrawList *list, DrawBox box, double step_mm, const char *title) {
    DrawTextStyle style = {.height_mm = STYLE_VALUE_MM, .bold = true};
    draw_layer(list, LAYER_TAG);
    draw_text_fit(list, box.left_mm, box.top_mm + STYLE_VALUE_MM, style, title,
                  box.right_mm - box.left_mm);
    draw_layer(list, LAYER_RULE);
    double y_mm = box.top_mm + STYLE_VALUE_MM + 2.0;
    draw_line(list, box.left_mm, y_mm, box.right_mm, y_mm, STYLE_THIN_MM);
    draw_layer(list, LAYER_NOTE);
    return (Column){list, box, y_mm + step_mm, step_mm, 0};
}

/* Broken into lines where it is too long. A line is kept for what is hidden. */
static void put_text(Column *column, bool bold, const char *text) {
    const char **lines;
    size_t count = fonts_wrap(column->list->fonts, column->list->arena, text, STYLE_NOTE_MM, bold,
                              column->box.right_mm - column->box.left_mm, &lines);
    if (column->y_mm + (double)count * column->step_mm > column->box.bottom_mm) {
        column->hidden++;
        return;
    }
    DrawTextStyle style = {.height_mm = STYLE_NOTE_MM, .bold = bold};
    for (size_t i = 0; i < count; i++) {
        draw_text_fit(column->list, column->box.left_mm, column->y_mm, style, lines[i],
                      column->box.right_mm - column->box.left_mm);
        column->y_mm += column->step_mm;
    }
}

static void end_column(Column *column, const char *table) {
    if (column->hidden == 0) {
        return;
    }
    DrawTextStyle style = {.height_mm = STYLE_NOTE_MM};
    draw_text_fit(
        column->list, column->box.left_mm, column->y_mm, style,
        arena_format(column->list->arena, "and %zu more: table %s", column->hidden, table),
        column->box.right_mm - column->box.left_mm);
}

/* --- what stands in them ------------------------------------------------------------------------
 */

static const char *role_of(const Panel *panel, uint32_t item) {
    const TableSet *set = panel->model->set;
    const PanelItem *it = &panel->items[item];
    for (uint32_t i = 0; i < it->owner_count; i++) {
        const ModelOwner *owner = &panel->model->owners[panel->owners[it->owner_first + i]];
        if (owner->kind == OWNER_UNIT) {
            const UnitRow *unit = &set->unit.rows[owner->row];
            uint32_t part = model_row(panel->model, TABLE_part, unit->part);
            return *unit->role != '\0' ? unit->role
                   : part != ID_NONE   ? set->part.rows[part].name
                                       : "";
        }
    }
    return panel_cutout(panel, item)->name;
}

/* What there are many of. */
static const struct {
    const char *kind;
    const char *word;
    const char *words;
} MANY[] = {{"switch", "switch", "switches"},
            {"breaker", "breaker", "breakers"},
            {"lamp", "light", "lights"},
            {"jack", "jack or charge point", "jacks and charge points"},
            {"lever", "lever", "levers"}};
enum { MANY_COUNT = sizeof MANY / sizeof *MANY };

/* Index into MANY, MANY_COUNT. */
static size_t many_of(const Panel *panel, uint32_t item) {
    const char *kind = panel_cutout(panel, item)->kind;
    size_t i = 0;
    while (i < MANY_COUNT && strcmp(kind, MANY[i].kind) != 0) {
        i++;
    }
    return i;
}

/* Boxes one by one; what there are many of as a number. */
static void put_equipment(Column *column, const Panel *panel, uint32_t face) {
    Arena *arena = column->list->arena;
    size_t counts[MANY_COUNT] = {0};
    size_t spares = 0;
    const PanelFace *plate = &panel->faces[face];
    PanelLook look = panel_look(panel, face);
    for (uint32_t i = 0; i < plate->item_count; i++) {
        uint32_t item = plate->item_first + i;
        if (!panel_look_shows(panel, &look, item)) {
            continue;
        }
        size_t many = many_of(panel, item);
        if (many < MANY_COUNT) {
            counts[many] += panel->items[item].spare ? 0 : 1;
        }
        spares += panel->items[item].spare ? 1 : 0;
        if (many == MANY_COUNT) {
            put_text(column, false,
                     arena_format(arena, "%s  %s", panel->items[item].key, role_of(panel, item)));
        }
    }
    Buffer words = {.arena = arena};
    for (size_t j = 0; j < MANY_COUNT; j++) {
        if (counts[j] > 0) {
            buffer_format(&words, "%s%zu %s", words.length == 0 ? "" : ", ", counts[j],
                          counts[j] == 1 ? MANY[j].word : MANY[j].words);
        }
    }
    if (spares > 0) {
        buffer_format(&words, "%s%zu plugged %s", words.length == 0 ? "" : ", ", spares,
                      spares == 1 ? "spare" : "spares");
    }
    if (words.length > 0) {
        put_text(column, false, words.bytes);
    }
}

static void put_options(Column *column, const TableSet *set) {
    for (size_t i = 0; i < set->option.count; i++) {
        const OptionRow *option = &set->option.rows[i];
        const char *word = option->chosen == INT_BLANK ? "open" : option->chosen ? "taken" : "no";
        put_text(
            column, option->chosen == 1,
            arena_format(column->list->arena, "%s  %s: %s", option->option, word, option->name));
    }
}

static void put_gates(Column *column, const TableSet *set) {
    for (int32_t rank = 0; rank < 100; rank++) {
        for (size_t i = 0; i < set->gate.count; i++) {
            const GateRow *gate = &set->gate.rows[i];
            if (gate->rank != rank) {
                continue;
            }
            const char *passed = "not passed";
            for (size_t j = 0; j < set->passed.count; j++) {
                if (strcmp(set->passed.rows[j].gate, gate->gate) == 0) {
                    passed =
                        arena_format(column->list->arena, "passed %s", set->passed.rows[j].date);
                }
            }
            put_text(
                column, false,
                arena_format(column->list->arena, "%s  %s: %s", gate->gate, gate->step, passed));
        }
    }
}

static void put_coat(Column *column, const Panel *panel, uint32_t face) {
    PanelLook look = panel_look(panel, face);
    Arena *arena = column->list->arena;
    put_text(column, true, look.finish == NULL ? "bare sheet" : look.finish->name);
    put_text(column, false,
             arena_format(arena, "surface #%06X, marks #%06X", (unsigned)look.rgb,
                          (unsigned)look.mark_rgb));
    put_text(column, false,
             "Screens and papers show colours differently: sign on a coated sample.");
}

/* What the signature covers. */
static void put_hash(Column *column, const char *hash) {
    put_text(column, false,
             arena_format(column->list->arena, "Hash of all that is seen (SHA-256): %s", hash));
    put_text(column, false,
             "It changes with anything that is seen: see `marling compare`. This page covers no "
             "other hash. What lies behind: panel-behind.");
}

static void put_signature(DrawList *list, DrawBox box) {
    static const char *const WORDS[] = {"For the customer: name", "date", "signature"};
    DrawTextStyle style = {.height_mm = STYLE_NOTE_MM};
    double third = (box.right_mm - box.left_mm) / 3.0;
    draw_layer(list, LAYER_RULE);
    for (int i = 0; i < 3; i++) {
        double left = box.left_mm + i * third;
        draw_line(list, left, box.bottom_mm - 5.0, left + third - GAP_MM, box.bottom_mm - 5.0,
                  STYLE_THIN_MM);
        draw_layer(list, LAYER_NOTE);
        draw_text(list, left, box.bottom_mm - 1.0, style, WORDS[i]);
        draw_layer(list, LAYER_RULE);
    }
}

static SheetHead head_of(Arena *arena, const DrawView *view, const char *name, const char *title,
                         const char *number) {
    const TableSet *set = view->set;
    static const JobRow NOBODY = {
        .job = "", .title = "", .customer = "", .revision = "", .date = ""};
    const JobRow *job = set->job.count == 0 ? &NOBODY : &set->job.rows[0];
    return (SheetHead){.name = name,
                       .title = title,
                       .job = arena_format(arena, "%s", job->job),
                       .job_title = job->title,
                       .revision = job->revision,
                       .hash = view->hash,
                       .date = job->date,
                       .scale = "picture",
                       .units = "mm",
                       .version = view->version,
                       .number = number,
                       .of = *number == '\0' ? 0 : 2};
}

void panel_sheet_draw(Arena *arena, DrawFonts *fonts, const DrawView *view, const Panel *panel,
                      uint32_t face, const char *seen_hash, const char *number, DrawList *list,
                      PanelSheet *sheet) {
    const TableSet *set = view->set;
    const PanelFaceRow *row = &set->panel_face.rows[panel->faces[face].row];
    draw_start(list, arena, fonts, paper_width_mm(view->paper), paper_height_mm(view->paper));
    SheetHead head = head_of(arena, view, "panel-approval",
                             arena_format(arena, "Panel for signature: %s", row->name), number);
    DrawBox field = sheet_frame(list, &head);
    field = (DrawBox){field.left_mm + GAP_MM, field.top_mm + GAP_MM, field.right_mm - GAP_MM,
                      field.bottom_mm - GAP_MM};
    double w = field.right_mm - field.left_mm;
    double h = field.bottom_mm - field.top_mm;
    PanelBox box = panel->faces[face].outline.box;
    double shape = (box.v1_mm - box.v0_mm) / (box.u1_mm - box.u0_mm);
    bool small = h < SMALL_MM;
    double step_mm = small ? TIGHT_STEP_MM : STEP_MM;
    double inner = 0.93 * w; /* room for its shadow */
    double picture_h = fmin(inner * shape, (small ? 0.39 : 0.52) * h);
    double picture_w = picture_h / shape;
    double top = field.top_mm + 3.0;
    double middle = (field.left_mm + field.right_mm) / 2.0;
    sheet->front =
        (DrawBox){middle - picture_w / 2.0, top, middle + picture_w / 2.0, top + picture_h};
    double low = field.bottom_mm - (small ? 10.0 : 14.0); /* of the columns */
    double high = top + picture_h + PICTURE_LOW_MM;
    /* On small papers three columns, coat and gates in the last; else four, the rear below two. */
    double third = (w - 2.0 * GAP_MM) / 3.0;
    double quarter = (w - 3.0 * GAP_MM) / 4.0;
    double wide = small ? third : quarter;
    DrawBox columns[4] = {{0}};
    for (int i = 0; i < 4; i++) {
        double left = field.left_mm + (small && i == 3 ? 2 : i) * (wide + GAP_MM);
        columns[i] = (DrawBox){left, high, left + wide, low};
    }
    sheet->has_rear = !small;
    if (!small) {
        double pair = 2.0 * wide + GAP_MM;
        double rear_h = fmin((pair - 12.0) * shape, 0.42 * (low - high));
        sheet->rear = (DrawBox){columns[2].left_mm + 6.0, low - rear_h - 3.0,
                                columns[3].right_mm - 6.0, low - 3.0};
        columns[2].bottom_mm = low - rear_h - 5.0;
        columns[3].bottom_mm = low - rear_h - 5.0;
    }
    /* What is said of the hash: two lines over all of a small paper, four over half of a large. */
    DrawBox words = {field.left_mm, low - (small ? 2.2 : 4.2) * step_mm,
                     small ? field.right_mm : columns[1].right_mm, low};
    columns[0].bottom_mm = words.top_mm;
    columns[1].bottom_mm = words.top_mm;
    columns[2].bottom_mm = fmin(columns[2].bottom_mm, small ? words.top_mm : low);
    columns[3].bottom_mm = fmin(columns[3].bottom_mm, small ? words.top_mm : low);
    Column equipment = begin_column(list, columns[0], step_mm, "Equipment");
    put_equipment(&equipment, panel, face);
    end_column(&equipment, "mount");
    Column options = begin_column(list, columns[1], step_mm, "Options");
    put_options(&options, set);
    end_column(&options, "option");
    Column coat = begin_column(list, columns[2], step_mm, "Coat");
    put_coat(&coat, panel, face);
    end_column(&coat, "finish");
    Column hash = {.list = list, .box = words, .y_mm = words.top_mm + step_mm, .step_mm = step_mm};
    hash.box.bottom_mm += step_mm; /* its last line may stand on the bottom */
    put_hash(&hash, seen_hash);
    if (small) {
        columns[3].top_mm = coat.y_mm;
    }
    Column gates = begin_column(list, columns[3], step_mm, "Gates");
    put_gates(&gates, set);
    end_column(&gates, "gate");
    put_signature(list, field);
}

/* --- what lies behind ---------------------------------------------------------------------------
 */

#define SECTION_SHAPE 0.8 /* height to width of their rooms, at most */

/* How deep an item is, and the least that is free where it stands. */
typedef struct Deep {
    uint32_t item;
    uint32_t behind; /* row; ID_NONE: what is there is not stated */
    double needed_mm;
    double free_mm; /* INFINITY then */
    size_t count;   /* items that this line stands for: the tightest of them is told */
} Deep;

static Deep deep_of(const Panel *panel, uint32_t item) {
    uint32_t behind = panel_behind(panel, item);
    return (Deep){.item = item,
                  .behind = behind,
                  .needed_mm = panel->items[item].depth_mm,
                  .free_mm = behind == ID_NONE ? (double)INFINITY
                                               : panel->model->set->behind.rows[behind].depth_mm,
                  .count = 1};
}

static double spare_mm(const Deep *deep) {
    return deep->free_mm - deep->needed_mm;
}

/* The tightest first; of what there are many of, one line. Returns how many lines. */
static size_t list_deep(const Panel *panel, uint32_t face, Deep *lines) {
    const PanelFace *plate = &panel->faces[face];
    PanelLook look = panel_look(panel, face);
    size_t count = 0;
    size_t of_many[MANY_COUNT];
    memset(of_many, 0xFF, sizeof of_many);
    for (uint32_t i = 0; i < plate->item_count; i++) {
        uint32_t item = plate->item_first + i;
        if (panel->items[item].spare || !(panel->items[item].depth_mm > 0.0) ||
            !panel_look_shows(panel, &look, item)) {
            continue;
        }
        Deep deep = deep_of(panel, item);
        size_t many = many_of(panel, item);
        if (many < MANY_COUNT && of_many[many] != SIZE_MAX) {
            Deep *line = &lines[of_many[many]];
            deep.count += line->count;
            if (spare_mm(&deep) < spare_mm(line)) {
                *line = deep;
            }
            line->count = deep.count;
            continue;
        }
        if (many < MANY_COUNT) {
            of_many[many] = count;
        }
        lines[count++] = deep;
    }
    for (size_t i = 1; i < count; i++) { /* a few dozen at most */
        Deep line = lines[i];
        size_t at = i;
        for (; at > 0 && spare_mm(&lines[at - 1]) > spare_mm(&line); at--) {
            lines[at] = lines[at - 1];
        }
        lines[at] = line;
    }
    return count;
}

static void put_deep(Column *column, const Panel *panel, uint32_t face) {
    Arena *arena = column->list->arena;
    const TableSet *set = panel->model->set;
    Deep *lines = ARENA_ARRAY(arena, Deep, (size_t)panel->faces[face].item_count + 1);
    size_t count = list_deep(panel, face, lines);
    for (size_t i = 0; i < count; i++) {
        const Deep *deep = &lines[i];
        size_t many = many_of(panel, deep->item);
        const char *what =
            deep->count > 1 ? arena_format(arena, "%zu %s, at most", deep->count, MANY[many].words)
                            : panel->items[deep->item].key;
        put_text(column, deep->free_mm < deep->needed_mm,
                 deep->behind == ID_NONE
                     ? arena_format(arena, "%s  %.0f mm; what is free is not stated", what,
                                    deep->needed_mm)
                     : arena_format(arena, "%s  %.0f of %.0f mm: %s%s", what, deep->needed_mm,
                                    deep->free_mm, set->behind.rows[deep->behind].what,
                                    deep->free_mm < deep->needed_mm ? ", TOO DEEP" : ""));
    }
}

void panel_behind_draw(Arena *arena, DrawFonts *fonts, const DrawView *view, const Panel *panel,
                       uint32_t face, const char *seen_hash, const char *number,
                       const char *const captions[PANEL_BEHIND_SECTIONS], DrawList *list,
                       PanelBehindSheet *sheet) {
    const PanelFaceRow *row = &view->set->panel_face.rows[panel->faces[face].row];
    draw_start(list, arena, fonts, paper_width_mm(view->paper), paper_height_mm(view->paper));
    SheetHead head = head_of(arena, view, "panel-behind",
                             arena_format(arena, "What lies behind: %s", row->name), number);
    DrawBox field = sheet_frame(list, &head);
    field = (DrawBox){field.left_mm + GAP_MM, field.top_mm + GAP_MM, field.right_mm - GAP_MM,
                      field.bottom_mm - GAP_MM};
    double w = field.right_mm - field.left_mm;
    double h = field.bottom_mm - field.top_mm;
    double step_mm = h < SMALL_MM ? TIGHT_STEP_MM : STEP_MM;
    PanelBox box = panel->faces[face].outline.box;
    double shape = (box.v1_mm - box.v0_mm) / (box.u1_mm - box.u0_mm);
    double picture_h = fmin(0.93 * w * shape, 0.46 * h);
    double picture_w = picture_h / shape;
    double middle = (field.left_mm + field.right_mm) / 2.0;
    double top = field.top_mm + 3.0;
    sheet->rear =
        (DrawBox){middle - picture_w / 2.0, top, middle + picture_w / 2.0, top + picture_h};
    double high = top + picture_h + PICTURE_LOW_MM;
    /* Below it the sections, three abreast, and at the right the depths. */
    double left_w = (h < SMALL_MM ? 0.66 : 0.74) * w;
    double each = (left_w - (PANEL_BEHIND_SECTIONS - 1) * GAP_MM) / PANEL_BEHIND_SECTIONS;
    DrawTextStyle style = {.height_mm = STYLE_NOTE_MM, .bold = true};
    double notes_mm = 3.0 * step_mm;
    draw_layer(list, LAYER_NOTE);
    for (int i = 0; i < PANEL_BEHIND_SECTIONS; i++) {
        double left = field.left_mm + i * (each + GAP_MM);
        draw_text_fit(list, left, high + STYLE_NOTE_MM, style, captions[i], each);
        double picture_top = high + STYLE_NOTE_MM + 2.0;
        sheet->sections[i] =
            (DrawBox){left, picture_top, left + each,
                      fmin(field.bottom_mm - notes_mm - 2.0, picture_top + SECTION_SHAPE * each)};
    }
    Column deep = begin_column(
        list, (DrawBox){field.left_mm + left_w + GAP_MM, high, field.right_mm, field.bottom_mm},
        step_mm, "Depth behind: needed of free");
    put_deep(&deep, panel, face);
    end_column(&deep, "depth");
    Column notes = {.list = list,
                    .box = {field.left_mm, field.bottom_mm - notes_mm, field.left_mm + left_w,
                            field.bottom_mm + step_mm},
                    .y_mm = field.bottom_mm - notes_mm + step_mm,
                    .step_mm = step_mm};
    draw_layer(list, LAYER_NOTE);
    put_text(&notes, false,
             arena_format(arena,
                          "Goes with the page for signature of hash %.8s, which covers what is "
                          "seen from the front, not what lies behind. Bodies are the boxes their "
                          "depth is checked with, connectors and tools light; cables show which "
                          "box has wires, not their ways.",
                          seen_hash));
}

/* --- drilling template --------------------------------------------------------------------------
 */

#define DRILL_MARGIN_MM 15.0
#define DRILL_CHORD_MM 0.005
#define CROSS_MM 2.5
#define TABLE_STEP_MM 5.0
#define TABLE_COLUMN_MM 92.0

static void put_contour(DrawList *list, const Contour *contour, double left_mm, double top_mm,
                        double weight_mm) {
    double x;
    double y;
    double r;
    if (contour_is_circle(contour, &x, &y, &r)) {
        draw_circle(list, left_mm + x, top_mm - y, r, weight_mm);
        return;
    }
    Contour straight = contour_straightened(list->arena, contour, DRILL_CHORD_MM);
    DrawPoint *points = ARENA_ARRAY(list->arena, DrawPoint, straight.count);
    for (size_t i = 0; i < straight.count; i++) {
        points[i] =
            (DrawPoint){left_mm + straight.points[i].x_mm, top_mm - straight.points[i].y_mm};
    }
    draw_path(list, points, straight.count, true, weight_mm);
}

static size_t lines_of(Arena *arena, const char *text, const char ***lines) {
    size_t count = 0;
    size_t capacity = 0;
    *lines = NULL;
    while (*text != '\0') {
        size_t length = strcspn(text, "\n");
        *ARENA_PUSH(arena, *lines, count, capacity) = arena_text(arena, text, length);
        text += length + (text[length] == '\n');
    }
    return count;
}

static const char *size_text(Arena *arena, const ContourBox *box, bool round) {
    double w = box->right_mm - box->left_mm;
    return round ? arena_format(arena, "dia %.2f", w)
                 : arena_format(arena, "%.2f x %.2f", w, box->top_mm - box->bottom_mm);
}

void panel_drill_draw(Arena *arena, DrawFonts *fonts, const DrawView *view, const Panel *panel,
                      uint32_t face, DrawList *list) {
    CutFile file = {.arena = arena};
    size_t left_out;
    cut_face(&file, fonts, panel, face, view->hash, false, &left_out);
    ContourBox all = cut_box(&file);
    size_t holes = 0;
    for (size_t i = 0; i < file.count; i++) {
        holes += file.items[i].layer == CUT_LAYER_CUT && !file.items[i].outline ? 1 : 0;
    }
    double w = fmax(all.right_mm - all.left_mm, 3.0 * TABLE_COLUMN_MM);
    size_t columns = (size_t)fmax(1.0, floor(w / TABLE_COLUMN_MM));
    size_t rows = (holes + columns - 1) / columns;
    const char **notes;
    size_t note_count = lines_of(arena, cut_notes(arena, panel, face, view->hash), &notes);
    double text_h = fmax(CUT_PROOF_MM, 7.0 * (double)note_count);
    double table_h = TABLE_STEP_MM * (double)(rows + 2);
    double height_mm =
        3.0 * DRILL_MARGIN_MM + (all.top_mm - all.bottom_mm) + text_h + table_h + DRILL_MARGIN_MM;
    draw_start(list, arena, fonts, w + 2.0 * DRILL_MARGIN_MM, height_mm);
    double left = DRILL_MARGIN_MM - all.left_mm;
    double top = DRILL_MARGIN_MM + all.top_mm;
    DrawTextStyle small = {.height_mm = STYLE_NOTE_MM};
    double table_top = DRILL_MARGIN_MM + (all.top_mm - all.bottom_mm) + DRILL_MARGIN_MM;
    draw_text(list, DRILL_MARGIN_MM, table_top,
              (DrawTextStyle){.height_mm = STYLE_VALUE_MM, .bold = true},
              "Holes: number, what, size in the cut file, middle u v");
    size_t number = 0;
    for (size_t i = 0; i < file.count; i++) {
        const CutEntity *entity = &file.items[i];
        if (entity->layer != CUT_LAYER_CUT && entity->layer != CUT_LAYER_CSK_FRONT) {
            continue;
        }
        bool cut = entity->layer == CUT_LAYER_CUT;
        draw_layer(list, LAYER_BOX);
        draw_row(list, TABLE_mount, entity->key);
        draw_dash(list, cut ? DASH_NONE : DASH_HIDDEN);
        put_contour(list, &entity->contour, left, top,
                    entity->outline ? STYLE_MEDIUM_MM : STYLE_THIN_MM);
        draw_dash(list, DASH_NONE);
        if (!cut || entity->outline) {
            continue;
        }
        ContourBox box = contour_box(&entity->contour);
        double u = (box.left_mm + box.right_mm) / 2.0;
        double v = (box.bottom_mm + box.top_mm) / 2.0;
        double x;
        double y;
        double r;
        bool round = contour_is_circle(&entity->contour, &x, &y, &r);
        draw_layer(list, LAYER_RULE);
        draw_line(list, left + u - CROSS_MM, top - v, left + u + CROSS_MM, top - v, STYLE_THIN_MM);
        draw_line(list, left + u, top - v - CROSS_MM, left + u, top - v + CROSS_MM, STYLE_THIN_MM);
        draw_layer(list, LAYER_NOTE);
        const char *name = arena_format(arena, "%zu", ++number);
        double off_mm = round ? fmin(r, 5.0) * 0.7 + 1.4 : 0.8; /* clear of a head's circle */
        draw_text(list, left + u + off_mm, top - v - off_mm, small, name);
        size_t column = (number - 1) / (rows == 0 ? 1 : rows);
        double at_y =
            table_top + TABLE_STEP_MM * (double)((number - 1) % (rows == 0 ? 1 : rows) + 1);
        draw_text_fit(list, DRILL_MARGIN_MM + (double)column * TABLE_COLUMN_MM, at_y, small,
                      arena_format(arena, "%s  %s  %s  u %.2f v %.2f", name, entity->key,
                                   size_text(arena, &box, round), u, v),
                      TABLE_COLUMN_MM - 3.0);
    }
    draw_row(list, TABLE_COUNT, "");
    double low = table_top + table_h;
    draw_layer(list, LAYER_RULE);
    draw_rectangle(
        list, (DrawBox){DRILL_MARGIN_MM, low, DRILL_MARGIN_MM + CUT_PROOF_MM, low + CUT_PROOF_MM},
        STYLE_THIN_MM);
    for (int i = 1; i < 10; i++) {
        double at = DRILL_MARGIN_MM + 10.0 * i;
        draw_line(list, at, low, at, low + (i == 5 ? 5.0 : 3.0), STYLE_THIN_MM);
        draw_line(list, DRILL_MARGIN_MM, low + 10.0 * i, DRILL_MARGIN_MM + (i == 5 ? 5.0 : 3.0),
                  low + 10.0 * i, STYLE_THIN_MM);
    }
    draw_layer(list, LAYER_NOTE);
    draw_text(list, DRILL_MARGIN_MM + 10.0, low + 45.0, small, "Proof: both sides must measure");
    draw_text(list, DRILL_MARGIN_MM + 10.0, low + 52.0,
              (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true}, "100.0 mm");
    draw_text(list, DRILL_MARGIN_MM + 10.0, low + 58.0, small,
              "on paper; else print again at 100 %");
    for (size_t i = 0; i < note_count; i++) {
        draw_text(list, DRILL_MARGIN_MM + 115.0, low + 5.0 + 7.0 * (double)i,
                  (DrawTextStyle){.height_mm = STYLE_VALUE_MM}, notes[i]);
    }
    draw_text_fit(list, DRILL_MARGIN_MM, height_mm - 5.0, small, sheet_caution(), w);
}
