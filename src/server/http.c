#include "server/http.h"

#include <arpa/inet.h>
#include <errno.h>
#include <microhttpd.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/check.h"
#include "server/certificates.h"
#include "server/events.h"
#include "server/pages.h"
#include "server/peers.h"

enum {
    HTTP_THREADS = 4,
    HTTP_CONNECTIONS = 256,
    HTTP_CONNECTIONS_EACH = 48,        /* from one address, beyond this machine */
    HTTP_CONNECTION_BYTES = 64 * 1024, /* head lines of a request */
    HTTP_TIMEOUT_S = 30,               /* of one that says nothing */
    HTTP_STRANGER_BYTES = 16 * 1024,   /* of a body, until it is known who sends it */
    HTTP_VALUES = 16,
    EVENT_BEAT_S = 10, /* below the timeout: a quiet stream stays open */
    RENEW_S = 3600     /* how often the certificate is looked at */
};

static const char POLICY[] =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self' data:; connect-src 'self'; manifest-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'";

typedef struct Incoming Incoming;

struct Http {
    Desk *desk;
    struct MHD_Daemon *daemon;
    uint16_t port;
    Door *door;
    Certificates *certificates; /* NULL: no TLS */
    char url[96];
    char cookie[32]; /* its name: browsers don't tell desks on other ports of one host apart */
    Peers peers;
    Events *events;
    pthread_mutex_t lock; /* of what follows */
    pthread_cond_t wanted;
    Incoming *asleep; /* until something was derived */
    bool stopping;
    bool look; /* sessions have ended: streams look whether theirs has */
    pthread_t keeper;
};

/* One request while it comes in, and while what it asks for is derived. */
struct Incoming {
    Arena arena;
    AskedBefore before;
    struct MHD_Connection *connection;
    struct Incoming *next; /* of those that sleep */
    Buffer body;
    bool too_large;
    bool known; /* who sends it may send more than strangers */
};

static void lock(Http *http) {
    CHECK(pthread_mutex_lock(&http->lock) == 0);
}

static void unlock(Http *http) {
    CHECK(pthread_mutex_unlock(&http->lock) == 0);
}

/* --- answers --------------------------------------------------------------------------------- */

static void add_headers(struct MHD_Response *response, const char *type, bool keeps) {
    MHD_add_response_header(response, MHD_HTTP_HEADER_CONTENT_TYPE, type);
    MHD_add_response_header(response, "Content-Security-Policy", POLICY);
    MHD_add_response_header(response, "X-Content-Type-Options", "nosniff");
    MHD_add_response_header(response, "Referrer-Policy", "no-referrer");
    MHD_add_response_header(response, "Cross-Origin-Opener-Policy", "same-origin");
    MHD_add_response_header(response, "Cross-Origin-Resource-Policy", "same-origin");
    MHD_add_response_header(response, MHD_HTTP_HEADER_CACHE_CONTROL,
                            keeps ? "no-cache" : "no-store");
}

static enum MHD_Result queue(struct MHD_Connection *connection, unsigned code,
                             struct MHD_Response *response) {
    enum MHD_Result result = MHD_queue_response(connection, code, response);
    MHD_destroy_response(response);
    return result;
}

static enum MHD_Result refuse(struct MHD_Connection *connection, unsigned code, const char *error) {
    char text[160];
    snprintf(text, sizeof text, "{\"error\":\"%s\"}", error);
    struct MHD_Response *response =
        MHD_create_response_from_buffer(strlen(text), text, MHD_RESPMEM_MUST_COPY);
    add_headers(response, "application/json", false);
    return queue(connection, code, response);
}

static enum MHD_Result send_page(struct MHD_Connection *connection, const Page *page) {
    const char *known =
        MHD_lookup_connection_value(connection, MHD_HEADER_KIND, MHD_HTTP_HEADER_IF_NONE_MATCH);
    bool same = known != NULL && strcmp(known, page->tag) == 0;
    const char *takes =
        MHD_lookup_connection_value(connection, MHD_HEADER_KIND, MHD_HTTP_HEADER_ACCEPT_ENCODING);
    bool small = takes != NULL && strstr(takes, "gzip") != NULL;
    size_t length = small ? page->small_length : page->length;
    struct MHD_Response *response = MHD_create_response_from_buffer(
        same ? 0 : length, (void *)(uintptr_t)(small ? page->small : page->bytes),
        MHD_RESPMEM_PERSISTENT);
    add_headers(response, page->type, true);
    MHD_add_response_header(response, MHD_HTTP_HEADER_VARY, MHD_HTTP_HEADER_ACCEPT_ENCODING);
    if (small && !same) {
        MHD_add_response_header(response, MHD_HTTP_HEADER_CONTENT_ENCODING, "gzip");
    }
    MHD_add_response_header(response, MHD_HTTP_HEADER_ETAG, page->tag);
    return queue(connection, same ? MHD_HTTP_NOT_MODIFIED : MHD_HTTP_OK, response);
}

/* --- what is derived beside ------------------------------------------------------------------ */

/* Those that wait for something ask again. Under the lock. */
static void wake_asleep(Http *http) {
    while (http->asleep != NULL) {
        Incoming *incoming = http->asleep;
        http->asleep = incoming->next;
        MHD_resume_connection(incoming->connection);
    }
}

/* A thread of the desk has derived something. */
static void derived(void *context, StoreJob job, LiveKind kind) {
    Http *http = context;
    lock(http);
    wake_asleep(http);
    unlock(http);
    if (kind == LIVE_FULL) {
        events_tell(http->events, "event: derived\n", job, 0);
    }
}

/* Lays a request to sleep until something was derived; false when it need not sleep. */
static bool lay_asleep(Http *http, struct MHD_Connection *connection, Incoming *incoming,
                       const Answer *answer) {
    lock(http);
    bool sleeps = !http->stopping && !desk_live_ready(http->desk, answer->later_job,
                                                      answer->later_kind, &incoming->before.since);
    if (sleeps) {
        incoming->connection = connection;
        incoming->next = http->asleep;
        http->asleep = incoming;
        MHD_suspend_connection(connection);
    }
    unlock(http);
    return sleeps;
}

static bool is_stopping(Http *http) {
    lock(http);
    bool stopping = http->stopping;
    unlock(http);
    return stopping;
}

/* --- what is refused ------------------------------------------------------------------------- */

/* "127.0.0.1:8080", "localhost:8080", "[::1]:8080", or a name of the certificate with the port:
 * nothing else is us, whatever a name server says. */
static bool host_is_ours(const Http *http, const char *host) {
    static const char *const NAMES[] = {"127.0.0.1", "localhost", "[::1]"};
    const char *colon = host == NULL ? NULL : strrchr(host, ':');
    char port[8];
    snprintf(port, sizeof port, ":%u", http->port);
    if (colon == NULL || strcmp(colon, port) != 0) {
        return false;
    }
    size_t length = (size_t)(colon - host);
    if (http->certificates != NULL) {
        return certificates_has_name(http->certificates, host, length);
    }
    for (size_t i = 0; i < sizeof NAMES / sizeof *NAMES; i++) {
        if (strlen(NAMES[i]) == length && strncmp(NAMES[i], host, length) == 0) {
            return true;
        }
    }
    return false;
}

static const char *header(struct MHD_Connection *connection, const char *name) {
    return MHD_lookup_connection_value(connection, MHD_HEADER_KIND, name);
}

/* NULL when the request may go on. */
static const char *forbidden(const Http *http, struct MHD_Connection *connection,
                             const char *path) {
    const char *scheme = http->certificates != NULL ? "https://" : "http://";
    const char *host = header(connection, MHD_HTTP_HEADER_HOST);
    const char *origin = header(connection, "Origin");
    const char *site = header(connection, "Sec-Fetch-Site");
    if (!host_is_ours(http, host)) {
        return "this desk is not called that";
    }
    if (origin != NULL && (strncmp(origin, scheme, strlen(scheme)) != 0 ||
                           strcmp(origin + strlen(scheme), host) != 0)) {
        return "this comes from a page of another site";
    }
    if (site != NULL && strncmp(path, "/api/", 5) == 0 && strcmp(site, "same-origin") != 0 &&
        strcmp(site, "none") != 0) {
        return "this comes from a page of another site";
    }
    return NULL;
}

/* --- questions ------------------------------------------------------------------------------- */

typedef struct Values {
    AskedValue values[HTTP_VALUES];
    size_t count;
} Values;

static enum MHD_Result take_value(void *context, enum MHD_ValueKind kind, const char *name,
                                  const char *value) {
    (void)kind;
    Values *values = context;
    if (values->count == HTTP_VALUES) {
        return MHD_NO;
    }
    values->values[values->count++] =
        (AskedValue){.name = name, .value = value == NULL ? "" : value};
    return MHD_YES;
}

/* A session is a cookie that scripts can't read and that no other site's page sends along. */
static void add_session(const Http *http, struct MHD_Response *response, const char *token) {
    char text[160];
    bool over = *token == '\0';
    snprintf(text, sizeof text, "%s=%s; Path=/; Secure; HttpOnly; SameSite=Strict; Max-Age=%d",
             http->cookie, token, over ? 0 : (int)SESSION_LONGEST_S);
    MHD_add_response_header(response, MHD_HTTP_HEADER_SET_COOKIE, text);
}

static void look_soon(Http *http) {
    lock(http);
    http->look = true;
    pthread_cond_signal(&http->wanted);
    unlock(http);
}

static enum MHD_Result send_answer(Http *http, struct MHD_Connection *connection,
                                   const Answer *answer) {
    if (answer->changed != STORE_NO_JOB) {
        events_tell(http->events, "", answer->changed, answer->act);
    }
    if (answer->people) {
        look_soon(http);
    }
    struct MHD_Response *response = MHD_create_response_from_buffer(
        answer->length, (void *)(uintptr_t)answer->bytes, MHD_RESPMEM_MUST_COPY);
    add_headers(response, answer->type, false);
    if (answer->token != NULL && http->certificates != NULL) {
        add_session(http, response, answer->token);
    }
    if (answer->wait_s > 0) {
        char wait[16];
        snprintf(wait, sizeof wait, "%u", answer->wait_s);
        MHD_add_response_header(response, MHD_HTTP_HEADER_RETRY_AFTER, wait);
    }
    return queue(connection, answer->code, response);
}

/* What the request's cookie or link lets one ask. */
static Status recognise(Http *http, struct MHD_Connection *connection, Arena *arena, Asked *asked) {
    return door_recognise(http->door, http->desk, arena,
                          MHD_lookup_connection_value(connection, MHD_COOKIE_KIND, http->cookie),
                          header(connection, "Marling-Link"), asked);
}

/* Streams and questions: for those who are known. */
static enum MHD_Result answer_api(Http *http, struct MHD_Connection *connection, const char *path,
                                  const char *method, Incoming *incoming) {
    Peer *peer = peers_of(connection);
    Values values = {.count = 0};
    MHD_get_connection_values(connection, MHD_GET_ARGUMENT_KIND, take_value, &values);
    Asked asked = {
        .method = method,
        .path = path,
        .values = values.values,
        .value_count = values.count,
        .body = incoming->body.bytes == NULL ? "" : incoming->body.bytes,
        .body_length = incoming->body.length,
        .address = peer->address,
        .before = &incoming->before,
    };
    Status status = recognise(http, connection, &incoming->arena, &asked);
    if (status.failed) {
        return refuse(connection, MHD_HTTP_SERVICE_UNAVAILABLE, "the shop file can't be read");
    }
    if (strcmp(path, "/api/events") == 0 && strcmp(method, "GET") == 0) {
        if ((asked.who & WHO_STAFF) == 0) {
            return refuse(connection, MHD_HTTP_UNAUTHORIZED, "nobody has signed in");
        }
        struct MHD_Response *response = events_response(http->events, connection, asked.token);
        add_headers(response, "text/event-stream", false);
        return queue(connection, MHD_HTTP_OK, response);
    }
    Answer answer;
    answer_ask(http->desk, &incoming->arena, &asked, &answer);
    while (answer.later) {
        if (lay_asleep(http, connection, incoming, &answer)) {
            return MHD_YES;
        }
        if (is_stopping(http)) {
            return refuse(connection, MHD_HTTP_SERVICE_UNAVAILABLE, "this desk is closing");
        }
        answer_ask(http->desk, &incoming->arena, &asked, &answer);
    }
    peer_give(peer, PEER_ANSWER_S);
    return send_answer(http, connection, &answer);
}

static enum MHD_Result finish(Http *http, struct MHD_Connection *connection, const char *path,
                              const char *method, Incoming *incoming) {
    const char *why_not = forbidden(http, connection, path);
    bool get = strcmp(method, "GET") == 0;
    const char *type = header(connection, MHD_HTTP_HEADER_CONTENT_TYPE);
    if (why_not != NULL) {
        return refuse(connection, MHD_HTTP_FORBIDDEN, why_not);
    }
    if (incoming->too_large) {
        return refuse(connection, MHD_HTTP_CONTENT_TOO_LARGE, "this is more than is taken at once");
    }
    if (!get && strcmp(method, "POST") != 0) {
        return refuse(connection, MHD_HTTP_METHOD_NOT_ALLOWED, "only GET and POST are answered");
    }
    if (!get && (type == NULL || strncmp(type, "application/json", 16) != 0)) {
        return refuse(connection, MHD_HTTP_UNSUPPORTED_MEDIA_TYPE, "changes are sent as JSON");
    }
    const Page *page = get ? page_find(path) : NULL;
    if (page != NULL) {
        peer_give(peers_of(connection), PEER_ANSWER_S);
        return send_page(connection, page);
    }
    return answer_api(http, connection, path, method, incoming);
}

/* Strangers must not fill the memory: only who is known may send a large body. */
static bool may_send(Http *http, struct MHD_Connection *connection, Incoming *incoming,
                     size_t length) {
    if (length > HTTP_STRANGER_BYTES && !incoming->known) {
        Asked asked = {.address = peers_of(connection)->address};
        Status status = recognise(http, connection, &incoming->arena, &asked);
        incoming->known = !status.failed && (asked.who & (WHO_STAFF | WHO_CUSTOMER)) != 0;
        return incoming->known && length <= ANSWER_BODY_BYTES;
    }
    return length <= ANSWER_BODY_BYTES;
}

static enum MHD_Result handle(void *context, struct MHD_Connection *connection, const char *path,
                              const char *method, const char *version, const char *data,
                              size_t *data_length, void **kept) {
    (void)version;
    Incoming *incoming = *kept;
    if (incoming == NULL) {
        incoming = calloc(1, sizeof *incoming);
        if (incoming == NULL) {
            return MHD_NO;
        }
        incoming->body.arena = &incoming->arena;
        *kept = incoming;
        peer_give(peers_of(connection), PEER_BODY_S);
        return MHD_YES;
    }
    if (*data_length > 0) {
        incoming->too_large =
            incoming->too_large ||
            !may_send(context, connection, incoming, incoming->body.length + *data_length);
        if (!incoming->too_large) {
            buffer_add(&incoming->body, data, *data_length);
        }
        *data_length = 0;
        return MHD_YES;
    }
    peer_give(peers_of(connection), PEER_NO_END_S);
    return finish(context, connection, path, method, incoming);
}

static void done(void *context, struct MHD_Connection *connection, void **kept,
                 enum MHD_RequestTerminationCode code) {
    (void)context;
    (void)code;
    Incoming *incoming = *kept;
    if (incoming != NULL) {
        arena_free(&incoming->arena);
        free(incoming);
        *kept = NULL;
        peer_give(peers_of(connection), PEER_HEAD_S);
    }
}

/* --- what goes on beside --------------------------------------------------------------------- */

static bool session_holds(void *context, const char *token) {
    Http *http = context;
    return door_holds(http->door, http->desk, token);
}

/* Each second: cuts off who takes too long. Now and then: lets streams say that they are open, ends
 * those whose session is over, looks at the certificate. */
static void *keep(void *context) {
    Http *http = context;
    lock(http);
    for (uint64_t second = 1; !http->stopping; second++) {
        struct timespec until;
        clock_gettime(CLOCK_REALTIME, &until);
        until.tv_sec++;
        pthread_cond_timedwait(&http->wanted, &http->lock, &until);
        bool beats = second % EVENT_BEAT_S == 0;
        bool looks = http->look || beats;
        http->look = false;
        unlock(http);
        peers_cut(&http->peers);
        if (looks) {
            events_look(http->events, session_holds, http);
        }
        if (beats) {
            events_beat(http->events);
        }
        if (http->certificates != NULL && second % RENEW_S == 0) {
            Status status = certificates_renew(http->certificates, store_now_s());
            if (status.failed) { /* the old one still holds for weeks, and it is tried again */
                fprintf(stderr, "marling: %s\n", status.text);
            }
        }
        lock(http);
    }
    unlock(http);
    return NULL;
}

/* --- starting, stopping ---------------------------------------------------------------------- */

/* By which address others find it. */
static void write_url(Http *http, const ListenAt *at) {
    Arena scratch = {0};
    char text[INET6_ADDRSTRLEN] = "127.0.0.1";
    char wrapped[INET6_ADDRSTRLEN + 2];
    const char *host = text;
    if (at->open) {
        host = certificates_address(http->certificates, &scratch);
    } else if (at->address.any.sa_family == AF_INET6) {
        inet_ntop(AF_INET6, &at->address.six.sin6_addr, text, sizeof text);
        snprintf(wrapped, sizeof wrapped, "[%s]", text);
        host = wrapped;
    } else {
        inet_ntop(AF_INET, &at->address.four.sin_addr, text, sizeof text);
    }
    snprintf(http->url, sizeof http->url, "%s://%s:%u/",
             http->certificates != NULL ? "https" : "http", host, http->port);
    arena_free(&scratch);
}

/* For the TLS library, which gives the connection along: the certificate that is shown now. */
static int show_certificate(gnutls_session_t session, const gnutls_datum_t *authorities, int count,
                            const gnutls_pk_algorithm_t *algorithms, int algorithm_count,
                            gnutls_pcert_st **shown, unsigned *shown_count, gnutls_privkey_t *key) {
    (void)authorities;
    (void)count;
    (void)algorithms;
    (void)algorithm_count;
    Http *http = peers_of(gnutls_session_get_ptr(session))->owner;
    Certificate *certificate = certificates_now(http->certificates);
    *shown = &certificate->shown;
    *shown_count = 1;
    *key = certificate->key;
    return 0;
}

/* The desk is for the local network: whoever comes from beyond is not heard at all. */
static enum MHD_Result accepts(void *context, const struct sockaddr *address, socklen_t length) {
    (void)context;
    (void)length;
    return listen_is_private(address) ? MHD_YES : MHD_NO;
}

static void start_daemon(Http *http, const HttpOptions *options, int listening) {
    unsigned flags = MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_EPOLL | MHD_ALLOW_SUSPEND_RESUME |
                     (options->authority != NULL ? (unsigned)MHD_USE_TLS : 0U);
    const struct MHD_OptionItem tls[] = {
        {MHD_OPTION_HTTPS_CERT_CALLBACK, 0, (void *)(uintptr_t)show_certificate},
        {MHD_OPTION_HTTPS_PRIORITIES, 0,
         (void *)(uintptr_t) "NORMAL:-VERS-ALL:+VERS-TLS1.3:+VERS-TLS1.2"},
        {MHD_OPTION_END, 0, NULL}};
    const struct MHD_OptionItem none[] = {{MHD_OPTION_END, 0, NULL}};
    http->daemon = MHD_start_daemon(
        flags, http->port, accepts, http, handle, http, MHD_OPTION_LISTEN_SOCKET, listening,
        MHD_OPTION_THREAD_POOL_SIZE, options->threads == 0 ? HTTP_THREADS : options->threads,
        MHD_OPTION_CONNECTION_LIMIT, (unsigned)HTTP_CONNECTIONS, MHD_OPTION_PER_IP_CONNECTION_LIMIT,
        options->at.loopback ? 0U : (unsigned)HTTP_CONNECTIONS_EACH, MHD_OPTION_CONNECTION_TIMEOUT,
        (unsigned)HTTP_TIMEOUT_S, MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)HTTP_CONNECTION_BYTES,
        MHD_OPTION_NOTIFY_COMPLETED, done, http, MHD_OPTION_NOTIFY_CONNECTION, peers_notice,
        &http->peers, MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_ARRAY,
        options->authority != NULL ? tls : none, MHD_OPTION_END);
}

/* Listens and starts; the port is known before the first request can come. */
static Status start_listening(Http *http, const HttpOptions *options) {
    char where[INET6_ADDRSTRLEN + 8];
    int listening = -1;
    int error = listen_open(&options->at, &listening, &http->port);
    snprintf(http->cookie, sizeof http->cookie, "__Host-marling-%u", http->port);
    write_url(http, &options->at);
    if (error == 0) {
        start_daemon(http, options, listening);
        error = http->daemon == NULL ? EIO : 0;
    }
    snprintf(where, sizeof where, "port %u", options->at.port);
    return error == 0 ? status_ok() : status_failed("cannot listen on", where, error);
}

static void free_http(Http *http) {
    events_close(http->events);
    peers_close(&http->peers);
    door_close(http->door);
    certificates_close(http->certificates);
    pthread_cond_destroy(&http->wanted);
    pthread_mutex_destroy(&http->lock);
    free(http);
}

Status http_start(Desk *desk, const HttpOptions *options, Http **http) {
    *http = NULL;
    CHECK(options->at.loopback || options->authority != NULL);
    if (!options->at.open && !listen_is_private(&options->at.address.any)) {
        return status_failed("this is no address of a private network, and the desk is not made for"
                             " the open one:",
                             "--listen", 0);
    }
    Http *started = calloc(1, sizeof *started);
    CHECK(started != NULL);
    started->desk = desk;
    peers_open(&started->peers, started);
    started->events = events_open();
    pthread_mutex_init(&started->lock, NULL);
    pthread_cond_init(&started->wanted, NULL);
    DoorOptions door = {.signs_in = options->authority != NULL,
                        .person = options->person,
                        .authority = options->authority,
                        .url = started->url};
    started->door = door_open(&door);
    Status status = status_ok();
    if (options->authority != NULL) {
        status = certificates_open(options->authority, &started->certificates);
    }
    desk_on_derived(desk, derived, started);
    if (!status.failed) {
        status = start_listening(started, options);
    }
    if (status.failed) {
        desk_on_derived(desk, NULL, NULL);
        free_http(started);
        return status;
    }
    CHECK(pthread_create(&started->keeper, NULL, keep, started) == 0);
    *http = started;
    return status;
}

uint16_t http_port(const Http *http) {
    return http->port;
}

const char *http_url(const Http *http) {
    return http->url;
}

void http_stop(Http *http) {
    if (http == NULL) {
        return;
    }
    lock(http);
    http->stopping = true;
    wake_asleep(http);
    pthread_cond_signal(&http->wanted);
    unlock(http);
    desk_on_derived(http->desk, NULL, NULL);
    pthread_join(http->keeper, NULL);
    events_stop(http->events);
    MHD_stop_daemon(http->daemon);
    free_http(http);
}
