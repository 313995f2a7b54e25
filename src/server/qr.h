/* Square codes (ISO/IEC 18004, by libqrencode) for a terminal and for a page. */
#ifndef SERVER_QR_H
#define SERVER_QR_H

#include "base/text.h"

/* Two modules on top of each other in one character; light modules are drawn, for terminals that
 * write light on dark. Nothing when the text is too long. */
void qr_write_terminal(Buffer *out, const char *text);

/* Dark on white, four modules of white around it. */
void qr_write_svg(Buffer *out, const char *text);

#endif
