/* Method: a column wants the width of its longest cell and bears that of its longest word. If all
 * wishes fit, all are met; else the widest columns give way, down to one common width, and their
 * cells are broken into lines. */
#include "draw/listing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "base/units.h"
#include "table/value.h"

#define CELL_MM STYLE_NOTE_MM   /* capitals in cells and heads */
#define LINE_MM 4.2             /* from line to line inside a cell */
#define ABOVE_MM 1.2            /* between the rule above and the capitals */
#define BELOW_MM 1.5            /* between the last baseline and the rule below */
#define GAP_MM 3.0              /* between columns */
#define STRIP_GAP_MM 10.0       /* between strips */
#define TITLE_MM 9.0            /* room of the title line */
#define SQUEEZED 0.95           /* of its width, to which a strip may give way to another */
#define BROKEN_MM 42.0          /* a longer word may be broken inside */
#define SIGN_MM (CELL_MM + 1.0) /* sign of a severity before its word */
#define LINES_MAX 24            /* of a cell; the tables hold what is longer */
#define PLACES_MAX 6            /* behind a point */
#define PLACES_CUT 2            /* of what is cut: hundredths of a millimetre, however large */
#define PLACES_SMALL 2          /* as many as the smallest figure of a column may ask for */
#define PLACES_FREE -1          /* every figure has its own */

#define WRITE_MM 34.0  /* room for a reading by hand, and its box */
#define DONE_MM 10.0   /* for a box alone: as wide as its head */
#define TICK_MM 5.0    /* side of the box: met by a pencil in a glove */
#define WRITTEN_MM 7.0 /* least height of a row that is written in */

/* --- cells --------------------------------------------------------------------------------------
 */

static const ColumnSchema *column_of(const ListingSource *source, size_t column) {
    return &table_schema(source->table)->columns[source->fields[column]];
}

static bool is_matrix(const ListingSource *source) {
    return source->matrix_rows != NULL;
}

static bool is_number(const ListingSource *source, size_t column) {
    if (is_matrix(source)) {
        return column > 0;
    }
    ColumnKind kind = column_of(source, column)->kind;
    return kind == COLUMN_REAL || kind == COLUMN_INT || kind == COLUMN_AWG;
}

static bool is_length(const ColumnSchema *column) {
    size_t length = strlen(column->name);
    return column->kind == COLUMN_REAL && length > 3 &&
           strcmp(column->name + length - 3, "_mm") == 0;
}

/* Where the ending of a name begins that says its unit. */
static size_t unit_at(const char *name) {
    static const char *const LONG[] = {"_ohm_per_km", "_kg_per_km", "_db_per_m"};
    for (size_t i = 0; i < sizeof LONG / sizeof *LONG; i++) {
        size_t length = strlen(name);
        size_t ending = strlen(LONG[i]);
        if (length > ending && strcmp(name + length - ending, LONG[i]) == 0) {
            return length - ending;
        }
    }
    return (size_t)(strrchr(name, '_') - name);
}

/* Resistance at the bench goes from tenths of a milliohm to 20 megohm: each cell says its unit. */
static bool is_bench_ohm(const ListingSource *source, const ColumnSchema *column) {
    return source->table == TABLE_ringout && column->kind == COLUMN_REAL;
}

static const char *bench_ohm_head(const ColumnSchema *column) {
    return strcmp(column->name, "low_ohm") == 0    ? "at least"
           : strcmp(column->name, "high_ohm") == 0 ? "at most"
                                                   : "expected";
}

static const char *bench_ohm_cell(Arena *arena, const void *field) {
    double ohm;
    memcpy(&ohm, field, sizeof ohm);
    if (!isfinite(ohm)) {
        return "";
    }
    if (ohm >= 1e6) {
        return arena_format(arena, "%.4g Mohm", 1e-6 * ohm);
    }
    return ohm >= 1.0 ? arena_format(arena, "%.3g ohm", ohm)
                      : arena_format(arena, "%.*f mohm", ohm < 0.01 ? 1 : 0, 1000.0 * ohm);
}

/* "length_mm" is headed "length mm"; a length in the reader's own unit. */
static const char *head_text(Arena *arena, const ListingSource *source, size_t column) {
    if (is_matrix(source) && column > 0) {
        return source->matrix_heads[column - 1];
    }
    const ColumnSchema *what = column_of(source, column);
    if (is_bench_ohm(source, what)) {
        return bench_ohm_head(what);
    }
    char *text = arena_text(arena, what->name, strlen(what->name));
    const char *unit = is_length(what) ? draw_units_name(source->view->units) : value_unit(what);
    if (*unit != '\0') {
        text[unit_at(text)] = '\0';
        text = arena_format(arena, "%s %s", text, unit);
    }
    for (char *at = text; *at != '\0'; at++) {
        *at = *at == '_' ? ' ' : *at;
    }
    return text;
}

static const char *figure_text(Arena *arena, const ColumnSchema *column, const void *field,
                               int places) {
    double value;
    if (column->kind != COLUMN_REAL || places == PLACES_FREE) {
        return value_short_text(arena, column, field);
    }
    memcpy(&value, field, sizeof value);
    /* A zero without its places: so what is nothing is seen at once. */
    return !isfinite(value) ? "" : value == 0.0 ? "0" : arena_format(arena, "%.*f", places, value);
}

static const char *length_cell(Arena *arena, LengthUnit units, const ColumnSchema *column,
                               const void *field, int own_places) {
    double length_mm;
    memcpy(&length_mm, field, sizeof length_mm);
    if (units == LENGTH_MM || isnan(length_mm)) {
        return figure_text(arena, column, field, own_places);
    }
    double length_in = units_in_from_mm(length_mm);
    int places = fabs(length_in) < 1.0 ? 3 : 1;
    return units == LENGTH_IN
               ? arena_format(arena, "%.*f", places, length_in)
               : arena_format(arena, "%s (%.*f)", figure_text(arena, column, field, own_places),
                              places, length_in);
}

static const char *field_text(Arena *arena, const ListingSource *source, size_t row,
                              const ColumnSchema *column) {
    size_t at = source->order == NULL ? row : source->order[row];
    const char *bytes = table_row(source->view->set, source->table, at);
    const void *field = bytes + column->offset;
    int places = source->places[column - table_schema(source->table)->columns];
    if (is_bench_ohm(source, column)) {
        return bench_ohm_cell(arena, field);
    }
    return is_length(column) ? length_cell(arena, source->view->units, column, field, places)
                             : figure_text(arena, column, field, places);
}

static const char *cell_text(Arena *arena, const ListingSource *source, size_t row, size_t column) {
    if (!is_matrix(source)) {
        return field_text(arena, source, row, column_of(source, column));
    }
    const TableSchema *schema = table_schema(source->table);
    size_t first = source->matrix_rows[row];
    size_t end = source->matrix_rows[row + 1];
    if (column == 0) {
        return field_text(arena, source, first, &schema->columns[0]);
    }
    for (size_t i = first; i < end; i++) {
        const char *name = field_text(arena, source, i, &schema->columns[1]);
        if (strcmp(name, source->matrix_heads[column - 1]) == 0) {
            return field_text(arena, source, i, &schema->columns[2]);
        }
    }
    return "";
}

static const char *row_key(Arena *arena, const ListingSource *source, size_t row) {
    size_t at = is_matrix(source)       ? source->matrix_rows[row]
                : source->order == NULL ? row
                                        : source->order[row];
    return table_row_key(arena, source->table, table_row(source->view->set, source->table, at));
}

static bool is_severity(const Listing *listing, size_t column) {
    return listing->source.table == TABLE_finding && !is_matrix(&listing->source) &&
           strcmp(column_of(&listing->source, column)->name, "severity") == 0;
}

/* --- measuring ----------------------------------------------------------------------------------
 */

/* Width at the right of a row that a person writes in; 0. */
static double hand_mm(const Listing *listing) {
    switch (listing->hand) {
    case HAND_TICK:
        return DONE_MM;
    case HAND_READING:
        return WRITE_MM;
    case HAND_NONE:
        break;
    }
    return 0.0;
}

static double longest_word_mm(DrawFonts *fonts, const char *text, bool bold) {
    double longest_mm = 0.0;
    const char *at = text;
    const char *word;
    size_t length;
    while (text_next_word(&at, &word, &length)) {
        char part[128];
        length = length < sizeof part ? length : sizeof part - 1;
        memcpy(part, word, length);
        part[length] = '\0';
        longest_mm = fmax(longest_mm, fonts_width_mm(fonts, part, CELL_MM, bold));
    }
    return fmin(longest_mm, BROKEN_MM);
}

/* Widest common width `w` so that the sum of min(wish, max(least, w)) fits. */
static void share_width(double *width_mm, const double *wish_mm, const double *least_mm,
                        size_t count, double room_mm) {
    double low = 0.0;
    double high = room_mm;
    for (int round = 0; round < 50; round++) {
        double middle = (low + high) / 2.0;
        double sum = 0.0;
        for (size_t i = 0; i < count; i++) {
            sum += fmin(wish_mm[i], fmax(least_mm[i], middle));
        }
        if (sum <= room_mm) {
            low = middle;
        } else {
            high = middle;
        }
    }
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        width_mm[i] = fmin(wish_mm[i], fmax(least_mm[i], low));
        sum += width_mm[i];
    }
    /* More words than room: all give way alike, and words are broken. */
    for (size_t i = 0; sum > room_mm && i < count; i++) {
        width_mm[i] *= room_mm / sum;
    }
}

/* The least places, up to `most`, with which all figures of a column are what they are; more than
 * that when there are none. */
static int exact_places(const ListingSource *source, const ColumnSchema *column, int most) {
    size_t rows = source->view->set->any[source->table].count;
    int places = 0;
    for (size_t i = 0; i < rows && places <= most; i++) {
        double value;
        const char *row = table_row(source->view->set, source->table, i);
        memcpy(&value, row + column->offset, sizeof value);
        double scaled = value * pow(10.0, places);
        while (isfinite(value) && places <= most &&
               fabs(scaled - rint(scaled)) > 1e-9 * fmax(1.0, fabs(scaled))) {
            scaled = value * pow(10.0, ++places);
        }
    }
    return places;
}

/* Places behind the point, the same in a whole column, so that its figures can be compared at a
 * glance. Given figures are mostly short and stand as they are; of computed ones the largest has
 * four digits that count, and the smallest two as long as that takes no more than PLACES_SMALL.
 * Columns whose unit stands in another column hold what can't be compared. */
static int places_of(const ListingSource *source, const ColumnSchema *column) {
    if (column->kind != COLUMN_REAL || *value_unit(column) == '\0') {
        return PLACES_FREE;
    }
    double largest = 0.0;
    double smallest = INFINITY;
    for (size_t i = 0; i < source->view->set->any[source->table].count; i++) {
        double value;
        const char *row = table_row(source->view->set, source->table, i);
        memcpy(&value, row + column->offset, sizeof value);
        if (isfinite(value) && value != 0.0) {
            largest = fmax(largest, fabs(value));
            smallest = fmin(smallest, fabs(value));
        }
    }
    if (largest <= 0.0) {
        return 0;
    }
    double wanted = 3.0 - floor(log10(largest));
    wanted = fmax(wanted, fmin(1.0 - floor(log10(smallest)), PLACES_SMALL));
    if (source->table == TABLE_opening) {
        wanted = fmax(wanted, PLACES_CUT);
    }
    int places = (int)fmin(PLACES_MAX, fmax(0.0, wanted));
    int given = exact_places(source, column, places > PLACES_SMALL ? places : PLACES_SMALL);
    return given <= PLACES_SMALL || given < places ? given : places;
}

void listing_measure(Arena *arena, DrawFonts *fonts, Listing *listing, double field_mm) {
    ListingSource *source = &listing->source;
    const TableSchema *schema = table_schema(source->table);
    double write_mm = listing->hand == HAND_NONE ? 0.0 : hand_mm(listing) + GAP_MM;
    field_mm -= write_mm;
    source->places = ARENA_ARRAY(arena, int, schema->column_count);
    for (uint32_t i = 0; i < schema->column_count; i++) {
        source->places[i] = places_of(source, &schema->columns[i]);
    }
    size_t count = source->column_count;
    double *wish_mm = ARENA_ARRAY(arena, double, count);
    double *least_mm = ARENA_ARRAY(arena, double, count);
    for (size_t column = 0; column < count; column++) {
        Arena scratch = {0};
        const char *head = head_text(&scratch, source, column);
        least_mm[column] = longest_word_mm(fonts, head, true);
        wish_mm[column] = least_mm[column];
        for (size_t row = 0; row < source->row_count; row++) {
            const char *cell = cell_text(&scratch, source, row, column);
            wish_mm[column] = fmax(wish_mm[column], fonts_width_mm(fonts, cell, CELL_MM, false));
            least_mm[column] = fmax(least_mm[column], longest_word_mm(fonts, cell, false));
        }
        double sign_mm = is_severity(listing, column) ? SIGN_MM : 0.0;
        wish_mm[column] += sign_mm;
        least_mm[column] += sign_mm;
        /* A hair more, so that a text is not broken by the last bit of its own width. */
        wish_mm[column] += 0.05;
        least_mm[column] = fmin(least_mm[column] + 0.05, wish_mm[column]);
        arena_free(&scratch);
    }
    listing->width_mm = ARENA_ARRAY(arena, double, count);
    double gaps_mm = GAP_MM * (double)(count - 1);
    double least_sum_mm = gaps_mm;
    for (size_t column = 0; column < count; column++) {
        least_sum_mm += least_mm[column];
    }
    listing->cramped = least_sum_mm > field_mm;
    double room_mm = field_mm;
    double wish_sum_mm = gaps_mm;
    for (size_t column = 0; column < count; column++) {
        wish_sum_mm += wish_mm[column];
    }
    /* One strip more, when its columns need give way but little for it. */
    double strips =
        floor((field_mm + write_mm + STRIP_GAP_MM) / (wish_sum_mm + write_mm + STRIP_GAP_MM)) + 1.0;
    double strip_mm = (field_mm + write_mm + STRIP_GAP_MM) / strips - STRIP_GAP_MM - write_mm;
    if (least_sum_mm <= strip_mm && SQUEEZED * wish_sum_mm <= strip_mm) {
        room_mm = strip_mm - 0.01;
    }
    share_width(listing->width_mm, wish_mm, least_mm, count, room_mm - gaps_mm);
    listing->total_mm = gaps_mm + write_mm;
    size_t head_lines = 1;
    for (size_t column = 0; column < count; column++) {
        listing->total_mm += listing->width_mm[column];
        const char **lines;
        size_t needed = fonts_wrap(fonts, arena, head_text(arena, source, column), CELL_MM, true,
                                   listing->width_mm[column], &lines);
        head_lines = needed > head_lines ? needed : head_lines;
    }
    listing->head_mm = ABOVE_MM + CELL_MM + (double)(head_lines - 1) * LINE_MM + BELOW_MM;
    strips = floor((field_mm + write_mm + STRIP_GAP_MM) / (listing->total_mm + STRIP_GAP_MM));
    listing->strips = strips < 1.0 ? 1 : (size_t)strips;
}

static size_t cell_lines(DrawFonts *fonts, Arena *scratch, const Listing *listing, size_t row,
                         size_t column, const char ***lines) {
    double width_mm = listing->width_mm[column] - (is_severity(listing, column) ? SIGN_MM : 0.0);
    size_t count = fonts_wrap(fonts, scratch, cell_text(scratch, &listing->source, row, column),
                              CELL_MM, false, width_mm, lines);
    if (count > LINES_MAX) {
        (*lines)[LINES_MAX - 1] =
            fonts_fit(fonts, scratch, "... see tables", CELL_MM, false, width_mm);
        count = LINES_MAX;
    }
    return count;
}

/* Height that the cells of a row need. */
static double cells_mm(DrawFonts *fonts, Arena *scratch, const Listing *listing, size_t row) {
    size_t most = 1;
    for (size_t column = 0; column < listing->source.column_count; column++) {
        const char **lines;
        size_t count = cell_lines(fonts, scratch, listing, row, column, &lines);
        most = count > most ? count : most;
    }
    return ABOVE_MM + CELL_MM + (double)(most - 1) * LINE_MM + BELOW_MM;
}

double listing_row_mm(DrawFonts *fonts, Arena *scratch, const Listing *listing, size_t row) {
    double height_mm = cells_mm(fonts, scratch, listing, row);
    return listing->hand == HAND_NONE ? height_mm : fmax(height_mm, WRITTEN_MM);
}

double listing_top_mm(const Listing *listing) {
    return TITLE_MM + listing->head_mm;
}

/* --- drawing ------------------------------------------------------------------------------------
 */

/* The sign of a severity stands before its word (docs/style.md). */
static void draw_severity(DrawList *list, double x_mm, double base_mm, const char *word) {
    double size_mm = CELL_MM;
    if (strcmp(word, severity_name(SEVERITY_ERROR)) == 0 ||
        strcmp(word, severity_name(SEVERITY_UNREADABLE)) == 0) {
        bool error = strcmp(word, severity_name(SEVERITY_ERROR)) == 0;
        draw_rgb(list, error ? STYLE_ERROR : STYLE_INK);
        draw_fill_rectangle(list, (DrawBox){x_mm, base_mm - size_mm, x_mm + size_mm, base_mm});
        if (!error) {
            draw_rgb(list, STYLE_PAPER);
            draw_line(list, x_mm, base_mm, x_mm + size_mm, base_mm - size_mm, STYLE_MEDIUM_MM);
            draw_rgb(list, STYLE_INK);
        }
    } else if (strcmp(word, severity_name(SEVERITY_WARNING)) == 0) {
        draw_rgb(list, STYLE_WARNING);
        draw_fill(list,
                  (DrawPoint[]){{x_mm, base_mm},
                                {x_mm + size_mm / 2.0, base_mm - size_mm},
                                {x_mm + size_mm, base_mm}},
                  3);
    } else {
        draw_rgb(list, STYLE_NOTE);
        draw_circle(list, x_mm + size_mm / 2.0, base_mm - size_mm / 2.0,
                    size_mm / 2.0 - STYLE_THIN_MM, STYLE_THIN_MM);
    }
}

static void draw_cell_lines(DrawList *list, const Listing *listing, size_t column, double left_mm,
                            double base_mm, bool bold, const char **lines, size_t count) {
    bool right = is_number(&listing->source, column);
    DrawTextStyle style = {
        .height_mm = CELL_MM, .align = right ? ALIGN_RIGHT : ALIGN_LEFT, .bold = bold};
    for (size_t i = 0; i < count; i++) {
        draw_text(list, right ? left_mm + listing->width_mm[column] : left_mm,
                  base_mm + (double)i * LINE_MM, style, lines[i]);
    }
}

static void draw_head(DrawList *list, const Listing *listing, double left_mm, double top_mm) {
    draw_row(list, TABLE_COUNT, "");
    draw_layer(list, LAYER_RULE);
    double right_mm = left_mm + listing->total_mm;
    draw_line(list, left_mm, top_mm, right_mm, top_mm, STYLE_MEDIUM_MM);
    draw_line(list, left_mm, top_mm + listing->head_mm, right_mm, top_mm + listing->head_mm,
              STYLE_MEDIUM_MM);
    draw_layer(list, LAYER_NOTE);
    double x_mm = left_mm;
    for (size_t column = 0; column < listing->source.column_count; column++) {
        const char **lines;
        size_t count =
            fonts_wrap(list->fonts, list->arena, head_text(list->arena, &listing->source, column),
                       CELL_MM, true, listing->width_mm[column], &lines);
        double first_mm = top_mm + listing->head_mm - BELOW_MM - (double)(count - 1) * LINE_MM;
        draw_cell_lines(list, listing, column, x_mm, first_mm, true, lines, count);
        x_mm += listing->width_mm[column] + GAP_MM;
    }
    if (listing->hand != HAND_NONE) {
        draw_text(list, right_mm - hand_mm(listing), top_mm + listing->head_mm - BELOW_MM,
                  (DrawTextStyle){.height_mm = CELL_MM, .bold = true},
                  listing->hand == HAND_TICK ? "done" : "reading, and a tick");
    }
}

/* Draws a row and returns its height. */
static double draw_row_cells(DrawList *list, const Listing *listing, size_t row, double left_mm,
                             double top_mm) {
    double height_mm = listing_row_mm(list->fonts, list->arena, listing, row);
    draw_layer(list, LAYER_NOTE);
    draw_row(list, listing->source.table, row_key(list->arena, &listing->source, row));
    double x_mm = left_mm;
    double own_mm = cells_mm(list->fonts, list->arena, listing, row);
    double base_mm = top_mm + 0.5 * (height_mm - own_mm) + ABOVE_MM + CELL_MM;
    for (size_t column = 0; column < listing->source.column_count; column++) {
        const char **lines;
        size_t count = cell_lines(list->fonts, list->arena, listing, row, column, &lines);
        if (is_severity(listing, column)) {
            draw_layer(list, LAYER_FINDING);
            draw_severity(list, x_mm, base_mm, lines[0]);
            draw_cell_lines(list, listing, column, x_mm + SIGN_MM, base_mm, false, lines, count);
            draw_rgb(list, STYLE_INK);
            draw_layer(list, LAYER_NOTE);
        } else {
            draw_cell_lines(list, listing, column, x_mm, base_mm, false, lines, count);
        }
        x_mm += listing->width_mm[column] + GAP_MM;
    }
    draw_layer(list, LAYER_RULE);
    if (listing->hand != HAND_NONE) {
        double right_mm = left_mm + listing->total_mm;
        double room_mm = 0.5 * (height_mm - TICK_MM);
        draw_rectangle(list,
                       (DrawBox){.left_mm = right_mm - TICK_MM - 0.5,
                                 .top_mm = top_mm + room_mm,
                                 .right_mm = right_mm - 0.5,
                                 .bottom_mm = top_mm + room_mm + TICK_MM},
                       STYLE_THIN_MM);
    }
    draw_row(list, TABLE_COUNT, "");
    draw_line(list, left_mm, top_mm + height_mm, left_mm + listing->total_mm, top_mm + height_mm,
              STYLE_THIN_MM);
    return height_mm;
}

const char *listing_group(Arena *arena, const Listing *listing, size_t row) {
    const ListingSource *source = &listing->source;
    if (!listing->grouped || row >= source->row_count) {
        return "";
    }
    const ColumnSchema *column = &table_schema(source->table)->columns[0];
    const char *bytes = table_row(source->view->set, source->table, row);
    return value_short_text(arena, column, bytes + column->offset);
}

double listing_block(DrawList *list, const Listing *listing, DrawBox field, double top_mm,
                     size_t first, size_t end, size_t strip_rows, bool continued) {
    draw_layer(list, LAYER_TAG);
    const char *group = listing_group(list->arena, listing, first);
    const char *title =
        arena_format(list->arena, "%s%s%s%s", listing->title, *group == '\0' ? "" : ": ", group,
                     continued ? " (continued)" : "");
    draw_text(list, field.left_mm, top_mm + STYLE_TAG_MM + 1.0,
              (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true}, title);
    double bottom_mm = top_mm + TITLE_MM;
    double left_mm = field.left_mm;
    size_t row = first;
    CHECK(strip_rows > 0);
    while (row < end) {
        draw_head(list, listing, left_mm, top_mm + TITLE_MM);
        double y_mm = top_mm + TITLE_MM + listing->head_mm;
        for (size_t i = 0; i < strip_rows && row < end; i++, row++) {
            y_mm += draw_row_cells(list, listing, row, left_mm, y_mm);
        }
        bottom_mm = fmax(bottom_mm, y_mm);
        left_mm += listing->total_mm + STRIP_GAP_MM;
    }
    return bottom_mm;
}
