/* Every rule that can make a finding: one line each, in the order of the passes. The name is what
 * people see, write in `accept` rows and find in docs/rules.md; it never changes meaning. The
 * severity is the one a finding starts with (an accepted one is lowered when it is shown).
 *
 * R(identifier, name, severity, what is wrong, source) */
#ifndef BASE_RULES_H
#define BASE_RULES_H

#define RULE_LIST(R)                                                                               \
    /* read: what a file says that can't be taken */                                               \
    R(READ_FILE, "read.file", UNREADABLE, "a file or folder can't be read", "shop rule")           \
    R(READ_TEXT, "read.text", UNREADABLE, "a file is not a table of text", "RFC 4180; UTF-8")      \
    R(READ_TABLE, "read.table", UNREADABLE, "no such table", "docs/tables.md")                     \
    R(READ_COLUMN, "read.column", UNREADABLE, "no such column", "docs/tables.md")                  \
    R(READ_VALUE, "read.value", UNREADABLE, "a value can't be understood", "docs/tables.md")       \
    R(READ_DATE, "read.date", UNREADABLE, "a spreadsheet turned this value into a date",           \
      "docs/tables.md")                                                                            \
    R(READ_MISSING, "read.missing", UNREADABLE, "a needed value is blank", "docs/tables.md")       \
    R(READ_DUPLICATE, "read.duplicate", UNREADABLE, "two rows with one key", "docs/tables.md")     \
    R(READ_REFERENCE, "read.reference", UNREADABLE, "no such row in the table referred to",        \
      "docs/tables.md")                                                                            \
    R(READ_RANGE, "read.range", UNREADABLE, "a number outside what is possible", "docs/tables.md") \
    R(READ_MANY, "read.many", UNREADABLE, "more errors than are listed", "shop rule")

typedef enum RuleId {
#define RULE_ID(id, name, severity, title, source) RULE_##id,
    RULE_LIST(RULE_ID)
#undef RULE_ID
        RULE_COUNT
} RuleId;

#endif
