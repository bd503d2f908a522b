/* A pickup at a wheel of 60 teeth: standing after 200 ms, at most 2500 rpm. */
#include "sense_pulse_speed.h"

struct sense_pulse_speed {
    struct pulse_speed pickup;
};

const uint32_t sense_pulse_speed_size = sizeof(struct sense_pulse_speed);

void sense_pulse_speed_new(struct sense_pulse_speed *self) { pulse_speed_init(&self->pickup, 60, 200, 2500 * 8); }

void sense_pulse_speed_step(struct sense_pulse_speed *self, const int32_t *in, int32_t *out)
{
    sensed_put(pulse_speed_step(&self->pickup, (uint16_t)in[0], (uint32_t)in[1]), out);
}
