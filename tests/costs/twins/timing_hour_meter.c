/* How long an engine ran: 4321 hours on the clock. */
#include "twin.h"

#define MICROS_PER_SECOND 1000000u

struct timing_hour_meter {
    uint32_t period;
    uint32_t seconds;
    uint32_t micros; /* of the present second */
};

const uint32_t timing_hour_meter_size = sizeof(struct timing_hour_meter);

void timing_hour_meter_new(struct timing_hour_meter *self)
{
    self->period = TICK_US;
    self->seconds = 4321u * 3600u;
    self->micros = 0;
}

/* True in the step in which a second was full. */
static bool hour_meter_step(struct timing_hour_meter *self, bool running)
{
    if (!running)
        return false;
    self->micros += self->period;
    if (self->micros < MICROS_PER_SECOND)
        return false;
    self->micros -= MICROS_PER_SECOND;
    if (self->seconds < UINT32_MAX)
        self->seconds++;
    return true;
}

void timing_hour_meter_step(struct timing_hour_meter *self, const int32_t *in, int32_t *out)
{
    out[0] = hour_meter_step(self, in[0] != 0);
    out[1] = (int32_t)self->seconds;
}
