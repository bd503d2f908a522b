/* Speed from captured periods of a wheel of 60 teeth, in eighths of a revolution a minute. */
#include "sense_quotient.h"
#include "sense_reading.h"

/* Eighths of a revolution a minute of a wheel with one tooth and a period of 0.1 microseconds. */
#define ONE_STEP UINT64_C(4800000000)

struct sense_period_speed {
    uint64_t one_step; /* and the teeth, without their common factors */
    uint16_t teeth;
    uint8_t most_glitches;
    uint8_t glitches;
    uint32_t fastest;
    uint32_t zero_speed_steps;
    uint32_t silent; /* steps since the last possible period */
    struct sensed reading;
};

const uint32_t sense_period_speed_size = sizeof(struct sense_period_speed);

void sense_period_speed_new(struct sense_period_speed *self)
{
    const uint16_t teeth = 60;
    uint32_t factor = common_factor((uint32_t)(ONE_STEP % teeth), teeth);
    *self = (struct sense_period_speed){
        .one_step = ONE_STEP / factor,
        .teeth = (uint16_t)(teeth / factor),
        .most_glitches = 2,
        .fastest = 2500 * 8,
        .zero_speed_steps = steps_of(200, TICK_US),
        .reading = sensed_good(0),
    };
}

/* False for a glitch. */
static bool period_speed_of(const struct sense_period_speed *self, uint32_t period, int32_t *speed)
{
    if (period == 0)
        return false;
    uint64_t raw = nearest_quotient(self->one_step, (uint64_t)period * self->teeth);
    if (raw > self->fastest)
        return false;
    *speed = (int32_t)raw;
    return true;
}

static void period_speed_wait(struct sense_period_speed *self)
{
    if (self->reading.health != HEALTH_GOOD)
        return;
    if (self->silent >= self->zero_speed_steps) {
        self->reading = sensed_good(0);
        return;
    }
    int32_t bound;
    if (period_speed_of(self, self->silent * TICK_US * 10u, &bound))
        self->reading.value = at_most(self->reading.value, bound);
}

static struct sensed period_speed_step(struct sense_period_speed *self, bool captured, uint32_t period)
{
    int32_t speed;
    if (captured && period_speed_of(self, period, &speed)) {
        self->reading = sensed_good(speed);
        self->silent = 0;
        self->glitches = 0;
        return self->reading;
    }
    if (self->silent < self->zero_speed_steps)
        self->silent++;
    if (!captured) {
        period_speed_wait(self);
        return self->reading;
    }
    /* The glitch came later than the teeth of this step and hides them: the reading stays. */
    if (self->glitches < UINT8_MAX)
        self->glitches++;
    if (self->glitches > self->most_glitches)
        self->reading = sensed_flawed(HEALTH_TOO_FAST);
    return self->reading;
}

void sense_period_speed_step(struct sense_period_speed *self, const int32_t *in, int32_t *out)
{
    sensed_put(period_speed_step(self, in[0] != 0, (uint32_t)in[1]), out);
}
