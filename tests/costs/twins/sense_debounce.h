/* A contact without its bounces. */
#ifndef SENSE_DEBOUNCE_H
#define SENSE_DEBOUNCE_H

#include "twin.h"

struct debounce {
    uint32_t set_steps;
    uint32_t clear_steps;
    uint32_t waited; /* steps since the level first contradicted the state */
    bool state;
};

static inline void debounce_init(struct debounce *self, uint32_t set_ms, uint32_t clear_ms)
{
    self->set_steps = steps_of(set_ms, TICK_US);
    self->clear_steps = steps_of(clear_ms, TICK_US);
    self->waited = 0;
    self->state = false;
}

static inline bool debounce_step(struct debounce *self, bool level)
{
    if (level == self->state) {
        self->waited = 0;
    } else if (self->waited >= (level ? self->set_steps : self->clear_steps)) {
        self->state = level;
        self->waited = 0;
    } else {
        self->waited++;
    }
    return self->state;
}

#endif
