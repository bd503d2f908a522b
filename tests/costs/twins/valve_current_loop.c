/* Closed loop for the current of one coil. */
#include "valve_current_loop.h"

struct valve_current_loop {
    struct current_loop control;
};

const uint32_t valve_current_loop_size = sizeof(struct valve_current_loop);

void valve_current_loop_new(struct valve_current_loop *self)
{
    static const struct current_loop_config config = {
        .resistance = 530,
        .time_constant_ms = 4,
        .proportional = 530,
        .integral_time_ms = 6,
        .lowest_supply = 7000,
        .highest_supply = 16500,
        .largest = 1600,
    };
    current_loop_init(&self->control, &config);
}

void valve_current_loop_step(struct valve_current_loop *self, const int32_t *in, int32_t *out)
{
    uint16_t set = (uint16_t)in[0];
    const struct reading supply = { in[2] != 0, in[3] };
    out[0] = current_loop_step(&self->control, set, set, (uint16_t)in[1], supply);
    out[1] = current_loop_saturated(&self->control);
}
