/* The door of the desk: from a session's or link's token to who asks, how often a password may be
 * tried, and what goes into the door log. Without sockets; may be used by many threads at once.
 * What has been tried is kept in memory alone and forgotten when the desk is closed. */
#ifndef SERVER_DOOR_H
#define SERVER_DOOR_H

#include "server/answer.h"
#include "server/authority.h"

typedef struct DoorOptions {
    bool signs_in;              /* people sign in; else everybody is a designer */
    const char *person;         /* name for the log, where nobody signs in */
    const Authority *authority; /* NULL: the desk is not asked in secret */
    const char *url;            /* where others find the desk; "" */
} DoorOptions;

/* The options' texts must outlive it. */
Door *door_open(const DoorOptions *options);
void door_close(Door *door); /* NULL is allowed */

const DoorOptions *door_options(const Door *door);

/* Fills in as what the tokens (NULL: none) let one ask: person, who, link. A link counts before a
 * session, so that nobody looks at a customer's page with more rights than the customer has. */
STATUS_USE Status door_recognise(Door *door, Desk *desk, Arena *arena, const char *session_token,
                                 const char *link_token, Asked *asked);

/* True as long as a session holds; where nobody signs in, always. */
bool door_holds(Door *door, Desk *desk, const char *session_token);

/* --- trying passwords ------------------------------------------------------------------------ */

enum {
    DOOR_FREE_TRIES = 5,      /* without waiting */
    DOOR_NAME_LONGEST_S = 60, /* a stranger must not be able to keep somebody out for long */
    DOOR_ADDRESS_LONGEST_S = 900,
    DOOR_FORGETS_S = 3600,
    DOOR_HASHES_AT_ONCE = 2 /* each takes 64 MiB */
};

/* Books a try for that name and from that address; 0 when it may be made now, else seconds to wait.
 * Each try after the free ones doubles the wait, until door_welcome() or an hour of quiet. A try
 * that may be made must be followed by door_tried(). */
unsigned door_try(Door *door, const char *name, const char *address, int64_t now_s);
void door_tried(Door *door);

/* The password was right: what was tried for that name and from that address is forgotten. */
void door_welcome(Door *door, const char *name, const char *address);

/* --- the log --------------------------------------------------------------------------------- */

enum { DOOR_NOTES_A_MINUTE = 60 };

/* Writes into the door log who was turned away ("refused", "not theirs"): so many a minute; how
 * many more there were stands with the next that is written. */
void door_note_refused(Door *door, Desk *desk, const Asked *asked, const char *kind,
                       const char *person, const char *what);

/* Writes who came in or went. */
void door_note(Desk *desk, const Asked *asked, const char *kind, const char *person,
               const char *what);

#endif
