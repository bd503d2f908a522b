/* The start-up test of the output that cuts the supply of all coils, in mV. */
#ifndef GUARD_CUT_OFF_H
#define GUARD_CUT_OFF_H

#include "twin.h"

enum cut_off { CUT_OFF_TESTING_OFF, CUT_OFF_TESTING_ON, CUT_OFF_PASSED, CUT_OFF_STUCK_ON, CUT_OFF_STUCK_OFF };

struct cut_off_test {
    uint32_t settle_steps;
    uint32_t waited;
    uint16_t low;
    uint16_t high;
    uint8_t state;
};

static inline void cut_off_reset(struct cut_off_test *self)
{
    self->waited = 0;
    self->state = CUT_OFF_TESTING_OFF;
}

static inline void cut_off_init(struct cut_off_test *self, uint32_t settle_ms, uint16_t low, uint16_t high)
{
    self->settle_steps = steps_of(settle_ms, TICK_US);
    self->waited = 0;
    self->low = low;
    self->high = high;
    self->state = CUT_OFF_TESTING_OFF;
}

static inline enum cut_off cut_off_step(struct cut_off_test *self, uint16_t read_back)
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

static inline bool cut_off_supply_on(const struct cut_off_test *self)
{
    return self->state == CUT_OFF_TESTING_ON || self->state == CUT_OFF_PASSED;
}

#endif
