/* How fast a share is withdrawn and given back. */
#include "ramp_derate_ramp.h"

struct ramp_derate_ramp {
    struct derate_ramp ramp;
};

const uint32_t ramp_derate_ramp_size = sizeof(struct ramp_derate_ramp);

void ramp_derate_ramp_new(struct ramp_derate_ramp *self) { derate_ramp_init(&self->ramp, 2000, 10000); }

void ramp_derate_ramp_step(struct ramp_derate_ramp *self, const int32_t *in, int32_t *out)
{
    out[0] = derate_ramp_step(&self->ramp, in[0]);
}
