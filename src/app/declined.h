/* A job without what the customer declined (model/decline.h), in which every wire that stays keeps
 * the key that it has in the whole job: a choice renames nothing. */
#ifndef APP_DECLINED_H
#define APP_DECLINED_H

#include "app/prove.h"

/* Takes it out of the read tables proof->set, which are sorted; proof->whole has all of them. Costs
 * nothing when nothing was declined that is in the tables, else one more derivation of the wires.
 */
void declined_leave_out(Proof *proof);

#endif
