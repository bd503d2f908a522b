/* A code of two digits on one lamp: tens long, units short. */
#ifndef FAULT_BLINK_CODE_H
#define FAULT_BLINK_CODE_H

#include "twin.h"

enum blink_phase { BLINK_IDLE, BLINK_LIT, BLINK_DARK, BLINK_PAUSE };

struct blink_code {
    uint32_t short_steps;
    uint32_t long_steps;
    uint32_t off_steps;
    uint32_t pause_steps;
    uint32_t left; /* steps that the phase still lasts */
    uint8_t phase;
    uint8_t long_left; /* blinks that are still to come after the present one */
    uint8_t short_left;
};

static inline void blink_code_init(struct blink_code *self, uint32_t on_ms, uint32_t off_ms, uint32_t pause_ms)
{
    *self = (struct blink_code){
        .short_steps = steps_of(on_ms, TICK_US),
        .long_steps = steps_of(3 * on_ms, TICK_US),
        .off_steps = steps_of(off_ms, TICK_US),
        .pause_steps = steps_of(pause_ms, TICK_US),
        .phase = BLINK_IDLE,
    };
}

static inline void blink_code_enter(struct blink_code *self, enum blink_phase phase, uint32_t steps)
{
    self->phase = (uint8_t)phase;
    self->left = steps - 1;
}

static inline void blink_code_next(struct blink_code *self)
{
    if (self->long_left > 0) {
        self->long_left--;
        blink_code_enter(self, BLINK_LIT, self->long_steps);
    } else {
        self->short_left--;
        blink_code_enter(self, BLINK_LIT, self->short_steps);
    }
}

static inline void blink_code_begin(struct blink_code *self, uint8_t code)
{
    if (code > 99)
        code = 99;
    if (code == 0) {
        self->phase = BLINK_IDLE;
        return;
    }
    self->long_left = code / 10;
    self->short_left = code % 10;
    blink_code_next(self);
}

static inline bool blink_code_step(struct blink_code *self, uint8_t code)
{
    if (self->phase != BLINK_IDLE && self->left > 0) {
        self->left--;
        return self->phase == BLINK_LIT;
    }
    switch (self->phase) {
    case BLINK_LIT:
        if (self->long_left == 0 && self->short_left == 0)
            blink_code_enter(self, BLINK_PAUSE, self->pause_steps);
        else
            blink_code_enter(self, BLINK_DARK, self->off_steps);
        break;
    case BLINK_DARK:
        blink_code_next(self);
        break;
    default:
        blink_code_begin(self, code);
        break;
    }
    return self->phase == BLINK_LIT;
}

#endif
