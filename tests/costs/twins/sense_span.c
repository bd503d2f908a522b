/* From a share of a span to a pressure of 0 to 4000 kPa. */
#include "sense_span.h"

struct sense_span {
    struct span span;
};

const uint32_t sense_span_size = sizeof(struct sense_span);

void sense_span_new(struct sense_span *self) { self->span = (struct span){ 0, 4000 }; }

void sense_span_step(struct sense_span *self, const int32_t *in, int32_t *out)
{
    out[0] = span_at(&self->span, in[0]);
}
