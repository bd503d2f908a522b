/* A transmitter with a 4-20 mA output over a shunt of 250 ohm, bands of NAMUR NE 43. */
#include "sense_reading.h"

/* Drops over the shunt in 10^-5 mV: microamperes times hundredths of an ohm. */
struct sense_current_loop_sensor {
    uint32_t low_fault;
    uint32_t low;
    struct divisor span;
    uint32_t high_fault;
};

const uint32_t sense_current_loop_sensor_size = sizeof(struct sense_current_loop_sensor);

void sense_current_loop_sensor_new(struct sense_current_loop_sensor *self)
{
    const uint32_t shunt = 25000;
    self->low_fault = 3600u * shunt;
    self->low = 4000u * shunt;
    self->span = divisor_of((20000 - 4000) * (int32_t)shunt);
    self->high_fault = 21000u * shunt;
}

static struct sensed current_loop_sensor_step(const struct sense_current_loop_sensor *self, uint16_t millivolts)
{
    uint64_t drop = (uint64_t)millivolts * 100000u;
    if (drop < self->low_fault)
        return sensed_flawed(HEALTH_WIRE_BREAK);
    if (drop > self->high_fault)
        return sensed_flawed(HEALTH_SHORT_CIRCUIT);
    if (drop <= self->low)
        return sensed_good(0);
    /* At most 17 mA over 600 ohm: a little above 2^30. */
    return sensed_good(divisor_share(&self->span, (int32_t)(drop - self->low)));
}

void sense_current_loop_sensor_step(struct sense_current_loop_sensor *self, const int32_t *in, int32_t *out)
{
    sensed_put(current_loop_sensor_step(self, (uint16_t)in[0]), out);
}
