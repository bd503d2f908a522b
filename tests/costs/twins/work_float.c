/* Lets the boom follow the ground until it is raised. */
#include "work_float.h"

struct work_float {
    struct boom_float boom;
};

const uint32_t work_float_size = sizeof(struct work_float);

void work_float_new(struct work_float *self)
{
    boom_float_init(&self->boom, 50);
}

void work_float_step(struct work_float *self, const int32_t *in, int32_t *out)
{
    out[0] = boom_float_step(&self->boom, in[0] != 0, in[1], in[2] != 0);
}
