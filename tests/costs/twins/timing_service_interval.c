/* When the next service is due: every 500 hours, told 50 hours before, last done at 4000. All in seconds. */
#include "twin.h"

enum service { SERVICE_DUE, SERVICE_SOON, SERVICE_NOT_DUE };

struct timing_service_interval {
    uint32_t interval;
    uint32_t told_before;
    uint32_t last_done;
};

const uint32_t timing_service_interval_size = sizeof(struct timing_service_interval);

void timing_service_interval_new(struct timing_service_interval *self)
{
    self->interval = 500u * 3600u;
    self->told_before = 50u * 3600u;
    self->last_done = 4000u * 3600u;
}

/* A meter that stands before the last service was changed: then a service is due. */
static uint32_t service_interval_remaining(const struct timing_service_interval *self, uint32_t total)
{
    if (total < self->last_done)
        return 0;
    uint32_t run = total - self->last_done;
    return run < self->interval ? self->interval - run : 0;
}

static enum service service_interval_step(const struct timing_service_interval *self, uint32_t total)
{
    uint32_t remaining = service_interval_remaining(self, total);
    if (remaining == 0)
        return SERVICE_DUE;
    return remaining <= self->told_before ? SERVICE_SOON : SERVICE_NOT_DUE;
}

void timing_service_interval_step(struct timing_service_interval *self, const int32_t *in, int32_t *out)
{
    out[0] = service_interval_step(self, (uint32_t)in[0]);
    out[1] = (int32_t)service_interval_remaining(self, (uint32_t)in[0]);
}
