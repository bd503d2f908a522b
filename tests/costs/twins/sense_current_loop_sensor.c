/* A transmitter with a 4-20 mA output over a shunt of 250 ohm, bands of NAMUR NE 43. */
#include "sense_reading.h"

/* Drops over the shunt in 10^-5 mV: microamperes times hundredths of an ohm. */
struct sense_current_loop_sensor {
    uint32_t low_fault;
    uint32_t low;
    uint32_t span;
    uint32_t high_fault;
};

const uint32_t sense_current_loop_sensor_size = sizeof(struct sense_current_loop_sensor);

void sense_current_loop_sensor_new(struct sense_current_loop_sensor *self)
{
    const uint32_t shunt = 25000;
    self->low_fault = 3600u * shunt;
    self->low = 4000u * shunt;
    self->span = (20000u - 4000u) * shunt;
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
    uint64_t above_low = drop - self->low;
    if (above_low >= self->span)
        return sensed_good(RATIO_ONE);
    return sensed_good((int32_t)(((above_low << 30) + self->span / 2) / self->span));
}

void sense_current_loop_sensor_step(struct sense_current_loop_sensor *self, const int32_t *in, int32_t *out)
{
    sensed_put(current_loop_sensor_step(self, (uint16_t)in[0]), out);
}
