/* No motion before the levers were let go of. */
#ifndef GUARD_NEUTRAL_START_H
#define GUARD_NEUTRAL_START_H

#include "twin.h"

enum start { START_BLOCKED, START_NOT_NEUTRAL, START_AWAITING_ASK, START_PERMITTED };

struct start_inputs {
    bool conditions;
    bool neutral;
    bool new_frame;
    bool ask;
    bool ask_required;
};

struct neutral_start {
    uint32_t hold_steps;
    uint32_t neutral_steps;
    uint8_t frames;
    uint8_t neutral_frames;
    uint8_t phase;
    bool must_ask;
};

static inline void neutral_start_init(struct neutral_start *self, uint32_t hold_ms, uint8_t frames)
{
    self->hold_steps = steps_of(hold_ms, TICK_US);
    self->neutral_steps = 0;
    self->frames = frames;
    self->neutral_frames = 0;
    self->phase = START_BLOCKED;
    self->must_ask = true;
}

static inline void neutral_start_forget(struct neutral_start *self)
{
    self->neutral_steps = 0;
    self->neutral_frames = 0;
}

static inline enum start neutral_start_waiting(struct neutral_start *self, const struct start_inputs *inputs)
{
    if (!inputs->neutral) {
        neutral_start_forget(self);
        return START_NOT_NEUTRAL;
    }
    bool long_enough = self->neutral_steps >= self->hold_steps;
    if (!long_enough)
        self->neutral_steps++;
    if (inputs->new_frame && self->neutral_frames < UINT8_MAX)
        self->neutral_frames++;
    if (!long_enough || self->neutral_frames < self->frames)
        return START_NOT_NEUTRAL;
    if (self->must_ask) {
        if (inputs->ask_required || !inputs->ask)
            return START_AWAITING_ASK;
        self->must_ask = false;
    }
    neutral_start_forget(self);
    return START_PERMITTED;
}

static inline enum start neutral_start_step(struct neutral_start *self, const struct start_inputs *inputs)
{
    if (inputs->ask_required)
        self->must_ask = true;
    if (!inputs->conditions) {
        neutral_start_forget(self);
        self->phase = START_BLOCKED;
    } else if (self->phase != START_PERMITTED) {
        self->phase = (uint8_t)neutral_start_waiting(self, inputs);
    }
    return (enum start)self->phase;
}

#endif
