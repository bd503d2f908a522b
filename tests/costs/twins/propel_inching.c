/* Less drive by a pedal. */
#include "twin.h"

struct propel_inching {
    int32_t begin;
    struct divisor travel;
};

const uint32_t propel_inching_size = sizeof(struct propel_inching);

void propel_inching_new(struct propel_inching *self)
{
    self->begin = ratio_permille(100);
    self->travel = divisor_of(ratio_permille(700) - self->begin);
}

static int32_t inching_step(const struct propel_inching *self, int32_t drive, struct reading pedal)
{
    int32_t pressed = at_least(ratio_minus(reading_or(pedal, RATIO_ONE), self->begin), 0);
    return ratio_times(drive, RATIO_ONE - divisor_share(&self->travel, pressed));
}

void propel_inching_step(struct propel_inching *self, const int32_t *in, int32_t *out)
{
    out[0] = inching_step(self, in[0], (struct reading){ in[1] != 0, in[2] });
}
