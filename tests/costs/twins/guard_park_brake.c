/* The spring-applied park brake: 1.5 s for a stop. */
#include "twin.h"

enum park_brake { BRAKE_APPLIED, BRAKE_RELEASED, BRAKE_STOPPING };

struct guard_park_brake {
    uint32_t time_out_steps;
    uint32_t stopping_for;
    uint8_t state;
};

const uint32_t guard_park_brake_size = sizeof(struct guard_park_brake);

void guard_park_brake_new(struct guard_park_brake *self)
{
    self->time_out_steps = steps_of(1500, TICK_US);
    self->stopping_for = 0;
    self->state = BRAKE_APPLIED;
}

static enum park_brake park_brake_step(struct guard_park_brake *self, bool permitted, bool charge_pressure_good,
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
    return (enum park_brake)self->state;
}

void guard_park_brake_step(struct guard_park_brake *self, const int32_t *in, int32_t *out)
{
    out[0] = park_brake_step(self, in[0] != 0, in[1] != 0, in[2] != 0);
}
