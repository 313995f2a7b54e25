/* The desk under load, over the loopback network, beside a bare libmicrohttpd that sends the same
 * bytes in the same run: questions a second and their 99th percentile; the time from an edit being
 * sent until all of twenty pages show what follows from it (state of the job and a table; then a
 * diagram); a shop file of 2,000 jobs opened, listed and searched. Clients, desk and deriving share
 * the machine. Gated: how often the chain is derived for an edit. */
#include <arpa/inet.h>
#include <microhttpd.h>
#include <netinet/tcp.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/check.h"
#include "server/http.h"

#define LIBRARY MARLING_SOURCE_DIR "/library"
#define EXAMPLES MARLING_SOURCE_DIR "/examples/"

enum { CLIENTS = 20, EACH = 400, EDITS = 40, JOBS = 2000, ANSWER_BYTES = 8 << 20 };

static const StoreBy BY = {.person = "bench", .at = "2026-05-11T08:30:00Z", .what = "bench"};

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void need(Status status) {
    if (status.failed) {
        fprintf(stderr, "bench_desk: %s\n", status.text);
        exit(1);
    }
}

/* --- a client -------------------------------------------------------------------------------- */

typedef struct Client {
    int socket;
    uint16_t port;
    char *answer; /* head and body */
    size_t length;
    const char *body;
} Client;

static void client_open(Client *client, uint16_t port) {
    *client = (Client){.socket = socket(AF_INET, SOCK_STREAM, 0), .port = port};
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons(port)};
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    int one = 1;
    CHECK(client->socket >= 0);
    CHECK(connect(client->socket, (struct sockaddr *)&address, sizeof address) == 0);
    setsockopt(client->socket, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
    client->answer = malloc(ANSWER_BYTES);
    CHECK(client->answer != NULL);
}

static void client_close(Client *client) {
    close(client->socket);
    free(client->answer);
}

/* Reads until the head and as many bytes as it says are there. */
static void client_read(Client *client) {
    client->length = 0;
    size_t wanted = ANSWER_BYTES;
    client->body = NULL;
    while (client->length < wanted) {
        ssize_t got = read(client->socket, client->answer + client->length,
                           ANSWER_BYTES - 1 - client->length);
        CHECK(got > 0);
        client->length += (size_t)got;
        client->answer[client->length] = '\0';
        const char *end = client->body == NULL ? strstr(client->answer, "\r\n\r\n") : NULL;
        if (end != NULL) {
            const char *length = strstr(client->answer, "Content-Length: ");
            CHECK(length != NULL && length < end);
            client->body = end + 4;
            wanted = (size_t)(client->body - client->answer) + strtoul(length + 16, NULL, 10);
        }
    }
    CHECK(strncmp(client->answer, "HTTP/1.1 200", 12) == 0);
}

static void client_get(Client *client, const char *path) {
    char head[256];
    int length = snprintf(head, sizeof head, "GET %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n\r\n", path,
                          client->port);
    CHECK(write(client->socket, head, (size_t)length) == length);
    client_read(client);
}

static void client_post(Client *client, const char *path, const char *body) {
    char head[2048];
    int length = snprintf(head, sizeof head,
                          "POST %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nContent-Type: "
                          "application/json\r\nContent-Length: %zu\r\n\r\n%s",
                          path, client->port, strlen(body), body);
    CHECK(length > 0 && (size_t)length < sizeof head);
    CHECK(write(client->socket, head, (size_t)length) == length);
    client_read(client);
}

/* --- many clients ---------------------------------------------------------------------------- */

typedef struct Crowd {
    uint16_t port;
    const char *path;
    double *took_s; /* CLIENTS * EACH */
} Crowd;

typedef struct Person {
    Crowd *crowd;
    size_t number;
    pthread_t thread;
} Person;

static void *ask_often(void *context) {
    Person *person = context;
    Client client;
    client_open(&client, person->crowd->port);
    for (size_t i = 0; i < EACH; i++) {
        double start_s = now_s();
        client_get(&client, person->crowd->path);
        person->crowd->took_s[person->number * EACH + i] = now_s() - start_s;
    }
    client_close(&client);
    return NULL;
}

static int by_size(const void *a, const void *b) {
    double left = *(const double *)a;
    double right = *(const double *)b;
    return (left > right) - (left < right);
}

static double percentile(double *values, size_t count, double percent) {
    qsort(values, count, sizeof *values, by_size);
    size_t at = (size_t)(percent / 100.0 * (double)count);
    return values[at < count ? at : count - 1];
}

static void crowd_row(const char *who, uint16_t port, const char *path) {
    static double took_s[CLIENTS * EACH];
    Crowd crowd = {port, path, took_s};
    Person people[CLIENTS];
    double start_s = now_s();
    for (size_t i = 0; i < CLIENTS; i++) {
        people[i] = (Person){.crowd = &crowd, .number = i};
        CHECK(pthread_create(&people[i].thread, NULL, ask_often, &people[i]) == 0);
    }
    for (size_t i = 0; i < CLIENTS; i++) {
        pthread_join(people[i].thread, NULL);
    }
    double all_s = now_s() - start_s;
    double rate = CLIENTS * EACH / all_s;
    double p99_ms = 1e3 * percentile(took_s, CLIENTS * EACH, 99.0);
    printf("  %-12s %-34s %9.0f %9.2f\n", who, path, rate, p99_ms);
}

/* --- bare libmicrohttpd ---------------------------------------------------------------------- */

typedef struct Bare {
    const char *bytes;
    size_t length;
} Bare;

static enum MHD_Result bare_answer(void *context, struct MHD_Connection *connection,
                                   const char *path, const char *method, const char *version,
                                   const char *data, size_t *data_length, void **kept) {
    (void)path, (void)method, (void)version, (void)data, (void)data_length;
    const Bare *bare = context;
    if (*kept == NULL) {
        *kept = connection;
        return MHD_YES;
    }
    struct MHD_Response *response = MHD_create_response_from_buffer(
        bare->length, (void *)(uintptr_t)bare->bytes, MHD_RESPMEM_PERSISTENT);
    MHD_add_response_header(response, MHD_HTTP_HEADER_CONTENT_TYPE, "application/json");
    enum MHD_Result result = MHD_queue_response(connection, 200, response);
    MHD_destroy_response(response);
    return result;
}

static void bare_row(const Client *like, const char *path) {
    Bare bare = {like->body, like->length - (size_t)(like->body - like->answer)};
    struct sockaddr_in address = {.sin_family = AF_INET};
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    struct MHD_Daemon *daemon =
        MHD_start_daemon(MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_EPOLL, 0, NULL, NULL,
                         bare_answer, &bare, MHD_OPTION_SOCK_ADDR, (struct sockaddr *)&address,
                         MHD_OPTION_THREAD_POOL_SIZE, 4U, MHD_OPTION_END);
    CHECK(daemon != NULL);
    crowd_row("bare", MHD_get_daemon_info(daemon, MHD_DAEMON_INFO_BIND_PORT)->port, path);
    MHD_stop_daemon(daemon);
}

static void questions(uint16_t port) {
    static const char *const PATHS[] = {"/api/job?job=osier_mended",
                                        "/api/shop",
                                        "/api/table?job=osier_mended&table=unit",
                                        "/api/search?job=osier_mended&words=PFD",
                                        "/api/table?job=osier_mended&table=conductor",
                                        "/api/sheet?job=osier_mended&sheet=power-1"};
    printf("%d clients, %d questions each, kept connections\n", CLIENTS, EACH);
    printf("  %-12s %-34s %9s %9s\n", "who", "asked", "a second", "p99 ms");
    for (size_t i = 0; i < sizeof PATHS / sizeof *PATHS; i++) {
        Client client;
        client_open(&client, port);
        client_get(&client, PATHS[i]); /* derived beforehand */
        crowd_row("desk", port, PATHS[i]);
        bare_row(&client, PATHS[i]);
        client_close(&client);
    }
}

/* --- edit to page ---------------------------------------------------------------------------- */

typedef struct Watch {
    uint16_t port;
    const char *second; /* asked after the state of the job */
    pthread_barrier_t edited;
    pthread_barrier_t shown;
    double start_s;
    double took_s[EDITS][CLIENTS];
} Watch;

typedef struct Watcher {
    Watch *watch;
    size_t number;
    pthread_t thread;
} Watcher;

/* A page: told of the edit (as all are at one time), it asks what it shows. */
static void *watch_edits(void *context) {
    Watcher *watcher = context;
    Watch *watch = watcher->watch;
    Client client;
    client_open(&client, watch->port);
    for (size_t i = 0; i < EDITS; i++) {
        pthread_barrier_wait(&watch->edited);
        client_get(&client, "/api/job?job=osier_mended");
        client_get(&client, watch->second);
        watch->took_s[i][watcher->number] = now_s() - watch->start_s;
        pthread_barrier_wait(&watch->shown);
    }
    client_close(&client);
    return NULL;
}

static void edits_row(Desk *desk, uint16_t port, const char *second, double most_for_an_edit) {
    static Watch watch;
    watch = (Watch){.port = port, .second = second};
    pthread_barrier_init(&watch.edited, NULL, CLIENTS + 1);
    pthread_barrier_init(&watch.shown, NULL, CLIENTS + 1);
    Watcher watchers[CLIENTS];
    for (size_t i = 0; i < CLIENTS; i++) {
        watchers[i] = (Watcher){.watch = &watch, .number = i};
        CHECK(pthread_create(&watchers[i].thread, NULL, watch_edits, &watchers[i]) == 0);
    }
    Client client;
    client_open(&client, port);
    uint64_t before = desk_live_count(desk, NULL);
    for (size_t i = 0; i < EDITS; i++) {
        watch.start_s = now_s();
        client_post(&client, i % 2 == 0 ? "/api/undo" : "/api/redo", "{\"job\":\"osier_mended\"}");
        pthread_barrier_wait(&watch.edited);
        pthread_barrier_wait(&watch.shown);
    }
    uint64_t made = desk_live_count(desk, NULL) - before;
    for (size_t i = 0; i < CLIENTS; i++) {
        pthread_join(watchers[i].thread, NULL);
    }
    client_close(&client);
    pthread_barrier_destroy(&watch.edited);
    pthread_barrier_destroy(&watch.shown);
    double *all = &watch.took_s[0][0];
    double median_ms = 1e3 * percentile(all, (size_t)EDITS * CLIENTS, 50.0);
    double p99_ms = 1e3 * percentile(all, (size_t)EDITS * CLIENTS, 99.0);
    double for_an_edit = (double)made / EDITS;
    printf("  %-46s %9.1f %9.1f %12.2f\n", second, median_ms, p99_ms, for_an_edit);
    if (for_an_edit > most_for_an_edit) {
        fprintf(stderr, "bench_desk: derived %.2f times for an edit, more than %.2f\n", for_an_edit,
                most_for_an_edit);
        exit(1);
    }
}

/* --- a shop of many jobs --------------------------------------------------------------------- */

static void import_folder(Store *store, const char *folder, const char *name, int times) {
    Arena arena = {0};
    TableSet set = {0};
    Findings findings = {.arena = &arena};
    need(table_read_folder(&arena, LIBRARY, GROUP_LIBRARY, &set, &findings));
    need(table_read_folder(&arena, folder, GROUP_JOB, &set, &findings));
    table_check(&arena, &set, &findings);
    StoreJob job;
    size_t changed;
    if (times == 1) {
        need(store_import(store, &BY, "library", &set, &job, &changed));
    }
    for (int i = 0; i < times; i++) {
        const char *own = times == 1 ? name : arena_format(&arena, "%s_%04d", name, i);
        need(store_import(store, &BY, own, &set, &job, &changed));
    }
    arena_free(&arena);
}

/* An edit that is undone and redone afterwards. */
static void edit_once(Store *store) {
    Arena arena = {0};
    StoreJob job;
    need(store_find_job(store, &arena, "osier_mended", &job, NULL));
    TableSet set = {0};
    StoreAct *acts = NULL;
    need(store_read_table(store, &arena, job, TABLE_unit, &set, &acts));
    UnitRow after = set.unit.rows[0];
    after.role = "as the bench calls it";
    StoreEdit edit = {.table = TABLE_unit, .before = &set.unit.rows[0], .after = &after};
    StoreAnswer answer;
    need(store_edit(store, &arena, job, &BY, &edit, 1, &answer));
    CHECK(answer.refusal == STORE_DONE);
    arena_free(&arena);
}

static void many_jobs(const char *path) {
    Store *store;
    need(store_open(path, STORE_CREATE, &store));
    double start_s = now_s();
    import_folder(store, EXAMPLES "first", "first", JOBS);
    double import_s = now_s() - start_s;
    store_close(store);
    start_s = now_s();
    Desk *desk;
    need(desk_open(path, &desk));
    double open_s = now_s() - start_s;
    Http *http;
    need(http_start(desk, &(HttpOptions){.at = listen_here(0), .person = "bench"}, &http));
    Client client;
    client_open(&client, http_port(http));
    static const char *const PATHS[] = {"/api/shop", "/api/shop", "/api/job?job=first_1234",
                                        "/api/search?job=first_1234&words=BAT",
                                        "/api/search?job=first_1234&words=BAT"};
    printf("\na shop file of %d jobs: filled in %.1f s, opened in %.1f ms\n", JOBS + 1, import_s,
           1e3 * open_s);
    for (size_t i = 0; i < sizeof PATHS / sizeof *PATHS; i++) {
        start_s = now_s();
        client_get(&client, PATHS[i]);
        printf("  %-46s %9.1f ms, %zu bytes\n", PATHS[i], 1e3 * (now_s() - start_s), client.length);
    }
    client_close(&client);
    http_stop(http);
    desk_close(desk);
}

int main(void) {
    char folder[] = "/tmp/marling-bench-XXXXXX";
    CHECK(mkdtemp(folder) != NULL);
    char path[64];
    snprintf(path, sizeof path, "%s/shop.db", folder);
    Store *store;
    need(store_open(path, STORE_CREATE, &store));
    import_folder(store, EXAMPLES "osier_mended", "osier_mended", 1);
    edit_once(store);
    store_close(store);
    Desk *desk;
    Http *http;
    need(desk_open(path, &desk));
    need(http_start(desk, &(HttpOptions){.at = listen_here(0), .person = "bench"}, &http));
    questions(http_port(http));
    printf("\nan edit until %d pages show what follows from it\n", CLIENTS);
    printf("  %-46s %9s %9s %12s\n", "beside the state of the job", "median ms", "p99 ms",
           "derived");
    edits_row(desk, http_port(http), "/api/table?job=osier_mended&table=unit", 1.05);
    edits_row(desk, http_port(http), "/api/table?job=osier_mended&table=conductor", 1.05);
    edits_row(desk, http_port(http), "/api/sheet?job=osier_mended&sheet=power-1", 2.1);
    http_stop(http);
    desk_close(desk);
    many_jobs(path);
    char command[96];
    snprintf(command, sizeof command, "rm -r %s", folder);
    return system(command) == 0 ? 0 : 1;
}
