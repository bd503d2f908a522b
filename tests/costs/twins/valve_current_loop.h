/* Closed loop for the current of one coil: mA, mV, hundredths of an ohm; voltages inside in steps of 10 uV. */
#ifndef VALVE_CURRENT_LOOP_H
#define VALVE_CURRENT_LOOP_H

#include "twin.h"

#define CURRENT_LOOP_FINE_BITS 16
#define CURRENT_LOOP_FINE (1 << CURRENT_LOOP_FINE_BITS)
#define CURRENT_LOOP_INTEGRAL_FINE 256
#define CURRENT_LOOP_ADAPTATION_FINE (1 << 24)
#define CURRENT_LOOP_FULL_DUTY 10000

struct current_loop_config {
    uint16_t resistance;
    uint16_t time_constant_ms;
    uint16_t proportional;
    uint16_t integral_time_ms;
    uint16_t lowest_supply;
    uint16_t highest_supply;
    uint16_t largest;
};

struct current_loop {
    uint16_t proportional;
    uint16_t lowest_supply;
    uint16_t highest_supply;
    uint16_t largest;
    uint16_t least_to_learn_from;
    uint16_t supply; /* of the last step */
    int32_t smoothing; /* 2^-16 of the way in one step */
    int32_t approach;
    int32_t integral_gain;
    int32_t adaptation;
    int32_t least_resistance;
    int32_t largest_resistance;
    uint32_t patience;
    int32_t smooth;     /* the set-point behind its lag, 2^-16 mA */
    int32_t reference;  /* what a coil of this L/R would carry by now, 2^-16 mA */
    int32_t integral;   /* 2^-8 of 10 uV */
    int32_t resistance; /* as learnt, 2^-16 of 0.01 ohm */
    int32_t applied;    /* mean voltage of the last step, 10 uV */
    uint32_t steps_at_full_duty;
};

static inline void current_loop_init(struct current_loop *self, const struct current_loop_config *config)
{
    const int64_t step = COIL_TICK_US;
    const int64_t lag = (int64_t)config->time_constant_ms * 1000;
    const int32_t nominal = config->resistance * CURRENT_LOOP_FINE;
    self->proportional = config->proportional;
    self->lowest_supply = config->lowest_supply;
    self->highest_supply = config->highest_supply;
    self->largest = config->largest;
    self->smoothing = (int32_t)((step << CURRENT_LOOP_FINE_BITS) / (2 * lag + step / 2));
    self->approach = (int32_t)((step << CURRENT_LOOP_FINE_BITS) / (lag + step / 2));
    self->integral_gain = (int32_t)(config->proportional * CURRENT_LOOP_INTEGRAL_FINE * step /
                                    ((int64_t)config->integral_time_ms * 1000));
    self->adaptation = (int32_t)((step << CURRENT_LOOP_FINE_BITS) * CURRENT_LOOP_ADAPTATION_FINE /
                                 ((int64_t)500000 * config->largest));
    self->least_resistance = (int32_t)((int64_t)nominal * 75 / 100);
    self->largest_resistance = (int32_t)((int64_t)nominal * 145 / 100);
    self->least_to_learn_from = config->largest / 8;
    self->patience = steps_of(config->time_constant_ms * 5u, COIL_TICK_US);
    self->smooth = 0;
    self->reference = 0;
    self->integral = 0;
    self->resistance = nominal;
    self->applied = 0;
    self->supply = config->highest_supply;
    self->steps_at_full_duty = 0;
}

/* Forgets what belongs to the present current, keeps what was learnt of the coil. */
static inline void current_loop_rest(struct current_loop *self)
{
    self->smooth = 0;
    self->reference = 0;
    self->integral = 0;
    self->applied = 0;
    self->steps_at_full_duty = 0;
}

/* A step towards an aim by a share of 2^-16, rounded towards the value. */
static inline int32_t current_loop_approached(int32_t value, int32_t aim, int32_t share)
{
    return value + (int32_t)((int64_t)(aim - value) * share / CURRENT_LOOP_FINE);
}

/* Leads the set-point through its lag and the reference after it; gives what is asked of the coil, 2^-16 mA. */
static inline int32_t current_loop_lead(struct current_loop *self, uint16_t set, uint16_t dithered)
{
    int32_t aim = at_most(set, self->largest) * CURRENT_LOOP_FINE;
    int32_t dither = at_most(dithered, self->largest) * CURRENT_LOOP_FINE - aim;
    self->smooth = current_loop_approached(self->smooth, aim, self->smoothing);
    int32_t asked = self->smooth + dither;
    self->reference = current_loop_approached(self->reference, asked, self->approach);
    return asked;
}

/* Feed-forward, proportional part and integral. */
static inline int32_t current_loop_voltage(const struct current_loop *self, int32_t asked, int32_t missing)
{
    int32_t forward = (int32_t)((int64_t)self->resistance * asked / ((int64_t)1 << 32));
    return forward + self->proportional * missing + self->integral / CURRENT_LOOP_INTEGRAL_FINE;
}

/* Moves the estimate towards applied voltage over measured current. */
static inline void current_loop_learn(struct current_loop *self, uint16_t measured)
{
    if (measured < self->least_to_learn_from || self->applied == 0)
        return;
    int32_t explained = (int32_t)(((int64_t)self->resistance * measured) >> CURRENT_LOOP_FINE_BITS);
    int64_t correction = (int64_t)(self->applied - explained) * self->adaptation / CURRENT_LOOP_ADAPTATION_FINE;
    self->resistance =
        (int32_t)held_64(self->resistance + correction, self->least_resistance, self->largest_resistance);
}

static inline uint16_t current_loop_drive(struct current_loop *self, int32_t voltage)
{
    uint32_t supply = self->supply;
    uint32_t duty = ((uint32_t)voltage * 100u + supply / 2u) / supply;
    if (duty > CURRENT_LOOP_FULL_DUTY)
        duty = CURRENT_LOOP_FULL_DUTY;
    self->applied = (int32_t)(duty * supply / 100u);
    return (uint16_t)duty;
}

static inline void current_loop_measure_supply(struct current_loop *self, struct reading supply)
{
    int32_t assumed = reading_or(supply, self->highest_supply);
    self->supply = (uint16_t)held(assumed, self->lowest_supply, self->highest_supply);
}

static inline uint16_t current_loop_step(struct current_loop *self, uint16_t set, uint16_t dithered,
                                         uint16_t measured, struct reading supply)
{
    current_loop_measure_supply(self, supply);
    if (set == 0) {
        current_loop_rest(self);
        return 0;
    }
    if (supply.valid)
        current_loop_learn(self, measured);
    int32_t ceiling = self->supply * 100;
    int32_t missing = self->reference / CURRENT_LOOP_FINE - measured;
    int32_t asked = current_loop_lead(self, set, dithered);
    int32_t wanted = current_loop_voltage(self, asked, missing);
    /* The integral rests where it would wind up. */
    if (!(wanted >= ceiling && missing > 0) && !(wanted <= 0 && missing < 0)) {
        int32_t limit = ceiling * CURRENT_LOOP_INTEGRAL_FINE;
        int64_t integral = self->integral + (int64_t)self->integral_gain * missing;
        self->integral = (int32_t)held_64(integral, -limit, limit);
    }
    if (wanted < ceiling)
        self->steps_at_full_duty = 0;
    else if (self->steps_at_full_duty < UINT32_MAX)
        self->steps_at_full_duty++;
    return current_loop_drive(self, held(wanted, 0, ceiling));
}

/* When the measurement is not to be believed: what the resistance needs and no more. */
static inline uint16_t current_loop_step_blind(struct current_loop *self, uint16_t set, uint16_t dithered,
                                               struct reading supply)
{
    current_loop_measure_supply(self, supply);
    if (set == 0) {
        current_loop_rest(self);
        return 0;
    }
    self->integral = 0;
    self->steps_at_full_duty = 0;
    int32_t asked = current_loop_lead(self, set, dithered);
    int32_t wanted = current_loop_voltage(self, asked, 0);
    return current_loop_drive(self, held(wanted, 0, self->supply * 100));
}

static inline bool current_loop_saturated(const struct current_loop *self)
{
    return self->steps_at_full_duty >= self->patience;
}

/* Estimated resistance of the coil, to the nearest 0.01 ohm. */
static inline uint16_t current_loop_resistance(const struct current_loop *self)
{
    return (uint16_t)((self->resistance + CURRENT_LOOP_FINE / 2) / CURRENT_LOOP_FINE);
}

/* The largest current that the last supply can drive through the coil as estimated, rounded down. */
static inline uint16_t current_loop_reachable(const struct current_loop *self)
{
    uint32_t current = self->supply * 100u / current_loop_resistance(self);
    return (uint16_t)(current < self->largest ? current : self->largest);
}

#endif
