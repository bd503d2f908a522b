/* A coil that is either on or off, and cooler when on. */
#include "twin.h"

#define FULL_DUTY 10000

struct valve_peak_and_hold {
    uint32_t peak_steps;
    uint32_t peak_left;
    uint16_t hold;
    uint16_t lowest_supply;
    uint16_t highest_supply;
};

const uint32_t valve_peak_and_hold_size = sizeof(struct valve_peak_and_hold);

void valve_peak_and_hold_new(struct valve_peak_and_hold *self)
{
    self->peak_steps = steps_of(150, COIL_TICK_US);
    self->peak_left = self->peak_steps;
    self->hold = 4000;
    self->lowest_supply = 8000;
    self->highest_supply = 16000;
}

static uint16_t peak_and_hold_step(struct valve_peak_and_hold *self, bool on, struct reading supply)
{
    uint32_t voltage = (uint32_t)at_most(reading_or(supply, self->highest_supply), self->highest_supply);
    if (!on) {
        self->peak_left = self->peak_steps;
        return 0;
    }
    if (voltage < self->lowest_supply) {
        self->peak_left = self->peak_steps;
        return FULL_DUTY;
    }
    if (self->peak_left > 0) {
        self->peak_left--;
        return FULL_DUTY;
    }
    return (uint16_t)((self->hold * (uint32_t)FULL_DUTY + voltage / 2) / voltage);
}

void valve_peak_and_hold_step(struct valve_peak_and_hold *self, const int32_t *in, int32_t *out)
{
    out[0] = peak_and_hold_step(self, in[0] != 0, (struct reading){ in[1] != 0, in[2] });
}
