#include "app/panel_files.h"

#include <math.h>
#include <string.h>

#include "app/panel_option.h"
#include "base/check.h"
#include "base/file.h"
#include "draw/panel_cut.h"
#include "draw/panel_look.h"
#include "draw/panel_sheet.h"
#include "out/cut_dxf.h"
#include "out/portrait.h"
#include "out/tiles.h"
#include "out/write.h"
#include "store/revision.h"

static const struct {
    const char *name;
    const char *endings;
    const char *what;
} FILES[] = {
#define PANEL_FILE_ROW(name, endings, what) {name, endings, what},
    PANEL_FILES(PANEL_FILE_ROW)
#undef PANEL_FILE_ROW
};

#define FILE_COUNT (sizeof FILES / sizeof *FILES)

/* What one file is made from. */
typedef struct FileJob {
    Arena *arena;
    const DrawView *view;
    Panel panel;
    DrawFonts *fonts;
    uint32_t face;
    const char *tail; /* of the name: a face, an option, a sheet; "" */
    const char *path;
    const char *problem;
    Status status;
} FileJob;

/* --- names --------------------------------------------------------------------------------------
 */

/* Index of the file a name begins with, FILE_COUNT; *tail is what follows the hyphen. */
static size_t find_file(const char *name, const char **tail) {
    for (size_t i = 0; i < FILE_COUNT; i++) {
        size_t length = strlen(FILES[i].name);
        if (strncmp(name, FILES[i].name, length) == 0 &&
            (name[length] == '\0' || name[length] == '-')) {
            *tail = name[length] == '\0' ? "" : name + length + 1;
            return i;
        }
    }
    return FILE_COUNT;
}

bool panel_file_is(const char *name) {
    const char *tail;
    return find_file(name, &tail) != FILE_COUNT;
}

static const char *ending_of(const char *path) {
    const char *dot = strrchr(path, '.');
    return dot == NULL || strchr(dot, '/') != NULL ? "" : dot;
}

static bool find_face(FileJob *job) {
    job->face = 0;
    if (*job->tail == '\0') {
        return true;
    }
    const char **names = ARENA_ARRAY(job->arena, const char *, job->panel.face_count);
    for (uint32_t i = 0; i < job->panel.face_count; i++) {
        names[i] = job->panel.faces[i].key;
        if (strcmp(names[i], job->tail) == 0) {
            job->face = i;
            return true;
        }
    }
    const char *nearest = text_nearest(job->tail, names, job->panel.face_count);
    job->problem =
        arena_format(job->arena, "no face of the panel is called %s%s%s", job->tail,
                     nearest == NULL ? "" : "; did you mean ", nearest == NULL ? "" : nearest);
    return false;
}

/* --- cut files ----------------------------------------------------------------------------------
 */

static void write_dxf(FileJob *job, const CutFile *file, const char *notes) {
    Buffer out = {.arena = job->arena};
    cut_dxf_write(&out, file, notes);
    job->status = file_write(job->path, out.bytes, out.length);
}

static void write_cut(FileJob *job) {
    CutFile file = {.arena = job->arena};
    size_t left_out;
    cut_face(&file, job->fonts, &job->panel, job->face, job->view->hash, true, &left_out);
    if (left_out > 0) {
        job->problem = arena_format(job->arena,
                                    "%zu contours are smaller than kerf and coating ask; nothing "
                                    "written",
                                    left_out);
        return;
    }
    write_dxf(job, &file, cut_notes(job->arena, &job->panel, job->face, job->view->hash));
}

static void write_nest(FileJob *job) {
    const TableSet *set = job->view->set;
    uint32_t sheet = job->panel.faces[0].sheet;
    if (*job->tail != '\0') {
        sheet = model_row(job->view->model, TABLE_sheet, job->tail);
    }
    if (sheet == ID_NONE) {
        job->problem = arena_format(job->arena, "no stock sheet is called %s", job->tail);
        return;
    }
    CutFile file = {.arena = job->arena};
    NestPlan plan;
    cut_nested(&file, job->fonts, &job->panel, sheet, job->view->hash, &plan);
    if (plan.sheet_count == 0) {
        job->problem = arena_format(
            job->arena, "no face is cut from %s, it states no size, or nothing fits on it",
            set->sheet.rows[sheet].sheet);
        return;
    }
    write_dxf(job, &file,
              arena_format(job->arena,
                           "UNITS: mm. VIEW: FROM THE FRONT\n%zu sheets, never fewer than %zu, "
                           "%.0f %% used\n",
                           plan.sheet_count, plan.least_sheets, 100.0 * plan.used_share));
}

/* --- pictures -----------------------------------------------------------------------------------
 */

static const char *job_title(const FileJob *job) {
    const TableSet *set = job->view->set;
    const char *title = set->job.count == 0 ? "" : set->job.rows[0].title;
    return arena_text(job->arena, title, strcspn(title, ":;,("));
}

static const char *foot_text(FileJob *job) {
    return arena_format(job->arena,
                        "Screens, figures and handles are illustrations and show no maker's "
                        "product; colours differ between screens, paper and coat: sign on a "
                        "coated sample. %s",
                        sheet_caution());
}

static PortraitShot shot_of(const FileJob *job, PanelLook look, PortraitView view) {
    return (PortraitShot){.look = look,
                          .face = job->face,
                          .view = view,
                          .section_u_mm = 0.0,
                          .caption = "",
                          .detail = ""};
}

static PortraitPage page_of(FileJob *job, const PortraitShot *shots, size_t count,
                            const char *what) {
    char hex[REVISION_HEX];
    panel_seen_hash(job->arena, &job->panel, hex, NULL);
    const PanelFaceRow *row = &job->view->set->panel_face.rows[job->panel.faces[job->face].row];
    return (PortraitPage){
        .panel = &job->panel,
        .shots = shots,
        .count = count,
        .title = arena_format(job->arena, "%s: %s, %s", job_title(job), row->name, what),
        .right = arena_format(job->arena, "revision %.8s, seen %.8s", job->view->hash, hex),
        .foot = foot_text(job),
    };
}

static void write_page(FileJob *job, const PortraitPage *page) {
    job->status = portrait_write(page, job->fonts, job->path, PORTRAIT_PIXELS);
}

static void write_view(FileJob *job, PortraitView view, const char *what) {
    PortraitShot shot = shot_of(job, panel_look(&job->panel, job->face), view);
    PortraitPage page = page_of(job, &shot, 1, what);
    page.strip = view == PORTRAIT_FRONT;
    write_page(job, &page);
}

#define SECTIONS_MAX 6
#define SECTIONS_IN_ROW 3

/* How much an item wants to be shown: the deepest most, or (`tight`) that with least to spare. */
static double wants_section(const Panel *panel, uint32_t item, bool tight) {
    uint32_t behind = panel_behind(panel, item);
    double depth_mm = panel->items[item].depth_mm;
    return !tight              ? depth_mm
           : behind == ID_NONE ? (double)-INFINITY
                               : depth_mm - panel->model->set->behind.rows[behind].depth_mm;
}

/* The item that wants it most of those that no section passes through yet; ID_NONE. */
static uint32_t next_to_cut(const FileJob *job, const double *cut_u_mm, size_t cuts, bool tight) {
    const Panel *panel = &job->panel;
    const PanelFace *plate = &panel->faces[job->face];
    PanelLook look = panel_look(panel, job->face);
    uint32_t best = ID_NONE;
    for (uint32_t i = 0; i < plate->item_count; i++) {
        uint32_t item = plate->item_first + i;
        const PanelItem *it = &panel->items[item];
        bool passed = !panel_look_shows(panel, &look, item);
        for (size_t j = 0; j < cuts; j++) {
            passed = passed || (it->bezel.box.u0_mm <= cut_u_mm[j] + 40.0 &&
                                cut_u_mm[j] - 40.0 <= it->bezel.box.u1_mm);
        }
        if (!passed && (best == ID_NONE ||
                        wants_section(panel, item, tight) > wants_section(panel, best, tight))) {
            best = item;
        }
    }
    return best;
}

/* Sections where boxes are deepest or tightest, from left to right; returns how many. */
static size_t choose_sections(const FileJob *job, size_t most, bool tight, PortraitShot *shots) {
    double cut_u_mm[SECTIONS_MAX] = {0};
    size_t cuts = 0;
    while (cuts < most) {
        uint32_t item = next_to_cut(job, cut_u_mm, cuts, tight);
        if (item == ID_NONE) {
            break;
        }
        double u_mm = job->panel.items[item].at.u_mm;
        size_t at = cuts++;
        for (; at > 0 && cut_u_mm[at - 1] > u_mm; at--) {
            cut_u_mm[at] = cut_u_mm[at - 1];
        }
        cut_u_mm[at] = u_mm;
    }
    for (size_t i = 0; i < cuts; i++) {
        shots[i] = shot_of(job, panel_look(&job->panel, job->face), PORTRAIT_SIDE);
        shots[i].section_u_mm = cut_u_mm[i];
        shots[i].caption = arena_format(job->arena, "u = %.0f mm", cut_u_mm[i]);
        shots[i].detail = "nose left; brown: in the way; mm deep of mm free";
    }
    return cuts;
}

/* In two rows where there are many, so that they fill a screen. */
static void write_sections(FileJob *job) {
    PortraitShot shots[SECTIONS_MAX];
    size_t cuts = choose_sections(job, SECTIONS_MAX, false, shots);
    PortraitPage page = page_of(job, shots, cuts, "sections from the left");
    page.columns = cuts <= SECTIONS_IN_ROW ? cuts : (cuts + 1) / 2;
    write_page(job, &page);
}

#define FINISHES_MAX 3

static bool is_coat(const FinishRow *finish) {
    return *finish->srgb != '\0' &&
           (strcmp(finish->process, "powder") == 0 || strcmp(finish->process, "anodise") == 0);
}

static void write_finishes(FileJob *job) {
    const TableSet *set = job->view->set;
    PanelLook usual = panel_look(&job->panel, job->face);
    PortraitShot shots[FINISHES_MAX] = {shot_of(job, usual, PORTRAIT_FRONT)};
    size_t count = 1;
    for (size_t i = 0; i < set->finish.count && count < FINISHES_MAX; i++) {
        const FinishRow *finish = &set->finish.rows[i];
        if (finish != usual.finish && is_coat(finish)) {
            shots[count++] =
                shot_of(job, panel_look_with(&job->panel, job->face, finish), PORTRAIT_FRONT);
        }
    }
    for (size_t i = 0; i < count; i++) {
        const FinishRow *finish = shots[i].look.finish;
        shots[i].caption = arena_format(job->arena, "%c  %s", (char)('A' + i),
                                        finish == NULL ? "bare sheet" : finish->name);
        shots[i].detail = i == 0 ? "as the job stands" : "another coat of the library";
    }
    PortraitPage page = page_of(job, shots, count, "coats compared");
    write_page(job, &page);
}

static void write_option(FileJob *job) {
    const TableSet *set = job->view->set;
    const OptionRow *option = NULL;
    const char **names = ARENA_ARRAY(job->arena, const char *, set->option.count + 1);
    for (size_t i = 0; i < set->option.count; i++) {
        names[i] = set->option.rows[i].option;
        if (strcmp(names[i], job->tail) == 0) {
            option = &set->option.rows[i];
        }
    }
    if (option == NULL) {
        const char *nearest = text_nearest(job->tail, names, set->option.count);
        job->problem =
            arena_format(job->arena, "panel-option wants an option of the job, as panel-option-%s",
                         nearest != NULL         ? nearest
                         : set->option.count > 0 ? names[0]
                                                 : "KEY");
        return;
    }
    Panel with;
    if (panel_with_option(job->arena, &job->panel, (uint32_t)(option - set->option.rows), true,
                          &with)) {
        job->panel = with;
    }
    size_t items = 0;
    job->face = 0;
    for (uint32_t i = 0; i < job->panel.item_count; i++) {
        if (strcmp(panel_mount(&job->panel, i)->option, option->option) == 0) {
            job->face = items == 0 ? job->panel.items[i].face : job->face;
            items++;
        }
    }
    PortraitShot shots[2];
    shots[0] = shot_of(job, panel_look(&job->panel, job->face), PORTRAIT_FRONT);
    shots[1] = shots[0];
    shots[0].look.left_out = option->option;
    shots[0].caption = arena_format(job->arena, "without %s", option->option);
    shots[0].detail = items == 0 ? "nothing on this panel belongs to it" : "its places stay uncut";
    shots[1].look.shown = option->option;
    shots[1].caption = arena_format(job->arena, "with %s: %s", option->option, option->name);
    shots[1].detail = panel_option_cost(job->arena, job->view->model, option->option);
    PortraitPage page = page_of(job, shots, 2, "option");
    write_page(job, &page);
}

/* --- sheets -------------------------------------------------------------------------------------
 */

/* A page with its pictures. */
typedef struct Pictured {
    DrawList list;
    PortraitPlaced pictures[1 + PANEL_BEHIND_SECTIONS];
    size_t count;
} Pictured;

static PortraitSheet sheet_of(const Pictured *page) {
    return (PortraitSheet){&page->list, page->pictures, page->count};
}

static void make_approval(FileJob *job, const char *hex, const char *number, Pictured *page) {
    PanelSheet sheet;
    panel_sheet_draw(job->arena, job->fonts, job->view, &job->panel, job->face, hex, number,
                     &page->list, &sheet);
    PanelLook look = panel_look(&job->panel, job->face);
    page->pictures[0] = (PortraitPlaced){shot_of(job, look, PORTRAIT_FRONT), sheet.front};
    page->pictures[1] = (PortraitPlaced){shot_of(job, look, PORTRAIT_REAR), sheet.rear};
    page->count = sheet.has_rear ? 2 : 1;
}

static void make_behind(FileJob *job, const char *hex, const char *number, Pictured *page) {
    PanelBehindSheet sheet;
    PortraitShot shots[PANEL_BEHIND_SECTIONS];
    const char *captions[PANEL_BEHIND_SECTIONS] = {"", "", ""};
    size_t cuts = choose_sections(job, PANEL_BEHIND_SECTIONS, true, shots);
    for (size_t i = 0; i < cuts; i++) {
        captions[i] =
            arena_format(job->arena, "cut at u = %.0f mm, nose left", shots[i].section_u_mm);
    }
    panel_behind_draw(job->arena, job->fonts, job->view, &job->panel, job->face, hex, number,
                      captions, &page->list, &sheet);
    PanelLook look = panel_look(&job->panel, job->face);
    page->pictures[page->count++] = (PortraitPlaced){shot_of(job, look, PORTRAIT_REAR), sheet.rear};
    for (size_t i = 0; i < cuts; i++) {
        page->pictures[page->count++] = (PortraitPlaced){shots[i], sheet.sections[i]};
    }
}

/* What is signed, with the page of what lies behind where a file has pages. */
static void write_approval(FileJob *job) {
    char hex[REVISION_HEX];
    panel_seen_hash(job->arena, &job->panel, hex, NULL);
    bool pages = strcmp(ending_of(job->path), ".pdf") == 0;
    Pictured *made = ARENA_ARRAY(job->arena, Pictured, 2);
    make_approval(job, hex, pages ? "1" : "", &made[0]);
    PortraitSheet sheets[2] = {sheet_of(&made[0])};
    if (pages) {
        make_behind(job, hex, "2", &made[1]);
        sheets[1] = sheet_of(&made[1]);
    }
    job->status = portrait_write_sheets(sheets, pages ? 2 : 1, &job->panel, job->path);
}

static void write_behind(FileJob *job) {
    char hex[REVISION_HEX];
    panel_seen_hash(job->arena, &job->panel, hex, NULL);
    Pictured *made = ARENA_NEW(job->arena, Pictured);
    make_behind(job, hex, "", made);
    PortraitSheet sheet = sheet_of(made);
    job->status = portrait_write_sheets(&sheet, 1, &job->panel, job->path);
}

static void write_drill(FileJob *job) {
    DrawList list;
    panel_drill_draw(job->arena, job->fonts, job->view, &job->panel, job->face, &list);
    job->status = out_write(&list, "Drilling template", job->path);
}

static void write_tiles(FileJob *job) {
    DrawList list;
    size_t pages;
    panel_drill_draw(job->arena, job->fonts, job->view, &job->panel, job->face, &list);
    job->status = tiles_write(&list, paper_width_mm(job->view->paper),
                              paper_height_mm(job->view->paper), job->path, &pages);
}

/* --- list and hash ------------------------------------------------------------------------------
 */

void panel_seen_hash(Arena *arena, const Panel *panel, char hex[65], const char **text) {
    Buffer out = {.arena = arena};
    panel_seen_write(&out, panel);
    const char *bytes = out.bytes == NULL ? "" : out.bytes;
    revision_hash_bytes(bytes, out.length, hex);
    if (text != NULL) {
        *text = bytes;
    }
}

void panel_file_list(Buffer *out, const DrawView *view) {
    if (view->set->panel_face.count == 0) {
        return;
    }
    for (size_t i = 0; i < FILE_COUNT; i++) {
        buffer_format(out, "%-28s %s (%s)\n", FILES[i].name, FILES[i].what, FILES[i].endings);
    }
}

static void write_file(FileJob *job, const char *name) {
    if (strcmp(name, "panel-nest") == 0) {
        write_nest(job);
    } else if (strcmp(name, "panel-option") == 0) {
        write_option(job);
    } else if (!find_face(job)) {
        return;
    } else if (strcmp(name, "panel-cut") == 0) {
        write_cut(job);
    } else if (strcmp(name, "panel-front") == 0) {
        write_view(job, PORTRAIT_FRONT, "front");
    } else if (strcmp(name, "panel-rear") == 0) {
        write_view(job, PORTRAIT_REAR, "rear");
    } else if (strcmp(name, "panel-side") == 0) {
        write_sections(job);
    } else if (strcmp(name, "panel-approval") == 0) {
        write_approval(job);
    } else if (strcmp(name, "panel-behind") == 0) {
        write_behind(job);
    } else if (strcmp(name, "panel-tiles") == 0) {
        write_tiles(job);
    } else if (strcmp(name, "panel-drill") == 0) {
        write_drill(job);
    } else if (strcmp(name, "panel-finish") == 0) {
        write_finishes(job);
    } else {
        CHECK(!"a name of the list");
    }
}

bool panel_file_write(Arena *arena, const DrawView *view, const char *name, const char *path,
                      Status *status, const char **problem) {
    FileJob job = {.arena = arena, .view = view, .path = path, .status = status_ok()};
    size_t file = find_file(name, &job.tail);
    CHECK(file != FILE_COUNT);
    if (*ending_of(path) == '\0' || !text_has_word(FILES[file].endings, ending_of(path))) {
        *problem =
            arena_format(arena, "%s is written as %s", FILES[file].name, FILES[file].endings);
        return false;
    }
    Findings findings = {.arena = arena}; /* told by prove */
    if (!panel_read(arena, view->model, &job.panel, &findings) || job.panel.face_count == 0) {
        *problem = "this job has no panel: no row of panel_face that can be built";
        return false;
    }
    job.fonts = fonts_open();
    write_file(&job, FILES[file].name);
    fonts_close(job.fonts);
    *status = job.status;
    *problem = job.problem;
    return job.problem == NULL;
}
