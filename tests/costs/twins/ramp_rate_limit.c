/* A ramp of one command: rise 600 ms, fall 300 ms, at 10 ms. */
#include "twin.h"

/* The scale on which the ramp remembers: full scale is 2^42, that of a ratio 2^30. */
#define FINE_ONE (INT64_C(1) << 42)
#define FINE_SHIFT 12

struct ramp_rate_limit {
    int64_t rise;
    int64_t fall;
    int64_t position;
};

const uint32_t ramp_rate_limit_size = sizeof(struct ramp_rate_limit);

/* Change in one period, rounded up. */
static int64_t rate(int64_t millis, int64_t period_micros)
{
    int64_t micros = millis * 1000;
    return at_most_64((FINE_ONE * period_micros + micros - 1) / micros, FINE_ONE);
}

void ramp_rate_limit_new(struct ramp_rate_limit *self)
{
    self->rise = rate(600, 10000);
    self->fall = rate(300, 10000);
    self->position = 0;
}

static inline int64_t approach(int64_t from, int64_t goal, int64_t rate)
{
    int64_t difference = goal - from;
    if (difference > rate) {
        return from + rate;
    }
    if (difference < -rate) {
        return from - rate;
    }
    return goal;
}

static inline int64_t magnitude(int64_t fine) { return fine < 0 ? -fine : fine; }

void ramp_rate_limit_step(struct ramp_rate_limit *self, const int32_t *in, int32_t *out)
{
    int64_t goal = (int64_t)in[0] * (1 << FINE_SHIFT);
    int64_t from = self->position;
    if ((from > 0 && goal < 0) || (from < 0 && goal > 0)) {
        self->position = approach(from, 0, self->fall);
    } else if (magnitude(goal) > magnitude(from)) {
        self->position = approach(from, goal, self->rise);
    } else {
        self->position = approach(from, goal, self->fall);
    }
    out[0] = (int32_t)rounded_shift(self->position, FINE_SHIFT);
}
