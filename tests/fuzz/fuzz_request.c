/* Any bytes on a connection to the desk, through a real socket: heads, cookies, hosts, values,
 * bodies in one piece or in many. Never a crash, and always an end: an answer or a closed
 * connection. "@HOST@" in the input becomes the desk's own name, which no input could know. */
#include <errno.h>
#include <netinet/in.h>
#include <stdint.h>
#include <sys/socket.h>
#include <sys/time.h>

#include "base/text.h"
#include "server/http.h"
#include "shop.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { ANSWER_BYTES = 1 << 16, WAIT_S = 20, REQUESTS_MOST = 50000 };

static Desk *desk;
static Http *http;
static unsigned asked;

static void close_desk(void) {
    http_stop(http);
    desk_close(desk);
    shop_remove();
}

static void open_desk(void) {
    if (desk == NULL) {
        atexit(close_desk);
    } else {
        close_desk();
    }
    HttpOptions options = {.at = listen_here(0), .threads = 1, .person = "Ada"};
    desk = shop_open();
    Status status = http_start(desk, &options, &http);
    CHECK(!status.failed);
}

static int call_desk(void) {
    struct sockaddr_in at = {.sin_family = AF_INET, .sin_port = htons(http_port(http))};
    at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    struct timeval wait = {.tv_sec = WAIT_S};
    struct linger at_once = {.l_onoff = 1, .l_linger = 0}; /* no heap of closed connections */
    int line = socket(AF_INET, SOCK_STREAM, 0);
    CHECK(line >= 0 && connect(line, (struct sockaddr *)&at, sizeof at) == 0);
    setsockopt(line, SOL_SOCKET, SO_RCVTIMEO, &wait, sizeof wait);
    setsockopt(line, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
    return line;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const char MARK[] = "@HOST@";
    static char answer[ANSWER_BYTES];
    if (desk == NULL || asked > REQUESTS_MOST) {
        asked = 0;
        open_desk();
    }
    asked++;
    Arena arena = {0};
    Buffer sent = {.arena = &arena};
    size_t mark = sizeof MARK - 1;
    for (size_t i = 0; i < size; i++) {
        if (size - i >= mark && memcmp(data + i, MARK, mark) == 0) {
            buffer_format(&sent, "127.0.0.1:%u", http_port(http));
            i += mark - 1;
        } else {
            buffer_add(&sent, (const char *)data + i, 1);
        }
    }
    int line = call_desk();
    if (sent.length > 0) {
        (void)!send(line, sent.bytes, sent.length, MSG_NOSIGNAL); /* it may have gone */
    }
    shutdown(line, SHUT_WR);
    ssize_t got = recv(line, answer, sizeof answer, 0); /* an answer begins, or the end is told */
    CHECK(got >= 0 || errno == ECONNRESET);
    close(line);
    arena_free(&arena);
    return 0;
}
