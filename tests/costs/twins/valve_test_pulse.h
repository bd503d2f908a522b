/* Looks for open and crossed coils at start-up, one after the other. */
#ifndef VALVE_TEST_PULSE_H
#define VALVE_TEST_PULSE_H

#include "twin.h"

#ifndef TEST_PULSE_COILS
#define TEST_PULSE_COILS 11
#endif

enum test_pulse_state { TEST_PULSE_TESTING, TEST_PULSE_PASSED, TEST_PULSE_FAILED };

struct test_pulse {
    uint16_t current;
    uint16_t enough;
    uint32_t steps;
    uint32_t step;
    uint32_t coil;
    uint32_t open;    /* one bit for each coil */
    uint32_t crossed;
};

static inline void test_pulse_init(struct test_pulse *self, uint16_t current, uint32_t length_ms, int32_t pass,
                                   uint32_t period_us)
{
    self->current = current;
    self->enough = (uint16_t)rounded_shift((int64_t)current * ratio_permille(pass), 30);
    self->steps = steps_of(length_ms, period_us);
    self->step = 0;
    self->coil = 0;
    self->open = 0;
    self->crossed = 0;
}

static inline void test_pulse_judge(struct test_pulse *self, const uint16_t *measured)
{
    for (uint32_t i = 0; i < TEST_PULSE_COILS; i++) {
        bool carries = measured[i] >= self->enough;
        if (i == self->coil && !carries)
            self->open |= 1u << i;
        if (i != self->coil && carries)
            self->crossed |= 1u << self->coil;
    }
}

static inline enum test_pulse_state test_pulse_state(const struct test_pulse *self)
{
    if (self->coil < TEST_PULSE_COILS)
        return TEST_PULSE_TESTING;
    return self->open != 0 || self->crossed != 0 ? TEST_PULSE_FAILED : TEST_PULSE_PASSED;
}

static inline enum test_pulse_state test_pulse_step(struct test_pulse *self, const uint16_t *measured)
{
    if (self->coil < TEST_PULSE_COILS) {
        /* The first step only starts the pulse: its set-point is not yet in the measurement. */
        if (self->step >= self->steps) {
            test_pulse_judge(self, measured);
            self->coil++;
            self->step = 0;
        }
        self->step++;
    }
    return test_pulse_state(self);
}

#endif
