/* Looks for open and crossed coils at start-up, one after the other. */
#include "valve_test_pulse.h"

struct valve_test_pulse {
    struct test_pulse test;
};

const uint32_t valve_test_pulse_size = sizeof(struct valve_test_pulse);

void valve_test_pulse_new(struct valve_test_pulse *self)
{
    test_pulse_init(&self->test, 200, 80, 500, TICK_US);
}

void valve_test_pulse_step(struct valve_test_pulse *self, const int32_t *in, int32_t *out)
{
    uint16_t measured[TEST_PULSE_COILS];
    for (unsigned i = 0; i < TEST_PULSE_COILS; i++)
        measured[i] = (uint16_t)in[i];
    if (self->test.coil >= TEST_PULSE_COILS)
        test_pulse_init(&self->test, 200, 80, 500, TICK_US);
    out[0] = test_pulse_step(&self->test, measured);
}
