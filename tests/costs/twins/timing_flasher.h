/* A lamp that is steady, or flashes. */
#ifndef TIMING_FLASHER_H
#define TIMING_FLASHER_H

#include "twin.h"

struct flasher {
    uint32_t half_steps;
    uint32_t steps;
    bool lit;
};

static inline void flasher_init(struct flasher *self, uint32_t half_ms)
{
    self->half_steps = steps_of(half_ms, TICK_US);
    self->steps = 0;
    self->lit = true;
}

static inline bool flasher_step(struct flasher *self, bool flashing)
{
    if (!flashing) {
        self->steps = 0;
        self->lit = true;
    } else if (++self->steps >= self->half_steps) {
        self->steps = 0;
        self->lit = !self->lit;
    }
    return self->lit;
}

#endif
