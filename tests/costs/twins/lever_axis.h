/* Turns the position of a lever axis into an intent: deadband, rescale, progression. */
#ifndef LEVER_AXIS_H
#define LEVER_AXIS_H

#include "twin.h"

struct axis {
    int32_t deadband;
    int32_t travel; /* between deadband and saturation, shifted left into (2^29, 2^30] */
    uint32_t reciprocal; /* 2^61 / travel, rounded down */
    uint8_t shift;
    int32_t progression;
};

/* In thousandths. */
static inline void axis_init(struct axis *self, int32_t deadband, int32_t saturation, int32_t progression)
{
    self->deadband = ratio_permille(deadband);
    self->travel = ratio_permille(saturation) - self->deadband;
    self->shift = 0;
    while (self->travel <= RATIO_ONE / 2) {
        self->travel *= 2;
        self->shift++;
    }
    self->reciprocal = (uint32_t)((UINT64_C(1) << 61) / (uint32_t)self->travel);
    self->progression = ratio_permille(progression);
}

/* beyond / travel, to nearest, ties up: the divisor is known beforehand, so its reciprocal gives the quotient or one
 * less, and the remainder says which. */
static inline int32_t axis_share(const struct axis *self, int32_t beyond)
{
    uint32_t travel = (uint32_t)self->travel;
    uint32_t dividend = (uint32_t)beyond << self->shift;
    if (dividend >= travel)
        return RATIO_ONE;
    uint32_t quotient = (uint32_t)(((uint64_t)dividend * self->reciprocal) >> 31);
    uint32_t remainder = (dividend << 30) - quotient * travel;
    uint32_t half = (travel + 1) / 2;
    return (int32_t)(quotient + (remainder >= half) + (remainder >= half + travel));
}

static inline int32_t axis_step(const struct axis *self, int32_t position)
{
    int32_t beyond = magnitude_32(position) - self->deadband;
    if (beyond <= 0)
        return 0;
    int32_t share = axis_share(self, beyond);
    int32_t cubic = ratio_times(ratio_times(share, share), share);
    int32_t intent = ratio_times(share, RATIO_ONE - self->progression) + ratio_times(cubic, self->progression);
    intent = at_most(intent, RATIO_ONE);
    return position < 0 ? -intent : intent;
}

#endif
