/* Ring-out and diagnosis of a proved job. Not part of the live chain: run when somebody asks. */
#ifndef APP_RING_H
#define APP_RING_H

#include "app/prove.h"
#include "shop/rig.h"

/* True for the tables that ring_rows fills. */
bool ring_table(TableId table);

/* Fills ringout, ringout_tie and ringout_count of a complete proof; nothing when they have rows
 * already. */
void ring_rows(Proof *proof);

/* Pieces of a complete proof with module and length, as the shop's passes take them, in `arena`;
 * `ends` must live as long. */
RigInput ring_input(Arena *arena, const Proof *proof, Ends *ends);

#endif
