/* Standstill is seen, not assumed: below 10 rpm for 200 ms. */
#include "guard_standstill.h"

struct guard_standstill {
    struct standstill standstill;
};

const uint32_t guard_standstill_size = sizeof(struct guard_standstill);

void guard_standstill_new(struct guard_standstill *self) { standstill_init(&self->standstill, 10 * 8, 200); }

void guard_standstill_step(struct guard_standstill *self, const int32_t *in, int32_t *out)
{
    out[0] = standstill_step(&self->standstill, in[0] != 0, sensed_from(in + 1), sensed_from(in + 3));
}
