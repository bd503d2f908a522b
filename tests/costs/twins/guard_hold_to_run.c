/* It runs while it is held, for 2 s at most. */
#include "sense_reading.h"

enum hold { HOLD_MUST_RELEASE, HOLD_RELEASED, HOLD_RUNNING };

struct guard_hold_to_run {
    uint32_t longest_steps;
    uint32_t ran_for;
    uint8_t state;
};

const uint32_t guard_hold_to_run_size = sizeof(struct guard_hold_to_run);

void guard_hold_to_run_new(struct guard_hold_to_run *self)
{
    self->longest_steps = steps_of(2000, TICK_US);
    self->ran_for = 0;
    self->state = HOLD_MUST_RELEASE;
}

static enum hold hold_to_run_step(struct guard_hold_to_run *self, bool permitted, struct sensed held)
{
    if (!permitted || held.health != HEALTH_GOOD) {
        self->state = HOLD_MUST_RELEASE;
    } else if (!held.value) {
        self->state = HOLD_RELEASED;
    } else if (self->state == HOLD_RELEASED ||
               (self->state == HOLD_RUNNING && self->ran_for < self->longest_steps)) {
        self->state = HOLD_RUNNING;
        self->ran_for++;
        return HOLD_RUNNING;
    } else {
        self->state = HOLD_MUST_RELEASE;
    }
    self->ran_for = 0;
    return (enum hold)self->state;
}

void guard_hold_to_run_step(struct guard_hold_to_run *self, const int32_t *in, int32_t *out)
{
    out[0] = hold_to_run_step(self, in[0] != 0, sensed_from(in + 1));
}
