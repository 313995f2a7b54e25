/* The size pass as result rows, and as lines that answer why. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "power/sizing.h"

/* --- shared -------------------------------------------------------------------------------------
 */

static const char *feeder_port(const SizeDetail *detail, const Feeder *feeder) {
    if (feeder->load != ID_NONE) {
        return detail->model->terminals[detail->supply->loads[feeder->load].port].end;
    }
    const ModelFeed *feed = &detail->model->feeds[feeder->feed];
    return feed->to_bus == ID_NONE
               ? detail->model->terminals[detail->model->targets[feed->target_first]].end
               : detail->model->set->bus.rows[feed->to_bus].bus;
}

static OwnerId feeder_device(const SizeDetail *detail, const Feeder *feeder) {
    if (feeder->load != ID_NONE) {
        return detail->supply->loads[feeder->load].device;
    }
    const ModelFeed *feed = &detail->model->feeds[feeder->feed];
    for (uint32_t s = 0; s < feed->step_count; s++) {
        const FeedStep *step = &detail->model->steps[feed->step_first + s];
        if (step->kind == STEP_PROTECTION) {
            return step->owner;
        }
    }
    return ID_NONE;
}

static const char *owner_tag(const Model *model, OwnerId owner) {
    return owner == ID_NONE ? "" : model->owners[owner].tag;
}

/* --- rows ---------------------------------------------------------------------------------------
 */

static void add_gauge_row(Arena *arena, const SizeDetail *detail, ConductorId w,
                          TableSet *results) {
    const Conductor *wire = &detail->wiring->conductors[w];
    const GaugeChoice *choice = &detail->sizing->choices[w];
    GaugeRow *row = table_append(results, arena, TABLE_gauge);
    SizeLimit governs = choice->governing;
    row->wire = wire->key;
    row->net = detail->wiring->nets[detail->wiring->cables[wire->cable].net].name;
    row->awg = choice->awg;
    row->governing = size_limit_name(governs);
    row->limit_awg = choice->smallest_awg[governs];
    row->value = choice->value[governs];
    row->limit = choice->limit[governs];
    row->unit = isnan(row->value) ? "" : sizing_unit(governs);
    if (choice->runner_up != SIZE_LIMIT_COUNT) {
        int32_t awg = choice->smallest_awg[choice->runner_up];
        row->runner_up = size_limit_name(choice->runner_up);
        row->runner_up_awg = awg < UNITS_AWG_THICKEST ? INT_BLANK : awg;
    }
    row->source = sizing_source(detail, wire->cable, governs);
}

static void add_feeder_row(Arena *arena, const SizeDetail *detail, uint32_t f, TableSet *results) {
    const Feeder *feeder = &detail->feeders.rows[f];
    const Model *model = detail->model;
    FeederRow *row = table_append(results, arena, TABLE_feeder);
    OwnerId device = feeder_device(detail, feeder);
    row->port = feeder_port(detail, feeder);
    row->device = owner_tag(model, device);
    row->rating_a =
        device == ID_NONE ? (double)NAN : detail->sizing->rating_a[model->owners[device].row];
    row->duty = "continuous";
    BusId bus = ID_NONE;
    if (feeder->load != ID_NONE) {
        const SupplyLoad *load = &detail->supply->loads[feeder->load];
        row->duty = load->intermittent ? "intermittent" : "continuous";
        bus = load->bus;
    } else {
        bus = model->feeds[feeder->feed].from_bus;
    }
    row->bus = bus == ID_NONE ? "" : model->set->bus.rows[bus].bus;
    row->design_a = feeder->design_a;
    row->feed_mm = feeder->feed_mm;
    row->loop_mm = feeder->loop_mm;
    row->awg = "";
    if (feeder->thinnest_awg != INT_BLANK) {
        char thin[UNITS_AWG_TEXT];
        char thick[UNITS_AWG_TEXT];
        units_awg_format(feeder->thinnest_awg, thin);
        units_awg_format(feeder->thickest_awg, thick);
        row->awg = strcmp(thin, thick) == 0 ? arena_format(arena, "%s", thin)
                                            : arena_format(arena, "%s/%s", thin, thick);
    }
    row->plain_drop_v = feeder->plain_drop_v;
    row->solved_drop_v = feeder->hot_drop_v;
    row->limit_v = feeder->limit_v;
}

void size_rows(Arena *arena, const Sizing *sizing, TableSet *results) {
    const SizeDetail *detail = sizing->detail;
    for (ConductorId w = 0; w < detail->wiring->conductor_count; w++) {
        if (detail->feeders.role[w] != WIRE_SIGNAL && sizing->choices[w].awg != INT_BLANK &&
            sizing->choices[w].governing != SIZE_LIMIT_COUNT) {
            add_gauge_row(arena, detail, w, results);
        }
    }
    for (uint32_t f = 0; f < sizing->feeder_count; f++) {
        add_feeder_row(arena, detail, f, results);
    }
    for (size_t i = 0; i < results->conductor.count; i++) {
        ConductorRow *row = &results->conductor.rows[i];
        ConductorId w = name_map_find(&detail->wiring->conductor_by_key, row->wire);
        if (w != NAME_NONE) {
            row->device = owner_tag(detail->model, sizing->device[w]);
        }
    }
}

/* --- why ----------------------------------------------------------------------------------------
 */

static void say_what_it_carries(Buffer *out, const SizeDetail *detail, ConductorId w) {
    static const char *const ROLES[] = {
        [WIRE_SIGNAL] = "it carries no supply current",
        [WIRE_FEED] = "it leads supply current",
        [WIRE_RETURN] = "it leads current back",
        [WIRE_TRUNK] = "it carries what returns between ground points",
    };
    const Sizing *sizing = detail->sizing;
    buffer_text(out, ROLES[detail->feeders.role[w]]);
    if (sizing->design_a[w] > 0.0) {
        buffer_format(out, ", design current %.4g A", sizing->design_a[w]);
    }
    if (sizing->device[w] != ID_NONE) {
        const ModelOwner *owner = &detail->model->owners[sizing->device[w]];
        double rating_a = sizing->rating_a[owner->row];
        buffer_format(out, ", behind %s", owner->tag);
        if (!isnan(rating_a)) {
            buffer_format(out, " (%g A)", rating_a);
        }
    }
    buffer_text(out, "\n");
    CableId c = detail->wiring->conductors[w].cable;
    uint32_t said = ID_NONE;
    for (uint32_t u = detail->use_first[c]; u < detail->use_first[c + 1]; u++) {
        const SizeUse *use = &detail->uses[u];
        const Feeder *feeder = &detail->feeders.rows[use->feeder];
        if (use->wire == w && use->feeder != said) {
            said = use->feeder;
            buffer_format(out,
                          "on the way of %s: %.4g A, way and back %.0f mm, drop plain %.3f V, "
                          "hot %.3f V, allowed %.3g V\n",
                          feeder_port(detail, feeder), feeder->design_a, feeder->loop_mm,
                          feeder->plain_drop_v, feeder->hot_drop_v, feeder->limit_v);
        }
    }
}

/* How the number of a limit came about, at one gauge thinner than the limit allows. */
static void say_formula(Buffer *out, const SizeDetail *detail, ConductorId w, SizeLimit which,
                        uint32_t place) {
    CableId c = detail->wiring->conductors[w].cable;
    const Limits *limits = &detail->limits;
    double current_a = detail->feeders.design_a[w];
    char awg[UNITS_AWG_TEXT];
    units_awg_format(limits->gauges[place].awg, awg);
    double length_mm = detail->routing->length_mm[c];
    switch (which) {
    case SIZE_PLAIN_DROP:
        buffer_format(out,
                      "    sum of current x ohm/m x length; this wire as AWG %s: %.4g A x "
                      "%.5g ohm/m x %.0f mm = %.3f V\n",
                      awg, current_a, limits->gauges[place].hand_ohm_per_m, length_mm,
                      sizing_volts(detail, DROP_PLAIN, w, place));
        break;
    case SIZE_HOT_DROP:
        buffer_format(out,
                      "    copper at T1 + (TR - T1) x root(I/Imax), up to %.0f degC, contacts "
                      "%.2g mohm; this wire as AWG %s: %.3f V\n",
                      limits_conductor_degc(limits, c, place, current_a),
                      limits_joint_ohm(limits, w, place) * 1000.0, awg,
                      sizing_volts(detail, DROP_HOT, w, place));
        break;
    case SIZE_FREE_AIR: {
        for (uint32_t i = limits->stretch_first[c]; i < limits->stretch_first[c + 1]; i++) {
            const Stretch *stretch = &limits->stretches[i];
            const ZoneRow *zone = &detail->model->set->zone.rows[stretch->zone];
            double air_a = limits->zone_a[(size_t)stretch->zone * limits->gauge_count + place];
            double factor = limits->bundle_factor[stretch->wires];
            buffer_format(out,
                          "    zone %s, %.0f degC, %.0f m: AWG %s %.3g A in free air there, x "
                          "%.3g for %u wires = %.3g A\n",
                          zone->zone, zone->ambient_max_degc, zone->altitude_max_m, awg, air_a,
                          factor, stretch->wires, air_a * factor);
        }
        break;
    }
    case SIZE_GIVEN:
        if (detail->override_row[c] != ID_NONE) {
            const OverrideRow *row = &detail->model->set->override.rows[detail->override_row[c]];
            buffer_format(out, "    override by %s: %s\n", row->who, row->reason);
        }
        break;
    case SIZE_CLASS:
    case SIZE_MECHANICAL:
    case SIZE_TABLE:
    case SIZE_PROTECTION:
    case SIZE_CONTACT:
    case SIZE_PAIRED:
    case SIZE_LIMIT_COUNT:
        break;
    }
}

static void say_limit(Buffer *out, const SizeDetail *detail, ConductorId w, SizeLimit which,
                      const char *lead) {
    const GaugeChoice *choice = &detail->sizing->choices[w];
    CableId c = detail->wiring->conductors[w].cable;
    int32_t smallest = choice->smallest_awg[which];
    char awg[UNITS_AWG_TEXT] = "";
    bool none = smallest < UNITS_AWG_THICKEST;
    if (!none) {
        units_awg_format(smallest, awg);
    }
    buffer_format(out, "%s%s: %s%s", lead, size_limit_name(which),
                  none ? "no gauge keeps it" : "AWG ", awg);
    uint32_t place = none ? detail->place[c] : limits_place(&detail->limits, smallest);
    uint32_t thinner = none || place == GAUGE_NONE ? place : limits_thinner(&detail->limits, place);
    if (!isnan(choice->value[which]) && thinner != GAUGE_NONE) {
        char asked[UNITS_AWG_TEXT];
        units_awg_format(detail->limits.gauges[thinner].awg, asked);
        const char *unit = sizing_unit(which);
        if (strcmp(unit, "AWG") == 0) {
            char limit[UNITS_AWG_TEXT];
            buffer_format(out, "; AWG %s is thinner than AWG %s", asked,
                          units_awg_format((int)choice->limit[which], limit));
        } else if (!(choice->limit[which] > 0.0)) {
            buffer_format(out, "; for AWG %s no figure is published: not proved", asked);
        } else {
            buffer_format(out, "; with AWG %s %.4g %s against %.4g %s allowed", asked,
                          choice->value[which], unit, choice->limit[which], unit);
        }
    }
    buffer_format(out, " [%s]\n", sizing_source(detail, c, which));
    /* Where nothing is thinner the numbers are those of the gauge itself. */
    uint32_t shown = thinner == GAUGE_NONE ? place : thinner;
    if (shown != GAUGE_NONE) {
        say_formula(out, detail, w, which, shown);
    }
}

void size_why(Buffer *out, const Sizing *sizing, ConductorId w) {
    const SizeDetail *detail = sizing->detail;
    const GaugeChoice *choice = &sizing->choices[w];
    const Conductor *wire = &detail->wiring->conductors[w];
    const Cable *cable = &detail->wiring->cables[wire->cable];
    if (choice->awg == INT_BLANK) {
        buffer_format(out, "%s has no gauge: it is %s\n", wire->key,
                      cable->coax ? "coax" : "part of a cable without one");
        return;
    }
    char awg[UNITS_AWG_TEXT];
    buffer_format(out, "%s is AWG %s\n", wire->key, units_awg_format(choice->awg, awg));
    say_what_it_carries(out, detail, w);
    if (choice->governing != SIZE_LIMIT_COUNT) {
        say_limit(out, detail, w, choice->governing, "governing limit, ");
    }
    if (choice->runner_up != SIZE_LIMIT_COUNT) {
        say_limit(out, detail, w, choice->runner_up, "next behind it, ");
    }
    for (int i = 0; i < SIZE_LIMIT_COUNT; i++) {
        bool said = i == (int)choice->governing || i == (int)choice->runner_up;
        if (!said && choice->smallest_awg[i] != INT_BLANK) {
            say_limit(out, detail, w, (SizeLimit)i, "also, ");
        }
    }
    if (detail->feeders.crank[w]) {
        buffer_text(out, "it carries the starter for seconds: no device, no steady rating and no "
                         "drop limit is asked of it\n");
    }
}

void size_heat(const Sizing *sizing, double *conductor_degc) {
    const SizeDetail *detail = sizing->detail;
    for (ConductorId w = 0; w < detail->wiring->conductor_count; w++) {
        CableId cable = detail->wiring->conductors[w].cable;
        uint32_t place = detail->place[cable];
        double current_a = detail->feeders.design_a[w];
        if (place == GAUGE_NONE || !(current_a > 0.0)) {
            continue;
        }
        double degc = limits_conductor_degc(&detail->limits, cable, place, current_a);
        if (degc > conductor_degc[w]) {
            conductor_degc[w] = degc;
        }
    }
}
