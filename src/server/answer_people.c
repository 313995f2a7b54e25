/* Who asks, signing in and out, people of the shop, the door log, and the page from which a tablet
 * learns to know the desk. */
#include <jansson.h>
#include <sodium.h>
#include <string.h>

#include "base/text.h"
#include "server/door.h"
#include "server/qr.h"
#include "server/routes.h"

/* --- who asks -------------------------------------------------------------------------------- */

static const char *role_of(unsigned who) {
    return who == WHO_DESIGN     ? store_role_name(ROLE_DESIGNER)
           : who == WHO_BENCH    ? store_role_name(ROLE_BENCH)
           : who == WHO_BUY      ? store_role_name(ROLE_BUYER)
           : who == WHO_CUSTOMER ? "customer"
                                 : "";
}

static void put_me(Asking *asking, const char *person, unsigned who) {
    const Asked *asked = asking->asked;
    json_t *me = json_pack("{s:s, s:s, s:b}", "person", person, "role", role_of(who), "signs_in",
                           asking_signs_in(asking) ? 1 : 0);
    if (who == WHO_CUSTOMER) {
        json_object_set_new(me, "subject", json_string(asked->link.subject));
        json_object_set_new(me, "ends_s", json_integer(asked->link.ends_s));
    }
    asking_put_json(asking, 200, me);
}

void ask_me(Asking *asking) {
    const Asked *asked = asking->asked;
    put_me(asking, asked->person == NULL ? "" : asked->person, asked->who);
}

/* --- signing in and out ---------------------------------------------------------------------- */

/* A text of the body, of at most so many bytes; NULL after refusing. */
static const char *need_text(Asking *asking, const json_t *body, const char *name, size_t most) {
    const char *text = json_string_value(json_object_get(body, name));
    if (text == NULL || strlen(text) > most) {
        asking_refuse(asking, 400,
                      arena_format(asking->arena, "\"%s\" is missing or too long", name), NULL);
        return NULL;
    }
    return text;
}

/* False after refusing: nobody signs in here. */
static bool need_sign_in(Asking *asking) {
    if (!asking_signs_in(asking)) {
        asking_refuse(asking, 409, "nobody signs in at this desk: it is for this machine alone",
                      NULL);
    }
    return asking_signs_in(asking);
}

/* Holds the password against that of the person; false after refusing, when it is not the one, or
 * may not be tried now. */
static bool try_password(Asking *asking, const char *name, const char *password,
                         StorePerson *person, const char **hash) {
    const Asked *asked = asking->asked;
    unsigned wait_s = door_try(asked->door, name, asked->address, store_now_s());
    if (wait_s > 0) {
        asking->answer->wait_s = wait_s;
        door_note_refused(asked->door, asking->desk, asked, "refused", name, "too many tries");
        asking_put_json(asking, 429,
                        json_pack("{s:s, s:I}", "error", "too many tries: wait a while", "wait_s",
                                  (json_int_t)wait_s));
        return false;
    }
    bool found = false;
    *hash = "";
    Store *store = desk_store(asking->desk);
    Status status = store_find_person(store, asking->arena, name, person, hash, &found);
    desk_store_done(asking->desk);
    bool fits = people_hash_fits(*hash, password);
    door_tried(asked->door);
    if (!asking_good(asking, status)) {
        return false;
    }
    if (!fits || !found) {
        door_note_refused(asked->door, asking->desk, asked, "refused", name,
                          "name and password do not fit");
        asking_refuse(asking, 401, "name and password do not fit", NULL);
        return false;
    }
    door_welcome(asked->door, name, asked->address);
    return true;
}

/* A session of the person becomes the answer's; the one by which was asked ends. */
static bool begin_session(Asking *asking, const StorePerson *person, const char *hash) {
    const Asked *asked = asking->asked;
    char token[STORE_TOKEN_BYTES];
    Store *store = desk_store(asking->desk);
    Status status =
        store_begin_session(store, person->person, hash, asked->address, store_now_s(), token);
    if (!status.failed && asked->token != NULL && (asked->who & WHO_STAFF) != 0) {
        status = store_end_session(store, asked->token);
    }
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return false;
    }
    asking->answer->token = arena_text(asking->arena, token, strlen(token));
    asking->answer->people = true;
    return true;
}

void ask_sign_in(Asking *asking) {
    static const unsigned WHO[ROLE_COUNT] = {WHO_DESIGN, WHO_BENCH, WHO_BUY};
    json_t *body = need_sign_in(asking) ? asking_object(asking) : NULL;
    if (body == NULL) {
        return;
    }
    const char *name = need_text(asking, body, "name", PEOPLE_NAME_BYTES);
    const char *password =
        name == NULL ? NULL : need_text(asking, body, "password", PEOPLE_PASSWORD_MOST);
    StorePerson person;
    const char *hash;
    if (password != NULL && try_password(asking, name, password, &person, &hash) &&
        begin_session(asking, &person, hash)) {
        door_note(asking->desk, asking->asked, "in", person.name, store_role_name(person.role));
        put_me(asking, person.name, WHO[person.role]);
    }
    json_decref(body);
}

void ask_sign_out(Asking *asking) {
    const Asked *asked = asking->asked;
    if (!need_sign_in(asking)) {
        return;
    }
    Store *store = desk_store(asking->desk);
    Status status = asked->token == NULL ? status_ok() : store_end_session(store, asked->token);
    desk_store_done(asking->desk);
    if (asking_good(asking, status)) {
        door_note(asking->desk, asked, "out", asked->person, "");
        asking->answer->token = "";
        asking->answer->people = true;
        put_me(asking, "", WHO_NOBODY);
    }
}

/* --- passwords ------------------------------------------------------------------------------- */

/* Sets a new password; false after refusing. *hash is what is kept of it. */
static bool set_password(Asking *asking, const char *name, const char *password,
                         char hash[PEOPLE_HASH_BYTES]) {
    const char *fault = people_password_fault(name, password);
    if (fault != NULL) {
        asking_refuse(asking, 422, fault, NULL);
        return false;
    }
    if (!asking_good(asking, people_hash(password, hash))) {
        return false;
    }
    bool done = false;
    StoreBy by = {
        .person = asking->asked->person, .at = store_now(asking->arena), .what = "password"};
    Store *store = desk_store(asking->desk);
    Status status = store_set_password(store, &by, name, hash, &done);
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return false;
    }
    asking->answer->people = true;
    if (!done) {
        asking_refuse(asking, 404, "nobody of that name works here", NULL);
    }
    return done;
}

/* One's own: who only finds a screen unlocked must not be able to change it. */
void ask_password(Asking *asking) {
    json_t *body = need_sign_in(asking) ? asking_object(asking) : NULL;
    if (body == NULL) {
        return;
    }
    const char *now = need_text(asking, body, "now", PEOPLE_PASSWORD_MOST);
    const char *next = now == NULL ? NULL : need_text(asking, body, "next", PEOPLE_PASSWORD_MOST);
    StorePerson person;
    const char *old_hash;
    char hash[PEOPLE_HASH_BYTES];
    if (next != NULL && try_password(asking, asking->asked->person, now, &person, &old_hash) &&
        set_password(asking, person.name, next, hash) && begin_session(asking, &person, hash)) {
        put_me(asking, person.name, asking->asked->who);
    }
    json_decref(body);
}

/* --- people ---------------------------------------------------------------------------------- */

void ask_people(Asking *asking) {
    StorePerson *people = NULL;
    size_t count = 0;
    Store *store = desk_store(asking->desk);
    Status status = store_people(store, asking->arena, &people, &count);
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return;
    }
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        json_array_append_new(list, json_pack("{s:s, s:s, s:b, s:s, s:s}", "name", people[i].name,
                                              "role", store_role_name(people[i].role), "password",
                                              people[i].has_password ? 1 : 0, "made",
                                              people[i].made, "ended", people[i].ended));
    }
    asking_put_json(asking, 200, json_pack("{s:o}", "people", list));
}

/* A role by its name; ROLE_COUNT after refusing. */
static StoreRole need_role(Asking *asking, const json_t *body) {
    const char *name = need_text(asking, body, "role", PEOPLE_NAME_BYTES);
    StoreRole role = name == NULL ? ROLE_COUNT : store_role_find(name);
    if (name != NULL && role == ROLE_COUNT) {
        asking_refuse(asking, 422, "a role is designer, bench or buyer", NULL);
    }
    return role;
}

/* The answer to a change of people. */
static void tell_changed(Asking *asking, Status status, bool done, bool last) {
    if (!asking_good(asking, status)) {
        return;
    }
    if (last) {
        asking_refuse(asking, 409,
                      "this is the last designer with a password: nobody could let "
                      "anybody in any more",
                      NULL);
    } else if (!done) {
        asking_refuse(asking, 404, "nobody of that name works here", NULL);
    } else {
        asking->answer->people = true;
        ask_people(asking);
    }
}

void ask_admit(Asking *asking) {
    json_t *body = need_sign_in(asking) ? asking_object(asking) : NULL;
    if (body == NULL) {
        return;
    }
    const char *name = need_text(asking, body, "name", PEOPLE_NAME_BYTES);
    StoreRole role = name == NULL ? ROLE_COUNT : need_role(asking, body);
    const char *password =
        role == ROLE_COUNT ? NULL : need_text(asking, body, "password", PEOPLE_PASSWORD_MOST);
    char hash[PEOPLE_HASH_BYTES];
    if (password != NULL) {
        const char *fault = people_name_fault(name);
        fault = fault == NULL ? people_password_fault(name, password) : fault;
        if (fault != NULL) {
            asking_refuse(asking, 422, fault, NULL);
        } else if (asking_good(asking, people_hash(password, hash))) {
            bool done = false;
            StoreBy by = asking_by(asking, body);
            Store *store = desk_store(asking->desk);
            Status status = store_add_person(store, &by, name, role, hash, &done);
            desk_store_done(asking->desk);
            if (asking_good(asking, status) && !done) {
                asking_refuse(asking, 409, "somebody of that name works here already", NULL);
            } else if (done) {
                ask_people(asking);
            }
        }
    }
    json_decref(body);
}

void ask_dismiss(Asking *asking) {
    json_t *body = need_sign_in(asking) ? asking_object(asking) : NULL;
    const char *name = body == NULL ? NULL : need_text(asking, body, "name", PEOPLE_NAME_BYTES);
    if (name != NULL) {
        bool done = false;
        bool last = false;
        StoreBy by = asking_by(asking, body);
        Store *store = desk_store(asking->desk);
        Status status = store_end_person(store, &by, name, &done, &last);
        desk_store_done(asking->desk);
        tell_changed(asking, status, done, last);
    }
    json_decref(body);
}

void ask_role(Asking *asking) {
    json_t *body = need_sign_in(asking) ? asking_object(asking) : NULL;
    const char *name = body == NULL ? NULL : need_text(asking, body, "name", PEOPLE_NAME_BYTES);
    StoreRole role = name == NULL ? ROLE_COUNT : need_role(asking, body);
    if (role != ROLE_COUNT) {
        bool done = false;
        bool last = false;
        StoreBy by = asking_by(asking, body);
        Store *store = desk_store(asking->desk);
        Status status = store_set_role(store, &by, name, role, &done, &last);
        desk_store_done(asking->desk);
        tell_changed(asking, status, done, last);
    }
    json_decref(body);
}

/* A new password for somebody who forgot theirs. */
void ask_new_password(Asking *asking) {
    json_t *body = need_sign_in(asking) ? asking_object(asking) : NULL;
    const char *name = body == NULL ? NULL : need_text(asking, body, "name", PEOPLE_NAME_BYTES);
    const char *password =
        name == NULL ? NULL : need_text(asking, body, "password", PEOPLE_PASSWORD_MOST);
    char hash[PEOPLE_HASH_BYTES];
    if (password != NULL && set_password(asking, name, password, hash)) {
        ask_people(asking);
    }
    json_decref(body);
}

void ask_door(Asking *asking) {
    enum { MOST = 500 };
    StoreVisit *visits = NULL;
    size_t count = 0;
    Store *store = desk_store(asking->desk);
    Status status = store_visits(store, asking->arena, MOST, &visits, &count);
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return;
    }
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        const StoreVisit *visit = &visits[i];
        json_array_append_new(list, json_pack("{s:I, s:s, s:s, s:s, s:s, s:s}", "visit",
                                              (json_int_t)visit->visit, "at", visit->at, "kind",
                                              visit->kind, "person", visit->person, "address",
                                              visit->address, "what", visit->what));
    }
    asking_put_json(asking, 200, json_pack("{s:o}", "visits", list));
}

/* --- how a tablet learns to know the desk ---------------------------------------------------- */

static const Authority *need_authority(Asking *asking) {
    const Door *door = asking->asked->door;
    const Authority *authority = door == NULL ? NULL : door_options(door)->authority;
    if (authority == NULL) {
        asking_refuse(asking, 404, "this desk is for this machine alone and has no authority",
                      NULL);
    }
    return authority;
}

void ask_authority(Asking *asking) {
    const Authority *authority = need_authority(asking);
    if (authority != NULL) {
        size_t length = 0;
        const unsigned char *bytes = authority_certificate(authority, &length);
        asking_put_text(asking, 200, "application/x-x509-ca-cert", (const char *)bytes, length);
    }
}

void ask_trust(Asking *asking) {
    const Authority *authority = need_authority(asking);
    if (authority == NULL) {
        return;
    }
    Buffer page = {.arena = asking->arena};
    const char *url = door_options(asking->asked->door)->url;
    buffer_text(&page,
                "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\n"
                "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                "<title>Know this desk - Marling</title><link rel=\"icon\" href=\"data:,\">\n"
                "<link rel=\"stylesheet\" href=\"/app.css\"></head><body><main "
                "class=\"plain trust\">\n<h1>Let this device know the desk</h1>\n<ol>\n"
                "<li><a class=\"take\" href=\"/authority.crt\">Take the certificate of the "
                "desk's authority</a> and open it.</li>\n"
                "<li>Before you say yes: the device shows a fingerprint (SHA-256). Hold it "
                "against the one on the screen of the machine that serves the desk. If they "
                "differ, stop: somebody is between you and the desk.</li>\n"
                "<li>Install it as an authority for web sites. It can vouch for addresses of "
                "private networks only.</li>\n");
    buffer_format(&page, "<li>Close this page and open <a href=\"%s\">%s</a>.</li></ol>\n", url,
                  url);
    buffer_text(&page, "<div class=\"code\">");
    qr_write_svg(&page, arena_format(asking->arena, "%strust", url));
    buffer_format(&page,
                  "</div>\n<p>In words: <strong>%s</strong></p>\n<p><code>%s</code></p>\n"
                  "</main></body></html>\n",
                  authority_words(authority), authority_fingerprint(authority));
    asking_put_buffer(asking, "text/html; charset=utf-8", &page);
}
