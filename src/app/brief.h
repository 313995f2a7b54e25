/* Brief: what the customer's answers decide. Open questions by the gate that waits for them;
 * equipment that the asked kinds of flight require by rule (day, night, instrument: 14 CFR 91.205;
 * oxygen by height: 91.211; transponder: 91.215; locator beacon: 91.207) and no unit covers; each
 * option with what it touches and the last gate at which it can still be chosen. The rules are rows
 * of brief_question, required_item and touch_kind. */
#ifndef APP_BRIEF_H
#define APP_BRIEF_H

#include "model/model.h"

/* Fills option_gate and open_question of `result` and adds brief.* findings. `out` owns the rows.
 */
void brief_check(Arena *out, const Model *model, TableSet *result, Findings *findings);

/* The height in feet that an answer states ("12000 ft", "3,700 m", "FL 120"); NAN when none. */
double brief_height_ft(const char *answer);

#endif
