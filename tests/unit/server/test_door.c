/* The door without a network: how long one waits after wrong passwords, with the clock in hand;
 * whom a token is taken for; where the desk listens. */
#include <arpa/inet.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "server/door.h"
#include "server/listen.h"

enum { NOW_S = 1780000000 };

static Door *open_door(void) {
    static const DoorOptions OPTIONS = {.signs_in = true, .person = "", .url = ""};
    return door_open(&OPTIONS);
}

/* A wrong try at that moment; how long to wait instead of it. */
static unsigned try_at(Door *door, const char *name, const char *address, int64_t now_s) {
    unsigned wait_s = door_try(door, name, address, now_s);
    if (wait_s == 0) {
        door_tried(door);
    }
    return wait_s;
}

static void waits_grow(void **state) {
    (void)state;
    Door *door = open_door();
    int64_t now_s = NOW_S;
    unsigned last_s = 0;
    for (int i = 0; i <= DOOR_FREE_TRIES; i++) {
        assert_int_equal(try_at(door, "Ada", "192.0.2.1", now_s), 0);
    }
    for (int i = 0; i < 20; i++) {
        unsigned wait_s = try_at(door, "Ada", "192.0.2.1", now_s);
        assert_true(wait_s >= last_s && wait_s <= DOOR_ADDRESS_LONGEST_S && wait_s > 0);
        assert_true(try_at(door, "Ada", "192.0.2.1", now_s + wait_s - 1) == 1);
        now_s += wait_s;
        assert_int_equal(try_at(door, "Ada", "192.0.2.1", now_s), 0);
        last_s = wait_s;
    }
    assert_int_equal(last_s, DOOR_ADDRESS_LONGEST_S);
    /* The name alone waits less: a stranger can't keep somebody out for long. */
    unsigned name_s = try_at(door, "aDA", "192.0.2.2", now_s);
    assert_true(name_s > 0 && name_s <= DOOR_NAME_LONGEST_S);
    assert_int_equal(try_at(door, "Bo", "192.0.2.2", now_s), 0);
    /* After an hour of quiet it begins anew. */
    assert_int_equal(try_at(door, "Ada", "192.0.2.1", now_s + DOOR_FORGETS_S + 1), 0);
    assert_int_equal(try_at(door, "Ada", "192.0.2.1", now_s + DOOR_FORGETS_S + 1), 0);
    door_close(door);
}

static void the_right_password_clears(void **state) {
    (void)state;
    Door *door = open_door();
    for (int i = 0; i <= DOOR_FREE_TRIES; i++) {
        assert_int_equal(try_at(door, "Ada", "192.0.2.1", NOW_S), 0);
    }
    assert_true(try_at(door, "Ada", "192.0.2.1", NOW_S) > 0);
    door_welcome(door, "Ada", "192.0.2.1");
    assert_int_equal(try_at(door, "Ada", "192.0.2.1", NOW_S), 0);
    door_close(door);
}

/* A hundred thousand names and addresses do not push out the one that is being guessed. */
static void a_crowd_hides_nobody(void **state) {
    (void)state;
    Door *door = open_door();
    for (int i = 0; i <= DOOR_FREE_TRIES + 3; i++) {
        try_at(door, "Ada", "192.0.2.1", NOW_S + 100 * i);
    }
    int64_t now_s = NOW_S + 100 * (DOOR_FREE_TRIES + 3);
    assert_true(try_at(door, "Ada", "192.0.2.1", now_s) > 0);
    for (int i = 0; i < 100000; i++) {
        char name[32];
        char address[32];
        snprintf(name, sizeof name, "nobody %d", i);
        snprintf(address, sizeof address, "192.0.%d.%d", i / 200, i % 200);
        try_at(door, name, address, now_s);
    }
    assert_true(try_at(door, "Ada", "192.0.2.1", now_s) > 0);
    door_close(door);
}

static void few_passwords_are_hashed_at_once(void **state) {
    (void)state;
    Door *door = open_door();
    assert_int_equal(door_try(door, "a", "192.0.2.1", NOW_S), 0);
    assert_int_equal(door_try(door, "b", "192.0.2.2", NOW_S), 0);
    assert_int_equal(door_try(door, "c", "192.0.2.3", NOW_S), 1); /* their number is bounded */
    door_tried(door);
    assert_int_equal(door_try(door, "c", "192.0.2.3", NOW_S), 0);
    door_tried(door);
    door_tried(door);
    door_close(door);
}

/* --- addresses ------------------------------------------------------------------------------- */

static void places_are_read(void **state) {
    (void)state;
    static const struct {
        const char *text;
        bool good;
        uint16_t port;
        bool loopback;
        bool open;
    } PLACES[] = {
        {"192.168.1.5", true, 8612, false, false},
        {"192.168.1.5:80", true, 80, false, false},
        {"0.0.0.0", true, 8612, false, true},
        {"127.0.0.1:1", true, 1, true, false},
        {"::", true, 8612, false, true},
        {"[::]:99", true, 99, false, true},
        {"::1", true, 8612, true, false},
        {"[fd00::2]", true, 8612, false, false},
        {"", false, 0, false, false},
        {"desk.local", false, 0, false, false},
        {"192.168.1.5:", false, 0, false, false},
        {"192.168.1.5:x", false, 0, false, false},
        {"192.168.1.5:70000", false, 0, false, false},
        {"192.168.1.5:-1", false, 0, false, false},
        {"[::1", false, 0, false, false},
        {"[::1]x", false, 0, false, false},
        {":80", false, 0, false, false},
        {"192.168.1.5:8 ", false, 0, false, false},
    };
    for (size_t i = 0; i < sizeof PLACES / sizeof *PLACES; i++) {
        ListenAt at;
        const char *fault = listen_parse(PLACES[i].text, 8612, &at);
        assert_true((fault == NULL) == PLACES[i].good);
        if (fault == NULL) {
            assert_int_equal(at.port, PLACES[i].port);
            assert_true(at.loopback == PLACES[i].loopback && at.open == PLACES[i].open);
        }
    }
}

static void near_is_told_from_far(void **state) {
    (void)state;
    static const struct {
        const char *text;
        bool near;
        const char *counted;
    } ADDRESSES[] = {
        {"10.0.0.1", true, "10.0.0.1"},
        {"172.16.0.1", true, "172.16.0.1"},
        {"172.31.255.255", true, "172.31.255.255"},
        {"172.32.0.1", false, "172.32.0.1"},
        {"192.168.255.1", true, "192.168.255.1"},
        {"192.169.0.1", false, "192.169.0.1"},
        {"169.254.1.1", true, "169.254.1.1"},
        {"127.9.9.9", true, "127.9.9.9"},
        {"8.8.8.8", false, "8.8.8.8"},
        {"::1", true, "::/64"},
        {"fd12:3456:789a:1:2:3:4:5", true, "fd12:3456:789a:1::/64"},
        {"fe80::1", true, "fe80::/64"},
        {"2001:db8::1", false, "2001:db8::/64"},
        {"::ffff:192.168.1.1", true, "192.168.1.1"},
        {"::ffff:8.8.8.8", false, "8.8.8.8"},
    };
    for (size_t i = 0; i < sizeof ADDRESSES / sizeof *ADDRESSES; i++) {
        ListenAt at = {.port = 0};
        char text[LISTEN_TEXT_BYTES];
        if (inet_pton(AF_INET, ADDRESSES[i].text, &at.address.four.sin_addr) == 1) {
            at.address.four.sin_family = AF_INET;
        } else {
            assert_int_equal(inet_pton(AF_INET6, ADDRESSES[i].text, &at.address.six.sin6_addr), 1);
            at.address.six.sin6_family = AF_INET6;
        }
        assert_true(listen_is_private(&at.address.any) == ADDRESSES[i].near);
        listen_peer_text(&at.address.any, text);
        assert_string_equal(text, ADDRESSES[i].counted);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(waits_grow),           cmocka_unit_test(the_right_password_clears),
        cmocka_unit_test(a_crowd_hides_nobody), cmocka_unit_test(few_passwords_are_hashed_at_once),
        cmocka_unit_test(places_are_read),      cmocka_unit_test(near_is_told_from_far),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
