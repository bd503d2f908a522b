/* A lamp that is steady, or flashes: 300 ms lit, 300 ms dark. */
#include "twin.h"

struct timing_flasher {
    uint32_t half_steps;
    uint32_t steps;
    bool lit;
};

const uint32_t timing_flasher_size = sizeof(struct timing_flasher);

void timing_flasher_new(struct timing_flasher *self)
{
    self->half_steps = steps_of(300, TICK_US);
    self->steps = 0;
    self->lit = true;
}

static bool flasher_step(struct timing_flasher *self, bool flashing)
{
    if (!flashing) {
        self->steps = 0;
        self->lit = true;
    } else if (++self->steps >= self->half_steps) {
        self->steps = 0;
        self->lit = !self->lit;
    }
    return self->lit;
}

void timing_flasher_step(struct timing_flasher *self, const int32_t *in, int32_t *out)
{
    out[0] = flasher_step(self, in[0] != 0);
}
