/* Work list: the operations that build each harness on the bench, with standard minutes and what
 * each waits for. Goes in: harnesses, their end preparation, the shop's labour rows. Comes out: a
 * line for each operation and module, leaf or arm, in an order in which it can be done, and the
 * longest chain of lines that wait for each other (critical path; forward and backward pass). A
 * pass beside the live chain. docs/theory/workbench.md. */
#ifndef SHOP_WORK_H
#define SHOP_WORK_H

#include "shop/prep.h"

typedef enum WorkScope { WORK_MODULE, WORK_LEAF, WORK_ARM } WorkScope;

typedef struct WorkItem {
    uint32_t harness;
    uint32_t labour; /* row of labour */
    WorkScope scope;
    uint32_t object; /* leaf or arm of the harness set; ID_NONE: the module */
    double quantity; /* above 0 */
    double minutes;
    uint32_t step;        /* from 1 in its module */
    uint32_t after_first; /* into WorkList.after: items that must be done before */
    uint32_t after_count;
    double early_min; /* it can begin so long after the start, hands enough */
    double float_min; /* it may begin that much later without making the module later */
} WorkItem;

/* One module. */
typedef struct WorkModule {
    uint32_t item_first; /* its items are together, by step */
    uint32_t item_count;
    double minutes;
    double inspector_min; /* of them; the rest are builders' */
    double longest_min;
    uint32_t *chain; /* items of the longest chain, in order */
    uint32_t chain_count;
} WorkModule;

typedef struct WorkList {
    const PrepSet *prep;
    WorkModule *modules; /* by ModuleId */
    WorkItem *items;     /* by module, step */
    uint32_t item_count;
    uint32_t *after; /* item indices */
} WorkList;

/* Linear in leaves, arms and what waits for what, but for the order of steps (n log n). An
 * operation waits for those of its `after` that are about the same leaf or arm; for all of the
 * module where the two are about different things. Where one of them has nothing to do there, what
 * that one waits for counts instead. Findings: work.*; with a circle among operations there are no
 * items. */
bool work_build(Arena *out, const PrepSet *prep, WorkList *list, Findings *findings);

/* Fills the result tables work and work_total. */
void work_rows(Arena *arena, const WorkList *list, TableSet *out);

#endif
