/* A lamp that is steady, or flashes: 300 ms lit, 300 ms dark. */
#include "timing_flasher.h"

struct timing_flasher {
    struct flasher lamp;
};

const uint32_t timing_flasher_size = sizeof(struct timing_flasher);

void timing_flasher_new(struct timing_flasher *self) { flasher_init(&self->lamp, 300); }

void timing_flasher_step(struct timing_flasher *self, const int32_t *in, int32_t *out)
{
    out[0] = flasher_step(&self->lamp, in[0] != 0);
}
