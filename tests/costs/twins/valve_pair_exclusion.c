/* Two opposite coils of one spool: never both. */
#include "valve_pair_exclusion.h"

struct valve_pair_exclusion {
    struct pair_exclusion pair;
};

const uint32_t valve_pair_exclusion_size = sizeof(struct valve_pair_exclusion);

void valve_pair_exclusion_new(struct valve_pair_exclusion *self)
{
    pair_exclusion_init(&self->pair, 80, 20);
}

void valve_pair_exclusion_step(struct valve_pair_exclusion *self, const int32_t *in, int32_t *out)
{
    uint16_t a = (uint16_t)in[0];
    uint16_t b = (uint16_t)in[1];
    pair_exclusion_step(&self->pair, &a, &b, (uint16_t)in[2], (uint16_t)in[3]);
    out[0] = a;
    out[1] = b;
}
