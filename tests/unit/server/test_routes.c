/* Every route of the desk asked as everybody: designer, bench, buyer, a customer by link, nobody.
 * The list here is apart from the desk's own, so that a right given by mistake is found; a route
 * that is missing here fails the test. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/source.h"
#include "base/file.h"
#include "server/door.h"

enum { ROLES = 5, VALUES = 4, ROUTES_MOST = 128 };

static const unsigned WHO[ROLES] = {WHO_DESIGN, WHO_BENCH, WHO_BUY, WHO_CUSTOMER, WHO_NOBODY};
static const char LETTERS[ROLES + 1] = "dbycn";

/* One question: how it is asked so that it is answered, and with which code; whose it is ("dbycn").
 */
typedef struct Question {
    const char *method;
    const char *path;
    const char *query;
    const char *body;
    const char *whose;
    unsigned code;
} Question;

#define FIRST "job=first"
#define PASSWORD "four words of nonsense"

static const Question QUESTIONS[] = {
    {"GET", "/api/shop", "", "", "dby", 200},
    {"GET", "/api/schema", "", "", "dby", 200},
    {"GET", "/api/job", FIRST, "", "dby", 200},
    {"GET", "/api/table", FIRST "&table=unit", "", "dby", 200},
    {"GET", "/api/sheets", FIRST, "", "dby", 200},
    {"GET", "/api/sheet", FIRST "&sheet=power-1", "", "dby", 200},
    {"GET", "/api/why", FIRST "&key=W0008", "", "dby", 200},
    {"GET", "/api/fail", FIRST "&keys=W0008:open", "", "dby", 200},
    {"GET", "/api/geometry", FIRST, "", "dby", 200},
    {"GET", "/api/drawn", FIRST "&key=W0008", "", "dby", 200},
    {"GET", "/api/trial", FIRST "&keys=W0008:open", "", "dby", 200},
    {"GET", "/api/search", FIRST "&words=w0008", "", "dby", 200},
    {"GET", "/api/log", FIRST, "", "dby", 200},
    {"POST", "/api/edit", "",
     "{\"job\":\"first\",\"edits\":[{\"table\":\"accept\",\"after\":{\"rule\":\"x\"}}]}", "d", 422},
    {"POST", "/api/undo", "", "{\"job\":\"library\"}", "d", 200},
    {"POST", "/api/redo", "", "{\"job\":\"library\"}", "d", 200},
    {"POST", "/api/keep", "", "{\"job\":\"first\"}", "d", 400},
    {"GET", "/api/bench/progress", FIRST, "", "dby", 200},
    {"GET", "/api/bench/work", FIRST "&module=none", "", "dby", 404},
    {"GET", "/api/bench/ring", FIRST "&module=none", "", "dby", 404},
    {"GET", "/api/bench/kept", FIRST, "", "dby", 200},
    {"GET", "/api/bench/photo", FIRST "&hash=0", "", "dby", 404},
    {"POST", "/api/bench/add", "", "{\"job\":\"first\",\"rows\":[{}]}", "db", 200},
    {"GET", "/api/me", "", "", "dbycn", 200},
    {"POST", "/api/sign-in", "", "{\"name\":\"Ada\"}", "dbycn", 400},
    {"POST", "/api/sign-out", "", "{}", "dby", 200},
    {"POST", "/api/password", "", "{\"now\":\"x\"}", "dby", 400},
    {"GET", "/api/people", "", "", "d", 200},
    {"POST", "/api/people/admit", "", "{\"name\":\"Di\",\"role\":\"boss\"}", "d", 422},
    {"POST", "/api/people/dismiss", "", "{\"name\":\"Zoe\"}", "d", 404},
    {"POST", "/api/people/role", "", "{\"name\":\"Zoe\",\"role\":\"bench\"}", "d", 404},
    {"POST", "/api/people/password", "", "{\"name\":\"Bo\",\"password\":\"short\"}", "d", 422},
    {"GET", "/api/door", "", "", "d", 200},
    {"GET", "/api/today", "", "", "dby", 200},
    {"GET", "/api/brief", FIRST, "", "dby", 200},
    {"GET", "/api/weigh", FIRST "&option=O1&chosen=maybe", "", "dby", 400},
    {"POST", "/api/choose", "", "{\"job\":\"first\",\"option\":\"O9\",\"chosen\":\"no\"}", "d",
     404},
    {"GET", "/api/offer", FIRST, "", "dbyc", 409}, /* this job has no panel */
    {"GET", "/api/offer/picture", FIRST, "", "dbyc", 409},
    {"POST", "/api/offer/choose", "", "{\"option\":\"O9\",\"chosen\":\"no\"}", "c", 404},
    {"POST", "/api/offer/approve", "", "{\"hash\":\"0\",\"name\":\"Cleo\"}", "c", 409},
    {"POST", "/api/link", "", "{\"job\":\"first\",\"what\":\"Cleo\",\"days\":99}", "d", 400},
    {"GET", "/api/links", FIRST, "", "dby", 200},
    {"POST", "/api/link/end", "", "{\"job\":\"first\",\"link\":99}", "d", 404},
    {"POST", "/api/pack", "", "{\"job\":\"first\",\"what\":\"Cleo\"}", "d", 409},
    {"POST", "/api/code", "", "{\"job\":\"first\",\"code\":\"7\",\"name\":\"Cleo\"}", "d", 422},
    {"GET", "/api/books", FIRST, "", "dby", 200},
    {"POST", "/api/book", "", "{\"job\":\"library\"}", "d", 400},
    {"POST", "/api/book/stop", "", "{\"job\":\"first\"}", "d", 200},
    {"GET", "/api/book/file", FIRST "&book=1", "", "dby", 404},
    {"GET", "/api/panel", FIRST, "", "dby", 409}, /* this job has no panel */
    {"GET", "/api/panel/picture", FIRST, "", "dby", 409},
    {"POST", "/api/panel/try", FIRST, "{\"job\":\"first\"}", "dby", 409},
    {"GET", "/api/panel/suggest", FIRST, "", "dby", 409},
    {"GET", "/trust", "", "", "dbycn", 404}, /* this desk has no authority */
    {"GET", "/authority.crt", "", "", "dbycn", 404},
};
enum { QUESTION_COUNT = sizeof QUESTIONS / sizeof *QUESTIONS };

typedef struct Bench {
    char folder[64];
    char path[128];
    Desk *desk;
    Door *door;
} Bench;

#define GOOD(call)                                                                                 \
    do {                                                                                           \
        Status good = (call);                                                                      \
        if (good.failed) {                                                                         \
            fail_msg("%s", good.text);                                                             \
        }                                                                                          \
    } while (0)

static int set_up(void **state) {
    static const DoorOptions OPTIONS = {.signs_in = true, .person = "", .url = ""};
    Bench *bench = calloc(1, sizeof *bench);
    Arena arena = {0};
    Findings findings = {.arena = &arena};
    *state = bench;
    snprintf(bench->folder, sizeof bench->folder, "/tmp/marling-routes-XXXXXX");
    assert_non_null(mkdtemp(bench->folder));
    snprintf(bench->path, sizeof bench->path, "%s/shop.db", bench->folder);
    static const char *const JOBS[] = {"first", "second"};
    StoreBy by = {.person = "Ada", .at = "2026-05-11T08:30:00Z", .what = "test"};
    for (size_t i = 0; i < 2; i++) {
        SourceName name = {.shop = bench->path, .job = JOBS[i], .revision = ""};
        size_t changed = 0;
        GOOD(source_import(&arena, MARLING_SOURCE_DIR "/examples/first",
                           MARLING_SOURCE_DIR "/library", &name, &by, &changed, &findings));
    }
    GOOD(desk_open(bench->path, &bench->desk));
    bench->door = door_open(&OPTIONS);
    arena_free(&arena);
    return 0;
}

static int tear_down(void **state) {
    Bench *bench = *state;
    door_close(bench->door);
    desk_close(bench->desk);
    file_remove_folder(bench->folder);
    free(bench);
    return 0;
}

static size_t read_values(char *text, AskedValue values[VALUES]) {
    size_t count = 0;
    for (char *save = NULL, *word = strtok_r(text, "&", &save); word != NULL;
         word = strtok_r(NULL, "&", &save)) {
        char *equals = strchr(word, '=');
        *equals = '\0';
        values[count++] = (AskedValue){.name = word, .value = equals + 1};
    }
    return count;
}

static Answer ask(Bench *bench, Arena *arena, const Question *question, unsigned who,
                  StoreJob of_link) {
    AskedValue values[VALUES];
    char *query = arena_text(arena, question->query, strlen(question->query));
    Asked asked = {
        .method = question->method,
        .path = question->path,
        .values = values,
        .value_count = read_values(query, values),
        .body = question->body,
        .body_length = strlen(question->body),
        .person = "Bo",
        .who = who,
        .address = "192.0.2.1",
        .link = {.link = 1, .job = of_link, .subject = "brief", .person = "Ada", .what = ""},
        .door = bench->door,
    };
    Answer answer;
    answer_ask(bench->desk, arena, &asked, &answer);
    return answer;
}

static const Question *find_question(const AnswerRoute *route) {
    for (size_t i = 0; i < QUESTION_COUNT; i++) {
        if (strcmp(QUESTIONS[i].path, route->path) == 0 &&
            strcmp(QUESTIONS[i].method, route->method) == 0) {
            return &QUESTIONS[i];
        }
    }
    return NULL;
}

/* --- tests ----------------------------------------------------------------------------------- */

static void every_route_is_whose_it_is(void **state) {
    Bench *bench = *state;
    size_t count;
    unsigned asked = 0;
    const AnswerRoute *routes = answer_routes(&count);
    for (size_t i = 0; i < count; i++) {
        const Question *question = find_question(&routes[i]);
        if (question == NULL) {
            fail_msg("%s %s: say in this test whose it is", routes[i].method, routes[i].path);
            return;
        }
        for (size_t role = 0; role < ROLES; role++) {
            Arena arena = {0};
            bool theirs = strchr(question->whose, LETTERS[role]) != NULL;
            unsigned expected = theirs ? question->code : WHO[role] == WHO_NOBODY ? 401U : 403U;
            Answer answer = ask(bench, &arena, question, WHO[role], 1);
            if (answer.code != expected) {
                fail_msg("%s %s as %c: %u instead of %u: %.*s", question->method, question->path,
                         LETTERS[role], answer.code, expected, (int)answer.length, answer.bytes);
            }
            assert_true(theirs || (answer.changed == STORE_NO_JOB && answer.token == NULL));
            arena_free(&arena);
            asked++;
        }
    }
    assert_int_equal(count, QUESTION_COUNT);
    print_message("%zu routes, %u questions\n", count, asked);
}

/* The other method is no way round. */
static void no_route_is_asked_another_way(void **state) {
    Bench *bench = *state;
    for (size_t i = 0; i < QUESTION_COUNT; i++) {
        for (size_t role = 0; role < ROLES; role++) {
            Arena arena = {0};
            Question other = QUESTIONS[i];
            other.method = strcmp(other.method, "GET") == 0 ? "POST" : "GET";
            AnswerRoute route = {.method = other.method, .path = other.path};
            if (find_question(&route) == NULL) {
                assert_int_equal(ask(bench, &arena, &other, WHO[role], 1).code, 405);
            }
            arena_free(&arena);
        }
    }
}

/* Whatever a customer may ask, it is answered of the link's own job alone. */
static void a_link_is_for_one_job(void **state) {
    Bench *bench = *state;
    static const StoreJob OTHERS[] = {2, STORE_LIBRARY, STORE_NO_JOB, 1000};
    for (size_t i = 0; i < QUESTION_COUNT; i++) {
        const Question *question = &QUESTIONS[i];
        bool of_job = strstr(question->query, FIRST) != NULL || strstr(question->body, "\"first\"");
        for (size_t k = 0; of_job && k < sizeof OTHERS / sizeof *OTHERS; k++) {
            Arena arena = {0};
            assert_int_equal(ask(bench, &arena, question, WHO_CUSTOMER, OTHERS[k]).code, 403);
            arena_free(&arena);
        }
    }
}

static void breaches_are_noted(void **state) {
    Bench *bench = *state;
    static const Question BREACH = {"POST", "/api/people/dismiss", "", "{}", "d", 403};
    Arena arena = {0};
    StoreVisit *visits = NULL;
    size_t count = 0;
    for (int i = 0; i < DOOR_NOTES_A_MINUTE + 50; i++) {
        assert_int_equal(ask(bench, &arena, &BREACH, WHO_BENCH, 0).code, 403);
    }
    GOOD(store_visits(desk_store(bench->desk), &arena, 1000, &visits, &count));
    desk_store_done(bench->desk);
    /* Twice as many when a minute went by meanwhile. */
    assert_true(count >= DOOR_NOTES_A_MINUTE && count <= 2 * DOOR_NOTES_A_MINUTE);
    assert_string_equal(visits[0].kind, "not theirs");
    assert_string_equal(visits[0].person, "Bo");
    assert_string_equal(visits[0].what, BREACH.path);
    assert_string_equal(visits[0].address, "192.0.2.1");
    arena_free(&arena);
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        TEST(every_route_is_whose_it_is),
        TEST(no_route_is_asked_another_way),
        TEST(a_link_is_for_one_job),
        TEST(breaches_are_noted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
