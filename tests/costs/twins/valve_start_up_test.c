/* The cut-off and every coil, looked at once before anything moves. */
#define TEST_PULSE_COILS 8
#include "valve_start_up_test.h"

struct valve_start_up_test {
    struct start_up_test test;
};

const uint32_t valve_start_up_test_size = sizeof(struct valve_start_up_test);

void valve_start_up_test_new(struct valve_start_up_test *self)
{
    cut_off_init(&self->test.cut_off, 60, 3000, 6000);
    test_pulse_init(&self->test.pulse, 200, 80, 500, TICK_US);
    self->test.decay_steps = steps_of(50, TICK_US);
    start_up_reset(&self->test);
}

void valve_start_up_test_step(struct valve_start_up_test *self, const int32_t *in, int32_t *out)
{
    uint16_t measured[TEST_PULSE_COILS];
    for (uint32_t coil = 0; coil < TEST_PULSE_COILS; coil++)
        measured[coil] = (uint16_t)in[2 + coil];
    start_up_step(&self->test, in[0] != 0, (uint16_t)in[1], measured);
    out[0] = self->test.state;
    out[1] = cut_off_supply_on(&self->test.cut_off);
    for (uint32_t coil = 0; coil < TEST_PULSE_COILS; coil++)
        out[2 + coil] = start_up_set_point(&self->test, coil);
}
