/* The certificate that the desk shows: issued when it starts, and again before it ends or when the
 * machine has got other addresses. Its names are those by which the desk may be called. */
#ifndef SERVER_CERTIFICATES_H
#define SERVER_CERTIFICATES_H

#include "server/authority.h"

typedef struct Certificates Certificates;

/* The authority must outlive it. */
STATUS_USE Status certificates_open(const Authority *authority, Certificates **certificates);
void certificates_close(Certificates *certificates); /* NULL is allowed */

/* The one that is shown now: stays as it is until the end, also when a new one takes its place. */
Certificate *certificates_now(const Certificates *certificates);

/* True when the certificate is for that name or address, without port; brackets around an IPv6
 * address are taken off, letters may be of either case. */
bool certificates_has_name(const Certificates *certificates, const char *name, size_t length);

/* An address by which others find the desk: the first private one that is not this machine's own
 * loopback; else its name. */
const char *certificates_address(const Certificates *certificates, Arena *arena);

/* Issues a new one when that is due. One thread at a time. */
STATUS_USE Status certificates_renew(Certificates *certificates, int64_t now_s);

/* How many were issued since the desk was opened. */
unsigned certificates_count(const Certificates *certificates);

#endif
