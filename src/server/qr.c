#include "server/qr.h"

#include <qrencode.h>

enum { QUIET_MODULES = 4 };

static QRcode *encode(const char *text) {
    return QRcode_encodeString(text, 0, QR_ECLEVEL_M, QR_MODE_8, 1);
}

static bool is_dark(const QRcode *code, int x, int y) {
    return x >= 0 && y >= 0 && x < code->width && y < code->width &&
           (code->data[y * code->width + x] & 1) != 0;
}

void qr_write_terminal(Buffer *out, const char *text) {
    static const char *const HALVES[4] = {"\xe2\x96\x88", "\xe2\x96\x80", "\xe2\x96\x84", " "};
    QRcode *code = encode(text);
    if (code == NULL) {
        return;
    }
    for (int y = -QUIET_MODULES; y < code->width + QUIET_MODULES; y += 2) {
        for (int x = -QUIET_MODULES; x < code->width + QUIET_MODULES; x++) {
            int below = is_dark(code, x, y + 1) ? 1 : 0;
            int above = is_dark(code, x, y) ? 2 : 0;
            buffer_text(out, HALVES[above + below]);
        }
        buffer_text(out, "\n");
    }
    QRcode_free(code);
}

void qr_write_svg(Buffer *out, const char *text) {
    QRcode *code = encode(text);
    if (code == NULL) {
        return;
    }
    int side = code->width + 2 * QUIET_MODULES;
    buffer_format(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" role=\"img\" "
        "aria-label=\"this page as a square code\"><path fill=\"#fff\" d=\"M0 0h%dv%dh-%dz\"/>"
        "<path d=\"",
        side, side, side, side, side);
    for (int y = 0; y < code->width; y++) {
        for (int x = 0; x < code->width; x++) {
            if (is_dark(code, x, y)) {
                buffer_format(out, "M%d %dh1v1h-1z", x + QUIET_MODULES, y + QUIET_MODULES);
            }
        }
    }
    buffer_text(out, "\"/></svg>");
    QRcode_free(code);
}
