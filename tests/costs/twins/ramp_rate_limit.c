/* One command, one time each way. */
#include "ramp_rate_limit.h"

struct ramp_rate_limit {
    struct rate_limit ramp;
};

const uint32_t ramp_rate_limit_size = sizeof(struct ramp_rate_limit);

void ramp_rate_limit_new(struct ramp_rate_limit *self)
{
    rate_limit_init(&self->ramp, 600, 300);
}

void ramp_rate_limit_step(struct ramp_rate_limit *self, const int32_t *in, int32_t *out)
{
    out[0] = rate_limit_step(&self->ramp, in[0]);
}
