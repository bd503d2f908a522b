/* Retards what a downgrade drives. Speeds in eighths of a revolution a minute. */
#include "twin.h"

struct propel_overspeed {
    int32_t begin;
    struct divisor width;
    int32_t release;
    int32_t retard;
};

struct overspeed_demand {
    int32_t retard;
    bool hold_back;
};

const uint32_t propel_overspeed_size = sizeof(struct propel_overspeed);

void propel_overspeed_new(struct propel_overspeed *self)
{
    self->begin = 2700 * 8;
    self->width = divisor_of(3000 * 8 - self->begin);
    self->release = ratio_of(TICK_US, 1000 * 1000);
    self->retard = 0;
}

static struct overspeed_demand overspeed_step(struct propel_overspeed *self, struct reading speed)
{
    int32_t above = at_least(magnitude_32(reading_or(speed, 0)) - self->begin, 0);
    int32_t asked = divisor_share(&self->width, above);
    self->retard = at_least(at_least(asked, self->retard - self->release), 0);
    return (struct overspeed_demand){ self->retard, !speed.valid || self->retard != 0 };
}

void propel_overspeed_step(struct propel_overspeed *self, const int32_t *in, int32_t *out)
{
    struct overspeed_demand demand = overspeed_step(self, (struct reading){ in[0] != 0, in[1] });
    out[0] = demand.retard;
    out[1] = demand.hold_back;
}
