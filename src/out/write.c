#include "out/write.h"

#include <string.h>

#include "base/file.h"
#include "base/text.h"
#include "out/dxf.h"
#include "out/pdf.h"
#include "out/png.h"
#include "out/svg.h"

static Status write_svg(const DrawList *list, const char *title, const char *path) {
    Arena arena = {0};
    Buffer text = {.arena = &arena};
    svg_write(&text, list, title);
    Status status = file_write(path, text.bytes, text.length);
    arena_free(&arena);
    return status;
}

static Status write_dxf(const DrawList *list, const char *title, const char *path) {
    (void)title;
    Arena arena = {0};
    Buffer text = {.arena = &arena};
    dxf_write(&text, list);
    Status status = file_write(path, text.bytes, text.length);
    arena_free(&arena);
    return status;
}

static Status write_png(const DrawList *list, const char *title, const char *path) {
    (void)title;
    return png_write(list, path, PNG_PIXELS_PER_MM);
}

/* The list without the links that lead to other sheets: on paper of its own they lead nowhere. */
static DrawList alone(Arena *arena, const DrawList *list) {
    NameMap anchors = {0};
    for (size_t i = 0; i < list->count; i++) {
        if (list->items[i].kind == DRAW_ANCHOR) {
            name_map_add(&anchors, arena, list->items[i].text, 0);
        }
    }
    DrawList kept = *list;
    kept.items = ARENA_ARRAY(arena, DrawItem, list->count);
    kept.count = 0;
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        if (item->kind != DRAW_LINK || strstr(item->text, "://") != NULL ||
            name_map_find(&anchors, item->text) != NAME_NONE) {
            kept.items[kept.count++] = *item;
        }
    }
    return kept;
}

static Status write_pdf(const DrawList *list, const char *title, const char *path) {
    Arena arena = {0};
    DrawList kept = alone(&arena, list);
    PdfMeta meta = {.title = title, .subject = "", .date = "", .program = "marling"};
    Pdf *pdf = pdf_open(&arena, path, &meta);
    pdf_page(pdf, &kept, "", title);
    Status status = pdf_close(pdf, NULL);
    arena_free(&arena);
    return status;
}

/* ENDING(name, function) */
#define OUT_ENDINGS(ENDING)                                                                        \
    ENDING("svg", write_svg)                                                                       \
    ENDING("pdf", write_pdf)                                                                       \
    ENDING("png", write_png)                                                                       \
    ENDING("dxf", write_dxf)

static const struct {
    const char *name;
    Status (*write)(const DrawList *, const char *, const char *);
} ENDINGS[] = {
#define OUT_ENDING_ROW(name, function) {name, function},
    OUT_ENDINGS(OUT_ENDING_ROW)
#undef OUT_ENDING_ROW
};

Status out_write(const DrawList *list, const char *title, const char *path) {
    const char *slash = strrchr(path, '/');
    const char *dot = strrchr(slash == NULL ? path : slash, '.');
    for (size_t i = 0; dot != NULL && i < sizeof ENDINGS / sizeof *ENDINGS; i++) {
        if (strcmp(dot + 1, ENDINGS[i].name) == 0) {
            return ENDINGS[i].write(list, title, path);
        }
    }
    return status_failed("a drawing's name ends in .svg, .pdf, .png or .dxf, not so", path, 0);
}
