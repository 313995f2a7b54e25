/* Method: what a failure does is written as a row of numbers in which everything that makes no
 * difference is made equal: a broken element stands for all of its series chain (no current can
 * pass in any case), order and repetition go. Equal rows are one class (a hash table). A bridge on
 * a node inside a chain is what tells its elements apart: such failures touch the classes of that
 * chain. */
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "power/faults_inner.h"

typedef struct Sorted {
    Failure failure;
    const char *component;
    const char *mode;
} Sorted;

static int compare_failures(const void *left, const void *right) {
    const Sorted *a = left;
    const Sorted *b = right;
    int order = text_compare_keys(a->failure.item, b->failure.item);
    order = order == 0 ? text_compare_keys(a->mode, b->mode) : order;
    return order == 0 ? (a->failure.mode > b->failure.mode) - (a->failure.mode < b->failure.mode)
                      : order;
}

static void sort_failures(FaultsLister *lister) {
    FaultsList *list = lister->list;
    const FailureModeRow *modes = lister->in->model->set->failure_mode.rows;
    list->count = (uint32_t)lister->failure_count;
    Sorted *sorted = ARENA_ARRAY(lister->scratch, Sorted, list->count);
    for (uint32_t i = 0; i < list->count; i++) {
        Failure *failure = &list->failures[i];
        sorted[i] = (Sorted){*failure, lister->components[i], modes[failure->mode].mode};
    }
    if (list->count > 1) {
        qsort(sorted, list->count, sizeof *sorted, compare_failures);
    }
    NameMap names = {0};
    list->component = ARENA_ARRAY(lister->out, uint32_t, list->count);
    for (uint32_t i = 0; i < list->count; i++) {
        Failure *failure = &list->failures[i];
        *failure = sorted[i].failure;
        if (i > 0 && strcmp(failure->key, list->failures[i - 1].key) == 0) {
            /* A zone and a box of one name: the second is told by its kind. */
            failure->item =
                arena_format(lister->out, "%s.%s", failure->item, modes[failure->mode].kind);
            failure->key =
                arena_format(lister->out, "%s:%s", failure->item, modes[failure->mode].mode);
        }
        uint32_t known =
            name_map_add(&names, lister->scratch, sorted[i].component, list->component_count);
        failure->component = known == NAME_NONE ? list->component_count++ : known;
        list->component[i] = failure->component;
    }
}

/* --- what makes no difference -------------------------------------------------------------------
 */

typedef struct Chains {
    uint32_t count;
    uint32_t *of[NETWORK_KIND_COUNT]; /* element -> chain */
    uint32_t *of_node;                /* node inside a chain -> that chain, ID_NONE */
} Chains;

static Chains find_chains(FaultsLister *lister) {
    const Network *network = &lister->in->built->network;
    Collapse *collapse = collapse_network(lister->scratch, lister->scratch, network, false);
    Chains chains = {.count = collapse->chain_count,
                     .of_node = ARENA_ARRAY(lister->scratch, uint32_t, network->node_count)};
    memset(chains.of_node, 0xff, network->node_count * sizeof *chains.of_node);
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        chains.of[kind] = ARENA_ARRAY(lister->scratch, uint32_t, network_kind_count(network, kind));
    }
    for (uint32_t chain = 0; chain < chains.count; chain++) {
        uint32_t first = collapse->chain_first[chain];
        uint32_t end = collapse->chain_first[chain + 1];
        for (uint32_t i = first; i < end; i++) {
            NetworkKind kind = collapse_link_kind(collapse->links[i]);
            uint32_t index = collapse_link_index(collapse->links[i]);
            uint32_t ends[2];
            chains.of[kind][index] = chain;
            network_element_ends(network, kind, index, ends);
            bool reversed = collapse_link_sign(collapse->links[i]) < 0.0;
            uint32_t leaves_by = ends[reversed ? 0 : 1];
            if (i + 1 < end) {
                chains.of_node[leaves_by] = chain;
            }
        }
    }
    return chains;
}

/* One edit as numbers; a broken element as its chain. */
enum { EDIT_WORDS = 6 };

typedef struct EditWords {
    uint32_t words[EDIT_WORDS];
} EditWords;

static EditWords edit_words(const Chains *chains, const FailEdit *edit) {
    EditWords out = {{(uint32_t)edit->kind}};
    uint64_t bits;
    memcpy(&bits, &edit->value, sizeof bits);
    switch (edit->kind) {
    case FAIL_OPEN:
        out.words[1] = chains->of[edit->element][edit->index];
        return out;
    case FAIL_BRIDGE:
        out.words[1] = edit->a;
        out.words[2] = edit->b;
        break;
    case FAIL_HOLD:
    case FAIL_OHM:
    case FAIL_VOLTS:
    case FAIL_DRAW:
    default:
        out.words[1] = (uint32_t)edit->element;
        out.words[2] = edit->index;
        break;
    }
    out.words[3] = (uint32_t)bits;
    out.words[4] = (uint32_t)(bits >> 32);
    out.words[5] = edit->closed ? 1 : 0;
    return out;
}

static int compare_words(const void *left, const void *right) {
    const EditWords *a = left;
    const EditWords *b = right;
    for (int i = 0; i < EDIT_WORDS; i++) {
        if (a->words[i] != b->words[i]) {
            return a->words[i] < b->words[i] ? -1 : 1;
        }
    }
    return 0;
}

static int compare_ids(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left;
    uint32_t b = *(const uint32_t *)right;
    return (a > b) - (a < b);
}

/* A failure as numbers. */
typedef struct Signature {
    uint32_t *words;
    size_t count;
    size_t capacity;
    EditWords *edits;
    size_t edit_capacity;
} Signature;

static void sign(FaultsLister *lister, Signature *signature, uint32_t word) {
    *ARENA_PUSH(lister->scratch, signature->words, signature->count, signature->capacity) = word;
}

static void sign_ids(FaultsLister *lister, Signature *signature, const uint32_t *ids,
                     uint32_t first_id, uint32_t count) {
    size_t head = signature->count;
    sign(lister, signature, 0);
    size_t first = signature->count;
    for (uint32_t i = 0; i < count; i++) {
        sign(lister, signature, ids[first_id + i]);
    }
    if (count > 1) {
        qsort(&signature->words[first], count, sizeof *ids, compare_ids);
        size_t kept = first + 1;
        for (size_t i = first + 1; i < signature->count; i++) {
            if (signature->words[i] != signature->words[kept - 1]) {
                signature->words[kept++] = signature->words[i];
            }
        }
        signature->count = kept;
    }
    signature->words[head] = (uint32_t)(signature->count - first);
}

static void sign_failure(FaultsLister *lister, const Chains *chains, const Failure *failure,
                         Signature *signature) {
    const FaultsList *list = lister->list;
    signature->count = 0;
    size_t edits = 0;
    for (uint32_t i = 0; i < failure->edit_count; i++) {
        *ARENA_PUSH(lister->scratch, signature->edits, edits, signature->edit_capacity) =
            edit_words(chains, &list->edits[failure->edit_first + i]);
    }
    if (edits > 1) {
        qsort(signature->edits, edits, sizeof *signature->edits, compare_words);
    }
    for (size_t i = 0; i < edits; i++) {
        if (i > 0 && compare_words(&signature->edits[i], &signature->edits[i - 1]) == 0) {
            continue;
        }
        for (int k = 0; k < EDIT_WORDS; k++) {
            sign(lister, signature, signature->edits[i].words[k]);
        }
    }
    sign(lister, signature, UINT32_MAX);
    sign_ids(lister, signature, list->welded, failure->welded_first, failure->welded_count);
    sign_ids(lister, signature, list->conductors, failure->conductor_first,
             failure->conductor_count);
    sign_ids(lister, signature, list->owners, failure->owner_first, failure->owner_count);
    sign_ids(lister, signature, list->nets, failure->net_first, failure->net_count);
    sign_ids(lister, signature, list->ports, failure->port_first, failure->port_count);
}

/* --- classes ------------------------------------------------------------------------------------
 */

typedef struct ClassTable {
    uint32_t *slots; /* class + 1; 0: free */
    uint32_t mask;
    uint32_t *hash;       /* by class */
    uint32_t *word_first; /* by class, into words */
    uint32_t *word_count;
    uint32_t *words;
    size_t word_total;
    size_t word_capacity;
} ClassTable;

static uint32_t hash_words(const uint32_t *words, size_t count) {
    uint64_t hash = 0xcbf29ce484222325u;
    for (size_t i = 0; i < count; i++) {
        hash = (hash ^ words[i]) * 0x100000001b3u;
        hash ^= hash >> 29;
    }
    return (uint32_t)(hash ^ hash >> 32);
}

static uint32_t class_of(FaultsLister *lister, ClassTable *table, const Signature *signature) {
    FaultsList *list = lister->list;
    uint32_t hash = hash_words(signature->words, signature->count);
    uint32_t slot = hash & table->mask;
    for (; table->slots[slot] != 0; slot = (slot + 1) & table->mask) {
        uint32_t known = table->slots[slot] - 1;
        if (table->words != NULL && table->hash[known] == hash &&
            table->word_count[known] == signature->count &&
            memcmp(&table->words[table->word_first[known]], signature->words,
                   signature->count * sizeof *signature->words) == 0) {
            return known;
        }
    }
    uint32_t added = list->class_count++;
    table->slots[slot] = added + 1;
    table->hash[added] = hash;
    table->word_first[added] = (uint32_t)table->word_total;
    table->word_count[added] = (uint32_t)signature->count;
    for (size_t i = 0; i < signature->count; i++) {
        *ARENA_PUSH(lister->scratch, table->words, table->word_total, table->word_capacity) =
            signature->words[i];
    }
    return added;
}

static void number_classes(FaultsLister *lister, const Chains *chains) {
    FaultsList *list = lister->list;
    uint32_t slots = 16;
    while (slots < 2 * list->count) {
        slots *= 2;
    }
    ClassTable table = {
        .slots = ARENA_ARRAY(lister->scratch, uint32_t, slots),
        .mask = slots - 1,
        .hash = ARENA_ARRAY(lister->scratch, uint32_t, list->count),
        .word_first = ARENA_ARRAY(lister->scratch, uint32_t, list->count),
        .word_count = ARENA_ARRAY(lister->scratch, uint32_t, list->count),
    };
    Signature signature = {0};
    list->class_of = ARENA_ARRAY(lister->out, uint32_t, list->count);
    for (uint32_t i = 0; i < list->count; i++) {
        sign_failure(lister, chains, &list->failures[i], &signature);
        list->class_of[i] = list->failures[i].class_id = class_of(lister, &table, &signature);
    }
    list->class_first = ARENA_ARRAY(lister->out, uint32_t, (size_t)list->class_count + 2);
    list->class_members = ARENA_ARRAY(lister->out, uint32_t, list->count);
    for (uint32_t i = 0; i < list->count; i++) {
        list->class_first[list->class_of[i] + 2]++;
    }
    for (uint32_t i = 0; i < list->class_count; i++) {
        list->class_first[i + 2] += list->class_first[i + 1];
    }
    for (uint32_t i = 0; i < list->count; i++) {
        list->class_members[list->class_first[list->class_of[i] + 1]++] = i;
    }
}

/* --- touching -----------------------------------------------------------------------------------
 */

/* Classes of several members that break something of a chain, by chain. */
typedef struct Broken {
    uint32_t *first; /* by chain, and one more */
    uint32_t *classes;
} Broken;

static Broken broken_chains(FaultsLister *lister, const Chains *chains) {
    const FaultsList *list = lister->list;
    Broken broken = {.first = ARENA_ARRAY(lister->scratch, uint32_t, (size_t)chains->count + 2)};
    uint32_t *last = ARENA_ARRAY(lister->scratch, uint32_t, chains->count);
    for (int sweep = 0; sweep < 2; sweep++) {
        memset(last, 0xff, chains->count * sizeof *last);
        for (uint32_t c = 0; c < list->class_count; c++) {
            if (list->class_first[c + 1] - list->class_first[c] < 2) {
                continue;
            }
            const Failure *member = &list->failures[list->class_members[list->class_first[c]]];
            for (uint32_t i = 0; i < member->edit_count; i++) {
                const FailEdit *edit = &list->edits[member->edit_first + i];
                uint32_t chain =
                    edit->kind == FAIL_OPEN ? chains->of[edit->element][edit->index] : ID_NONE;
                if (chain == ID_NONE || last[chain] == c) {
                    continue;
                }
                last[chain] = c;
                if (sweep == 0) {
                    broken.first[chain + 2]++;
                } else {
                    broken.classes[broken.first[chain + 1]++] = c;
                }
            }
        }
        if (sweep == 0) {
            for (uint32_t i = 0; i < chains->count; i++) {
                broken.first[i + 2] += broken.first[i + 1];
            }
            broken.classes =
                ARENA_ARRAY(lister->scratch, uint32_t, broken.first[chains->count + 1]);
        }
    }
    return broken;
}

static void find_touches(FaultsLister *lister, const Chains *chains) {
    FaultsList *list = lister->list;
    Broken broken = broken_chains(lister, chains);
    uint32_t *last = ARENA_ARRAY(lister->scratch, uint32_t, list->class_count);
    memset(last, 0xff, list->class_count * sizeof *last);
    size_t count = 0;
    size_t capacity = 0;
    list->touch_first = ARENA_ARRAY(lister->out, uint32_t, (size_t)list->count + 1);
    for (uint32_t f = 0; f < list->count; f++) {
        const Failure *failure = &list->failures[f];
        size_t first = count;
        for (uint32_t i = 0; i < failure->edit_count; i++) {
            const FailEdit *edit = &list->edits[failure->edit_first + i];
            for (int end = 0; end < 2 && edit->kind == FAIL_BRIDGE; end++) {
                uint32_t chain = chains->of_node[end == 0 ? edit->a : edit->b];
                for (uint32_t k = chain == ID_NONE ? 0 : broken.first[chain];
                     chain != ID_NONE && k < broken.first[chain + 1]; k++) {
                    if (last[broken.classes[k]] != f) {
                        last[broken.classes[k]] = f;
                        *ARENA_PUSH(lister->out, list->touch, count, capacity) = broken.classes[k];
                    }
                }
            }
        }
        if (count - first > 1) {
            qsort(&list->touch[first], count - first, sizeof *list->touch, compare_ids);
        }
        list->touch_first[f + 1] = (uint32_t)count;
    }
}

void faults_classify(FaultsLister *lister) {
    sort_failures(lister);
    Chains chains = find_chains(lister);
    number_classes(lister, &chains);
    find_touches(lister, &chains);
}
