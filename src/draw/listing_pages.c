/* Which tables stand in the book, in which order, and how they fall on pages. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "draw/listing.h"
#include "table/value.h"

#define BETWEEN_MM 5.0      /* from one table to the next on a page */
#define BESIDE_MM 10.0      /* from one to the next beside it */
#define LOADS_TOTAL "total" /* bus of a row of load_total that is the sum */
#define LEAST_ROWS 3        /* fewer are not begun at the foot of a page */

/* LISTING(table, name of its sheets, title, part of the book, columns shown; "" for all): columns
 * without any value are left out. */
#define LISTINGS(LISTING)                                                                          \
    LISTING(conductor, "wire-list", "Wire list", "Lists",                                          \
            "wire number net core from_pin to_pin awg colour part length_mm cavities device")      \
    LISTING(net, "circuit-index", "Circuit index", "Lists", "")                                    \
    LISTING(cable_run, "cables", "Laid pieces", "Lists",                                           \
            "cable net class part conductors length_mm mass_kg shield route shells")               \
    LISTING(shell_use, "shells", "Ways of the disconnects", "Lists", "")                           \
    LISTING(bundle, "bundles", "Bundles", "Lists", "")                                             \
    LISTING(coax_run, "coax", "Coax", "Lists", "")                                                 \
    LISTING(chain_run, "chains", "Data chains", "Lists", "")                                       \
    LISTING(equipment, "equipment", "Equipment, mass and arm", "Equipment", "")                    \
    LISTING(mass, "mass", "Mass and moment about the datum", "Equipment", "")                      \
    LISTING(device_list, "devices", "Protection and switchgear", "Equipment", "")                  \
    LISTING(opening, "panel-holes", "Holes of the panel: finished, and as cut before coating",     \
            "Equipment",                                                                           \
            "item hole face what shape u_mm v_mm width_mm height_mm cut_width_mm cut_height_mm "   \
            "sink_mm head_mm screw")                                                               \
    LISTING(load_total, "loads", "Load by phase and bus, in amps", "Loads", "")                    \
    LISTING(supply_margin, "margins", "Load of each phase against its alternator", "Loads", "")    \
    LISTING(endurance, "endurance-table", "Endurance", "Loads", "")                                \
    LISTING(feeder, "feeders", "Supply of each port", "Loads", "")                                 \
    LISTING(gauge, "gauges", "What governs each gauge", "Loads", "")                               \
    LISTING(port_voltage, "voltages", "Solved voltage at supply ports", "Loads", "")               \
    LISTING(device_current, "currents", "Solved current of devices", "Loads", "")                  \
    LISTING(heading, "heading-table", "Heading error of magnetometers and compasses", "Loads", "") \
    LISTING(guard, "shorts", "What a short does to each supply wire, worst first", "Failures",     \
            "conductor circuit awg fault_at device rating_a high_a low_a slow_s damage_s "         \
            "margin verdict because")                                                              \
    LISTING(selectivity, "selectivity", "Which of two devices in series opens first", "Failures",  \
            "device upstream rating_a upstream_rating_a near_a near_upstream_a near_verdict "      \
            "far_a far_upstream_a far_verdict slow_s upstream_fast_s verdict")                     \
    LISTING(return_path, "return-paths", "Where the current goes when a ground is lifted",         \
            "Failures",                                                                            \
            "lifted circuit box before_a path_a through weakest weakest_a rating_a verdict loses") \
    LISTING(common, "common-cause", "Places that take two ways of a need together", "Failures",    \
            "need clause kind place ways left loses in_scope conductors proposal")                 \
    LISTING(restart, "restarts", "Boxes that start again while the engine is started", "Loads",    \
            "")                                                                                    \
    LISTING(inrush, "inrush", "What switching on does to devices and contacts", "Loads", "")       \
    LISTING(fault_effect, "failures", "Failures by what they lose, worst first", "Failures",       \
            "number severity needs failures count phases dark opens noticed status "               \
            "note")                                                                                \
    LISTING(cut_count, "cut-counts",                                                               \
            "How many failures lose each need; the classes are the job's own words", "Failures",   \
            "")                                                                                    \
    LISTING(cut_set, "cut-sets", "Failures that lose a need; the classes are the job's own words", \
            "Failures", "need order failures phases severity in_scope shows sets exception note")  \
    LISTING(cut_work, "cut-work", "What the search for them tried and left out", "Failures", "")   \
    LISTING(sneak, "sneaks", "Current into buses that should be dead", "Failures", "")             \
    LISTING(sneak_count, "sneak-counts", "Combinations of switches and sources looked at",         \
            "Failures", "")                                                                        \
    LISTING(shared_line, "shared-lines", "Lines shared by boxes on different buses", "Failures",   \
            "")                                                                                    \
    LISTING(harness, "harnesses", "Harnesses", "Bench",                                            \
            "module name pieces runs leaves arms arms_mm wire_mm mass_kg opened opened_at")        \
    LISTING(work_total, "work-totals", "Minutes of each harness", "Bench", "")                     \
    LISTING(bench_finding, "bench-findings", "Findings of the bench", "Bench",                     \
            "number severity rule row message value limit unit hint reason")                       \
    LISTING(bench_code, "bench-codes", "Letters and tools of the lists that follow", "Bench", "")  \
    LISTING(pull_test, "pull-tests", "Crimps to pull", "Bench",                                    \
            "module contact awg crimp_tool crimps shifts samples wire_mm least_n table status")    \
    LISTING(bundle_fit, "bundle-room", "Room that bundles need", "Bench", "")                      \
    LISTING(cut_plan, "cut-plan", "Wire by wire: needed, on hand, to buy", "Bench", "")            \
    LISTING(reel_plan, "reels", "What each reel gives", "Bench", "")                               \
    LISTING(cut, "cuts", "Cuts, reel by reel", "Bench",                                            \
            "reel place piece number module part colour length_mm left_m")                         \
    LISTING(offcut, "offcuts", "Remnants once all is cut", "Bench", "")                            \
    LISTING(piece, "cut-lengths", "Pieces to cut", "Bench",                                        \
            "piece number part cut_as from_end to_end path_mm stub_from_mm stub_to_mm "            \
            "loop_from_mm loop_to_mm handling_mm slack_mm twist_mm bend_mm cut_mm why")            \
    LISTING(end_prep, "ends", "Preparation of ends", "Bench",                                      \
            "piece end at awg slides cut_back strip_mm contact tools note")                        \
    LISTING(work, "work", "Work list", "Bench", "")                                                \
    LISTING(ringout_count, "ring-out-counts", "Readings of the ring-out, by tester", "Bench", "")  \
    LISTING(ringout, "ring-out", "Ring-out, no power", "Bench",                                    \
            "step kind point_a point_b wires expected_ohm low_ohm high_ohm mode note")             \
    LISTING(ringout_tie, "ring-out-sides", "Sides of the isolation readings", "Bench",             \
            "session point sides")                                                                 \
    LISTING(bench_record, "bench-record", "Work as it was done", "Bench",                          \
            "operation item built tool lot pull_n person time")                                    \
    LISTING(option_gate, "options", "Options and their last gates", "Findings", "")                \
    LISTING(open_question, "questions", "Open questions", "Findings", "")                          \
    LISTING(finding, "findings", "Findings", "Findings",                                           \
            "number severity rule row column message value limit unit source hint reason")         \
    LISTING(source_used, "sources", "Limits in force and their sources", "Findings", "")

static const struct {
    TableId table;
    const char *name;
    const char *title;
    const char *part;
    const char *columns;
} KINDS[] = {
#define LISTING_ROW(table, name, title, part, columns) {TABLE_##table, name, title, part, columns},
    LISTINGS(LISTING_ROW)
#undef LISTING_ROW
};

enum { KIND_COUNT = sizeof KINDS / sizeof *KINDS };

/* Rows [first, end) of a listing on a page. */
typedef struct Block {
    uint32_t kind;
    size_t first;
    size_t end;
    size_t strip_rows;
    double left_mm; /* from the left edge of the field */
    double top_mm;
    bool continued;
} Block;

typedef struct Page {
    size_t block_first;
    size_t block_count;
} Page;

typedef struct ListingPlan {
    Listing listings[KIND_COUNT];
    uint32_t pages_of[KIND_COUNT]; /* on which it comes first */
    Block *blocks;
    size_t block_count;
    size_t block_capacity;
    Page *pages;
    size_t page_count;
    size_t page_capacity;
} ListingPlan;

/* --- sources ------------------------------------------------------------------------------------
 */

static bool has_value(const DrawView *view, TableId table, const ColumnSchema *column) {
    Arena scratch = {0};
    bool found = false;
    for (size_t i = 0; i < view->set->any[table].count && !found; i++) {
        const char *row = table_row(view->set, table, i);
        found = *value_short_text(&scratch, column, row + column->offset) != '\0';
    }
    arena_free(&scratch);
    return found;
}

/* Lines of a matrix: rows with one first key. Its columns: the second keys in order of coming. */
static void make_matrix(Arena *arena, ListingSource *source) {
    const TableSet *set = source->view->set;
    const TableSchema *schema = table_schema(source->table);
    size_t rows = set->any[source->table].count;
    NameMap heads = {0};
    size_t head_capacity = 0;
    size_t head_count = 0;
    source->matrix_rows = ARENA_ARRAY(arena, uint32_t, rows + 1);
    source->row_count = 0;
    const char *before = NULL;
    for (size_t i = 0; i < rows; i++) {
        const char *row = table_row(set, source->table, i);
        const char *line = value_text(arena, &schema->columns[0], row + schema->columns[0].offset);
        const char *head = value_text(arena, &schema->columns[1], row + schema->columns[1].offset);
        if (before == NULL || strcmp(before, line) != 0) {
            source->matrix_rows[source->row_count++] = (uint32_t)i;
            before = line;
        }
        if (name_map_add(&heads, arena, head, 0) == NAME_NONE && strcmp(head, LOADS_TOTAL) != 0) {
            *ARENA_PUSH(arena, source->matrix_heads, head_count, head_capacity) = head;
        }
    }
    source->matrix_rows[source->row_count] = (uint32_t)rows;
    if (name_map_find(&heads, LOADS_TOTAL) != NAME_NONE) { /* the sum stands last */
        *ARENA_PUSH(arena, source->matrix_heads, head_count, head_capacity) = LOADS_TOTAL;
    }
    source->column_count = head_count + 1;
}

/* Lists that are handed out harness by harness: each begins on a page of its own. Their tables have
 * the module as first column. */
static bool by_module(TableId table) {
    return table == TABLE_piece || table == TABLE_end_prep || table == TABLE_work ||
           table == TABLE_ringout || table == TABLE_ringout_tie || table == TABLE_bench_record;
}

/* What the bench adds to each row of a table. */
static ListingHand hand_at(TableId table) {
    if (table == TABLE_ringout || table == TABLE_pull_test) {
        return HAND_READING;
    }
    return table == TABLE_cut || table == TABLE_reel_plan || table == TABLE_work ? HAND_TICK
                                                                                 : HAND_NONE;
}

/* Rows that stand on paper. Of failures those that lose a need or a supply, which come first; the
 * rest, and every single failure, is in the tables. */
static size_t rows_shown(const DrawView *view, TableId table) {
    size_t count = view->set->any[table].count;
    if (table == TABLE_fault_effect) {
        size_t shown = 0;
        while (shown < count && (*view->set->fault_effect.rows[shown].needs != '\0' ||
                                 *view->set->fault_effect.rows[shown].dark != '\0')) {
            shown++;
        }
        return shown;
    }
    return count;
}

/* Rows in the order of the column `worst` (1, 2, ...), those without a number left out. */
static void order_worst_first(Arena *arena, ListingSource *source) {
    const TableSchema *schema = table_schema(source->table);
    for (uint32_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        if (strcmp(column->name, "worst") != 0 || source->row_count == 0) {
            continue;
        }
        uint32_t *order = ARENA_ARRAY(arena, uint32_t, source->row_count);
        size_t numbered = 0;
        for (size_t i = 0; i < source->row_count; i++) {
            const char *row = table_row(source->view->set, source->table, i);
            int32_t place;
            memcpy(&place, row + column->offset, sizeof place);
            if (place >= 1 && (size_t)place <= source->row_count) {
                order[place - 1] = (uint32_t)i;
                numbered++;
            }
        }
        source->row_count = numbered;
        source->order = order;
    }
}

static void make_source(Arena *arena, const DrawView *view, uint32_t kind, bool matrix,
                        ListingSource *source) {
    const TableSchema *schema = table_schema(KINDS[kind].table);
    uint32_t *fields = ARENA_ARRAY(arena, uint32_t, schema->column_count);
    *source = (ListingSource){
        .view = view,
        .table = KINDS[kind].table,
        .fields = fields,
        .row_count = rows_shown(view, KINDS[kind].table),
    };
    for (uint32_t i = 0; i < schema->column_count; i++) {
        const ColumnSchema *column = &schema->columns[i];
        if (i == 0 && by_module(source->table)) {
            continue; /* it stands in the title */
        }
        bool wanted =
            *KINDS[kind].columns == '\0' || text_has_word(KINDS[kind].columns, column->name);
        if (wanted && has_value(view, source->table, column)) {
            fields[source->column_count++] = i;
        }
    }
    order_worst_first(arena, source);
    if (matrix && source->table == TABLE_load_total && source->row_count > 0) {
        make_matrix(arena, source);
    }
}

/* --- pages --------------------------------------------------------------------------------------
 */

typedef struct Filler {
    SheetPlan *plan;
    ListingPlan *kept;
    DrawBox field;
    double y_mm;
    bool open; /* a page has been begun */
} Filler;

static void new_page(Filler *filler) {
    ListingPlan *kept = filler->kept;
    *ARENA_PUSH(filler->plan->arena, kept->pages, kept->page_count, kept->page_capacity) =
        (Page){kept->block_count, 0};
    filler->y_mm = filler->field.top_mm;
    filler->open = true;
}

/* How many rows from `first` on fit into `room_mm`, in one strip; *height_mm: of them. */
static size_t fitting_rows(Filler *filler, const Listing *listing, size_t first, double room_mm,
                           size_t most, double *height_mm) {
    size_t count = 0;
    *height_mm = 0.0;
    while (first + count < listing->source.row_count && count < most) {
        Arena scratch = {0};
        double row_mm = listing_row_mm(filler->plan->fonts, &scratch, listing, first + count);
        arena_free(&scratch);
        if (*height_mm + row_mm > room_mm) {
            break;
        }
        *height_mm += row_mm;
        count++;
    }
    return count;
}

/* Height of the tallest strip, when `rows` rows stand in each. */
static double tallest_mm(Filler *filler, const Listing *listing, size_t first, size_t rows,
                         size_t end) {
    double most_mm = 0.0;
    for (size_t i = 0; rows > 0 && i < listing->strips && first + i * rows < end; i++) {
        size_t from = first + i * rows;
        size_t left = end - from;
        double strip_mm;
        fitting_rows(filler, listing, from, INFINITY, left < rows ? left : rows, &strip_mm);
        most_mm = fmax(most_mm, strip_mm);
    }
    return most_mm;
}

/* Where the group of a row ends; without groups: the last row. */
static size_t group_end(const Listing *listing, size_t row) {
    size_t end = row + 1;
    Arena scratch = {0};
    const char *group = listing_group(&scratch, listing, row);
    while (end < listing->source.row_count &&
           (!listing->grouped || strcmp(listing_group(&scratch, listing, end), group) == 0)) {
        end++;
    }
    arena_free(&scratch);
    return end;
}

/* Whether a block that begins with this row goes on with what a block before it began. */
static bool goes_on(const Listing *listing, size_t row) {
    Arena scratch = {0};
    bool same = row > 0 && strcmp(listing_group(&scratch, listing, row - 1),
                                  listing_group(&scratch, listing, row)) == 0;
    arena_free(&scratch);
    return same;
}

/* The rows of a block that begins at filler->y_mm; none when too few fit there. */
static Block next_block(Filler *filler, uint32_t kind, size_t first, double *height_mm) {
    const Listing *listing = &filler->kept->listings[kind];
    size_t left = group_end(listing, first) - first;
    double room_mm = filler->field.bottom_mm - filler->y_mm - listing_top_mm(listing);
    Block block = {kind, first, first, 1, 0.0, filler->y_mm, goes_on(listing, first)};
    size_t balanced = (left + listing->strips - 1) / listing->strips;
    size_t rows = fitting_rows(filler, listing, first, room_mm, balanced, height_mm);
    while (listing->strips > 1 && rows > 1 &&
           tallest_mm(filler, listing, first, rows, first + left) > room_mm) {
        rows--;
    }
    *height_mm = tallest_mm(filler, listing, first, rows, first + left);
    bool fresh = filler->y_mm <= filler->field.top_mm;
    size_t least = balanced < LEAST_ROWS ? balanced : LEAST_ROWS;
    if (fresh && rows == 0) {
        rows = 1; /* taller than a page: it cannot do better elsewhere */
    } else if (!fresh && rows < least) {
        rows = 0;
    }
    block.strip_rows = rows == 0 ? 1 : rows;
    size_t taken = rows * listing->strips;
    block.end = first + (taken < left ? taken : left);
    return block;
}

/* A small table beside the one before, where it finds no room below it: true when it stands. */
static bool fill_beside(Filler *filler, uint32_t kind) {
    ListingPlan *kept = filler->kept;
    const Listing *listing = &kept->listings[kind];
    if (kept->pages[kept->page_count - 1].block_count == 0) {
        return false;
    }
    const Block *before = &kept->blocks[kept->block_count - 1];
    size_t strips = (before->end - before->first + before->strip_rows - 1) / before->strip_rows;
    double left_mm =
        before->left_mm + (double)strips * (kept->listings[before->kind].total_mm + BESIDE_MM);
    double room_mm = filler->field.bottom_mm - before->top_mm - listing_top_mm(listing);
    double height_mm;
    size_t rows = listing->source.row_count;
    if (filler->field.left_mm + left_mm + listing->total_mm > filler->field.right_mm ||
        fitting_rows(filler, listing, 0, room_mm, rows, &height_mm) < rows) {
        return false;
    }
    Block block = {kind, 0, rows, rows, left_mm, before->top_mm, false};
    *ARENA_PUSH(filler->plan->arena, kept->blocks, kept->block_count, kept->block_capacity) = block;
    kept->pages[kept->page_count - 1].block_count++;
    filler->y_mm =
        fmax(filler->y_mm, block.top_mm + listing_top_mm(listing) + height_mm + BETWEEN_MM);
    return true;
}

static void fill_listing(Filler *filler, uint32_t kind) {
    ListingPlan *kept = filler->kept;
    size_t rows = kept->listings[kind].source.row_count;
    size_t first = 0;
    while (first < rows) {
        const Listing *listing = &kept->listings[kind];
        filler->open = filler->open && (!listing->grouped || goes_on(listing, first));
        if (!filler->open) {
            new_page(filler);
        }
        double height_mm;
        Block block = next_block(filler, kind, first, &height_mm);
        if (block.end == first) {
            if (first == 0 && fill_beside(filler, kind)) {
                return;
            }
            filler->open = false;
            continue;
        }
        *ARENA_PUSH(filler->plan->arena, kept->blocks, kept->block_count, kept->block_capacity) =
            block;
        kept->pages[kept->page_count - 1].block_count++;
        filler->y_mm += listing_top_mm(&kept->listings[kind]) + height_mm + BETWEEN_MM;
        first = block.end;
        if (first < rows) {
            filler->open = false;
        }
    }
}

static void name_pages(SheetPlan *plan, ListingPlan *kept) {
    for (uint32_t i = 0; i < kept->page_count; i++) {
        const Block *blocks = &kept->blocks[kept->pages[i].block_first];
        uint32_t kind = blocks[0].kind;
        Buffer title = {.arena = plan->arena};
        Buffer begins = {.arena = plan->arena};
        size_t count = kept->pages[i].block_count;
        const char *group = listing_group(plan->arena, &kept->listings[kind], blocks[0].first);
        buffer_format(&title, "%s%s%s%s", KINDS[kind].title, *group == '\0' ? "" : ": ", group,
                      blocks[0].continued ? " (continued)" : "");
        if (count == 2) {
            buffer_format(&title, "; %s", KINDS[blocks[1].kind].title);
        } else if (count > 2) {
            buffer_format(&title, " and %zu more", count - 1);
        }
        for (size_t j = 0; j < count; j++) {
            if (!blocks[j].continued) {
                const char *of =
                    listing_group(plan->arena, &kept->listings[blocks[j].kind], blocks[j].first);
                buffer_format(&begins, "%s%s%s%s", begins.length == 0 ? "" : "; ",
                              KINDS[blocks[j].kind].title, *of == '\0' ? "" : ": ", of);
            }
        }
        const char *name =
            arena_format(plan->arena, "%s-%u", KINDS[kind].name, ++kept->pages_of[kind]);
        uint32_t sheet = sheet_add(plan, SHEET_TABLE, i, KINDS[kind].part, name, title.bytes, "");
        plan->sheets[sheet].begins = begins.length == 0 ? "" : begins.bytes;
    }
}

void listing_plan(SheetPlan *plan) {
    ListingPlan *kept = ARENA_NEW(plan->arena, ListingPlan);
    plan->kept[SHEET_TABLE] = kept;
    Filler filler = {.plan = plan, .kept = kept, .field = sheet_field(plan->view->paper)};
    double field_mm = filler.field.right_mm - filler.field.left_mm;
    const char *part = "";
    for (uint32_t kind = 0; kind < KIND_COUNT; kind++) {
        Listing *listing = &kept->listings[kind];
        make_source(plan->arena, plan->view, kind, true, &listing->source);
        if (listing->source.row_count == 0) {
            continue;
        }
        listing->name = KINDS[kind].name;
        listing->title = KINDS[kind].title;
        listing->grouped = by_module(listing->source.table);
        listing->hand = hand_at(listing->source.table);
        listing_measure(plan->arena, plan->fonts, listing, field_mm);
        if (listing->cramped && listing->source.matrix_rows != NULL) {
            /* More buses than stand beside each other: a line for each. */
            make_source(plan->arena, plan->view, kind, false, &listing->source);
            listing_measure(plan->arena, plan->fonts, listing, field_mm);
        }
        if (strcmp(part, KINDS[kind].part) != 0) {
            filler.open = false; /* a part of the book begins on its own page */
            part = KINDS[kind].part;
        }
        fill_listing(&filler, kind);
    }
    name_pages(plan, kept);
}

void listing_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    const ListingPlan *kept = plan->kept[SHEET_TABLE];
    const Page *page = &kept->pages[sheet->index];
    for (size_t i = 0; i < page->block_count; i++) {
        const Block *block = &kept->blocks[page->block_first + i];
        DrawBox room = field;
        room.left_mm += block->left_mm;
        listing_block(list, &kept->listings[block->kind], room, block->top_mm, block->first,
                      block->end, block->strip_rows, block->continued);
    }
}
