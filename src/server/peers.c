#include "server/peers.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/check.h"

static int64_t now_s(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec;
}

void peers_open(Peers *peers, void *owner) {
    *peers = (Peers){.owner = owner};
    pthread_mutex_init(&peers->lock, NULL);
}

void peers_close(Peers *peers) {
    CHECK(peers->first == NULL);
    pthread_mutex_destroy(&peers->lock);
}

void peer_give(Peer *peer, int seconds) {
    atomic_store(&peer->ends_s, seconds == PEER_NO_END_S ? 0 : now_s() + seconds);
}

static void begin(Peers *peers, struct MHD_Connection *connection, void **context) {
    Peer *peer = calloc(1, sizeof *peer);
    CHECK(peer != NULL);
    const union MHD_ConnectionInfo *socket =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    const union MHD_ConnectionInfo *address =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
    peer->owner = peers->owner;
    peer->socket = socket == NULL ? -1 : socket->connect_fd;
    listen_peer_text(address == NULL ? NULL : address->client_addr, peer->address);
    peer_give(peer, PEER_HEAD_S);
    CHECK(pthread_mutex_lock(&peers->lock) == 0);
    peer->next = peers->first;
    if (peer->next != NULL) {
        peer->next->before = peer;
    }
    peers->first = peer;
    CHECK(pthread_mutex_unlock(&peers->lock) == 0);
    *context = peer;
}

static void end(Peers *peers, void **context) {
    Peer *peer = *context;
    CHECK(pthread_mutex_lock(&peers->lock) == 0);
    if (peer->next != NULL) {
        peer->next->before = peer->before;
    }
    if (peer->before != NULL) {
        peer->before->next = peer->next;
    } else {
        peers->first = peer->next;
    }
    CHECK(pthread_mutex_unlock(&peers->lock) == 0);
    free(peer);
    *context = NULL;
}

void peers_notice(void *peers, struct MHD_Connection *connection, void **context,
                  enum MHD_ConnectionNotificationCode code) {
    if (code == MHD_CONNECTION_NOTIFY_STARTED) {
        begin(peers, connection, context);
    } else if (*context != NULL) {
        end(peers, context);
    }
}

Peer *peers_of(struct MHD_Connection *connection) {
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    CHECK(info != NULL && info->socket_context != NULL);
    return info->socket_context;
}

/* The library closes a socket only after it has told that the connection ended, so under the lock
 * every peer's socket is its own. */
void peers_cut(Peers *peers) {
    int64_t now = now_s();
    CHECK(pthread_mutex_lock(&peers->lock) == 0);
    for (Peer *peer = peers->first; peer != NULL; peer = peer->next) {
        int64_t ends_s = atomic_load(&peer->ends_s);
        if (ends_s != 0 && now > ends_s) {
            shutdown(peer->socket, SHUT_RDWR);
        }
    }
    CHECK(pthread_mutex_unlock(&peers->lock) == 0);
}
