/* Boards as DXF with their result tables, into a folder, for other programs to measure: of random
 * trees; or of every module of a job, as `marling draw` writes them, but with one proof for all.
 *
 *     random_boards FOLDER ARMS FIRST_SEED COUNT
 *     random_boards FOLDER LIBRARY JOB */
#include <stdio.h>
#include <stdlib.h>

#include "app/bench.h"
#include "app/board_files.h"
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

static int write_job(const char *folder, const char *library, const char *job) {
    static const TableId TABLES[] = {TABLE_board, TABLE_board_branch, TABLE_board_node,
                                     TABLE_piece};
    Proof proof;
    ProofOptions options = {.library = library, .no_faults = true};
    proof_run(job, &options, &proof);
    if (!proof.complete) {
        fprintf(stderr, "%s cannot be proved\n", job);
        return 1;
    }
    bench_step(&proof, BENCH_BOARD);
    DrawView view = {.set = &proof.set,
                     .model = &proof.model,
                     .harness = &proof.bench->harness,
                     .boards = &proof.bench->boards,
                     .hash = "00000000",
                     .version = "test"};
    Status status = status_ok();
    for (uint32_t i = 0; i < view.boards->count && !status.failed; i++) {
        const Board *board = &view.boards->boards[i];
        const char *module = board_module(&view, board);
        const char *problem = NULL;
        if (board->flat.piece_count > 0 &&
            !board_file_write(
                &proof.arena, &view, arena_format(&proof.arena, "board-%s-plot", module),
                arena_format(&proof.arena, "%s/%s.dxf", folder, module), &status, &problem)) {
            status = status_failed(problem, module, 0);
        }
    }
    for (size_t i = 0; i < sizeof TABLES / sizeof *TABLES && !status.failed; i++) {
        const char *name = table_schema(TABLES[i])->name;
        status = write_table(&proof.arena, &proof.set, TABLES[i],
                             arena_format(&proof.arena, "%s/%s.csv", folder, name));
    }
    if (status.failed) {
        fprintf(stderr, "%s\n", status.text);
    }
    proof_free(&proof);
    return status.failed ? 1 : 0;
}

int main(int count, char **words) {
    if (count == 4) {
        return write_job(words[1], words[2], words[3]);
    }
    if (count != 5) {
        fprintf(stderr, "random_boards FOLDER ARMS FIRST_SEED COUNT | FOLDER LIBRARY JOB\n");
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
