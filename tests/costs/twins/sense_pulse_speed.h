/* Speed from the edges of a pulse pickup, in eighths of a revolution a minute. */
#ifndef SENSE_PULSE_SPEED_H
#define SENSE_PULSE_SPEED_H

#include "sense_quotient.h"
#include "sense_reading.h"

/* Eighths of a revolution a minute at one edge a microsecond and one tooth a revolution. */
#define ONE_EDGE_A_MICROSECOND 480000000u

enum wheel { WHEEL_UNKNOWN, WHEEL_STANDING, WHEEL_TURNING };

struct pulse_speed {
    uint32_t edge_a_microsecond; /* its speed, and the teeth, without their common factors */
    uint16_t teeth;
    uint32_t zero_speed_steps;
    uint32_t fastest;
    uint32_t stamp; /* of the last edge, in microseconds */
    uint32_t silent; /* steps without an edge */
    uint16_t edges;
    uint8_t wheel;
    struct sensed reading;
};

static inline void pulse_speed_init(struct pulse_speed *self, uint16_t teeth, uint32_t zero_speed_ms, uint32_t fastest)
{
    uint32_t factor = common_factor(ONE_EDGE_A_MICROSECOND, teeth);
    *self = (struct pulse_speed){
        .edge_a_microsecond = ONE_EDGE_A_MICROSECOND / factor,
        .teeth = (uint16_t)(teeth / factor),
        .zero_speed_steps = steps_of(zero_speed_ms, TICK_US),
        .fastest = fastest,
        .wheel = WHEEL_UNKNOWN,
        .reading = sensed_good(0),
    };
}

/* False where no wheel turns so fast. */
static inline bool pulse_speed_of(const struct pulse_speed *self, uint16_t edges, uint32_t micros, int32_t *speed)
{
    uint64_t tooth_micros = (uint64_t)micros * self->teeth;
    if (tooth_micros == 0)
        return false;
    uint64_t raw = nearest_quotient((uint64_t)edges * self->edge_a_microsecond, tooth_micros);
    if (raw > self->fastest)
        return false;
    *speed = (int32_t)raw;
    return true;
}

static inline void pulse_speed_wait(struct pulse_speed *self)
{
    self->silent++;
    if (self->silent >= self->zero_speed_steps) {
        self->wheel = WHEEL_STANDING;
        self->reading = sensed_good(0);
        return;
    }
    /* The last edge is at least this old, so the speed is at most one tooth in that time. */
    int32_t bound;
    if (self->reading.health == HEALTH_GOOD && pulse_speed_of(self, 1, self->silent * TICK_US, &bound))
        self->reading.value = at_most(self->reading.value, bound);
}

static inline struct sensed pulse_speed_step(struct pulse_speed *self, uint16_t edges, uint32_t stamp)
{
    uint16_t new_edges = (uint16_t)(edges - self->edges);
    switch (self->wheel) {
    case WHEEL_UNKNOWN:
        self->wheel = WHEEL_STANDING;
        self->edges = edges;
        break;
    case WHEEL_STANDING:
        if (new_edges != 0) {
            self->wheel = WHEEL_TURNING;
            self->edges = edges;
            self->stamp = stamp;
            self->silent = 0;
        }
        break;
    default:
        if (new_edges == 0) {
            pulse_speed_wait(self);
        } else {
            int32_t speed;
            self->reading = pulse_speed_of(self, new_edges, stamp - self->stamp, &speed)
                                ? sensed_good(speed)
                                : sensed_flawed(HEALTH_TOO_FAST);
            self->edges = edges;
            self->stamp = stamp;
            self->silent = 0;
        }
        break;
    }
    return self->reading;
}

#endif
