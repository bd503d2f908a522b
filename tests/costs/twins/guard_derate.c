/* Less of everything where the oil is cold: 400 thousandths at -15 degrees, all of it from 10 degrees on. */
#include "guard_derate.h"

struct guard_derate {
    struct derate curve;
};

const uint32_t guard_derate_size = sizeof(struct guard_derate);

void guard_derate_new(struct guard_derate *self) { derate_init(&self->curve, -150, 400, 100, 1000); }

void guard_derate_step(struct guard_derate *self, const int32_t *in, int32_t *out)
{
    out[0] = derate_step(&self->curve, in[0]);
}
