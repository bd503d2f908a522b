/* One motion with its own times for each direction and phase. */
#include "ramp_motion_ramp.h"

struct ramp_motion_ramp {
    struct motion_ramp ramp;
};

const uint32_t ramp_motion_ramp_size = sizeof(struct ramp_motion_ramp);

void ramp_motion_ramp_new(struct ramp_motion_ramp *self)
{
    self->ramp.positive = motion_rates_of(350, 200, 150, TICK_US);
    self->ramp.negative = motion_rates_of(450, 250, 180, TICK_US);
    self->ramp.dwell = steps_of(50, TICK_US);
    motion_ramp_reset(&self->ramp);
}

void ramp_motion_ramp_step(struct ramp_motion_ramp *self, const int32_t *in, int32_t *out)
{
    out[0] = motion_ramp_step(&self->ramp, in[0]);
    out[1] = self->ramp.phase;
    out[2] = motion_ramp_state(&self->ramp);
}
