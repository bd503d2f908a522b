/* Largest speeds forward, in reverse and of rotation. */
#ifndef PROPEL_SPEED_LIMITS_H
#define PROPEL_SPEED_LIMITS_H

#include "propel_sides.h"

struct speed_limits {
    int32_t forward;
    int32_t reverse;
    int32_t rotation;
};

static inline void speed_limits_init(struct speed_limits *self, int32_t forward, int32_t reverse, int32_t rotation)
{
    self->forward = ratio_permille(forward);
    self->reverse = ratio_permille(reverse);
    self->rotation = ratio_permille(rotation);
}

/* The lever over the speeds that are allowed: each of drive and steer scaled. */
static inline int32_t speed_limits_drive(const struct speed_limits *self, int32_t drive)
{
    return ratio_times(drive, drive < 0 ? self->reverse : self->forward);
}

static inline int32_t speed_limits_steer(const struct speed_limits *self, int32_t steer)
{
    return ratio_times(steer, self->rotation);
}

/* The limit as a share of half of the doubled one; rounding may leave that a step above, which is within. */
static inline int32_t speed_limits_share(int32_t limit, int64_t doubled)
{
    uint64_t magnitude = (uint64_t)magnitude_64(doubled);
    uint64_t doubled_limit = 2u * (uint64_t)limit;
    if (magnitude <= doubled_limit + 2)
        return RATIO_ONE;
    return (int32_t)(((doubled_limit << 30) + (magnitude >> 1)) / magnitude);
}

/* The sides, scaled together by the largest share that keeps travel and rotation within their limits. */
static inline struct sides speed_limits_apply(const struct speed_limits *self, struct sides sides)
{
    int64_t sum = (int64_t)sides.left + sides.right;
    int64_t difference = (int64_t)sides.left - sides.right;
    int32_t travel = speed_limits_share(sum < 0 ? self->reverse : self->forward, sum);
    int32_t rotation = speed_limits_share(self->rotation, difference);
    return sides_scaled(sides, at_most(travel, rotation));
}

#endif
