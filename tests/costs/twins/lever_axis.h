/* Turns the position of a lever axis into an intent: deadband, rescale, progression. */
#ifndef LEVER_AXIS_H
#define LEVER_AXIS_H

#include "twin.h"

struct axis {
    int32_t deadband;
    struct divisor travel; /* between deadband and saturation */
    int32_t progression;
};

/* In thousandths. */
static inline void axis_init(struct axis *self, int32_t deadband, int32_t saturation, int32_t progression)
{
    self->deadband = ratio_permille(deadband);
    self->travel = divisor_of(ratio_permille(saturation) - self->deadband);
    self->progression = ratio_permille(progression);
}

static inline int32_t axis_step(const struct axis *self, int32_t position)
{
    int32_t beyond = magnitude_32(position) - self->deadband;
    if (beyond <= 0)
        return 0;
    int32_t share = divisor_share(&self->travel, beyond);
    int32_t cubic = ratio_times(ratio_times(share, share), share);
    /* A mean of two numbers of at most 1, rounded once. */
    int64_t sum = (int64_t)share * (RATIO_ONE - self->progression) + (int64_t)cubic * self->progression;
    int32_t intent = (int32_t)rounded_shift(sum, 30);
    return position < 0 ? -intent : intent;
}

#endif
