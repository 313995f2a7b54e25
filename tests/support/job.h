/* Jobs for tests: the example aircraft or a few tables written as text, spoilt one thing at a time,
 * then taken through the passes. Everything lives in one arena. */
#ifndef SUPPORT_JOB_H
#define SUPPORT_JOB_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

#include "model/model.h"
#include "table/value.h"

typedef struct Job {
    Arena arena;
    TableSet set;
    Findings findings;
    Model model;
} Job;

static inline void job_print_findings(const Job *job) {
    for (size_t i = 0; i < job->findings.count; i++) {
        const Finding *finding = &job->findings.rows[i];
        fprintf(stderr, "%s %s %s %s: %s [%s]\n", severity_name(finding->severity),
                rule_name(finding->rule), finding->table, finding->key, finding->message,
                finding->hint);
    }
}

static inline void job_start(Job *job) {
    *job = (Job){0};
    job->findings.arena = &job->arena;
}

static inline void job_read_library(Job *job) {
    Status status = table_read_folder(&job->arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY,
                                      &job->set, &job->findings);
    assert_false(status.failed);
}

/* Adds rows written as CSV with a header line. */
static inline void job_add(Job *job, TableId table, const char *text) {
    const char *path = table_schema(table)->name;
    table_read_text(&job->arena, path, table, text, strlen(text), &job->set, &job->findings);
}

/* After all rows are in: sorted, checked; nothing wrong so far. */
static inline void job_check(Job *job) {
    table_check(&job->arena, &job->set, &job->findings);
    if (job->findings.count > 0) {
        job_print_findings(job);
    }
    assert_int_equal(job->findings.count, 0);
}

static inline void job_read_folder(Job *job, const char *folder) {
    job_start(job);
    job_read_library(job);
    Status status = table_read_folder(&job->arena, folder, GROUP_JOB, &job->set, &job->findings);
    assert_false(status.failed);
    job_check(job);
}

static inline void job_read_example(Job *job) {
    job_read_folder(job, MARLING_SOURCE_DIR "/examples/osier");
}

/* The row with that key; the test fails when there is none. */
static inline size_t job_find(Job *job, TableId table, const char *key) {
    for (size_t i = 0; i < job->set.any[table].count; i++) {
        if (strcmp(table_row_key(&job->arena, table, table_row(&job->set, table, i)), key) == 0) {
            return i;
        }
    }
    fail_msg("no row %s in %s", key, table_schema(table)->name);
    return 0;
}

/* Writes `text` into a cell, as if a person had written it there. */
static inline void job_write(Job *job, TableId table, const char *key, const char *column,
                             const char *text) {
    const TableSchema *schema = table_schema(table);
    char *row = table_row(&job->set, table, job_find(job, table, key));
    for (size_t i = 0; i < schema->column_count; i++) {
        if (strcmp(schema->columns[i].name, column) == 0) {
            const char *expected = NULL;
            assert_int_equal(value_parse(&job->arena, &schema->columns[i], text, false,
                                         row + schema->columns[i].offset, &expected),
                             VALUE_OK);
            return;
        }
    }
    fail_msg("no column %s in %s", column, schema->name);
}

/* Takes the row with that key out. */
static inline void job_drop(Job *job, TableId table, const char *key) {
    size_t bytes = table_schema(table)->row_bytes;
    size_t place = job_find(job, table, key);
    char *rows = job->set.any[table].rows;
    size_t after = job->set.any[table].count - place - 1;
    memmove(rows + place * bytes, rows + (place + 1) * bytes, after * bytes);
    job->set.any[table].count--;
}

/* Lengths as a designer reckons them by hand: the way and both stubs. Nothing is kept for service,
 * nothing sags, is twisted or rounded, no bend matters. */
static inline void job_plain_lengths(Job *job) {
    job->set.end_allowance.count = 0;
    job->set.twist.count = 0;
    job_write(job, TABLE_limit, "slack_deflection", "value", "0");
    job_write(job, TABLE_limit, "cut_step", "value", "0");
    job_write(job, TABLE_limit, "place_matters", "value", "1e9");
}

static inline void job_build(Job *job) {
    assert_true(model_build(&job->arena, &job->set, &job->model, &job->findings));
}

static inline size_t job_count(const Job *job, RuleId rule) {
    size_t count = 0;
    for (size_t i = 0; i < job->findings.count; i++) {
        count += job->findings.rows[i].rule == rule;
    }
    return count;
}

/* The first finding of that rule on that row; NULL when there is none. */
static inline const Finding *job_finding(const Job *job, RuleId rule, const char *key) {
    for (size_t i = 0; i < job->findings.count; i++) {
        const Finding *finding = &job->findings.rows[i];
        if (finding->rule == rule && (key == NULL || strcmp(finding->key, key) == 0)) {
            return finding;
        }
    }
    return NULL;
}

#endif
