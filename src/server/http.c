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
#include "server/pages.h"

enum {
    HTTP_THREADS = 4,
    HTTP_CONNECTIONS = 256,
    HTTP_CONNECTION_BYTES = 64 * 1024, /* head lines of a request */
    HTTP_TIMEOUT_S = 30,               /* of one that says nothing */
    HTTP_VALUES = 16,
    EVENTS_KEPT = 256,
    EVENT_BYTES = 96,
    EVENT_BEAT_S = 10 /* below the timeout: a quiet stream stays open */
};

static const char POLICY[] =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self' data:; connect-src 'self'; manifest-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'";

typedef struct Incoming Incoming;

/* One page that listens for changes. */
typedef struct Stream {
    struct Stream *next;
    Http *http;
    struct MHD_Connection *connection;
    uint64_t at; /* the next event it has not got */
    bool asleep;
    bool beat;
} Stream;

struct Http {
    Desk *desk;
    struct MHD_Daemon *daemon;
    uint16_t port;
    const char *person;
    pthread_mutex_t lock; /* of what follows */
    pthread_cond_t stop_asked;
    char events[EVENTS_KEPT][EVENT_BYTES];
    uint64_t event_count;
    Stream *streams;
    Incoming *asleep; /* until something was derived */
    bool stopping;
    pthread_t beater;
};

/* One request while it comes in, and while what it asks for is derived. */
struct Incoming {
    Arena arena;
    AskedBefore before;
    struct MHD_Connection *connection;
    struct Incoming *next; /* of those that sleep */
    Buffer body;
    bool too_large;
};

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

/* --- changes --------------------------------------------------------------------------------- */

static void lock(Http *http) {
    CHECK(pthread_mutex_lock(&http->lock) == 0);
}

static void unlock(Http *http) {
    CHECK(pthread_mutex_unlock(&http->lock) == 0);
}

/* Wakes every stream; `beat`: also without anything to tell. Under the lock. */
static void wake_streams(Http *http, bool beat) {
    for (Stream *stream = http->streams; stream != NULL; stream = stream->next) {
        stream->beat |= beat;
        if (stream->asleep) {
            stream->asleep = false;
            MHD_resume_connection(stream->connection);
        }
    }
}

/* `event`: "" for a change. Under the lock. */
static void tell(Http *http, const char *event, StoreJob job, StoreAct act) {
    snprintf(http->events[http->event_count % EVENTS_KEPT], EVENT_BYTES,
             "id: %llu\n%sdata: {\"job\":%lld,\"act\":%lld}\n\n",
             (unsigned long long)http->event_count, event, (long long)job, (long long)act);
    http->event_count++;
    wake_streams(http, false);
}

static void tell_change(Http *http, StoreJob job, StoreAct act) {
    lock(http);
    tell(http, "", job, act);
    unlock(http);
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
    if (kind == LIVE_FULL) {
        tell(http, "event: derived\n", job, 0);
    }
    unlock(http);
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

/* Copies the text without its end, if there is room; what was copied. */
static ssize_t copy_bytes(char *out, size_t room, const char *text) {
    size_t length = 0;
    for (; length < room && text[length] != '\0'; length++) {
        out[length] = text[length];
    }
    return text[length] == '\0' ? (ssize_t)length : 0;
}

static ssize_t stream_read(void *context, uint64_t place, char *out, size_t room) {
    (void)place;
    Stream *stream = context;
    Http *http = stream->http;
    ssize_t length = 0;
    lock(http);
    if (http->stopping) {
        length = MHD_CONTENT_READER_END_OF_STREAM;
    } else if (stream->at < http->event_count) {
        if (http->event_count - stream->at >
            EVENTS_KEPT) { /* it slept too long: the last will do */
            stream->at = http->event_count - 1;
        }
        const char *event = http->events[stream->at % EVENTS_KEPT];
        length = copy_bytes(out, room, event);
        stream->at += length > 0 ? 1 : 0;
    } else if (stream->beat) {
        length = copy_bytes(out, room, ":\n\n");
    } else {
        stream->asleep = true;
        MHD_suspend_connection(stream->connection);
    }
    stream->beat = false;
    unlock(http);
    return length;
}

static void stream_free(void *context) {
    Stream *stream = context;
    Http *http = stream->http;
    lock(http);
    for (Stream **at = &http->streams; *at != NULL; at = &(*at)->next) {
        if (*at == stream) {
            *at = stream->next;
            break;
        }
    }
    unlock(http);
    free(stream);
}

static enum MHD_Result send_stream(Http *http, struct MHD_Connection *connection) {
    Stream *stream = calloc(1, sizeof *stream);
    if (stream == NULL) {
        return MHD_NO;
    }
    stream->http = http;
    stream->connection = connection;
    stream->beat = true; /* says at once that it is open */
    lock(http);
    stream->at = http->event_count;
    stream->next = http->streams;
    http->streams = stream;
    unlock(http);
    struct MHD_Response *response =
        MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, 1024, stream_read, stream, stream_free);
    add_headers(response, "text/event-stream", false);
    return queue(connection, MHD_HTTP_OK, response);
}

/* Lets quiet streams say that they are open. */
static void *beat(void *context) {
    Http *http = context;
    lock(http);
    while (!http->stopping) {
        struct timespec until;
        clock_gettime(CLOCK_REALTIME, &until);
        until.tv_sec += EVENT_BEAT_S;
        pthread_cond_timedwait(&http->stop_asked, &http->lock, &until);
        wake_streams(http, true);
    }
    unlock(http);
    return NULL;
}

/* --- requests -------------------------------------------------------------------------------- */

/* "127.0.0.1:8080", "localhost:8080", "[::1]:8080": nothing else is us, whatever a name server
 * says. */
static bool host_is_ours(const Http *http, const char *host) {
    static const char *const NAMES[] = {"127.0.0.1", "localhost", "[::1]"};
    for (size_t i = 0; host != NULL && i < sizeof NAMES / sizeof *NAMES; i++) {
        char ours[32];
        snprintf(ours, sizeof ours, "%s:%u", NAMES[i], http->port);
        if (strcmp(ours, host) == 0) {
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
                             const char *method) {
    const char *host = header(connection, MHD_HTTP_HEADER_HOST);
    const char *origin = header(connection, "Origin");
    const char *site = header(connection, "Sec-Fetch-Site");
    if (!host_is_ours(http, host)) {
        return "this desk is not called that";
    }
    if (origin != NULL && (strncmp(origin, "http://", 7) != 0 || strcmp(origin + 7, host) != 0)) {
        return "this comes from a page of another site";
    }
    if (site != NULL && strcmp(site, "cross-site") == 0 && strcmp(method, "GET") != 0) {
        return "this comes from a page of another site";
    }
    return NULL;
}

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

static bool is_stopping(Http *http) {
    lock(http);
    bool stopping = http->stopping;
    unlock(http);
    return stopping;
}

static enum MHD_Result answer_api(Http *http, struct MHD_Connection *connection, const char *path,
                                  const char *method, Incoming *incoming) {
    Values values = {.count = 0};
    MHD_get_connection_values(connection, MHD_GET_ARGUMENT_KIND, take_value, &values);
    Asked asked = {
        .method = method,
        .path = path,
        .values = values.values,
        .value_count = values.count,
        .body = incoming->body.bytes == NULL ? "" : incoming->body.bytes,
        .body_length = incoming->body.length,
        .person = http->person,
        .who = WHO_DESIGN,
        .before = &incoming->before,
    };
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
    if (answer.changed != STORE_NO_JOB) {
        tell_change(http, answer.changed, answer.act);
    }
    struct MHD_Response *response = MHD_create_response_from_buffer(
        answer.length, (void *)(uintptr_t)answer.bytes, MHD_RESPMEM_MUST_COPY);
    add_headers(response, answer.type, false);
    return queue(connection, answer.code, response);
}

static enum MHD_Result finish(Http *http, struct MHD_Connection *connection, const char *path,
                              const char *method, Incoming *incoming) {
    const char *why_not = forbidden(http, connection, method);
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
    if (get && strcmp(path, "/api/events") == 0) {
        return send_stream(http, connection);
    }
    const Page *page = get ? page_find(path) : NULL;
    return page != NULL ? send_page(connection, page)
                        : answer_api(http, connection, path, method, incoming);
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
        return MHD_YES;
    }
    if (*data_length > 0) {
        if (incoming->body.length + *data_length > ANSWER_BODY_BYTES) {
            incoming->too_large = true;
        } else {
            buffer_add(&incoming->body, data, *data_length);
        }
        *data_length = 0;
        return MHD_YES;
    }
    return finish(context, connection, path, method, incoming);
}

static void done(void *context, struct MHD_Connection *connection, void **kept,
                 enum MHD_RequestTerminationCode code) {
    (void)context;
    (void)connection;
    (void)code;
    Incoming *incoming = *kept;
    if (incoming != NULL) {
        arena_free(&incoming->arena);
        free(incoming);
        *kept = NULL;
    }
}

/* --- starting, stopping ---------------------------------------------------------------------- */

Status http_start(Desk *desk, const HttpOptions *options, Http **http) {
    *http = NULL;
    Http *started = calloc(1, sizeof *started);
    if (started == NULL) {
        return status_failed("cannot serve", desk_shop(desk), ENOMEM);
    }
    started->desk = desk;
    started->person = options->person;
    pthread_mutex_init(&started->lock, NULL);
    pthread_cond_init(&started->stop_asked, NULL);
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons(options->port)};
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    started->daemon = MHD_start_daemon(
        MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_EPOLL | MHD_ALLOW_SUSPEND_RESUME, options->port,
        NULL, NULL, handle, started, MHD_OPTION_SOCK_ADDR, (struct sockaddr *)&address,
        MHD_OPTION_THREAD_POOL_SIZE, options->threads == 0 ? HTTP_THREADS : options->threads,
        MHD_OPTION_CONNECTION_LIMIT, (unsigned)HTTP_CONNECTIONS, MHD_OPTION_CONNECTION_TIMEOUT,
        (unsigned)HTTP_TIMEOUT_S, MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)HTTP_CONNECTION_BYTES,
        MHD_OPTION_NOTIFY_COMPLETED, done, started, MHD_OPTION_STRICT_FOR_CLIENT, 1,
        MHD_OPTION_END);
    if (started->daemon == NULL) {
        int error = errno;
        char where[32];
        snprintf(where, sizeof where, "127.0.0.1:%u", options->port);
        free(started);
        return status_failed("cannot listen on", where, error);
    }
    const union MHD_DaemonInfo *info =
        MHD_get_daemon_info(started->daemon, MHD_DAEMON_INFO_BIND_PORT);
    started->port = info == NULL ? options->port : info->port;
    desk_on_derived(desk, derived, started);
    CHECK(pthread_create(&started->beater, NULL, beat, started) == 0);
    *http = started;
    return status_ok();
}

uint16_t http_port(const Http *http) {
    return http->port;
}

void http_stop(Http *http) {
    if (http == NULL) {
        return;
    }
    lock(http);
    http->stopping = true;
    wake_streams(http, true);
    wake_asleep(http);
    pthread_cond_signal(&http->stop_asked);
    unlock(http);
    desk_on_derived(http->desk, NULL, NULL);
    pthread_join(http->beater, NULL);
    MHD_stop_daemon(http->daemon);
    pthread_cond_destroy(&http->stop_asked);
    pthread_mutex_destroy(&http->lock);
    free(http);
}
