/* Whether the loop keeps its period: three overruns, one forgotten a second. */
#include "twin.h"

struct guard_loop_alive {
    uint32_t forget_steps;
    uint32_t quiet_for;
    uint8_t overruns;
    uint8_t last;
    uint8_t counted;
    bool started;
};

const uint32_t guard_loop_alive_size = sizeof(struct guard_loop_alive);

void guard_loop_alive_new(struct guard_loop_alive *self)
{
    self->forget_steps = steps_of(1000, TICK_US);
    self->quiet_for = 0;
    self->overruns = 3;
    self->last = 0;
    self->counted = 0;
    self->started = false;
}

static bool loop_alive_step(struct guard_loop_alive *self, uint8_t missed)
{
    uint8_t new_overruns = self->started ? (uint8_t)(missed - self->last) : 0;
    self->started = true;
    self->last = missed;
    if (new_overruns != 0) {
        self->counted = (uint8_t)at_most(self->counted + new_overruns, UINT8_MAX);
        self->quiet_for = 0;
    } else if (++self->quiet_for >= self->forget_steps) {
        self->quiet_for = 0;
        if (self->counted > 0)
            self->counted--;
    }
    return self->counted < self->overruns;
}

void guard_loop_alive_step(struct guard_loop_alive *self, const int32_t *in, int32_t *out)
{
    out[0] = loop_alive_step(self, (uint8_t)in[0]);
}
