/* Two opposite coils of one spool: never both. */
#ifndef VALVE_PAIR_EXCLUSION_H
#define VALVE_PAIR_EXCLUSION_H

#include "twin.h"

/* For how long one coil has been released, or driven anew. */
struct release {
    uint32_t steps;
    bool lasting;
    bool driven; /* in the last step: what was measured of it may still have been rising */
};

struct pair_exclusion {
    uint32_t pause;
    struct release a;
    struct release b;
    uint16_t released;
};

static inline void pair_exclusion_init(struct pair_exclusion *self, uint16_t released, uint32_t pause_ms)
{
    uint32_t steps = steps_of(pause_ms, COIL_TICK_US);
    self->released = released;
    self->pause = steps == 0 ? 1 : steps;
    self->a = (struct release){ 0, false, false };
    self->b = (struct release){ 0, false, false };
}

/* Both ways the change has to last for the pause. */
static inline void release_measure(struct release *self, bool released, uint32_t pause)
{
    released = released && !self->driven;
    self->driven = false;
    if (released == self->lasting) {
        self->steps = 0;
    } else if (++self->steps >= pause) {
        self->steps = 0;
        self->lasting = released;
    }
}

/* Takes the set-points of both coils and leaves at most one of them. */
static inline void pair_exclusion_step(struct pair_exclusion *self, uint16_t *set_a, uint16_t *set_b,
                                       uint16_t measured_a, uint16_t measured_b)
{
    release_measure(&self->a, measured_a <= self->released, self->pause);
    release_measure(&self->b, measured_b <= self->released, self->pause);
    if (*set_a != 0 && *set_b == 0 && self->b.lasting) {
        self->a = (struct release){ 0, false, true };
    } else if (*set_b != 0 && *set_a == 0 && self->a.lasting) {
        self->b = (struct release){ 0, false, true };
    } else {
        *set_a = 0;
        *set_b = 0;
    }
}

#endif
