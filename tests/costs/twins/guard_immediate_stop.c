/* Stops at once on a cause, until it is gone and somebody resets it by hand: presses of 50 ms to 1 s. */
#include "sense_reading.h"

enum stop { STOP_STOPPED, STOP_MUST_RESET, STOP_CLEARED };

enum press { PRESS_NOT_SEEN_RELEASED, PRESS_RELEASED, PRESS_HELD };

struct guard_immediate_stop {
    uint32_t shortest_steps;
    uint32_t longest_steps;
    uint32_t held_for;
    uint8_t state;
    uint8_t press;
};

const uint32_t guard_immediate_stop_size = sizeof(struct guard_immediate_stop);

void guard_immediate_stop_new(struct guard_immediate_stop *self)
{
    self->shortest_steps = steps_of(50, TICK_US);
    self->longest_steps = steps_of(1000, TICK_US);
    self->held_for = 0;
    self->state = STOP_MUST_RESET;
    self->press = PRESS_NOT_SEEN_RELEASED;
}

static void immediate_stop_button(struct guard_immediate_stop *self, struct sensed button)
{
    if (button.health != HEALTH_GOOD) {
        self->press = PRESS_NOT_SEEN_RELEASED;
    } else if (!button.value) {
        if (self->press == PRESS_HELD && self->held_for >= self->shortest_steps &&
            self->held_for <= self->longest_steps)
            self->state = STOP_CLEARED;
        self->press = PRESS_RELEASED;
    } else if (self->press == PRESS_RELEASED) {
        self->press = PRESS_HELD;
        self->held_for = 1;
    } else if (self->press == PRESS_HELD && self->held_for <= self->longest_steps) {
        self->held_for++;
    }
}

static enum stop immediate_stop_step(struct guard_immediate_stop *self, struct sensed cause, struct sensed button)
{
    if (cause.health != HEALTH_GOOD || cause.value) {
        self->state = STOP_STOPPED;
        self->press = PRESS_NOT_SEEN_RELEASED;
    } else if (self->state != STOP_CLEARED) {
        self->state = STOP_MUST_RESET;
        immediate_stop_button(self, button);
    }
    return (enum stop)self->state;
}

void guard_immediate_stop_step(struct guard_immediate_stop *self, const int32_t *in, int32_t *out)
{
    out[0] = immediate_stop_step(self, sensed_from(in), sensed_from(in + 2));
}
