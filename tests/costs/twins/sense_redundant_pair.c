/* Two sensors of one lever: at most 50 thousandths apart for 100 ms, the mean of both. */
#include "sense_reading.h"

enum pair_value { PAIR_MEAN, PAIR_LOWER, PAIR_HIGHER };

struct sense_redundant_pair {
    int32_t tolerance;
    uint32_t disagree_steps;
    uint32_t waited; /* steps since they first differed by more than the tolerance */
    uint8_t value;
    bool agreed;
};

const uint32_t sense_redundant_pair_size = sizeof(struct sense_redundant_pair);

void sense_redundant_pair_new(struct sense_redundant_pair *self)
{
    self->tolerance = ratio_permille(50);
    self->disagree_steps = steps_of(100, TICK_US);
    self->waited = 0;
    self->value = PAIR_MEAN;
    self->agreed = false;
}

static int32_t redundant_pair_chosen(const struct sense_redundant_pair *self, int32_t one, int32_t other)
{
    switch (self->value) {
    case PAIR_MEAN:
        return (int32_t)rounded_shift((int64_t)one + other, 1);
    case PAIR_LOWER:
        return at_most(one, other);
    default:
        return at_least(one, other);
    }
}

static struct sensed redundant_pair_step(struct sense_redundant_pair *self, struct sensed one, struct sensed other)
{
    if (one.health != HEALTH_GOOD || other.health != HEALTH_GOOD) {
        self->agreed = false;
        self->waited = 0;
        return sensed_flawed(one.health != HEALTH_GOOD ? one.health : other.health);
    }
    if (magnitude_64((int64_t)one.value - other.value) <= self->tolerance) {
        self->agreed = true;
        self->waited = 0;
    } else if (self->waited >= self->disagree_steps) {
        self->agreed = false;
    } else {
        self->waited++;
    }
    if (!self->agreed)
        return sensed_flawed(HEALTH_DISAGREEMENT);
    return sensed_good(redundant_pair_chosen(self, one.value, other.value));
}

void sense_redundant_pair_step(struct sense_redundant_pair *self, const int32_t *in, int32_t *out)
{
    sensed_put(redundant_pair_step(self, sensed_from(in), sensed_from(in + 2)), out);
}
