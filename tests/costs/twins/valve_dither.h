/* A small square wave around the set-point that keeps the spool from sticking. */
#ifndef VALVE_DITHER_H
#define VALVE_DITHER_H

#include "twin.h"

struct dither {
    uint16_t amplitude;
    uint16_t half;
    uint16_t phase;
};

static inline void dither_init(struct dither *self, uint16_t amplitude, uint32_t cycle_ms)
{
    self->amplitude = amplitude;
    self->half = (uint16_t)(steps_of(cycle_ms, COIL_TICK_US) / 2);
    self->phase = 0;
}

static inline uint16_t dither_step(struct dither *self, uint16_t set)
{
    if (set == 0) {
        self->phase = 0;
        return 0;
    }
    int32_t height = at_most(self->amplitude, set);
    int32_t dithered = self->phase < self->half ? at_most(set + height, UINT16_MAX) : set - height;
    if (++self->phase >= 2 * self->half)
        self->phase = 0;
    return (uint16_t)dithered;
}

#endif
