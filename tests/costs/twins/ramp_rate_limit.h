/* One command, one time each way. */
#ifndef RAMP_RATE_LIMIT_H
#define RAMP_RATE_LIMIT_H

#include "ramp_fine.h"

struct rate_limit {
    int64_t rise;
    int64_t fall;
    int64_t position;
};

static inline void rate_limit_init(struct rate_limit *self, uint32_t rise_ms, uint32_t fall_ms)
{
    self->rise = fine_rate(rise_ms, TICK_US);
    self->fall = fine_rate(fall_ms, TICK_US);
    self->position = 0;
}

static inline int32_t rate_limit_step(struct rate_limit *self, int32_t target)
{
    int64_t goal = fine_from_ratio(target);
    int64_t from = self->position;
    if (opposed_64(from, goal))
        self->position = fine_approach(from, 0, self->fall);
    else if (magnitude_64(goal) > magnitude_64(from))
        self->position = fine_approach(from, goal, self->rise);
    else
        self->position = fine_approach(from, goal, self->fall);
    return fine_to_ratio(self->position);
}

#endif
