/* Lets the boom follow the ground until it is raised. */
#ifndef WORK_FLOAT_H
#define WORK_FLOAT_H

#include "twin.h"

struct boom_float {
    int32_t raise;
    bool on;
};

static inline void boom_float_init(struct boom_float *self, int32_t raise)
{
    self->raise = ratio_permille(raise);
    self->on = false;
}

static inline bool boom_float_step(struct boom_float *self, bool request, int32_t lever, bool permitted)
{
    self->on = permitted && lever <= self->raise && self->on != request;
    return self->on;
}

#endif
