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
    R("GET", "/api/geometry", ask_geometry, WHO_STAFF, false,                                      \
      "where everything is, what runs there")                                                      \
    R("GET", "/api/drawn", ask_drawn, WHO_STAFF, false, "sheets that a thing is drawn on")         \
    R("GET", "/api/trial", ask_trial, WHO_STAFF, false, "what failures do, as data")               \
    R("GET", "/api/search", ask_search, WHO_STAFF, false, "rows by name, part, number")            \
    R("GET", "/api/log", ask_log, WHO_STAFF, false, "acts and revisions")                          \
    R("POST", "/api/edit", ask_edit, WHO_DESIGN, true, "change rows")                              \
    R("POST", "/api/undo", ask_undo, WHO_DESIGN, true, "undo the last edit")                       \
    R("POST", "/api/redo", ask_redo, WHO_DESIGN, true, "redo what was undone last")                \
    R("POST", "/api/keep", ask_keep, WHO_DESIGN, true, "keep a revision")                          \
    R("GET", "/api/bench/progress", ask_bench_progress, WHO_STAFF, false, "how far modules are")   \
    R("GET", "/api/bench/work", ask_bench_work, WHO_STAFF, false, "a module, wire by wire")        \
    R("GET", "/api/bench/ring", ask_bench_ring, WHO_STAFF, false, "readings and what they mean")   \
    R("GET", "/api/bench/kept", ask_bench_kept, WHO_STAFF, false, "what was done at the bench")    \
    R("GET", "/api/bench/photo", ask_bench_photo, WHO_STAFF, false, "one picture")                 \
    R("POST", "/api/bench/add", ask_bench_add, WHO_DESIGN | WHO_BENCH, true, "add what was done")  \
    R("GET", "/api/me", ask_me, WHO_ANYBODY, false, "who asks")                                    \
    R("POST", "/api/sign-in", ask_sign_in, WHO_ANYBODY, true, "begin a session")                   \
    R("POST", "/api/sign-out", ask_sign_out, WHO_STAFF, true, "end the session")                   \
    R("POST", "/api/password", ask_password, WHO_STAFF, true, "change one's own password")         \
    R("GET", "/api/people", ask_people, WHO_DESIGN, false, "people of the shop")                   \
    R("POST", "/api/people/admit", ask_admit, WHO_DESIGN, true, "add a person")                    \
    R("POST", "/api/people/dismiss", ask_dismiss, WHO_DESIGN, true, "end a person")                \
    R("POST", "/api/people/role", ask_role, WHO_DESIGN, true, "give a person another role")        \
    R("POST", "/api/people/password", ask_new_password, WHO_DESIGN, true, "set a password")        \
    R("GET", "/api/door", ask_door, WHO_DESIGN, false, "who came in, who was turned away")         \
    R("GET", "/api/panel", ask_panel, WHO_STAFF, false, "faces and items of the panel")            \
    R("GET", "/api/panel/picture", ask_panel_picture, WHO_STAFF, false, "how a face will look")    \
    R("POST", "/api/panel/try", ask_panel_try, WHO_STAFF, false, "the panel with other rows")      \
    R("GET", "/api/panel/suggest", ask_panel_suggest, WHO_STAFF, false, "layouts to choose from")  \
    R("GET", "/trust", ask_trust, WHO_ANYBODY, false, "how a tablet learns to know the desk")      \
    R("GET", "/authority.crt", ask_authority, WHO_ANYBODY, false, "certificate of the authority")  \
    R("GET", "/api/today", ask_today, WHO_STAFF, false, "where all jobs stand")                    \
    R("GET", "/api/brief", ask_brief, WHO_STAFF, false, "answers, gates, options of a job")        \
    R("GET", "/api/weigh", ask_weigh, WHO_STAFF, false, "what an option would move")               \
    R("POST", "/api/choose", ask_choose, WHO_DESIGN, true, "answer an option")                     \
    R("GET", "/api/offer", ask_offer, WHO_STAFF | WHO_CUSTOMER, false, "what a customer sees")     \
    R("GET", "/api/offer/picture", ask_offer_picture, WHO_STAFF | WHO_CUSTOMER, false,             \
      "the panel's picture")                                                                       \
    R("POST", "/api/offer/choose", ask_offer_choose, WHO_CUSTOMER, true, "answer an option")       \
    R("POST", "/api/offer/approve", ask_offer_approve, WHO_CUSTOMER, true, "approve what is seen") \
    R("POST", "/api/link", ask_link, WHO_DESIGN, true, "make a customer's link")                   \
    R("GET", "/api/links", ask_links, WHO_STAFF, false, "links and files sent")                    \
    R("POST", "/api/link/end", ask_link_end, WHO_DESIGN, true, "take a link back")                 \
    R("POST", "/api/pack", ask_pack, WHO_DESIGN, true, "write a customer's page as a file")        \
    R("POST", "/api/code", ask_code, WHO_DESIGN, true, "take the code of such a file")             \
    R("GET", "/api/books", ask_books, WHO_STAFF, false, "books of a job, and one being built")     \
    R("POST", "/api/book", ask_book, WHO_DESIGN, true, "build the book")                           \
    R("POST", "/api/book/stop", ask_book_stop, WHO_DESIGN, true, "stop building it")               \
    R("GET", "/api/book/file", ask_book_file, WHO_STAFF, false, "a book as PDF")

#define ROUTE_PROTOTYPE(method, path, function, who, changes, what) void function(Asking *asking);
ROUTES(ROUTE_PROTOTYPE)
#undef ROUTE_PROTOTYPE

#endif
