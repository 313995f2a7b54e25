/* What the guard found, as rows, findings and lines for a reader. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/report.h"
#include "power/guard_inner.h"

/* --- words --------------------------------------------------------------------------------------
 */

const char *guard_device_tag(const GuardInput *input, const GuardDevice *device) {
    return input->model->owners[device->owner].tag;
}

static const DeviceRow *part_of(const GuardInput *in, const GuardDevice *device) {
    return &in->model->set->device.rows[in->model->owners[device->owner].part];
}

static const char *phase_name(const GuardInput *in, uint32_t phase) {
    return phase == ID_NONE ? "" : in->model->set->phase.rows[phase].phase;
}

/* Blank in a table what has no end or is not known. */
static double finite(double value) {
    return isfinite(value) ? value : (double)NAN;
}

/* "0.15 s", "6 min", "no end". */
static const char *time_text(Arena *arena, double seconds) {
    if (isinf(seconds)) {
        return "no end";
    }
    return seconds < 100.0 ? arena_format(arena, "%.3g s", seconds)
                           : arena_format(arena, "%.0f s", seconds);
}

static const GuardFault *fault_of(const GuardRow *row) {
    return row->decides == GUARD_LOW ? &row->low : &row->high;
}

/* The tag of the source that feeds a row without a device. */
static const char *source_tag(const GuardInput *in, const GuardFault *fault) {
    uint32_t source = fault->source.source == NETWORK_ALTERNATOR
                          ? in->built->alternators[fault->source.index].source
                          : in->built->batteries[fault->source.index].source;
    return in->model->set->source.rows[source].unit;
}

/* A return or trunk is read off the short of a source, whose tag is that of the pin. */
static const char *bare_source(const GuardInput *in, const GuardRow *row) {
    const GuardFault *fault = fault_of(row);
    if (fault->source.amps_a > 0.0) {
        return source_tag(in, fault);
    }
    const Model *model = in->model;
    return model->owners[model->terminals[model->pins[row->at].terminal].owner].tag;
}

static double percent_of(const GuardRow *row) {
    const GuardFault *fault = fault_of(row);
    const GuardStage *stage = &fault->stages[0];
    return 100.0 * row->at_a * (stage->device_a / stage->wire_a) / stage->device->rating_a;
}

static const char *why_not_proved(Arena *arena, const GuardInput *in, const GuardRow *row) {
    const GuardFault *fault = fault_of(row);
    if (fault->lost || fault->stage_count == 0) {
        return row->carries_a > 0.0 ? "where the current comes from was not found to its end"
                                    : "the wire's gauge or its published currents are not known";
    }
    const GuardStage *stage = &fault->stages[fault->stage_count - 1];
    const char *part = part_of(in, stage->device)->part;
    if (stage->device->all.count == 0) {
        return arena_format(arena, "the library has no curve of %s at %.3g A", part,
                            stage->device->rating_a);
    }
    if (row->judgement.memory) {
        return arena_format(arena, "only values from memory say when %s opens at %.0f %%", part,
                            percent_of(row));
    }
    double last_pct = stage->device->all.rows[stage->device->all.count - 1].percent;
    const char *slow = isinf(row->judgement.slow_s)
                           ? ""
                           : arena_format(arena, ": open within %s at most",
                                          time_text(arena, row->judgement.slow_s));
    return arena_format(arena, "%s carries %.0f %%, its published gates end at %.0f %%%s", part,
                        percent_of(row), last_pct, slow);
}

const char *guard_because(Arena *arena, const GuardInput *in, const GuardRow *row) {
    const GuardJudgement *told = &row->judgement;
    switch (told->verdict) {
    case GUARD_NO_CURRENT:
        return "no source drives a fault current through it in any phase";
    case GUARD_PROVED:
        if (isinf(told->damage_s)) {
            return arena_format(arena, "it carries all that flows: %.3g A of %.3g A for good",
                                row->at_a, row->carries_a);
        }
        return arena_format(arena, "open within %s, the wire is at %.0f degC after %s",
                            time_text(arena, told->slow_s), row->limit_degc,
                            time_text(arena, told->damage_s));
    case GUARD_NOT_PROVED:
        return why_not_proved(arena, in, row);
    case GUARD_BARE:
        return arena_format(arena, "nothing opens between %s and the fault, %.0f mm of wire%s",
                            bare_source(in, row), row->way_mm,
                            row->exempt ? "; exempt: starter's cable, return or strap" : "");
    case GUARD_FAILS:
        return told->edge == GUARD_EDGE_FAST
                   ? arena_format(arena,
                                  "may not open before %s, the wire is at %.0f degC after %s",
                                  time_text(arena, told->fast_s), row->limit_degc,
                                  time_text(arena, told->damage_s))
                   : arena_format(arena, "may take %s to open, the wire is at %.0f degC after %s",
                                  time_text(arena, told->slow_s), row->limit_degc,
                                  time_text(arena, told->damage_s));
    case GUARD_VERDICT_COUNT:
        break;
    }
    return "";
}

/* What is from memory and has a say. */
static const char *memory_of(Arena *arena, const GuardInput *in, const GuardRow *row) {
    Buffer text = {.arena = arena};
    const GuardFault *fault = fault_of(row);
    const GuardDevice *last = NULL;
    for (uint32_t i = 0; row->judgement.memory && i < fault->stage_count; i++) {
        const GuardDevice *device = fault->stages[i].device;
        if (last == NULL || part_of(in, last) != part_of(in, device)) {
            buffer_format(&text, "%scurve of %s", text.length == 0 ? "" : ", ",
                          part_of(in, device)->part);
        }
        last = device;
    }
    bool contact = row->decides == GUARD_LOW && row->judgement.verdict != GUARD_NO_CURRENT;
    const LimitRow *limit = model_limit_row(in->model, GUARD_LIMIT_CONTACT);
    if (contact && strcmp(limit->status, "memory") == 0) {
        buffer_format(&text, "%s%s", text.length == 0 ? "" : ", ", GUARD_LIMIT_CONTACT);
    }
    return text.length == 0 ? "" : text.bytes;
}

/* The largest device that the published chart pairs with the wire; NAN: none. */
static double chart_a(const GuardInput *in, const GuardRow *row) {
    const GuardFault *fault = fault_of(row);
    const Limits *limits = size_limits(in->sizing);
    uint32_t place = size_place(in->sizing, in->wiring->conductors[row->conductor].cable);
    if (fault->stage_count == 0 || place == GAUGE_NONE) {
        return (double)NAN;
    }
    bool fuse = strcmp(part_of(in, fault->stages[0].device)->family, "fuse") == 0;
    return limits->gauges[place].protector_a[fuse ? PROTECTOR_FUSE : PROTECTOR_BREAKER];
}

/* --- rows ---------------------------------------------------------------------------------------
 */

static void fill_row(Arena *arena, const GuardInput *in, const GuardRow *row, GuardTableRow *to) {
    const Conductor *wire = &in->wiring->conductors[row->conductor];
    const GuardFault *fault = fault_of(row);
    const GuardJudgement *told = &row->judgement;
    Buffer devices = {.arena = arena};
    for (uint32_t i = 0; i < fault->stage_count; i++) {
        buffer_format(&devices, "%s%s", i == 0 ? "" : " ",
                      guard_device_tag(in, fault->stages[i].device));
    }
    bool flows = told->verdict != GUARD_NO_CURRENT;
    bool cleared = flows && fault->stage_count > 0;
    to->conductor = wire->key;
    to->circuit = in->wiring->nets[in->wiring->cables[wire->cable].net].name;
    to->role = guard_role_name(in, row->conductor);
    to->awg = in->sizing->awg[row->conductor];
    to->length_mm = in->routing->length_mm[wire->cable];
    to->fault_at = row->at == ID_NONE ? "" : model_pin_text(in->model, arena, row->at);
    to->between = !flows ? "" : row->by_return ? "return" : row->held ? "switched on" : "";
    to->device = devices.length == 0 ? "" : devices.bytes;
    to->rating_a = cleared ? fault->stages[0].device->rating_a : (double)NAN;
    to->high_in = flows ? phase_name(in, row->high.phase) : "";
    to->high_a = flows ? finite(row->high.wire_a) : (double)NAN;
    bool low = flows && row->low.phase != ID_NONE;
    to->low_in = low ? phase_name(in, row->low.phase) : "";
    to->low_a = low ? finite(row->low.wire_a) : (double)NAN;
    to->at_a = flows ? finite(row->at_a) : (double)NAN;
    to->carries_a = row->limit_degc > 0.0 ? row->carries_a : (double)NAN;
    to->fast_s = cleared ? finite(told->fast_s) : (double)NAN;
    to->slow_s = cleared ? finite(told->slow_s) : (double)NAN;
    to->damage_s = flows ? finite(told->damage_s) : (double)NAN;
    to->start_degc = row->limit_degc > 0.0 ? row->start_degc : (double)NAN;
    to->reaches_degc = row->reaches_degc;
    to->limit_degc = row->limit_degc > 0.0 ? row->limit_degc : (double)NAN;
    to->margin = told->verdict == GUARD_NOT_PROVED ? (double)NAN : finite(told->margin);
    to->edge = flows ? guard_edge_name(told->edge) : "";
    to->verdict = guard_verdict_name(told->verdict);
    to->chart_a = chart_a(in, row);
    to->memory = memory_of(arena, in, row);
    to->because = guard_because(arena, in, row);
}

static const char *node_end(Arena *arena, const GuardInput *in, uint32_t node) {
    uint32_t point = node == NETWORK_NONE ? ID_NONE : in->built->node_point[node];
    return point >= in->model->pin_count ? "" : model_pin_text(in->model, arena, point);
}

/* The worse of the two currents. */
static int worst_of(const GuardPair *pair) {
    bool low = pair->phase[GUARD_LOW] != ID_NONE;
    bool high = pair->phase[GUARD_HIGH] != ID_NONE;
    if (!low || !high) {
        return low ? GUARD_LOW : GUARD_HIGH;
    }
    return pair->selection[GUARD_LOW].order > pair->selection[GUARD_HIGH].order ? GUARD_LOW
                                                                                : GUARD_HIGH;
}

static void fill_pair(Arena *arena, const GuardInput *in, const Guard *guard, const GuardPair *pair,
                      SelectivityRow *to) {
    const GuardDevice *near = &guard->devices[pair->device];
    const GuardDevice *far = &guard->devices[pair->upstream];
    int worst = worst_of(pair);
    const bool has[2] = {pair->phase[GUARD_HIGH] != ID_NONE, pair->phase[GUARD_LOW] != ID_NONE};
    to->device = guard_device_tag(in, near);
    to->upstream = guard_device_tag(in, far);
    to->rating_a = near->rating_a;
    to->upstream_rating_a = far->rating_a;
    to->near_at = node_end(arena, in, pair->node[GUARD_HIGH]);
    to->near_a = has[GUARD_HIGH] ? pair->device_a[GUARD_HIGH] : (double)NAN;
    to->near_upstream_a = has[GUARD_HIGH] ? pair->upstream_a[GUARD_HIGH] : (double)NAN;
    to->near_verdict = has[GUARD_HIGH] ? guard_order_name(pair->selection[GUARD_HIGH].order) : "";
    to->far_at = node_end(arena, in, pair->node[GUARD_LOW]);
    to->far_a = has[GUARD_LOW] ? pair->device_a[GUARD_LOW] : (double)NAN;
    to->far_upstream_a = has[GUARD_LOW] ? pair->upstream_a[GUARD_LOW] : (double)NAN;
    to->far_verdict = has[GUARD_LOW] ? guard_order_name(pair->selection[GUARD_LOW].order) : "";
    to->slow_s = finite(pair->selection[worst].slow_s);
    to->upstream_fast_s = finite(pair->selection[worst].upstream_fast_s);
    to->verdict = pair->one_feed ? "one circuit" : guard_order_name(pair->selection[worst].order);
    Buffer memory = {.arena = arena};
    if (pair->selection[GUARD_HIGH].memory || pair->selection[GUARD_LOW].memory) {
        buffer_format(&memory, "curve of %s", part_of(in, near)->part);
        if (part_of(in, near) != part_of(in, far)) {
            buffer_format(&memory, " or %s", part_of(in, far)->part);
        }
    }
    to->memory = memory.length == 0 ? "" : memory.bytes;
}

/* Worst first; of equals the lower conductor. */
static int compare_rows(const void *left, const void *right) {
    const GuardRow *a = *(const GuardRow *const *)left;
    const GuardRow *b = *(const GuardRow *const *)right;
    if (guard_is_worse(&a->judgement, &b->judgement)) {
        return -1;
    }
    if (guard_is_worse(&b->judgement, &a->judgement)) {
        return 1;
    }
    return a->conductor < b->conductor ? -1 : 1;
}

/* Rank of a pair in the table: what opens in the wrong order first, one circuit last. */
static int pair_rank(const GuardPair *pair) {
    return pair->one_feed ? 1 : -(int)pair->selection[worst_of(pair)].order;
}

static int compare_pairs(const void *left, const void *right) {
    const GuardPair *a = *(const GuardPair *const *)left;
    const GuardPair *b = *(const GuardPair *const *)right;
    int ranks = pair_rank(a) - pair_rank(b);
    if (ranks != 0) {
        return ranks;
    }
    return a < b ? -1 : 1; /* places in one array, which is in the order of tags */
}

void guard_rows(Arena *arena, const GuardInput *input, const Guard *guard, TableSet *results) {
    Arena scratch = {0};
    const GuardRow **rows = ARENA_ARRAY(&scratch, const GuardRow *, guard->row_count);
    for (uint32_t i = 0; i < guard->row_count; i++) {
        rows[i] = &guard->rows[i];
    }
    const GuardPair **pairs = ARENA_ARRAY(&scratch, const GuardPair *, guard->pair_count);
    for (uint32_t i = 0; i < guard->pair_count; i++) {
        pairs[i] = &guard->pairs[i];
    }
    if (guard->row_count > 1) {
        qsort(rows, guard->row_count, sizeof(const GuardRow *), compare_rows);
    }
    if (guard->pair_count > 1) {
        qsort(pairs, guard->pair_count, sizeof(const GuardPair *), compare_pairs);
    }
    for (uint32_t i = 0; i < guard->row_count; i++) {
        GuardTableRow *row = table_append(results, arena, TABLE_guard);
        fill_row(arena, input, rows[i], row);
        bool flows = rows[i]->judgement.verdict != GUARD_NO_CURRENT;
        row->worst = flows ? (int32_t)i + 1 : INT_BLANK;
    }
    for (uint32_t i = 0; i < guard->pair_count; i++) {
        SelectivityRow *row = table_append(results, arena, TABLE_selectivity);
        fill_pair(arena, input, guard, pairs[i], row);
        row->worst = pairs[i]->one_feed ? INT_BLANK : (int32_t)i + 1;
    }
    arena_free(&scratch);
}

/* --- findings -----------------------------------------------------------------------------------
 */

static void report_fails(const GuardInput *in, const GuardRow *row, Findings *findings) {
    const Conductor *wire = &in->wiring->conductors[row->conductor];
    const char *tag = guard_device_tag(in, fault_of(row)->stages[0].device);
    Finding *finding =
        finding_report(findings, RULE_GUARD_FAILS, "conductor", wire->key, "",
                       "%s (%s): a short at %s drives %.3g A through it; %s %s", wire->key,
                       in->wiring->nets[in->wiring->cables[wire->cable].net].name,
                       model_pin_text(in->model, findings->arena, row->at), row->at_a, tag,
                       guard_because(findings->arena, in, row));
    report_values(finding,
                  row->judgement.edge == GUARD_EDGE_FAST ? row->judgement.fast_s
                                                         : row->judgement.slow_s,
                  row->judgement.damage_s, "s", NULL);
    finding->rows = tag;
    finding->hint = "a thicker wire, a device of smaller rating or a faster one";
    if (row->judgement.memory) {
        /* It may be so: what says when the device opens was not read in print. */
        finding->severity = SEVERITY_WARNING;
    }
}

static void report_bare(const GuardInput *in, const GuardRow *row, Findings *findings) {
    const Conductor *wire = &in->wiring->conductors[row->conductor];
    const LimitRow *limit = model_limit_row(in->model, GUARD_LIMIT_BARE);
    double limit_mm = model_limit(in->model, GUARD_LIMIT_BARE);
    if (row->exempt || !(row->way_mm > limit_mm)) {
        return;
    }
    const char *source = bare_source(in, row);
    Finding *finding = finding_report(
        findings, RULE_GUARD_BARE, "conductor", wire->key, "",
        "%s (%s): no device between %s and a short at %s: %.0f mm of wire that nothing disconnects",
        wire->key, in->wiring->nets[in->wiring->cables[wire->cable].net].name, source,
        model_pin_text(in->model, findings->arena, row->at), row->way_mm);
    report_values(finding, row->way_mm, limit_mm, "mm", limit->source);
    finding->rows = source;
    finding->hint = "a device nearer to the source, a shorter way, or a sleeve and a reason to "
                    "accept it";
}

/* What the wires behind one kind of device have in common. */
typedef struct Gathered {
    uint32_t wires;
    uint32_t paired; /* of these: the chart pairs gauge and rating */
    uint32_t memory;
    double least_pct;
    double most_pct;
} Gathered;

static void report_not_proved(const GuardInput *in, const Guard *guard, Findings *findings) {
    Arena scratch = {0};
    const TableSet *set = in->model->set;
    Gathered *by_part = ARENA_ARRAY(&scratch, Gathered, set->device.count);
    uint32_t others = 0;
    for (uint32_t i = 0; i < guard->row_count; i++) {
        const GuardRow *row = &guard->rows[i];
        const GuardFault *fault = fault_of(row);
        if (row->judgement.verdict != GUARD_NOT_PROVED) {
            continue;
        }
        if (fault->lost || fault->stage_count == 0) {
            others++;
            continue;
        }
        const GuardDevice *device = fault->stages[fault->stage_count - 1].device;
        Gathered *own = &by_part[in->model->owners[device->owner].part];
        double percent = percent_of(row);
        own->least_pct = own->wires == 0 ? percent : fmin(own->least_pct, percent);
        own->most_pct = fmax(own->most_pct, percent);
        own->wires++;
        own->memory += row->judgement.memory ? 1 : 0;
        own->paired += device->rating_a <= chart_a(in, row) ? 1 : 0;
    }
    for (uint32_t i = 0; i < set->device.count; i++) {
        const Gathered *own = &by_part[i];
        if (own->wires == 0) {
            continue;
        }
        const char *part = set->device.rows[i].part;
        Finding *finding = finding_report(
            findings, RULE_GUARD_NOT_PROVED, "device", part, "",
            "%u %s behind %s: shorts drive %s of its rating, and %s; the wire protector chart "
            "pairs "
            "gauge and rating for %u of them",
            own->wires, own->wires == 1 ? "wire" : "wires", part,
            own->wires == 1
                ? arena_format(findings->arena, "%.0f %%", own->most_pct)
                : arena_format(findings->arena, "%.0f to %.0f %%", own->least_pct, own->most_pct),
            own->memory == own->wires ? "only values from memory say when it opens"
                                      : "no published gate says soon enough when it opens",
            own->paired);
        finding->source = "the library's curve rows; AC 43.13-1B Table 11-3 (chart)";
        finding->hint = "a time-current curve of the maker, as rows of `curve`";
    }
    if (others > 0) {
        Finding *finding = finding_report(findings, RULE_GUARD_NOT_PROVED, "conductor", "", "",
                                          "%u %s: the fault current could not be followed", others,
                                          others == 1 ? "wire" : "wires");
        finding->hint = "`marling show guard` names them and says why";
    }
    arena_free(&scratch);
}

static void report_pairs(const GuardInput *in, const Guard *guard, Findings *findings) {
    uint32_t open = 0;
    for (uint32_t i = 0; i < guard->pair_count; i++) {
        const GuardPair *pair = &guard->pairs[i];
        int worst = worst_of(pair);
        const GuardSelection *told = &pair->selection[worst];
        if (pair->one_feed || told->order == GUARD_ORDER_SELECTIVE) {
            continue;
        }
        if (told->order == GUARD_ORDER_NOT_PROVED) {
            open++;
            continue;
        }
        const char *near = guard_device_tag(in, &guard->devices[pair->device]);
        const char *far = guard_device_tag(in, &guard->devices[pair->upstream]);
        Finding *finding = finding_report(
            findings, RULE_GUARD_ORDER, "protection", near, "",
            "a short behind %s (%.3g A, with %.3g A through %s): %s; %s is open after at most %s, "
            "%s may open after %s",
            near, pair->device_a[worst], pair->upstream_a[worst], far,
            guard_order_name(told->order), near, time_text(findings->arena, told->slow_s), far,
            time_text(findings->arena, told->upstream_fast_s));
        report_values(finding, told->slow_s, told->upstream_fast_s, "s", NULL);
        finding->rows = far;
        finding->hint = "a larger or slower device upstream, if its wire stands it, or a smaller "
                        "or faster one here";
    }
    if (open > 0) {
        Finding *finding =
            finding_report(findings, RULE_GUARD_NOT_PROVED, "protection", "", "",
                           "%u %s of devices in series: no published gates say which opens first",
                           open, open == 1 ? "pair" : "pairs");
        finding->hint = "`marling show selectivity` names them";
    }
}

void guard_report(const GuardInput *input, const Guard *guard, Findings *findings) {
    for (uint32_t i = 0; i < guard->row_count; i++) {
        const GuardRow *row = &guard->rows[i];
        if (row->judgement.verdict == GUARD_FAILS) {
            report_fails(input, row, findings);
        } else if (row->judgement.verdict == GUARD_BARE) {
            report_bare(input, row, findings);
        }
    }
    report_not_proved(input, guard, findings);
    report_pairs(input, guard, findings);
}

/* --- why ----------------------------------------------------------------------------------------
 */

static void say_fault(Buffer *out, const GuardInput *in, const GuardRow *row,
                      const GuardFault *fault, const char *what) {
    if (fault->phase == ID_NONE) {
        return;
    }
    buffer_format(out, "    %s, %s: %.4g A in the wire\n", what, phase_name(in, fault->phase),
                  fault->wire_a);
    for (uint32_t i = 0; i < fault->stage_count; i++) {
        const GuardStage *stage = &fault->stages[i];
        double percent = 100.0 * stage->device_a / stage->device->rating_a;
        ProtectorBand band = protector_band(stage->device->all, percent);
        buffer_format(out,
                      "        %s, %.4g A of %.3g A (%.0f %%): may open after %s, open after "
                      "%s (%s)\n",
                      guard_device_tag(in, stage->device), stage->device_a, stage->device->rating_a,
                      percent, time_text(out->arena, band.hold_s.value),
                      time_text(out->arena, band.open_s.value),
                      rating_basis_name(band.open_s.basis));
    }
    if (fault->bare) {
        buffer_format(out, "        then still %.4g A from %s: no device\n", fault->left_a,
                      bare_source(in, row));
    }
}

void guard_why(Buffer *out, const GuardInput *input, const Guard *guard, ConductorId conductor) {
    uint32_t index = guard->row_of == NULL ? ID_NONE : guard->row_of[conductor];
    if (index == ID_NONE) {
        return;
    }
    const GuardRow *row = &guard->rows[index];
    const Conductor *wire = &input->wiring->conductors[conductor];
    buffer_format(out, "%s against a short: %s%s%s\n", wire->key,
                  guard_verdict_name(row->judgement.verdict),
                  *guard_edge_name(row->judgement.edge) == '\0' ? "" : ", ",
                  guard_edge_name(row->judgement.edge));
    buffer_format(out, "    %s\n", guard_because(out->arena, input, row));
    if (row->at == ID_NONE || row->judgement.verdict == GUARD_NO_CURRENT) {
        return;
    }
    buffer_format(out, "    fault at %s%s%s\n", model_pin_text(input->model, out->arena, row->at),
                  row->by_return ? ", to the return" : "",
                  row->held ? "; no phase feeds it: with the switches on its way closed" : "");
    say_fault(out, input, row, &row->high, "bolted, where the sources give most");
    say_fault(out, input, row, &row->low,
              arena_format(out->arena, "through %.0f mohm, where they give least",
                           model_limit(input->model, GUARD_LIMIT_CONTACT)));
    buffer_format(out,
                  "    the wire starts at %.0f degC, must stay below %.0f degC, carries %.3g A for "
                  "good; at %.4g A it gets there after %s\n",
                  row->start_degc, row->limit_degc, row->carries_a, row->at_a,
                  time_text(out->arena, row->judgement.damage_s));
    buffer_text(out, "    I2t = 0.0297 A^2 log10((T2+234)/(T1+234)) (insulated cable engineers) or "
                     "k^2 S^2 (IEC 60364-5-54), the lower; heat that leaves as AC 43.13-1B 11-66 "
                     "to 11-69 allows; docs/theory/guard.md\n");
    if (isfinite(row->judgement.margin) && row->judgement.verdict != GUARD_NOT_PROVED) {
        buffer_format(out, "    margin %.3g: time the wire stands over time to clear\n",
                      row->judgement.margin);
    }
    const char *memory = memory_of(out->arena, input, row);
    if (*memory != '\0') {
        buffer_format(out, "    from memory, only to make it stricter: %s\n", memory);
    }
}
