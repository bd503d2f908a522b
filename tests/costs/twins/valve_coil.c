/* One coil in the fast loop: dither, current control and watch. */
#include "valve_coil.h"

struct valve_coil {
    struct coil coil;
};

const uint32_t valve_coil_size = sizeof(struct valve_coil);

void valve_coil_new(struct valve_coil *self)
{
    static const struct coil_config config = {
        .control = {
            .resistance = 530,
            .time_constant_ms = 4,
            .proportional = 530,
            .integral_time_ms = 6,
            .lowest_supply = 7000,
            .highest_supply = 16500,
            .largest = 1600,
        },
        .dither_amplitude = 40,
        .dither_cycle_ms = 10,
        .averaging_ms = 10,
        .tolerance = 120,
        .offset = 40,
        .stray = 150,
    };
    coil_init(&self->coil, &config);
}

void valve_coil_step(struct valve_coil *self, const int32_t *in, int32_t *out)
{
    const struct reading supply = { in[2] != 0, in[3] };
    out[0] = coil_step(&self->coil, (uint16_t)in[0], (uint16_t)in[1], supply);
}
