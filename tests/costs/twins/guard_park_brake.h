/* The spring-applied park brake. */
#ifndef GUARD_PARK_BRAKE_H
#define GUARD_PARK_BRAKE_H

#include "twin.h"

enum brake_state { BRAKE_APPLIED, BRAKE_RELEASED, BRAKE_STOPPING };

struct park_brake {
    uint32_t time_out_steps;
    uint32_t stopping_for;
    uint8_t state;
};

static inline void park_brake_reset(struct park_brake *self)
{
    self->stopping_for = 0;
    self->state = BRAKE_APPLIED;
}

static inline void park_brake_init(struct park_brake *self, uint32_t time_out_ms)
{
    self->time_out_steps = steps_of(time_out_ms, TICK_US);
    park_brake_reset(self);
}

static inline enum brake_state park_brake_step(struct park_brake *self, bool permitted, bool charge_pressure_good,
                                               bool standstill)
{
    if (permitted && charge_pressure_good) {
        self->stopping_for = 0;
        self->state = BRAKE_RELEASED;
    } else if (self->state == BRAKE_APPLIED || !charge_pressure_good || standstill ||
               self->stopping_for >= self->time_out_steps) {
        self->stopping_for = 0;
        self->state = BRAKE_APPLIED;
    } else {
        self->stopping_for++;
        self->state = BRAKE_STOPPING;
    }
    return (enum brake_state)self->state;
}

#endif
