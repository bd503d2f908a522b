/* Largest speeds forward, in reverse and of rotation. */
#include "propel_speed_limits.h"

struct propel_speed_limits {
    struct speed_limits limits;
};

const uint32_t propel_speed_limits_size = sizeof(struct propel_speed_limits);

void propel_speed_limits_new(struct propel_speed_limits *self)
{
    speed_limits_init(&self->limits, 1000, 800, 700);
}

void propel_speed_limits_step(struct propel_speed_limits *self, const int32_t *in, int32_t *out)
{
    struct sides sides = speed_limits_apply(&self->limits, (struct sides){ in[0], in[1] });
    out[0] = sides.left;
    out[1] = sides.right;
    out[2] = speed_limits_drive(&self->limits, in[0]);
    out[3] = speed_limits_steer(&self->limits, in[1]);
}
