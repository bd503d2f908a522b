/* Less steer at speed. Speeds in eighths of a revolution a minute. */
#include "twin.h"

#define LARGEST_SPEED 524287

struct propel_steer_authority {
    int32_t slow;
    struct divisor width;
    int32_t taken_at_most;
};

const uint32_t propel_steer_authority_size = sizeof(struct propel_steer_authority);

void propel_steer_authority_new(struct propel_steer_authority *self)
{
    self->slow = 60 * 8;
    self->width = divisor_of(180 * 8 - self->slow);
    self->taken_at_most = RATIO_ONE - ratio_permille(400);
}

static int32_t steer_authority_step(const struct propel_steer_authority *self, int32_t steer, struct reading speed)
{
    int32_t magnitude = at_most(magnitude_32(reading_or(speed, LARGEST_SPEED)), LARGEST_SPEED);
    int32_t above = at_least(magnitude - self->slow, 0);
    int32_t taken = ratio_times(self->taken_at_most, divisor_share(&self->width, above));
    return ratio_times(steer, RATIO_ONE - taken);
}

void propel_steer_authority_step(struct propel_steer_authority *self, const int32_t *in, int32_t *out)
{
    out[0] = steer_authority_step(self, in[0], (struct reading){ in[1] != 0, in[2] });
}
