/* The engine speed that throttle and droop ask for, in eighths of a revolution a minute. */
#ifndef PROPEL_ENGINE_SPEED_REQUEST_H
#define PROPEL_ENGINE_SPEED_REQUEST_H

#include "twin.h"

struct engine_speed_request {
    int32_t low_idle;
    int32_t width;
    int32_t rise;
    int32_t fall;
    int32_t share;
};

static inline void engine_speed_request_init(struct engine_speed_request *self, int32_t low_idle, int32_t high_idle,
                                             uint32_t rise_ms, uint32_t fall_ms)
{
    self->low_idle = low_idle;
    self->width = high_idle - low_idle;
    self->rise = share_in_period(rise_ms);
    self->fall = share_in_period(fall_ms);
    self->share = 0;
}

static inline int32_t engine_speed_request_step(struct engine_speed_request *self, int32_t hand, int32_t foot,
                                                int32_t least, int32_t most)
{
    int32_t asked = at_least(at_most(at_least(at_least(hand, foot), least), most), 0);
    if (asked > self->share)
        self->share = at_most(ratio_plus(self->share, self->rise), asked);
    else
        self->share = at_least(ratio_minus(self->share, self->fall), asked);
    return self->low_idle + (int32_t)rounded_shift((int64_t)self->width * self->share, 30);
}

#endif
