/* Any question to the desk, without a socket. The first line is "WHO METHOD PATH?NAME=VALUE&...",
 * WHO one of d(esigner) b(ench) y (buyer) c(ustomer) n(obody); the rest is the body. Never a crash;
 * every answer has a known code, and JSON where it says so; who may not ask a route is refused. */
#include <jansson.h>
#include <stdint.h>

#include "server/door.h"
#include "shop.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { VALUES = 16, ACTS_MOST = 1500 };

static Desk *desk;
static Door *door;

static void close_desk(void) {
    door_close(door);
    desk_close(desk);
    shop_remove();
}

static void open_desk(void) {
    static const DoorOptions OPTIONS = {.signs_in = true, .person = "", .url = "https://desk/"};
    if (desk == NULL) {
        atexit(close_desk);
    } else {
        close_desk();
    }
    desk = shop_open();
    door = door_open(&OPTIONS);
}

static unsigned who_of(char letter) {
    switch (letter) {
    case 'd':
        return WHO_DESIGN;
    case 'b':
        return WHO_BENCH;
    case 'y':
        return WHO_BUY;
    case 'c':
        return WHO_CUSTOMER;
    default:
        return WHO_NOBODY;
    }
}

static size_t read_values(char *text, AskedValue values[VALUES]) {
    size_t count = 0;
    while (text != NULL && count < VALUES) {
        char *next = strchr(text, '&');
        if (next != NULL) {
            *next++ = '\0';
        }
        char *equals = strchr(text, '=');
        if (equals != NULL) {
            *equals++ = '\0';
        }
        values[count++] = (AskedValue){.name = text, .value = equals == NULL ? "" : equals};
        text = next;
    }
    return count;
}

static void check_answer(const Asked *asked, const Answer *answer) {
    static const unsigned CODES[] = {200, 202, 400, 401, 403, 404, 405,
                                     409, 410, 413, 422, 429, 503};
    bool known = false;
    for (size_t i = 0; i < sizeof CODES / sizeof *CODES; i++) {
        known |= answer->code == CODES[i];
    }
    CHECK(known && answer->type != NULL && answer->bytes != NULL);
    if (strcmp(answer->type, "application/json") == 0) {
        json_t *json = json_loadb(answer->bytes, answer->length, JSON_DECODE_ANY, NULL);
        CHECK(json != NULL);
        json_decref(json);
    }
    size_t count;
    const AnswerRoute *routes = answer_routes(&count);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(routes[i].path, asked->path) == 0 &&
            strcmp(routes[i].method, asked->method) == 0 && (routes[i].who & asked->who) == 0) {
            CHECK(answer->code == (asked->who == WHO_NOBODY ? 401 : 403));
            CHECK(answer->changed == STORE_NO_JOB && answer->token == NULL);
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    Arena arena = {0};
    AskedValue values[VALUES];
    if (desk == NULL) {
        open_desk();
    }
    const uint8_t *line_end = size == 0 ? NULL : memchr(data, '\n', size);
    size_t head = line_end == NULL ? size : (size_t)(line_end - data);
    char *line = arena_text(&arena, (const char *)data, head);
    char *method = strlen(line) > 2 ? line + 2 : line + strlen(line);
    char *path = strchr(method, ' ');
    if (path == NULL) {
        arena_free(&arena);
        return 0;
    }
    *path++ = '\0';
    char *query = strchr(path, '?');
    if (query != NULL) {
        *query++ = '\0';
    }
    size_t body = head < size ? head + 1 : size;
    Asked asked = {
        .method = method,
        .path = path,
        .values = values,
        .value_count = read_values(query, values),
        .body = (const char *)data + body,
        .body_length = size - body,
        .person = "Ada",
        .who = who_of(line[0]),
        .address = "192.0.2.1",
        .link = {.link = 1, .job = 1, .subject = "brief", .person = "Ada", .what = ""},
        .door = door,
    };
    Answer answer;
    answer_ask(desk, &arena, &asked, &answer);
    check_answer(&asked, &answer);
    if (answer.act > ACTS_MOST) {
        open_desk();
    }
    arena_free(&arena);
    return 0;
}
