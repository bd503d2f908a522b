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

/* Magnitudes from here on, so that no product has a sign to round by. */
static inline uint32_t axis_part(uint32_t value, uint32_t share)
{
    return (uint32_t)(((uint64_t)value * share + (1u << 29)) >> 30);
}

static inline int32_t axis_step(const struct axis *self, int32_t position)
{
    int32_t beyond = magnitude_32(position) - self->deadband;
    if (beyond <= 0)
        return 0;
    uint32_t share = (uint32_t)divisor_share(&self->travel, beyond);
    uint32_t cubic = axis_part(axis_part(share, share), share);
    /* A mean of two numbers of at most 1, rounded once. */
    uint64_t sum = (uint64_t)share * (uint32_t)(RATIO_ONE - self->progression) +
                   (uint64_t)cubic * (uint32_t)self->progression;
    int32_t intent = (int32_t)((sum + (1u << 29)) >> 30);
    return position < 0 ? -intent : intent;
}

#endif
