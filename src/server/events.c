#include "server/events.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"

enum { EVENTS_KEPT = 256, EVENT_BYTES = 96, READ_BYTES = 1024 };

/* One page that listens for changes. */
typedef struct Stream {
    struct Stream *next;
    Events *events;
    struct MHD_Connection *connection;
    uint64_t number;
    uint64_t at; /* the next event it has not got */
    bool asleep;
    bool beat;
    bool over;
    char token[STORE_TOKEN_BYTES]; /* "": nobody signs in */
} Stream;

struct Events {
    pthread_mutex_t lock; /* of all */
    char events[EVENTS_KEPT][EVENT_BYTES];
    uint64_t count;
    uint64_t stream_count;
    Stream *streams;
    bool stopping;
};

static void lock(Events *events) {
    CHECK(pthread_mutex_lock(&events->lock) == 0);
}

static void unlock(Events *events) {
    CHECK(pthread_mutex_unlock(&events->lock) == 0);
}

Events *events_open(void) {
    Events *events = calloc(1, sizeof *events);
    CHECK(events != NULL);
    pthread_mutex_init(&events->lock, NULL);
    return events;
}

void events_close(Events *events) {
    CHECK(events->streams == NULL);
    pthread_mutex_destroy(&events->lock);
    free(events);
}

/* Under the lock. */
static void wake(Stream *stream) {
    if (stream->asleep) {
        stream->asleep = false;
        MHD_resume_connection(stream->connection);
    }
}

static void wake_all(Events *events) {
    for (Stream *stream = events->streams; stream != NULL; stream = stream->next) {
        wake(stream);
    }
}

void events_tell(Events *events, const char *event, StoreJob job, StoreAct act) {
    lock(events);
    snprintf(events->events[events->count % EVENTS_KEPT], EVENT_BYTES,
             "id: %llu\n%sdata: {\"job\":%lld,\"act\":%lld}\n\n", (unsigned long long)events->count,
             event, (long long)job, (long long)act);
    events->count++;
    wake_all(events);
    unlock(events);
}

void events_beat(Events *events) {
    lock(events);
    for (Stream *stream = events->streams; stream != NULL; stream = stream->next) {
        stream->beat = true;
        wake(stream);
    }
    unlock(events);
}

void events_stop(Events *events) {
    lock(events);
    events->stopping = true;
    wake_all(events);
    unlock(events);
}

/* --- a stream -------------------------------------------------------------------------------- */

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
    Events *events = stream->events;
    ssize_t length = 0;
    lock(events);
    if (events->stopping || stream->over) {
        length = MHD_CONTENT_READER_END_OF_STREAM;
    } else if (stream->at < events->count) {
        if (events->count - stream->at > EVENTS_KEPT) { /* it slept too long: the last will do */
            stream->at = events->count - 1;
        }
        length = copy_bytes(out, room, events->events[stream->at % EVENTS_KEPT]);
        stream->at += length > 0 ? 1 : 0;
    } else if (stream->beat) {
        length = copy_bytes(out, room, ":\n\n");
    } else {
        stream->asleep = true;
        MHD_suspend_connection(stream->connection);
    }
    stream->beat = false;
    unlock(events);
    return length;
}

static void stream_free(void *context) {
    Stream *stream = context;
    Events *events = stream->events;
    lock(events);
    for (Stream **at = &events->streams; *at != NULL; at = &(*at)->next) {
        if (*at == stream) {
            *at = stream->next;
            break;
        }
    }
    unlock(events);
    free(stream);
}

struct MHD_Response *events_response(Events *events, struct MHD_Connection *connection,
                                     const char *token) {
    Stream *stream = calloc(1, sizeof *stream);
    CHECK(stream != NULL);
    stream->events = events;
    stream->connection = connection;
    stream->beat = true; /* says at once that it is open */
    snprintf(stream->token, sizeof stream->token, "%s", token == NULL ? "" : token);
    lock(events);
    stream->number = events->stream_count++;
    stream->at = events->count;
    stream->next = events->streams;
    events->streams = stream;
    unlock(events);
    return MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, READ_BYTES, stream_read, stream,
                                             stream_free);
}

/* --- sessions -------------------------------------------------------------------------------- */

typedef struct Looked {
    uint64_t number;
    char token[STORE_TOKEN_BYTES];
} Looked;

/* Sessions are asked for without the lock, since that waits for the shop file. */
void events_look(Events *events, bool (*holds)(void *context, const char *token), void *context) {
    Arena scratch = {0};
    Looked *looked = NULL;
    size_t count = 0;
    size_t capacity = 0;
    lock(events);
    for (Stream *stream = events->streams; stream != NULL; stream = stream->next) {
        if (*stream->token != '\0' && !stream->over) {
            Looked *one = ARENA_PUSH(&scratch, looked, count, capacity);
            one->number = stream->number;
            memcpy(one->token, stream->token, sizeof one->token);
        }
    }
    unlock(events);
    for (size_t i = 0; i < count; i++) {
        if (holds(context, looked[i].token)) {
            continue;
        }
        lock(events);
        for (Stream *stream = events->streams; stream != NULL; stream = stream->next) {
            if (stream->number == looked[i].number) {
                stream->over = true;
                wake(stream);
            }
        }
        unlock(events);
    }
    arena_free(&scratch);
}
