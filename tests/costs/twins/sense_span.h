/* From a share of a span to a quantity. */
#ifndef SENSE_SPAN_H
#define SENSE_SPAN_H

#include "twin.h"

struct span {
    int32_t low;
    int32_t high;
};

static inline int32_t span_at(const struct span *self, int32_t share)
{
    return self->low + (int32_t)rounded_shift((int64_t)(self->high - self->low) * at_least(share, 0), 30);
}

#endif
