/* Two sources of one speed. */
#ifndef SENSE_SPEED_COMPARISON_H
#define SENSE_SPEED_COMPARISON_H

#include "sense_reading.h"

struct speed_comparison {
    int32_t tolerance; /* in eighths of a revolution a minute */
    uint32_t disagree_steps;
    uint32_t waited; /* steps since they first differed by more than the tolerance */
};

static inline void speed_comparison_init(struct speed_comparison *self, int32_t tolerance, uint32_t disagree_ms)
{
    self->tolerance = tolerance;
    self->disagree_steps = steps_of(disagree_ms, TICK_US);
    self->waited = 0;
}

static inline bool speed_comparison_step(struct speed_comparison *self, struct sensed a, struct sensed b)
{
    bool comparable = a.health == HEALTH_GOOD && b.health == HEALTH_GOOD;
    if (!comparable || magnitude_32(a.value - b.value) <= self->tolerance) {
        self->waited = 0;
        return false;
    }
    if (self->waited >= self->disagree_steps)
        return true;
    self->waited++;
    return false;
}

#endif
