/* Lays random trees flat and writes for each, into a folder, its board as DXF and what the result
 * tables would say of it, for other programs to measure.
 *
 *     random_boards FOLDER ARMS FIRST_SEED COUNT */
#include <stdio.h>
#include <stdlib.h>

#include "app/prove.h"
#include "base/file.h"
#include "out/write.h"
#include "support/random_board.h"
#include "table/write.h"

static Status write_table(Arena *arena, TableSet *set, TableId table, const char *path) {
    Buffer out = {.arena = arena};
    table_write_csv(&out, set, table);
    return file_write(path, out.bytes, out.length);
}

/* Limits by the names that the library has for them. */
static Status write_limits(Arena *arena, const FlatShop *shop, const char *path) {
    const struct {
        const char *name;
        double value;
    } rows[] = {
        {BOARD_LIMIT_LENGTH, shop->board_length_mm}, {BOARD_LIMIT_WIDTH, shop->board_width_mm},
        {BOARD_LIMIT_MARGIN, shop->margin_mm},       {BOARD_LIMIT_GAP, shop->gap_mm},
        {BOARD_LIMIT_SEAM, shop->seam_mm},           {BOARD_LIMIT_SPACING, shop->spacing_mm},
        {BOARD_LIMIT_HAND, shop->hand_mm},           {BOARD_LIMIT_ZONE, shop->zone_mm}};
    Buffer out = {.arena = arena};
    buffer_text(&out, "limit,value\n");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        buffer_format(&out, "%s,%.6f\n", rows[i].name, rows[i].value);
    }
    return file_write(path, out.bytes, out.length);
}

static Status write_one(const char *folder, uint32_t arms, uint64_t seed) {
    static const TableId TABLES[] = {TABLE_board, TABLE_board_branch, TABLE_board_node};
    Arena arena = {0};
    DrawFonts *fonts = fonts_open();
    RandomBoard *made = ARENA_NEW(&arena, RandomBoard);
    random_board(&arena, seed, arms, made);
    DrawList list;
    board_plot_draw(&arena, fonts, &made->view, &made->board, &list);
    const char *stem = arena_format(&arena, "%s/%u-%u", folder, arms, (unsigned)seed);
    Status status = out_write(&list, "board", arena_format(&arena, "%s.dxf", stem));
    board_rows(&arena, &made->boards, &made->set);
    for (size_t i = 0; i < sizeof TABLES / sizeof *TABLES && !status.failed; i++) {
        status =
            write_table(&arena, &made->set, TABLES[i],
                        arena_format(&arena, "%s-%s.csv", stem, table_schema(TABLES[i])->name));
    }
    if (!status.failed) {
        status =
            write_limits(&arena, &made->boards.shop, arena_format(&arena, "%s-limit.csv", stem));
    }
    fonts_close(fonts);
    arena_free(&arena);
    return status;
}

int main(int count, char **words) {
    if (count != 5) {
        fprintf(stderr, "random_boards FOLDER ARMS FIRST_SEED COUNT\n");
        return 2;
    }
    uint32_t arms = (uint32_t)strtoul(words[2], NULL, 10);
    uint64_t first = strtoull(words[3], NULL, 10);
    uint64_t boards = strtoull(words[4], NULL, 10);
    for (uint64_t i = 0; i < boards; i++) {
        Status status = write_one(words[1], arms, first + i);
        if (status.failed) {
            fprintf(stderr, "%s\n", status.text);
            return 1;
        }
    }
    return 0;
}
