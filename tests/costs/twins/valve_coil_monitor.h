/* Watches whether a coil carries the current that it was told to: mA, mV, hundredths of an ohm. */
#ifndef VALVE_COIL_MONITOR_H
#define VALVE_COIL_MONITOR_H

#include "twin.h"

#define COIL_OPEN 1u
#define COIL_SHORT 2u
#define COIL_DEVIATION 4u
#define COIL_UNREACHABLE 8u
#define COIL_STRAY 16u

#define COIL_MONITOR_FULL_DUTY 9900u

struct coil_monitor_config {
    uint16_t resistance;
    uint16_t blanking_ms;
    uint16_t averaging_ms;
    uint16_t tolerance; /* thousandths */
    uint16_t offset;
    uint16_t stray;
};

struct coil_span {
    uint16_t low;
    uint16_t high;
};

struct coil_monitor {
    uint16_t resistance;
    uint16_t tolerance;
    uint16_t offset;
    uint16_t stray;
    uint16_t window_steps;
    uint16_t span_steps;
    struct coil_span now;    /* what was asked in the present span and in the one before */
    struct coil_span before;
    uint16_t span_step;
    uint16_t steps;
    uint32_t current;
    uint32_t duty;
    uint32_t supply;
    uint8_t conditions;
    bool blind;
    bool frozen;
};

static inline void coil_monitor_init(struct coil_monitor *self, const struct coil_monitor_config *config)
{
    *self = (struct coil_monitor){
        .resistance = config->resistance,
        .tolerance = config->tolerance,
        .offset = config->offset,
        .stray = config->stray,
        .window_steps = (uint16_t)steps_of(config->averaging_ms, COIL_TICK_US),
    };
    self->span_steps = (uint16_t)(self->window_steps + steps_of(config->blanking_ms, COIL_TICK_US));
}

static inline struct coil_span coil_span_with(struct coil_span span, uint16_t set)
{
    return (struct coil_span){ set < span.low ? set : span.low, set > span.high ? set : span.high };
}

static inline void coil_monitor_look_back(struct coil_monitor *self, uint16_t set)
{
    if (self->span_step >= self->span_steps) {
        self->before = self->now;
        self->now = (struct coil_span){ set, set };
        self->span_step = 0;
    } else {
        self->now = coil_span_with(self->now, set);
    }
    self->span_step++;
}

static inline uint32_t coil_monitor_allowance(const struct coil_monitor *self, uint32_t set)
{
    return set * self->tolerance / 1000u + self->offset;
}

static inline uint8_t coil_monitor_judge(struct coil_monitor *self)
{
    const uint32_t current = self->current / self->steps;
    const uint32_t duty = self->duty / self->steps;
    const uint32_t supply = self->supply / self->steps;
    const uint32_t low = self->now.low < self->before.low ? self->now.low : self->before.low;
    const uint32_t high = self->now.high > self->before.high ? self->now.high : self->before.high;
    if (high == 0) {
        self->blind = false;
        self->frozen = false;
        return current > self->stray ? COIL_STRAY : 0;
    }
    bool below = current + coil_monitor_allowance(self, low) < low;
    bool above = current > high + coil_monitor_allowance(self, high);
    bool resting = high - low <= self->offset;
    /* 0.01 % * mV / 0.01 ohm is a hundredth of a milliampere. */
    uint32_t driven = duty * supply / self->resistance / 100u;
    uint32_t visible = 4u * self->offset;
    bool too_much = 2u * driven < current && current + self->offset >= visible;
    bool visible_and_too_little = 2u * driven > 5u * current && low >= visible;
    bool open = below && visible_and_too_little;
    /*
     * The reading agrees with the set-point, and the duty says that it cannot be: a reading that stands still.
     * Once seen it is kept until nothing is asked for: controlled blind, the duty no longer shows it.
     */
    if (!below && visible_and_too_little && resting)
        self->frozen = true;
    bool shorted = too_much && (above || resting);
    bool unreachable = below && !open && duty >= COIL_MONITOR_FULL_DUTY;
    bool deviation = (below && !open && !unreachable) || (above && !shorted) || self->frozen;
    self->blind = open || self->frozen;
    return (uint8_t)((open ? COIL_OPEN : 0) | (shorted ? COIL_SHORT : 0) | (deviation ? COIL_DEVIATION : 0) |
                     (unreachable ? COIL_UNREACHABLE : 0));
}

static inline uint8_t coil_monitor_step(struct coil_monitor *self, uint16_t set, uint16_t measured, uint16_t duty,
                                        uint16_t supply)
{
    coil_monitor_look_back(self, set);
    self->steps++;
    self->current += measured;
    self->duty += duty;
    self->supply += supply;
    if (self->steps >= self->window_steps) {
        self->conditions = coil_monitor_judge(self);
        self->steps = 0;
        self->current = 0;
        self->duty = 0;
        self->supply = 0;
    }
    return self->conditions;
}

#endif
