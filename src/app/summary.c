/* Lines are at most LINE_WIDTH wide where words can be broken; numbers are rounded for reading, the
 * tables have them in full. */
#include "app/summary.h"

#include <math.h>
#include <string.h>

enum { LINE_WIDTH = 100, INDENT = 11, FINDING_INDENT = 14 };

const SummaryStyle SUMMARY_PLAIN = {"", {"", "", "", ""}, ""};
const SummaryStyle SUMMARY_TERMINAL = {
    "\033[1m", {"\033[2m", "\033[33m", "\033[31m", "\033[1;31m"}, "\033[0m"};

static const char CAUTION[] =
    "For amateur-built aircraft. The builder is the maker and answers for airworthiness. Makers' "
    "installation manuals, the national authority's rules and licensed inspection come before any "
    "figure here. Limits and their sources: `marling show limit`. Check by measurement before "
    "flight.";

/* --- text ---------------------------------------------------------------------------------------
 */

/* Writes `text` in lines of LINE_WIDTH; the following ones start at column `indent`. */
static void write_wrapped(Buffer *out, const char *text, size_t column, size_t indent) {
    const char *word = NULL;
    size_t length = 0;
    bool first = true;
    while (text_next_word(&text, &word, &length)) {
        if (!first && column + 1 + length > LINE_WIDTH) {
            buffer_format(out, "\n%*s", (int)indent, "");
            column = indent;
        } else if (!first) {
            buffer_text(out, " ");
            column++;
        }
        buffer_add(out, word, length);
        column += length;
        first = false;
    }
    buffer_text(out, "\n");
}

static void write_head(Buffer *out, const SummaryStyle *style, const char *title) {
    buffer_format(out, "%s%-*s%s", style->strong, INDENT, title, style->plain);
}

static const char *plural(size_t count) {
    return count == 1 ? "" : "s";
}

/* "12.3", or "-" when there is no number. */
static const char *number(Buffer *out, double value, int decimals) {
    return isnan(value) ? "-" : arena_format(out->arena, "%.*f", decimals, value);
}

/* --- sections -----------------------------------------------------------------------------------
 */

static void write_title(Buffer *out, const Proof *proof, const SummaryStyle *style) {
    const JobRow *job = &proof->set.job.rows[0];
    buffer_format(out, "%s%-*s%s %s\n", style->strong, INDENT - 1, job->job, style->plain,
                  job->title);
    buffer_format(out, "%*s%.0f V, %s return\n\n", INDENT, "", job->nominal_v, job->return_style);
}

static void write_size(Buffer *out, const Proof *proof, const SummaryStyle *style) {
    const TableSet *set = &proof->set;
    double length_m = 0.0;
    size_t pieces = 0;
    size_t conductors = 0;
    double heavy_m = 0.0;
    size_t heavy = 0;
    for (CableId i = 0; i < proof->wiring.cable_count; i++) {
        const Cable *cable = &proof->wiring.cables[i];
        double run_m = isnan(proof->routing.length_mm[i]) ? 0.0 : proof->routing.length_mm[i] / 1e3;
        if (cable->heavy) {
            heavy++;
            heavy_m += run_m;
        } else {
            pieces++;
            conductors += cable->conductor_count;
            length_m += run_m;
        }
    }
    write_head(out, style, "Harness");
    buffer_format(out, "%zu boxes, %zu circuits, %zu pieces, %zu conductors, %.1f m",
                  set->unit.count, set->net.count, pieces, conductors, length_m);
    buffer_format(out, "; %zu heavy cable%s, %.1f m\n", heavy, plural(heavy), heavy_m);
    write_head(out, style, "Mass");
    Buffer masses = {.arena = out->arena};
    for (size_t i = 0; i < set->mass.count; i++) {
        const MassRow *mass = &set->mass.rows[i];
        buffer_format(&masses, "%s%s %.2f kg at %.0f mm (%.2f kg m)", i > 0 ? ", " : "", mass->item,
                      mass->mass_kg, mass->arm_mm, mass->moment_kgm);
    }
    write_wrapped(out, masses.bytes == NULL ? "" : masses.bytes, INDENT, INDENT);
}

static size_t count_rule(const Proof *proof, const char *prefix) {
    size_t count = 0;
    for (size_t i = 0; i < proof->findings.count; i++) {
        const Finding *finding = &proof->findings.rows[i];
        count += strncmp(rule_name(finding->rule), prefix, strlen(prefix)) == 0 &&
                 finding->severity >= SEVERITY_WARNING && !finding->accepted;
    }
    return count;
}

static void write_bundles(Buffer *out, const Proof *proof, const SummaryStyle *style) {
    const TableSet *set = &proof->set;
    const BundleRow *fullest = NULL;
    for (size_t i = 0; i < set->bundle.count; i++) {
        const BundleRow *row = &set->bundle.rows[i];
        fullest = fullest == NULL || row->cables > fullest->cables ? row : fullest;
    }
    write_head(out, style, "Bundles");
    buffer_format(out, "%zu segments, %zu over a limit", set->bundle.count,
                  count_rule(proof, "route."));
    if (fullest != NULL) {
        buffer_format(out, "; fullest %s: %d pieces, %.1f mm", fullest->segment, fullest->cables,
                      fullest->diameter_mm);
    }
    buffer_text(out, "\n");
    const ShellUseRow *tightest = NULL;
    for (size_t i = 0; i < set->shell_use.count; i++) {
        const ShellUseRow *row = &set->shell_use.rows[i];
        bool counts = row->used > 0;
        if (counts && (tightest == NULL || row->spare_pct < tightest->spare_pct)) {
            tightest = row;
        }
    }
    if (set->shell_use.count > 0) {
        write_head(out, style, "Shells");
        buffer_format(out, "%zu at disconnects", set->shell_use.count);
        if (tightest != NULL && tightest->free < 0) {
            buffer_format(out, "; %s has %d ways and lacks %d", tightest->shell, tightest->ways,
                          -tightest->free);
        } else if (tightest != NULL) {
            buffer_format(out, "; tightest %s: %d of %d ways free", tightest->shell, tightest->free,
                          tightest->ways);
        }
        buffer_text(out, "\n");
    }
}

static int32_t phase_rank(const TableSet *set, const char *phase) {
    for (size_t i = 0; i < set->phase.count; i++) {
        if (strcmp(set->phase.rows[i].phase, phase) == 0) {
            return set->phase.rows[i].rank;
        }
    }
    return 0;
}

/* The margin row with `place` others before it in time; rows of one rank by name. */
static const SupplyMarginRow *margin_by_rank(const Proof *proof, size_t place) {
    const TableSet *set = &proof->set;
    for (size_t i = 0; i < set->supply_margin.count; i++) {
        const SupplyMarginRow *row = &set->supply_margin.rows[i];
        int32_t rank = phase_rank(set, row->phase);
        size_t before = 0;
        for (size_t k = 0; k < set->supply_margin.count; k++) {
            int32_t other = phase_rank(set, set->supply_margin.rows[k].phase);
            before += other < rank || (other == rank && k < i);
        }
        if (before == place) {
            return row;
        }
    }
    return &set->supply_margin.rows[place];
}

static void write_loads(Buffer *out, const Proof *proof, const SummaryStyle *style) {
    const TableSet *set = &proof->set;
    if (set->supply_margin.count == 0) {
        return;
    }
    buffer_format(out, "\n%s%-16s %8s  %-10s %8s %7s %9s  %s%s\n", style->strong, "Phase", "load A",
                  "carried by", "% rating", "% limit", "% output", "lowest box V, solved",
                  style->plain);
    for (size_t i = 0; i < set->supply_margin.count; i++) {
        const SupplyMarginRow *row = margin_by_rank(proof, i);
        buffer_format(out, "%-16s %8.2f  %-10s %8s %7s %9s  %s %s\n", row->phase, row->total_a,
                      *row->alternator == '\0' ? "batteries" : row->alternator,
                      number(out, row->rating_pct, 1), number(out, row->limit_pct, 0),
                      number(out, row->available_pct, 1), number(out, row->lowest_v, 2),
                      row->lowest_at);
    }
}

static void write_endurance(Buffer *out, const Proof *proof, const SummaryStyle *style) {
    const TableSet *set = &proof->set;
    if (set->endurance.count == 0) {
        return;
    }
    buffer_format(out, "\n%s%-24s %-8s %-10s %8s %10s %11s %9s  %s%s\n", style->strong, "Endurance",
                  "battery", "state", "load A", "plain min", "solved min", "asked", "ends with",
                  style->plain);
    for (size_t i = 0; i < set->endurance.count; i++) {
        const EnduranceRow *row = &set->endurance.rows[i];
        buffer_format(out, "%-24s %-8s %-10s %8.4g %10.1f %11s %9s  %s\n", row->situation,
                      row->battery, row->state, row->load_a, row->plain_min,
                      number(out, row->solved_min, 1), number(out, row->asked_min, 0),
                      row->ends_with);
    }
}

static void write_lowest(Buffer *out, const Proof *proof, const SummaryStyle *style) {
    const TableSet *set = &proof->set;
    const PortVoltageRow *lowest = NULL;
    for (size_t i = 0; i < set->port_voltage.count; i++) {
        const PortVoltageRow *row = &set->port_voltage.rows[i];
        bool on = strcmp(row->state, "on") == 0 && !isnan(row->minimum_v);
        if (on && (lowest == NULL ||
                   row->volts_v - row->minimum_v < lowest->volts_v - lowest->minimum_v)) {
            lowest = row;
        }
    }
    if (lowest != NULL) {
        buffer_text(out, "\n");
        write_head(out, style, "Voltage");
        buffer_format(out, "least to spare: %s in %s, %.2f V where it needs %.1f V\n", lowest->port,
                      lowest->phase, lowest->volts_v, lowest->minimum_v);
    }
}

/* --- findings -----------------------------------------------------------------------------------
 */

/* "osier/feed.csv:12", "" when the finding has no place. */
static const char *finding_place(Buffer *out, const Finding *finding) {
    if (*finding->file == '\0') {
        return "";
    }
    return finding->line > 0 ? arena_format(out->arena, "%s:%u", finding->file, finding->line)
                             : finding->file;
}

/* The sentence, where it stands and what would cure it; all else is in `marling show finding`. */
static void write_finding(Buffer *out, const Finding *finding, const SummaryStyle *style) {
    buffer_format(out, "  %s%-*s%s %s", style->severity[finding->severity], INDENT,
                  severity_name(finding->severity), style->plain, rule_name(finding->rule));
    const char *place = finding_place(out, finding);
    if (*place != '\0' && finding->severity >= SEVERITY_ERROR) {
        buffer_format(out, "  %s", place);
    }
    buffer_format(out, "\n%*s", FINDING_INDENT, "");
    const char *message = finding->message;
    if (*finding->hint != '\0' && finding->severity >= SEVERITY_ERROR) {
        message = arena_format(out->arena, "%s. Cure: %s", message, finding->hint);
    }
    write_wrapped(out, message, FINDING_INDENT, FINDING_INDENT);
}

/* Notes and warnings of one rule are told once, with their number. */
static void write_rule(Buffer *out, const Proof *proof, size_t first, const SummaryStyle *style) {
    const Finding *finding = &proof->findings.rows[first];
    size_t alike = 0;
    for (size_t i = first; i < proof->findings.count; i++) {
        const Finding *other = &proof->findings.rows[i];
        alike += other->rule == finding->rule && other->severity == finding->severity &&
                 !other->accepted;
    }
    Finding told = *finding;
    if (alike > 1) {
        told.message = arena_format(out->arena, "%zu times, first: %s", alike, finding->message);
    }
    write_finding(out, &told, style);
}

static void write_findings(Buffer *out, const Proof *proof, const SummaryStyle *style) {
    const Findings *findings = &proof->findings;
    bool told[RULE_COUNT] = {false};
    size_t accepted = 0;
    buffer_text(out, "\n");
    write_head(out, style, "Findings");
    for (int severity = SEVERITY_COUNT - 1; severity >= 0; severity--) {
        size_t count = findings_open(findings, (Severity)severity);
        buffer_format(out, "%zu %s%s%s", count, severity_name((Severity)severity),
                      severity == SEVERITY_UNREADABLE ? "" : plural(count),
                      severity > 0 ? ", " : "");
    }
    for (size_t i = 0; i < findings->count; i++) {
        accepted += findings->rows[i].accepted;
    }
    buffer_format(out, "; %zu accepted\n", accepted);
    for (size_t i = 0; i < findings->count; i++) {
        const Finding *finding = &findings->rows[i];
        if (finding->accepted) {
            continue;
        }
        if (finding->severity >= SEVERITY_ERROR) {
            write_finding(out, finding, style);
        } else if (!told[finding->rule]) {
            write_rule(out, proof, i, style);
            told[finding->rule] = true;
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

void summary_write(Buffer *out, const Proof *proof, const SummaryStyle *style) {
    if (proof->set.job.count == 1) {
        write_title(out, proof, style);
    }
    if (proof->complete) {
        write_size(out, proof, style);
        write_bundles(out, proof, style);
        write_loads(out, proof, style);
        write_endurance(out, proof, style);
        write_lowest(out, proof, style);
    }
    write_findings(out, proof, style);
    buffer_text(out, "\n");
    write_wrapped(out, CAUTION, 0, 0);
}

const char *summary_caution(void) {
    return CAUTION;
}
