/* A sensor whose voltage is a share of its own supply: limits in thousandths of it, voltages in mV. */
#include "sense_reading.h"

struct sense_ratiometric {
    int16_t low_fault;
    int16_t low;
    int16_t high;
    int16_t high_fault;
    uint16_t supply_low;
    uint16_t supply_high;
};

const uint32_t sense_ratiometric_size = sizeof(struct sense_ratiometric);

void sense_ratiometric_new(struct sense_ratiometric *self)
{
    self->low_fault = 40;
    self->low = 100;
    self->high = 900;
    self->high_fault = 960;
    self->supply_low = 4750;
    self->supply_high = 5250;
}

static struct sensed ratiometric_step(const struct sense_ratiometric *self, int32_t signal, int32_t supply)
{
    if (supply < self->supply_low || supply > self->supply_high)
        return sensed_flawed(HEALTH_SENSOR_SUPPLY);
    /* Compared by cross-multiplication: no rounding stands between a signal and its band. */
    signal *= 1000;
    if (signal < self->low_fault * supply)
        return sensed_flawed(HEALTH_WIRE_BREAK);
    if (signal > self->high_fault * supply)
        return sensed_flawed(HEALTH_SHORT_CIRCUIT);
    int32_t above_low = at_least(signal - self->low * supply, 0);
    return sensed_good(ratio_of(above_low, (self->high - self->low) * supply));
}

void sense_ratiometric_step(struct sense_ratiometric *self, const int32_t *in, int32_t *out)
{
    sensed_put(ratiometric_step(self, in[0], in[1]), out);
}
