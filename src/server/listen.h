/* Where the desk listens, and who is near enough to be heard: addresses as people write them, and
 * the ranges that are private (RFC 1918, 3927, 4193, 4291). */
#ifndef SERVER_LISTEN_H
#define SERVER_LISTEN_H

#include <netinet/in.h>
#include <stdbool.h>
#include <stdint.h>
#include <sys/socket.h>

#define LISTEN_PORT 8612
#define LISTEN_TEXT_BYTES 64

typedef struct ListenAt {
    union {
        struct sockaddr any;
        struct sockaddr_in four;
        struct sockaddr_in6 six;
    } address;
    uint16_t port; /* 0: any that is free */
    bool loopback; /* heard by this machine alone */
    bool open;     /* all addresses of the machine */
} ListenAt;

/* The loopback address. */
ListenAt listen_here(uint16_t port);

/* Reads "192.168.1.5", "192.168.1.5:8612", "0.0.0.0", "::", "[::]:8612". What is wrong with it, in
 * words; NULL when nothing is. */
const char *listen_parse(const char *text, uint16_t port, ListenAt *at);

/* A socket that listens there, and the port it got. An errno when there is none; 0. */
int listen_open(const ListenAt *at, int *listening, uint16_t *port);

/* True for addresses of private networks and of this machine itself. */
bool listen_is_private(const struct sockaddr *address);

/* An address as text, as limits count it: IPv4 whole (also where IPv6 wraps it), of IPv6 the first
 * 64 bits, since a network gives one machine as many of the rest as it likes. */
void listen_peer_text(const struct sockaddr *address, char text[LISTEN_TEXT_BYTES]);

#endif
