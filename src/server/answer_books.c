/* Books: built beside, listed, handed out. */
#include <string.h>

#include "server/bookshelf.h"
#include "server/routes.h"
#include "store/offer.h"

static json_t *now_json(const BookProgressNow *now, StoreJob job) {
    if (now->job != job) {
        return now->running ? json_pack("{s:b, s:s}", "running", 0, "elsewhere", "yes")
                            : json_null();
    }
    return json_pack("{s:b, s:s, s:I, s:I, s:s}", "running", now->running ? 1 : 0, "what",
                     now->what, "done", (json_int_t)now->done, "of", (json_int_t)now->of, "problem",
                     now->problem);
}

void ask_books(Asking *asking) {
    StoreJob job;
    StoreBook *books = NULL;
    StoreRevision *revisions = NULL;
    size_t count = 0;
    size_t revision_count = 0;
    if (!asking_job(asking, &job)) {
        return;
    }
    Store *store = desk_store(asking->desk);
    Status status = store_books(store, asking->arena, job, &books, &count);
    if (!status.failed) {
        status = store_revisions(store, asking->arena, job, &revisions, &revision_count);
    }
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return;
    }
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        const char *name = "";
        for (size_t k = 0; k < revision_count; k++) {
            name = strcmp(revisions[k].hash, books[i].hash) == 0 ? revisions[k].name : name;
        }
        json_array_append_new(list, json_pack("{s:I, s:s, s:s, s:I, s:s, s:s, s:I, s:I}", "book",
                                              (json_int_t)books[i].book, "hash", books[i].hash,
                                              "revision", name, "act", (json_int_t)books[i].act,
                                              "person", books[i].person, "at", books[i].at, "pages",
                                              (json_int_t)books[i].pages, "bytes",
                                              (json_int_t)books[i].bytes));
    }
    BookProgressNow now = bookshelf_now(desk_shelf(asking->desk));
    asking_put_json(asking, 200,
                    json_pack("{s:o, s:o}", "books", list, "now", now_json(&now, job)));
}

void ask_book(Asking *asking) {
    StoreJob job;
    json_t *body = asking_body(asking, &job);
    if (body == NULL) {
        return;
    }
    StoreBy by = asking_by(asking, body);
    if (job == STORE_LIBRARY) {
        asking_refuse(asking, 400, "the library has no book", NULL);
    } else if (!bookshelf_build(desk_shelf(asking->desk), job, by.person)) {
        asking_refuse(asking, 409, "a book is being built: wait for it, or stop it", NULL);
    } else {
        asking_put_json(asking, 202, json_pack("{s:b}", "running", 1));
    }
    json_decref(body);
}

void ask_book_stop(Asking *asking) {
    StoreJob job;
    json_t *body = asking_body(asking, &job);
    if (body != NULL) {
        bookshelf_stop(desk_shelf(asking->desk), job);
        asking_put_json(asking, 200, json_pack("{s:b}", "running", 0));
        json_decref(body);
    }
}

/* By its number among the books of the job that is named: nothing else leads to a file. */
void ask_book_file(Asking *asking) {
    StoreJob job;
    StoreBook *books = NULL;
    size_t count = 0;
    const char *number = asking_need(asking, "book");
    if (number == NULL || !asking_job(asking, &job)) {
        return;
    }
    Store *store = desk_store(asking->desk);
    Status status = store_books(store, asking->arena, job, &books, &count);
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return;
    }
    for (size_t i = 0; i < count; i++) {
        char *bytes;
        size_t length;
        if (strcmp(arena_format(asking->arena, "%lld", (long long)books[i].book), number) != 0) {
            continue;
        }
        status = bookshelf_read(desk_shelf(asking->desk), asking->arena, books[i].hash,
                                books[i].sha256, &bytes, &length);
        if (status.failed) {
            asking_refuse(asking, 404,
                          "this book is gone or was changed on the disk: build it again", NULL);
        } else {
            asking_put_text(asking, 200, "application/pdf", bytes, length);
        }
        return;
    }
    asking_refuse(asking, 404, "this job has no such book", NULL);
}
