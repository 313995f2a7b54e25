#include "route/result.h"

#include <math.h>
#include <string.h>

#include "route/ends.h"
#include "route/gauges.h"
#include "table/value.h"

typedef struct Filler {
    Arena *arena;
    const RouteView *view;
    TableSet *out;
    ResultDevice device;
    void *context;
    WireNumbers numbers;
    RouteGauges gauges;
    uint32_t *class_core; /* by ClassId: first row of interface_core */
    uint32_t *class_cores;
} Filler;

/* --- names ------------------------------------------------------------------------------------ */

static const InterfaceCoreRow *core_row(const Filler *filler, ClassId class_id, int32_t core) {
    const TableSet *set = filler->view->model->set;
    uint32_t first = filler->class_core[class_id];
    for (uint32_t i = first; i < first + filler->class_cores[class_id]; i++) {
        if (set->interface_core.rows[i].core == core) {
            return &set->interface_core.rows[i];
        }
    }
    return NULL;
}

/* The library's cable, or the wire of the first conductor's gauge. */
static const char *part_name(const Filler *filler, const Cable *cable) {
    const Model *model = filler->view->model;
    if (cable->part != ID_NONE) {
        return model->set->cable.rows[cable->part].part;
    }
    int32_t awg =
        route_conductor_awg(model, filler->view->wiring, cable->conductor_first, filler->view->awg);
    const WireRow *wire = gauges_wire(model, &filler->gauges, awg);
    return wire == NULL ? "" : wire->part;
}

static const char *shield_text(const Filler *filler, const Cable *cable) {
    const Model *model = filler->view->model;
    if (!cable->shielded) {
        return "";
    }
    return arena_format(filler->arena, "%s%s%s",
                        cable->shield_from ? model->terminals[cable->from].end : "",
                        cable->shield_from && cable->shield_to ? " " : "",
                        cable->shield_to ? model->terminals[cable->to].end : "");
}

static const char *shell_tag(const Filler *filler, const CavityUse *use) {
    return use->shell == ID_NONE ? ""
                                 : filler->view->model->set->disconnect_shell.rows[use->shell].tag;
}

/* Shells in the order passed, each once. */
static const char *shells_text(const Filler *filler, CableId id) {
    const Disconnects *disconnects = filler->view->disconnects;
    Buffer text = {.arena = filler->arena};
    uint32_t first = disconnects->cable_first[id];
    for (uint32_t i = first; i < disconnects->cable_first[id + 1]; i++) {
        const CavityUse *use = &disconnects->uses[i];
        if (use->shell != ID_NONE && (i == first || use->crossing != use[-1].crossing)) {
            buffer_format(&text, text.length == 0 ? "%s" : " %s", shell_tag(filler, use));
        }
    }
    return text.length == 0 ? "" : text.bytes;
}

/* "BK1L-14 BK6-3". */
static const char *cavities_text(const Filler *filler, ConductorId id) {
    const RouteView *view = filler->view;
    CableId cable = view->wiring->conductors[id].cable;
    Buffer text = {.arena = filler->arena};
    for (uint32_t i = view->disconnects->cable_first[cable];
         i < view->disconnects->cable_first[cable + 1]; i++) {
        const CavityUse *use = &view->disconnects->uses[i];
        if (use->conductor == id && use->cavity != ID_NONE) {
            buffer_format(&text, text.length == 0 ? "%s-%s" : " %s-%s", shell_tag(filler, use),
                          disconnect_cavity_text(filler->arena, view->model, use));
        }
    }
    return text.length == 0 ? "" : text.bytes;
}

/* One number for each piece that disconnects cut the wire into. */
static const char *numbers_text(const Filler *filler, ConductorId id, int32_t awg) {
    const RouteView *view = filler->view;
    CableId cable = view->wiring->conductors[id].cable;
    Buffer text = {.arena = filler->arena};
    for (unsigned piece = 0; piece <= view->disconnects->crossings[cable]; piece++) {
        buffer_format(&text, piece == 0 ? "%s" : " %s",
                      wiring_number(filler->arena, view->model, view->wiring, &filler->numbers, id,
                                    piece, awg));
    }
    return text.bytes;
}

/* --- rows ------------------------------------------------------------------------------------- */

static void fill_conductors(const Filler *filler, CableId id) {
    const RouteView *view = filler->view;
    const Model *model = view->model;
    const Cable *cable = &view->wiring->cables[id];
    const Net *net = &view->wiring->nets[cable->net];
    for (uint32_t core = 0; core < cable->conductor_count; core++) {
        ConductorId conductor_id = cable->conductor_first + core;
        const Conductor *conductor = &view->wiring->conductors[conductor_id];
        const InterfaceCoreRow *names = core_row(filler, net->class_id, (int32_t)core + 1);
        int32_t awg = route_conductor_awg(model, view->wiring, conductor_id, view->awg);
        ConductorRow *row = table_append(filler->out, filler->arena, TABLE_conductor);
        row->wire = conductor->key;
        row->number = numbers_text(filler, conductor_id, awg);
        row->net = net->name;
        row->core = names == NULL ? "" : names->name;
        row->from_pin = model_pin_text(model, filler->arena, conductor->from);
        row->to_pin = model_pin_text(model, filler->arena, conductor->to);
        row->awg = awg;
        row->part = part_name(filler, cable);
        row->colour = names == NULL ? "" : names->colour;
        row->length_mm = view->routing->length_mm[id];
        row->cavities = cavities_text(filler, conductor_id);
        row->device = filler->device == NULL ? "" : filler->device(filler->context, conductor_id);
    }
}

static void fill_cables(const Filler *filler) {
    const RouteView *view = filler->view;
    const Model *model = view->model;
    for (CableId i = 0; i < view->wiring->cable_count; i++) {
        const Cable *cable = &view->wiring->cables[i];
        const Net *net = &view->wiring->nets[cable->net];
        if (cable->conductor_count == 0) {
            continue; /* an end without pins: reported */
        }
        double kg_per_m = gauges_kg_per_m(model, view->wiring, &filler->gauges, i, view->awg);
        CableRunRow *row = table_append(filler->out, filler->arena, TABLE_cable_run);
        row->cable = view->wiring->conductors[cable->conductor_first].key;
        row->net = net->name;
        row->from_end = model->terminals[cable->from].end;
        row->to_end = model->terminals[cable->to].end;
        row->class = wiring_class(model, net->class_id)->class;
        row->part = part_name(filler, cable);
        row->conductors = cable->conductor_count;
        row->length_mm = view->routing->length_mm[i];
        row->mass_kg = view->routing->length_mm[i] / 1000.0 * kg_per_m;
        row->shield = shield_text(filler, cable);
        row->route = route_text(filler->arena, model, view->wiring, view->routing, i);
        row->shells = shells_text(filler, i);
        fill_conductors(filler, i);
    }
}

static void fill_shells(const Filler *filler) {
    const RouteView *view = filler->view;
    const TableSet *set = view->model->set;
    for (uint32_t i = 0; i < view->disconnects->use_count; i++) {
        const CavityUse *use = &view->disconnects->uses[i];
        if (use->shell == ID_NONE || use->cavity == ID_NONE) {
            continue;
        }
        CavityUseRow *row = table_append(filler->out, filler->arena, TABLE_cavity_use);
        row->shell = shell_tag(filler, use);
        row->cavity = disconnect_cavity_text(filler->arena, view->model, use);
        row->wire = disconnect_use_key(filler->arena, view->wiring, use);
        row->net = view->wiring->nets[view->wiring->cables[use->cable].net].name;
        row->kind = disconnect_use_kind(view->model, view->wiring, use);
        row->kept = use->kept ? 1 : 0;
    }
    for (uint32_t i = 0; i < set->disconnect_shell.count; i++) {
        const DisconnectShellRow *shell = &set->disconnect_shell.rows[i];
        ShellId kind = model_row(view->model, TABLE_shell, shell->shell);
        int32_t ways = kind == ID_NONE ? 0 : set->shell.rows[kind].ways;
        ways = ways > 0 ? ways : 0;
        int32_t used = (int32_t)view->disconnects->shell_used[i];
        ShellUseRow *row = table_append(filler->out, filler->arena, TABLE_shell_use);
        row->shell = shell->tag;
        row->disconnect = shell->disconnect;
        row->segment = shell->segment;
        row->kind = kind == ID_NONE ? shell->shell : set->shell.rows[kind].name;
        row->ways = ways;
        row->used = used;
        row->free = ways - used;
        row->spare_pct = used > 0 ? 100.0 * (ways - used) / used : (double)NAN;
    }
}

static void fill_bundles(const Filler *filler) {
    const RouteView *view = filler->view;
    for (SegmentId i = 0; i < view->model->set->segment.count; i++) {
        const SegmentRow *segment = &view->model->set->segment.rows[i];
        const Bundle *bundle = &view->bundles[i];
        BundleRow *row = table_append(filler->out, filler->arena, TABLE_bundle);
        row->segment = segment->segment;
        row->zone = segment->zone;
        row->length_mm = view->model->segment_length_mm[i];
        row->cables = (int32_t)bundle->cables;
        row->conductors = (int32_t)bundle->conductors;
        row->heavy = (int32_t)bundle->heavy;
        row->diameter_mm = bundle->diameter_mm;
        row->inner_mm = segment->inner_mm;
        row->mass_kg = bundle->mass_kg;
        row->bend_mm = bundle->bend_mm;
        row->clamps = (int32_t)bundle->clamps;
    }
}

static void fill_runs(const Filler *filler) {
    const RouteView *view = filler->view;
    const Model *model = view->model;
    for (uint32_t i = 0; i < view->runs->coax_count; i++) {
        const CoaxRun *run = &view->runs->coax[i];
        const Net *net = &view->wiring->nets[run->net];
        CoaxRunRow *row = table_append(filler->out, filler->arena, TABLE_coax_run);
        row->net = net->name;
        row->antenna = model->owners[run->antenna].tag;
        row->length_mm = run->length_mm;
        row->frequency_mhz = run->frequency_mhz;
        row->joints = (int32_t)run->joints;
        row->loss_db = run->loss_db;
        row->limit_db = run->limit_db;
        row->route =
            route_text(filler->arena, model, view->wiring, view->routing, net->cable_first);
    }
    for (uint32_t i = 0; i < view->runs->chain_count; i++) {
        const ChainRun *run = &view->runs->chains[i];
        const Net *net = &view->wiring->nets[run->net];
        Buffer order = {.arena = filler->arena};
        Buffer fitted = {.arena = filler->arena};
        for (uint32_t k = 0; k < net->end_count; k++) {
            const ModelTerminal *end = &model->terminals[view->wiring->ends[net->end_first + k]];
            buffer_format(&order, k == 0 ? "%s" : " %s", model->owners[end->owner].tag);
            uint32_t first = 0;
            uint32_t count = runs_terminators(model, net, &first);
            for (uint32_t t = first; t < first + count; t++) {
                const TerminatorRow *row = &model->set->terminator.rows[t];
                if (row->fitted != 0 && strcmp(row->port, end->end) == 0) {
                    buffer_format(&fitted, fitted.length == 0 ? "%s" : " %s",
                                  model->owners[end->owner].tag);
                }
            }
        }
        ChainRunRow *row = table_append(filler->out, filler->arena, TABLE_chain_run);
        row->net = net->name;
        row->order = order.bytes;
        row->length_mm = run->length_mm;
        row->terminated_at = fitted.length == 0 ? "" : fitted.bytes;
        row->unpowered_ohm = run->unpowered_ohm;
    }
}

static void fill_mass(const Filler *filler) {
    const Masses *masses = &filler->view->runs->masses;
    MassItem total = {
        .mass_kg = masses->harness.mass_kg + masses->heavy.mass_kg + masses->units.mass_kg,
        .moment_kgmm =
            masses->harness.moment_kgmm + masses->heavy.moment_kgmm + masses->units.moment_kgmm,
    };
    const struct {
        const char *name;
        MassItem item;
    } ITEMS[] = {{"harness", masses->harness},
                 {"heavy cables", masses->heavy},
                 {"units", masses->units},
                 {"total", total}};
    for (size_t i = 0; i < sizeof ITEMS / sizeof *ITEMS; i++) {
        MassRow *row = table_append(filler->out, filler->arena, TABLE_mass);
        row->item = ITEMS[i].name;
        row->mass_kg = ITEMS[i].item.mass_kg;
        row->arm_mm = mass_arm_mm(ITEMS[i].item);
        row->moment_kgm = ITEMS[i].item.moment_kgmm / 1000.0;
    }
}

void result_route_rows(Arena *arena, const RouteView *view, ResultDevice device, void *context,
                       TableSet *out) {
    Filler filler = {
        .arena = arena, .view = view, .out = out, .device = device, .context = context};
    const TableSet *set = view->model->set;
    filler.class_core = ARENA_ARRAY(arena, uint32_t, set->interface.count);
    filler.class_cores = ARENA_ARRAY(arena, uint32_t, set->interface.count);
    for (size_t i = 0; i < set->interface.count; i++) {
        filler.class_core[i] = model_rows_of(view->model, TABLE_interface_core,
                                             set->interface.rows[i].class, &filler.class_cores[i]);
    }
    gauges_read(view->model, &filler.gauges);
    wiring_numbers(arena, view->model, view->wiring,
                   disconnects_pieces(arena, view->wiring, view->disconnects), &filler.numbers);
    wiring_net_rows(arena, view->model, view->wiring, out);
    fill_cables(&filler);
    fill_shells(&filler);
    Ends ends;
    ends_build(arena, view->model, view->wiring, view->routing, view->disconnects, view->awg,
               &ends);
    ends_rows(arena, &ends, out);
    fill_bundles(&filler);
    fill_runs(&filler);
    fill_mass(&filler);
}
