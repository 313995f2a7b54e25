/* Pages that listen: every change is told to all of them by server-sent events, and a stream ends
 * with the session it was asked in. */
#ifndef SERVER_EVENTS_H
#define SERVER_EVENTS_H

#include <microhttpd.h>

#include "server/answer.h"

typedef struct Events Events;

Events *events_open(void);
void events_close(Events *events); /* after the daemon has stopped */

/* The response that goes on until the session (`token` is copied; NULL: nobody signs in) ends. */
struct MHD_Response *events_response(Events *events, struct MHD_Connection *connection,
                                     const char *token);

/* `event`: "" for a change, else a line "event: NAME". */
void events_tell(Events *events, const char *event, StoreJob job, StoreAct act);

/* Lets quiet streams say that they are open. */
void events_beat(Events *events);

/* Ends the streams whose session does not hold any more. */
void events_look(Events *events, bool (*holds)(void *context, const char *token), void *context);

/* Ends all of them, before the daemon stops. */
void events_stop(Events *events);

#endif
