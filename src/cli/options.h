/* Words of the command line: one verb, its arguments, options anywhere. */
#ifndef CLI_OPTIONS_H
#define CLI_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

typedef struct Options {
    const char *verb;
    const char *words[10]; /* what follows the verb */
    size_t word_count;
    const char *format;  /* NULL: the verb's usual one */
    const char *output;  /* NULL: standard output */
    const char *library; /* NULL: found beside the program */
    const char *paper;   /* of drawings; NULL: the usual, like the next three */
    const char *units;   /* of lengths in drawings */
    const char *phase;   /* that the power diagram shows, or that things fail in */
    const char *stock;   /* that labels are laid out for */
    const char *port;    /* that the desk listens on; NULL: the usual */
    const char *listen;  /* the address; NULL: this machine alone */
    const char *by;      /* who changes a shop file; NULL: the name of the account */
    const char *note;    /* why, for its log */
    bool list;           /* say what there is */
    bool pairs;          /* try every pair of failures too */
    bool help;
    bool quiet; /* no progress */
} Options;

/* Fills `options` from argv. False after saying on stderr what is wrong and what was expected. */
bool options_parse(int argc, char **argv, Options *options);

#endif
