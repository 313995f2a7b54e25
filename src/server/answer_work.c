/* What a tablet at the board shows: a module's work wire by wire, with faces and board as numbers
 * that the page draws itself (so it still can when the desk is out of reach); the ring-out with
 * what the readings mean; how far each module is. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "app/bench_items.h"
#include "app/ring.h"
#include "base/text.h"
#include "draw/shell_face.h"
#include "server/routes.h"
#include "store/bench.h"
#include "table/value.h"

/* Rows of the bench as they are now. False after refusing. */
static bool read_kept(Asking *asking, TableSet *kept) {
    StoreJob job;
    if (!asking_job(asking, &job)) {
        return false;
    }
    Store *store = desk_store(asking->desk);
    Status status = store_bench_load(store, asking->arena, job, kept);
    desk_store_done(asking->desk);
    return asking_good(asking, status);
}

/* The job with its bench; NULL after refusing. */
static Live *bench_live(Asking *asking) {
    Live *live = asking_live(asking, LIVE_FULL);
    if (live != NULL && !live->proof.complete) {
        asking_refuse(asking, 409, "what can't be read has to be mended first", NULL);
        desk_live_done(asking->desk, live);
        return NULL;
    }
    return live;
}

/* ID_NONE after refusing. */
static ModuleId find_module(Asking *asking, const Proof *proof, const char *name) {
    ModuleId module = model_row(&proof->model, TABLE_module, name);
    if (module == ID_NONE) {
        const char **names = ARENA_ARRAY(asking->arena, const char *, proof->set.module.count);
        for (size_t i = 0; i < proof->set.module.count; i++) {
            names[i] = proof->set.module.rows[i].module;
        }
        asking_refuse(asking, 404, arena_format(asking->arena, "no module is called %s", name),
                      text_nearest(name, names, proof->set.module.count));
    }
    return module;
}

static json_t *real_json(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

/* --- progress -------------------------------------------------------------------------------- */

static json_t *ring_json(const BenchRing *ring) {
    return json_pack("{s:I, s:I, s:I, s:I}", "steps", (json_int_t)ring->steps, "good",
                     (json_int_t)ring->good, "bad", (json_int_t)ring->bad, "earlier",
                     (json_int_t)ring->earlier);
}

static json_t *progress_json(const BenchProgress *progress) {
    json_t *object = json_pack(
        "{s:f, s:f, s:f, s:f, s:I, s:I, s:I, s:I, s:I}", "total_min", progress->total_min,
        "made_min", progress->made_min, "proven_min", progress->proven_min, "shippable_min",
        progress->shippable_min, "items", (json_int_t)progress->items, "ticked",
        (json_int_t)progress->ticked, "own", (json_int_t)progress->own, "problems",
        (json_int_t)progress->problems, "rebuilt", (json_int_t)progress->rebuilt);
    json_object_update_new(object, ring_json(&progress->ring));
    return object;
}

void ask_bench_progress(Asking *asking) {
    TableSet kept = {0};
    Live *live = bench_live(asking);
    if (live == NULL) {
        return;
    }
    if (read_kept(asking, &kept)) {
        json_t *list = json_array();
        for (size_t i = 0; i < live->proof.set.module.count; i++) {
            BenchItems items;
            BenchProgress progress;
            Arena scratch = {0};
            bench_items(&scratch, &live->proof, (ModuleId)i, &items);
            if (items.count > 0) {
                bench_progress(&scratch, &live->proof, (ModuleId)i, &items, &kept, &progress);
                const ModuleRow *row = &live->proof.set.module.rows[i];
                json_array_append_new(list,
                                      json_pack("{s:s, s:s, s:o}", "module", row->module, "name",
                                                row->name, "progress", progress_json(&progress)));
            }
            arena_free(&scratch);
        }
        BenchRing ring;
        bench_ring(asking->arena, &live->proof, RIG_INSTALLED, &kept, &ring);
        asking_put_json(asking, 200,
                        json_pack("{s:I, s:o, s:o}", "act", (json_int_t)live->act, "modules", list,
                                  RIG_INSTALLED, ring_json(&ring)));
    }
    desk_live_done(asking->desk, live);
}

/* --- work ------------------------------------------------------------------------------------ */

typedef struct Telling {
    Arena *arena;
    Proof *proof;
    const HarnessSet *set;
    const Harness *harness;
    const BoardSet *boards;
    const Board *board;
    DrawFonts *fonts;
    ModuleId module;
} Telling;

/* Samples of one kind of crimp; null of other items. */
static json_t *pull_json(const Telling *telling, uint32_t pull) {
    if (pull == ID_NONE) {
        return json_null();
    }
    const PullTestRow *row = &telling->proof->set.pull_test.rows[pull];
    json_t *object = json_pack("{s:s, s:s, s:s, s:i, s:s}", "contact", row->contact, "awg",
                               value_awg_text(telling->arena, row->awg), "tool", row->crimp_tool,
                               "samples", row->samples, "source", row->source);
    json_object_set_new(object, "least_n", real_json(row->least_n));
    return object;
}

static json_t *items_json(const Telling *telling, const BenchItems *items) {
    json_t *list = json_array();
    for (size_t i = 0; i < items->count; i++) {
        const BenchItem *item = &items->items[i];
        const WorkItem *work = &telling->proof->bench->work.items[item->work];
        const LabourRow *labour = &telling->proof->set.labour.rows[work->labour];
        const char *leaf = work->scope == WORK_LEAF ? telling->set->leaves[work->object].label : "";
        json_array_append_new(
            list,
            json_pack("{s:s, s:s, s:s, s:s, s:f, s:s, s:i, s:o}", "op", labour->operation, "key",
                      item->key, "built", item->built, "leaf", leaf, "min", item->minutes, "piece",
                      item->piece == ID_NONE ? "" : telling->set->pieces[item->piece].key, "end",
                      item->end == ID_NONE ? 0 : (int)item->end + 1, "pull",
                      pull_json(telling, item->pull)));
    }
    return list;
}

static json_t *operations_json(const Telling *telling) {
    json_t *object = json_object();
    for (size_t i = 0; i < telling->proof->set.labour.count; i++) {
        const LabourRow *row = &telling->proof->set.labour.rows[i];
        json_object_set_new(
            object, row->operation,
            json_pack("{s:s, s:s, s:s}", "name", row->name, "who", row->who, "per", row->per));
    }
    return object;
}

/* Board arms that a piece lies in, its two ends included. */
static json_t *way_json(const Telling *telling, const HarnessPiece *piece) {
    json_t *arms = json_array();
    const HarnessRun *run = &telling->set->runs[piece->run];
    for (uint32_t i = 0; i < run->step_count; i++) {
        uint32_t arm = telling->set->steps[run->step_first + i].arm;
        json_array_append_new(arms, json_integer((json_int_t)arm - telling->harness->arm_first));
    }
    for (uint32_t s = 0; s < telling->board->stub_count; s++) {
        const BoardStub *stub = &telling->board->stubs[s];
        for (uint32_t k = 0; k < stub->leaf_count; k++) {
            if (stub->leaves[k] == piece->leaf[0] || stub->leaves[k] == piece->leaf[1]) {
                json_array_append_new(arms,
                                      json_integer((json_int_t)telling->board->arm_count + s));
            }
        }
    }
    return arms;
}

static const char *leaf_label(const Telling *telling, uint32_t leaf) {
    return leaf == ID_NONE ? "" : telling->set->leaves[leaf].label;
}

static json_t *pieces_json(const Telling *telling) {
    const TableSet *tables = &telling->proof->set;
    NameMap cuts = {0};
    NameMap wires = {0};
    NameMap rows = {0};
    for (size_t i = 0; i < tables->cut.count; i++) {
        name_map_add(&cuts, telling->arena, tables->cut.rows[i].piece, (uint32_t)i);
    }
    for (size_t i = 0; i < tables->conductor.count; i++) {
        name_map_add(&wires, telling->arena, tables->conductor.rows[i].wire, (uint32_t)i);
    }
    for (uint32_t i = 0; i < telling->set->ends->piece_count; i++) {
        name_map_add(&rows, telling->arena, telling->set->pieces[i].key, i);
    }
    json_t *object = json_object();
    for (size_t i = 0; i < tables->piece.count; i++) {
        const PieceRow *row = &tables->piece.rows[i];
        uint32_t index = name_map_find(&rows, row->piece);
        const HarnessPiece *piece = index == NAME_NONE ? NULL : &telling->set->pieces[index];
        if (piece == NULL || piece->leaf[0] == ID_NONE ||
            telling->set->runs[piece->run].harness != telling->module) {
            continue;
        }
        uint32_t cut = name_map_find(&cuts, *row->cut_as == '\0' ? row->piece : row->cut_as);
        uint32_t wire = name_map_find(&wires, row->wire);
        const ConductorRow *conductor = wire == NAME_NONE ? NULL : &tables->conductor.rows[wire];
        json_t *about = json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s}", "wire",
                                  row->wire, "number", row->number, "net", row->net, "part",
                                  row->part, "cut_as", row->cut_as, "from", row->from_end, "to",
                                  row->to_end, "leaf1", leaf_label(telling, piece->leaf[0]),
                                  "leaf2", leaf_label(telling, piece->leaf[1]), "reel",
                                  cut == NAME_NONE ? "" : tables->cut.rows[cut].reel, "colour",
                                  conductor == NULL ? "" : conductor->colour);
        json_object_set_new(about, "cut_mm", real_json(row->cut_mm));
        json_object_set_new(about, "minus_mm", real_json(row->minus_mm));
        json_object_set_new(about, "plus_mm", real_json(row->plus_mm));
        json_object_set_new(about, "awg",
                            json_string(conductor == NULL || conductor->awg == INT_BLANK
                                            ? ""
                                            : arena_format(telling->arena, "%d", conductor->awg)));
        json_object_set_new(about, "way", way_json(telling, piece));
        json_object_set_new(object, row->piece, about);
    }
    return object;
}

static json_t *ends_json(const Telling *telling) {
    const TableSet *tables = &telling->proof->set;
    const char *module = tables->module.rows[telling->module].module;
    json_t *object = json_object();
    for (size_t i = 0; i < tables->end_prep.count; i++) {
        const EndPrepRow *row = &tables->end_prep.rows[i];
        if (strcmp(row->module, module) != 0) {
            continue;
        }
        json_t *about = json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s}", "at", row->at,
                                  "contact", row->contact, "slide_on", row->slide_on, "cut_back",
                                  row->cut_back, "tool", row->crimp_tool, "insert",
                                  row->insert_tool, "gap", row->gap, "note", row->note);
        json_object_set_new(about, "strip_mm", real_json(row->strip_mm));
        json_object_set_new(about, "least_n", real_json(row->least_n));
        json_object_set_new(object, arena_format(telling->arena, "%s/%d", row->piece, row->end),
                            about);
    }
    return object;
}

/* --- faces ----------------------------------------------------------------------------------- */

/* The half that the harness has: as on the connector sheets. */
static FaceHalf half_of(const Telling *telling, const HarnessLeaf *leaf) {
    if (leaf->kind == HARNESS_LEAF_SHELL) {
        ShellSide side = leaf->far ? SHELL_FAR : SHELL_NEAR;
        return telling->set->ends->socket_side[leaf->disconnect_shell] == side ? FACE_SOCKETS
                                                                               : FACE_PINS;
    }
    const TableSet *tables = &telling->proof->set;
    const ModelOwner *owner = &telling->proof->model.owners[leaf->owner];
    const char *part = tables->part.rows[owner->part].part;
    for (size_t i = 0; i < tables->part_connector.count; i++) {
        const PartConnectorRow *row = &tables->part_connector.rows[i];
        if (strcmp(row->part, part) == 0 && strcmp(row->connector, leaf->connector) == 0) {
            return strcmp(row->unit_side, "pins") == 0 ? FACE_SOCKETS : FACE_PINS;
        }
    }
    return FACE_SOCKETS;
}

/* Cavities as they are seen from the side of the wires; y down. */
static json_t *face_json(const Telling *telling, const HarnessLeaf *leaf) {
    static const char *const FORMS[] = {"d", "circle", "block", "coax", "studs", "leads"};
    Arena scratch = {0};
    ShellFace face;
    shell_face_read(&scratch, telling->fonts, &telling->proof->model, leaf->shell, &face);
    FaceHalf half = half_of(telling, leaf);
    json_t *ways = json_array();
    for (uint32_t i = 0; i < face.ways && face.form != FACE_LEADS; i++) {
        DrawPoint at = shell_face_at(&face, half, FACE_WIRE_SIDE, i);
        json_array_append_new(ways, json_pack("[s, f, f]", face.names[i], at.x_mm, at.y_mm));
    }
    json_t *object = json_pack("{s:s, s:s, s:b, s:f, s:f, s:f, s:o}", "form", FORMS[face.form],
                               "half", half == FACE_SOCKETS ? "sockets" : "pins", "measured",
                               face.measured ? 1 : 0, "w", 2.0 * face.half_width_mm, "h",
                               2.0 * face.half_height_mm, "pitch", face.pitch_mm, "ways", ways);
    json_object_set_new(object, "name",
                        json_string(telling->proof->set.shell.rows[leaf->shell].name));
    arena_free(&scratch);
    return object;
}

static json_t *faces_json(const Telling *telling) {
    json_t *object = json_object();
    for (uint32_t i = 0; i < telling->harness->leaf_count; i++) {
        const HarnessLeaf *leaf = &telling->set->leaves[telling->harness->leaf_first + i];
        bool has_face = leaf->kind == HARNESS_LEAF_CONNECTOR || leaf->kind == HARNESS_LEAF_SHELL;
        if (has_face && leaf->shell != ID_NONE) {
            json_object_set_new(object, leaf->label, face_json(telling, leaf));
        }
    }
    return object;
}

/* --- board ----------------------------------------------------------------------------------- */

/* A point of the board with y down, to a tenth of a mm. */
static void add_point(json_t *list, const Board *board, FlatPoint at) {
    json_array_append_new(list, json_real(round(10.0 * at.x_mm) / 10.0));
    json_array_append_new(list, json_real(round(10.0 * (board->flat.height_mm - at.y_mm)) / 10.0));
}

static json_t *arm_json(const Telling *telling, uint32_t arm) {
    const Board *board = telling->board;
    json_t *line = json_array();
    for (uint32_t i = board->flat.arm_first[arm]; i < board->flat.arm_first[arm + 1]; i++) {
        const FlatPiece *piece = &board->flat.pieces[i];
        int parts = piece->turn_per_mm == 0.0 ? 1 : 6; /* enough for an eye */
        for (int k = 0; k <= parts; k++) {
            if (k > 0 || json_array_size(line) == 0) {
                double heading_rad;
                add_point(line, board,
                          flat_piece_at(piece, piece->length_mm * k / parts, &heading_rad));
            }
        }
    }
    json_t *leaves = json_array();
    if (arm >= board->arm_count) {
        const BoardStub *stub = &board->stubs[arm - board->arm_count];
        for (uint32_t i = 0; i < stub->leaf_count; i++) {
            json_array_append_new(leaves, json_string(leaf_label(telling, stub->leaves[i])));
        }
    }
    return json_pack("{s:s, s:o, s:o}", "name", board_arm_name(telling->boards, board, arm),
                     "leaves", leaves, "line", line);
}

static json_t *board_json(const Telling *telling) {
    const Board *board = telling->board;
    json_t *arms = json_array();
    if (board->flat.piece_count > 0) {
        for (uint32_t i = 0; i < board->tree.arm_count; i++) {
            json_array_append_new(arms, arm_json(telling, i));
        }
    }
    return json_pack("{s:f, s:f, s:s, s:o}", "w", board->flat.width_mm, "h", board->flat.height_mm,
                     "seen", board_sight_words(board->sight), "arms", arms);
}

void ask_bench_work(Asking *asking) {
    const char *name = asking_need(asking, "module");
    Live *live = name == NULL ? NULL : bench_live(asking);
    if (live == NULL) {
        return;
    }
    Proof *proof = &live->proof;
    ModuleId module = find_module(asking, proof, name);
    if (module != ID_NONE && live->problem != NULL) {
        asking_refuse(asking, 409, live->problem, NULL);
    } else if (module != ID_NONE) {
        bench_step(proof, BENCH_BOARD);
        BenchItems items;
        bench_items(asking->arena, proof, module, &items);
        const HarnessSet *set = &proof->bench->harness;
        Telling telling = {.arena = asking->arena,
                           .proof = proof,
                           .set = set,
                           .harness = &set->harnesses[module],
                           .boards = &proof->bench->boards,
                           .board = &proof->bench->boards.boards[module],
                           .fonts = live->plan.fonts,
                           .module = module};
        const ModuleRow *row = &proof->set.module.rows[module];
        asking_put_json(asking, 200,
                        json_pack("{s:I, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o}", "act",
                                  (json_int_t)live->act, "module", row->module, "name", row->name,
                                  "ops", operations_json(&telling), "items",
                                  items_json(&telling, &items), "pieces", pieces_json(&telling),
                                  "ends", ends_json(&telling), "faces", faces_json(&telling),
                                  "board", board_json(&telling)));
    }
    desk_live_done(asking->desk, live);
}

/* --- ring-out -------------------------------------------------------------------------------- */

static void add_reading(Asking *asking, const BenchReadingRow *kept, int32_t step,
                        const char *module, TableSet *readings) {
    ReadingRow *row = table_append(readings, asking->arena, TABLE_reading);
    *row = (ReadingRow){.reading = (int32_t)readings->reading.count,
                        .module = module,
                        .step = step,
                        .point_a = step == INT_BLANK ? kept->point_a : "",
                        .point_b = step == INT_BLANK ? kept->point_b : "",
                        .ohm = kept->ohm,
                        .open = kept->open};
}

/* Rows of `reading` for the diagnosis: those of steps by their number, others by their points. */
static void gather(Asking *asking, const BenchRing *ring, const char *module, TableSet *readings) {
    for (size_t i = 0; i < ring->steps; i++) {
        if (ring->of[i] != NULL) {
            add_reading(asking, ring->of[i], ring->script[i].step, module, readings);
        }
    }
    for (size_t i = 0; i < ring->beside_count; i++) {
        add_reading(asking, ring->beside[i], INT_BLANK, module, readings);
    }
}

static json_t *steps_json(const BenchRing *ring) {
    json_t *list = json_array();
    for (size_t i = 0; i < ring->steps; i++) {
        const RingoutRow *row = &ring->script[i];
        const BenchReadingRow *of = ring->of[i];
        json_t *step =
            json_pack("{s:i, s:s, s:s, s:s, s:s, s:s, s:s, s:s}", "step", row->step, "kind",
                      row->kind, "a", row->point_a, "b", row->point_b, "wires", row->wires, "mode",
                      row->mode, "note", row->note, "measured", row->measured);
        json_object_set_new(step, "expected", real_json(row->expected_ohm));
        json_object_set_new(step, "low", real_json(row->low_ohm));
        json_object_set_new(step, "high", real_json(row->high_ohm));
        if (of != NULL) {
            json_object_set_new(step, "got",
                                json_pack("{s:s, s:b, s:b, s:o, s:s, s:s}", "reading", of->reading,
                                          "good", bench_reading_good(of, row) ? 1 : 0, "open",
                                          of->open == 1 ? 1 : 0, "ohm", real_json(of->ohm),
                                          "person", of->person, "time", of->time));
        }
        json_array_append_new(list, step);
    }
    return list;
}

static json_t *causes_json(const TableSet *causes) {
    json_t *list = json_array();
    for (size_t i = 0; i < causes->cause.count; i++) {
        const CauseRow *row = &causes->cause.rows[i];
        json_array_append_new(list, json_pack("{s:i, s:i, s:i, s:s, s:s, s:s}", "rank", row->rank,
                                              "member", row->member, "errors", row->errors, "cause",
                                              row->cause, "look", row->look, "next", row->next));
    }
    return list;
}

/* `module`: a module or all mated. */
static void tell_ring(Asking *asking, Live *live, const char *module, const TableSet *kept) {
    BenchRing ring;
    TableSet readings = {0};
    TableSet causes = {0};
    Findings findings = {.arena = asking->arena};
    Buffer words = {.arena = asking->arena};
    buffer_text(&words, "");
    bench_ring(asking->arena, &live->proof, module, kept, &ring);
    gather(asking, &ring, module, &readings);
    if (readings.reading.count > 0) {
        ring_diagnose_rows(&words, asking->arena, &live->proof, &readings, "readings", &causes,
                           asking->arena, &findings);
    }
    json_t *strange = json_array();
    for (size_t i = 0; i < findings.count; i++) {
        json_array_append_new(strange, json_string(findings.rows[i].message));
    }
    asking_put_json(asking, 200,
                    json_pack("{s:I, s:s, s:s, s:o, s:s, s:o, s:o}", "act", (json_int_t)live->act,
                              "module", module, "design", ring.design, "steps", steps_json(&ring),
                              "words", words.bytes, "causes", causes_json(&causes), "strange",
                              strange));
}

void ask_bench_ring(Asking *asking) {
    TableSet kept = {0};
    const char *name = asking_need(asking, "module");
    Live *live = name == NULL ? NULL : bench_live(asking);
    if (live == NULL) {
        return;
    }
    bool known =
        strcmp(name, RIG_INSTALLED) == 0 || find_module(asking, &live->proof, name) != ID_NONE;
    if (known && read_kept(asking, &kept)) {
        tell_ring(asking, live, name, &kept);
    }
    desk_live_done(asking->desk, live);
}
