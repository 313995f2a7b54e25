#include "server/authority.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <gnutls/crypto.h>
#include <gnutls/x509.h>
#include <ifaddrs.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/check.h"
#include "base/file.h"
#include "base/text.h"
#include "server/words.h"

enum {
    DAY_S = 24 * 3600,
    AUTHORITY_DAYS = 3650,
    BACKDATE_S = DAY_S, /* clocks of tablets are not always right */
    SERIAL_BYTES = 16,
    FINGERPRINT_BYTES = 32,
    FINGERPRINT_WORDS = 10,
    NAMES_MOST = 64
};

struct Authority {
    Arena arena;
    gnutls_x509_crt_t certificate;
    gnutls_x509_privkey_t key;
    gnutls_x509_name_constraints_t vouches; /* what it may vouch for */
    gnutls_datum_t der;
    const char *fingerprint;
    const char *words;
};

/* Private addresses: RFC 1918, RFC 3927 (link-local), RFC 4193, RFC 4291; and this machine itself.
 */
static const char *const PRIVATE_RANGES[] = {"10.0.0.0/8",     "172.16.0.0/12", "192.168.0.0/16",
                                             "169.254.0.0/16", "127.0.0.0/8",   "fc00::/7",
                                             "fe80::/10",      "::1/128"};

/* Endings of names in local networks: RFC 6762, RFC 8375, RFC 6761; "internal" is reserved for it,
 * "lan" is what many routers say. */
static const char *const LOCAL_ENDINGS[] = {"localhost", "local", "lan", "home.arpa", "internal"};

/* The first call that fails is kept, as text of GnuTLS. */
static void take(Status *status, int code, const char *what) {
    if (code < 0 && !status->failed) {
        *status = status_failed(what, gnutls_strerror(code), 0);
    }
}

/* --- the machine's names --------------------------------------------------------------------- */

/* Its name without a domain; "desk" when it has none that a certificate could show. */
static const char *host_name(Arena *arena) {
    char name[256] = "";
    if (gethostname(name, sizeof name - 1) != 0) {
        name[0] = '\0';
    }
    size_t length = strcspn(name, ".");
    for (size_t i = 0; i < length; i++) {
        bool good = (name[i] >= 'a' && name[i] <= 'z') || (name[i] >= 'A' && name[i] <= 'Z') ||
                    (name[i] >= '0' && name[i] <= '9') || name[i] == '-';
        length = good ? length : 0;
        if (name[i] >= 'A' && name[i] <= 'Z') {
            name[i] = (char)(name[i] + ('a' - 'A')); /* as browsers write it */
        }
    }
    return length == 0 || length > 63 ? "desk" : arena_text(arena, name, length);
}

/* The bytes of an address; 0 for what is none. */
static unsigned address_bytes(const char *text, unsigned char bytes[16]) {
    return inet_pton(AF_INET, text, bytes) == 1    ? 4
           : inet_pton(AF_INET6, text, bytes) == 1 ? 16
                                                   : 0;
}

static bool may_vouch(const Authority *authority, const char *name) {
    unsigned char bytes[16];
    unsigned count = address_bytes(name, bytes);
    gnutls_datum_t datum = {.data = count > 0 ? bytes : (unsigned char *)(uintptr_t)name,
                            .size = count > 0 ? count : (unsigned)strlen(name)};
    return gnutls_x509_name_constraints_check(authority->vouches,
                                              count > 0 ? GNUTLS_SAN_IPADDRESS : GNUTLS_SAN_DNSNAME,
                                              &datum) != 0;
}

static void add_name(const Authority *authority, AuthorityNames *names, const char *name) {
    for (size_t i = 0; i < names->count; i++) {
        if (strcmp(names->names[i], name) == 0) {
            return;
        }
    }
    if (names->count < NAMES_MOST && may_vouch(authority, name)) {
        names->names[names->count++] = name;
    }
}

static int compare_names(const void *left, const void *right) {
    return strcmp(*(const char *const *)left, *(const char *const *)right);
}

AuthorityNames authority_names(const Authority *authority, Arena *arena) {
    AuthorityNames names = {.names = ARENA_ARRAY(arena, const char *, NAMES_MOST)};
    const char *host = host_name(arena);
    add_name(authority, &names, "localhost");
    add_name(authority, &names, host);
    for (size_t i = 0; i < sizeof LOCAL_ENDINGS / sizeof *LOCAL_ENDINGS; i++) {
        add_name(authority, &names, arena_format(arena, "%s.%s", host, LOCAL_ENDINGS[i]));
    }
    add_name(authority, &names, "127.0.0.1");
    add_name(authority, &names, "::1");
    struct ifaddrs *interfaces = NULL;
    if (getifaddrs(&interfaces) == 0) {
        for (struct ifaddrs *at = interfaces; at != NULL; at = at->ifa_next) {
            char text[INET6_ADDRSTRLEN] = "";
            if (at->ifa_addr == NULL) {
                continue;
            }
            if (at->ifa_addr->sa_family == AF_INET) {
                struct sockaddr_in four;
                memcpy(&four, at->ifa_addr, sizeof four);
                inet_ntop(AF_INET, &four.sin_addr, text, sizeof text);
            } else if (at->ifa_addr->sa_family == AF_INET6) {
                struct sockaddr_in6 six;
                memcpy(&six, at->ifa_addr, sizeof six);
                inet_ntop(AF_INET6, &six.sin6_addr, text, sizeof text);
            }
            if (*text != '\0') {
                add_name(authority, &names, arena_text(arena, text, strlen(text)));
            }
        }
        freeifaddrs(interfaces);
    }
    qsort(names.names, names.count, sizeof *names.names, compare_names);
    return names;
}

/* --- certificates ---------------------------------------------------------------------------- */

static void make_key(gnutls_x509_privkey_t *key, Status *status) {
    take(status, gnutls_x509_privkey_init(key), "cannot make a key");
    take(status,
         gnutls_x509_privkey_generate(*key, GNUTLS_PK_ECDSA,
                                      GNUTLS_CURVE_TO_BITS(GNUTLS_ECC_CURVE_SECP256R1), 0),
         "cannot make a key");
}

/* What both kinds of certificate have: version, key, serial number, name, times. */
static void begin_certificate(gnutls_x509_crt_t certificate, gnutls_x509_privkey_t key,
                              const char *name, int64_t now_s, int64_t days, Status *status) {
    static const char WHAT[] = "cannot make a certificate";
    unsigned char serial[SERIAL_BYTES];
    unsigned char key_id[20];
    size_t key_id_bytes = sizeof key_id;
    take(status, gnutls_rnd(GNUTLS_RND_NONCE, serial, sizeof serial), WHAT);
    serial[0] = (unsigned char)((serial[0] & 0x7f) | 0x40); /* positive, and no nought in front */
    take(status, gnutls_x509_crt_set_version(certificate, 3), WHAT);
    take(status, gnutls_x509_crt_set_key(certificate, key), WHAT);
    take(status, gnutls_x509_crt_set_serial(certificate, serial, sizeof serial), WHAT);
    take(status,
         gnutls_x509_crt_set_dn_by_oid(certificate, GNUTLS_OID_X520_COMMON_NAME, 0, name,
                                       (unsigned)strlen(name)),
         WHAT);
    take(status, gnutls_x509_crt_set_activation_time(certificate, (time_t)(now_s - BACKDATE_S)),
         WHAT);
    take(status, gnutls_x509_crt_set_expiration_time(certificate, (time_t)(now_s + days * DAY_S)),
         WHAT);
    take(status, gnutls_x509_crt_get_key_id(certificate, 0, key_id, &key_id_bytes), WHAT);
    take(status, gnutls_x509_crt_set_subject_key_id(certificate, key_id, key_id_bytes), WHAT);
}

static void limit_to_local(gnutls_x509_crt_t certificate, const char *host, Status *status) {
    static const char WHAT[] = "cannot limit an authority";
    gnutls_x509_name_constraints_t limits;
    take(status, gnutls_x509_name_constraints_init(&limits), WHAT);
    if (status->failed) {
        return;
    }
    for (size_t i = 0; i < sizeof PRIVATE_RANGES / sizeof *PRIVATE_RANGES; i++) {
        gnutls_datum_t range;
        take(status, gnutls_x509_cidr_to_rfc5280(PRIVATE_RANGES[i], &range), WHAT);
        if (!status->failed) {
            take(status,
                 gnutls_x509_name_constraints_add_permitted(limits, GNUTLS_SAN_IPADDRESS, &range),
                 WHAT);
            gnutls_free(range.data);
        }
    }
    for (size_t i = 0; i <= sizeof LOCAL_ENDINGS / sizeof *LOCAL_ENDINGS; i++) {
        const char *name = i == 0 ? host : LOCAL_ENDINGS[i - 1];
        gnutls_datum_t text = {.data = (unsigned char *)(uintptr_t)name,
                               .size = (unsigned)strlen(name)};
        take(status, gnutls_x509_name_constraints_add_permitted(limits, GNUTLS_SAN_DNSNAME, &text),
             WHAT);
    }
    take(status, gnutls_x509_crt_set_name_constraints(certificate, limits, 1), WHAT);
    gnutls_x509_name_constraints_deinit(limits);
}

/* --- the authority's file -------------------------------------------------------------------- */

/* Writes a file that only its owner may read, unless somebody was faster; then theirs counts. */
static Status write_secret(const char *path, const gnutls_datum_t parts[2]) {
    Arena scratch = {0};
    char *beside = arena_format(&scratch, "%s.part-%ld", path, (long)getpid());
    Status status = status_ok();
    unlink(beside);
    int file = open(beside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, S_IRUSR | S_IWUSR);
    bool good = file >= 0;
    for (size_t i = 0; i < 2 && good; i++) {
        good = write(file, parts[i].data, parts[i].size) == (ssize_t)parts[i].size;
    }
    good = good && fsync(file) == 0;
    int error = errno;
    if (file >= 0) {
        close(file);
    }
    if (!good) {
        status = status_failed("cannot write", path, error);
    } else if (link(beside, path) != 0 && errno != EEXIST) {
        status = status_failed("cannot write", path, errno);
    }
    unlink(beside);
    arena_free(&scratch);
    return status;
}

static Status make_authority(const char *path, int64_t now_s) {
    static const char WHAT[] = "cannot make an authority";
    Arena scratch = {0};
    Status status = status_ok();
    gnutls_x509_privkey_t key = NULL;
    gnutls_x509_crt_t certificate = NULL;
    gnutls_datum_t parts[2] = {{0}, {0}};
    const char *host = host_name(&scratch);
    make_key(&key, &status);
    take(&status, gnutls_x509_crt_init(&certificate), WHAT);
    begin_certificate(certificate, key, arena_format(&scratch, "Marling desk at %s", host), now_s,
                      AUTHORITY_DAYS, &status);
    take(&status, gnutls_x509_crt_set_basic_constraints(certificate, 1, 0), WHAT);
    take(&status, gnutls_x509_crt_set_key_usage(certificate, GNUTLS_KEY_KEY_CERT_SIGN), WHAT);
    limit_to_local(certificate, host, &status);
    take(&status, gnutls_x509_crt_sign2(certificate, certificate, key, GNUTLS_DIG_SHA256, 0), WHAT);
    take(&status,
         gnutls_x509_privkey_export2_pkcs8(key, GNUTLS_X509_FMT_PEM, NULL, GNUTLS_PKCS_PLAIN,
                                           &parts[0]),
         WHAT);
    take(&status, gnutls_x509_crt_export2(certificate, GNUTLS_X509_FMT_PEM, &parts[1]), WHAT);
    if (!status.failed) {
        status = write_secret(path, parts);
    }
    if (parts[0].data != NULL) {
        gnutls_memset(parts[0].data, 0, parts[0].size);
    }
    gnutls_free(parts[0].data);
    gnutls_free(parts[1].data);
    gnutls_x509_crt_deinit(certificate);
    gnutls_x509_privkey_deinit(key);
    arena_free(&scratch);
    return status;
}

static Status read_authority(Authority *authority, const char *path) {
    Arena scratch = {0};
    struct stat about;
    char *text = NULL;
    size_t length = 0;
    Status status = file_read(&scratch, path, &text, &length);
    if (!status.failed && stat(path, &about) == 0 && (about.st_mode & (S_IRWXG | S_IRWXO)) != 0) {
        status = status_failed("others may read the desk's secret key: chmod 600", path, 0);
    }
    if (!status.failed) {
        gnutls_datum_t bytes = {.data = (unsigned char *)text, .size = (unsigned)length};
        take(&status, gnutls_x509_privkey_import(authority->key, &bytes, GNUTLS_X509_FMT_PEM),
             "cannot read the desk's authority");
        take(&status, gnutls_x509_crt_import(authority->certificate, &bytes, GNUTLS_X509_FMT_PEM),
             "cannot read the desk's authority");
        take(&status,
             gnutls_x509_crt_get_name_constraints(authority->certificate, authority->vouches, 0,
                                                  NULL),
             "cannot read the desk's authority");
        take(&status,
             gnutls_x509_crt_export2(authority->certificate, GNUTLS_X509_FMT_DER, &authority->der),
             "cannot read the desk's authority");
        gnutls_memset(text, 0, length);
    }
    if (!status.failed && gnutls_x509_crt_get_expiration_time(authority->certificate) <
                              time(NULL) + (time_t)CERTIFICATE_DAYS * DAY_S) {
        status = status_failed("the desk's authority ends soon: move it away, and install the new "
                               "one on tablets",
                               path, 0);
    }
    arena_free(&scratch);
    return status;
}

static void describe(Authority *authority) {
    unsigned char hash[FINGERPRINT_BYTES];
    CHECK(gnutls_hash_fast(GNUTLS_DIG_SHA256, authority->der.data, authority->der.size, hash) == 0);
    Buffer pairs = {.arena = &authority->arena};
    Buffer words = {.arena = &authority->arena};
    for (size_t i = 0; i < FINGERPRINT_BYTES; i++) {
        buffer_format(&pairs, "%s%02X", i > 0 ? ":" : "", hash[i]);
        if (i < FINGERPRINT_WORDS) {
            buffer_format(&words, "%s%s", i > 0 ? " " : "", WORDS_OF_BYTES[hash[i]]);
        }
    }
    authority->fingerprint = pairs.bytes;
    authority->words = words.bytes;
}

Status authority_open(const char *folder, Authority **authority) {
    *authority = NULL;
    Arena arena = {0};
    Authority *opened = ARENA_NEW(&arena, Authority);
    const char *path = arena_format(&arena, "%s/authority.pem", folder);
    opened->arena = arena;
    Status status = status_ok();
    if (!file_is_there(path)) {
        status = make_authority(path, (int64_t)time(NULL));
    }
    take(&status, gnutls_x509_crt_init(&opened->certificate), "cannot begin");
    take(&status, gnutls_x509_privkey_init(&opened->key), "cannot begin");
    take(&status, gnutls_x509_name_constraints_init(&opened->vouches), "cannot begin");
    if (!status.failed) {
        status = read_authority(opened, path);
    }
    if (status.failed) {
        authority_close(opened);
        return status;
    }
    describe(opened);
    *authority = opened;
    return status;
}

void authority_close(Authority *authority) {
    if (authority != NULL) {
        gnutls_free(authority->der.data);
        gnutls_x509_name_constraints_deinit(authority->vouches);
        gnutls_x509_privkey_deinit(authority->key);
        gnutls_x509_crt_deinit(authority->certificate);
        Arena arena = authority->arena; /* holds the authority itself */
        arena_free(&arena);
    }
}

const unsigned char *authority_certificate(const Authority *authority, size_t *length) {
    *length = authority->der.size;
    return authority->der.data;
}

const char *authority_fingerprint(const Authority *authority) {
    return authority->fingerprint;
}

const char *authority_words(const Authority *authority) {
    return authority->words;
}

/* --- issuing --------------------------------------------------------------------------------- */

Status authority_issue(const Authority *authority, const AuthorityNames *names, int64_t now_s,
                       Certificate *certificate) {
    static const char WHAT[] = "cannot make a certificate";
    Status status = status_ok();
    gnutls_x509_privkey_t key = NULL;
    gnutls_x509_crt_t made = NULL;
    unsigned char issuer[20];
    size_t issuer_bytes = sizeof issuer;
    *certificate = (Certificate){.ends_s = now_s + (int64_t)CERTIFICATE_DAYS * DAY_S};
    make_key(&key, &status);
    take(&status, gnutls_x509_crt_init(&made), WHAT);
    begin_certificate(made, key, "Marling desk", now_s, CERTIFICATE_DAYS, &status);
    for (size_t i = 0; i < names->count; i++) {
        unsigned char bytes[16];
        unsigned count = address_bytes(names->names[i], bytes);
        take(&status,
             count > 0 ? gnutls_x509_crt_set_subject_alt_name(made, GNUTLS_SAN_IPADDRESS, bytes,
                                                              count, GNUTLS_FSAN_APPEND)
                       : gnutls_x509_crt_set_subject_alt_name(
                             made, GNUTLS_SAN_DNSNAME, names->names[i],
                             (unsigned)strlen(names->names[i]), GNUTLS_FSAN_APPEND),
             WHAT);
    }
    take(&status, gnutls_x509_crt_set_basic_constraints(made, 0, -1), WHAT);
    take(&status, gnutls_x509_crt_set_key_usage(made, GNUTLS_KEY_DIGITAL_SIGNATURE), WHAT);
    take(&status, gnutls_x509_crt_set_key_purpose_oid(made, GNUTLS_KP_TLS_WWW_SERVER, 0), WHAT);
    take(&status,
         gnutls_x509_crt_get_subject_key_id(authority->certificate, issuer, &issuer_bytes, NULL),
         WHAT);
    take(&status, gnutls_x509_crt_set_authority_key_id(made, issuer, issuer_bytes), WHAT);
    take(&status,
         gnutls_x509_crt_sign2(made, authority->certificate, authority->key, GNUTLS_DIG_SHA256, 0),
         WHAT);
    take(&status, gnutls_pcert_import_x509(&certificate->shown, made, 0), WHAT);
    take(&status, gnutls_privkey_init(&certificate->key), WHAT);
    take(&status, gnutls_privkey_import_x509(certificate->key, key, GNUTLS_PRIVKEY_IMPORT_COPY),
         WHAT);
    gnutls_x509_crt_deinit(made);
    gnutls_x509_privkey_deinit(key);
    if (status.failed) {
        certificate_free(certificate);
    }
    return status;
}

void certificate_free(Certificate *certificate) {
    gnutls_pcert_deinit(&certificate->shown);
    gnutls_privkey_deinit(certificate->key);
    *certificate = (Certificate){.ends_s = 0};
}
