/* The start-up test of the output that cuts the supply of all coils: off at 3 V, on at 6 V, 100 ms to settle. */
#include "twin.h"

enum cut_off { CUT_OFF_TESTING_OFF, CUT_OFF_TESTING_ON, CUT_OFF_PASSED, CUT_OFF_STUCK_ON, CUT_OFF_STUCK_OFF };

struct guard_cut_off {
    uint32_t settle_steps;
    uint32_t waited;
    uint16_t low;
    uint16_t high;
    uint8_t state;
};

const uint32_t guard_cut_off_size = sizeof(struct guard_cut_off);

void guard_cut_off_new(struct guard_cut_off *self)
{
    self->settle_steps = steps_of(100, TICK_US);
    self->waited = 0;
    self->low = 3000;
    self->high = 6000;
    self->state = CUT_OFF_TESTING_OFF;
}

static enum cut_off cut_off_step(struct guard_cut_off *self, uint16_t read_back)
{
    if (self->state != CUT_OFF_TESTING_OFF && self->state != CUT_OFF_TESTING_ON)
        return (enum cut_off)self->state;
    if (self->waited < self->settle_steps) {
        self->waited++;
    } else {
        self->waited = 0;
        if (self->state == CUT_OFF_TESTING_OFF)
            self->state = read_back <= self->low ? CUT_OFF_TESTING_ON : CUT_OFF_STUCK_ON;
        else
            self->state = read_back >= self->high ? CUT_OFF_PASSED : CUT_OFF_STUCK_OFF;
    }
    return (enum cut_off)self->state;
}

void guard_cut_off_step(struct guard_cut_off *self, const int32_t *in, int32_t *out)
{
    enum cut_off state = cut_off_step(self, (uint16_t)in[0]);
    out[0] = state;
    out[1] = state == CUT_OFF_TESTING_ON || state == CUT_OFF_PASSED;
}
