/* Less of everything where a quantity is low. */
#ifndef GUARD_DERATE_H
#define GUARD_DERATE_H

#include "twin.h"

struct derate {
    int32_t low;
    int32_t high;
    struct divisor width;
    int32_t at_low;
    int32_t at_high;
};

/* Shares in thousandths; less than 2^31 between low and high. */
static inline void derate_init(struct derate *self, int32_t low, int32_t at_low, int32_t high, int32_t at_high)
{
    self->low = low;
    self->high = high;
    self->width = divisor_of(high - low);
    self->at_low = ratio_permille(at_low);
    self->at_high = ratio_permille(at_high);
}

static inline int32_t derate_step(const struct derate *self, int32_t value)
{
    if (value <= self->low)
        return self->at_low;
    if (value >= self->high)
        return self->at_high;
    int32_t along = divisor_share(&self->width, value - self->low);
    return self->at_low + ratio_times(self->at_high - self->at_low, along);
}

#endif
