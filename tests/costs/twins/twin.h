/* What all twins share: the rounding rule and arithmetic that holds at the ends of its range.
 *
 * A ratio is a share of full scale in [-1, 1] in steps of 2^-30.
 */
#ifndef TWIN_H
#define TWIN_H

#include <stdbool.h>
#include <stdint.h>

#define RATIO_ONE (INT32_C(1) << 30)

static inline int32_t at_most(int32_t value, int32_t limit) { return value > limit ? limit : value; }

static inline int32_t at_least(int32_t value, int32_t limit) { return value < limit ? limit : value; }

static inline int64_t at_most_64(int64_t value, int64_t limit) { return value > limit ? limit : value; }

static inline int64_t at_least_64(int64_t value, int64_t limit) { return value < limit ? limit : value; }

/* Held in [-1, 1]. */
static inline int32_t ratio_held(int64_t bits)
{
    return (int32_t)at_least_64(at_most_64(bits, RATIO_ONE), -RATIO_ONE);
}

static inline int32_t ratio_magnitude(int32_t ratio) { return ratio < 0 ? -ratio : ratio; }

/* Two ratios add up to a number that fits 32 bits. */
static inline int32_t ratio_plus(int32_t a, int32_t b)
{
    return at_least(at_most(a + b, RATIO_ONE), -RATIO_ONE);
}

static inline int32_t ratio_minus(int32_t a, int32_t b)
{
    return at_least(at_most(a - b, RATIO_ONE), -RATIO_ONE);
}

/* value / 2^shift, to nearest, ties away from zero. Shifts of negative values keep the sign with every compiler used. */
static inline int64_t rounded_shift(int64_t value, unsigned shift)
{
    return (value + (INT64_C(1) << (shift - 1)) + (value >> 63)) >> shift;
}

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

#endif
