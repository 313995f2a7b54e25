#include "server/listen.h"

#include <arpa/inet.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* --- reading --------------------------------------------------------------------------------- */

static void set_port(ListenAt *at, uint16_t port) {
    at->port = port;
    if (at->address.any.sa_family == AF_INET6) {
        at->address.six.sin6_port = htons(port);
    } else {
        at->address.four.sin_port = htons(port);
    }
}

ListenAt listen_here(uint16_t port) {
    ListenAt at = {.address.four = {.sin_family = AF_INET}, .loopback = true};
    at.address.four.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    set_port(&at, port);
    return at;
}

static bool read_address(const char *text, ListenAt *at) {
    *at = (ListenAt){.port = 0};
    if (inet_pton(AF_INET, text, &at->address.four.sin_addr) == 1) {
        at->address.four.sin_family = AF_INET;
        uint32_t bits = ntohl(at->address.four.sin_addr.s_addr);
        at->loopback = bits >> 24 == 127;
        at->open = bits == INADDR_ANY;
        return true;
    }
    if (inet_pton(AF_INET6, text, &at->address.six.sin6_addr) == 1) {
        at->address.six.sin6_family = AF_INET6;
        at->loopback = IN6_IS_ADDR_LOOPBACK(&at->address.six.sin6_addr);
        at->open = IN6_IS_ADDR_UNSPECIFIED(&at->address.six.sin6_addr);
        return true;
    }
    return false;
}

const char *listen_parse(const char *text, uint16_t port, ListenAt *at) {
    char address[LISTEN_TEXT_BYTES] = "";
    const char *behind = NULL; /* the port */
    const char *colon = strrchr(text, ':');
    const char *end = text + strlen(text);
    if (*text == '[') {
        text++;
        end = strchr(text, ']');
        if (end == NULL || (end[1] != ':' && end[1] != '\0')) {
            return "an IPv6 address with a port is written [ADDRESS]:PORT";
        }
        behind = end[1] == ':' ? end + 2 : NULL;
    } else if (colon != NULL && strchr(text, ':') == colon) {
        end = colon;
        behind = colon + 1;
    }
    if (end == text || (size_t)(end - text) >= sizeof address) {
        return "--listen wants an address of this machine, or 0.0.0.0 for all of them";
    }
    memcpy(address, text, (size_t)(end - text));
    if (!read_address(address, at)) {
        return "--listen wants an address of this machine, or 0.0.0.0 for all of them";
    }
    if (behind != NULL) {
        char *rest = NULL;
        long number = *behind >= '0' && *behind <= '9' ? strtol(behind, &rest, 10) : -1;
        if (number < 0 || number > 65535 || *rest != '\0') {
            return "a port is a number from 0 to 65535";
        }
        port = (uint16_t)number;
    }
    set_port(at, port);
    return NULL;
}

/* --- listening ------------------------------------------------------------------------------- */

int listen_open(const ListenAt *at, int *listening, uint16_t *port) {
    bool six = at->address.any.sa_family == AF_INET6;
    ListenAt got = *at;
    socklen_t length = six ? sizeof got.address.six : sizeof got.address.four;
    const int yes = 1;
    const int six_only = at->open ? 0 : 1; /* all addresses are those of IPv4 too */
    int made = socket(at->address.any.sa_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (made < 0) {
        return errno;
    }
    if (setsockopt(made, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes) != 0 ||
        (six && setsockopt(made, IPPROTO_IPV6, IPV6_V6ONLY, &six_only, sizeof six_only) != 0) ||
        bind(made, &at->address.any, length) != 0 || listen(made, SOMAXCONN) != 0 ||
        getsockname(made, &got.address.any, &length) != 0) {
        int error = errno;
        close(made);
        return error;
    }
    *listening = made;
    *port = ntohs(six ? got.address.six.sin6_port : got.address.four.sin_port);
    return 0;
}

/* --- who is near ----------------------------------------------------------------------------- */

static bool is_private_four(uint32_t bits) {
    return bits >> 24 == 10 || bits >> 20 == 0xac1 || bits >> 16 == 0xc0a8 ||
           bits >> 16 == 0xa9fe || bits >> 24 == 127;
}

/* The IPv4 address in an IPv6 one that wraps it. */
static uint32_t wrapped_four(const struct in6_addr *six) {
    uint32_t bits;
    memcpy(&bits, six->s6_addr + 12, sizeof bits);
    return ntohl(bits);
}

bool listen_is_private(const struct sockaddr *address) {
    if (address->sa_family == AF_INET) {
        struct sockaddr_in four;
        memcpy(&four, address, sizeof four);
        return is_private_four(ntohl(four.sin_addr.s_addr));
    }
    if (address->sa_family != AF_INET6) {
        return false;
    }
    struct sockaddr_in6 six;
    memcpy(&six, address, sizeof six);
    const struct in6_addr *at = &six.sin6_addr;
    if (IN6_IS_ADDR_V4MAPPED(at)) {
        return is_private_four(wrapped_four(at));
    }
    return IN6_IS_ADDR_LOOPBACK(at) || IN6_IS_ADDR_LINKLOCAL(at) || (at->s6_addr[0] & 0xfe) == 0xfc;
}

void listen_peer_text(const struct sockaddr *address, char text[LISTEN_TEXT_BYTES]) {
    char whole[INET6_ADDRSTRLEN] = "?";
    if (address != NULL && address->sa_family == AF_INET6) {
        struct sockaddr_in6 six;
        memcpy(&six, address, sizeof six);
        if (!IN6_IS_ADDR_V4MAPPED(&six.sin6_addr)) {
            memset(six.sin6_addr.s6_addr + 8, 0, 8);
            inet_ntop(AF_INET6, &six.sin6_addr, whole, sizeof whole);
            snprintf(text, LISTEN_TEXT_BYTES, "%s/64", whole);
            return;
        }
        inet_ntop(AF_INET, six.sin6_addr.s6_addr + 12, whole, sizeof whole);
    } else if (address != NULL && address->sa_family == AF_INET) {
        struct sockaddr_in four;
        memcpy(&four, address, sizeof four);
        inet_ntop(AF_INET, &four.sin_addr, whole, sizeof whole);
    }
    snprintf(text, LISTEN_TEXT_BYTES, "%s", whole);
}
