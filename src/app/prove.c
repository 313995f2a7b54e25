/* Each step takes what the steps before it made and is left out when that is missing. Rows that
 * can't be read do not stop the chain: the rest is proved, the exit code says 2. */
#include "app/prove.h"

#include <string.h>
#include <time.h>

#include "app/brief.h"
#include "app/declined.h"
#include "app/judge.h"
#include "app/lists.h"
#include "app/source.h"
#include "base/check.h"
#include "base/parallel.h"
#include "draw/panel_ink.h"

static const char *const STEP_NAMES[PROOF_STEP_COUNT] = {
#define PROOF_STEP_NAME(id, name) name,
    PROOF_STEPS(PROOF_STEP_NAME)
#undef PROOF_STEP_NAME
};

/* --- steps --------------------------------------------------------------------------------------
 */

typedef struct StepClock {
    Proof *proof;
    const ProofOptions *options;
    double start_s;
    size_t start_bytes;
} StepClock;

static double now_s(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static void begin(StepClock *clock, ProofStep step) {
    if (clock->options->progress != NULL) {
        clock->options->progress(clock->options->context, step);
    }
    clock->start_s = now_s();
    clock->start_bytes = clock->proof->arena.used_bytes;
}

static void end(StepClock *clock, ProofStep step) {
    Proof *proof = clock->proof;
    proof->step_s[step] += now_s() - clock->start_s;
    proof->step_bytes[step] += proof->arena.used_bytes - clock->start_bytes;
    proof->reached = step;
}

/* --- reading ------------------------------------------------------------------------------------
 */

static void report_unread(Proof *proof, const char *path, Status status, const char *hint) {
    Finding *finding = finding_add(&proof->findings, RULE_READ_FILE);
    finding->file = arena_text(&proof->arena, path, strlen(path));
    finding->message = arena_text(&proof->arena, status.text, strlen(status.text));
    finding->hint = hint;
}

static void read_one(Proof *proof, const char *folder, TableGroup group) {
    Status status = table_read_folder(&proof->arena, folder, group, &proof->set, &proof->findings);
    if (status.failed) {
        report_unread(proof, folder, status,
                      group == GROUP_JOB ? "name the folder that holds the job's tables"
                                         : "name the folder that holds the parts library");
    }
}

/* Job and library from a shop file. */
static void read_shop(Proof *proof, const SourceName *name) {
    Source source;
    Status status = source_open(&proof->arena, name, STORE_READ, &source);
    if (!status.failed) {
        status = source_read(&proof->arena, &source, &proof->set, &proof->findings);
        source_close(&source);
    }
    if (status.failed) {
        report_unread(proof, name->shop, status, "`marling jobs SHOP.db` lists what is in it");
    }
}

/* --- findings as rows ---------------------------------------------------------------------------
 */

_Static_assert(sizeof(BenchFindingRow) == sizeof(FindingRow), "both have the same columns");

void proof_finding_rows(Proof *proof, const Findings *findings, TableId table) {
    CHECK(table == TABLE_finding || table == TABLE_bench_finding);
    for (size_t i = 0; i < findings->count; i++) {
        const Finding *finding = &findings->rows[i];
        FindingRow *row = table_append(&proof->set, &proof->arena, table);
        row->number = (int32_t)i + 1;
        row->severity = severity_name(finding->severity);
        row->rule = rule_name(finding->rule);
        row->table = finding->table;
        row->row = finding->key;
        row->column = finding->column;
        row->file = finding->file;
        row->line = finding->line == 0 ? INT_BLANK : (int32_t)finding->line;
        row->message = finding->message;
        row->value = finding->value;
        row->limit = finding->limit;
        row->unit = finding->unit;
        row->source = finding->source;
        row->hint = finding->hint;
        row->rows = finding->rows;
        row->accepted = finding->accepted ? 1 : INT_BLANK;
        row->reason = finding->reason;
    }
}

/* --- the chain ----------------------------------------------------------------------------------
 */

static bool prove_model(StepClock *clock) {
    Proof *proof = clock->proof;
    begin(clock, PROOF_MODEL);
    bool good = model_build(&proof->arena, &proof->set, &proof->model, &proof->findings);
    end(clock, PROOF_MODEL);
    return good;
}

static bool prove_wires(StepClock *clock) {
    Proof *proof = clock->proof;
    Arena *arena = &proof->arena;
    Findings *findings = &proof->findings;
    begin(clock, PROOF_WIRE);
    bool good = wiring_derive(arena, &proof->model, &proof->wiring, findings);
    end(clock, PROOF_WIRE);
    if (!good) {
        return false;
    }
    begin(clock, PROOF_ROUTE);
    good = route_find(arena, &proof->model, &proof->wiring, &proof->routing, findings);
    judge_lengths(&proof->model, &proof->wiring, &proof->routing, findings);
    end(clock, PROOF_ROUTE);
    return good;
}

/* One round: gauges, then where they go, then the network with them. */
static bool prove_sizes(StepClock *clock, const double *network_v) {
    Proof *proof = clock->proof;
    Arena *arena = &proof->arena;
    Findings *findings = &proof->findings;
    begin(clock, PROOF_SIZE);
    bool good = size_run(arena, &proof->model, &proof->wiring, &proof->routing, &proof->supply,
                         network_v, &proof->sizing, findings);
    end(clock, PROOF_SIZE);
    begin(clock, PROOF_DISCONNECT);
    good = good && disconnects_allot(arena, &proof->model, &proof->wiring, &proof->routing,
                                     proof->sizing.awg, &proof->disconnects, findings);
    end(clock, PROOF_DISCONNECT);
    return good;
}

static bool prove_network(StepClock *clock) {
    Proof *proof = clock->proof;
    Arena *arena = &proof->arena;
    Findings *findings = &proof->findings;
    begin(clock, PROOF_BUILD);
    double *conductor_degc =
        build_conductor_degc(arena, &proof->model, &proof->wiring, &proof->routing, 0.0);
    size_heat(&proof->sizing, conductor_degc);
    BuildOptions options = {
        .awg = proof->sizing.awg,
        .rating_a = proof->sizing.rating_a,
        .conductor_degc = conductor_degc,
    };
    bool good =
        build_network(arena, &proof->model, &proof->wiring, &proof->routing, &proof->disconnects,
                      &proof->supply, &options, &proof->network, findings);
    end(clock, PROOF_BUILD);
    begin(clock, PROOF_SOLVE);
    good = good && phases_run(arena, &proof->model, &proof->wiring, &proof->supply, &proof->network,
                              proof->sizing.rating_a, &proof->phases, findings);
    end(clock, PROOF_SOLVE);
    return good;
}

/* Volts that the solved network loses on the way of each load beyond what sizing reckoned with, for
 * loads beyond their limit; true when any is more than before. A box that draws constant power
 * draws more at the voltage a bus really has than at the nominal one. */
static bool raise_network_v(const Proof *proof, double *network_v) {
    const double WORTH_A_ROUND_V = 1e-4;
    bool raised = false;
    for (uint32_t i = 0; i < proof->sizing.feeder_count; i++) {
        const Feeder *feeder = &proof->sizing.feeders[i];
        double solved_v = feeder->load == ID_NONE ? 0.0 : proof->phases.drop_v[feeder->load];
        if (!(solved_v > 0.0)) {
            continue;
        }
        double more_v = solved_v - feeder->hot_drop_v;
        if (more_v > WORTH_A_ROUND_V) {
            network_v[feeder->load] += more_v;
            raised = true;
        }
    }
    return raised;
}

/* Sizes by design figures first; where the solved network loses more than a limit allows, again
 * with what it loses, until nothing is over that a thicker wire would help. Gauges only grow from
 * round to round, so it ends; the findings are those of the last round. */
static bool prove_power(StepClock *clock) {
    enum { ROUNDS_MAX = 6 };
    Proof *proof = clock->proof;
    Arena *arena = &proof->arena;
    begin(clock, PROOF_SUPPLY);
    bool good =
        supply_build(arena, &proof->model, &proof->wiring, &proof->supply, &proof->findings);
    end(clock, PROOF_SUPPLY);
    double *network_v = ARENA_ARRAY(arena, double, proof->supply.load_count);
    size_t mark = proof->findings.count;
    bool solved = false;
    for (proof->rounds = 1; good; proof->rounds++) {
        proof->findings.count = mark;
        good = prove_sizes(clock, network_v);
        solved = good && prove_network(clock);
        if (!solved || proof->rounds == ROUNDS_MAX || !raise_network_v(proof, network_v)) {
            break;
        }
    }
    return solved;
}

static void prove_place(StepClock *clock) {
    Proof *proof = clock->proof;
    begin(clock, PROOF_PLACE);
    proof->bundles = ARENA_ARRAY(&proof->arena, Bundle, proof->set.segment.count);
    route_bundles(&proof->model, &proof->wiring, &proof->routing, proof->sizing.awg,
                  proof->bundles);
    route_check(&proof->model, &proof->wiring, &proof->routing, proof->bundles, &proof->findings);
    runs_measure(&proof->arena, &proof->model, &proof->wiring, &proof->routing, &proof->disconnects,
                 proof->sizing.awg, &proof->runs, &proof->findings);
    end(clock, PROOF_PLACE);
}

static void add_counts(Proof *proof) {
    for (size_t i = 0; i < proof->set.phase.count; i++) {
        const SolveCounts *counts = &proof->phases.results[i].counts;
        proof->counts.factorisations += counts->factorisations;
        proof->counts.refactorisations += counts->refactorisations;
        proof->counts.substitutions += counts->substitutions;
        proof->counts.newton_steps += counts->newton_steps;
        proof->counts.secant_steps += counts->secant_steps;
        proof->counts.state_changes += counts->state_changes;
        proof->counts.weak_pivots += counts->weak_pivots;
        proof->counts.klu_fallbacks += counts->klu_fallbacks;
    }
}

static bool prove_loads(StepClock *clock) {
    Proof *proof = clock->proof;
    Arena *arena = &proof->arena;
    Findings *findings = &proof->findings;
    begin(clock, PROOF_LOADS);
    add_counts(proof);
    bool good = loads_run(arena, &proof->model, &proof->supply, &proof->loads, findings);
    end(clock, PROOF_LOADS);
    begin(clock, PROOF_ENDURE);
    good = good &&
           endurance_run(arena, &proof->model, &proof->supply, &proof->network, &proof->phases,
                         &proof->loads, !clock->options->no_results, &proof->endurance, findings);
    end(clock, PROOF_ENDURE);
    return good;
}

static void prove_needs(StepClock *clock) {
    Proof *proof = clock->proof;
    begin(clock, PROOF_NEEDS);
    proof->service = service_build(&proof->arena, &proof->model, &proof->wiring, &proof->supply,
                                   &proof->findings);
    common_run(&proof->arena, &proof->model, &proof->wiring, &proof->routing, &proof->disconnects,
               &proof->supply, &proof->network, &proof->phases, proof->service, &proof->common,
               &proof->findings);
    end(clock, PROOF_NEEDS);
}

static void prove_paths(StepClock *clock) {
    Proof *proof = clock->proof;
    Arena *arena = &proof->arena;
    begin(clock, PROOF_LIFT);
    bool built = paths_build(arena, &proof->model, &proof->wiring, &proof->routing,
                             &proof->disconnects, &proof->supply, &proof->sizing, &proof->paths);
    if (built) {
        lift_run(arena, &proof->paths, &proof->network, &proof->phases, &proof->lifts,
                 &proof->findings);
    }
    end(clock, PROOF_LIFT);
    if (built && !clock->options->no_results) {
        begin(clock, PROOF_SNEAK);
        sneak_run(arena, &proof->paths, &proof->sneaks, &proof->findings);
        end(clock, PROOF_SNEAK);
    }
}

static void prove_start(StepClock *clock) {
    Proof *proof = clock->proof;
    Arena *arena = &proof->arena;
    begin(clock, PROOF_START);
    dip_run(arena, &proof->model, &proof->supply, &proof->network, &proof->phases,
            !clock->options->no_results, &proof->dip, &proof->findings);
    dip_judge(arena, &proof->model, &proof->supply, proof->service, &proof->dip, &proof->findings);
    end(clock, PROOF_START);
    begin(clock, PROOF_INRUSH);
    inrush_run(arena, &proof->model, &proof->supply, &proof->sizing, &proof->inrush,
               &proof->findings);
    end(clock, PROOF_INRUSH);
}

GuardInput proof_guard_input(const Proof *proof) {
    return (GuardInput){
        .model = &proof->model,
        .wiring = &proof->wiring,
        .routing = &proof->routing,
        .supply = &proof->supply,
        .sizing = &proof->sizing,
        .built = &proof->network,
        .phases = &proof->phases,
    };
}

static void prove_guard(StepClock *clock) {
    Proof *proof = clock->proof;
    begin(clock, PROOF_GUARD);
    if (proof->wiring.conductor_count > PROOF_FAULTS_CONDUCTORS && !clock->options->all_faults) {
        Finding *finding =
            finding_report(&proof->findings, RULE_GUARD_LEFT_OUT, "", "", "",
                           "what shorts do to wires was not tried: %u conductors are more than %d",
                           proof->wiring.conductor_count, PROOF_FAULTS_CONDUCTORS);
        finding->hint = "`marling show guard JOB` tries them all the same";
        end(clock, PROOF_GUARD);
        return;
    }
    GuardInput input = proof_guard_input(proof);
    guard_run(&proof->arena, &input, &proof->network, &proof->guard, &proof->findings);
    end(clock, PROOF_GUARD);
}

static bool prove_field(StepClock *clock) {
    Proof *proof = clock->proof;
    begin(clock, PROOF_FIELD);
    HeadingInput input = proof_heading_input(proof);
    bool good = heading_run(&proof->arena, &input, &proof->heading, &proof->findings);
    end(clock, PROOF_FIELD);
    return good;
}

FaultsInput proof_faults_input(Proof *proof) {
    return (FaultsInput){
        .model = &proof->model,
        .wiring = &proof->wiring,
        .routing = &proof->routing,
        .disconnects = &proof->disconnects,
        .supply = &proof->supply,
        .built = &proof->network,
        .phases = &proof->phases,
        .rating_a = proof->sizing.rating_a,
        .service = proof->service,
    };
}

static void prove_faults(StepClock *clock) {
    Proof *proof = clock->proof;
    const atomic_bool *stop = clock->options->stop;
    if (clock->options->no_faults || (stop != NULL && atomic_load(stop))) {
        return;
    }
    begin(clock, PROOF_FAULTS);
    if (proof->wiring.conductor_count > PROOF_FAULTS_CONDUCTORS && !clock->options->all_faults) {
        Finding *finding =
            finding_report(&proof->findings, RULE_FAULT_LEFT_OUT, "", "", "",
                           "what failures do was not tried: %u conductors are more than %d",
                           proof->wiring.conductor_count, PROOF_FAULTS_CONDUCTORS);
        finding->hint = "`marling show fault JOB` tries them all the same";
        end(clock, PROOF_FAULTS);
        return;
    }
    FaultsInput input = proof_faults_input(proof);
    unsigned threads = clock->options->threads == 0 ? 1 : clock->options->threads;
    faults_build(&proof->arena, &input, &proof->faults, &proof->findings);
    faults_run(&proof->arena, &proof->faults, threads, &proof->sweep, &proof->findings);
    end(clock, PROOF_FAULTS);
    if (stop != NULL && atomic_load(stop)) {
        return;
    }
    begin(clock, PROOF_CUTS);
    need_cuts_search(&proof->arena, &proof->faults, &proof->sweep, clock->options->pairs, threads,
                     &proof->cuts);
    need_cuts_judge(&proof->cuts, &proof->findings);
    end(clock, PROOF_CUTS);
}

/* The emergency card, on the failures that were listed; without a sweep, listed for it alone. */
static void prove_card(StepClock *clock) {
    Proof *proof = clock->proof;
    if (clock->options->no_results || clock->options->no_card || proof->set.card.count == 0) {
        return;
    }
    begin(clock, PROOF_CARD);
    Arena scratch = {0};
    Findings told = {.arena = &scratch};
    Faults own = {0};
    if (proof->faults.model == NULL) {
        FaultsInput input = proof_faults_input(proof);
        faults_build(&scratch, &input, &own, &told);
    }
    CardInput card = {
        .model = &proof->model,
        .supply = &proof->supply,
        .faults = proof->faults.model == NULL ? &own : &proof->faults,
        .loads = &proof->loads,
        .endurance = &proof->endurance,
    };
    card_run(&proof->arena, &card, &proof->card, &proof->findings);
    arena_free(&scratch);
    end(clock, PROOF_CARD);
}

/* --- results ------------------------------------------------------------------------------------
 */

RouteView proof_route_view(const Proof *proof) {
    return (RouteView){
        .model = &proof->model,
        .wiring = &proof->wiring,
        .routing = &proof->routing,
        .disconnects = &proof->disconnects,
        .bundles = proof->bundles,
        .runs = &proof->runs,
        .awg = proof->sizing.awg,
    };
}

HeadingInput proof_heading_input(const Proof *proof) {
    return (HeadingInput){
        .model = &proof->model,
        .wiring = &proof->wiring,
        .routing = &proof->routing,
        .bundles = proof->bundles,
        .awg = proof->sizing.awg,
        .supply = &proof->supply,
        .built = &proof->network,
        .phases = &proof->phases,
    };
}

static void prove_results(StepClock *clock) {
    Proof *proof = clock->proof;
    Arena *arena = &proof->arena;
    TableSet *set = &proof->set;
    begin(clock, PROOF_RESULT);
    size_rows(arena, &proof->sizing, set);
    loads_rows(arena, &proof->model, &proof->loads, set);
    phases_rows(arena, &proof->model, &proof->supply, &proof->network, &proof->phases, set);
    endurance_rows(arena, &proof->model, &proof->loads, &proof->endurance, set);
    common_rows(arena, &proof->model, &proof->wiring, &proof->routing, proof->service,
                &proof->common, set);
    HeadingInput heading = proof_heading_input(proof);
    heading_rows(arena, &heading, &proof->heading, set);
    if (proof->faults.model != NULL) {
        faults_rows(arena, &proof->faults, &proof->sweep, set);
        need_cuts_rows(arena, &proof->cuts, set);
    }
    lists_rows(proof, arena, set);
    lift_rows(arena, &proof->paths, &proof->lifts, set);
    card_rows(arena, &proof->model, &proof->card, set);
    GuardInput guard = proof_guard_input(proof);
    guard_rows(arena, &guard, &proof->guard, set);
    inrush_rows(arena, &proof->model, &proof->supply, &proof->inrush, set);
    dip_rows(arena, &proof->model, &proof->supply, &proof->dip, set);
    sneak_rows(arena, &proof->paths, &proof->sneaks, set);
    end(clock, PROOF_RESULT);
}

/* --- side by side -------------------------------------------------------------------------------
 */

/* What needs nothing of what is solved: the panel, and the rows of wires and ways. Made while the
 * network is attacked, in memory of its own; taken over afterwards, so that it is the same on one
 * thread as on two. */
typedef struct Beside {
    Proof *proof;
    const ProofOptions *options;
    Arena arena;
    Findings findings;
    TableSet panel;
    TableSet route;
    bool routes; /* rows of wires are wanted */
    double panel_s;
    double route_s;
    size_t panel_bytes;
} Beside;

/* The panel needs rows alone, and for heat what draws current; so it is checked also while circuits
 * are incomplete. */
static void prove_panel(Beside *beside) {
    Proof *proof = beside->proof;
    double start_s = now_s();
    if (panel_read(&beside->arena, &proof->model, &proof->panel, &beside->findings) &&
        proof->set.legend.count > 0) {
        DrawFonts *lent = beside->options->fonts;
        DrawFonts *fonts = lent == NULL ? fonts_open() : lent;
        proof->panel.ink = panel_ink(&beside->arena, fonts, &proof->model);
        if (lent == NULL) {
            fonts_close(fonts);
        }
    }
    panel_check(&beside->arena, &proof->panel, &proof->supply, !beside->options->no_results,
                &proof->panel_checks, &beside->findings);
    if (!beside->options->no_results) {
        panel_rows(&beside->arena, &proof->panel, &proof->panel_checks, &beside->panel);
    }
    beside->panel_bytes = beside->arena.used_bytes;
    beside->panel_s = now_s() - start_s;
}

static void make_route_rows(Beside *beside) {
    double start_s = now_s();
    RouteView view = proof_route_view(beside->proof);
    result_route_rows(&beside->arena, &view, NULL, NULL, &beside->route);
    beside->route_s = now_s() - start_s;
}

static void take_tables(TableSet *set, const TableSet *more) {
    for (int i = 0; i < TABLE_COUNT; i++) {
        if (more->any[i].count > 0) {
            set->any[i] = more->any[i];
        }
    }
}

/* Rows of wires are told only of a proof that is complete, as all results are. */
static void take_over(Beside *beside, bool good) {
    Proof *proof = beside->proof;
    take_tables(&proof->set, &beside->panel);
    if (good) {
        take_tables(&proof->set, &beside->route);
    }
    findings_append(&proof->findings, &beside->findings);
    proof->step_s[PROOF_PANEL] += beside->panel_s;
    proof->step_bytes[PROOF_PANEL] += beside->panel_bytes;
    proof->step_s[PROOF_RESULT] += beside->route_s;
    proof->step_bytes[PROOF_RESULT] += beside->arena.used_bytes - beside->panel_bytes;
    arena_adopt(&proof->arena, &beside->arena);
}

typedef struct Attack {
    StepClock *clock;
    Beside *beside;
    bool solved; /* there is a network to attack */
    bool good;
} Attack;

static void attack_network(Attack *attack) {
    StepClock *clock = attack->clock;
    attack->good = prove_loads(clock) && prove_field(clock);
    prove_needs(clock);
    prove_paths(clock);
    prove_start(clock);
    prove_guard(clock);
    prove_faults(clock);
    prove_card(clock);
}

static void do_side(void *context, unsigned thread, uint32_t side) {
    (void)thread;
    Attack *attack = context;
    if (side == 0) {
        if (attack->solved) {
            attack_network(attack);
        }
        return;
    }
    prove_panel(attack->beside);
    if (attack->beside->routes) {
        make_route_rows(attack->beside);
    }
}

/* False: results are not to be told. */
static bool prove_sides(StepClock *clock, bool solved) {
    Beside beside = {.proof = clock->proof,
                     .options = clock->options,
                     .routes = solved && !clock->options->no_results};
    beside.findings.arena = &beside.arena;
    Attack attack = {.clock = clock, .beside = &beside, .solved = solved};
    parallel_run(clock->options->threads > 1 ? 2 : 1, 2, do_side, &attack);
    take_over(&beside, attack.good);
    return attack.good;
}

/* --- exported
 * -----------------------------------------------------------------------------------
 */

void proof_run_set(const ProofOptions *options, Proof *proof) {
    StepClock clock = {.proof = proof, .options = options};
    proof->findings.arena = &proof->arena;
    begin(&clock, PROOF_READ);
    table_set_sort(&proof->set);
    declined_leave_out(proof);
    table_check(&proof->arena, &proof->set, &proof->findings);
    end(&clock, PROOF_READ);
    bool modelled = prove_model(&clock);
    bool wired = modelled && prove_wires(&clock);
    /* With rows left out, currents and gauges would be those of another aircraft. */
    bool whole = findings_open(&proof->findings, SEVERITY_UNREADABLE) == 0;
    bool good = wired && whole && prove_power(&clock);
    if (good) {
        prove_place(&clock);
    }
    if (modelled) {
        good = prove_sides(&clock, good);
    }
    begin(&clock, PROOF_JUDGE);
    if (modelled) {
        brief_check(&proof->arena, &proof->model, &proof->set, &proof->findings);
        judge_accept(&proof->model, &proof->findings);
    }
    findings_sort(&proof->findings);
    end(&clock, PROOF_JUDGE);
    proof->complete = good;
    if (good && !options->no_results) {
        prove_results(&clock);
    }
    if (!options->no_results) {
        proof_finding_rows(proof, &proof->findings, TABLE_finding);
    }
}

void proof_run(const char *job, const ProofOptions *options, Proof *proof) {
    *proof = (Proof){0};
    proof->findings.arena = &proof->arena;
    StepClock clock = {.proof = proof, .options = options};
    begin(&clock, PROOF_READ);
    SourceName name;
    if (source_parse(&proof->arena, job, &name)) {
        read_shop(proof, &name);
    } else {
        read_one(proof, options->library, GROUP_LIBRARY);
        read_one(proof, job, GROUP_JOB);
    }
    end(&clock, PROOF_READ);
    proof_run_set(options, proof);
    for (size_t i = 0; i < proof->findings.count; i++) {
        Finding *finding = &proof->findings.rows[i];
        if (finding->rule == RULE_MODEL_JOB && *finding->file == '\0') {
            finding->file = arena_text(&proof->arena, job, strlen(job));
        }
    }
}

void proof_free(Proof *proof) {
    Arena arena = proof->arena;
    *proof = (Proof){0};
    arena_free(&arena);
}

int proof_exit_code(const Proof *proof) {
    if (findings_open(&proof->findings, SEVERITY_UNREADABLE) > 0) {
        return 2;
    }
    return findings_open(&proof->findings, SEVERITY_ERROR) > 0 ? 1 : 0;
}

const char *proof_step_name(ProofStep step) {
    return step < PROOF_STEP_COUNT ? STEP_NAMES[step] : "?";
}
