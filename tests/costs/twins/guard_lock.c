/* The operator's own lock: levers neutral for 300 ms; a switch found at "unlocked" must be moved. */
#include "sense_reading.h"

enum lock_start { LOCK_MUST_BE_CYCLED, LOCK_AS_FOUND };

enum lock { LOCK_LOCKED, LOCK_MUST_CYCLE, LOCK_NOT_NEUTRAL, LOCK_UNLOCKED };

struct guard_lock {
    uint32_t hold_steps;
    uint32_t neutral_for;
    uint8_t state;
    bool intended; /* the switch was seen at "locked" */
};

const uint32_t guard_lock_size = sizeof(struct guard_lock);

void guard_lock_new(struct guard_lock *self)
{
    const enum lock_start start = LOCK_MUST_BE_CYCLED;
    self->hold_steps = steps_of(300, TICK_US);
    self->neutral_for = 0;
    self->state = LOCK_LOCKED;
    self->intended = start == LOCK_AS_FOUND;
}

static enum lock lock_step(struct guard_lock *self, struct sensed unlock, bool neutral)
{
    bool readable = unlock.health == HEALTH_GOOD;
    if (!readable || !unlock.value) {
        self->intended = readable;
        self->neutral_for = 0;
        self->state = LOCK_LOCKED;
        return LOCK_LOCKED;
    }
    if (self->state == LOCK_UNLOCKED)
        return LOCK_UNLOCKED;
    if (!self->intended)
        self->state = LOCK_MUST_CYCLE;
    else if (neutral && self->neutral_for >= self->hold_steps)
        self->state = LOCK_UNLOCKED;
    else
        self->state = LOCK_NOT_NEUTRAL;
    if (!neutral)
        self->neutral_for = 0;
    else if (self->neutral_for < self->hold_steps)
        self->neutral_for++;
    return (enum lock)self->state;
}

void guard_lock_step(struct guard_lock *self, const int32_t *in, int32_t *out)
{
    out[0] = lock_step(self, sensed_from(in), in[2] != 0);
}
