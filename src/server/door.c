#include "server/door.h"

#include <pthread.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"

enum {
    TRIES_SETS = 512, /* a power of two */
    TRIES_IN_SET = 8
};

/* What was tried for one name or from one address. */
typedef struct Tries {
    uint64_t key; /* keyed hash: strangers can't choose what falls together */
    unsigned count;
    int64_t last_s;
    int64_t next_s; /* the next may not be made before */
} Tries;

struct Door {
    DoorOptions options;
    unsigned char secret[crypto_shorthash_KEYBYTES];
    pthread_mutex_t lock; /* of what follows */
    Tries tries[TRIES_SETS][TRIES_IN_SET];
    unsigned hashing;
    int64_t note_minute;
    unsigned notes;
    unsigned unwritten;
};

static void lock(Door *door) {
    CHECK(pthread_mutex_lock(&door->lock) == 0);
}

static void unlock(Door *door) {
    CHECK(pthread_mutex_unlock(&door->lock) == 0);
}

Door *door_open(const DoorOptions *options) {
    CHECK(sodium_init() >= 0);
    Door *door = calloc(1, sizeof *door);
    CHECK(door != NULL);
    door->options = *options;
    randombytes_buf(door->secret, sizeof door->secret);
    pthread_mutex_init(&door->lock, NULL);
    return door;
}

void door_close(Door *door) {
    if (door != NULL) {
        pthread_mutex_destroy(&door->lock);
        free(door);
    }
}

const DoorOptions *door_options(const Door *door) {
    return &door->options;
}

/* --- who asks -------------------------------------------------------------------------------- */

static unsigned who_of(StoreRole role) {
    static const unsigned WHO[ROLE_COUNT] = {WHO_DESIGN, WHO_BENCH, WHO_BUY};
    return WHO[role];
}

static Status recognise_link(Door *door, Desk *desk, Arena *arena, const char *token,
                             Asked *asked) {
    bool found = false;
    Store *store = desk_store(desk);
    Status status = store_find_link(store, arena, token, store_now_s(), &asked->link, &found);
    desk_store_done(desk);
    if (found) {
        asked->who = WHO_CUSTOMER;
        asked->token = token;
        asked->person = arena_format(arena, "customer by link %lld", (long long)asked->link.link);
    } else if (!status.failed) {
        door_note_refused(door, desk, asked, "refused", "", "a link that is over or none");
    }
    return status;
}

Status door_recognise(Door *door, Desk *desk, Arena *arena, const char *session_token,
                      const char *link_token, Asked *asked) {
    Status status = status_ok();
    asked->door = door;
    asked->who = WHO_NOBODY;
    asked->person = "";
    if (link_token != NULL) {
        return recognise_link(door, desk, arena, link_token, asked);
    }
    if (!door->options.signs_in) {
        asked->who = WHO_DESIGN;
        asked->person = door->options.person;
    } else if (session_token != NULL) {
        StoreSession session;
        bool found = false;
        Store *store = desk_store(desk);
        status = store_find_session(store, arena, session_token, store_now_s(), &session, &found);
        desk_store_done(desk);
        if (found) {
            asked->who = who_of(session.person.role);
            asked->token = session_token;
            asked->person = session.person.name;
        }
    }
    return status;
}

bool door_holds(Door *door, Desk *desk, const char *session_token) {
    Arena scratch = {0};
    Asked asked = {.address = ""};
    Status status = door_recognise(door, desk, &scratch, session_token, NULL, &asked);
    arena_free(&scratch);
    return !status.failed && (asked.who & WHO_STAFF) != 0;
}

/* --- trying passwords ------------------------------------------------------------------------ */

/* Kind and text as one key. Names are the same whatever their case, as in the shop file. */
static uint64_t key_of(const Door *door, char kind, const char *text) {
    unsigned char bytes[PEOPLE_NAME_BYTES + 1] = {0};
    unsigned char hash[crypto_shorthash_BYTES];
    bytes[0] = (unsigned char)kind;
    size_t length = 1;
    for (; *text != '\0' && length < sizeof bytes; text++) {
        char c = *text;
        bytes[length++] = (unsigned char)(c >= 'A' && c <= 'Z' ? c + ('a' - 'A') : c);
    }
    crypto_shorthash(hash, bytes, length, door->secret);
    uint64_t key;
    memcpy(&key, hash, sizeof key);
    return key;
}

/* What was tried under a key; the place of what matters least when nothing was. Under the lock. */
static Tries *find_tries(Door *door, uint64_t key, int64_t now_s) {
    Tries *set = door->tries[key % TRIES_SETS];
    Tries *least = &set[0];
    for (size_t i = 0; i < TRIES_IN_SET; i++) {
        if (now_s - set[i].last_s > DOOR_FORGETS_S) {
            set[i].count = 0;
        }
        if (set[i].key == key) {
            return &set[i];
        }
        if (set[i].count < least->count) {
            least = &set[i];
        }
    }
    *least = (Tries){.key = key};
    return least;
}

static void book_try(Tries *tries, unsigned longest_s, int64_t now_s) {
    unsigned over = tries->count < DOOR_FREE_TRIES ? 0 : tries->count - DOOR_FREE_TRIES + 1;
    unsigned wait_s = over == 0 ? 0 : over > 10 ? longest_s : 1U << over;
    tries->count++;
    tries->last_s = now_s;
    tries->next_s = now_s + (wait_s < longest_s ? wait_s : longest_s);
}

unsigned door_try(Door *door, const char *name, const char *address, int64_t now_s) {
    unsigned wait_s = 0;
    lock(door);
    Tries *of_name = find_tries(door, key_of(door, 'n', name), now_s);
    int64_t name_next_s = of_name->next_s;
    Tries *of_address = find_tries(door, key_of(door, 'a', address), now_s);
    int64_t next_s = name_next_s > of_address->next_s ? name_next_s : of_address->next_s;
    if (next_s > now_s) {
        wait_s = (unsigned)(next_s - now_s);
    } else if (door->hashing >= DOOR_HASHES_AT_ONCE) {
        wait_s = 1;
    } else {
        door->hashing++;
        book_try(of_address, DOOR_ADDRESS_LONGEST_S, now_s);
        /* The other may have been put in its place when both fall into one set. */
        book_try(find_tries(door, key_of(door, 'n', name), now_s), DOOR_NAME_LONGEST_S, now_s);
    }
    unlock(door);
    return wait_s;
}

void door_tried(Door *door) {
    lock(door);
    CHECK(door->hashing > 0);
    door->hashing--;
    unlock(door);
}

void door_welcome(Door *door, const char *name, const char *address) {
    const uint64_t keys[2] = {key_of(door, 'n', name), key_of(door, 'a', address)};
    lock(door);
    for (size_t k = 0; k < 2; k++) {
        Tries *set = door->tries[keys[k] % TRIES_SETS];
        for (size_t i = 0; i < TRIES_IN_SET; i++) {
            if (set[i].key == keys[k]) {
                set[i] = (Tries){.key = 0};
            }
        }
    }
    unlock(door);
}

/* --- the log --------------------------------------------------------------------------------- */

void door_note(Desk *desk, const Asked *asked, const char *kind, const char *person,
               const char *what) {
    Arena scratch = {0};
    StoreVisit visit = {
        .at = store_now(&scratch),
        .kind = kind,
        .person = person,
        .address = asked->address == NULL ? "" : asked->address,
        .what = what,
    };
    Store *store = desk_store(desk);
    /* A log that can't be written keeps nobody from work: the disk tells of itself at the next
     * edit. */
    Status status = store_note_visit(store, &visit);
    (void)status;
    desk_store_done(desk);
    arena_free(&scratch);
}

/* True when one more may be written this minute; *unwritten takes how many were not before. */
static bool may_note(Door *door, unsigned *unwritten) {
    int64_t minute = store_now_s() / 60;
    lock(door);
    if (door->note_minute != minute) {
        door->note_minute = minute;
        door->notes = 0;
    }
    bool may = door->notes < DOOR_NOTES_A_MINUTE;
    if (may) {
        door->notes++;
        *unwritten = door->unwritten;
        door->unwritten = 0;
    } else {
        door->unwritten++;
    }
    unlock(door);
    return may;
}

/* What a stranger sends is cut before it is kept. */
static const char *cut(Arena *arena, const char *text) {
    enum { LONGEST = 100 };
    size_t length = strnlen(text, LONGEST);
    if (length == LONGEST) {
        while (length > 0 && ((unsigned char)text[length] & 0xc0) == 0x80) {
            length--; /* not within a character */
        }
    }
    return arena_text(arena, text, length);
}

void door_note_refused(Door *door, Desk *desk, const Asked *asked, const char *kind,
                       const char *person, const char *what) {
    unsigned unwritten = 0;
    if (!may_note(door, &unwritten)) {
        return;
    }
    Arena scratch = {0};
    const char *text = cut(&scratch, what);
    if (unwritten > 0) {
        text = arena_format(&scratch, "%s (and %u refusals before that were too many to write)",
                            text, unwritten);
    }
    door_note(desk, asked, kind, cut(&scratch, person), text);
    arena_free(&scratch);
}
