/* What the two sides of the machine shall do, forward positive. */
#ifndef PROPEL_SIDES_H
#define PROPEL_SIDES_H

#include "twin.h"

struct sides {
    int32_t left;
    int32_t right;
};

/* Travel: half the sum. */
static inline int32_t sides_mean(struct sides sides)
{
    return (int32_t)rounded_shift((int64_t)sides.left + sides.right, 1);
}

/* Rotation: half the difference, clockwise positive. */
static inline int32_t sides_half_difference(struct sides sides)
{
    return (int32_t)rounded_shift((int64_t)sides.left - sides.right, 1);
}

static inline struct sides sides_scaled(struct sides sides, int32_t share)
{
    return (struct sides){ ratio_times(sides.left, share), ratio_times(sides.right, share) };
}

#endif
