/* Data lines between boxes on different buses; what the sneaks say: rows and findings. */
#include <math.h>
#include <string.h>

#include "model/report.h"
#include "power/sneak.h"

/* --- shared lines -------------------------------------------------------------------------------
 */

/* Buses that supply each box. */
typedef struct Fed {
    uint32_t *first; /* by OwnerId, and one more */
    BusId *buses;
} Fed;

static Fed list_fed(Arena *scratch, const Paths *paths) {
    const Supply *supply = &paths->supply;
    uint32_t owners = paths->model->owner_count;
    Fed fed = {
        .first = ARENA_ARRAY(scratch, uint32_t, (size_t)owners + 2),
        .buses = ARENA_ARRAY(scratch, BusId, supply->load_count),
    };
    for (int pass = 0; pass < 2; pass++) {
        for (uint32_t i = 0; i < supply->load_count; i++) {
            const SupplyLoad *load = &supply->loads[i];
            if (load->bus == ID_NONE || load->load_row == ID_NONE) {
                continue;
            }
            if (pass == 0) {
                fed.first[load->owner + 2]++;
            } else {
                fed.buses[fed.first[load->owner + 1]++] = load->bus;
            }
        }
        for (uint32_t i = 2; pass == 0 && i < owners + 2; i++) {
            fed.first[i] += fed.first[i - 1];
        }
    }
    return fed;
}

/* Without supply when that bus is off: it has a supply, and no other. */
static bool dies_with(const Fed *fed, OwnerId owner, BusId bus) {
    for (uint32_t i = fed->first[owner]; i < fed->first[owner + 1]; i++) {
        if (fed->buses[i] != bus) {
            return false;
        }
    }
    return fed->first[owner] < fed->first[owner + 1];
}

static bool has_own_battery(const Model *model, OwnerId owner) {
    const ModelOwner *row = &model->owners[owner];
    return row->kind == OWNER_UNIT &&
           strstr(model->set->part.rows[row->part].supply, "own battery") != NULL;
}

static bool is_named(const Paths *paths, PinId pin) {
    const Model *model = paths->model;
    const ModelTerminal *terminal = &model->terminals[model->pins[pin].terminal];
    const char *part = model->set->part.rows[model->owners[terminal->owner].part].part;
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_inside, part, &count);
    for (uint32_t i = first; i < first + count; i++) {
        const InsideRow *row = &model->set->inside.rows[i];
        if (gates_owner_point(model, terminal->owner, row->from_port) == pin ||
            gates_owner_point(model, terminal->owner, row->to_port) == pin) {
            return true;
        }
    }
    return false;
}

/* One line with one bus off; false when no end is dead, or none lives. */
static bool read_line(Arena *out, const Paths *paths, const Fed *fed, NetId net, BusId off,
                      SharedLine *line) {
    const Model *model = paths->model;
    const Net *row = &paths->wiring->nets[net];
    bool lives = false;
    *line = (SharedLine){.net = net, .off = off};
    line->dead = ARENA_ARRAY(out, OwnerId, row->end_count);
    for (uint32_t i = 0; i < row->end_count; i++) {
        TerminalId end = paths->wiring->ends[row->end_first + i];
        const ModelTerminal *terminal = &model->terminals[end];
        bool gives = terminal->direction == DIRECTION_OUT || terminal->direction == DIRECTION_BI;
        line->outputs += gives ? 1U : 0U;
        line->inputs += terminal->direction == DIRECTION_IN ? 1U : 0U;
        bool box = model->owners[terminal->owner].kind == OWNER_UNIT;
        if (!box || has_own_battery(model, terminal->owner)) {
            continue;
        }
        if (!dies_with(fed, terminal->owner, off)) {
            bool supplied = fed->first[terminal->owner] < fed->first[terminal->owner + 1];
            lives = lives || supplied;
            line->driven = line->driven || (supplied && gives);
            continue;
        }
        line->dead[line->dead_count++] = terminal->owner;
        line->known += terminal->pin_count > 0 && is_named(paths, terminal->pin_first) ? 1U : 0U;
    }
    for (uint32_t i = 1; i < line->dead_count; i++) { /* few: by insertion */
        OwnerId moved = line->dead[i];
        uint32_t k = i;
        for (; k > 0 && line->dead[k - 1] > moved; k--) {
            line->dead[k] = line->dead[k - 1];
        }
        line->dead[k] = moved;
    }
    return lives && line->dead_count > 0;
}

/* The buses on which boxes of a net hang, each once. */
static uint32_t net_buses(const Paths *paths, const Fed *fed, const Net *net, BusId *buses,
                          uint32_t room) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < net->end_count; i++) {
        OwnerId owner = paths->model->terminals[paths->wiring->ends[net->end_first + i]].owner;
        for (uint32_t k = fed->first[owner]; k < fed->first[owner + 1]; k++) {
            bool there = count == room;
            for (uint32_t b = 0; b < count; b++) {
                there = there || buses[b] == fed->buses[k];
            }
            if (!there) {
                buses[count++] = fed->buses[k];
            }
        }
    }
    for (uint32_t i = 1; i < count; i++) {
        BusId moved = buses[i];
        uint32_t k = i;
        for (; k > 0 && buses[k - 1] > moved; k--) {
            buses[k] = buses[k - 1];
        }
        buses[k] = moved;
    }
    return count;
}

void sneak_shared_lines(Arena *out, const Paths *paths, Sneaks *sneaks) {
    enum { BUSES_MAX = 32 };
    Arena scratch = {0};
    Fed fed = list_fed(&scratch, paths);
    size_t count = 0;
    size_t capacity = 0;
    for (NetId net = 0; net < paths->wiring->net_count; net++) {
        const Net *row = &paths->wiring->nets[net];
        if (row->end_count < 2 || gates_net_carries(paths->model, paths->wiring, net)) {
            continue;
        }
        BusId buses[BUSES_MAX];
        uint32_t bus_count = net_buses(paths, &fed, row, buses, BUSES_MAX);
        for (uint32_t i = 0; bus_count > 1 && i < bus_count; i++) {
            SharedLine line;
            if (read_line(out, paths, &fed, net, buses[i], &line)) {
                *ARENA_PUSH(out, sneaks->lines, count, capacity) = line;
            }
        }
    }
    sneaks->line_count = (uint32_t)count;
    arena_free(&scratch);
}

/* --- texts --------------------------------------------------------------------------------------
 */

static const char *bus_name(const Paths *paths, BusId bus) {
    return paths->model->set->bus.rows[bus].bus;
}

static const char *target_name(const Paths *paths, const Sneak *sneak) {
    return sneak->bus != ID_NONE ? bus_name(paths, sneak->bus)
                                 : paths->model->terminals[sneak->port].end;
}

static const char *origin_name(const Paths *paths, const Sneak *sneak) {
    if (sneak->from != ID_NONE) {
        return bus_name(paths, sneak->from);
    }
    return sneak->source == ID_NONE ? "?" : paths->model->set->source.rows[sneak->source].unit;
}

static const char *path_text(Arena *arena, const Paths *paths, const Sneak *sneak) {
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < sneak->path_count; i++) {
        SneakPiece piece = sneak->path[i];
        const char *name = "";
        switch (piece.kind) {
        case SNEAK_BY_NET:
            name = paths->wiring->nets[piece.index].name;
            break;
        case SNEAK_BY_LOAD:
            name = arena_format(arena, "what draws at %s",
                                paths->model->terminals[paths->supply.loads[piece.index].port].end);
            break;
        case SNEAK_BY_GATE:
        default:
            name = paths_name(arena, paths, (BuildSource){BUILD_GATE, piece.index});
            break;
        }
        buffer_format(&text, "%s%s", i == 0 ? "" : " > ", name);
    }
    return sneak->path_count == 0 ? "not found" : text.bytes;
}

/* "SW_AV on, SW_ESS off, BTB off ..." */
static const char *choice_text(Arena *arena, const Paths *paths, const SneakGraph *graph,
                               const uint8_t *choice) {
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; choice != NULL && i < graph->switch_count; i++) {
        buffer_format(&text, "%s%s %s", text.length == 0 ? "" : ", ",
                      paths->model->owners[graph->switches[i].owner].tag,
                      graph->switches[i].words[choice[i]]);
    }
    for (uint32_t i = 0; choice != NULL && i < graph->source_count; i++) {
        buffer_format(&text, "%s%s %s", text.length == 0 ? "" : ", ",
                      paths->model->set->source.rows[graph->sources[i].source].unit,
                      choice[graph->switch_count + i] != 0 ? "on" : "off");
    }
    return text.length == 0 ? "any" : text.bytes;
}

static bool is_proved(const Sneak *sneak) {
    return sneak->verdict != SNEAK_NOT_SOLVED && sneak->seen == sneak->combinations;
}

/* --- findings -----------------------------------------------------------------------------------
 */

static void report_path(const Paths *paths, const Sneaks *sneaks, const Sneak *sneak,
                        Findings *findings) {
    Arena *arena = findings->arena;
    bool volts = sneak->volts_v > model_limit(paths->model, SNEAK_LIMIT_V);
    const LimitRow *limit = model_limit_row(paths->model, volts ? SNEAK_LIMIT_V : SNEAK_LIMIT_A);
    Finding *finding = finding_report(
        findings, RULE_SNEAK_PATH, sneak->bus != ID_NONE ? "bus" : "unit",
        target_name(paths, sneak), "",
        "%s should be dead and gets %.2f V, %.3f A from %s through %s, with %s; as much as a limit "
        "in %.0f combinations",
        target_name(paths, sneak), sneak->volts_v, sneak->amps_a, origin_name(paths, sneak),
        path_text(arena, paths, sneak), choice_text(arena, paths, &sneaks->graph, sneak->choice),
        (double)sneak->live);
    report_values(finding, volts ? sneak->volts_v : sneak->amps_a,
                  model_limit(paths->model, volts ? SNEAK_LIMIT_V : SNEAK_LIMIT_A), limit->unit,
                  limit->source);
    finding->rows = arena_format(arena, "%s", origin_name(paths, sneak));
    finding->hint = "a diode in that way, or a switch with one more pole; if it is meant, a `feed` "
                    "row that says so";
}

static void report_bound(const Sneaks *sneaks, Findings *findings) {
    uint64_t open = 0;
    for (uint32_t i = 0; i < sneaks->count; i++) {
        open += sneaks->rows[i].combinations - sneaks->rows[i].seen;
        open += sneaks->rows[i].verdict == SNEAK_NOT_SOLVED ? 1U : 0U;
    }
    if (sneaks->not_tried <= 0.0 && open == 0) {
        return;
    }
    Finding *finding = finding_report(
        findings, RULE_SNEAK_BOUND, "sneak_count", "", "",
        "of %.0f combinations of switches and sources that matter %.0f were looked at, those of "
        "the "
        "phases and near them; %.0f of the ways found were not solved in all of theirs",
        sneaks->not_tried + (double)sneaks->looked, (double)sneaks->looked, (double)open);
    finding->value = sneaks->not_tried + (double)open;
    finding->unit = "combinations";
    finding->hint = "no sneak current is proved absent in the others";
}

static void report_lines(const Paths *paths, const Sneaks *sneaks, Findings *findings) {
    uint32_t driven = 0;
    uint32_t ends = 0;
    uint32_t known = 0;
    const SharedLine *most = NULL;
    for (uint32_t i = 0; i < sneaks->line_count; i++) {
        const SharedLine *line = &sneaks->lines[i];
        if (!line->driven) {
            continue;
        }
        driven++;
        ends += line->dead_count;
        known += line->known;
        most = most == NULL || line->inputs > most->inputs ? line : most;
    }
    if (driven == 0) {
        return;
    }
    Finding *finding = finding_report(
        findings, RULE_SNEAK_SHARED_LINE, "shared_line", "", "",
        "%u times a line is driven into boxes whose bus is off, the most shared one %s with %s "
        "off; "
        "of %u dead ends the library says for %u what the input does without supply",
        driven, paths->wiring->nets[most->net].name, bus_name(paths, most->off), ends, known);
    finding->value = ends - known;
    finding->unit = "dead ends";
    finding->hint = "`marling show shared_line` has them; where a manual tells of a clamp or a "
                    "resistor add an `inside` row";
}

void sneak_report(const Paths *paths, const Sneaks *sneaks, Findings *findings) {
    for (uint32_t i = 0; i < sneaks->count; i++) {
        if (sneaks->rows[i].verdict == SNEAK_LIVE) {
            report_path(paths, sneaks, &sneaks->rows[i], findings);
        }
    }
    report_bound(sneaks, findings);
    report_lines(paths, sneaks, findings);
}

/* --- rows ---------------------------------------------------------------------------------------
 */

static void add_count(Arena *arena, TableSet *results, const char *what, double count,
                      const char *note) {
    SneakCountRow *row = table_append(results, arena, TABLE_sneak_count);
    row->what = what;
    row->combinations = arena_format(arena, count < 1e15 ? "%.0f" : "%.3e", count);
    row->note = note;
}

static const char *switches_text(Arena *arena, const Paths *paths, const SneakGraph *graph) {
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < graph->switch_count; i++) {
        buffer_format(&text, "%s%s", i == 0 ? "" : " ",
                      paths->model->owners[graph->switches[i].owner].tag);
    }
    buffer_format(&text, "%s%u sources", text.length == 0 ? "" : "; ", graph->source_count);
    return text.bytes;
}

static void count_rows(Arena *arena, const Paths *paths, const Sneaks *sneaks, TableSet *results) {
    const SneakGraph *graph = &sneaks->graph;
    add_count(
        arena, results, "possible", sneaks->possible,
        arena_format(arena, "%u switches, %u sources", graph->all_switches, graph->source_count));
    add_count(arena, results, "left out as alike", sneaks->alike,
              "they differ only in switches that lie on no way from a source to a bus, ground none "
              "and move "
              "none");
    add_count(arena, results, "looked at", (double)sneaks->looked,
              switches_text(arena, paths, graph));
    add_count(arena, results, "not tried", sneaks->not_tried, "beyond the bound on work");
    add_count(arena, results, "with something reached that should be dead",
              (double)sneaks->with_sneaks, "");
    add_count(arena, results, "solved", (double)sneaks->solved,
              "the others are in the same state near the bus, or bounded by resistance");
}

static void line_rows(Arena *arena, const Paths *paths, const Sneaks *sneaks, TableSet *results) {
    for (uint32_t i = 0; i < sneaks->line_count; i++) {
        const SharedLine *line = &sneaks->lines[i];
        SharedLineRow *row = table_append(results, arena, TABLE_shared_line);
        Buffer dead = {.arena = arena};
        for (uint32_t k = 0; k < line->dead_count; k++) {
            buffer_format(&dead, "%s%s", k == 0 ? "" : " ",
                          paths->model->owners[line->dead[k]].tag);
        }
        row->line = paths->wiring->nets[line->net].name;
        row->bus_off = bus_name(paths, line->off);
        row->outputs = (int32_t)line->outputs;
        row->inputs = (int32_t)line->inputs;
        row->dead_ends = dead.bytes;
        row->driven = line->driven ? 1 : INT_BLANK;
        row->known = (int32_t)line->known;
    }
}

void sneak_rows(Arena *arena, const Paths *paths, const Sneaks *sneaks, TableSet *results) {
    for (uint32_t i = 0; i < sneaks->count; i++) {
        const Sneak *sneak = &sneaks->rows[i];
        SneakRow *row = table_append(results, arena, TABLE_sneak);
        row->dead = target_name(paths, sneak);
        row->out_of = origin_name(paths, sneak);
        row->combinations = (int32_t)sneak->combinations; /* bounded by the walk */
        row->live = (int32_t)sneak->live;
        row->positions = choice_text(arena, paths, &sneaks->graph, sneak->choice);
        row->volts_v = sneak->volts_v;
        row->amps_a = sneak->amps_a;
        row->bound_a = sneak->bound_a;
        row->through = path_text(arena, paths, sneak);
        row->verdict = sneak->verdict == SNEAK_LIVE ? "live"
                       : is_proved(sneak)           ? "leaks"
                                                    : "not proved";
    }
    if (sneaks->possible > 0.0) {
        count_rows(arena, paths, sneaks, results);
    }
    line_rows(arena, paths, sneaks, results);
}
