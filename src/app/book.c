#include "app/book.h"

#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "app/board_files.h"
#include "app/panel_files.h"
#include "app/summary.h"
#include "base/file.h"
#include "draw/guard_sheet.h"
#include "draw/label.h"
#include "draw/sheets.h"
#include "out/pdf.h"
#include "out/write.h"
#include "store/revision.h"
#include "table/write.h"

/* Shapes of texts kept between sheets: of about 50,000 texts, what the sheets share among them. */
#define SHAPES_MOST_BYTES ((size_t)16 << 20)

typedef struct BookWriter {
    Arena *arena;
    const DrawView *view;
    const BookOptions *options;
    BookReport *report;
    const char *work;   /* folder that is written */
    const char **files; /* in it, as MANIFEST names them */
    size_t file_count;
    size_t file_capacity;
} BookWriter;

static double now_s(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static void tell(const BookWriter *writer, const char *what, size_t done, size_t of) {
    if (writer->options->progress != NULL) {
        writer->options->progress(writer->options->context, what, done, of);
    }
}

static bool is_stopped(const BookWriter *writer) {
    return writer->options->stopped != NULL && writer->options->stopped(writer->options->context);
}

/* The path of a file of the book, which is then in its list. */
static const char *file_of(BookWriter *writer, const char *name) {
    *ARENA_PUSH(writer->arena, writer->files, writer->file_count, writer->file_capacity) =
        arena_text(writer->arena, name, strlen(name));
    return arena_format(writer->arena, "%s/%s", writer->work, name);
}

/* --- tables -------------------------------------------------------------------------------------
 */

/* What is written by a person as it is written, with what was declined; what follows from it. */
static TableSet tables_of(const DrawView *view) {
    TableSet set = *view->set;
    for (int i = 0; i < TABLE_COUNT; i++) {
        if (table_schema((TableId)i)->group != GROUP_RESULT) {
            set.any[i] = view->whole->any[i];
        }
    }
    return set;
}

static Status write_tables(BookWriter *writer) {
    TableSet set = tables_of(writer->view);
    Status status = file_make_folder(arena_format(writer->arena, "%s/tables", writer->work));
    for (int i = 0; i < TABLE_COUNT && !status.failed; i++) {
        const char *name = table_schema((TableId)i)->name;
        tell(writer, "tables", (size_t)i + 1, TABLE_COUNT);
        Arena scratch = {0};
        Buffer text = {.arena = &scratch};
        table_write_csv(&text, &set, (TableId)i);
        const char *path = file_of(writer, arena_format(writer->arena, "tables/%s.csv", name));
        status = file_write(path, text.bytes, text.length);
        arena_free(&scratch);
    }
    return status;
}

static Status write_spreadsheet(BookWriter *writer) {
    TableSet set = tables_of(writer->view);
    TableId tables[TABLE_COUNT];
    size_t count = 0;
    /* What was worked out comes first: it is what a reader looks for. */
    static const TableGroup ORDER[] = {GROUP_RESULT, GROUP_JOB, GROUP_LIBRARY};
    for (size_t group = 0; group < sizeof ORDER / sizeof *ORDER; group++) {
        for (int i = 0; i < TABLE_COUNT; i++) {
            if (table_schema((TableId)i)->group == ORDER[group] && set.any[i].count > 0) {
                tables[count++] = (TableId)i;
            }
        }
    }
    tell(writer, "spreadsheet", 0, 0);
    return table_write_xlsx(file_of(writer, "job.xlsx"), &set, tables, count);
}

/* --- pages --------------------------------------------------------------------------------------
 */

static const char *job_title(Arena *arena, const DrawView *view) {
    const JobRow *job = &view->set->job.rows[0];
    return arena_format(arena, "%s: %s", job->job, job->title);
}

static PdfMeta meta_of(Arena *arena, const DrawView *view) {
    return (PdfMeta){
        .title = job_title(arena, view),
        .subject = arena_format(arena, "revision %.8s", view->hash),
        .date = view->set->job.rows[0].date,
        .program = arena_format(arena, "marling %s", view->version),
    };
}

static Status write_pages(BookWriter *writer) {
    const DrawView *view = writer->view;
    DrawFonts *fonts = fonts_open();
    SheetPlan plan;
    double start_s = now_s();
    tell(writer, "planning sheets", 0, 0);
    sheets_plan(writer->arena, fonts, view, &plan, &writer->report->findings);
    PdfMeta meta = meta_of(writer->arena, view);
    Pdf *pdf = pdf_open(writer->arena, file_of(writer, "book.pdf"), &meta);
    for (uint32_t i = 0; i < plan.count && !is_stopped(writer); i++) {
        tell(writer, "pages", i + 1, plan.count);
        uint32_t sheet = sheet_at(&plan, i);
        Arena page = {0};
        DrawList list;
        sheet_draw(&plan, sheet, &page, false, &list);
        sheet_tell_glyphs(&list, &writer->report->findings);
        pdf_number(pdf, sheet_number(&plan, &page, sheet));
        pdf_page(pdf, &list, plan.sheets[sheet].part, plan.sheets[sheet].title);
        if (page.used_bytes > writer->report->peak_list_bytes) {
            writer->report->peak_list_bytes = page.used_bytes;
        }
        arena_free(&page);
        fonts_trim(fonts, SHAPES_MOST_BYTES);
    }
    Status status = pdf_close(pdf, &writer->report->lost_links);
    writer->report->pages = plan.count;
    writer->report->draw_s = now_s() - start_s;
    fonts_close(fonts);
    return status;
}

bool book_write_labels(Arena *arena, const DrawView *view, const char *stock, const char *path,
                       Findings *findings, size_t *pages, Status *status, const char **problem) {
    DrawFonts *fonts = fonts_open();
    LabelPlan plan;
    bool good = label_plan(arena, fonts, view, stock, &plan, problem);
    if (good) {
        PdfMeta meta = meta_of(arena, view);
        Pdf *pdf = pdf_open(arena, path, &meta);
        for (uint32_t i = 0; i < plan.page_count; i++) {
            Arena page = {0};
            DrawList list;
            label_draw(&plan, i, &page, &list);
            sheet_tell_glyphs(&list, findings);
            pdf_page(pdf, &list, "", label_page_title(&plan, &page, i));
            arena_free(&page);
            fonts_trim(fonts, SHAPES_MOST_BYTES);
        }
        *pages = plan.page_count;
        *status = pdf_close(pdf, NULL);
    }
    fonts_close(fonts);
    return good;
}

/* A library without any stock has no labels to print; the table is there all the same. */
static Status write_labels(BookWriter *writer) {
    const char *problem;
    size_t pages = 0;
    Status status = status_ok();
    if (writer->view->set->label.count > 0 && writer->view->set->label_stock.count > 0) {
        tell(writer, "labels", 0, 0);
        book_write_labels(writer->arena, writer->view, NULL, file_of(writer, "labels.pdf"),
                          &writer->report->findings, &pages, &status, &problem);
    }
    return status;
}

/* --- words and list -----------------------------------------------------------------------------
 */

static Status write_readme(BookWriter *writer) {
    const DrawView *view = writer->view;
    const JobRow *job = &view->set->job.rows[0];
    Buffer text = {.arena = writer->arena};
    buffer_format(&text,
                  "%s\n\nRevision %s of %s\nSHA-256 of its tables: %s\nWritten by marling %s\n\n"
                  "book.pdf     every sheet: diagrams, connectors, lists, plots, findings\n"
                  "labels.pdf   labels of wires and connectors, to be printed\n"
                  "job.xlsx     every table that has rows, a sheet each\n"
                  "tables/      every table as plain text: UTF-8, comma, first line the names of "
                  "the columns,\n             units in the names\n"
                  "MANIFEST     check that nothing was changed with: sha256sum -c MANIFEST\n\n%s\n",
                  job_title(writer->arena, view), *job->revision == '\0' ? "-" : job->revision,
                  *job->date == '\0' ? "no date given" : job->date, view->hash, view->version,
                  summary_caution());
    return file_write(file_of(writer, "README.txt"), text.bytes, text.length);
}

static Status write_manifest(BookWriter *writer) {
    Buffer text = {.arena = writer->arena};
    for (size_t i = 0; i < writer->file_count; i++) {
        Arena scratch = {0};
        char *bytes;
        size_t length;
        Status status =
            file_read(&scratch, arena_format(&scratch, "%s/%s", writer->work, writer->files[i]),
                      &bytes, &length);
        if (status.failed) {
            arena_free(&scratch);
            return status;
        }
        char hex[REVISION_HEX];
        revision_hash_bytes(bytes, length, hex);
        buffer_format(&text, "%s  %s\n", hex, writer->files[i]);
        if (strcmp(writer->files[i], "book.pdf") == 0) {
            writer->report->pdf_bytes = length;
        }
        arena_free(&scratch);
    }
    return file_write(arena_format(writer->arena, "%s/MANIFEST", writer->work), text.bytes,
                      text.length);
}

/* --- the folder ---------------------------------------------------------------------------------
 */

/* Names that the MANIFEST of an earlier book gives, and its own. */
static Status take_manifest(Arena *arena, const char *folder, NameMap *names) {
    char *text = NULL;
    size_t length;
    Status status = file_read(arena, arena_format(arena, "%s/MANIFEST", folder), &text, &length);
    name_map_add(names, arena, "MANIFEST", 0);
    char *rest = text;
    for (char *line = status.failed ? NULL : strtok_r(rest, "\n", &rest); line != NULL;
         line = strtok_r(rest, "\n", &rest)) {
        const char *name = strstr(line, "  ");
        if (name != NULL) {
            name_map_add(names, arena, name + 2, 0);
        }
    }
    return status;
}

/* The first entry of `folder` (below `prefix` in the book) that is none of `names`; NULL for none.
 */
static const char *stranger_in(Arena *arena, const char *folder, const char *prefix,
                               const NameMap *names) {
    char **entries;
    size_t count;
    Status status =
        file_list(arena, arena_format(arena, "%s/%s", folder, prefix), "", &entries, &count);
    for (size_t i = 0; i < count && !status.failed; i++) {
        const char *name = arena_format(arena, "%s%s", prefix, entries[i]);
        if (strcmp(name, "tables") != 0 && name_map_find(names, name) == NAME_NONE) {
            return name;
        }
    }
    return NULL;
}

/* Whether `folder` may be (re)placed: it is not there, empty, or an earlier book and nothing else.
 */
static Status may_replace(Arena *arena, const char *folder) {
    if (!file_is_there(folder)) {
        return status_ok();
    }
    char **entries;
    size_t count;
    Status status = file_list(arena, folder, "", &entries, &count);
    if (status.failed || count == 0) {
        return status;
    }
    const char *stranger = folder;
    if (file_is_there(arena_format(arena, "%s/MANIFEST", folder)) &&
        file_is_there(arena_format(arena, "%s/book.pdf", folder))) {
        NameMap names = {0};
        status = take_manifest(arena, folder, &names);
        if (status.failed) {
            return status;
        }
        stranger = stranger_in(arena, folder, "", &names);
        if (stranger == NULL && file_is_there(arena_format(arena, "%s/tables", folder))) {
            stranger = stranger_in(arena, folder, "tables/", &names);
        }
        if (stranger == NULL) {
            return status_ok();
        }
        stranger = arena_format(arena, "%s/%s", folder, stranger);
    }
    return status_failed(
        "the folder holds other things than a book and is left as it is:", stranger, 0);
}

/* "dir/" means "dir". */
static const char *without_slash(Arena *arena, const char *folder) {
    size_t length = strlen(folder);
    while (length > 1 && folder[length - 1] == '/') {
        length--;
    }
    return arena_text(arena, folder, length);
}

static Status write_all(BookWriter *writer) {
    Status status = file_make_folder(writer->work);
    status = status.failed ? status : write_pages(writer);
    status = status.failed || !is_stopped(writer)
                 ? status
                 : status_failed("stopped; nothing was written to", writer->work, 0);
    status = status.failed ? status : write_labels(writer);
    status = status.failed ? status : write_tables(writer);
    status = status.failed ? status : write_spreadsheet(writer);
    status = status.failed ? status : write_readme(writer);
    return status.failed ? status : write_manifest(writer);
}

Status book_write(Arena *arena, const DrawView *view, const char *folder,
                  const BookOptions *options, BookReport *report) {
    *report = (BookReport){.findings = {.arena = arena}};
    folder = without_slash(arena, folder);
    BookWriter writer = {
        .arena = arena,
        .view = view,
        .options = options,
        .report = report,
        .work = arena_format(arena, "%s.part-%ld", folder, (long)getpid()),
    };
    Status status = may_replace(arena, folder);
    if (status.failed) {
        return status;
    }
    status = write_all(&writer);
    status = status.failed ? status : file_replace_folder(writer.work, folder);
    if (status.failed) {
        file_remove_folder(writer.work);
    }
    return status;
}

/* --- single sheets ------------------------------------------------------------------------------
 */

bool book_draw_sheet(Arena *arena, Proof *proof, DrawView *view, const char *sheet,
                     const char *path, Findings *findings, Status *status, const char **problem) {
    if (panel_file_is(sheet)) {
        return panel_file_write(arena, view, sheet, path, status, problem);
    }
    if (board_file_is(sheet)) {
        draw_view_bench(proof, view);
        return board_file_write(arena, view, sheet, path, status, problem);
    }
    DrawFonts *fonts = fonts_open();
    SheetPlan plan;
    sheets_start(arena, fonts, view, &plan, findings);
    sheets_plan_to(&plan, SHEET_LAST_LIVE);
    uint32_t found = sheet_find(&plan, sheet);
    found = found == ID_NONE ? guard_sheet_ask(&plan, sheet) : found;
    if (found == ID_NONE) {
        draw_view_bench(proof, view);
        sheets_plan_to(&plan, SHEET_CONTENTS);
        found = sheet_find(&plan, sheet);
    }
    if (found == ID_NONE) {
        const char *nearest = sheet_nearest(&plan, sheet);
        *problem = arena_format(
            arena, "no sheet is called %s%s%s; `marling draw --list JOB` lists them", sheet,
            nearest == NULL ? "" : "; did you mean ", nearest == NULL ? "" : nearest);
    } else {
        DrawList list;
        sheet_draw(&plan, found, arena, true, &list);
        sheet_tell_glyphs(&list, findings);
        *status = out_write(&list, plan.sheets[found].title, path);
    }
    fonts_close(fonts);
    return found != ID_NONE;
}

void book_list_sheets(Buffer *out, const DrawView *view) {
    Arena arena = {0};
    Findings findings = {.arena = &arena};
    DrawFonts *fonts = fonts_open();
    SheetPlan plan;
    sheets_plan(&arena, fonts, view, &plan, &findings);
    for (uint32_t i = 0; i < plan.count; i++) {
        const Sheet *sheet = &plan.sheets[sheet_at(&plan, i)];
        buffer_format(out, "%-28s %s\n", sheet->name, sheet->title);
    }
    panel_file_list(out, view);
    board_file_list(out, view);
    fonts_close(fonts);
    arena_free(&arena);
}
