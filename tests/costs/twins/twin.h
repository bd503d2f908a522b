/* What all twins share: the rounding rule and arithmetic that holds at the ends of its range.
 *
 * A ratio is a share of full scale in [-1, 1] in steps of 2^-30.
 */
#ifndef TWIN_H
#define TWIN_H

#include <stdbool.h>
#include <stdint.h>

#define RATIO_ONE (INT32_C(1) << 30)

/* Periods of the control loop and of the coil loop. */
#define TICK_US 10000u
#define COIL_TICK_US 1000u

static inline int32_t at_most(int32_t value, int32_t limit) { return value > limit ? limit : value; }

static inline int32_t at_least(int32_t value, int32_t limit) { return value < limit ? limit : value; }

static inline int64_t at_most_64(int64_t value, int64_t limit) { return value > limit ? limit : value; }

static inline int64_t at_least_64(int64_t value, int64_t limit) { return value < limit ? limit : value; }

static inline int32_t held(int32_t value, int32_t low, int32_t high)
{
    return at_most(at_least(value, low), high);
}

static inline int64_t held_64(int64_t value, int64_t low, int64_t high)
{
    return at_most_64(at_least_64(value, low), high);
}

static inline int32_t magnitude_32(int32_t value) { return value < 0 ? -value : value; }

static inline int64_t magnitude_64(int64_t value) { return value < 0 ? -value : value; }

/* True when they point opposite ways and neither is zero. */
static inline bool opposed(int32_t a, int32_t b) { return (a > 0 && b < 0) || (a < 0 && b > 0); }

static inline bool opposed_64(int64_t a, int64_t b) { return (a > 0 && b < 0) || (a < 0 && b > 0); }

/* value / 2^shift, to nearest, ties away from zero. Shifts of negative values keep the sign with every compiler used. */
static inline int64_t rounded_shift(int64_t value, unsigned shift)
{
    return (value + (INT64_C(1) << (shift - 1)) + (value >> 63)) >> shift;
}

/* Held in [-1, 1]. */
static inline int32_t ratio_held(int64_t bits)
{
    return (int32_t)held_64(bits, -RATIO_ONE, RATIO_ONE);
}

/* Sum, held in [-1, 1]. Only 1 + 1 leaves 32 bits. */
static inline int32_t ratio_plus(int32_t a, int32_t b)
{
    int32_t sum;
    if (__builtin_add_overflow(a, b, &sum)) {
        return RATIO_ONE;
    }
    return held(sum, -RATIO_ONE, RATIO_ONE);
}

/* Difference, held in [-1, 1]. Only 1 - -1 leaves 32 bits. */
static inline int32_t ratio_minus(int32_t a, int32_t b)
{
    int32_t difference;
    if (__builtin_sub_overflow(a, b, &difference)) {
        return RATIO_ONE;
    }
    return held(difference, -RATIO_ONE, RATIO_ONE);
}

static inline int32_t ratio_magnitude(int32_t ratio) { return ratio < 0 ? -ratio : ratio; }

/* The product, to nearest, ties away from zero. */
static inline int32_t ratio_times(int32_t a, int32_t b)
{
    return (int32_t)rounded_shift((int64_t)a * b, 30);
}

/* value * numerator / denominator, to nearest, ties away from zero; the product fits 63 bits. Zero where the denominator
 * is zero or below. */
static inline int64_t scaled(int64_t value, int64_t numerator, int64_t denominator)
{
    if (denominator <= 0) {
        return 0;
    }
    int64_t product = value * numerator;
    uint64_t magnitude = product < 0 ? 0 - (uint64_t)product : (uint64_t)product;
    uint64_t quotient = (magnitude + (uint64_t)denominator / 2) / (uint64_t)denominator;
    return product < 0 ? -(int64_t)quotient : (int64_t)quotient;
}

/* A part as a share of a whole in the same unit, to nearest, ties away from zero, held in [-1, 1]; zero where the whole
 * is zero or below. */
static inline int32_t ratio_of(int32_t part, int32_t whole)
{
    if (whole <= 0) {
        return 0;
    }
    uint32_t divisor = (uint32_t)whole;
    uint32_t dividend = part < 0 ? 0u - (uint32_t)part : (uint32_t)part;
    int32_t quotient = RATIO_ONE;
    if (dividend < divisor) {
        quotient = (int32_t)((((uint64_t)dividend << 30) + divisor / 2) / divisor);
    }
    return part < 0 ? -quotient : quotient;
}

static inline int32_t ratio_permille(int32_t permille) { return ratio_of(permille, 1000); }

/* A whole that the configuration gives, as its reciprocal: a share of it costs a multiplication, not a division of 64
 * bits by a library routine. */
struct divisor {
    uint32_t whole;      /* above zero */
    uint32_t reciprocal; /* 2^62 / (whole << shift), to nearest */
    uint8_t shift;       /* brings the highest bit of the whole to bit 31 */
};

static inline struct divisor divisor_of(int32_t whole)
{
    struct divisor divisor = { .whole = (uint32_t)whole, .shift = (uint8_t)__builtin_clz((uint32_t)whole) };
    uint64_t aligned = (uint64_t)divisor.whole << divisor.shift;
    divisor.reciprocal = (uint32_t)(((UINT64_C(1) << 62) + aligned / 2) / aligned);
    return divisor;
}

/* As ratio_of. The reciprocal is half a unit off at most, so the product gives the quotient or one less. */
static inline int32_t divisor_share(const struct divisor *divisor, int32_t part)
{
    uint32_t dividend = part < 0 ? 0u - (uint32_t)part : (uint32_t)part;
    uint32_t quotient = RATIO_ONE;
    if (dividend < divisor->whole) {
        quotient = (uint32_t)(((uint64_t)(dividend << divisor->shift) * divisor->reciprocal) >> 32);
        uint32_t rest = (dividend << 30) + divisor->whole / 2 - quotient * divisor->whole;
        quotient += rest >= divisor->whole;
    }
    return part < 0 ? -(int32_t)quotient : (int32_t)quotient;
}

/* The magnitude of one with the direction of the other; zero where that has none. */
static inline int32_t ratio_directed_as(int32_t ratio, int32_t direction)
{
    if (direction == 0) {
        return 0;
    }
    return direction < 0 ? -magnitude_32(ratio) : magnitude_32(ratio);
}

/* Periods that last at least this long. */
static inline uint32_t steps_of(uint32_t millis, uint32_t period_us)
{
    return (millis * 1000u + period_us - 1u) / period_us;
}

/* Share of a whole that passes in one period when the whole takes this time, rounded up. */
static inline int32_t share_in_period(uint32_t millis)
{
    int64_t time_us = (int64_t)millis * 1000;
    return ratio_held(((int64_t)RATIO_ONE * TICK_US + time_us - 1) / time_us);
}

/* What was measured, or that there is nothing to be believed. */
struct reading {
    bool valid;
    int32_t value;
};

static inline int32_t reading_or(struct reading reading, int32_t fallback)
{
    return reading.valid ? reading.value : fallback;
}

#endif
