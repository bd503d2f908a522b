/* A pressure without single outliers: the median of the last three. */
#include "twin.h"

struct sense_median {
    int32_t older;
    int32_t newer;
    bool started;
};

const uint32_t sense_median_size = sizeof(struct sense_median);

void sense_median_new(struct sense_median *self)
{
    self->older = 0;
    self->newer = 0;
    self->started = false;
}

static int32_t median_step(struct sense_median *self, int32_t value)
{
    if (!self->started) {
        self->started = true;
        self->older = value;
        self->newer = value;
    }
    int32_t low = at_most(self->older, self->newer);
    int32_t high = at_least(self->older, self->newer);
    self->older = self->newer;
    self->newer = value;
    return at_least(low, at_most(high, value));
}

void sense_median_step(struct sense_median *self, const int32_t *in, int32_t *out)
{
    out[0] = median_step(self, in[0]);
}
