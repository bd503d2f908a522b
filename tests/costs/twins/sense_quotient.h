/* Speeds are quotients of times: most of them fit 32 bits, and the core divides those by itself or in a short routine. */
#ifndef SENSE_QUOTIENT_H
#define SENSE_QUOTIENT_H

#include "twin.h"

static inline uint32_t common_factor(uint32_t a, uint32_t b)
{
    while (b != 0) {
        uint32_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* dividend / divisor, to nearest, ties up */
static inline uint64_t nearest_quotient(uint64_t dividend, uint64_t divisor)
{
    dividend += divisor / 2;
    if (((dividend | divisor) >> 32) == 0)
        return (uint32_t)dividend / (uint32_t)divisor;
    return dividend / divisor;
}

#endif
