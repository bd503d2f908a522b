/* Less drive before the engine stalls. */
#ifndef PROPEL_ANTI_STALL_H
#define PROPEL_ANTI_STALL_H

#include "twin.h"

struct anti_stall {
    int32_t begin;
    struct divisor width;
    int32_t floor;
    int32_t recovery;
    int32_t share;
};

static inline void anti_stall_init(struct anti_stall *self, int32_t begin, int32_t full, int32_t floor,
                                   int32_t recovery_ms)
{
    self->begin = ratio_permille(begin);
    self->width = divisor_of(ratio_permille(full) - self->begin);
    self->floor = ratio_permille(floor);
    self->recovery = ratio_of(TICK_US, recovery_ms * 1000);
    self->share = RATIO_ONE;
}

/* Speeds in eighths of a revolution a minute. */
static inline int32_t anti_stall_step(struct anti_stall *self, int32_t expected, struct reading actual)
{
    int32_t allowed = self->floor;
    if (actual.valid && expected > 0) {
        int32_t fallen_behind = held(expected - actual.value, -524288, 524287);
        int32_t droop = ratio_of(fallen_behind, expected);
        int32_t excess = at_least(ratio_minus(droop, self->begin), 0);
        int32_t reduction = divisor_share(&self->width, excess);
        allowed = RATIO_ONE - ratio_times(RATIO_ONE - self->floor, reduction);
    }
    self->share = at_least(at_most(allowed, ratio_plus(self->share, self->recovery)), self->floor);
    return self->share;
}

#endif
