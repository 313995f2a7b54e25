#include "app/board_files.h"

#include <string.h>

#include "draw/board_tiles.h"
#include "out/pdf.h"
#include "out/write.h"

static const struct {
    const char *tail;
    const char *endings;
    const char *what;
} FILES[] = {
#define BOARD_FILE_ROW(tail, endings, what) {tail, endings, what},
    BOARD_FILES(BOARD_FILE_ROW)
#undef BOARD_FILE_ROW
};
#define FILE_COUNT (sizeof FILES / sizeof *FILES)

/* Which file a name means; FILE_COUNT. */
static size_t find_file(const char *name) {
    size_t length = strlen(name);
    if (strncmp(name, "board-", 6) != 0) {
        return FILE_COUNT;
    }
    for (size_t i = 0; i < FILE_COUNT; i++) {
        size_t tail = strlen(FILES[i].tail);
        if (length > 6 + tail && strcmp(name + length - tail, FILES[i].tail) == 0) {
            return i;
        }
    }
    return FILE_COUNT;
}

bool board_file_is(const char *name) {
    return find_file(name) != FILE_COUNT;
}

void board_file_list(Buffer *out, const DrawView *view) {
    for (uint32_t i = 0; view->boards != NULL && i < view->boards->count; i++) {
        const Board *board = &view->boards->boards[i];
        for (size_t k = 0; k < FILE_COUNT && board->flat.piece_count > 0; k++) {
            const char *name =
                arena_format(out->arena, "board-%s%s", board_module(view, board), FILES[k].tail);
            buffer_format(out, "%-28s %s (%s)\n", name, FILES[k].what, FILES[k].endings);
        }
    }
}

static const Board *find_board(const DrawView *view, const char *name, size_t file) {
    size_t length = strlen(name) - 6 - strlen(FILES[file].tail);
    for (uint32_t i = 0; view->boards != NULL && i < view->boards->count; i++) {
        const Board *board = &view->boards->boards[i];
        const char *module = board_module(view, board);
        if (strlen(module) == length && strncmp(module, name + 6, length) == 0 &&
            board->flat.piece_count > 0) {
            return board;
        }
    }
    return NULL;
}

static Status write_pages(Arena *arena, const DrawView *view, const Board *board,
                          const DrawList *whole, const BoardTiles *tiles, bool map,
                          const char *path) {
    const JobRow *job = &view->set->job.rows[0];
    PdfMeta meta = {.title =
                        arena_format(arena, "%s board %s", job->job, board_module(view, board)),
                    .subject = arena_format(arena, "revision %.8s", view->hash),
                    .date = job->date,
                    .program = arena_format(arena, "marling %s", view->version)};
    Pdf *pdf = pdf_open(arena, path, &meta);
    if (map) {
        DrawList list;
        board_tile_map(arena, view, board, whole, tiles, &list);
        pdf_page(pdf, &list, "", "map of pages");
    }
    for (uint32_t i = 0; i < tiles->columns * tiles->rows; i++) {
        if (!tiles->printed[i]) {
            continue;
        }
        Arena page = {0};
        DrawList list;
        board_tile_draw(&page, view, board, whole, tiles, i, &list);
        pdf_page(pdf, &list, "", arena_format(arena, "page %s", board_tile_name(arena, tiles, i)));
        arena_free(&page);
    }
    return pdf_close(pdf, NULL);
}

bool board_file_write(Arena *arena, const DrawView *view, const char *name, const char *path,
                      Status *status, const char **problem) {
    size_t file = find_file(name);
    const Board *board = find_board(view, name, file);
    if (board == NULL) {
        *problem = arena_format(
            arena, "no board is called %s; `marling draw --list JOB` lists them", name);
        return false;
    }
    const char *dot = strrchr(path, '.');
    if (dot == NULL || !text_has_word(FILES[file].endings, dot)) {
        *problem = arena_format(arena, "%s is written as %s", name, FILES[file].endings);
        return false;
    }
    DrawFonts *fonts = fonts_open();
    DrawList whole;
    board_plot_draw(arena, fonts, view, board, &whole);
    bool tiled = strcmp(FILES[file].tail, "-tiles") == 0;
    if (tiled || strcmp(dot, ".pdf") == 0) {
        BoardTiles tiles = tiled ? board_tiles_on(arena, view->paper, &whole)
                                 : board_tiles_of_boards(arena, &view->boards->shop, board, &whole);
        *status = write_pages(arena, view, board, &whole, &tiles, tiled, path);
    } else {
        *status = out_write(&whole, name, path);
    }
    fonts_close(fonts);
    return true;
}
