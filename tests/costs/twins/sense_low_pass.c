/* A pressure in kPa without its noise: first order, 100 ms. */
#include "twin.h"

/* The state is 2^11 times finer than the pressure. */
#define FINER_BITS 11

struct sense_low_pass {
    int32_t share; /* of the distance, covered in one period: 1 - exp(-period / time constant) */
    int32_t state;
    bool started;
};

const uint32_t sense_low_pass_size = sizeof(struct sense_low_pass);

void sense_low_pass_new(struct sense_low_pass *self)
{
    /* x - x^2/2! + x^3/3! ... */
    int32_t exponent = ratio_of(10, 100);
    int32_t term = exponent;
    int32_t sum = 0;
    for (int32_t order = 1; order <= 12;) {
        sum = order & 1 ? ratio_plus(sum, term) : ratio_minus(sum, term);
        order++;
        term = ratio_times(term, (exponent + order / 2) / order);
    }
    self->share = sum;
    self->state = 0;
    self->started = false;
}

static int32_t low_pass_step(struct sense_low_pass *self, int32_t pressure)
{
    int32_t target = pressure * (1 << FINER_BITS);
    if (!self->started) {
        self->started = true;
        self->state = target;
    }
    self->state += (int32_t)rounded_shift((int64_t)(target - self->state) * self->share, 30);
    return (int32_t)rounded_shift(self->state, FINER_BITS);
}

void sense_low_pass_step(struct sense_low_pass *self, const int32_t *in, int32_t *out)
{
    out[0] = low_pass_step(self, in[0]);
}
