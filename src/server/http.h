/* The desk on the network: libmicrohttpd with a few threads, on the loopback address. Guards what
 * pages of other sites could do to it (host, origin and content type are checked, nothing may be
 * framed, scripts come from here alone), bounds bodies, headers, connections and time, and tells
 * every open page of a change at once. */
#ifndef SERVER_HTTP_H
#define SERVER_HTTP_H

#include "server/answer.h"

typedef struct Http Http;

typedef struct HttpOptions {
    uint16_t port;      /* 0: any that is free */
    unsigned threads;   /* 0: four */
    const char *person; /* name for the log, where nobody signs in */
} HttpOptions;

/* Serves the desk, which must outlive it, until http_stop(). */
STATUS_USE Status http_start(Desk *desk, const HttpOptions *options, Http **http);

uint16_t http_port(const Http *http);

void http_stop(Http *http); /* NULL is allowed */

#endif
