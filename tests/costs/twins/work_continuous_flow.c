/* Auxiliary flow by the wheel, or going on by itself. */
#include "work_continuous_flow.h"

struct work_continuous_flow {
    struct continuous_flow flow;
};

const uint32_t work_continuous_flow_size = sizeof(struct work_continuous_flow);

void work_continuous_flow_new(struct work_continuous_flow *self)
{
    continuous_flow_init(&self->flow, 700, 50);
}

void work_continuous_flow_step(struct work_continuous_flow *self, const int32_t *in, int32_t *out)
{
    out[0] = continuous_flow_step(&self->flow, in[0] != 0, in[1], in[2] != 0);
    out[1] = self->flow.mode == FLOW_CONTINUOUS;
}
