/* Findings on disconnects once every cavity is given. Inside the route layer. */
#ifndef ROUTE_CHECKS_H
#define ROUTE_CHECKS_H

#include "route/cuts.h"

/* Ways and spares of each shell, sealing, keying, alloy contacts, power beside signal where it is
 * wet; and the boxes' own connectors in zones that want sealed ones. `taken` is by row of
 * disconnect_shell and cavity. */
void disconnect_check(const Model *model, const Wiring *wiring, const Disconnects *disconnects,
                      const Cuts *cuts, CavityKind *const *taken, Findings *findings);

#endif
