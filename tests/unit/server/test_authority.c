/* The shop's own authority: made once and for its owner alone, believed for near names and refused
 * for far ones even if its key were stolen, renewed in time. Verified by GnuTLS as a browser would.
 */
#include <gnutls/x509.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#include <cmocka.h>

#include "base/file.h"
#include "server/certificates.h"

typedef struct Bench {
    char folder[64];
    char path[128];
    Authority *authority;
} Bench;

#define GOOD(call)                                                                                 \
    do {                                                                                           \
        Status good = (call);                                                                      \
        if (good.failed) {                                                                         \
            fail_msg("%s", good.text);                                                             \
        }                                                                                          \
    } while (0)

static int set_up(void **state) {
    Bench *bench = calloc(1, sizeof *bench);
    *state = bench;
    snprintf(bench->folder, sizeof bench->folder, "/tmp/marling-authority-XXXXXX");
    assert_non_null(mkdtemp(bench->folder));
    snprintf(bench->path, sizeof bench->path, "%s/authority.pem", bench->folder);
    GOOD(authority_open(bench->folder, &bench->authority));
    return 0;
}

static int tear_down(void **state) {
    Bench *bench = *state;
    authority_close(bench->authority);
    file_remove_folder(bench->folder);
    free(bench);
    return 0;
}

/* What GnuTLS finds wrong with a certificate for `name` when it is asked for as `as_name`; 0:
 * nothing. */
static unsigned wrong_with(const Authority *authority, const char *name, const char *as_name) {
    /* With a host name in it, as the desk's own have: GnuTLS takes the common name for one else. */
    const char *list[] = {name, "localhost"};
    AuthorityNames names = {.names = list, .count = 2};
    Certificate made;
    size_t length = 0;
    gnutls_datum_t der = {.data = (unsigned char *)authority_certificate(authority, &length)};
    der.size = (unsigned)length;
    GOOD(authority_issue(authority, &names, (int64_t)time(NULL), &made));
    gnutls_x509_trust_list_t trust;
    gnutls_x509_crt_t shown;
    unsigned wrong = 0;
    assert_true(gnutls_x509_trust_list_init(&trust, 0) >= 0);
    assert_int_equal(
        gnutls_x509_trust_list_add_trust_mem(trust, &der, NULL, GNUTLS_X509_FMT_DER, 0, 0), 1);
    assert_int_equal(gnutls_x509_crt_init(&shown), 0);
    assert_int_equal(gnutls_x509_crt_import(shown, &made.shown.cert, GNUTLS_X509_FMT_DER), 0);
    gnutls_typed_vdata_st wanted[2] = {
        {.type = GNUTLS_DT_DNS_HOSTNAME, .data = (unsigned char *)(uintptr_t)as_name},
        {.type = GNUTLS_DT_KEY_PURPOSE_OID, .data = (unsigned char *)GNUTLS_KP_TLS_WWW_SERVER}};
    assert_true(gnutls_x509_trust_list_verify_crt2(trust, &shown, 1, wanted, 2, 0, &wrong, NULL) >=
                0);
    gnutls_x509_crt_deinit(shown);
    gnutls_x509_trust_list_deinit(trust, 1);
    certificate_free(&made);
    return wrong;
}

static void vouches_for_near_names_only(void **state) {
    Bench *bench = *state;
    static const char *const NEAR[] = {"localhost",   "desk.local",    "desk.lan",  "a.b.home.arpa",
                                       "192.168.7.7", "10.200.1.1",    "127.0.0.1", "::1",
                                       "fd00::7",     "172.31.255.255"};
    static const char *const FAR[] = {
        "example.org", "www.example.local.org", "8.8.8.8",  "172.32.0.1",
        "2001:db8::1", "192.169.0.1",           "notlocal", "xlocalhost"};
    for (size_t i = 0; i < sizeof NEAR / sizeof *NEAR; i++) {
        unsigned wrong = wrong_with(bench->authority, NEAR[i], NEAR[i]);
        if (wrong != 0) {
            fail_msg("%s: %x", NEAR[i], wrong);
        }
        assert_true((wrong_with(bench->authority, NEAR[i], "other.local") &
                     GNUTLS_CERT_UNEXPECTED_OWNER) != 0);
    }
    for (size_t i = 0; i < sizeof FAR / sizeof *FAR; i++) {
        if (wrong_with(bench->authority, FAR[i], FAR[i]) == 0) {
            fail_msg("%s is believed", FAR[i]);
        }
    }
}

static void is_made_once_for_its_owner(void **state) {
    Bench *bench = *state;
    struct stat about;
    Authority *again;
    assert_int_equal(stat(bench->path, &about), 0);
    assert_int_equal(about.st_mode & 0777, 0600);
    GOOD(authority_open(bench->folder, &again));
    assert_string_equal(authority_fingerprint(again), authority_fingerprint(bench->authority));
    assert_string_equal(authority_words(again), authority_words(bench->authority));
    authority_close(again);
    assert_int_equal(chmod(bench->path, 0640), 0);
    Status status = authority_open(bench->folder, &again);
    assert_true(status.failed && again == NULL && strstr(status.text, "chmod 600") != NULL);
}

/* A file that a full disk or an editor has cut. */
static void damaged_files_are_refused(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    char *text;
    size_t length;
    GOOD(file_read(&arena, bench->path, &text, &length));
    for (size_t cut = 0; cut < length - length / 7; cut += length / 7) {
        Authority *again;
        GOOD(file_write(bench->path, text, cut));
        assert_int_equal(chmod(bench->path, 0600), 0);
        Status status = authority_open(bench->folder, &again);
        assert_true(status.failed && again == NULL);
    }
    arena_free(&arena);
}

static void certificates_are_renewed(void **state) {
    Bench *bench = *state;
    Certificates *certificates;
    GOOD(certificates_open(bench->authority, &certificates));
    int64_t now_s = (int64_t)time(NULL);
    int64_t day_s = 24 * 3600;
    const Certificate *first = certificates_now(certificates);
    assert_true(certificates_has_name(certificates, "LocalHost", 9));
    assert_true(certificates_has_name(certificates, "[::1]", 5));
    assert_true(certificates_has_name(certificates, "127.0.0.1", 9));
    assert_false(certificates_has_name(certificates, "127.0.0.10", 10));
    assert_false(certificates_has_name(certificates, "localhos", 8));
    assert_false(certificates_has_name(certificates, "", 0));
    assert_false(certificates_has_name(certificates, "[]", 2));
    GOOD(certificates_renew(certificates, now_s));
    GOOD(certificates_renew(certificates,
                            now_s + (CERTIFICATE_DAYS - CERTIFICATE_RENEW_DAYS - 1) * day_s));
    assert_ptr_equal(certificates_now(certificates), first);
    GOOD(certificates_renew(certificates,
                            now_s + (CERTIFICATE_DAYS - CERTIFICATE_RENEW_DAYS + 1) * day_s));
    assert_ptr_not_equal(certificates_now(certificates), first);
    assert_int_equal(certificates_count(certificates), 2);
    assert_true(certificates_now(certificates)->ends_s > first->ends_s + 30 * day_s);
    certificates_close(certificates);
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        TEST(vouches_for_near_names_only),
        TEST(is_made_once_for_its_owner),
        TEST(damaged_files_are_refused),
        TEST(certificates_are_renewed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
