/* Cut-off first, then coil after coil: nothing is driven before its supply can be cut. */
#ifndef VALVE_START_UP_TEST_H
#define VALVE_START_UP_TEST_H

#include "guard_cut_off.h"
#include "valve_test_pulse.h"

enum start_up { START_UP_CUT_OFF, START_UP_COILS, START_UP_DONE, START_UP_FAILED };

struct start_up_test {
    struct cut_off_test cut_off;
    struct test_pulse pulse;
    uint32_t decay_steps;
    uint32_t decayed;
    uint8_t state;
};

static inline void start_up_reset(struct start_up_test *self)
{
    cut_off_reset(&self->cut_off);
    self->pulse.step = 0;
    self->pulse.coil = 0;
    self->pulse.open = 0;
    self->pulse.crossed = 0;
    self->decayed = 0;
    self->state = START_UP_CUT_OFF;
}

static inline void start_up_step(struct start_up_test *self, bool ready, uint16_t read_back, const uint16_t *measured)
{
    if (!ready && self->state != START_UP_DONE) {
        start_up_reset(self);
        return;
    }
    if (self->state == START_UP_CUT_OFF) {
        enum cut_off state = cut_off_step(&self->cut_off, read_back);
        if (state == CUT_OFF_PASSED)
            self->state = START_UP_COILS;
        else if (state == CUT_OFF_STUCK_ON || state == CUT_OFF_STUCK_OFF)
            self->state = START_UP_FAILED;
    } else if (self->state == START_UP_COILS) {
        test_pulse_step(&self->pulse, measured);
        if (self->pulse.coil < TEST_PULSE_COILS)
            self->decayed = 0;
        else if (++self->decayed > self->decay_steps)
            self->state = START_UP_DONE;
    }
}

static inline bool start_up_supply_proven(const struct start_up_test *self)
{
    return self->state == START_UP_COILS || self->state == START_UP_DONE;
}

/* Coils that carry nothing or make another one carry, a bit for each. */
static inline uint32_t start_up_open_coils(const struct start_up_test *self)
{
    return self->pulse.open | self->pulse.crossed;
}

static inline uint16_t start_up_set_point(const struct start_up_test *self, uint32_t coil)
{
    bool driven = self->state == START_UP_COILS && self->pulse.step > 0 && coil == self->pulse.coil;
    return driven ? self->pulse.current : 0;
}

#endif
