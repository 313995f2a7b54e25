/* Any bytes on a connection to the desk, through a real socket: heads, cookies, hosts, values,
 * bodies in one piece or in many. Never a crash, and the desk goes on answering others. "@HOST@" in
 * the input becomes the desk's own name, which no input could know; a blank line ends what is sent.
 */
#include <errno.h>
#include <netinet/in.h>
#include <stdint.h>
#include <sys/socket.h>
#include <sys/time.h>

#include "base/text.h"
#include "server/http.h"
#include "shop.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum {
    ANSWER_BYTES = 1 << 16,
    WAIT_MS = 30,
    WAIT_LONG_S = 60,
    ASKS_EACH = 500,
    REQUESTS_MOST = 50000
};

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

static int call_desk(struct timeval wait) {
    struct sockaddr_in at = {.sin_family = AF_INET, .sin_port = htons(http_port(http))};
    at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    struct linger at_once = {.l_onoff = 1, .l_linger = 0}; /* no heap of closed connections */
    int line = socket(AF_INET, SOCK_STREAM, 0);
    CHECK(line >= 0 && connect(line, (struct sockaddr *)&at, sizeof at) == 0);
    setsockopt(line, SOL_SOCKET, SO_RCVTIMEO, &wait, sizeof wait);
    setsockopt(line, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
    return line;
}

/* What is sent, and the beginning of what is answered; 0 when nothing comes, -1 when it takes too
 * long. */
static ssize_t send_bytes(const char *bytes, size_t length, struct timeval wait,
                          char answer[ANSWER_BYTES]) {
    int line = call_desk(wait);
    (void)!send(line, bytes, length, MSG_NOSIGNAL); /* it may have gone */
    ssize_t got = recv(line, answer, ANSWER_BYTES, 0);
    close(line);
    return got < 0 && errno == ECONNRESET ? 0 : got;
}

/* The desk answers what is asked as it should be. */
static void check_alive(char answer[ANSWER_BYTES]) {
    char text[96];
    snprintf(text, sizeof text, "GET /api/me HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n\r\n",
             http_port(http));
    ssize_t got = send_bytes(text, strlen(text), (struct timeval){.tv_sec = WAIT_LONG_S}, answer);
    CHECK(got > 12 && memcmp(answer, "HTTP/1.1 200", 12) == 0);
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
    buffer_text(&sent, "\r\n\r\n");
    send_bytes(sent.bytes, sent.length, (struct timeval){.tv_usec = WAIT_MS * 1000}, answer);
    if (asked % ASKS_EACH == 1) {
        check_alive(answer);
    }
    arena_free(&arena);
    return 0;
}
