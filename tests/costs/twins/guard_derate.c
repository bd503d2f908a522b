/* Less of everything where the oil is cold: 400 thousandths at -15 degrees, all of it from 10 degrees on. */
#include "twin.h"

struct guard_derate {
    int32_t low;
    int32_t high; /* less than 2^31 above low */
    struct divisor width;
    int32_t at_low;
    int32_t at_high;
};

const uint32_t guard_derate_size = sizeof(struct guard_derate);

void guard_derate_new(struct guard_derate *self)
{
    self->low = -150;
    self->high = 100;
    self->width = divisor_of(self->high - self->low);
    self->at_low = ratio_permille(400);
    self->at_high = ratio_permille(1000);
}

static int32_t derate_step(const struct guard_derate *self, int32_t value)
{
    if (value <= self->low)
        return self->at_low;
    if (value >= self->high)
        return self->at_high;
    int32_t along = divisor_share(&self->width, value - self->low);
    return self->at_low + ratio_times(self->at_high - self->at_low, along);
}

void guard_derate_step(struct guard_derate *self, const int32_t *in, int32_t *out)
{
    out[0] = derate_step(self, in[0]);
}
