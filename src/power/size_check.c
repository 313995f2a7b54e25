/* Findings on the finished sizing. What the tool chose keeps every limit by its making, so most of
 * these are about what persons fixed: gauges, cables, contacts, switches, lengths. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "model/report.h"
#include "power/sizing.h"
#include "rating/contact.h"

/* --- gauges that were not the tool's choice -----------------------------------------------------
 */

/* What a broken limit says of a conductor at its gauge, in words. */
static const char *broken_text(const SizeDetail *detail, Arena *arena, CableId c, SizeLimit which,
                               double value, double limit) {
    const Feeders *feeders = &detail->feeders;
    ConductorId wire = detail->wiring->cables[c].conductor_first;
    bool published = limit > 0.0; /* tables that lack the gauge give 0 */
    switch (which) {
    case SIZE_FREE_AIR:
        return !published
                   ? arena_format(arena,
                                  "carries %.4g A, and what it may carry in its bundle and "
                                  "zone is not published: not proved",
                                  value)
                   : arena_format(arena,
                                  "carries %.4g A, in its bundle and zone %.3g A are allowed",
                                  value, limit);
    case SIZE_TABLE:
        return !published
                   ? arena_format(arena,
                                  "carries %.4g A, and no current is published for the "
                                  "gauge: not proved",
                                  value)
                   : arena_format(arena, "carries %.4g A, published for the gauge are %.3g A",
                                  value, limit);
    case SIZE_PROTECTION: {
        const ModelOwner *owner = &detail->model->owners[feeders->device[wire]];
        return !published
                   ? arena_format(arena,
                                  "%s is rated %g A, and no device is published for the "
                                  "gauge: not proved",
                                  owner->tag, value)
                   : arena_format(arena,
                                  "%s is rated %g A, the largest device for the gauge is %g A",
                                  owner->tag, value, limit);
    }
    case SIZE_CONTACT:
        return arena_format(arena, "a contact on its way takes no wire thinner than %s",
                            sizing_awg_text(arena, (int32_t)limit));
    case SIZE_CLASS:
        return arena_format(arena, "its class asks for %s at least",
                            sizing_awg_text(arena, (int32_t)limit));
    case SIZE_MECHANICAL:
        return arena_format(arena, "the shop lays nothing thinner than %s",
                            sizing_awg_text(arena, (int32_t)limit));
    case SIZE_PAIRED:
        return arena_format(arena, "the feed it returns is %s",
                            sizing_awg_text(arena, (int32_t)limit));
    case SIZE_PLAIN_DROP:
    case SIZE_HOT_DROP:
    case SIZE_GIVEN:
    case SIZE_LIMIT_COUNT:
        break;
    }
    return "";
}

/* Limits in amperes; the others are gauges (0 is AWG 1/0) or volts. */
static bool is_current(SizeLimit which) {
    return which == SIZE_FREE_AIR || which == SIZE_TABLE || which == SIZE_PROTECTION;
}

static RuleId fixed_rule(const SizeDetail *detail, CableId c, SizeLimit which) {
    if (which == SIZE_PROTECTION) {
        return RULE_SIZE_DEVICE_LARGE;
    }
    switch ((SizeFixed)detail->fixed[c]) {
    case SIZE_BY_OVERRIDE:
        return RULE_SIZE_OVERRIDE;
    case SIZE_BY_ROW:
        return RULE_SIZE_GIVEN;
    case SIZE_BY_CABLE:
        return RULE_SIZE_CABLE;
    case SIZE_FREE:
    case SIZE_COAX:
        break;
    }
    return RULE_SIZE_CURRENT;
}

/* A finding about a cable: on the row that fixed its gauge, or on the row of its circuit. */
static Finding *report_cable(const SizeDetail *detail, CableId c, RuleId rule, const char *text,
                             Findings *findings) {
    const Net *net = &detail->wiring->nets[detail->wiring->cables[c].net];
    const Conductor *wire = &detail->wiring->conductors[detail->wiring->cables[c].conductor_first];
    const char *awg = sizing_awg_text(
        findings->arena, detail->sizing->awg[detail->wiring->cables[c].conductor_first]);
    bool ours = detail->override_row[c] != ID_NONE;
    Finding *finding =
        report_row(findings, detail->model, rule, ours ? TABLE_override : net->from_table,
                   ours ? detail->override_row[c] : net->from_row, ours ? "value" : "awg",
                   "%s (%s) is %s: %s", wire->key, net->name, awg, text);
    /* Known by the wire, so that each of a circuit's wires can be judged by itself. */
    finding->table = "gauge";
    finding->key = wire->key;
    finding->rows = net->name;
    return finding;
}

static void check_limit(const SizeDetail *detail, CableId c, SizeLimit which, Findings *findings) {
    bool says = false;
    double value = 0.0;
    double limit = 0.0;
    if (sizing_holds(detail, c, which, detail->place[c], true, &says, &value, &limit)) {
        return;
    }
    const char *text = broken_text(detail, findings->arena, c, which, value, limit);
    Finding *finding = report_cable(detail, c, fixed_rule(detail, c, which), text, findings);
    finding->value = value;
    finding->limit = limit > 0.0 || !is_current(which) ? limit : (double)NAN;
    finding->unit = sizing_unit(which);
    finding->source = sizing_source(detail, c, which);
    const GaugeChoice *choice = &detail->sizing->choices[detail->wiring->cables[c].conductor_first];
    int32_t needed = choice->smallest_awg[which];
    if (needed != INT_BLANK && needed >= UNITS_AWG_THICKEST) {
        finding->hint =
            arena_format(findings->arena, "%s keeps it", sizing_awg_text(findings->arena, needed));
    } else if (isnan(finding->limit)) {
        finding->hint =
            "complete the library's table with its source, or take a gauge that is in it";
    } else if (which == SIZE_PROTECTION) {
        finding->hint = "a smaller device, or several wires with a device each";
    } else {
        finding->hint = "no gauge alone keeps it: shorten the way, share the load, or choose "
                        "thicker wire for the rest of the way too";
    }
}

static void check_fixed(const SizeDetail *detail, CableId c, Findings *findings) {
    /* Drops are said once a feeder, see check_drop. */
    static const SizeLimit ORDER[] = {SIZE_CLASS, SIZE_MECHANICAL, SIZE_FREE_AIR,
                                      SIZE_TABLE, SIZE_PROTECTION, SIZE_PAIRED};
    bool current_broken = false;
    for (size_t i = 0; i < sizeof ORDER / sizeof *ORDER; i++) {
        size_t before = findings->count;
        bool current = ORDER[i] == SIZE_FREE_AIR || ORDER[i] == SIZE_TABLE;
        if (!current || !current_broken) { /* the same current breaks both */
            check_limit(detail, c, ORDER[i], findings);
            current_broken = current_broken || (current && findings->count > before);
        }
    }
}

/* An override that is thicker than every limit asks for costs mass: said, not held against it. */
static void note_override(const SizeDetail *detail, CableId c, Findings *findings) {
    ConductorId wire = detail->wiring->cables[c].conductor_first;
    const GaugeChoice *choice = &detail->sizing->choices[wire];
    bool says = false;
    double value = 0.0;
    double limit = 0.0;
    if (choice->runner_up == SIZE_LIMIT_COUNT ||
        !sizing_holds(detail, c, SIZE_PLAIN_DROP, detail->place[c], true, &says, &value, &limit) ||
        !sizing_holds(detail, c, SIZE_HOT_DROP, detail->place[c], true, &says, &value, &limit) ||
        choice->smallest_awg[choice->runner_up] <= choice->awg) {
        return;
    }
    int32_t needed = choice->smallest_awg[choice->runner_up];
    Finding *finding = report_cable(
        detail, c, RULE_SIZE_OVERRIDE,
        arena_format(findings->arena, "%s would keep every limit (%s comes first)",
                     sizing_awg_text(findings->arena, needed), size_limit_name(choice->runner_up)),
        findings);
    finding->severity = SEVERITY_NOTE;
    finding->value = choice->awg;
    finding->limit = needed;
    finding->unit = "AWG";
    finding->source = sizing_source(detail, c, choice->runner_up);
}

/* --- currents that no gauge carries -------------------------------------------------------------
 */

static void check_free(const SizeDetail *detail, CableId c, Findings *findings) {
    static const SizeLimit OWN[] = {SIZE_FREE_AIR, SIZE_TABLE, SIZE_PROTECTION, SIZE_CLASS,
                                    SIZE_MECHANICAL};
    for (size_t i = 0; i < sizeof OWN / sizeof *OWN; i++) {
        check_limit(detail, c, OWN[i], findings);
    }
}

/* --- drops over their limit ---------------------------------------------------------------------
 */

/* Of the wires on a feeder's way whose gauge a person or a cable fixed, the one with most volts
 * over it; ID_NONE when all are the tool's. *others: the wires' keys, separated by blanks. */
static ConductorId fixed_wire(const SizeDetail *detail, uint32_t f, SizeDrop kind, Buffer *others) {
    const FeederPath *path = &detail->feeders.paths[f];
    ConductorId worst = ID_NONE;
    for (uint32_t i = 0; i < path->feed_count + path->return_count; i++) {
        ConductorId w = detail->feeders.wires[path->first + i];
        CableId c = detail->wiring->conductors[w].cable;
        if (detail->fixed[c] == SIZE_FREE || detail->fixed[c] == SIZE_COAX) {
            continue;
        }
        buffer_format(others, "%s%s", others->length == 0 ? "" : " ",
                      detail->wiring->conductors[w].key);
        if (worst == ID_NONE || detail->volts[kind][w] > detail->volts[kind][worst]) {
            worst = w;
        }
    }
    return worst;
}

/* The hint of a drop: what would take least trouble. */
static const char *drop_hint(const SizeDetail *detail, Arena *arena, uint32_t f, SizeDrop kind,
                             ConductorId wire) {
    double limit_v = detail->feeders.rows[f].limit_v;
    uint32_t load = detail->feeders.rows[f].load;
    double beyond_v = kind == DROP_HOT && detail->network_v != NULL && load != ID_NONE
                          ? detail->network_v[load]
                          : 0.0;
    double devices_v = kind == DROP_HOT ? detail->fixed_v[f] - beyond_v : 0.0;
    if (beyond_v > limit_v / 2.0 && beyond_v > devices_v) {
        return arena_format(arena,
                            "beyond its own wires and devices the solved network takes %.3f V: "
                            "look at joined grounds, the structure and the voltage of its bus",
                            beyond_v);
    }
    if (devices_v > limit_v / 2.0) {
        return arena_format(arena,
                            "devices and switches alone take %.3f V: a larger or another kind of "
                            "device takes less",
                            devices_v);
    }
    int32_t needed = wire == ID_NONE
                         ? INT_BLANK
                         : detail->sizing->choices[wire]
                               .smallest_awg[kind == DROP_PLAIN ? SIZE_PLAIN_DROP : SIZE_HOT_DROP];
    if (needed != INT_BLANK && needed >= UNITS_AWG_THICKEST) {
        return arena_format(arena, "%s as %s keeps it", detail->wiring->conductors[wire].key,
                            sizing_awg_text(arena, needed));
    }
    return wire == ID_NONE ? "shorten the way, or allow the class a thicker wire"
                           : "thicker wire on the whole way, or a shorter way";
}

/* A feeder over its limit. Where persons fixed gauges on its way it is theirs: said of the wire
 * with most volts over it. Where the tool chose all of them no gauge is thick enough. */
static void check_drop(const SizeDetail *detail, uint32_t f, SizeDrop kind, Findings *findings) {
    const Model *model = detail->model;
    const Feeder *feeder = &detail->feeders.rows[f];
    double drop_v = detail->drop_v[kind][f];
    if (!(drop_v > feeder->limit_v + SIZE_SAME_V)) {
        return;
    }
    bool of_bus = feeder->load == ID_NONE;
    const char *name = of_bus ? model->set->feed.rows[feeder->feed].feed
                              : model->terminals[detail->supply->loads[feeder->load].port].end;
    const char *text = arena_format(findings->arena, "%s drop %s %s is %.3f V, allowed is %.3g V",
                                    kind == DROP_PLAIN ? "plain" : "hot", of_bus ? "of" : "to",
                                    name, drop_v, feeder->limit_v);
    Buffer others = {.arena = findings->arena};
    ConductorId wire = fixed_wire(detail, f, kind, &others);
    Finding *finding = NULL;
    if (wire != ID_NONE) {
        CableId c = detail->wiring->conductors[wire].cable;
        finding = report_cable(detail, c, fixed_rule(detail, c, SIZE_PLAIN_DROP), text, findings);
        finding->key = detail->wiring->conductors[wire].key;
        finding->rows = arena_format(findings->arena, "%s %s", name, others.bytes);
    } else if (of_bus) {
        finding = report_row(findings, model, RULE_SIZE_DROP, TABLE_feed, feeder->feed, "",
                             "%s, whatever the gauge", text);
    } else {
        finding =
            report_owner(findings, model, RULE_SIZE_DROP, detail->supply->loads[feeder->load].owner,
                         "%s, whatever the gauge", text);
        finding->table = "feeder";
        finding->key = name;
    }
    finding->value = drop_v;
    finding->limit = feeder->limit_v;
    finding->unit = "V";
    finding->source =
        of_bus ? model_limit_row(model, "feeder_drop")->source : "AC 43.13-1B Table 11-6";
    finding->hint = drop_hint(detail, findings->arena, f, kind, wire);
}

/* A system voltage that the published table does not know: no drop can be judged. */
static void check_limits_known(const SizeDetail *detail, Findings *findings) {
    for (uint32_t f = 0; f < detail->feeders.count; f++) {
        if (!isnan(detail->feeders.rows[f].limit_v) || detail->model->set->drop_limit.count == 0) {
            continue; /* an empty table has been told */
        }
        const JobRow *job = &detail->model->set->job.rows[0];
        Finding *finding =
            report_row(findings, detail->model, RULE_SIZE_UNPROVED, TABLE_job, 0, "nominal_v",
                       "no drop limit is published for %g V: no drop is judged", job->nominal_v);
        finding->value = job->nominal_v;
        finding->unit = "V";
        finding->hint = "the table knows 14, 28, 115 and 200 V";
        return;
    }
}

/* --- contacts -----------------------------------------------------------------------------------
 */

/* A contact that a wire does not fit or overloads: the worst of its way. Disconnect shells have
 * their own findings on gauges (disconnect.gauge), here they count for the current. */
typedef struct ContactFault {
    ContactId contact; /* ID_NONE: none */
    ConductorId wire;
    const char *where; /* pin or shell */
    double limit;
    uint32_t count; /* of places like it */
} ContactFault;

/* Keeps the fault with the smallest limit (for gauges: as the gauge falls the limit is stricter
 * when `stricter_is_larger`). */
static void add_fault(ContactFault *fault, ContactId contact, ConductorId wire, const char *where,
                      double limit, bool stricter_is_larger) {
    bool first = fault->count++ == 0;
    if (first || (stricter_is_larger ? limit > fault->limit : limit < fault->limit)) {
        fault->contact = contact;
        fault->wire = wire;
        fault->where = where;
        fault->limit = limit;
    }
}

static const char *more_text(Arena *arena, const ContactFault *fault) {
    return fault->count > 1 ? arena_format(arena, " (and %u more on its way)", fault->count - 1)
                            : "";
}

static void report_fit(const SizeDetail *detail, CableId c, const ContactFault *fault, bool thick,
                       Findings *findings) {
    if (fault->count == 0) {
        return;
    }
    Arena *arena = findings->arena;
    const ContactRow *contact = &detail->model->set->contact.rows[fault->contact];
    const GaugeChoice *choice = &detail->sizing->choices[fault->wire];
    const char *because =
        choice->governing < SIZE_LIMIT_COUNT ? size_limit_name(choice->governing) : "nothing";
    Finding *finding = report_cable(
        detail, c, RULE_SIZE_CONTACT,
        arena_format(
            arena, "contact %s at %s takes nothing %s than %s%s; the gauge follows from: %s",
            contact->contact, fault->where, thick ? "thicker" : "thinner",
            sizing_awg_text(arena, (int32_t)fault->limit), more_text(arena, fault), because),
        findings);
    finding->value = choice->awg;
    finding->limit = fault->limit;
    finding->unit = "AWG";
    finding->source = contact->source;
    finding->hint = thick
                        ? "a contact with a larger barrel, a second contact and wire beside it, or "
                          "a short thinner tail spliced on"
                        : "a thicker wire, or a contact with a smaller barrel";
}

static void report_overload(const SizeDetail *detail, CableId c, const ContactFault *fault,
                            double needed_a, bool factored, Findings *findings) {
    if (fault->count == 0) {
        return;
    }
    Arena *arena = findings->arena;
    const ContactRow *contact = &detail->model->set->contact.rows[fault->contact];
    Finding *finding = report_cable(
        detail, c, RULE_SIZE_CONTACT_CURRENT,
        factored
            ? arena_format(arena,
                           "contact %s at %s is rated %g A%s; for a heater or motor of %.3g A it "
                           "needs %.3g A",
                           contact->contact, fault->where, contact->rated_a,
                           more_text(arena, fault), detail->feeders.motor_a[fault->wire], needed_a)
            : arena_format(arena, "contact %s at %s is rated %g A%s and carries %.3g A",
                           contact->contact, fault->where, contact->rated_a,
                           more_text(arena, fault), needed_a),
        findings);
    finding->value = needed_a;
    finding->limit = contact->rated_a;
    finding->unit = "A";
    finding->source =
        factored ? model_limit_row(detail->model, "heater_contact")->source : contact->source;
    finding->hint = "a larger contact, or two contacts side by side";
}

static void check_contacts(const SizeDetail *detail, CableId c, Findings *findings) {
    const Model *model = detail->model;
    const Cable *cable = &detail->wiring->cables[c];
    double factor = detail->heater_contact;
    ContactFault thick = {0};
    ContactFault thin = {0};
    ContactFault over = {0};
    double most_a = 0.0;
    bool factored = false;
    for (uint16_t core = 0; core < cable->conductor_count; core++) {
        ConductorId w = cable->conductor_first + core;
        const Conductor *wire = &detail->wiring->conductors[w];
        int32_t awg = detail->sizing->awg[w];
        double motor_a = detail->feeders.motor_a[w] * factor;
        double needed_a =
            detail->feeders.crank[w] ? 0.0 : fmax(motor_a, detail->feeders.design_a[w]);
        uint32_t crossings = detail->place[c] == GAUGE_NONE ? 0
                                                            : detail->limits.crossing_first[c + 1] -
                                                                  detail->limits.crossing_first[c];
        for (uint32_t i = 0; i < 2 + crossings; i++) {
            PinId pin = i == 0 ? wire->from : wire->to;
            uint32_t shell =
                i < 2 ? ID_NONE
                      : limits_shell(
                            &detail->limits,
                            detail->limits.crossings[detail->limits.crossing_first[c] + i - 2], c,
                            detail->place[c]);
            ContactId id = i < 2              ? model->pins[pin].contact
                           : shell == ID_NONE ? ID_NONE
                                              : detail->limits.shell_contact[shell];
            if (id == ID_NONE) {
                continue;
            }
            const ContactRow *contact = &model->set->contact.rows[id];
            bool gauges = i < 2 && awg != INT_BLANK;
            bool is_thick =
                gauges && contact->largest_awg != INT_BLANK && awg < contact->largest_awg;
            bool is_thin =
                gauges && contact->smallest_awg != INT_BLANK && awg > contact->smallest_awg;
            bool is_over = needed_a > contact->rated_a * (1.0 + 1e-12); /* false when blank */
            if (!is_thick && !is_thin && !is_over) {
                continue;
            }
            const char *where = i < 2 ? model_pin_text(model, findings->arena, pin)
                                      : model->set->disconnect_shell.rows[shell].tag;
            if (is_thick) {
                add_fault(&thick, id, w, where, contact->largest_awg, true);
            }
            if (is_thin) {
                add_fault(&thin, id, w, where, contact->smallest_awg, false);
            }
            if (is_over) {
                add_fault(&over, id, w, where, contact->rated_a, false);
                most_a = needed_a;
                factored = motor_a > detail->feeders.design_a[w];
            }
        }
    }
    report_fit(detail, c, &thick, true, findings);
    report_fit(detail, c, &thin, false, findings);
    report_overload(detail, c, &over, most_a, factored, findings);
}

/* --- switches -----------------------------------------------------------------------------------
 */

/* Rating a switch needs for what it carries, by the published factors; electronic loads, which the
 * table leaves out, count as they are (common practice, no source). */
static double switch_needed_a(const SizeDetail *detail, Arena *scratch, const Duty *duty) {
    const TableSet *set = detail->model->set;
    static const char *const WORDS[] = {"lamp", "inductive", "resistive", "motor"};
    SwitchFactor *rows = ARENA_ARRAY(scratch, SwitchFactor, set->switch_factor.count);
    for (size_t i = 0; i < set->switch_factor.count; i++) {
        const SwitchFactorRow *row = &set->switch_factor.rows[i];
        rows[i] = (SwitchFactor){.nominal_v = row->nominal_v, .factor = row->factor};
        for (int kind = 0; kind < 4; kind++) {
            if (strcmp(row->load, WORDS[kind]) == 0) {
                rows[i].load = (SwitchLoad)kind;
            }
        }
    }
    double needed_a = duty->by_kind_a[DRAW_ELECTRONIC];
    for (int kind = 0; kind < 4; kind++) {
        double a = duty->by_kind_a[kind];
        RatingValue value = contact_switch_needed_a(
            rows, set->switch_factor.count, set->job.rows[0].nominal_v, (SwitchLoad)kind, a);
        needed_a += isnan(value.value) ? a : value.value;
    }
    return needed_a;
}

static void check_switch(const SizeDetail *detail, OwnerId owner, Arena *scratch,
                         Findings *findings) {
    const Model *model = detail->model;
    const ModelOwner *row = &model->owners[owner];
    const Duty *duty = &detail->feeders.switchgear[row->row];
    const SwitchPartRow *part = &model->set->switch_part.rows[row->part];
    bool hand = strcmp(part->kind, "switch") == 0;
    double carried_a = duty->crank || !duty->feeds_bus ? duty->design_a : duty->steady_a;
    double needed_a = hand && !duty->crank ? switch_needed_a(detail, scratch, duty) : carried_a;
    if (!(needed_a > part->rated_a * (1.0 + 1e-12))) {
        return;
    }
    Finding *finding = report_owner(
        findings, model, RULE_SIZE_SWITCH, owner,
        hand ? "%s is rated %g A; what it switches asks for %.3g A (%.3g A times the factors of "
               "its kinds of load)"
             : "%s is rated %g A, %.3g A pass it (%.3g A)",
        row->tag, part->rated_a, needed_a, carried_a);
    finding->value = needed_a;
    finding->limit = part->rated_a;
    finding->unit = "A";
    finding->source = hand ? "AC 43.13-1B Table 11-4" : part->source;
    finding->hint = hand ? "a larger switch, or a relay that it drives" : "a larger one";
}

/* Silver contacts of a switch rated 1 A or more must not carry dry circuits: below 8 V or 0.5 A
 * (AC 43.13-1B 11-53g). The class says which circuits are dry. */
static void check_dry(const SizeDetail *detail, const Net *net, Findings *findings) {
    const Model *model = detail->model;
    if (model->set->interface.rows[net->class_id].gold_needed != 1) {
        return;
    }
    const double silver_from_a = 1.0;
    for (uint32_t i = 0; i < net->end_count; i++) {
        OwnerId owner = model->terminals[detail->wiring->ends[net->end_first + i]].owner;
        const ModelOwner *row = &model->owners[owner];
        if (row->kind != OWNER_SWITCHGEAR || row->part == ID_NONE) {
            continue;
        }
        const SwitchPartRow *part = &model->set->switch_part.rows[row->part];
        if (strcmp(part->kind, "switch") == 0 && part->rated_a >= silver_from_a) {
            Finding *finding =
                report_owner(findings, model, RULE_SIZE_SWITCH_DRY, owner,
                             "%s switches the dry circuit %s; rated %g A, its contacts are silver "
                             "unless its data say otherwise",
                             row->tag, net->name, part->rated_a);
            finding->limit = model_limit(model, "silver_contact_a");
            finding->unit = "A";
            finding->source = model_limit_row(model, "silver_contact_a")->source;
            finding->hint = "a switch with gold contacts, rated below 1 A";
        }
    }
}

/* --- starter ------------------------------------------------------------------------------------
 */

/* One note that says which conductors carry the starter and are not held to a steady current. */
static void note_starter(const SizeDetail *detail, Findings *findings) {
    const Wiring *wiring = detail->wiring;
    Buffer list = {.arena = findings->arena};
    uint32_t count = 0;
    double most_a = 0.0;
    for (ConductorId w = 0; w < wiring->conductor_count; w++) {
        if (detail->feeders.crank[w]) {
            buffer_format(&list, "%s%s", count == 0 ? "" : " ", wiring->conductors[w].key);
            most_a = fmax(most_a, detail->feeders.design_a[w]);
            count++;
        }
    }
    if (count == 0) {
        return;
    }
    const JobRow *job = &detail->model->set->job.rows[0];
    Finding *finding = report_row(findings, detail->model, RULE_SIZE_CRANK, TABLE_job, 0, "starter",
                                  "%u cables carry the starter's %g A for seconds: no device, no "
                                  "steady current rating and no drop limit is asked of them",
                                  count, most_a);
    finding->value = job->crank_a;
    finding->unit = "A";
    finding->rows = list.bytes;
}

/* --- exported -----------------------------------------------------------------------------------
 */

void sizing_check(const SizeDetail *detail, Findings *findings) {
    const Model *model = detail->model;
    const Wiring *wiring = detail->wiring;
    for (CableId c = 0; c < wiring->cable_count; c++) {
        if (detail->place[c] != GAUGE_NONE && detail->fixed[c] == SIZE_FREE) {
            check_free(detail, c, findings);
        } else if (detail->place[c] != GAUGE_NONE) {
            size_t before = findings->count;
            check_fixed(detail, c, findings);
            if (detail->fixed[c] == SIZE_BY_OVERRIDE && findings->count == before) {
                note_override(detail, c, findings);
            }
        }
        check_contacts(detail, c, findings);
    }
    check_limits_known(detail, findings);
    for (uint32_t f = 0; f < detail->feeders.count; f++) {
        size_t before = findings->count;
        check_drop(detail, f, DROP_PLAIN, findings);
        if (findings->count == before) {
            check_drop(detail, f, DROP_HOT, findings);
        }
    }
    Arena scratch = {0};
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        if (row->kind == OWNER_SWITCHGEAR && row->part != ID_NONE) {
            check_switch(detail, owner, &scratch, findings);
        }
    }
    arena_free(&scratch);
    for (NetId n = 0; n < wiring->net_count; n++) {
        check_dry(detail, &wiring->nets[n], findings);
    }
    note_starter(detail, findings);
}
