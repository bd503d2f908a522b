/* The lever pattern changes only at rest, for 500 ms. */
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

struct guard_pattern_latch {
    uint32_t hold_steps;
    uint32_t rested;
    uint32_t steady;
    struct choice rocker;
    struct choice active;
};

const uint32_t guard_pattern_latch_size = sizeof(struct guard_pattern_latch);

void guard_pattern_latch_new(struct guard_pattern_latch *self)
{
    *self = (struct guard_pattern_latch){ .hold_steps = steps_of(500, TICK_US) };
}

static inline bool same(struct choice a, struct choice b)
{
    return a.given == b.given && (!a.given || a.pattern == b.pattern);
}

static struct pattern_state pattern_latch_step(struct guard_pattern_latch *self, struct choice rocker, bool at_rest)
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

void guard_pattern_latch_step(struct guard_pattern_latch *self, const int32_t *in, int32_t *out)
{
    const struct choice rocker = { in[0] != 0, (uint8_t)in[1] };
    struct pattern_state state = pattern_latch_step(self, rocker, in[2] != 0);
    out[0] = state.active.given;
    out[1] = state.active.given ? state.active.pattern : 0;
    out[2] = state.mismatch;
    out[3] = state.changed;
    out[4] = state.dropped;
}
