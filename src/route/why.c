/* The chain of reasons behind a wire's length, way, shell and cavity; behind a bundle and a shell.
 */
#include <math.h>
#include <string.h>

#include "route/result.h"
#include "table/value.h"

static const char *source_row(const RouteView *view, const Net *net, Arena *arena) {
    const char *key = table_row_key(arena, net->from_table,
                                    table_row(view->model->set, net->from_table, net->from_row));
    return arena_format(arena, "%s %s", table_schema(net->from_table)->name, key);
}

static const char *node_name(const RouteView *view, NodeId node) {
    return node == ID_NONE ? "nowhere" : view->model->set->node.rows[node].node;
}

/* --- length and way --------------------------------------------------------------------------- */

static void say_part(Buffer *out, const char *what, double length_mm) {
    if (fabs(length_mm) >= 0.05) {
        buffer_format(out, " + %s %.1f", what, length_mm);
    }
}

static void say_length(const RouteView *view, CableId id, Buffer *out) {
    const Model *model = view->model;
    const Cable *cable = &view->wiring->cables[id];
    const ModelTerminal *from = &model->terminals[cable->from];
    const ModelTerminal *to = &model->terminals[cable->to];
    double length_mm = view->routing->length_mm[id];
    if (isnan(length_mm)) {
        buffer_format(out, "length: none, no way leads from %s to %s\n",
                      node_name(view, from->node), node_name(view, to->node));
        return;
    }
    LengthParts sum = {0};
    uint32_t first = view->routing->run_first[id];
    uint32_t pieces = view->routing->run_first[id + 1] - first;
    for (uint32_t i = first; i < first + pieces; i++) {
        const LengthParts *parts = &view->routing->runs[i].parts;
        sum.path_mm += parts->path_mm;
        sum.loop_mm[0] += parts->loop_mm[0] + parts->loop_mm[1];
        sum.handling_mm += parts->handling_mm;
        sum.slack_mm += parts->slack_mm;
        sum.twist_mm += parts->twist_mm;
        sum.bend_mm += parts->bend_mm;
        sum.round_mm += parts->round_mm;
    }
    bool given = !isnan(view->routing->given_mm[id]);
    buffer_format(out, "length: %.0f mm = way %.1f + stub %.0f at %s + stub %.0f at %s", length_mm,
                  sum.path_mm, from->stub_mm, from->end, to->stub_mm, to->end);
    say_part(out, "kept for service", sum.loop_mm[0]);
    say_part(out, given ? "what a person set it longer by" : "handling", sum.handling_mm);
    say_part(out, "slack", sum.slack_mm);
    say_part(out, "twist", sum.twist_mm);
    say_part(out, "bends", sum.bend_mm);
    say_part(out, "whole steps", sum.round_mm);
    if (pieces > 1) {
        buffer_format(out, ", in %u pieces", pieces);
    }
    buffer_format(out, "\n");
}

static void say_way(const RouteView *view, CableId id, Buffer *out) {
    const Model *model = view->model;
    const Cable *cable = &view->wiring->cables[id];
    const Net *net = &view->wiring->nets[cable->net];
    NodeId at = model->terminals[cable->from].node;
    uint32_t first = view->routing->cable_first[id];
    uint32_t end = view->routing->cable_first[id + 1];
    if (first == end) {
        buffer_format(out, "way: both ends are at node %s\n", node_name(view, at));
        return;
    }
    buffer_format(out, "way: the shortest of all that are open to class %s\n",
                  wiring_class(model, net->class_id)->class);
    for (uint32_t i = first; i < end; i++) {
        const Hop *hop = &view->routing->hops[i];
        const SegmentRow *segment = &model->set->segment.rows[hop->segment];
        NodeId next =
            hop->backward ? model->segment_a[hop->segment] : model->segment_b[hop->segment];
        buffer_format(out, "  %s to %s by segment %s, %.1f mm (%s)%s%s\n", node_name(view, at),
                      node_name(view, next), segment->segment,
                      model->segment_length_mm[hop->segment],
                      isnan(segment->length_mm) ? "straight between the nodes" : "as measured",
                      *segment->classes == '\0' ? "" : ", kept for ", segment->classes);
        at = next;
    }
}

/* --- disconnects ------------------------------------------------------------------------------ */

static void say_use(const RouteView *view, const CavityUse *use, Buffer *out) {
    Arena *arena = out->arena;
    const Model *model = view->model;
    const Net *net = &view->wiring->nets[view->wiring->cables[use->cable].net];
    if (use->shell == ID_NONE) {
        buffer_text(out, "disconnect: no shell takes this gauge\n");
        return;
    }
    const DisconnectShellRow *row = &model->set->disconnect_shell.rows[use->shell];
    buffer_format(out, "disconnect %s: shell %s, because %s\n", row->disconnect, row->tag,
                  disconnect_shell_reason(arena, model, view->wiring, view->awg, use));
    if (use->cavity == ID_NONE) {
        buffer_format(out, "  cavity: none, %s has no free way\n", row->tag);
        return;
    }
    const char *kind = disconnect_use_kind(model, view->wiring, use);
    buffer_format(out, "  cavity %s: %s\n", disconnect_cavity_text(arena, model, use),
                  use->kept ? "kept by its allot_cavity row"
                  : strcmp(kind, "power") == 0
                      ? "the last free one, away from signals (power from the last cavities back)"
                      : "the first free one beside the others of its cable (signals from the first "
                        "cavities on)");
    if (strcmp(kind, "shield") == 0) {
        const InterfaceRow *class = wiring_class(model, net->class_id);
        buffer_format(out, "  the shield passes because class %s says so: %s\n", class->class,
                      class->source);
    }
}

static void say_disconnects(const RouteView *view, CableId cable, ConductorId conductor,
                            Buffer *out) {
    for (uint32_t i = view->disconnects->cable_first[cable];
         i < view->disconnects->cable_first[cable + 1]; i++) {
        if (view->disconnects->uses[i].conductor == conductor) {
            say_use(view, &view->disconnects->uses[i], out);
        }
    }
    if (view->disconnects->crossings[cable] > 0 &&
        view->disconnects->cable_first[cable] == view->disconnects->cable_first[cable + 1]) {
        buffer_format(out, "disconnects: %u passed by bulkhead or stud, not by a shell\n",
                      view->disconnects->crossings[cable]);
    }
}

/* --- keys ------------------------------------------------------------------------------------- */

static void say_shield(const RouteView *view, const Cable *cable, Buffer *out) {
    if (!cable->shielded) {
        return;
    }
    const Model *model = view->model;
    const Net *net = &view->wiring->nets[cable->net];
    const InterfaceRow *class = wiring_class(model, net->class_id);
    uint32_t rows = 0;
    model_rows_of(model, TABLE_shield, net->name, &rows);
    buffer_format(out, "shield: grounded at %s%s%s (class %s: %s%s; %s)\n",
                  cable->shield_from ? model->terminals[cable->from].end : "",
                  cable->shield_from && cable->shield_to   ? " and "
                  : cable->shield_from || cable->shield_to ? ""
                                                           : "no end",
                  cable->shield_to ? model->terminals[cable->to].end : "", class->class,
                  *class->shield_ground == '\0' ? "no rule" : class->shield_ground,
                  rows > 0 ? ", changed by shield rows" : "", class->source);
}

static void why_wire(const RouteView *view, ConductorId id, bool shield, Buffer *out) {
    const Model *model = view->model;
    const Conductor *conductor = &view->wiring->conductors[id];
    const Cable *cable = &view->wiring->cables[conductor->cable];
    const Net *net = &view->wiring->nets[cable->net];
    Arena *arena = out->arena;
    if (shield) {
        buffer_format(out, "shield of the cable of %s, circuit %s\n", conductor->key, net->name);
    } else {
        buffer_format(out, "wire %s: %s to %s, core %d of circuit %s (row %s)\n", conductor->key,
                      model_pin_text(model, arena, conductor->from),
                      model_pin_text(model, arena, conductor->to), conductor->core + 1, net->name,
                      source_row(view, net, arena));
        buffer_format(out, "key: %s\n",
                      conductor->kept ? "kept by its allot row"
                                      : "next free number in the order of circuit, ends and core");
    }
    buffer_format(out, "class: %s, %s\n", wiring_class(model, net->class_id)->class,
                  wiring_class(model, net->class_id)->meaning);
    say_shield(view, cable, out);
    say_length(view, conductor->cable, out);
    say_way(view, conductor->cable, out);
    say_disconnects(view, conductor->cable, shield ? ID_NONE : id, out);
}

static void why_net(const RouteView *view, NetId id, Buffer *out) {
    const Model *model = view->model;
    const Net *net = &view->wiring->nets[id];
    const InterfaceRow *class = wiring_class(model, net->class_id);
    buffer_format(out, "circuit %s: from row %s\n", net->name, source_row(view, net, out->arena));
    buffer_format(out, "class: %s, %s (%s)\n", class->class, class->meaning, class->source);
    buffer_format(out, "joined: %s, %u ends, %u laid pieces of %u cores\n",
                  wiring_join_name(net->join), net->end_count, net->cable_count, net->core_count);
    for (CableId i = net->cable_first; i < net->cable_first + net->cable_count; i++) {
        const Cable *cable = &view->wiring->cables[i];
        const char *key = cable->conductor_count == 0
                              ? "(no pins)"
                              : view->wiring->conductors[cable->conductor_first].key;
        buffer_format(out, "  %s: %s to %s, %.0f mm by %s\n", key,
                      model->terminals[cable->from].end, model->terminals[cable->to].end,
                      view->routing->length_mm[i],
                      route_text(out->arena, model, view->wiring, view->routing, i));
    }
}

static void say_limit(const RouteView *view, const char *name, Buffer *out) {
    const LimitRow *row = model_limit_row(view->model, name);
    buffer_format(out, "  limit %s: %g %s (%s; %s)\n", name, model_limit(view->model, name),
                  row->unit, row->source, row->status);
}

static void why_segment(const RouteView *view, SegmentId id, Buffer *out) {
    const SegmentRow *segment = &view->model->set->segment.rows[id];
    const Bundle *bundle = &view->bundles[id];
    buffer_format(out, "segment %s: %s to %s, %.1f mm, zone %s\n", segment->segment,
                  segment->node_a, segment->node_b, view->model->segment_length_mm[id],
                  segment->zone);
    buffer_format(out, "bundle: %u cables, %u conductors, %u heavy cables beside them, %.3f kg\n",
                  bundle->cables, bundle->conductors, bundle->heavy, bundle->mass_kg);
    say_limit(view, ROUTE_LIMIT_CABLES, out);
    buffer_format(out, "diameter: %.1f mm = factor x root of the sum of squares\n",
                  bundle->diameter_mm);
    say_limit(view, ROUTE_LIMIT_FACTOR, out);
    if (!isnan(segment->inner_mm)) {
        buffer_format(out, "fill: %.0f %% of %.1f mm\n",
                      100.0 * bundle->diameter_mm / segment->inner_mm, segment->inner_mm);
        say_limit(view, ROUTE_LIMIT_FILL, out);
    }
    buffer_format(out, "bend radius: %.1f mm, times the thickest wire or coax\n", bundle->bend_mm);
    say_limit(view, ROUTE_LIMIT_BEND_WIRE, out);
    say_limit(view, ROUTE_LIMIT_BEND_COAX, out);
    buffer_format(out, "clamps: %u\n", bundle->clamps);
    say_limit(view, ROUTE_LIMIT_CLAMPS, out);
}

static void why_shell(const RouteView *view, uint32_t id, Buffer *out) {
    const DisconnectShellRow *row = &view->model->set->disconnect_shell.rows[id];
    ShellId kind = model_row(view->model, TABLE_shell, row->shell);
    buffer_format(out, "shell %s of disconnect %s on segment %s: %s, group %s\n", row->tag,
                  row->disconnect, row->segment,
                  kind == ID_NONE ? row->shell : view->model->set->shell.rows[kind].name,
                  row->group);
    buffer_format(out, "contacts: %u of %d ways\n", view->disconnects->shell_used[id],
                  kind == ID_NONE ? 0 : view->model->set->shell.rows[kind].ways);
    say_limit(view, DISCONNECT_LIMIT_SPARE, out);
    for (uint32_t i = 0; i < view->disconnects->use_count; i++) {
        const CavityUse *use = &view->disconnects->uses[i];
        if (use->shell == id) {
            buffer_format(out, "  %s: %s (%s, %s)\n",
                          use->cavity == ID_NONE
                              ? "no way"
                              : disconnect_cavity_text(out->arena, view->model, use),
                          disconnect_use_key(out->arena, view->wiring, use),
                          view->wiring->nets[view->wiring->cables[use->cable].net].name,
                          disconnect_use_kind(view->model, view->wiring, use));
        }
    }
}

bool why_route(const RouteView *view, const char *key, Buffer *out) {
    size_t length = strlen(key);
    bool shield = length > 2 && strcmp(key + length - 2, ".S") == 0;
    const char *wire = shield ? arena_text(out->arena, key, length - 2) : key;
    ConductorId conductor = name_map_find(&view->wiring->conductor_by_key, wire);
    if (conductor != NAME_NONE) {
        why_wire(view, conductor, shield, out);
        return true;
    }
    NetId net = name_map_find(&view->wiring->net_by_name, key);
    if (net != NAME_NONE) {
        why_net(view, net, out);
        return true;
    }
    SegmentId segment = model_row(view->model, TABLE_segment, key);
    if (segment != ID_NONE) {
        why_segment(view, segment, out);
        return true;
    }
    uint32_t shell = model_row(view->model, TABLE_disconnect_shell, key);
    if (shell != ID_NONE) {
        why_shell(view, shell, out);
        return true;
    }
    return false;
}
