/* Whether a value that comes in frames is still alive. */
#ifndef SENSE_FRESHNESS_H
#define SENSE_FRESHNESS_H

#include "twin.h"

enum heard { FRESHNESS_WAITING, FRESHNESS_FRESH, FRESHNESS_LOST, FRESHNESS_NEVER_SEEN };

struct freshness {
    uint32_t time_out_steps;
    uint32_t start_up_steps;
    uint32_t waited; /* steps since the last valid frame, or since the start */
    bool seen;
    uint8_t state;
};

static inline void freshness_init(struct freshness *self, uint32_t time_out_ms, uint32_t start_up_ms)
{
    self->time_out_steps = steps_of(time_out_ms, TICK_US);
    self->start_up_steps = steps_of(start_up_ms, TICK_US);
    self->waited = 0;
    self->seen = false;
    self->state = FRESHNESS_WAITING;
}

static inline enum heard freshness_step(struct freshness *self, bool valid_frame)
{
    if (valid_frame) {
        self->seen = true;
        self->waited = 0;
        self->state = FRESHNESS_FRESH;
        return FRESHNESS_FRESH;
    }
    if (self->waited < UINT32_MAX)
        self->waited++;
    if (self->seen)
        self->state = self->waited >= self->time_out_steps ? FRESHNESS_LOST : FRESHNESS_FRESH;
    else
        self->state = self->waited > self->start_up_steps ? FRESHNESS_NEVER_SEEN : FRESHNESS_WAITING;
    return (enum heard)self->state;
}

#endif
