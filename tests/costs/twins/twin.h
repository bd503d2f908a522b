/*
 * Arithmetic that the twins share: the rounding rule, and numbers held in their range.
 *
 * A ratio is an int32_t in [-RATIO_ONE, RATIO_ONE], 2^30 to the full scale. Everything rounds to nearest with
 * ties away from zero. Right shifts of negative numbers are arithmetic in every compiler that we use.
 */
#ifndef TWIN_H
#define TWIN_H

#include <stdbool.h>
#include <stdint.h>

#define RATIO_ONE ((int32_t)1 << 30)

static inline int32_t min_i32(int32_t a, int32_t b) { return a < b ? a : b; }
static inline int32_t max_i32(int32_t a, int32_t b) { return a > b ? a : b; }
static inline int64_t min_i64(int64_t a, int64_t b) { return a < b ? a : b; }
static inline int64_t max_i64(int64_t a, int64_t b) { return a > b ? a : b; }
static inline int32_t abs_i32(int32_t a) { return a < 0 ? -a : a; }
static inline int64_t abs_i64(int64_t a) { return a < 0 ? -a : a; }

static inline int32_t clamp_i32(int32_t value, int32_t low, int32_t high)
{
    return value < low ? low : value > high ? high : value;
}

static inline int64_t clamp_i64(int64_t value, int64_t low, int64_t high)
{
    return value < low ? low : value > high ? high : value;
}

/* True when neither is zero and they point opposite ways. */
static inline bool opposite_signs(int32_t a, int32_t b) { return (a > 0 && b < 0) || (a < 0 && b > 0); }
static inline bool opposite_signs_i64(int64_t a, int64_t b) { return (a > 0 && b < 0) || (a < 0 && b > 0); }

/* value / 2^bits, to nearest, ties away from zero */
static inline int64_t round_shift(int64_t value, unsigned bits)
{
    return (value + ((int64_t)1 << (bits - 1)) + (value >> 63)) >> bits;
}

/* Sum, held in [-1, 1]. Only 1 + 1 leaves 32 bits. */
static inline int32_t ratio_plus(int32_t a, int32_t b)
{
    int32_t sum;
    if (__builtin_add_overflow(a, b, &sum))
        return RATIO_ONE;
    return clamp_i32(sum, -RATIO_ONE, RATIO_ONE);
}

/* Difference, held in [-1, 1]. Only 1 - -1 leaves 32 bits. */
static inline int32_t ratio_minus(int32_t a, int32_t b)
{
    int32_t difference;
    if (__builtin_sub_overflow(a, b, &difference))
        return RATIO_ONE;
    return clamp_i32(difference, -RATIO_ONE, RATIO_ONE);
}

static inline int32_t ratio_times(int32_t a, int32_t b) { return (int32_t)round_shift((int64_t)a * b, 30); }

/* Of numbers of the same unit, held in [-1, 1]; a divisor of zero or below gives zero. */
static inline int32_t ratio_of(int32_t part, int32_t whole)
{
    if (whole <= 0)
        return 0;
    uint32_t magnitude = part < 0 ? 0u - (uint32_t)part : (uint32_t)part;
    int32_t quotient = RATIO_ONE;
    if (magnitude < (uint32_t)whole)
        quotient = (int32_t)((((uint64_t)magnitude << 30) + ((uint32_t)whole >> 1)) / (uint32_t)whole);
    return part < 0 ? -quotient : quotient;
}

static inline int32_t ratio_permille(int32_t permille) { return ratio_of(permille, 1000); }

/* The magnitude of one with the direction of the other; zero where that has none. */
static inline int32_t ratio_directed_as(int32_t ratio, int32_t direction)
{
    if (direction == 0)
        return 0;
    return direction < 0 ? -abs_i32(ratio) : abs_i32(ratio);
}

/* Periods that last at least this long. */
static inline uint32_t steps_of(uint32_t milliseconds, uint32_t period_us)
{
    return (milliseconds * 1000u + period_us - 1u) / period_us;
}

/* The control loop and the fast loop of the coils. */
#define TICK_US 10000u
#define FAST_TICK_US 1000u

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
