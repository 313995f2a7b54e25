/* Connections and how long each may take. The network library counts silence; a sender that drips a
 * byte now and then is not silent. So each connection has an end: for the head of a request, for
 * its body, for taking the answer. What is past its end is cut off. */
#ifndef SERVER_PEERS_H
#define SERVER_PEERS_H

#include <microhttpd.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdint.h>

#include "server/listen.h"

enum {
    PEER_HEAD_S = 30, /* from the connection, or the request before, to the end of the head */
    PEER_BODY_S = 60,
    PEER_ANSWER_S = 300, /* from its first byte to its last */
    PEER_NO_END_S = 0    /* while the desk itself works, and for streams */
};

typedef struct Peer {
    struct Peer *next;
    struct Peer *before;
    void *owner;
    int socket;
    _Atomic int64_t ends_s; /* 0: has no end now */
    char address[LISTEN_TEXT_BYTES];
} Peer;

typedef struct Peers {
    pthread_mutex_t lock; /* of the list, and of cutting off */
    Peer *first;
    void *owner; /* what peers belong to, for callbacks that get nothing else */
} Peers;

void peers_open(Peers *peers, void *owner);
void peers_close(Peers *peers);

/* For the library: a connection begins (its context becomes the peer) and ends. */
void peers_notice(void *peers, struct MHD_Connection *connection, void **context,
                  enum MHD_ConnectionNotificationCode code);

/* The peer of a connection. */
Peer *peers_of(struct MHD_Connection *connection);

/* The connection has so long from now. */
void peer_give(Peer *peer, int seconds);

/* Cuts off what is past its end. */
void peers_cut(Peers *peers);

#endif
