#include "base/status.h"

#include <stdio.h>
#include <string.h>

Status status_failed(const char *what, const char *path, int system_error) {
    Status status = {.failed = true, .system_error = system_error};
    if (system_error == 0) {
        snprintf(status.text, sizeof status.text, "%s '%s'", what, path);
    } else {
        char reason[96] = "";
        if (strerror_r(system_error, reason, sizeof reason) != 0) {
            snprintf(reason, sizeof reason, "system error %d", system_error);
        }
        snprintf(status.text, sizeof status.text, "%s '%s': %s", what, path, reason);
    }
    return status;
}
