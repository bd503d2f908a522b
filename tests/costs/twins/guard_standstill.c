/* Standstill is seen, not assumed: below 10 rpm for 200 ms. */
#include "sense_reading.h"

struct guard_standstill {
    int32_t band; /* in eighths of a revolution a minute */
    uint32_t hold_steps;
    uint32_t slow_for;
    bool stands;
};

const uint32_t guard_standstill_size = sizeof(struct guard_standstill);

void guard_standstill_new(struct guard_standstill *self)
{
    self->band = 10 * 8;
    self->hold_steps = steps_of(200, TICK_US);
    self->slow_for = 0;
    self->stands = false;
}

static inline bool is_slow(const struct guard_standstill *self, struct sensed speed)
{
    return speed.health == HEALTH_GOOD && magnitude_32(speed.value) <= self->band;
}

static bool standstill_step(struct guard_standstill *self, bool commands_zero, struct sensed left, struct sensed right)
{
    if (!commands_zero || !is_slow(self, left) || !is_slow(self, right)) {
        self->slow_for = 0;
        self->stands = false;
    } else if (self->slow_for >= self->hold_steps) {
        self->stands = true;
    } else {
        self->slow_for++;
    }
    return self->stands;
}

void guard_standstill_step(struct guard_standstill *self, const int32_t *in, int32_t *out)
{
    out[0] = standstill_step(self, in[0] != 0, sensed_from(in + 1), sensed_from(in + 3));
}
