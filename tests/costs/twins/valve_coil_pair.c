/* The two opposite coils of one spool in the fast loop. */
#include "valve_coil.h"
#include "valve_pair_exclusion.h"

struct valve_coil_pair {
    struct coil a;
    struct coil b;
    struct pair_exclusion exclusion;
};

const uint32_t valve_coil_pair_size = sizeof(struct valve_coil_pair);

void valve_coil_pair_new(struct valve_coil_pair *self)
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
    coil_init(&self->a, &config);
    coil_init(&self->b, &config);
    pair_exclusion_init(&self->exclusion, 80, 20);
}

void valve_coil_pair_step(struct valve_coil_pair *self, const int32_t *in, int32_t *out)
{
    uint16_t set_a = (uint16_t)in[0];
    uint16_t set_b = (uint16_t)in[1];
    uint16_t measured_a = (uint16_t)in[2];
    uint16_t measured_b = (uint16_t)in[3];
    const struct reading supply = { in[4] != 0, in[5] };
    pair_exclusion_step(&self->exclusion, &set_a, &set_b, measured_a, measured_b);
    out[0] = coil_step(&self->a, set_a, measured_a, supply);
    out[1] = coil_step(&self->b, set_b, measured_b, supply);
}
