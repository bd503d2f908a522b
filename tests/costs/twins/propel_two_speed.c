/* The range of two-speed motors. */
#include "propel_two_speed.h"

struct propel_two_speed {
    struct two_speed two_speed;
};

const uint32_t propel_two_speed_size = sizeof(struct propel_two_speed);

void propel_two_speed_new(struct propel_two_speed *self)
{
    two_speed_init(&self->two_speed, 300, 600, 500);
}

void propel_two_speed_step(struct propel_two_speed *self, const int32_t *in, int32_t *out)
{
    const struct two_speed_inputs inputs = { in[0] != 0, in[1] != 0, in[2], in[3] };
    out[0] = two_speed_step(&self->two_speed, &inputs);
    out[1] = self->two_speed.inhibit;
}
