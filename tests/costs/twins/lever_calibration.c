/* A lever by its own ends and centre, in mV. */
#include "sense_reading.h"

struct lever_calibration {
    uint16_t low;
    uint16_t centre;
    uint16_t high;
    uint16_t overtravel;
    struct divisor negative; /* travel to either side of the centre */
    struct divisor positive;
};

const uint32_t lever_calibration_size = sizeof(struct lever_calibration);

void lever_calibration_new(struct lever_calibration *self)
{
    self->low = 480;
    self->centre = 2530;
    self->high = 4530;
    self->overtravel = 150;
    self->negative = divisor_of(self->centre - self->low);
    self->positive = divisor_of(self->high - self->centre);
}

static struct sensed calibration_step(const struct lever_calibration *self, int32_t signal)
{
    if (signal < self->low - self->overtravel || signal > self->high + self->overtravel)
        return sensed_flawed(HEALTH_OUT_OF_RANGE);
    int32_t deflection = signal - self->centre;
    const struct divisor *travel = deflection < 0 ? &self->negative : &self->positive;
    return sensed_good(divisor_share(travel, deflection));
}

void lever_calibration_step(struct lever_calibration *self, const int32_t *in, int32_t *out)
{
    sensed_put(calibration_step(self, in[0]), out);
}
