/* The speed that was asked for, uphill and down. Speeds in eighths of a revolution a minute. */
#include "twin.h"

#define FINER_BITS 20

struct propel_travel_speed {
    struct divisor full_speed;
    int32_t gain;
    int32_t integral;
    int32_t direction;
    int64_t authority; /* 2^50 to the full scale */
    int64_t sum;       /* in the direction of the target */
};

const uint32_t propel_travel_speed_size = sizeof(struct propel_travel_speed);

void propel_travel_speed_new(struct propel_travel_speed *self)
{
    self->full_speed = divisor_of(2000 * 8);
    self->gain = ratio_permille(500);
    self->integral = ratio_of(TICK_US, 2000 * 1000);
    self->authority = (((int64_t)300 << 50) + 500) / 1000;
    self->sum = 0;
    self->direction = 0;
}

/* In the direction of the target. */
static int32_t closed_loop(struct propel_travel_speed *self, int32_t target, int32_t along, int32_t allowed)
{
    int32_t error = divisor_share(&self->full_speed, held(target - along, -524288, 524287));
    int64_t direct = (int64_t)divisor_share(&self->full_speed, target) + ratio_times(error, self->gain);
    int64_t step = rounded_shift((int64_t)error * self->integral, 30 - FINER_BITS);
    int64_t moved = self->sum + step;
    /* No further than to where the command meets its limit, and back as far as it likes. */
    if (step > 0)
        moved = at_most_64(moved, at_least_64((allowed - direct) * (1 << FINER_BITS), self->sum));
    else
        moved = at_least_64(moved, at_most_64(-direct * (1 << FINER_BITS), self->sum));
    self->sum = held_64(moved, -self->authority, self->authority);
    int64_t command = direct + rounded_shift(self->sum, FINER_BITS);
    return (int32_t)held_64(command, 0, allowed);
}

static int32_t travel_speed_step(struct propel_travel_speed *self, int32_t target, struct reading actual,
                                 int32_t allowed)
{
    int32_t direction = (target > 0) - (target < 0);
    if (direction == 0 || direction != self->direction) {
        self->sum = 0;
        self->direction = direction;
    }
    allowed = at_least(allowed, 0);
    int32_t magnitude = at_most(magnitude_32(target), 524287);
    int32_t command;
    if (actual.valid) {
        int32_t along = target < 0 ? at_most(-actual.value, 524287) : actual.value;
        command = closed_loop(self, magnitude, along, allowed);
    } else {
        self->sum = 0;
        command = at_most(divisor_share(&self->full_speed, magnitude), allowed);
    }
    return direction * command;
}

void propel_travel_speed_step(struct propel_travel_speed *self, const int32_t *in, int32_t *out)
{
    out[0] = travel_speed_step(self, in[0], (struct reading){ in[1] != 0, in[2] }, in[3]);
}
