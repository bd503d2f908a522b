/* Whether a value that comes in frames is still alive: lost after 50 ms, never seen after 500 ms. */
#include "sense_freshness.h"

struct sense_freshness {
    struct freshness frames;
};

const uint32_t sense_freshness_size = sizeof(struct sense_freshness);

void sense_freshness_new(struct sense_freshness *self) { freshness_init(&self->frames, 50, 500); }

void sense_freshness_step(struct sense_freshness *self, const int32_t *in, int32_t *out)
{
    out[0] = freshness_step(&self->frames, in[0] != 0);
}
