#include "shop/isolation.h"

#include <math.h>
#include <string.h>

#include "base/check.h"

uint32_t isolation_digits(uint32_t count) {
    uint32_t digits = 0;
    while (digits < 32 && ((uint64_t)1 << digits) < count) {
        digits++;
    }
    return digits;
}

/* --- blocks -------------------------------------------------------------------------------------
 */

/* Where blocks begin: as many nets in order as half of the tester holds; all of them in one block
 * when the whole tester holds them. */
typedef struct Blocks {
    uint32_t *first; /* by block, and one more */
    uint32_t *leads; /* by block */
    uint32_t count;
} Blocks;

static uint32_t leads_of(const IsolationInput *input, uint32_t first, uint32_t end) {
    uint32_t leads = 0;
    for (uint32_t i = first; i < end; i++) {
        leads += i == first || input->lead[i] != input->lead[i - 1];
    }
    return leads;
}

static void cut_blocks(Arena *out, const IsolationInput *input, uint32_t points, uint32_t leads,
                       Blocks *blocks) {
    uint32_t nets = input->net_count;
    bool whole = nets <= points && leads_of(input, 0, nets) <= leads;
    uint32_t most = whole ? nets : points / 2;
    uint32_t most_leads = whole ? nets : leads / 2;
    blocks->first = ARENA_ARRAY(out, uint32_t, (size_t)nets + 1);
    blocks->leads = ARENA_ARRAY(out, uint32_t, (size_t)nets + 1);
    blocks->count = 0;
    for (uint32_t i = 0; i < nets; blocks->count++) {
        uint32_t begin = i;
        uint32_t used = 0;
        for (; i < nets && i - begin < most; i++) {
            bool fresh = i == begin || input->lead[i] != input->lead[i - 1];
            if (used + fresh > most_leads) {
                break;
            }
            used += fresh;
        }
        blocks->first[blocks->count] = begin;
        blocks->leads[blocks->count] = used;
    }
    blocks->first[blocks->count] = nets;
}

/* Pairs of blocks, each sharing one block with the pair before: row by row, forth and back. */
static bool next_pair(uint32_t count, uint32_t *i, uint32_t *j) {
    bool forth = *i % 2 == 0;
    if (forth && *j + 1 < count) {
        *j += 1;
    } else if (forth) {
        *i += 1; /* the last row has no pair of its own */
        *j = count - 1;
    } else if (*j > *i + 1) {
        *j -= 1;
    } else {
        *i += 1;
        *j = *i + 1;
    }
    return *i < *j && *j < count;
}

/* --- codes --------------------------------------------------------------------------------------
 */

/* Colours nets [first, first + count) with 2^digits colours, no more than `room` of one colour,
 * neighbours differently; those with most neighbours first. False when it does not come out. */
static bool colour(const IsolationInput *input, uint32_t first, uint32_t count,
                   const uint32_t *order, uint32_t digits, uint32_t room, uint32_t *colours,
                   uint32_t *used, uint32_t *stamp) {
    uint32_t colour_count = (uint32_t)1 << digits;
    memset(used, 0, colour_count * sizeof *used);
    memset(stamp, 0, colour_count * sizeof *stamp);
    for (uint32_t i = 0; i < count; i++) {
        colours[i] = UINT32_MAX;
    }
    for (uint32_t k = 0; k < count; k++) {
        uint32_t net = first + order[k];
        for (uint32_t e = input->near_first[net]; e < input->near_first[net + 1]; e++) {
            uint32_t other = input->near[e];
            if (other >= first && other < first + count && colours[other - first] != UINT32_MAX) {
                stamp[colours[other - first]] = k + 1;
            }
        }
        uint32_t best = UINT32_MAX;
        for (uint32_t c = 0; c < colour_count; c++) {
            if (stamp[c] != k + 1 && used[c] < room &&
                (best == UINT32_MAX || used[c] < used[best])) {
                best = c;
            }
        }
        if (best == UINT32_MAX) {
            return false;
        }
        colours[order[k]] = best;
        used[best]++;
    }
    return true;
}

/* Nets by falling number of neighbours, ties in order (counting sort). */
static void order_by_neighbours(Arena *scratch, const IsolationInput *input, uint32_t first,
                                uint32_t count, uint32_t *order) {
    uint32_t most = 0;
    for (uint32_t i = first; i < first + count; i++) {
        uint32_t degree = input->near_first[i + 1] - input->near_first[i];
        most = degree > most ? degree : most;
    }
    uint32_t *at = ARENA_ARRAY(scratch, uint32_t, (size_t)most + 2);
    for (uint32_t i = first; i < first + count; i++) {
        at[most - (input->near_first[i + 1] - input->near_first[i]) + 1]++;
    }
    for (uint32_t i = 0; i <= most; i++) {
        at[i + 1] += at[i];
    }
    for (uint32_t i = 0; i < count; i++) {
        uint32_t degree = input->near_first[first + i + 1] - input->near_first[first + i];
        order[at[most - degree]++] = i;
    }
}

/* A number for each of `count` nets, all different, in as few digits as that takes; the first
 * digits (returned) differ between neighbours. codes[]: first digit in bit 0. With colours as many
 * as nets it always comes out. */
static uint32_t make_codes(const IsolationInput *input, uint32_t first, uint32_t count,
                           uint32_t *codes) {
    Arena scratch = {0};
    uint32_t digits = isolation_digits(count);
    uint32_t *order = ARENA_ARRAY(&scratch, uint32_t, count);
    uint32_t *colours = ARENA_ARRAY(&scratch, uint32_t, count);
    uint32_t *used = ARENA_ARRAY(&scratch, uint32_t, (size_t)1 << digits);
    uint32_t *stamp = ARENA_ARRAY(&scratch, uint32_t, (size_t)1 << digits);
    order_by_neighbours(&scratch, input, first, count, order);
    /* A search for a colour looks at all of them: many colours only for few nets. */
    const uint32_t DIGITS_SEARCHED = 8;
    uint32_t head = 1;
    while (head < digits && head <= DIGITS_SEARCHED &&
           !colour(input, first, count, order, head, (uint32_t)1 << (digits - head), colours, used,
                   stamp)) {
        head++;
    }
    if (head >= digits || head > DIGITS_SEARCHED) {
        head = digits;
        for (uint32_t i = 0; i < count; i++) {
            codes[i] = i;
        }
    } else {
        memset(used, 0, ((size_t)1 << head) * sizeof *used);
        for (uint32_t i = 0; i < count; i++) {
            codes[i] = colours[i] | used[colours[i]]++ << head;
        }
    }
    arena_free(&scratch);
    return head;
}

/* --- plans --------------------------------------------------------------------------------------
 */

typedef struct Planner {
    Arena *out;
    const IsolationInput *input;
    IsolationPlan *plan;
    size_t session_capacity;
    size_t session_count;
    size_t member_capacity;
    size_t member_count;
    bool *coded; /* by block: its own nets have been parted */
} Planner;

static void add_members(Planner *planner, uint32_t first, uint32_t end, const uint32_t *codes,
                        uint32_t digits, uint32_t shift, uint64_t all_a, uint64_t all_b) {
    for (uint32_t i = first; i < end; i++) {
        IsolationMember *member = ARENA_PUSH(planner->out, planner->plan->members,
                                             planner->member_count, planner->member_capacity);
        *member = (IsolationMember){.net = i, .side_a = all_a, .side_b = all_b};
        for (uint32_t k = 0; codes != NULL && k < digits; k++) {
            bool one = codes[i - first] >> k & 1;
            *(one ? &member->side_b : &member->side_a) |= (uint64_t)1 << (k + shift);
        }
    }
}

static IsolationSession *open_session(Planner *planner) {
    IsolationSession *session = ARENA_PUSH(planner->out, planner->plan->sessions,
                                           planner->session_count, planner->session_capacity);
    *session = (IsolationSession){.first = (uint32_t)planner->member_count};
    return session;
}

static void close_session(Planner *planner, IsolationSession *session, uint32_t readings) {
    session->count = (uint32_t)planner->member_count - session->first;
    session->readings = readings;
    planner->plan->readings += readings;
}

/* Nets [first, end) all against all. */
static void plan_together(Planner *planner, uint32_t first, uint32_t end) {
    uint32_t digits = isolation_digits(end - first);
    if (digits == 0) {
        return;
    }
    Arena scratch = {0};
    uint32_t *codes = ARENA_ARRAY(&scratch, uint32_t, end - first);
    make_codes(planner->input, first, end - first, codes);
    IsolationSession *session = open_session(planner);
    add_members(planner, first, end, codes, digits, 0, 0, 0);
    close_session(planner, session, digits);
    arena_free(&scratch);
}

/* Block i against block j; those of them that are new also within themselves, both at a time. */
static void plan_pair(Planner *planner, const Blocks *blocks, uint32_t i, uint32_t j) {
    uint32_t blocks_two[2] = {i, j};
    IsolationSession *session = open_session(planner);
    uint32_t readings = 1;
    for (int side = 0; side < 2; side++) {
        uint32_t block = blocks_two[side];
        uint32_t first = blocks->first[block];
        uint32_t end = blocks->first[block + 1];
        Arena scratch = {0};
        uint32_t *codes = NULL;
        uint32_t digits = planner->coded[block] ? 0 : isolation_digits(end - first);
        if (digits > 0) {
            codes = ARENA_ARRAY(&scratch, uint32_t, end - first);
            make_codes(planner->input, first, end - first, codes);
        }
        planner->coded[block] = true;
        add_members(planner, first, end, codes, digits, 1, side == 0, side == 1);
        readings = 1 + digits > readings ? 1 + digits : readings;
        arena_free(&scratch);
    }
    close_session(planner, session, readings);
}

/* Readings, in their order, until every pair of neighbours has been on opposite sides. */
static uint32_t readings_for_neighbours(const IsolationInput *input, const IsolationPlan *plan) {
    Arena scratch = {0};
    uint32_t *place = ARENA_ARRAY(&scratch, uint32_t, input->net_count); /* member + 1 */
    bool *parted = ARENA_ARRAY(&scratch, bool, input->near_first[input->net_count]);
    uint32_t before = 0;
    uint32_t last = 0;
    for (uint32_t s = 0; s < plan->session_count; s++) {
        const IsolationSession *session = &plan->sessions[s];
        for (uint32_t m = session->first; m < session->first + session->count; m++) {
            place[plan->members[m].net] = m + 1;
        }
        for (uint32_t m = session->first; m < session->first + session->count; m++) {
            const IsolationMember *member = &plan->members[m];
            for (uint32_t e = input->near_first[member->net];
                 e < input->near_first[member->net + 1]; e++) {
                uint32_t other = place[input->near[e]];
                if (parted[e] || other <= session->first) {
                    continue;
                }
                const IsolationMember *beside = &plan->members[other - 1];
                uint64_t apart =
                    (member->side_a & beside->side_b) | (member->side_b & beside->side_a);
                for (uint32_t k = 0; k < session->readings && apart != 0; k++) {
                    if (apart >> k & 1) {
                        parted[e] = true;
                        last = before + k + 1 > last ? before + k + 1 : last;
                        break;
                    }
                }
            }
        }
        before += session->readings;
    }
    arena_free(&scratch);
    return last;
}

bool isolation_plan(Arena *out, const IsolationInput *input, uint32_t points, uint32_t leads,
                    uint32_t most, IsolationPlan *plan) {
    CHECK(points >= 2 && leads >= 2);
    *plan = (IsolationPlan){0};
    Arena scratch = {0};
    Blocks blocks;
    cut_blocks(&scratch, input, points, leads, &blocks);
    bool listed =
        blocks.count < 2 || (uint64_t)blocks.count * (blocks.count - 1) / 2 <= (uint64_t)most;
    Planner planner = {.out = out, .input = input, .plan = plan};
    planner.coded = ARENA_ARRAY(&scratch, bool, (size_t)blocks.count + 1);
    if (listed && blocks.count == 1) {
        plan_together(&planner, 0, input->net_count);
    } else if (listed && blocks.count > 1) {
        uint32_t i = 0;
        uint32_t j = 1;
        do {
            plan_pair(&planner, &blocks, i, j);
        } while (next_pair(blocks.count, &i, &j));
    }
    plan->session_count = (uint32_t)planner.session_count;
    plan->member_count = (uint32_t)planner.member_count;
    plan->adjacent_after = listed ? readings_for_neighbours(input, plan) : 0;
    arena_free(&scratch);
    return listed;
}

/* --- counts -------------------------------------------------------------------------------------
 */

IsolationCount isolation_count(const IsolationInput *input, uint32_t points, uint32_t leads) {
    CHECK(points >= 2 && leads >= 2);
    Arena scratch = {0};
    Blocks blocks;
    cut_blocks(&scratch, input, points, leads, &blocks);
    IsolationCount count = {0};
    double nets = input->net_count;
    double pairs = nets * (nets - 1.0) / 2.0;
    uint32_t half = points / 2;
    double sides = (double)half * (double)(points - half);
    double by_pairs = ceil(pairs / sides);
    double by_digits = isolation_digits(input->net_count);
    count.least = by_pairs > by_digits ? by_pairs : by_digits;
    if (blocks.count == 1) {
        count.readings = by_digits;
        count.sessions = by_digits > 0.0;
        count.replugs = by_digits > 0.0 ? blocks.leads[0] : 0.0;
    }
    double b = blocks.count;
    if (blocks.count > 1) {
        count.sessions = b * (b - 1.0) / 2.0;
        count.readings = count.sessions;
        double leads_sum = 0.0;
        double fewest = ISOLATION_READINGS_MAX;
        for (uint32_t i = 0; i < blocks.count; i++) {
            double digits = isolation_digits(blocks.first[i + 1] - blocks.first[i]);
            /* The first session parts two new blocks at a time. */
            fewest = i < 2 && digits < fewest ? digits : fewest;
            count.readings += digits;
            leads_sum += blocks.leads[i];
        }
        count.readings -= fewest;
        /* Each session after the first plugs in one block. Which one how often follows from the
         * way through the pairs; of very many blocks the mean is taken. */
        const uint32_t WALKED = 4096;
        if (blocks.count <= WALKED) {
            uint32_t i = 0;
            uint32_t j = 1;
            count.replugs = (double)blocks.leads[0] + blocks.leads[1];
            uint32_t held[2] = {0, 1};
            while (next_pair(blocks.count, &i, &j)) {
                bool i_new = i != held[0] && i != held[1];
                count.replugs += blocks.leads[i_new ? i : j];
                held[0] = i;
                held[1] = j;
            }
        } else {
            count.replugs = (count.sessions + 1.0) * leads_sum / b;
        }
    }
    arena_free(&scratch);
    return count;
}
