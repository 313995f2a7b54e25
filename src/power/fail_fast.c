/* The fast way. The base's factor stays as it is. Each chain that is not as the factor has it, each
 * piece of a chain that a short cuts in two and each bridge is a member: with Z = u' J^-1 u between
 * members (from walks up the elimination tree, kept from member to member), their currents follow
 * from a small dense system (Sherman, Morrison and Woodbury), and one substitution upwards gives
 * all voltages. Loads whose curve is felt add what they draw beyond their tangent, again until it
 * is no longer felt; those far from their tangent become members. Then only elements whose margin
 * is passed are asked whether they change their state, in the order of states_settle(). Whatever
 * this can't tell (parts that float or come to life, too many members, no end) is left to the full
 * way. */
#include <math.h>
#include <string.h>

#include "base/check.h"
#include "power/fail_inner.h"
#include "power/states.h"

/* Volts of error from bends that are let go, and between two rounds when they end. */
#define FAST_BEND_V 3e-8
#define FAST_END_V 3e-8
/* A load whose slope has changed so much that going on with its tangent would take many rounds. */
#define FAST_PROMOTE 0.05
/* A group of loads is felt when its bend makes this share of what is let go. */
#define FAST_FELT 3e-3
/* A round that leaves more than this of the last one's change is slow. */
#define FAST_SLOW 0.7
enum { FAST_ROUNDS = 40, FAST_SLOW_ROUNDS = 4, FAST_STATE_CHANGES = 100, FAST_EDITS = 8 };

/* --- Chains that change ---------------------------------------------------------------------- */

static const Point *base_point(const FailRun *run) {
    return run->base->point;
}

static uint32_t reference(const FailRun *run) {
    return run->collapse.kept_count;
}

static uint32_t member_row(const FailRun *run, uint32_t node) {
    return node >= reference(run) || base_point(run)->fixed[node] ? FACTOR_NO_ROW : node;
}

static uint32_t member_extra(const FailRun *run, uint32_t node) {
    return node > reference(run) ? node - reference(run) - 1 : NETWORK_NONE;
}

/* Adds a member between two nodes; NULL when there is no room. */
static FailMember *member_add(FailRun *run, uint32_t chain, uint32_t a, uint32_t b) {
    if (run->member_count == FAIL_MEMBERS) {
        return NULL;
    }
    uint32_t number = run->member_count++;
    FailMember *member = &run->members[number];
    member->chain = chain;
    member->group = NETWORK_NONE;
    member->row_a = member_row(run, a);
    member->row_b = member_row(run, b);
    member->extra_a = member_extra(run, a);
    member->extra_b = member_extra(run, b);
    member->base_s = member->base_a = member->base_v = 0;
    member->more_s = member->more_a = 0;
    const Factor *factor = base_point(run)->factor;
    member->row_count =
        factor_path(factor, member->row_a, member->row_b, run->work, member->rows, member->values);
    run->counts.paths++;
    for (uint32_t i = 0; i < member->row_count; i++) {
        run->work[member->rows[i]] = member->values[i] / factor_pivot(factor, member->rows[i]);
    }
    for (uint32_t other = 0; other <= number; other++) {
        const FailMember *with = &run->members[other];
        double ohm = 0;
        for (uint32_t i = 0; i < with->row_count; i++) {
            ohm += with->values[i] * run->work[with->rows[i]];
        }
        run->path_ohm[number * FAIL_MEMBERS + other] = ohm;
        run->path_ohm[other * FAIL_MEMBERS + number] = ohm;
    }
    for (uint32_t i = 0; i < member->row_count; i++) {
        run->work[member->rows[i]] = 0;
    }
    return member;
}

/* Voltage between the kept ends of a chain at the base; an extra node counts as 0. */
static double base_between_v(const FailRun *run, uint32_t a, uint32_t b) {
    double v_a = a <= reference(run) ? point_kept_v(base_point(run), a) : 0;
    double v_b = b <= reference(run) ? point_kept_v(base_point(run), b) : 0;
    return v_a - v_b;
}

/* Makes a chain a member, if it is not one yet. */
static bool chain_touch(FailRun *run, uint32_t chain) {
    if (run->member_of[chain] != 0) {
        return true;
    }
    const Chain *now = &run->point->chains[chain];
    FailMember *member = member_add(run, chain, now->a, now->b);
    if (member == NULL) {
        return false;
    }
    run->member_of[chain] = run->member_count;
    member->base_v = base_between_v(run, now->a, now->b);
    if (chain < run->base_chains) {
        uint32_t group = run->base->watches.chain_group[chain];
        if (group != NETWORK_NONE) {
            run->group_touched[group] = true;
        }
        const Chain *was = &base_point(run)->chains[chain];
        member->base_s = was->slope_s;
        member->base_a = was->current_a;
    }
    return true;
}

/* Makes a group of bent loads a member, if it is not one yet. Those that are members of their own
 * are left out of it. */
static bool group_touch(FailRun *run, uint32_t group) {
    if (run->group_member[group] != 0) {
        return true;
    }
    uint32_t a = run->base->watches.group_a[group];
    uint32_t b = run->base->watches.group_b[group];
    FailMember *member = member_add(run, NETWORK_NONE, a, b);
    if (member == NULL) {
        return false;
    }
    member->group = group;
    member->base_v = base_between_v(run, a, b);
    run->group_member[group] = run->member_count;
    return true;
}

static bool member_is_anchor(const FailMember *member) {
    return member->chain == NETWORK_NONE && member->group == NETWORK_NONE;
}

static bool chain_is_split(const FailRun *run, uint32_t chain) {
    return chain < run->base_chains ? run->base_split[chain] : run->split[chain - run->base_chains];
}

static void chain_read(FailRun *run, uint32_t chain) {
    Chain *now = &run->point->chains[chain];
    if (chain_is_split(run, chain)) {
        now->law = CHAIN_OPEN;
        now->current_a = 0;
        return;
    }
    if (run->collapse.chain_first[chain] < run->collapse.chain_end[chain]) {
        point_chain_read(run->point, chain);
    }
}

static bool chain_change(FailRun *run, uint32_t chain) {
    if (!chain_touch(run, chain)) {
        return false;
    }
    chain_read(run, chain);
    return true;
}

/* A new chain of links first..end - 1 (none: a bridge); NETWORK_NONE when there is no room. */
static uint32_t chain_add(FailRun *run, uint32_t a, uint32_t b, uint32_t first, uint32_t end) {
    if (run->extra_chains == FAIL_EXTRA_CHAINS) {
        return NETWORK_NONE;
    }
    uint32_t chain = run->base_chains + run->extra_chains;
    run->split[run->extra_chains++] = false;
    run->collapse.chain_count = chain + 1;
    run->collapse.chain_first[chain] = first;
    run->collapse.chain_end[chain] = end;
    run->member_of[chain] = 0;
    run->point->chains[chain] =
        (Chain){.a = a, .b = b, .slot = -1, .load = NETWORK_NONE, .alternator = NETWORK_NONE};
    for (uint32_t k = first; k < end; k++) {
        NetworkKind kind = collapse_link_kind(run->collapse.links[k]);
        uint32_t index = collapse_link_index(run->collapse.links[k]);
        if (kind == NETWORK_RESISTOR) {
            run->resistor_chain[index] = chain;
        } else {
            run->collapse.chain_of[kind][index] = chain;
        }
        if (kind == NETWORK_LOAD) {
            run->point->chains[chain].load = index;
        } else if (kind == NETWORK_ALTERNATOR) {
            run->point->chains[chain].alternator = index;
        }
    }
    return chain;
}

/* Cuts a chain in two before link `link`; the node between is a new extra node, or NETWORK_NONE
 * when there is no room. */
static uint32_t chain_split(FailRun *run, uint32_t chain, uint32_t link) {
    if (run->point->extra_count == FAIL_EXTRA_NODES || !chain_touch(run, chain)) {
        return NETWORK_NONE;
    }
    uint32_t extra = run->point->extra_count++;
    uint32_t node = reference(run) + 1 + extra;
    run->extra_links[extra] = link;
    const Chain *whole = &run->point->chains[chain];
    uint32_t left = chain_add(run, whole->a, node, run->collapse.chain_first[chain], link);
    uint32_t right = chain_add(run, node, whole->b, link, run->collapse.chain_end[chain]);
    if (left == NETWORK_NONE || right == NETWORK_NONE) {
        return NETWORK_NONE;
    }
    if (chain < run->base_chains) {
        run->base_split[chain] = true;
    } else {
        run->split[chain - run->base_chains] = true;
    }
    chain_read(run, chain);
    if (!chain_change(run, left) || !chain_change(run, right)) {
        return NETWORK_NONE;
    }
    run->point->v[node] = 0;
    run->point->v_low[node] = 0;
    run->point->dead[node] = false;
    return node;
}

/* The piece that holds link `link` of a chain that has been split. */
static uint32_t piece_of(const FailRun *run, uint32_t link) {
    NetworkKind kind = collapse_link_kind(run->collapse.links[link]);
    uint32_t index = collapse_link_index(run->collapse.links[link]);
    return kind == NETWORK_RESISTOR ? run->resistor_chain[index]
                                    : run->collapse.chain_of[kind][index];
}

/* The extra node before a link, NETWORK_NONE when there is none. */
static uint32_t extra_before(const FailRun *run, uint32_t link) {
    for (uint32_t i = 0; i < run->point->extra_count; i++) {
        if (run->extra_links[i] == link) {
            return reference(run) + 1 + i;
        }
    }
    return NETWORK_NONE;
}

/* The kept or extra node that stands for a node of the network, laid bare when it is inside a
 * chain; NETWORK_NONE when there is no room or it is in no chain. */
static uint32_t node_lay_bare(FailRun *run, uint32_t node) {
    const FailBase *base = run->base;
    if (base->node_kept[node] != NETWORK_NONE) {
        return base->node_kept[node];
    }
    if (base->node_chain[node] == NETWORK_NONE) {
        return NETWORK_NONE;
    }
    uint32_t extra = extra_before(run, base->node_link[node]);
    return extra != NETWORK_NONE
               ? extra
               : chain_split(run, piece_of(run, base->node_link[node]), base->node_link[node]);
}

/* --- Edits ----------------------------------------------------------------------------------- */

static bool bridge_apply(FailRun *run, const FailEdit *edit, uint32_t bridge) {
    CHECK(edit->a < run->network.node_count && edit->b < run->network.node_count &&
          edit->value > 0);
    if (bridge >= FAIL_EXTRA_CHAINS) {
        return false;
    }
    run->bridge_chain[bridge] = NETWORK_NONE;
    if (edit->a == edit->b) {
        return true;
    }
    uint32_t a = node_lay_bare(run, edit->a);
    uint32_t b = node_lay_bare(run, edit->b);
    if (a == NETWORK_NONE || b == NETWORK_NONE) {
        return false;
    }
    uint32_t chain = chain_add(run, a, b, 0, 0);
    if (chain == NETWORK_NONE) {
        return false;
    }
    run->bridge_chain[bridge] = chain;
    run->point->chains[chain].law = CHAIN_LINEAR;
    run->point->chains[chain].ohm = edit->value;
    return chain_touch(run, chain);
}

static bool edit_apply(FailRun *run, const FailEdit *edit, uint32_t *bridge) {
    if (edit->kind == FAIL_BRIDGE) {
        return bridge_apply(run, edit, (*bridge)++);
    }
    fail_edit_network(&run->network, &run->point->state, edit);
    run->state_changed |= edit->kind == FAIL_HOLD;
    if (edit->kind == FAIL_VOLTS) {
        run->point->ceiling_v = network_ceiling_v(&run->network);
    }
    uint32_t chain = edit->element == NETWORK_RESISTOR
                         ? run->resistor_chain[edit->index]
                         : run->collapse.chain_of[edit->element][edit->index];
    return chain_change(run, chain);
}

/* --- What hangs together --------------------------------------------------------------------- */

static void joined_restore(FailRun *run) {
    const Point *base = base_point(run);
    size_t nodes = (size_t)reference(run) + 1;
    memcpy(run->point->root, base->root, nodes * sizeof *base->root);
    memcpy(run->point->part_source, base->part_source, nodes * sizeof *base->part_source);
    memcpy(run->point->fixed, base->fixed, nodes * sizeof *base->fixed);
    memcpy(run->point->dead, base->dead, nodes * sizeof *base->dead);
    for (uint32_t c = 0; c < run->collapse.chain_count; c++) {
        run->point->chains[c].dead = c < run->base_chains && base->chains[c].dead;
    }
    run->joined = false;
}

static bool law_joins(const Chain *chain) {
    return chain->law == CHAIN_LINEAR || chain->law == CHAIN_LOAD;
}

static bool node_was_dead(const FailRun *run, uint32_t node) {
    return node <= reference(run) && base_point(run)->dead[node];
}

/* True when members may have parted something or brought it to life. */
static bool join_needed(const FailRun *run) {
    uint32_t opened = 0;
    uint32_t tree_opened = 0;
    bool bridge = false;
    for (uint32_t i = 0; i < run->member_count; i++) {
        uint32_t c = run->members[i].chain;
        if (c == NETWORK_NONE) {
            continue;
        }
        const Chain *chain = &run->point->chains[c];
        bool joins = law_joins(chain);
        if (c >= run->base_chains) {
            if (chain_is_split(run, c)) {
                continue;
            }
            if (!joins) {
                opened++; /* a piece: count it as if it had been in the tree */
                tree_opened++;
                bridge = true;
            } else if (node_was_dead(run, chain->a) || node_was_dead(run, chain->b)) {
                return true;
            }
            continue;
        }
        const Chain *was = &base_point(run)->chains[c];
        if (chain_is_split(run, c)) {
            if (!law_joins(was) || was->dead) {
                return true;
            }
            continue;
        }
        if (joins && (!law_joins(was) || was->dead)) {
            if (node_was_dead(run, chain->a) || node_was_dead(run, chain->b) || was->dead) {
                return true;
            }
        } else if (!joins && law_joins(was) && !was->dead) {
            opened++;
            tree_opened += run->base->tree[c] ? 1U : 0U;
            bridge |= run->base->bridge[c];
        }
    }
    return tree_opened > 0 && (bridge || opened > 1);
}

static void members_forget_anchors(FailRun *run) {
    while (run->member_count > 0 && member_is_anchor(&run->members[run->member_count - 1])) {
        run->member_count--;
    }
    for (uint32_t i = 0; i < run->member_count; i++) {
        if (member_is_anchor(&run->members[i])) {
            run->members[i].more_s = 0;
        }
    }
}

/* A part that has died keeps its equations and is held by a conductance to the reference, so that
 * they can be solved; its voltages are then not used. */
static bool anchors_add(FailRun *run) {
    uint32_t count = run->member_count;
    for (uint32_t i = 0; i < count; i++) {
        uint32_t c = run->members[i].chain;
        if (c == NETWORK_NONE || c >= run->base_chains) {
            continue;
        }
        const Chain *was = &base_point(run)->chains[c];
        if (was->slope_s == 0) {
            continue;
        }
        const uint32_t ends[2] = {was->a, was->b};
        for (int end = 0; end < 2; end++) {
            if (run->point->dead[ends[end]] && !run->point->dead[ends[1 - end]]) {
                FailMember *anchor = member_add(run, NETWORK_NONE, ends[end], reference(run));
                if (anchor == NULL) {
                    return false;
                }
                anchor->more_s = fabs(was->slope_s);
            }
        }
    }
    return true;
}

/* An alternator at its limit whose chain is broken regulates again (as point_join() does for one
 * that has no way round). */
static bool limits_release(FailRun *run) {
    const Network *network = &run->network;
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        uint32_t c = run->collapse.chain_of[NETWORK_ALTERNATOR][i];
        NetworkAlternatorMode *mode = &run->point->state.alternator_mode[i];
        if (*mode != NETWORK_ALTERNATOR_LIMITING || run->point->chains[c].law != CHAIN_OPEN ||
            !network->alternators[i].running || !(network->alternators[i].limit_a > 0)) {
            continue;
        }
        *mode = NETWORK_ALTERNATOR_REGULATING;
        run->state_changed = true;
        if (!chain_change(run, c)) {
            return false;
        }
    }
    return true;
}

/* Finds what is dead now; false when something has come to life or begun to float. */
static bool join(FailRun *run) {
    members_forget_anchors(run);
    if (!join_needed(run)) {
        if (run->joined) {
            joined_restore(run);
            run->bend_known = false;
        }
        return true;
    }
    run->joined = true;
    run->bend_known = false; /* the voltages of what dies or comes back are not those reached */
    uint32_t changes = run->point->counts.state_changes;
    point_join(run->point);
    for (uint32_t i = 0;
         changes != run->point->counts.state_changes && i < run->network.alternator_count; i++) {
        run->state_changed = true; /* it has released one from its limit */
        if (!chain_touch(run, run->collapse.chain_of[NETWORK_ALTERNATOR][i])) {
            return false;
        }
    }
    for (uint32_t k = 0; k <= reference(run); k++) {
        bool dead = run->point->dead[k];
        if (dead == base_point(run)->dead[k]) {
            bool floats = !dead && run->point->root[k] != run->point->root[reference(run)];
            if (floats != run->base->floating[k]) {
                return false;
            }
        } else if (!dead) {
            return false;
        }
    }
    if (run->point->dead[reference(run)] != base_point(run)->dead[reference(run)]) {
        return false;
    }
    return anchors_add(run);
}

/* True when a member ends in a part that floats: its voltages have another reference. */
static bool member_floats(const FailRun *run) {
    for (uint32_t i = 0; i < run->member_count; i++) {
        uint32_t c = run->members[i].chain;
        if (c == NETWORK_NONE) {
            continue;
        }
        const Chain *chain = &run->point->chains[c];
        if ((chain->a <= reference(run) && run->base->floating[chain->a]) ||
            (chain->b <= reference(run) && run->base->floating[chain->b])) {
            return true;
        }
    }
    return false;
}

/* --- Solving --------------------------------------------------------------------------------- */

/* A tangent: current = at_base_a + slope_s * (change of voltage from the base). */
typedef struct Tangent {
    double slope_s;
    double at_base_a;
    bool bent;
} Tangent;

/* The tangent of a chain now, at `change_v` from the base; with `soft` a load is a resistance. */
static Tangent chain_tangent(FailRun *run, Chain *chain, double base_v, double change_v,
                             bool soft) {
    Tangent tangent = {0};
    if (chain->dead || chain->law == CHAIN_OPEN) {
        return tangent;
    }
    if (chain->law == CHAIN_LINEAR) {
        tangent.slope_s = 1 / chain->ohm;
        tangent.at_base_a = (base_v - chain->emf_v) * tangent.slope_s;
        return tangent;
    }
    tangent.bent = true;
    if (soft && chain->law == CHAIN_LOAD) {
        const NetworkLoad *load = &run->network.loads[chain->load];
        double conductance_s = load->nominal_a / load->nominal_v;
        tangent.slope_s = conductance_s / (1 + conductance_s * chain->ohm);
        tangent.at_base_a = (base_v - chain->emf_v) * tangent.slope_s;
        return tangent;
    }
    point_chain_law(run->point, chain);
    tangent.slope_s = chain->slope_s;
    tangent.at_base_a = chain->current_a - chain->slope_s * change_v;
    return tangent;
}

/* The sum of a group's tangents, and into the member what the factor has of them. */
static Tangent group_tangent(FailRun *run, FailMember *member, double change_v, bool soft) {
    const FailWatches *watches = &run->base->watches;
    Tangent sum = {.bent = true};
    member->base_s = 0;
    member->base_a = 0;
    for (uint32_t i = watches->group_first[member->group];
         i < watches->group_first[member->group + 1]; i++) {
        uint32_t c = watches->chain[i];
        if (!watches->bent[i] || run->member_of[c] != 0) {
            continue;
        }
        const Chain *was = &base_point(run)->chains[c];
        Tangent tangent =
            chain_tangent(run, &run->point->chains[c], member->base_v, change_v, soft);
        sum.slope_s += tangent.slope_s;
        sum.at_base_a += tangent.at_base_a;
        member->base_s += was->slope_s;
        member->base_a += was->current_a;
    }
    return sum;
}

/* About how many volts an ampere makes at the extra nodes a member ends at: what else ends there
 * takes it. */
static double extra_ohm(const FailRun *run, const FailMember *member) {
    double ohm = 0;
    const uint32_t extras[2] = {member->extra_a, member->extra_b};
    for (int end = 0; end < 2; end++) {
        double sum_s = 0;
        for (uint32_t i = 0; extras[end] != NETWORK_NONE && i < run->member_count; i++) {
            const FailMember *other = &run->members[i];
            if (other->extra_a == extras[end] || other->extra_b == extras[end]) {
                sum_s += fmax(other->more_s, 0);
            }
        }
        ohm += extras[end] == NETWORK_NONE ? 0 : 1 / fmax(sum_s, 1);
    }
    return ohm;
}

/* Each member's law about the present point; with `soft` loads are resistances. *bent: one is not a
 * straight line. Returns by how many volts, about, the point reached misses the laws of now. */
static double members_read(FailRun *run, bool soft, bool *bent) {
    double miss_v = 0;
    *bent = false;
    const Point *point = run->point;
    for (uint32_t i = 0; i < run->member_count; i++) {
        FailMember *member = &run->members[i];
        if (member_is_anchor(member)) {
            continue;
        }
        bool group = member->chain == NETWORK_NONE;
        uint32_t a =
            group ? run->base->watches.group_a[member->group] : point->chains[member->chain].a;
        uint32_t b =
            group ? run->base->watches.group_b[member->group] : point->chains[member->chain].b;
        double change_v =
            point->v[a] - point->v[b] + (point->v_low[a] - point->v_low[b]) - member->base_v;
        double was_s = member->base_s + member->more_s;
        double was_a = member->base_a + member->more_a;
        Tangent tangent = group ? group_tangent(run, member, change_v, soft)
                                : chain_tangent(run, &run->point->chains[member->chain],
                                                member->base_v, change_v, soft);
        *bent |= tangent.bent;
        member->more_s = tangent.slope_s - member->base_s;
        member->more_a = tangent.at_base_a - member->base_a;
        double miss_a = tangent.at_base_a - was_a + (tangent.slope_s - was_s) * change_v;
        double port_ohm =
            fmax(run->path_ohm[i * FAIL_MEMBERS + i] + extra_ohm(run, member), run->least_ohm);
        miss_v += fabs(miss_a * port_ohm / (1 + fabs(member->more_s * port_ohm)));
    }
    return miss_v;
}

/* Gaussian elimination with row pivoting on count unknowns; the rows are FAIL_UNKNOWNS apart. True
 * when the determinant is positive: with the base's factor positive definite, the changed equations
 * are so too (a negative one means a point where the network can't stay: the Haynsworth inertia of
 * the two). */
static bool dense_solve(double *matrix, double *right, uint32_t count) {
    bool positive = true;
    for (uint32_t k = 0; k < count; k++) {
        uint32_t best = k;
        for (uint32_t i = k + 1; i < count; i++) {
            if (fabs(matrix[i * FAIL_UNKNOWNS + k]) > fabs(matrix[best * FAIL_UNKNOWNS + k])) {
                best = i;
            }
        }
        double pivot = matrix[best * FAIL_UNKNOWNS + k];
        if (!(fabs(pivot) > 1e-13) || !isfinite(pivot)) {
            return false;
        }
        positive = positive == (pivot > 0);
        if (best != k) {
            positive = !positive;
            for (uint32_t j = k; j < count; j++) {
                double keep = matrix[k * FAIL_UNKNOWNS + j];
                matrix[k * FAIL_UNKNOWNS + j] = matrix[best * FAIL_UNKNOWNS + j];
                matrix[best * FAIL_UNKNOWNS + j] = keep;
            }
            double keep = right[k];
            right[k] = right[best];
            right[best] = keep;
        }
        for (uint32_t i = k + 1; i < count; i++) {
            double share = matrix[i * FAIL_UNKNOWNS + k] / pivot;
            if (share != 0) {
                for (uint32_t j = k + 1; j < count; j++) {
                    matrix[i * FAIL_UNKNOWNS + j] -= share * matrix[k * FAIL_UNKNOWNS + j];
                }
                right[i] -= share * right[k];
            }
        }
    }
    for (uint32_t k = count; k-- > 0;) {
        for (uint32_t j = k + 1; j < count; j++) {
            right[k] -= matrix[k * FAIL_UNKNOWNS + j] * right[j];
        }
        right[k] /= matrix[k * FAIL_UNKNOWNS + k];
    }
    return positive;
}

/* What L^-1 of some currents makes between the ends of a member. */
static double member_given_v(const FailRun *run, const FailMember *member, const double *forward) {
    const Factor *factor = base_point(run)->factor;
    double given_v = 0;
    for (uint32_t k = 0; forward != NULL && k < member->row_count; k++) {
        uint32_t row = member->rows[k];
        given_v += member->values[k] * forward[row] / factor_pivot(factor, row);
    }
    return given_v;
}

/* Currents of the members beyond the factor's into run->right, and run->extra_v. `forward` is L^-1
 * of what the other elements put in; NULL: nothing. A row of a member: its law over the voltage
 * that all members leave it; of an extra node: Kirchhoff's current law. */
static bool members_solve(FailRun *run, const double *forward) {
    uint32_t members = run->member_count;
    uint32_t count = members + run->point->extra_count;
    double *matrix = run->dense;
    for (uint32_t i = 0; i < members; i++) {
        const FailMember *member = &run->members[i];
        double *row = &matrix[i * FAIL_UNKNOWNS];
        double given = member_given_v(run, member, forward);
        for (uint32_t j = 0; j < members; j++) {
            row[j] = member->more_s * run->path_ohm[i * FAIL_MEMBERS + j];
        }
        row[i] += 1;
        for (uint32_t j = members; j < count; j++) {
            row[j] = 0;
        }
        if (member->extra_a != NETWORK_NONE) {
            row[members + member->extra_a] -= member->more_s;
        }
        if (member->extra_b != NETWORK_NONE) {
            row[members + member->extra_b] += member->more_s;
        }
        run->right[i] = member->more_a + member->more_s * given;
    }
    for (uint32_t x = 0; x < run->point->extra_count; x++) {
        double *row = &matrix[(members + x) * FAIL_UNKNOWNS];
        memset(row, 0, count * sizeof *row);
        for (uint32_t i = 0; i < members; i++) {
            row[i] = (run->members[i].extra_a == x ? 1.0 : 0.0) -
                     (run->members[i].extra_b == x ? 1.0 : 0.0);
        }
        run->right[members + x] = 0;
    }
    if (count == 1) {
        run->right[0] /= matrix[0];
        return matrix[0] > 1e-13 && isfinite(run->right[0]);
    }
    if (!dense_solve(matrix, run->right, count)) {
        return false;
    }
    memcpy(run->extra_v, &run->right[members], run->point->extra_count * sizeof(double));
    return true;
}

/* All changes of voltage from the currents of the members, and of what loads draw beyond their
 * tangents: `forward` is L^-1 of that, or NULL. */
static void change_find(FailRun *run, const double *forward) {
    double *change_v = run->change_v;
    uint32_t count = reference(run);
    if (forward != NULL) {
        memcpy(change_v, forward, count * sizeof *change_v);
    } else {
        memset(change_v, 0, count * sizeof *change_v);
    }
    for (uint32_t i = 0; i < run->member_count; i++) {
        const FailMember *member = &run->members[i];
        for (uint32_t k = 0; k < member->row_count; k++) {
            change_v[member->rows[k]] -= run->right[i] * member->values[k];
        }
    }
    factor_solve_back(base_point(run)->factor, change_v);
    change_v[count] = 0;
    run->counts.substitutions++;
}

/* Voltages of now from the changes. */
static void voltages_set(FailRun *run) {
    const Point *base = base_point(run);
    Point *point = run->point;
    uint32_t count = reference(run);
    if (run->joined) {
        for (uint32_t k = 0; k < count; k++) {
            if (point->dead[k]) {
                run->change_v[k] = -point_kept_v(base, k);
            }
        }
    }
    for (uint32_t k = 0; k <= count; k++) {
        point->v[k] = base->v[k] + run->change_v[k];
        point->v_low[k] = base->v_low[k];
    }
    for (uint32_t x = 0; x < point->extra_count; x++) {
        bool dead = point->dead[count + 1 + x];
        point->v[count + 1 + x] = dead ? 0 : run->extra_v[x];
    }
}

static bool margin_passed(double change_v, double low_v, double high_v) {
    return !(change_v > low_v && change_v < high_v);
}

/* Lists the watches whose margin is passed; returns the volts of error by bends. */
static double watches_look(FailRun *run) {
    const FailWatches *watches = &run->base->watches;
    const double *change_v = run->change_v;
    double bend_v = 0;
    uint32_t count = 0;
    for (uint32_t g = 0; g < watches->group_count; g++) {
        double change = change_v[watches->group_a[g]] - change_v[watches->group_b[g]];
        bend_v += watches->group_bend[g] * change * change;
        if (!margin_passed(change, watches->group_low_v[g], watches->group_high_v[g])) {
            continue;
        }
        for (uint32_t i = watches->group_first[g]; i < watches->group_first[g + 1]; i++) {
            run->candidates[count] = i;
            count += margin_passed(change, watches->low_v[i], watches->high_v[i]) ? 1U : 0U;
        }
    }
    run->candidate_count = count;
    return bend_v;
}

/* True when a load has passed the knee of its law. */
static bool knees_passed(const FailRun *run) {
    const FailWatches *watches = &run->base->watches;
    for (uint32_t i = 0; i < run->candidate_count; i++) {
        uint32_t watch = run->candidates[i];
        const Chain *chain = &run->point->chains[watches->chain[watch]];
        if (watches->bent[watch] && chain->law == CHAIN_LOAD && !chain->dead &&
            run->member_of[watches->chain[watch]] == 0 &&
            run->group_member[watches->group_of[watch]] == 0) {
            return true;
        }
    }
    return false;
}

/* Adds what the loads of a group draw beyond their tangents to right_a, or makes it a member when
 * their slopes are far from what they were. False when there is no room for that. */
static bool bends_add_group(FailRun *run, uint32_t group, double change, double *right_a) {
    const FailWatches *watches = &run->base->watches;
    double more_a = 0;
    double more_s = 0;
    bool series = fabs(change) <= watches->group_reach_v[group] && !run->group_touched[group];
    if (series) {
        const double *c = &watches->group_series[(size_t)FAIL_SERIES * group];
        double part = c[0] + change * (c[1] + change * (c[2] + change * c[3]));
        more_a = change * change * part;
        more_s = 2 * change * part; /* nearly */
    }
    for (uint32_t i = watches->group_first[group]; !series && i < watches->group_first[group + 1];
         i++) {
        uint32_t c = watches->chain[i];
        Chain *chain = &run->point->chains[c];
        if (!watches->bent[i] || run->member_of[c] != 0 || chain->law != CHAIN_LOAD ||
            chain->dead) {
            continue;
        }
        const Chain *was = &base_point(run)->chains[c];
        point_chain_law(run->point, chain);
        more_s += chain->slope_s - was->slope_s;
        more_a += chain->current_a - was->current_a - was->slope_s * change;
    }
    if (fabs(more_s) * watches->group_ohm[group] > FAST_PROMOTE) {
        return group_touch(run, group);
    }
    uint32_t row_a = member_row(run, watches->group_a[group]);
    uint32_t row_b = member_row(run, watches->group_b[group]);
    if (row_a != FACTOR_NO_ROW) {
        right_a[row_a] -= more_a;
    }
    if (row_b != FACTOR_NO_ROW) {
        right_a[row_b] += more_a;
    }
    return true;
}

/* Adds up what loads draw beyond their tangents at the present point. */
static bool bends_add(FailRun *run, double *right_a) {
    const FailWatches *watches = &run->base->watches;
    memset(right_a, 0, ((size_t)reference(run) + 1) * sizeof *right_a);
    for (uint32_t g = 0; g < watches->group_count; g++) {
        double change = run->change_v[watches->group_a[g]] - run->change_v[watches->group_b[g]];
        bool felt = watches->group_bend[g] * change * change > FAST_FELT * FAST_BEND_V ||
                    margin_passed(change, watches->group_low_v[g], watches->group_high_v[g]);
        if (felt && run->group_member[g] == 0 && !bends_add_group(run, g, change, right_a)) {
            return false;
        }
    }
    return true;
}

/* Makes the groups at a node members. */
static bool node_soften(FailRun *run, uint32_t node) {
    const FailBase *base = run->base;
    for (uint32_t k = base->load_first[node]; k < base->load_first[node + 1]; k++) {
        if (!group_touch(run, base->load_group[k])) {
            return false;
        }
    }
    return true;
}

/* What is open may leave a part that only loads hold (a bus without its feeder, a ground lifted
 * from many boxes): it has no answer by their tangents. Makes the loads of that part members; false
 * when there is no room. */
static bool loads_soften(FailRun *run) {
    const FailBase *base = run->base;
    uint32_t members = run->member_count;
    for (uint32_t i = 0; i < members; i++) {
        uint32_t c = run->members[i].chain;
        if (c >= run->base_chains || run->point->chains[c].law != CHAIN_OPEN ||
            base->below[c] == NETWORK_NONE) {
            continue;
        }
        uint32_t place = base->walk_place[base->below[c]];
        uint32_t end = place + base->walk_size[base->below[c]];
        bool source = base->walk_source[place] != base->walk_source[end];
        for (uint32_t k = place; !source && k < end; k++) {
            if (!node_soften(run, base->walk[k])) {
                return false;
            }
        }
    }
    return true;
}

/* Adds to run->bend_a a step that goes on from two rounds: where all loads feel one dip, one number
 * is wrong, and the two rounds tell how much (Anderson, J. ACM 12, 1965, of depth one). */
static void bend_step(FailRun *run, bool first) {
    uint32_t count = reference(run);
    double along = 0;
    double size = 0;
    for (uint32_t k = 0; !first && k < count; k++) {
        double left = run->next_a[k] - run->bend_a[k];
        double turned = left - (run->last_next_a[k] - run->last_a[k]);
        along += left * turned;
        size += turned * turned;
    }
    double share = size > 0 ? along / size : 0;
    share = isfinite(share) && fabs(share) < 2 ? share : 0;
    double *spare = run->last_a;
    run->last_a = run->bend_a;
    run->bend_a = spare;
    for (uint32_t k = 0; k < count; k++) {
        double mixed = run->next_a[k] - share * (run->next_a[k] - run->last_next_a[k]);
        run->bend_a[k] = first ? run->next_a[k] : mixed;
    }
    spare = run->last_next_a;
    run->last_next_a = run->next_a;
    run->next_a = spare;
}

/* All voltages with run->bend_a and the members' laws of now. */
static bool round_find(FailRun *run) {
    memcpy(run->next_v, run->bend_a, ((size_t)reference(run) + 1) * sizeof *run->next_v);
    factor_solve_forward(base_point(run)->factor, run->next_v);
    if (!members_solve(run, run->next_v)) {
        return false;
    }
    change_find(run, run->next_v);
    voltages_set(run);
    run->counts.newton_steps++;
    return true;
}

/* The first answer: by tangents, or by resistances where only loads hold a part. */
static bool point_begin_find(FailRun *run, bool *bent) {
    uint32_t members = run->member_count;
    if (!loads_soften(run)) {
        return false;
    }
    members_read(run, run->member_count > members, bent);
    if (!members_solve(run, NULL)) {
        return false;
    }
    change_find(run, NULL);
    voltages_set(run);
    run->counts.newton_steps++;
    memset(run->bend_a, 0, ((size_t)reference(run) + 1) * sizeof *run->bend_a);
    return true;
}

/* By how many volts, about, the loads' bends miss those that the point was found with. */
static double bends_miss_v(const FailRun *run) {
    double miss_v = 0;
    for (uint32_t k = 0; k < reference(run); k++) {
        miss_v +=
            fabs(run->next_a[k] - run->bend_a[k]) * fmax(run->base->row_ohm[k], run->least_ohm);
    }
    return miss_v;
}

/* The base's figures for how many volts an ampere makes no longer hold where something that held
 * the network together is open: an ohm is more than enough. */
static double least_ohm_find(const FailRun *run) {
    bool weaker = false;
    for (uint32_t i = 0; i < run->member_count && !weaker; i++) {
        uint32_t c = run->members[i].chain;
        weaker = c != NETWORK_NONE && !chain_is_split(run, c) &&
                 run->point->chains[c].law == CHAIN_OPEN &&
                 (c >= run->base_chains || run->base->tree[c]);
    }
    return weaker ? 1 : 0;
}

/* Voltages for the states and laws of now. False when it finds no end. */
static bool point_find(FailRun *run) {
    bool bent = true;
    run->least_ohm = least_ohm_find(run);
    if (!run->bend_known) {
        if (!point_begin_find(run, &bent)) {
            return false;
        }
        double bend_v = watches_look(run);
        if (!bent && bend_v < FAST_BEND_V && !knees_passed(run)) {
            return isfinite(bend_v);
        }
    }
    double last_v = HUGE_VAL;
    uint32_t slow = 0;
    for (uint32_t round = 0; round < FAST_ROUNDS; round++) {
        uint32_t members = run->member_count;
        if (!bends_add(run, run->next_a)) {
            return false;
        }
        double miss_v = members_read(run, false, &bent) + bends_miss_v(run);
        if (miss_v < FAST_END_V) {
            run->bend_known = true;
            return true;
        }
        slow += miss_v > FAST_SLOW * last_v ? 1U : 0U;
        if (!isfinite(miss_v) || slow > FAST_SLOW_ROUNDS) {
            return false;
        }
        last_v = miss_v;
        bend_step(run, round == 0 || run->member_count != members);
        if (!round_find(run)) {
            return false;
        }
        watches_look(run);
    }
    return false;
}

/* --- States ---------------------------------------------------------------------------------- */

typedef struct Looking {
    FailRun *run;
    bool room; /* for more members */
    bool changed;
    bool oscillates;
    StatesCycle cycle;
} Looking;

static void diode_flip(Looking *looking, uint32_t index) {
    FailRun *run = looking->run;
    run->point->state.diode_on[index] = !run->point->state.diode_on[index];
    looking->changed = true;
    looking->room &= chain_change(run, run->collapse.chain_of[NETWORK_DIODE][index]);
}

static void alternator_flip(Looking *looking, uint32_t index, NetworkAlternatorMode mode) {
    FailRun *run = looking->run;
    run->point->state.alternator_mode[index] = mode;
    looking->changed = true;
    looking->room &= chain_change(run, run->collapse.chain_of[NETWORK_ALTERNATOR][index]);
}

/* The current in the element's chain, brought up to date. */
static void element_refresh(FailRun *run, NetworkKind kind, uint32_t index) {
    uint32_t c = run->collapse.chain_of[kind][index];
    if (!chain_is_split(run, c)) {
        point_chain_law(run->point, &run->point->chains[c]);
    }
}

typedef void ElementLook(Looking *looking, NetworkKind kind, uint32_t index);

/* Every element that may want to change: those of watches passed, and those in members. */
static void elements_look(Looking *looking, ElementLook *look) {
    FailRun *run = looking->run;
    const FailWatches *watches = &run->base->watches;
    uint32_t members =
        run->member_count; /* those that come while looking are looked at next time */
    for (uint32_t i = 0; i < run->candidate_count; i++) {
        uint32_t watch = run->candidates[i];
        if (run->member_of[watches->chain[watch]] == 0) {
            look(looking, (NetworkKind)watches->kind[watch], watches->index[watch]);
        }
    }
    for (uint32_t m = 0; m < members; m++) {
        uint32_t c = run->members[m].chain;
        if (c == NETWORK_NONE || chain_is_split(run, c)) {
            continue;
        }
        for (uint32_t k = run->collapse.chain_first[c]; k < run->collapse.chain_end[c]; k++) {
            NetworkKind kind = collapse_link_kind(run->collapse.links[k]);
            if (kind != NETWORK_RESISTOR) {
                look(looking, kind, collapse_link_index(run->collapse.links[k]));
            }
        }
    }
}

static void look_memoryless(Looking *looking, NetworkKind kind, uint32_t index) {
    FailRun *run = looking->run;
    if (kind == NETWORK_DIODE) {
        element_refresh(run, kind, index);
        if (states_diode_wrong(run->point, index)) {
            diode_flip(looking, index);
        }
    } else if (kind == NETWORK_ALTERNATOR) {
        element_refresh(run, kind, index);
        NetworkAlternatorMode mode = states_alternator_wants(run->point, index);
        if (mode != run->point->state.alternator_mode[index]) {
            alternator_flip(looking, index, mode);
        }
    }
}

static void look_diode_rests(Looking *looking, NetworkKind kind, uint32_t index) {
    if (kind == NETWORK_DIODE) {
        element_refresh(looking->run, kind, index);
        if (states_diode_rests(looking->run->point, index)) {
            diode_flip(looking, index);
        }
    }
}

static void look_cut_out(Looking *looking, NetworkKind kind, uint32_t index) {
    if (kind == NETWORK_LOAD) {
        element_refresh(looking->run, kind, index);
        states_load_offer(looking->run->point, index, true);
    }
}

static void look_coil(Looking *looking, NetworkKind kind, uint32_t index) {
    if (kind == NETWORK_COIL) {
        element_refresh(looking->run, kind, index);
        states_coil_offer(looking->run->point, index);
    }
}

static void look_come_back(Looking *looking, NetworkKind kind, uint32_t index) {
    if (kind == NETWORK_LOAD) {
        element_refresh(looking->run, kind, index);
        states_load_offer(looking->run->point, index, false);
    }
}

static void offer_apply(Looking *looking, NetworkKind kind, uint32_t index) {
    FailRun *run = looking->run;
    NetworkState *state = &run->point->state;
    if (kind == NETWORK_LOAD) {
        state->load_on[index] = !state->load_on[index];
        looking->room &= chain_change(run, run->collapse.chain_of[NETWORK_LOAD][index]);
        return;
    }
    bool energised = !state->coil_energised[index];
    state->coil_energised[index] = energised;
    /* Its own chain too: its margins were those of the other state. */
    looking->room &= chain_change(run, run->collapse.chain_of[NETWORK_COIL][index]);
    for (uint32_t i = 0; i < run->network.contact_count; i++) {
        const NetworkContact *contact = &run->network.contacts[i];
        if (contact->coil == index) {
            state->contact_closed[i] = energised == contact->closed_when_energised;
            looking->room &= chain_change(run, run->collapse.chain_of[NETWORK_CONTACT][i]);
        }
    }
}

/* Lets what is fastest change; sorted by element so that ties are settled as everywhere. */
static void offers_take(Looking *looking) {
    FailRun *run = looking->run;
    Point *point = run->point;
    NetworkKind kind = NETWORK_LOAD;
    point->offer_count = 0;
    elements_look(looking, look_cut_out);
    if (point->offer_count == 0) {
        kind = NETWORK_COIL;
        elements_look(looking, look_coil);
    }
    if (point->offer_count == 0) {
        kind = NETWORK_LOAD;
        elements_look(looking, look_come_back);
    }
    for (uint32_t i = 1; i < point->offer_count; i++) { /* few, and nearly in order */
        StatesOffer offer = point->offers[i];
        uint32_t k = i;
        for (; k > 0 && point->offers[k - 1].index > offer.index; k--) {
            point->offers[k] = point->offers[k - 1];
        }
        point->offers[k] = offer;
    }
    states_offers_choose(point);
    if (point->offer_count > 0 && states_cycle(&looking->cycle, point, kind)) {
        looking->oscillates = true;
        run->offender_kind = kind;
        run->offender = point->offers[0].index;
        return;
    }
    for (uint32_t i = 0; i < point->offer_count; i++) {
        offer_apply(looking, kind, point->offers[i].index);
        looking->changed = true;
    }
}

/* Settles laws, voltages and states. False when the full way has to. */
static bool settle(FailRun *run, SolveStatus *status) {
    Looking looking = {.run = run, .room = true};
    bool rested = false;
    for (uint32_t changes = 0; changes < FAST_STATE_CHANGES; changes++) {
        if (!looking.room || !limits_release(run) || !join(run) || member_floats(run) ||
            !point_find(run)) {
            return false;
        }
        looking.changed = false;
        elements_look(&looking, look_memoryless);
        if (!looking.changed && !rested) {
            elements_look(&looking, look_diode_rests);
            rested = true;
        }
        if (!looking.changed) {
            offers_take(&looking);
            rested = rested && !looking.changed;
        }
        if (looking.oscillates) {
            *status = SOLVE_OSCILLATES;
            return true;
        }
        if (!looking.changed) {
            return true;
        }
        run->state_changed = true;
        run->counts.state_changes++;
    }
    return false;
}

static void look_load(Looking *looking, NetworkKind kind, uint32_t index) {
    if (kind == NETWORK_LOAD) {
        looking->run->loads[looking->run->load_count++] = index;
    }
}

/* --- Exported -------------------------------------------------------------------------------- */

void fail_fast_new(Arena *arena, FailRun *run) {
    const FailBase *base = run->base;
    const Collapse *from = base->point->collapse;
    const Network *network = &base->network;
    uint32_t chains = from->chain_count + FAIL_EXTRA_CHAINS;
    size_t nodes = (size_t)from->kept_count + 1 + FAIL_EXTRA_NODES;
    run->base_chains = from->chain_count;
    run->network = fail_network_copy(arena, network, 0);
    run->collapse = *from;
    run->collapse.chain_first = ARENA_ARRAY(arena, uint32_t, chains);
    run->collapse.chain_end = ARENA_ARRAY(arena, uint32_t, chains);
    for (uint32_t c = 0; c < from->chain_count; c++) {
        run->collapse.chain_first[c] = from->chain_first[c];
        run->collapse.chain_end[c] = from->chain_end[c];
    }
    for (NetworkKind kind = NETWORK_CONTACT; kind < NETWORK_KIND_COUNT; kind++) {
        uint32_t count = network_kind_count(network, kind);
        run->collapse.chain_of[kind] = ARENA_ARRAY(arena, uint32_t, count);
        for (uint32_t i = 0; i < count; i++) {
            run->collapse.chain_of[kind][i] = from->chain_of[kind][i];
        }
    }
    run->resistor_chain = ARENA_ARRAY(arena, uint32_t, network->resistor_count);
    for (uint32_t i = 0; i < network->resistor_count; i++) {
        run->resistor_chain[i] = base->resistor_chain[i];
    }
    run->base_split = ARENA_ARRAY(arena, bool, from->chain_count);
    run->member_of = ARENA_ARRAY(arena, uint32_t, chains);
    run->group_member = ARENA_ARRAY(arena, uint32_t, base->watches.group_count);
    run->group_touched = ARENA_ARRAY(arena, bool, base->watches.group_count);
    for (uint32_t i = 0; i < FAIL_MEMBERS; i++) {
        run->members[i].rows = ARENA_ARRAY(arena, uint32_t, 2 * (size_t)base->height);
        run->members[i].values = ARENA_ARRAY(arena, double, 2 * (size_t)base->height);
    }
    run->path_ohm = ARENA_ARRAY(arena, double, (size_t)FAIL_MEMBERS *FAIL_MEMBERS);
    run->dense = ARENA_ARRAY(arena, double, (size_t)FAIL_UNKNOWNS *FAIL_UNKNOWNS);
    run->right = ARENA_ARRAY(arena, double, FAIL_UNKNOWNS);
    run->work = ARENA_ARRAY(arena, double, nodes);
    run->change_v = ARENA_ARRAY(arena, double, nodes);
    run->next_v = ARENA_ARRAY(arena, double, nodes);
    run->bend_a = ARENA_ARRAY(arena, double, nodes);
    run->next_a = ARENA_ARRAY(arena, double, nodes);
    run->last_a = ARENA_ARRAY(arena, double, nodes);
    run->last_next_a = ARENA_ARRAY(arena, double, nodes);
    run->candidates = ARENA_ARRAY(arena, uint32_t, (size_t)base->watches.count + 1);
    run->loads = ARENA_ARRAY(arena, uint32_t, 2 * (size_t)network->load_count + 1);
    run->before = network_state_copy(arena, network, &base->result.state);

    Point *point = ARENA_NEW(arena, Point);
    *point = *base->point;
    point->network = &run->network;
    point->collapse = &run->collapse;
    point->chains = ARENA_ARRAY(arena, Chain, chains);
    memcpy(point->chains, base->point->chains, from->chain_count * sizeof *point->chains);
    point->state = network_state_copy(arena, network, &base->point->state);
    point->v = ARENA_ARRAY(arena, double, nodes);
    point->v_low = ARENA_ARRAY(arena, double, nodes);
    point->root = ARENA_ARRAY(arena, uint32_t, nodes);
    point->part_source = ARENA_ARRAY(arena, uint32_t, nodes);
    point->fixed = ARENA_ARRAY(arena, bool, nodes);
    point->dead = ARENA_ARRAY(arena, bool, nodes);
    uint32_t larger =
        network->load_count > network->coil_count ? network->load_count : network->coil_count;
    point->offers = ARENA_ARRAY(arena, StatesOffer, 2 * (size_t)larger + 1);
    point->shares = ARENA_ARRAY(arena, double, 2 * (size_t)larger + 1);
    point->potential_v = ARENA_ARRAY(arena, double, (size_t)from->link_longest + 1);
    point->side = ARENA_ARRAY(arena, ChainSide, (size_t)from->link_longest + 1);
    run->point = point;
    joined_restore(run);
    fail_fast_reset(run);
}

static void split_restore(FailRun *run, uint32_t c) {
    for (uint32_t k = run->collapse.chain_first[c]; k < run->collapse.chain_end[c]; k++) {
        NetworkKind kind = collapse_link_kind(run->collapse.links[k]);
        uint32_t index = collapse_link_index(run->collapse.links[k]);
        if (kind == NETWORK_RESISTOR) {
            run->resistor_chain[index] = c;
        } else {
            run->collapse.chain_of[kind][index] = c;
        }
    }
    run->base_split[c] = false;
}

void fail_fast_reset(FailRun *run) {
    Point *point = run->point;
    for (uint32_t i = 0; i < run->member_count; i++) {
        uint32_t c = run->members[i].chain;
        if (run->members[i].group != NETWORK_NONE) {
            run->group_member[run->members[i].group] = 0;
        }
        if (c == NETWORK_NONE) {
            continue;
        }
        run->member_of[c] = 0;
        if (c < run->base_chains) {
            uint32_t group = run->base->watches.chain_group[c];
            if (group != NETWORK_NONE) {
                run->group_touched[group] = false;
            }
            point->chains[c] = base_point(run)->chains[c];
            if (run->base_split[c]) {
                split_restore(run, c);
            }
        }
    }
    run->member_count = 0;
    run->extra_chains = 0;
    run->collapse.chain_count = run->base_chains;
    point->extra_count = 0;
    point->ceiling_v = base_point(run)->ceiling_v;
    for (size_t i = 0; i < run->edit_count; i++) {
        fail_unedit_network(&run->network, &run->base->network, &run->edits[i]);
    }
    if (run->state_changed) {
        network_state_set(&point->state, &run->network, &base_point(run)->state);
        run->state_changed = false;
    }
    if (run->joined) {
        joined_restore(run);
    }
    size_t nodes = (size_t)reference(run) + 1;
    memset(run->change_v, 0, nodes * sizeof *run->change_v);
    memcpy(point->v, base_point(run)->v, nodes * sizeof *point->v);
    memcpy(point->v_low, base_point(run)->v_low, nodes * sizeof *point->v_low);
    run->bend_known = false;
    run->candidate_count = 0;
    run->load_count = 0;
}

bool fail_fast_apply(FailRun *run, const FailEdit *edits, uint32_t count, SolveStatus *status) {
    *status = SOLVE_OK;
    if (count > FAST_EDITS) {
        return false;
    }
    uint32_t bridge = (uint32_t)run->bridge_count;
    for (uint32_t i = 0; i < count; i++) {
        bridge -= edits[i].kind == FAIL_BRIDGE ? 1U : 0U;
    }
    for (uint32_t i = 0; i < count; i++) {
        if (!edit_apply(run, &edits[i], &bridge)) {
            return false;
        }
    }
    if (!settle(run, status)) {
        return false;
    }
    run->load_count = 0;
    Looking looking = {.run = run};
    elements_look(&looking, look_load);
    return true;
}

double fail_fast_node_v(FailRun *run, uint32_t node, SolveNodeState *state) {
    const FailBase *base = run->base;
    Point *point = run->point;
    *state = SOLVE_NODE_DEAD;
    uint32_t kept = base->node_kept[node];
    if (kept == NETWORK_NONE && base->node_chain[node] == NETWORK_NONE) {
        return 0;
    }
    if (kept == NETWORK_NONE) {
        kept = extra_before(run, base->node_link[node]);
    }
    uint32_t ground = point->root[reference(run)];
    if (kept != NETWORK_NONE) {
        if (!point->dead[kept]) {
            bool live = kept > reference(run) || point->root[kept] == ground;
            *state = live ? SOLVE_NODE_LIVE : SOLVE_NODE_FLOATING;
        }
        return point_kept_v(point, kept);
    }
    uint32_t link = base->node_link[node];
    uint32_t c = piece_of(run, link);
    Chain *chain = &point->chains[c];
    point_chain_law(point, chain);
    point_chain_expand(point, c);
    uint32_t k = link - run->collapse.chain_first[c];
    ChainSide side = point->side[k];
    uint32_t end = side == CHAIN_SIDE_A ? chain->a : chain->b;
    if (side == CHAIN_SIDE_BETWEEN) {
        *state = SOLVE_NODE_FLOATING;
    } else if (side != CHAIN_SIDE_DEAD && !point->dead[end]) {
        bool live = end > reference(run) || point->root[end] == ground;
        *state = live ? SOLVE_NODE_LIVE : SOLVE_NODE_FLOATING;
    }
    return point->potential_v[k];
}

double fail_fast_element_a(FailRun *run, NetworkKind kind, uint32_t index) {
    if (kind != NETWORK_RESISTOR) {
        element_refresh(run, kind, index);
        double current_a = point_element_a(run->point, kind, index);
        return kind == NETWORK_BATTERY || kind == NETWORK_ALTERNATOR ? 0.0 - current_a : current_a;
    }
    uint32_t c = run->resistor_chain[index];
    Chain *chain = &run->point->chains[c];
    point_chain_law(run->point, chain);
    for (uint32_t k = run->collapse.chain_first[c];; k++) {
        CollapseLink link = run->collapse.links[k];
        if (link >> 1 == collapse_link(NETWORK_RESISTOR, index, false) >> 1) {
            return collapse_link_sign(link) * chain->current_a + 0.0;
        }
    }
}

double fail_fast_load_v(FailRun *run, uint32_t load) {
    bool seen;
    element_refresh(run, NETWORK_LOAD, load);
    double v = point_element_v(run->point, NETWORK_LOAD, load, &seen);
    return seen ? v : 0;
}

bool fail_fast_load_works(FailRun *run, uint32_t load) {
    double v = fail_fast_load_v(run, load);
    const NetworkLoad *row = &run->network.loads[load];
    return run->point->state.load_on[load] && v > NETWORK_LOAD_NOTHING * row->nominal_v &&
           v >= row->minimum_v - 1e-9;
}

double fail_fast_bridge_a(FailRun *run, uint32_t bridge) {
    uint32_t c = run->bridge_chain[bridge];
    if (c == NETWORK_NONE) {
        return 0;
    }
    point_chain_law(run->point, &run->point->chains[c]);
    return run->point->chains[c].current_a;
}
