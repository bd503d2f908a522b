/* A small square wave around the set-point. */
#include "valve_dither.h"

struct valve_dither {
    struct dither dither;
};

const uint32_t valve_dither_size = sizeof(struct valve_dither);

void valve_dither_new(struct valve_dither *self)
{
    dither_init(&self->dither, 40, 10);
}

void valve_dither_step(struct valve_dither *self, const int32_t *in, int32_t *out)
{
    out[0] = dither_step(&self->dither, (uint16_t)in[0]);
}
