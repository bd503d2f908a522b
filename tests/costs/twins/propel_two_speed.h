/* The range of two-speed motors. */
#ifndef PROPEL_TWO_SPEED_H
#define PROPEL_TWO_SPEED_H

#include "twin.h"

enum two_speed_inhibit {
    TWO_SPEED_NOTHING,
    TWO_SPEED_NOT_PERMITTED,
    TWO_SPEED_TURNING,
    TWO_SPEED_TOO_FAST,
    TWO_SPEED_DWELL,
};

struct two_speed {
    int32_t up_below_turning;
    int32_t down_below_speed;
    uint32_t dwell;
    uint32_t until_next_shift;
    bool high;
    uint8_t inhibit;
};

struct two_speed_inputs {
    bool request;
    bool permitted;
    int32_t turning;
    int32_t speed;
};

static inline void two_speed_init(struct two_speed *self, int32_t up_below_turning, int32_t down_below_speed,
                                  uint32_t dwell_ms)
{
    self->up_below_turning = ratio_permille(up_below_turning);
    self->down_below_speed = ratio_permille(down_below_speed);
    self->dwell = steps_of(dwell_ms, TICK_US);
    self->until_next_shift = 0;
    self->high = false;
    self->inhibit = TWO_SPEED_NOTHING;
}

static inline enum two_speed_inhibit two_speed_obstacle(const struct two_speed *self,
                                                        const struct two_speed_inputs *inputs, bool wanted)
{
    if (wanted == self->high)
        return TWO_SPEED_NOTHING;
    if (wanted && magnitude_32(inputs->turning) > self->up_below_turning)
        return TWO_SPEED_TURNING;
    if (!wanted && magnitude_32(inputs->speed) > self->down_below_speed)
        return TWO_SPEED_TOO_FAST;
    return self->until_next_shift > 1 ? TWO_SPEED_DWELL : TWO_SPEED_NOTHING;
}

static inline bool two_speed_step(struct two_speed *self, const struct two_speed_inputs *inputs)
{
    bool wanted = inputs->request && inputs->permitted;
    enum two_speed_inhibit inhibit = two_speed_obstacle(self, inputs, wanted);
    if (self->until_next_shift > 0)
        self->until_next_shift--;
    if (inhibit == TWO_SPEED_NOTHING) {
        if (wanted != self->high) {
            self->high = wanted;
            self->until_next_shift = self->dwell;
        }
        if (inputs->request && !inputs->permitted)
            inhibit = TWO_SPEED_NOT_PERMITTED;
    }
    self->inhibit = (uint8_t)inhibit;
    return self->high;
}

#endif
