/* Watches whether a coil carries the current that it was told to. */
#include "valve_coil_monitor.h"

struct valve_coil_monitor {
    struct coil_monitor monitor;
};

const uint32_t valve_coil_monitor_size = sizeof(struct valve_coil_monitor);

void valve_coil_monitor_new(struct valve_coil_monitor *self)
{
    static const struct coil_monitor_config config = {
        .resistance = 530,
        .blanking_ms = 20,
        .averaging_ms = 10,
        .tolerance = 120,
        .offset = 40,
        .stray = 150,
    };
    coil_monitor_init(&self->monitor, &config);
}

void valve_coil_monitor_step(struct valve_coil_monitor *self, const int32_t *in, int32_t *out)
{
    out[0] = coil_monitor_step(&self->monitor, (uint16_t)in[0], (uint16_t)in[1], (uint16_t)in[2], (uint16_t)in[3]);
}
