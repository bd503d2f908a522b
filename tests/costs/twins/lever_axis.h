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
    int32_t intent = ratio_times(share, RATIO_ONE - self->progression) + ratio_times(cubic, self->progression);
    intent = at_most(intent, RATIO_ONE);
    return position < 0 ? -intent : intent;
}

#endif
