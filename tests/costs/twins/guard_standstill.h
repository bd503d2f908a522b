/* Standstill is seen, not assumed. */
#ifndef GUARD_STANDSTILL_H
#define GUARD_STANDSTILL_H

#include "sense_reading.h"

struct standstill {
    int32_t band; /* in eighths of a revolution a minute */
    uint32_t hold_steps;
    uint32_t slow_for;
    bool stands;
};

static inline void standstill_init(struct standstill *self, int32_t band, uint32_t hold_ms)
{
    self->band = band;
    self->hold_steps = steps_of(hold_ms, TICK_US);
    self->slow_for = 0;
    self->stands = false;
}

static inline bool is_slow(const struct standstill *self, struct sensed speed)
{
    return speed.health == HEALTH_GOOD && magnitude_32(speed.value) <= self->band;
}

static inline bool standstill_step(struct standstill *self, bool commands_zero, struct sensed left, struct sensed right)
{
    if (!commands_zero || !is_slow(self, left) || !is_slow(self, right)) {
        self->slow_for = 0;
        self->stands = false;
    } else if (self->slow_for >= self->hold_steps) {
        self->stands = true;
    } else {
        self->slow_for++;
    }
    return self->stands;
}

#endif
