/* Two ramps that know nothing of each other. */
#include "ramp_motion_ramp.h"

struct ramp_independent_ramps {
    struct motion_ramp left;
    struct motion_ramp right;
};

const uint32_t ramp_independent_ramps_size = sizeof(struct ramp_independent_ramps);

void ramp_independent_ramps_new(struct ramp_independent_ramps *self)
{
    self->left.positive = motion_rates_of(350, 200, 150, TICK_US);
    self->left.negative = motion_rates_of(450, 250, 180, TICK_US);
    self->left.dwell = steps_of(50, TICK_US);
    motion_ramp_reset(&self->left);
    self->right = self->left;
}

void ramp_independent_ramps_step(struct ramp_independent_ramps *self, const int32_t *in, int32_t *out)
{
    out[0] = motion_ramp_step(&self->left, in[0]);
    out[1] = motion_ramp_step(&self->right, in[1]);
}
