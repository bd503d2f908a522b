/* The whole lever over a small share of the speed. */
#include "twin.h"

struct propel_creep {
    int16_t slowest;
    int16_t fastest;
    int16_t increment;
    int16_t share;
    int32_t factor; /* the share as a ratio */
    bool on;
};

const uint32_t propel_creep_size = sizeof(struct propel_creep);

void propel_creep_new(struct propel_creep *self)
{
    self->slowest = 50;
    self->fastest = 500;
    self->increment = 25;
    self->share = 200;
    self->factor = ratio_permille(self->share);
    self->on = false;
}

static int32_t creep_step(struct propel_creep *self, int32_t drive, bool toggle, bool faster, bool slower)
{
    if (toggle && (!self->on || drive == 0))
        self->on = !self->on;
    if (!self->on)
        return drive;
    if (faster != slower) {
        if (faster)
            self->share = (int16_t)at_most(self->share + self->increment, self->fastest);
        else
            self->share = (int16_t)at_least(self->share - self->increment, self->slowest);
        self->factor = ratio_permille(self->share);
    }
    return ratio_times(drive, self->factor);
}

void propel_creep_step(struct propel_creep *self, const int32_t *in, int32_t *out)
{
    out[0] = creep_step(self, in[0], in[1] != 0, in[2] != 0, in[3] != 0);
    out[1] = self->on;
    out[2] = self->share;
}
