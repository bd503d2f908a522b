/* The smallest of four shares. */
#include "twin.h"

#define SHARES 4

/* It remembers nothing. */
struct guard_smallest {
    uint8_t nothing;
};

const uint32_t guard_smallest_size = sizeof(struct guard_smallest);

void guard_smallest_new(struct guard_smallest *self) { self->nothing = 0; }

static int32_t smallest(const int32_t *shares, uint32_t count)
{
    int32_t least = RATIO_ONE;
    for (uint32_t place = 0; place < count; place++)
        least = at_most(least, shares[place]);
    return least;
}

void guard_smallest_step(struct guard_smallest *self, const int32_t *in, int32_t *out)
{
    (void)self;
    out[0] = smallest(in, SHARES);
}
