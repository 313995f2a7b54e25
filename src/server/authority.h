/* The shop's own small authority: made at the first start in a file for its owner alone, it signs
 * the certificate by which tablets and other desks know this one (X.509, RFC 5280; by GnuTLS). It
 * can vouch for private addresses and names of this machine only (name constraints, RFC
 * 5280 4.2.1.10): who steals it still can't pose as anything beyond the local network. */
#ifndef SERVER_AUTHORITY_H
#define SERVER_AUTHORITY_H

#include <gnutls/abstract.h>

#include "base/arena.h"
#include "base/status.h"

typedef struct Authority Authority;

/* Opens the authority of `folder` (authority.pem: key and certificate), or makes it. */
STATUS_USE Status authority_open(const char *folder, Authority **authority);
void authority_close(Authority *authority); /* NULL is allowed */

/* Its certificate in DER, as tablets take it. */
const unsigned char *authority_certificate(const Authority *authority, size_t *length);

/* SHA-256 of that: 64 hexadecimal digits in pairs ("3F:..."), and the first ten bytes as words. */
const char *authority_fingerprint(const Authority *authority);
const char *authority_words(const Authority *authority);

/* Names and addresses as text. */
typedef struct AuthorityNames {
    const char **names;
    size_t count;
} AuthorityNames;

/* localhost, this machine's name (alone and with the endings of local networks), and the private
 * addresses of its interfaces, in one order whatever the order of interfaces. */
AuthorityNames authority_names(const Authority *authority, Arena *arena);

/* A certificate with its key, for a server. */
typedef struct Certificate {
    gnutls_pcert_st shown;
    gnutls_privkey_t key;
    int64_t ends_s; /* seconds since 1970 */
} Certificate;

enum {
    CERTIFICATE_DAYS = 60,
    CERTIFICATE_RENEW_DAYS = 20 /* before its end */
};

/* A new certificate with a new key for all of the names. */
STATUS_USE Status authority_issue(const Authority *authority, const AuthorityNames *names,
                                  int64_t now_s, Certificate *certificate);
void certificate_free(Certificate *certificate);

#endif
