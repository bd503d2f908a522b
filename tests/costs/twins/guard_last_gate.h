/* The gate after the valves, in mA. */
#ifndef GUARD_LAST_GATE_H
#define GUARD_LAST_GATE_H

#include "twin.h"

enum gate { GATE_CLOSED, GATE_OPEN, GATE_DISAGREES };

struct last_gate {
    uint32_t decay_steps;
    uint32_t closed_for;
    uint16_t stray;
    uint8_t state;
};

static inline void last_gate_init(struct last_gate *self, uint32_t decay_ms, uint16_t stray)
{
    self->decay_steps = steps_of(decay_ms, TICK_US);
    self->closed_for = 0;
    self->stray = stray;
    self->state = GATE_CLOSED;
}

static inline enum gate last_gate_step(struct last_gate *self, bool open, uint16_t measured)
{
    if (open) {
        self->closed_for = 0;
        self->state = GATE_OPEN;
    } else if (self->closed_for <= self->decay_steps) {
        self->closed_for++;
        self->state = GATE_CLOSED;
    } else {
        self->state = measured > self->stray ? GATE_DISAGREES : GATE_CLOSED;
    }
    return (enum gate)self->state;
}

#endif
