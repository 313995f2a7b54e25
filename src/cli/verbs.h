/* The verbs. Each takes the parsed words, does its work through `app`, and returns the exit code:
 * 0 done (or proved), 1 open findings of severity error, 2 bad input or usage. */
#ifndef CLI_VERBS_H
#define CLI_VERBS_H

#include "cli/options.h"

enum { EXIT_CLEAN = 0, EXIT_FINDINGS = 1, EXIT_BAD_INPUT = 2 };

/* VERB(name, function, arguments, least words, most words, what it does) */
#define VERB_LIST(VERB)                                                                            \
    VERB("prove", verb_prove, "JOB", 1, 1, "run every pass, print the one-page summary")           \
    VERB("show", verb_show, "TABLE JOB", 2, 2,                                                     \
         "print a table: of the job, the library, or derived")                                     \
    VERB("why", verb_why, "KEY JOB", 2, 2, "print the chain of reasons for a row")                 \
    VERB("fail", verb_fail, "JOB KEY[:MODE] ...", 2, 9,                                            \
         "let things fail together: what goes dark, phase by phase")                               \
    VERB("diagnose", verb_diagnose, "JOB READINGS.csv", 2, 2,                                      \
         "from readings of a harness to what is wrong with it, and what to measure next")          \
    VERB("suggest", verb_suggest, "JOB", 1, 1,                                                     \
         "propose layouts of the panel: what each makes of the wishes")                            \
    VERB("draw", verb_draw, "SHEET JOB", 1, 2,                                                     \
         "draw a sheet to a file; --list JOB: which there are")                                    \
    VERB("book", verb_book, "JOB", 1, 1, "write the book of the aircraft into a folder")           \
    VERB("labels", verb_labels, "JOB", 1, 1, "lay out wire and connector labels for printing")     \
    VERB("compare", verb_compare, "JOB_A JOB_B", 2, 2, "print what differs between two jobs")      \
    VERB("allot", verb_allot, "JOB", 1, 1, "keep wire keys and disconnect cavities in the job")    \
    VERB("import", verb_import, "FOLDER SHOP[:JOB]", 2, 2,                                         \
         "put a job folder into a shop file, made when it is not there")                           \
    VERB("export", verb_export, "SHOP:JOB", 1, 1, "write a job of a shop file into a folder")      \
    VERB("jobs", verb_jobs, "SHOP", 1, 1, "list the jobs of a shop file")                          \
    VERB("log", verb_log, "SHOP:JOB", 1, 1, "who changed what and when, and what was kept")        \
    VERB("keep", verb_keep, "SHOP:JOB REVISION", 2, 2, "keep the job as it is under a name")       \
    VERB("restore", verb_restore, "SHOP:JOB@REVISION", 1, 1, "put a job back as it was kept")      \
    VERB("undo", verb_undo, "SHOP:JOB", 1, 1, "undo the last edit of a job in a shop file")        \
    VERB("redo", verb_redo, "SHOP:JOB", 1, 1, "redo what was undone last")                         \
    VERB("check-shop", verb_check_shop, "SHOP", 1, 1, "look whether a shop file is whole")         \
    VERB("backup", verb_backup, "SHOP FILE", 2, 2, "copy a shop file, also while it is in use")    \
    VERB("serve", verb_serve, "[SHOP]", 0, 1,                                                      \
         "open the desk: pages for browsers on this machine, or --listen for others")              \
    VERB("people", verb_people, "SHOP", 1, 1, "list who works in a shop")                          \
    VERB("admit", verb_admit, "SHOP NAME ROLE", 3, 3,                                              \
         "add a person with a password: designer, bench or buyer; or give one another role")       \
    VERB("password", verb_password, "SHOP NAME", 2, 2, "set a person's password")                  \
    VERB("dismiss", verb_dismiss, "SHOP NAME", 2, 2, "end a person's work here, and sessions")     \
    VERB("door", verb_door, "SHOP", 1, 1, "who came in, and who was turned away")                  \
    VERB("pack", verb_pack, "SHOP:JOB", 1, 1,                                                      \
         "write a customer's page as one signed file; --note: whom it is for")                     \
    VERB("check-pack", verb_check_pack, "SHOP FILE", 2, 2,                                         \
         "look whether such a file is as the shop wrote it")                                       \
    VERB("take-code", verb_take_code, "SHOP:JOB CODE NAME", 3, 3,                                  \
         "record what a customer answers with the code of such a file")                            \
    VERB("schema", verb_schema, "[TABLE]", 0, 1, "describe the tables, or one of them")            \
    VERB("new", verb_new, "JOB", 1, 1, "make a job folder to start from")

#define VERB_PROTOTYPE(name, function, arguments, least, most, what)                               \
    int function(const Options *options);
VERB_LIST(VERB_PROTOTYPE)
#undef VERB_PROTOTYPE

#endif
