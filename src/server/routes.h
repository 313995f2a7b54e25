/* Every path of the desk, who may ask it and what it does: the one list from which questions are
 * dispatched, refused, tested and described. */
#ifndef SERVER_ROUTES_H
#define SERVER_ROUTES_H

#include "server/asking.h"

/* R(method, path, function, who, changes, what). The function is `void function(Asking *)` in an
 * answer_*.c; `who` is a sum of WHO_ (answer.h). */
#define ROUTES(R)                                                                                  \
    R("GET", "/api/shop", ask_shop, WHO_STAFF, false, "jobs of the shop file")                     \
    R("GET", "/api/schema", ask_schema, WHO_STAFF, false, "tables and columns")                    \
    R("GET", "/api/job", ask_job, WHO_STAFF, false, "state of a job: open findings, phases")       \
    R("GET", "/api/table", ask_table, WHO_STAFF, false, "rows of any table")                       \
    R("GET", "/api/sheets", ask_sheets, WHO_STAFF, false, "names of all sheets")                   \
    R("GET", "/api/sheet", ask_sheet, WHO_STAFF, false, "one sheet as SVG")                        \
    R("GET", "/api/why", ask_why, WHO_STAFF, false, "the chain of reasons for a key")              \
    R("GET", "/api/fail", ask_fail, WHO_STAFF, false, "what goes dark when things fail")           \
    R("GET", "/api/search", ask_search, WHO_STAFF, false, "rows by name, part, number")            \
    R("GET", "/api/log", ask_log, WHO_STAFF, false, "acts and revisions")                          \
    R("POST", "/api/edit", ask_edit, WHO_DESIGN, true, "change rows")                              \
    R("POST", "/api/undo", ask_undo, WHO_DESIGN, true, "undo the last edit")                       \
    R("POST", "/api/redo", ask_redo, WHO_DESIGN, true, "redo what was undone last")                \
    R("POST", "/api/keep", ask_keep, WHO_DESIGN, true, "keep a revision")

#define ROUTE_PROTOTYPE(method, path, function, who, changes, what) void function(Asking *asking);
ROUTES(ROUTE_PROTOTYPE)
#undef ROUTE_PROTOTYPE

#endif
