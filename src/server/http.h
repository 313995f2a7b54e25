/* The desk on the network: libmicrohttpd with a few threads; on the loopback address as it is,
 * beyond it by TLS (RFC 8446, 5246) and for people who signed in. Guards what pages of other sites
 * could do to it (host, origin and content type are checked, nothing may be framed, scripts come
 * from here alone), bounds bodies, headers, connections and time, and tells every open page of a
 * change. */
#ifndef SERVER_HTTP_H
#define SERVER_HTTP_H

#include "server/authority.h"
#include "server/door.h"
#include "server/listen.h"

typedef struct Http Http;

typedef struct HttpOptions {
    ListenAt at;                /* beyond the loopback address only with an authority */
    unsigned threads;           /* 0: four */
    const char *person;         /* name for the log, where nobody signs in */
    const Authority *authority; /* NULL: no TLS, nobody signs in */
} HttpOptions;

/* Serves the desk, which must outlive it (as the authority must), until http_stop(). */
STATUS_USE Status http_start(Desk *desk, const HttpOptions *options, Http **http);

uint16_t http_port(const Http *http);

/* Where a browser finds the desk: "https://192.168.1.5:8612/". */
const char *http_url(const Http *http);

void http_stop(Http *http); /* NULL is allowed */

#endif
