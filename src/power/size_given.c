/* Gauges and ratings that come from persons: circuit rows and override rows are read, ratings
 * checked, blank ones chosen. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "model/report.h"
#include "power/sizing.h"

/* --- gauges -------------------------------------------------------------------------------------
 */

/* Fixes a cable at a gauge; false when the library has no such wire. */
static bool fix_place(SizeDetail *detail, CableId c, int32_t awg, SizeFixed how) {
    uint32_t place = limits_place(&detail->limits, awg);
    if (place == GAUGE_NONE) {
        return false;
    }
    detail->place[c] = place;
    detail->low[c] = place;
    detail->fixed[c] = (uint8_t)how;
    return true;
}

static void report_no_wire(const SizeDetail *detail, Finding *finding, Findings *findings) {
    Buffer text = {.arena = findings->arena};
    buffer_text(&text, "the library has AWG");
    for (uint32_t g = 0; g < detail->limits.gauge_count; g++) {
        char awg[UNITS_AWG_TEXT];
        buffer_format(&text, " %s", units_awg_format(detail->limits.gauges[g].awg, awg));
    }
    finding->hint = text.bytes;
}

/* What the circuits' rows and the classes' cables fix. */
static void read_rows(SizeDetail *detail, Findings *findings) {
    const Wiring *wiring = detail->wiring;
    const TableSet *set = detail->model->set;
    for (CableId c = 0; c < wiring->cable_count; c++) {
        const Cable *cable = &wiring->cables[c];
        const Net *net = &wiring->nets[cable->net];
        detail->place[c] = GAUGE_NONE;
        detail->low[c] = 0;
        detail->fixed[c] = SIZE_FREE;
        detail->override_row[c] = ID_NONE;
        if (cable->coax || cable->conductor_count == 0) {
            detail->fixed[c] = SIZE_COAX;
            continue;
        }
        if (cable->part != ID_NONE) {
            int32_t awg = set->cable.rows[cable->part].awg;
            detail->fixed[c] = SIZE_BY_CABLE;
            if (awg != INT_BLANK) {
                fix_place(detail, c, awg, SIZE_BY_CABLE);
            }
            if (net->given_awg != INT_BLANK && net->given_awg != awg && c == net->cable_first) {
                Finding *finding = report_row(
                    findings, detail->model, RULE_SIZE_GAUGE, net->from_table, net->from_row, "awg",
                    "circuit %s is laid in cable %s with cores of %s, the row asks for %s",
                    net->name, set->cable.rows[cable->part].part,
                    sizing_awg_text(findings->arena, awg),
                    sizing_awg_text(findings->arena, net->given_awg));
                finding->hint = "leave the gauge blank, or give the class a cable of that gauge";
            }
            continue;
        }
        if (net->given_awg != INT_BLANK && !fix_place(detail, c, net->given_awg, SIZE_BY_ROW) &&
            c == net->cable_first) {
            Finding *finding =
                report_row(findings, detail->model, RULE_SIZE_GAUGE, net->from_table, net->from_row,
                           "awg", "circuit %s asks for %s, and there is no such wire", net->name,
                           sizing_awg_text(findings->arena, net->given_awg));
            report_no_wire(detail, finding, findings);
        }
    }
}

/* "18", "18 AWG", "AWG 18". */
static bool read_awg(const char *text, int32_t *awg) {
    int parsed = 0;
    if (strncmp(text, "AWG ", 4) == 0) {
        text += 4;
    }
    if (!units_awg_parse(text, &parsed)) {
        return false;
    }
    *awg = parsed;
    return true;
}

static const char *nearest_wire(const SizeDetail *detail, Arena *arena, const char *name) {
    const Wiring *wiring = detail->wiring;
    uint32_t count = wiring->net_count + wiring->conductor_count;
    enum { LOOK_AT_MOST = 4000 };
    count = count < LOOK_AT_MOST ? count : LOOK_AT_MOST;
    const char **names = ARENA_ARRAY(arena, const char *, count);
    for (uint32_t i = 0; i < count; i++) {
        names[i] = i < wiring->net_count ? wiring->nets[i].name
                                         : wiring->conductors[i - wiring->net_count].key;
    }
    return text_nearest(name, names, count);
}

static void read_override(SizeDetail *detail, uint32_t row, Findings *findings) {
    const Wiring *wiring = detail->wiring;
    const OverrideRow *cell = &detail->model->set->override.rows[row];
    if (strcmp(cell->column, "awg") != 0) {
        Finding *finding =
            report_row(findings, detail->model, RULE_SIZE_OVERRIDE_ROW, TABLE_override, row,
                       "column", "%s of %s can't be overridden", cell->column, cell->row);
        finding->hint = "of a conductor the column awg can be";
        return;
    }
    int32_t awg = INT_BLANK;
    if (!read_awg(cell->value, &awg) || limits_place(&detail->limits, awg) == GAUGE_NONE) {
        Finding *finding =
            report_row(findings, detail->model, RULE_SIZE_OVERRIDE_ROW, TABLE_override, row,
                       "value", "\"%s\" is no gauge that the library has a wire of", cell->value);
        report_no_wire(detail, finding, findings);
        return;
    }
    ConductorId wire = name_map_find(&wiring->conductor_by_key, cell->row);
    NetId net = name_map_find(&wiring->net_by_name, cell->row);
    CableId first = 0;
    CableId after = 0;
    if (wire != NAME_NONE) {
        first = wiring->conductors[wire].cable;
        after = first + 1;
    } else if (net != NAME_NONE) {
        first = wiring->nets[net].cable_first;
        after = first + wiring->nets[net].cable_count;
    } else {
        Finding *finding =
            report_row(findings, detail->model, RULE_SIZE_OVERRIDE_ROW, TABLE_override, row, "row",
                       "no wire and no circuit is called %s", cell->row);
        const char *nearest = nearest_wire(detail, findings->arena, cell->row);
        if (nearest != NULL) {
            finding->hint = arena_format(findings->arena, "did you mean %s?", nearest);
        } else {
            finding->hint = "`marling show gauge` lists the wires, `marling show net` the circuits";
        }
        return;
    }
    for (CableId c = first; c < after; c++) {
        if (detail->fixed[c] == SIZE_BY_CABLE || detail->fixed[c] == SIZE_COAX) {
            Finding *finding = report_row(
                findings, detail->model, RULE_SIZE_OVERRIDE_ROW, TABLE_override, row, "row",
                "%s is a core of a made-up cable: its gauge is the cable's", cell->row);
            finding->hint = "give the circuit another class, or the class another cable";
            return;
        }
        if (wire == NAME_NONE && detail->override_row[c] != ID_NONE) {
            continue; /* a row for the wire itself stands before one for its circuit */
        }
        fix_place(detail, c, awg, SIZE_BY_OVERRIDE);
        detail->override_row[c] = row;
    }
}

void sizing_read_given(SizeDetail *detail, Findings *findings) {
    const TableSet *set = detail->model->set;
    read_rows(detail, findings);
    for (int wires = 1; wires >= 0; wires--) { /* rows for single wires before rows for circuits */
        for (uint32_t i = 0; i < set->override.count; i++) {
            const OverrideRow *row = &set->override.rows[i];
            bool ours = strcmp(row->table, "gauge") == 0 || strcmp(row->table, "conductor") == 0;
            bool wire = name_map_find(&detail->wiring->conductor_by_key, row->row) != NAME_NONE;
            if (ours && wire == (wires == 1)) {
                read_override(detail, i, findings);
            }
        }
    }
}

/* --- ratings ------------------------------------------------------------------------------------
 */

typedef struct Needed {
    double rating_a;
    double factor;     /* of the limit that asks for it */
    double current_a;  /* what it is taken times */
    const char *what;  /* "continuous", "peak", "design" */
    const char *limit; /* name of the limit, NULL when it is the current itself */
} Needed;

static void need(Needed *needed, double factor, double current_a, const char *what,
                 const char *limit) {
    if (factor * current_a > needed->rating_a) {
        *needed = (Needed){factor * current_a, factor, current_a, what, limit};
    }
}

/* The smallest rating that carries what hangs on a device: a margin over continuous current,
 * intermittent load itself, for breakers and channels a share of the peak. A limiter of a bus need
 * not carry all intermittent loads at once. */
static Needed needed_rating(const SizeDetail *detail, uint32_t row, const char *kind) {
    const Duty *duty = &detail->feeders.protection[row];
    Needed needed = {0};
    if (strcmp(kind, "limiter") == 0) {
        need(&needed, model_limit(detail->model, "limiter_design"),
             duty->feeds_bus ? duty->steady_a : duty->design_a, "design", "limiter_design");
        return needed;
    }
    need(&needed, model_limit(detail->model, "protection_continuous"), duty->steady_a, "continuous",
         "protection_continuous");
    need(&needed, 1.0, duty->design_a, "design", NULL);
    if (strcmp(kind, "fuse") != 0) {
        need(&needed, model_limit(detail->model, "protection_peak"), duty->peak_a, "peak",
             "protection_peak");
    }
    return needed;
}

/* Smallest rating of a part not below `least_a`; NAN when there is none. */
static double smallest_rating(const Model *model, const char *part, double least_a) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_device_rating, part, &count);
    double best_a = (double)NAN;
    for (uint32_t i = first; i < first + count; i++) {
        double a = model->set->device_rating.rows[i].rating_a;
        if (a >= least_a && !(a >= best_a)) {
            best_a = a;
        }
    }
    return best_a;
}

static void check_rating(SizeDetail *detail, uint32_t row, const Needed *needed,
                         Findings *findings) {
    const Model *model = detail->model;
    const ProtectionRow *cell = &model->set->protection.rows[row];
    uint32_t made = feeders_rating_row(model, cell->part, cell->rating_a);
    if (made != ID_NONE && model->set->device_rating.rows[made].rating_a != cell->rating_a) {
        Finding *finding =
            report_row(findings, model, RULE_SIZE_DEVICE_RATING, TABLE_protection, row, "rating_a",
                       "%s: %s is not made for %g A", cell->tag, cell->part, cell->rating_a);
        finding->value = cell->rating_a;
        finding->unit = "A";
        double next_a = smallest_rating(model, cell->part, cell->rating_a);
        if (!isnan(next_a)) {
            finding->hint = arena_format(findings->arena, "the next larger one is %g A", next_a);
        }
    }
    if (needed->rating_a > cell->rating_a * (1.0 + 1e-12)) {
        Finding *finding = report_row(
            findings, model, RULE_SIZE_DEVICE_SMALL, TABLE_protection, row, "rating_a",
            "%s is rated %g A; %g x its %s current of %.4g A is %.4g A", cell->tag, cell->rating_a,
            needed->factor, needed->what, needed->current_a, needed->rating_a);
        finding->value = cell->rating_a;
        finding->limit = needed->rating_a;
        finding->unit = "A";
        finding->source = needed->limit == NULL ? "the load's own current"
                                                : model_limit_row(model, needed->limit)->source;
        double fits_a = smallest_rating(model, cell->part, needed->rating_a);
        finding->hint = isnan(fits_a) ? "share the loads out, or take another kind of device"
                                      : arena_format(findings->arena,
                                                     "%g A would do, with wire to match", fits_a);
    }
}

void sizing_rate_devices(SizeDetail *detail, Findings *findings) {
    const Model *model = detail->model;
    for (uint32_t row = 0; row < model->set->protection.count; row++) {
        const ProtectionRow *cell = &model->set->protection.rows[row];
        uint32_t part = model_row(model, TABLE_device, cell->part);
        detail->sizing->rating_a[row] = cell->rating_a;
        if (part == ID_NONE) {
            continue;
        }
        Needed needed = needed_rating(detail, row, model->set->device.rows[part].kind);
        if (!isnan(cell->rating_a)) {
            check_rating(detail, row, &needed, findings);
            continue;
        }
        detail->sizing->rating_a[row] = smallest_rating(model, cell->part, needed.rating_a);
        if (isnan(detail->sizing->rating_a[row])) {
            Finding *finding =
                report_row(findings, model, RULE_SIZE_DEVICE_NONE, TABLE_protection, row,
                           "rating_a", "no %s is made for the %.4g A that %s needs", cell->part,
                           needed.rating_a, cell->tag);
            finding->limit = needed.rating_a;
            finding->unit = "A";
            finding->hint = "share the loads out, or take another kind of device";
        }
    }
}
