/* Less drive before the engine stalls. */
#include "propel_anti_stall.h"

struct propel_anti_stall {
    struct anti_stall anti_stall;
};

const uint32_t propel_anti_stall_size = sizeof(struct propel_anti_stall);

void propel_anti_stall_new(struct propel_anti_stall *self)
{
    anti_stall_init(&self->anti_stall, 120, 300, 150, 1500);
}

void propel_anti_stall_step(struct propel_anti_stall *self, const int32_t *in, int32_t *out)
{
    out[0] = anti_stall_step(&self->anti_stall, in[0], (struct reading){ in[1] != 0, in[2] });
}
