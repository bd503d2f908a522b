/* A sensor whose voltage is a share of its own supply: limits in thousandths of it, voltages in mV. */
#include "sense_ratiometric.h"

struct sense_ratiometric {
    struct ratiometric sensor;
};

const uint32_t sense_ratiometric_size = sizeof(struct sense_ratiometric);

void sense_ratiometric_new(struct sense_ratiometric *self)
{
    self->sensor.low_fault = 40;
    self->sensor.low = 100;
    self->sensor.high = 900;
    self->sensor.high_fault = 960;
    self->sensor.supply_low = 4750;
    self->sensor.supply_high = 5250;
}

void sense_ratiometric_step(struct sense_ratiometric *self, const int32_t *in, int32_t *out)
{
    sensed_put(ratiometric_step(&self->sensor, in[0], in[1]), out);
}
