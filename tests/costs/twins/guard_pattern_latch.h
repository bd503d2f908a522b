/* The lever pattern changes only at rest. */
#ifndef GUARD_PATTERN_LATCH_H
#define GUARD_PATTERN_LATCH_H

#include "twin.h"

/* A pattern, or none. */
struct choice {
    bool given;
    uint8_t pattern;
};

struct pattern_state {
    struct choice active;
    bool mismatch;
    bool changed;
    bool dropped;
};

struct pattern_latch {
    uint32_t hold_steps;
    uint32_t rested;
    uint32_t steady;
    struct choice rocker;
    struct choice active;
};

static inline void pattern_latch_init(struct pattern_latch *self, uint32_t hold_ms)
{
    *self = (struct pattern_latch){ .hold_steps = steps_of(hold_ms, TICK_US) };
}

static inline bool same(struct choice a, struct choice b)
{
    return a.given == b.given && (!a.given || a.pattern == b.pattern);
}

static inline struct pattern_state pattern_latch_step(struct pattern_latch *self, struct choice rocker, bool at_rest)
{
    const struct choice before = self->active;
    bool as_before = same(rocker, self->rocker);
    bool moved = rocker.given && self->rocker.given && !as_before;
    self->rocker = rocker;
    if (!rocker.given || !as_before)
        self->steady = 0;
    else if (self->steady < self->hold_steps)
        self->steady++;

    bool rested_enough = at_rest && self->rested >= self->hold_steps;
    if (!at_rest)
        self->rested = 0;
    else if (self->rested < self->hold_steps)
        self->rested++;

    bool request = moved && before.given && !same(rocker, before);
    bool first = !before.given && rested_enough && self->steady >= self->hold_steps;
    if (!rocker.given || first || (request && rested_enough))
        self->active = rocker;
    return (struct pattern_state){
        .active = self->active,
        .mismatch = self->active.given && !same(self->active, rocker),
        .changed = !same(self->active, before),
        .dropped = request && !rested_enough,
    };
}

#endif
