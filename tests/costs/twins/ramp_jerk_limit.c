/* One command, without a jolt at either end. */
#include "ramp_fine.h"

struct ramp_jerk_limit {
    int64_t full_rate;
    int64_t jerk;
    int64_t position;
    int64_t rate;
};

const uint32_t ramp_jerk_limit_size = sizeof(struct ramp_jerk_limit);

void ramp_jerk_limit_new(struct ramp_jerk_limit *self)
{
    const int64_t build_up = steps_of(200, TICK_US);
    self->full_rate = fine_rate(800, TICK_US);
    self->jerk = (self->full_rate + build_up - 1) / build_up;
    self->position = 0;
    self->rate = 0;
}

static uint32_t square_root(uint64_t value)
{
    uint64_t root = 0;
    uint64_t bit = (uint64_t)1 << ((63 - __builtin_clzll(value | 1)) & ~1);
    for (; bit != 0; bit >>= 2) {
        if (value >= root + bit) {
            value -= root + bit;
            root = (root >> 1) + bit;
        } else {
            root >>= 1;
        }
    }
    return (uint32_t)root;
}

/*
 * The largest rate that comes to rest within the distance: the smallest over n of (distance + j n (n - 1) / 2) / n,
 * and the n that gives it has j n (n - 1) / 2 <= distance < j n (n + 1) / 2.
 */
static int64_t rate_that_stops_in(const struct ramp_jerk_limit *self, int64_t distance)
{
    uint64_t eightfold = (uint64_t)distance * 8u / (uint64_t)self->jerk;
    uint32_t steps = (square_root(eightfold + 1) + 1) / 2;
    if (steps == 0)
        steps = 1;
    int64_t triangle = (int64_t)steps * (steps - 1) / 2;
    return (distance + self->jerk * triangle) / steps;
}

void ramp_jerk_limit_step(struct ramp_jerk_limit *self, const int32_t *in, int32_t *out)
{
    int64_t way = fine_from_ratio(in[0]) - self->position;
    int64_t present = at_least_64(way < 0 ? -self->rate : self->rate, 0);
    int64_t distance = magnitude_64(way);
    int64_t allowed = at_most_64(present + self->jerk, at_least_64(self->full_rate, present - self->jerk));
    int64_t rate = at_most_64(allowed, rate_that_stops_in(self, distance));
    self->rate = way < 0 ? -rate : rate;
    self->position += self->rate;
    out[0] = fine_to_ratio(self->position);
}
