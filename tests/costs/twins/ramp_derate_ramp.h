/* A share that is taken away and given back at most so fast. */
#ifndef RAMP_DERATE_RAMP_H
#define RAMP_DERATE_RAMP_H

#include "ramp_fine.h"

struct derate_ramp {
    int64_t withdraw;
    int64_t restore;
    int64_t share;
    bool known; /* the first share is taken as it is */
};

static inline void derate_ramp_init(struct derate_ramp *self, uint32_t withdraw_ms, uint32_t restore_ms)
{
    self->withdraw = fine_rate(withdraw_ms, TICK_US);
    self->restore = fine_rate(restore_ms, TICK_US);
    self->share = 0;
    self->known = false;
}

static inline int32_t derate_ramp_step(struct derate_ramp *self, int32_t asked)
{
    int64_t goal = fine_from_ratio(at_least(asked, 0));
    if (self->known)
        goal = fine_approach(self->share, goal, goal < self->share ? self->withdraw : self->restore);
    self->known = true;
    self->share = goal;
    return fine_to_ratio(goal);
}

#endif
