/* A coil that carries more than was asked for. */
#include "twin.h"

#define COILS 8

struct valve_excess_current {
    uint16_t stray;
    uint16_t last[COILS];   /* asked for in the last period */
    uint16_t before[COILS]; /* and in the one before */
};

const uint32_t valve_excess_current_size = sizeof(struct valve_excess_current);

void valve_excess_current_new(struct valve_excess_current *self)
{
    self->stray = 150;
    for (unsigned coil = 0; coil < COILS; coil++) {
        self->last[coil] = 0;
        self->before[coil] = 0;
    }
}

void valve_excess_current_step(struct valve_excess_current *self, const int32_t *in, int32_t *out)
{
    bool excess = false;
    for (unsigned coil = 0; coil < COILS; coil++) {
        int32_t asked = in[coil];
        int32_t current = in[COILS + coil];
        /* What is allowed is never below the stray current: few coils are looked at closely. */
        if (current > self->stray) {
            int32_t largest = at_least(at_least(asked, self->last[coil]), self->before[coil]);
            excess |= largest != 0 && current > largest + largest / 8 + self->stray;
        }
        self->before[coil] = self->last[coil];
        self->last[coil] = (uint16_t)asked;
    }
    out[0] = excess;
}
