/* One step of the loader's coil loop: opposite coils are held apart, then each coil is controlled and watched. */
#include "valve_coil.h"
#include "valve_pair_exclusion.h"

#define COILS 11
#define PUMP_COILS 4
#define PAIRS 5

struct path_loader_coils {
    struct coil coils[COILS];
    struct pair_exclusion apart[PAIRS];
};

const uint32_t path_loader_coils_size = sizeof(struct path_loader_coils);

/* The first coil of each pair; the other one follows it. */
static const uint8_t pairs[PAIRS] = { 0, 2, 4, 7, 9 };

void path_loader_coils_new(struct path_loader_coils *self)
{
    for (unsigned place = 0; place < COILS; place++) {
        const uint16_t resistance = place < PUMP_COILS ? 530 : 610;
        const struct coil_config config = {
            .control = {
                .resistance = resistance,
                .time_constant_ms = 4,
                .proportional = resistance,
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
        coil_init(&self->coils[place], &config);
    }
    for (unsigned pair = 0; pair < PAIRS; pair++)
        pair_exclusion_init(&self->apart[pair], 80, 20);
}

void path_loader_coils_step(struct path_loader_coils *self, const int32_t *in, int32_t *out)
{
    const int32_t *measured = in + COILS + 1;
    const struct reading supply = { true, in[COILS] };
    uint16_t asked[COILS];
    for (unsigned place = 0; place < COILS; place++)
        asked[place] = (uint16_t)in[place];
    for (unsigned pair = 0; pair < PAIRS; pair++) {
        unsigned one = pairs[pair], other = one + 1;
        pair_exclusion_step(&self->apart[pair], &asked[one], &asked[other], (uint16_t)measured[one],
                            (uint16_t)measured[other]);
    }
    for (unsigned place = 0; place < COILS; place++)
        out[place] = coil_step(&self->coils[place], asked[place], (uint16_t)measured[place], supply);
}
