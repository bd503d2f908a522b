/* Both sides as a pair, so that a ramp never bends the path. */
#include "ramp_pair_ramp.h"

struct ramp_pair_ramp {
    struct pair_ramp ramp;
};

const uint32_t ramp_pair_ramp_size = sizeof(struct ramp_pair_ramp);

void ramp_pair_ramp_new(struct ramp_pair_ramp *self)
{
    self->ramp.forward = motion_rates_of(1800, 1200, 1000, TICK_US);
    self->ramp.reverse = motion_rates_of(2000, 1300, 1100, TICK_US);
    self->ramp.rotation = motion_rates_of(1300, 800, 700, TICK_US);
    self->ramp.stop = fine_rate(1000, TICK_US);
    self->ramp.dwell = steps_of(100, TICK_US);
    pair_ramp_reset(&self->ramp);
}

void ramp_pair_ramp_step(struct ramp_pair_ramp *self, const int32_t *in, int32_t *out)
{
    struct sides sides = pair_ramp_step(&self->ramp, (struct sides){ in[0], in[1] }, in[2] != 0);
    out[0] = sides.left;
    out[1] = sides.right;
    out[2] = self->ramp.phase;
    out[3] = pair_ramp_state(&self->ramp);
}
