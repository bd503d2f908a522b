/* Whether a lever is released: neutral up to 50 thousandths, until it is beyond 80. */
#include "twin.h"

struct lever_neutral {
    int32_t inside;
    int32_t outside;
    bool neutral;
};

const uint32_t lever_neutral_size = sizeof(struct lever_neutral);

void lever_neutral_new(struct lever_neutral *self)
{
    self->inside = ratio_permille(50);
    self->outside = ratio_permille(80);
    self->neutral = false;
}

static bool neutral_step(struct lever_neutral *self, int32_t position)
{
    int32_t band = self->neutral ? self->outside : self->inside;
    self->neutral = ratio_magnitude(position) <= band;
    return self->neutral;
}

void lever_neutral_step(struct lever_neutral *self, const int32_t *in, int32_t *out)
{
    out[0] = neutral_step(self, in[0]);
}
