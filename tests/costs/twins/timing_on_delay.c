/* A level that counts once it has lasted for 200 ms. */
#include "timing_delay.h"

struct timing_on_delay {
    struct on_delay delay;
};

const uint32_t timing_on_delay_size = sizeof(struct timing_on_delay);

void timing_on_delay_new(struct timing_on_delay *self) { on_delay_init(&self->delay, 200); }

void timing_on_delay_step(struct timing_on_delay *self, const int32_t *in, int32_t *out)
{
    out[0] = on_delay_step(&self->delay, in[0] != 0);
}
