/* Method: cairo's PDF surface writes a page as soon as the next one begins. It refuses a whole
 * document over one link without its destination, so names are counted here, and those that nobody
 * anchored get their place on the last page before it is closed. */
#include "out/pdf.h"

#include <cairo-pdf.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "out/paint.h"

#define POINTS_PER_MM (72.0 / 25.4)

struct Pdf {
    Arena *arena;
    const char *path;
    const char *beside;
    FILE *file;
    cairo_surface_t *surface;
    cairo_t *cairo;
    Status status;
    const char *part;
    int part_bookmark;
    uint32_t pages;
    NameMap anchored;
    NameMap linked;
};

/* --- writing ------------------------------------------------------------------------------------
 */

/* What can't be written is kept for pdf_close() and not told to cairo, which would stop in the
 * middle of a page and then not find that page when it writes the numbers of all. */
static cairo_status_t write_some(void *context, const unsigned char *bytes, unsigned length) {
    Pdf *pdf = context;
    if (!pdf->status.failed && fwrite(bytes, 1, length, pdf->file) != length) {
        pdf->status = status_failed("cannot write", pdf->path, errno);
    }
    return CAIRO_STATUS_SUCCESS;
}

/* Else cairo would take the time of day. */
static bool is_date(const char *text) {
    static const char FORM[] = "0000-00-00";
    for (size_t i = 0; i < sizeof FORM - 1; i++) {
        bool figure = text[i] >= '0' && text[i] <= '9';
        if (FORM[i] == '0' ? !figure : text[i] != '-') {
            return false;
        }
    }
    return text[sizeof FORM - 1] == '\0';
}

Pdf *pdf_open(Arena *arena, const char *path, const PdfMeta *meta) {
    Pdf *pdf = ARENA_NEW(arena, Pdf);
    *pdf = (Pdf){.arena = arena, .path = path, .part = ""};
    pdf->beside = arena_format(arena, "%s.part-%ld", path, (long)getpid());
    pdf->file = fopen(pdf->beside, "wb");
    if (pdf->file == NULL) {
        pdf->status = status_failed("cannot write", path, errno);
        return pdf;
    }
    pdf->surface = cairo_pdf_surface_create_for_stream(write_some, pdf, 100.0, 100.0);
    cairo_pdf_surface_restrict_to_version(pdf->surface, CAIRO_PDF_VERSION_1_5);
    const char *date = is_date(meta->date) ? meta->date : "1970-01-01";
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_TITLE,
                                   fonts_clean(arena, meta->title));
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_SUBJECT,
                                   fonts_clean(arena, meta->subject));
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_CREATOR,
                                   fonts_clean(arena, meta->program));
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_CREATE_DATE,
                                   arena_format(arena, "%sT00:00:00Z", date));
    pdf->cairo = cairo_create(pdf->surface);
    return pdf;
}

/* --- links and bookmarks ------------------------------------------------------------------------
 */

/* `text` with every byte that is no ASCII letter, no figure and none of `kept` as %XX. cairo writes
 * names and addresses into the file without a thought for brackets and other scripts, and so it
 * gets none. */
static const char *coded(Arena *arena, const char *text, const char *kept) {
    Buffer out = {.arena = arena};
    for (const char *at = text; *at != '\0'; at++) {
        bool plain = (*at >= '0' && *at <= '9') || (*at >= 'A' && *at <= 'Z') ||
                     (*at >= 'a' && *at <= 'z') || strchr(kept, *at) != NULL;
        buffer_format(&out, plain ? "%c" : "%%%02X", (unsigned char)*at);
    }
    return out.bytes == NULL ? "" : out.bytes;
}

static const char *coded_name(Arena *arena, const char *name) {
    return coded(arena, name, "-._:");
}

/* What RFC 3986 lets stand in an address, but for brackets and quotes. */
static const char *coded_address(Arena *arena, const char *address) {
    return coded(arena, address, "-._~:/?#@!$&*+,;=%");
}

/* Keeps `name` in `map` unless it is there; false when it was. */
static bool keep_name(Pdf *pdf, NameMap *map, const char *name) {
    if (name_map_find(map, name) != NAME_NONE) {
        return false;
    }
    name_map_add(map, pdf->arena, arena_text(pdf->arena, name, strlen(name)), pdf->pages);
    return true;
}

static void put_tag(Pdf *pdf, const char *tag, const char *attributes) {
    cairo_tag_begin(pdf->cairo, tag, attributes);
    cairo_tag_end(pdf->cairo, tag);
}

static void put_anchor(Pdf *pdf, Arena *scratch, const char *name) {
    if (keep_name(pdf, &pdf->anchored, name)) {
        /* The place is the top of the page: readers jump to pages, and the zone is in the text. */
        put_tag(pdf, CAIRO_TAG_DEST,
                arena_format(scratch, "name='%s' x=0 y=0", coded_name(scratch, name)));
    }
}

static void put_link(Pdf *pdf, Arena *scratch, const DrawItem *item) {
    DrawBox box = item->box;
    const char *goal;
    if (strstr(item->text, "://") != NULL) {
        goal = arena_format(scratch, "uri='%s'", coded_address(scratch, item->text));
    } else {
        keep_name(pdf, &pdf->linked, item->text);
        goal = arena_format(scratch, "dest='%s'", coded_name(scratch, item->text));
    }
    /* cairo takes the numbers as points, whatever the unit of the context is. */
    put_tag(pdf, CAIRO_TAG_LINK,
            arena_format(scratch, "rect=[%.3f %.3f %.3f %.3f] %s", box.left_mm * POINTS_PER_MM,
                         box.top_mm * POINTS_PER_MM, (box.right_mm - box.left_mm) * POINTS_PER_MM,
                         (box.bottom_mm - box.top_mm) * POINTS_PER_MM, goal));
}

/* Links stand in an element of structure: without one around them cairo refers to objects that it
 * then never writes. */
static void put_links(Pdf *pdf, const DrawList *list) {
    Arena scratch = {0};
    cairo_save(pdf->cairo);
    cairo_identity_matrix(pdf->cairo);
    cairo_tag_begin(pdf->cairo, "Sect", NULL);
    for (size_t i = 0; i < list->count; i++) {
        if (list->items[i].kind == DRAW_ANCHOR) {
            put_anchor(pdf, &scratch, list->items[i].text);
        } else if (list->items[i].kind == DRAW_LINK) {
            put_link(pdf, &scratch, &list->items[i]);
        }
    }
    cairo_tag_end(pdf->cairo, "Sect");
    cairo_restore(pdf->cairo);
    arena_free(&scratch);
}

static void put_bookmarks(Pdf *pdf, const char *part, const char *title) {
    Arena scratch = {0};
    const char *target = arena_format(&scratch, "page=%u pos=[0 0]", pdf->pages);
    if (*part == '\0') {
        pdf->part_bookmark = CAIRO_PDF_OUTLINE_ROOT;
    } else if (strcmp(part, pdf->part) != 0) {
        pdf->part_bookmark = cairo_pdf_surface_add_outline(pdf->surface, CAIRO_PDF_OUTLINE_ROOT,
                                                           fonts_clean(&scratch, part), target, 0);
    }
    if (strcmp(part, pdf->part) != 0) {
        pdf->part = arena_text(pdf->arena, part, strlen(part));
    }
    cairo_pdf_surface_add_outline(pdf->surface, pdf->part_bookmark, fonts_clean(&scratch, title),
                                  target, 0);
    arena_free(&scratch);
}

/* --- pages --------------------------------------------------------------------------------------
 */

void pdf_number(Pdf *pdf, const char *number) {
    if (pdf->surface != NULL) {
        cairo_pdf_surface_set_page_label(pdf->surface, number);
    }
}

void pdf_page(Pdf *pdf, const DrawList *list, const char *part, const char *title) {
    if (pdf->status.failed) {
        return;
    }
    if (pdf->pages > 0) {
        cairo_show_page(pdf->cairo);
    }
    pdf->pages++;
    cairo_pdf_surface_set_size(pdf->surface, list->width_mm * POINTS_PER_MM,
                               list->height_mm * POINTS_PER_MM);
    cairo_identity_matrix(pdf->cairo);
    cairo_scale(pdf->cairo, POINTS_PER_MM, POINTS_PER_MM);
    paint_list(pdf->cairo, list, true);
    put_bookmarks(pdf, part, title);
    put_links(pdf, list);
    cairo_status_t cairo_said = cairo_status(pdf->cairo);
    if (cairo_said != CAIRO_STATUS_SUCCESS && !pdf->status.failed) {
        pdf->status = status_failed(cairo_status_to_string(cairo_said), pdf->path, 0);
    }
}

static size_t anchor_lost(Pdf *pdf) {
    size_t lost = 0;
    Arena scratch = {0};
    for (size_t i = 0; i < pdf->linked.capacity; i++) {
        const char *name = pdf->linked.names[i];
        if (name != NULL && name_map_find(&pdf->anchored, name) == NAME_NONE) {
            put_anchor(pdf, &scratch, name);
            lost++;
        }
    }
    arena_free(&scratch);
    return lost;
}

Status pdf_close(Pdf *pdf, size_t *lost) {
    size_t count = 0;
    if (lost != NULL) {
        *lost = 0;
    }
    if (pdf->file == NULL) {
        return pdf->status;
    }
    if (!pdf->status.failed && pdf->pages == 0) {
        pdf->status = status_failed("no page to write", pdf->path, 0);
    }
    if (!pdf->status.failed) {
        count = anchor_lost(pdf);
        cairo_show_page(pdf->cairo);
    }
    cairo_destroy(pdf->cairo);
    cairo_surface_finish(pdf->surface);
    cairo_status_t cairo_said = cairo_surface_status(pdf->surface);
    if (cairo_said != CAIRO_STATUS_SUCCESS && !pdf->status.failed) {
        pdf->status = status_failed(cairo_status_to_string(cairo_said), pdf->path, 0);
    }
    cairo_surface_destroy(pdf->surface);
    if ((fflush(pdf->file) != 0 || fsync(fileno(pdf->file)) != 0) && !pdf->status.failed) {
        pdf->status = status_failed("cannot write", pdf->path, errno);
    }
    if (fclose(pdf->file) != 0 && !pdf->status.failed) {
        pdf->status = status_failed("cannot write", pdf->path, errno);
    }
    if (!pdf->status.failed && rename(pdf->beside, pdf->path) != 0) {
        pdf->status = status_failed("cannot write", pdf->path, errno);
    }
    if (pdf->status.failed) {
        unlink(pdf->beside);
    }
    if (lost != NULL) {
        *lost = count;
    }
    return pdf->status;
}
