/* A level that must last before it counts. */
#ifndef TIMING_DELAY_H
#define TIMING_DELAY_H

#include "twin.h"

struct on_delay {
    uint32_t delay_steps;
    uint32_t waited;
    bool output;
};

static inline void on_delay_init(struct on_delay *self, uint32_t delay_ms)
{
    self->delay_steps = steps_of(delay_ms, TICK_US);
    self->waited = 0;
    self->output = false;
}

static inline bool on_delay_step(struct on_delay *self, bool level)
{
    if (!level) {
        self->waited = 0;
        self->output = false;
    } else if (self->waited >= self->delay_steps) {
        self->output = true;
    } else {
        self->waited++;
    }
    return self->output;
}

#endif
