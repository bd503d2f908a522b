/* Auxiliary flow by the wheel, or going on by itself. */
#ifndef WORK_CONTINUOUS_FLOW_H
#define WORK_CONTINUOUS_FLOW_H

#include "twin.h"

enum flow_mode { FLOW_WAITING, FLOW_PROPORTIONAL, FLOW_CONTINUOUS };

struct continuous_flow {
    int32_t flow;
    int32_t neutral;
    int32_t continuing;
    uint8_t mode;
};

static inline void continuous_flow_init(struct continuous_flow *self, int32_t flow, int32_t neutral)
{
    self->flow = ratio_permille(flow);
    self->neutral = ratio_permille(neutral);
    self->continuing = 0;
    self->mode = FLOW_WAITING;
}

static inline int32_t continuous_flow_step(struct continuous_flow *self, bool toggle, int32_t wheel, bool permitted)
{
    bool neutral = magnitude_32(wheel) <= self->neutral;
    if (neutral)
        wheel = 0;
    if (!permitted) {
        self->mode = FLOW_WAITING;
    } else if (self->mode == FLOW_CONTINUOUS) {
        if (toggle || opposed(wheel, self->continuing))
            self->mode = FLOW_WAITING;
    } else if (self->mode == FLOW_PROPORTIONAL && toggle) {
        self->mode = FLOW_CONTINUOUS;
        self->continuing = neutral ? self->flow : wheel;
    } else if (neutral) {
        self->mode = FLOW_PROPORTIONAL;
    }
    if (self->mode == FLOW_CONTINUOUS)
        return self->continuing;
    return self->mode == FLOW_PROPORTIONAL ? wheel : 0;
}

#endif
