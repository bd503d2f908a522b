/* From a share of a span to a pressure of 0 to 4000 kPa. */
#include "twin.h"

struct sense_span {
    int32_t low;
    int32_t high;
};

const uint32_t sense_span_size = sizeof(struct sense_span);

void sense_span_new(struct sense_span *self)
{
    self->low = 0;
    self->high = 4000;
}

static int32_t span_at(const struct sense_span *self, int32_t share)
{
    return self->low + (int32_t)rounded_shift((int64_t)(self->high - self->low) * at_least(share, 0), 30);
}

void sense_span_step(struct sense_span *self, const int32_t *in, int32_t *out) { out[0] = span_at(self, in[0]); }
