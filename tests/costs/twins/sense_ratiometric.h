/* A sensor whose voltage is a share of its own supply: limits in thousandths of it, voltages in mV. */
#ifndef SENSE_RATIOMETRIC_H
#define SENSE_RATIOMETRIC_H

#include "sense_reading.h"

struct ratiometric {
    int16_t low_fault;
    int16_t low;
    int16_t high;
    int16_t high_fault;
    uint16_t supply_low;
    uint16_t supply_high;
};

static inline struct sensed ratiometric_step(const struct ratiometric *self, int32_t signal, int32_t supply)
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

#endif
