/* The lever pattern changes only at rest, for 500 ms. */
#include "guard_pattern_latch.h"

struct guard_pattern_latch {
    struct pattern_latch latch;
};

const uint32_t guard_pattern_latch_size = sizeof(struct guard_pattern_latch);

void guard_pattern_latch_new(struct guard_pattern_latch *self) { pattern_latch_init(&self->latch, 500); }

void guard_pattern_latch_step(struct guard_pattern_latch *self, const int32_t *in, int32_t *out)
{
    const struct choice rocker = { in[0] != 0, (uint8_t)in[1] };
    struct pattern_state state = pattern_latch_step(&self->latch, rocker, in[2] != 0);
    out[0] = state.active.given;
    out[1] = state.active.given ? state.active.pattern : 0;
    out[2] = state.mismatch;
    out[3] = state.changed;
    out[4] = state.dropped;
}
