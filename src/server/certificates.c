#include "server/certificates.h"

#include <arpa/inet.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>

#include "base/check.h"
#include "server/listen.h"

typedef struct Kept {
    Certificate certificate;
    AuthorityNames names;
    Arena arena; /* of the names */
    struct Kept *older;
    unsigned number;
} Kept;

struct Certificates {
    const Authority *authority;
    _Atomic(Kept *) now; /* older ones hang behind it: handshakes may still use them */
};

static Status issue(Certificates *certificates, int64_t now_s) {
    Kept *older = atomic_load(&certificates->now);
    Kept *kept = calloc(1, sizeof *kept);
    CHECK(kept != NULL);
    kept->names = authority_names(certificates->authority, &kept->arena);
    kept->older = older;
    kept->number = older == NULL ? 1 : older->number + 1;
    Status status =
        authority_issue(certificates->authority, &kept->names, now_s, &kept->certificate);
    if (status.failed) {
        arena_free(&kept->arena);
        free(kept);
    } else {
        atomic_store(&certificates->now, kept);
    }
    return status;
}

Status certificates_open(const Authority *authority, Certificates **certificates) {
    *certificates = NULL;
    Certificates *opened = calloc(1, sizeof *opened);
    CHECK(opened != NULL);
    opened->authority = authority;
    Status status = issue(opened, (int64_t)time(NULL));
    if (status.failed) {
        free(opened);
    } else {
        *certificates = opened;
    }
    return status;
}

void certificates_close(Certificates *certificates) {
    if (certificates != NULL) {
        Kept *kept = atomic_load(&certificates->now);
        while (kept != NULL) {
            Kept *older = kept->older;
            certificate_free(&kept->certificate);
            arena_free(&kept->arena);
            free(kept);
            kept = older;
        }
        free(certificates);
    }
}

Certificate *certificates_now(const Certificates *certificates) {
    return &atomic_load(&certificates->now)->certificate;
}

bool certificates_has_name(const Certificates *certificates, const char *name, size_t length) {
    const AuthorityNames *names = &atomic_load(&certificates->now)->names;
    if (length > 2 && name[0] == '[' && name[length - 1] == ']') {
        name++;
        length -= 2;
    }
    for (size_t i = 0; i < names->count; i++) {
        if (strlen(names->names[i]) == length && strncasecmp(names->names[i], name, length) == 0) {
            return true;
        }
    }
    return false;
}

const char *certificates_address(const Certificates *certificates, Arena *arena) {
    const AuthorityNames *names = &atomic_load(&certificates->now)->names;
    static const char LOCAL[] = ".local"; /* found by multicast, RFC 6762 */
    const char *found = "localhost";
    for (size_t i = 0; i < names->count; i++) {
        struct in_addr four;
        const char *name = names->names[i];
        size_t length = strlen(name);
        if (inet_pton(AF_INET, name, &four) == 1 && ntohl(four.s_addr) >> 24 != 127) {
            found = name;
            break;
        }
        if (length >= sizeof LOCAL && strcmp(name + length + 1 - sizeof LOCAL, LOCAL) == 0) {
            found = name;
        }
    }
    return arena_text(arena, found, strlen(found));
}

static bool same_names(const AuthorityNames *left, const AuthorityNames *right) {
    bool same = left->count == right->count;
    for (size_t i = 0; same && i < left->count; i++) {
        same = strcmp(left->names[i], right->names[i]) == 0;
    }
    return same;
}

Status certificates_renew(Certificates *certificates, int64_t now_s) {
    const Kept *now = atomic_load(&certificates->now);
    Arena scratch = {0};
    AuthorityNames names = authority_names(certificates->authority, &scratch);
    bool due = now->certificate.ends_s - now_s < (int64_t)CERTIFICATE_RENEW_DAYS * 24 * 3600 ||
               !same_names(&names, &now->names);
    arena_free(&scratch);
    return due ? issue(certificates, now_s) : status_ok();
}

unsigned certificates_count(const Certificates *certificates) {
    return atomic_load(&certificates->now)->number;
}
