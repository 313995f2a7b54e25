/* A CHECK is for our own errors only: a broken invariant stops the program in every build and says
 * where. What a person can get wrong is a finding (base/findings.h); what the world can get wrong
 * is a status (base/status.h). */
#ifndef BASE_CHECK_H
#define BASE_CHECK_H

/* Prints "file:line: what" to stderr and aborts. Never returns. */
_Noreturn void check_fail(const char *file, int line, const char *what);

#define CHECK(condition) ((condition) ? (void)0 : check_fail(__FILE__, __LINE__, #condition))

#endif
