/* The scale on which the ramps remember: 2^42 to the full scale. */
#ifndef RAMP_FINE_H
#define RAMP_FINE_H

#include "twin.h"

#define FINE_ONE ((int64_t)1 << 42)

static inline int64_t fine_from_ratio(int32_t ratio) { return (int64_t)ratio * 4096; }

static inline int32_t fine_to_ratio(int64_t fine) { return (int32_t)rounded_shift(fine, 12); }

/* Change in one period that covers full scale in the time, rounded up, at most one full scale. */
static inline int64_t fine_rate(uint32_t milliseconds, uint32_t period_us)
{
    int64_t time_us = (int64_t)milliseconds * 1000;
    return at_most_64((FINE_ONE * period_us + time_us - 1) / time_us, FINE_ONE);
}

static inline int64_t fine_approach(int64_t from, int64_t goal, int64_t rate)
{
    int64_t difference = goal - from;
    if (difference > rate)
        return from + rate;
    if (difference < -rate)
        return from - rate;
    return goal;
}

/*
 * value * numerator / denominator for magnitudes up to two full scales, none of them negative but the value:
 * long division with limbs of 20 bits, because the product has more than 64. A result above 62 bits is held there,
 * so that it can still be added to.
 */
static inline int64_t fine_scaled(int64_t value, int64_t numerator, int64_t denominator)
{
    if (denominator == 0)
        return 0;
    uint64_t magnitude = (uint64_t)magnitude_64(value);
    uint64_t divisor = (uint64_t)denominator;
    uint64_t whole = (uint64_t)numerator / divisor;
    uint64_t rest = ((uint64_t)numerator % divisor) << 20;
    uint64_t first = rest / divisor;
    uint64_t second = ((rest % divisor) << 20) / divisor;
    uint64_t scaled = (magnitude * first + ((magnitude * second) >> 20)) >> 20;
    if (whole != 0) {
        uint64_t more;
        if (__builtin_mul_overflow(magnitude, whole, &more) || more > (uint64_t)1 << 61)
            more = (uint64_t)1 << 61;
        scaled += more;
    }
    return value < 0 ? -(int64_t)scaled : (int64_t)scaled;
}

/* Times of one motion, resolved to one period. */
struct motion_rates {
    int64_t accelerate;
    int64_t decelerate;
    int64_t reverse;
};

static inline struct motion_rates motion_rates_of(uint32_t accelerate, uint32_t decelerate, uint32_t reverse,
                                                  uint32_t period_us)
{
    return (struct motion_rates){ fine_rate(accelerate, period_us), fine_rate(decelerate, period_us),
                                  fine_rate(reverse, period_us) };
}

/* One period of the way; a change of sign stops at zero first. */
static inline int64_t motion_rates_approach(const struct motion_rates *rates, int64_t from, int64_t goal)
{
    if (opposed_64(from, goal))
        return fine_approach(from, 0, rates->reverse);
    return fine_approach(from, goal, magnitude_64(goal) > magnitude_64(from) ? rates->accelerate : rates->decelerate);
}

/* What a ramp does with its motion. */
enum motion_phase { PHASE_HOLDING, PHASE_ACCELERATING, PHASE_DECELERATING, PHASE_REVERSING };

/* What the machine does, seen after the ramp. */
enum motion_state { MOTION_STANDING, MOTION_FORWARD, MOTION_REVERSE, MOTION_ROTATION };

#endif
