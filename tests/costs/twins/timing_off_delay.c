/* A level that goes on for 300 ms. */
#include "timing_delay.h"

struct timing_off_delay {
    struct on_delay gone;
    bool started;
};

const uint32_t timing_off_delay_size = sizeof(struct timing_off_delay);

void timing_off_delay_new(struct timing_off_delay *self)
{
    on_delay_init(&self->gone, 300);
    self->started = false;
}

static bool off_delay_step(struct timing_off_delay *self, bool level)
{
    if (level)
        self->started = true;
    bool gone = on_delay_step(&self->gone, !level);
    return self->started && !gone;
}

void timing_off_delay_step(struct timing_off_delay *self, const int32_t *in, int32_t *out)
{
    out[0] = off_delay_step(self, in[0] != 0);
}
