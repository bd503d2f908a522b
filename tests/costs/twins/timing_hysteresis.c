/* A comparison that does not flutter: on from 2000 kPa, off at 1800 kPa. */
#include "twin.h"

struct timing_hysteresis {
    int32_t on_from;
    int32_t off_to;
    bool output;
};

const uint32_t timing_hysteresis_size = sizeof(struct timing_hysteresis);

void timing_hysteresis_new(struct timing_hysteresis *self)
{
    self->on_from = 2000;
    self->off_to = 1800;
    self->output = false;
}

static bool hysteresis_step(struct timing_hysteresis *self, int32_t value)
{
    if (value >= self->on_from)
        self->output = true;
    else if (value <= self->off_to)
        self->output = false;
    return self->output;
}

void timing_hysteresis_step(struct timing_hysteresis *self, const int32_t *in, int32_t *out)
{
    out[0] = hysteresis_step(self, in[0]);
}
